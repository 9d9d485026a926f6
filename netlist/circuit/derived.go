package circuit

import (
	"fmt"
	"maps"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A Derived circumstance differs from a state of the file in one thing.
type Derived struct {
	Title   string // "S10 in position head"
	Part    *model.Part
	Options Options
}

// Derived lists what can differ from a state in one thing, in the order of the file: every other position of each switch,
// the engine turning or standing, each motor turned by others. The options are those given, with the one thing changed.
func (c *Circuit) Derived(cond *graph.Condition, o Options) []Derived {
	var out []Derived
	add := func(p *model.Part, position int, name string) {
		d := Derived{Title: fmt.Sprintf("%s in position %s", p.Name.Text, name), Part: p, Options: o}
		d.Options.Positions = maps.Clone(o.Positions)
		if d.Options.Positions == nil {
			d.Options.Positions = map[*model.Part]int{}
		}
		d.Options.Positions[p] = position
		out = append(out, d)
	}
	for _, p := range c.Netlist.Parts {
		now, set := o.Positions[p]
		if !set {
			now = cond.PositionOf(p)
		}
		switch {
		case len(p.Inside.Positions) > 0:
			for i := range p.Inside.Positions {
				if i != now {
					add(p, i, p.Inside.Positions[i].Name.Text)
				}
			}
		case len(p.Inside.Coils) == 0 && len(p.Inside.Open)+len(p.Inside.Closed) > 0 && p.Kind.Name != "flasher":
			add(p, 1-min(now, 1), [...]string{"rest", "pressed"}[1-min(now, 1)])
		}
	}
	out = append(out, c.derivedEngine(cond, o)...)
	return append(out, c.derivedMotors(o)...)
}

func (c *Circuit) derivedEngine(cond *graph.Condition, o Options) []Derived {
	if cranks(cond) {
		return nil // what turns it then is the starter
	}
	turns := o.charges(cond)
	for i := range c.Branches {
		if b := &c.Branches[i]; b.source == generatorSource {
			d := Derived{Title: "engine turning", Part: b.Part, Options: o}
			d.Options.Engine = Turning
			if turns {
				d.Title, d.Options.Engine = "engine standing", Standing
			}
			return []Derived{d}
		}
	}
	return nil
}

func (c *Circuit) derivedMotors(o Options) []Derived {
	var out []Derived
	for _, p := range c.Netlist.Parts {
		if generates(p) == 0 {
			continue
		}
		d := Derived{Title: p.Name.Text + " turned by others", Part: p, Options: o}
		d.Options.Turning = func(q *model.Part) bool { return q == p || o.Turning != nil && o.Turning(q) }
		out = append(out, d)
	}
	return out
}
