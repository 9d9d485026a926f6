package terminals

import (
	"ferrule/rules"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

var _ = rules.Register(&rules.Rule{
	Name: "live-pins", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "bare pins stay live when a connector is unplugged",
	Doc: `In the vehicle the plug hangs free during a repair, its pins touch the sheet metal, and what feeds them sparks or burns. Pins belong on the side
that is dead when the pair is apart, sockets on the side that feeds. The rule looks at the half of each in-line pair that carries pins and at which of
its cavities a source reaches without passing this pair. Where the cavity is live whatever the switches do it is a warning; where it is
live in some state only, a note, since a connector is as a rule parted with the key off, and a pair that feeds both ways cannot be right on both sides.

Change the contacts of the two halves: contacts = "sockets" on the feeding one. Silent are ground, signals and what only a consumer or a source of 2 A or less feeds,
and pairs that do not say their contacts.`,
	Sources: []string{"common practice: sockets on the live side"},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
contacts = "pins"
[connector.X2]
contacts = "sockets"
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "F1:2", to = "X1:1" }
W3 = { from = "X2:1", to = "E1:1" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W", spare = true }
[connector.X1]
cavities = 1
mates = "X2"
contacts = "sockets"
[connector.X2]
contacts = "pins"
[wire]
W1 = { from = "BAT1:+", to = "F1:1" }
W2 = { from = "F1:2", to = "X1:1" }
W3 = { from = "X2:1", to = "E1:1" }
`,
	Run: func(p *rules.Pass) {
		var withPins []*model.Connector
		for _, c := range p.Netlist.Connectors {
			if c.Part == nil && c.Mate != nil && firstHalf(c) && !c.Contacts.IsSet() && !c.Mate.Contacts.IsSet() && used(p, c) {
				p.Lacks("contacts (pins or sockets)", `add contacts = "sockets" to the half that stays live when the pair is apart, contacts = "pins" to the other`, c.Name.Span, c.Name.Text)
			}
			if c.Contacts.Text == "pins" && c.Part == nil && c.Mate != nil && c.Mate.Contacts.Text != "pins" {
				withPins = append(withPins, c)
			}
		}
		if len(withPins) == 0 {
			return
		}
		always := newFeed(p, func(e *graph.Edge) bool { return e.Kind.Conducts() }, false)
		var states []*feed
		for _, c := range withPins {
			if pins := liveWith(p, c, always); len(pins) > 0 {
				barePins(p, c, pins, diag.Warning, "whatever the switches do")
				continue
			}
			if states == nil {
				for _, cond := range p.Conditions {
					states = append(states, newFeed(p, cond.Closed, circuit.Charges(cond.State)))
				}
			}
			if pins, when := liveSometimes(p, c, states); len(pins) > 0 {
				barePins(p, c, pins, diag.Note, when)
			}
		}
	},
})

// A feed tells from which side of the in-line pairs supply comes, with contacts as they stand in one state. What conducts, but for
// mated cavities, makes lengths of harness; supply spreads from the lengths that hold a source over the pairs between them.
type feed struct {
	lengths *graph.Sets
	by      map[int32]*graph.Edge // the mated cavities that supply comes into a length by; nil for one that holds a source
}

// leastSource is the current of a source below which its pins are harmless: the lamp terminal of a generator gives less.
const leastSource = 2

// newFeed spreads supply over what is closed, from generators only while they charge.
func newFeed(p *rules.Pass, closed func(*graph.Edge) bool, charging bool) *feed {
	f := &feed{lengths: graph.NewSets(len(p.Netlist.Pins)), by: map[int32]*graph.Edge{}}
	var mates []*graph.Edge
	for i := range p.Graph.Edges {
		switch e := &p.Graph.Edges[i]; {
		case e.Kind == graph.Mate:
			mates = append(mates, e)
		case closed(e):
			f.lengths.Join(int32(e.A), int32(e.B))
		}
	}
	leads := map[int32][]*graph.Edge{}
	for _, e := range mates {
		for _, pin := range [...]model.PinID{e.A, e.B} {
			root := f.lengths.Find(int32(pin))
			leads[root] = append(leads[root], e)
		}
	}
	queue := f.sources(p, charging)
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, e := range leads[at] {
			for _, pin := range [...]model.PinID{e.A, e.B} {
				if next := f.lengths.Find(int32(pin)); next != at {
					if _, seen := f.by[next]; !seen {
						f.by[next] = e
						queue = append(queue, next)
					}
				}
			}
		}
	}
	return f
}

// sources starts the feed at every length that holds the live side of a source of some strength.
func (f *feed) sources(p *rules.Pass, charging bool) []int32 {
	var queue []int32
	for _, part := range p.Netlist.Parts {
		if part.Kind.Name != "battery" && !charging {
			continue
		}
		for _, s := range part.Inside.Sources {
			live, _ := p.Poles(s)
			if !p.IsLive(live) || s.Limit.IsSet() && s.Limit.Value <= leastSource {
				continue
			}
			root := f.lengths.Find(int32(live))
			if _, seen := f.by[root]; !seen {
				f.by[root] = nil
				queue = append(queue, root)
			}
		}
	}
	return queue
}

// reaches reports whether supply comes to a terminal without passing a pair of halves.
func (f *feed) reaches(p *rules.Pass, pin model.PinID, half *model.Connector) bool {
	at := f.lengths.Find(int32(pin))
	for range len(f.by) + 1 {
		e, live := f.by[at]
		if !live {
			return false
		}
		if e == nil {
			return true
		}
		if o := p.Netlist.Pin(e.A).Owner.Connector; o == half || o == half.Mate {
			return false
		}
		next := f.lengths.Find(int32(e.A))
		if next == at {
			next = f.lengths.Find(int32(e.B))
		}
		at = next
	}
	return false
}

// liveWith returns the cavities of a half that a feed reaches without passing this pair.
func liveWith(p *rules.Pass, c *model.Connector, f *feed) []model.PinID {
	var pins []model.PinID
	for _, id := range c.Owner.Pins {
		if occupied(p, id) && !p.Grounded(id) && f.reaches(p, id, c) {
			pins = append(pins, id)
		}
	}
	return pins
}

// liveSometimes returns the cavities of a half that are live when it is unplugged in any state, and the states in words.
func liveSometimes(p *rules.Pass, c *model.Connector, states []*feed) ([]model.PinID, string) {
	var names []string
	live := map[model.PinID]bool{}
	for i, f := range states {
		pins := liveWith(p, c, f)
		for _, id := range pins {
			live[id] = true
		}
		if len(pins) > 0 {
			names = append(names, p.Conditions[i].Name())
		}
	}
	var pins []model.PinID
	for _, id := range c.Owner.Pins {
		if live[id] {
			pins = append(pins, id)
		}
	}
	return pins, "in " + rules.Plural(len(names), "state ", "states ") + rules.Few(names)
}

// barePins reports the pins of a half that stay live when it is unplugged.
func barePins(p *rules.Pass, c *model.Connector, pins []model.PinID, severity diag.Severity, when string) {
	refs, names := []string{c.Name.Text}, make([]string, len(pins))
	for i, id := range pins {
		names[i], refs = p.Netlist.Pin(id).Name, append(refs, p.Netlist.Pin(id).String())
	}
	d := p.ReportAs(severity, c.Contacts.Span, refs, "%s carries pins, and %s %s %s live when it is unplugged, %s", c.Name.Text,
		rules.Plural(len(names), "cavity", "cavities"), strings.Join(names, ", "), rules.Plural(len(names), "stays", "stay"), when)
	d.Help = `put the sockets on this half and the pins on ` + c.Mate.Name.Text
}
