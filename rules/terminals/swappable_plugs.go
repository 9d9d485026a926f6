package terminals

import (
	"cmp"
	"ferrule/rules"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "swappable-plugs", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "two plugs fit each other's place",
	Doc: `In the vehicle somebody plugs injector 1 on injector 2, or the left lamp's plug on the right lamp, and everything fits. The rule
fires for plugs within reach of each other that are alike and whose cavities are on different nets: connectors of one stated
family, with the same key, the same cavities and the same contacts; and devices of one kind that are alike by nature, since they
have the key cylinder, or the key side and one function. Within reach is at one place, or on branches from one place that are
shorter together than the setting reach. Plugs that hang together so are one finding.

Take housings with different keys and write key = "A", key = "B"; or make the branches so short that each reaches its own place only; or
label both sides and accept the finding with that as the reason. Plugs whose cavities are on the same nets may be swapped and are silent, and so is what states no family.`,
	Sources: []string{"common practice: no two plugs alike within reach"},
	Bad: `[place]
a = {}
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
F2 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1A]
cavities = 1
mates = "X1B"
at = "a"
family = "sealed 1.5, 1 way"
[connector.X1B]
[connector.X2A]
cavities = 1
mates = "X2B"
at = "a"
family = "sealed 1.5, 1 way"
[connector.X2B]
[wire]
W1 = { from = "F1:2", to = "X1A:1" }
W2 = { from = "X1B:1", to = "E1:1" }
W3 = { from = "F2:2", to = "X2A:1" }
W4 = { from = "X2B:1", to = "E2:1" }
`,
	Good: `[place]
a = {}
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
F2 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
E2 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1A]
cavities = 1
mates = "X1B"
at = "a"
family = "sealed 1.5, 1 way"
key = "A"
[connector.X1B]
[connector.X2A]
cavities = 1
mates = "X2B"
at = "a"
family = "sealed 1.5, 1 way"
key = "B"
[connector.X2B]
[wire]
W1 = { from = "F1:2", to = "X1A:1" }
W2 = { from = "X1B:1", to = "E1:1" }
W3 = { from = "F2:2", to = "X2A:1" }
W4 = { from = "X2B:1", to = "E2:1" }
`,
	Settings: []rules.Setting{{Key: "reach", Dim: unit.Length, Default: 1, Doc: "how far apart along the harness two plugs are that cannot be swapped (common practice)"}},
	Run: func(p *rules.Pass) {
		for _, group := range groups(p) {
			within(p, group, p.Setting("reach"))
		}
	},
})

// A plug is a connector, or a device that brings its own terminals, at a place.
type plug struct {
	name  model.Name
	owner *model.Owner
	place *model.Place
	pins  string // which nets its cavities are on, in order
}

// groups collects plugs that are alike, in the order of the file.
func groups(p *rules.Pass) [][]plug {
	alike := map[string][]plug{}
	var order []string
	add := func(key string, o *model.Owner) {
		place := o.Place()
		if place == nil {
			return
		}
		if alike[key] == nil {
			order = append(order, key)
		}
		alike[key] = append(alike[key], plug{o.Name, o, place, pinning(p, o)})
	}
	for _, c := range p.Netlist.Connectors {
		if c.Family.IsSet() && firstHalf(c) && used(p, c) {
			add(strings.Join([]string{"connector", c.Family.Text, c.Key.Text, c.Contacts.Text, cavities(p, c.Owner)}, "|"), c.Owner)
		}
	}
	for _, part := range p.Netlist.Parts {
		if key := nature(part); key != "" && !part.Spare.On && part.Panel == nil && len(part.Plugs) == 0 {
			add(strings.Join([]string{"part", part.Kind.Name, part.StockName.Text, key, cavities(p, part.Owner)}, "|"), part.Owner)
		}
	}
	var out [][]plug
	for _, key := range order {
		if len(alike[key]) > 1 {
			out = append(out, alike[key])
		}
	}
	return out
}

// nature says by what a device is one of several alike; empty when the file does not show it.
func nature(part *model.Part) string {
	switch v := part.Value("cylinder"); {
	case v != nil && v.Word.IsSet():
		return "cylinder"
	case part.Side.IsSet() && part.Function.IsSet():
		return part.Function.Text
	}
	return ""
}

func cavities(p *rules.Pass, o *model.Owner) string {
	names := make([]string, len(o.Pins))
	for i, id := range o.Pins {
		names[i] = p.Netlist.Pin(id).Name
	}
	slices.Sort(names) // a half lists them as they lie, which may be mirrored
	return strings.Join(names, ",")
}

// pinning says which nets the cavities are on; those of ground are alike wherever they end.
func pinning(p *rules.Pass, o *model.Owner) string {
	nets := make([]string, len(o.Pins))
	for i, id := range o.Pins {
		switch {
		case !occupied(p, id):
		case p.Grounded(id):
			nets[i] = "ground"
		default:
			nets[i] = fmt.Sprint(p.Graph.NetOf(id).ID)
		}
	}
	return strings.Join(nets, ",")
}

// within parts plugs that are alike into those that reach each other, and reports each set with two pinnings. A plug reaches another
// by way of the place that its branch leaves from, so only plugs that share a place or a neighbour are compared.
func within(p *rules.Pass, all []plug, reach float64) {
	type tail struct { // a plug and the length of its branch
		plug   int
		metres float64
	}
	sets := graph.NewSets(len(all))
	direct := make([][]tail, len(p.Netlist.Places))
	for i, one := range all {
		direct[one.place.Index] = append(direct[one.place.Index], tail{plug: i})
	}
	near := make([][]tail, len(direct))
	for i := range direct {
		near[i] = slices.Clone(direct[i])
	}
	for _, path := range p.Netlist.Paths {
		if path.From == nil || path.To == nil || !path.Length.IsSet() || path.Length.Value > reach {
			continue
		}
		for _, way := range [...][2]*model.Place{{path.From, path.To}, {path.To, path.From}} {
			for _, t := range direct[way[1].Index] {
				near[way[0].Index] = append(near[way[0].Index], tail{t.plug, path.Length.Value})
			}
		}
	}
	for _, tails := range near {
		slices.SortStableFunc(tails, func(a, b tail) int { return cmp.Compare(a.metres, b.metres) })
		for k := 1; k < len(tails); k++ { // a plug that reaches any shorter branch reaches the shortest
			if tails[0].metres+tails[k].metres <= reach*(1+1e-9) {
				sets.Join(int32(tails[0].plug), int32(tails[k].plug))
			}
		}
	}
	members := map[int32][]plug{}
	var order []int32
	for i := range all {
		root := sets.Find(int32(i))
		if members[root] == nil {
			order = append(order, root)
		}
		members[root] = append(members[root], all[i])
	}
	for _, root := range order {
		if set := members[root]; slices.ContainsFunc(set, func(one plug) bool { return one.pins != set[0].pins }) {
			swappable(p, set)
		}
	}
}

func swappable(p *rules.Pass, set []plug) {
	names := make([]string, len(set))
	for i, one := range set {
		names[i] = one.name.Text
	}
	d := p.Report(set[0].name.Span, names, "%s are alike and within reach of each other, but on different nets", rules.And(names))
	d.Help = `take housings with different keys, shorten the branches, or label both sides and accept it`
	for _, one := range set[1:] {
		where := fmt.Sprintf("%s at %s", one.name.Text, one.place.Name.Text)
		if c := one.owner.Connector; c != nil {
			where += fmt.Sprintf(", family %q", c.Family.Text)
		}
		d.Related = append(d.Related, diag.Related{Span: one.name.Span, Message: where})
	}
}
