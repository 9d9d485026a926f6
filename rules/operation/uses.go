package operation

import (
	"math"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

// A use is one thing that works between two terminals: a consumer, or a controller between its supply and its ground.
type use struct {
	part *model.Part
	a, b model.PinID
	does string // its function, or an empty text
	edge *graph.Edge
}

// uses lists the consumers that have one of the functions, in the order of the file.
func uses(p *rules.Pass, functions ...string) []use {
	var out []use
	for i := range p.Graph.Edges {
		e := &p.Graph.Edges[i]
		if e.Kind != graph.Load || e.Part.Spare.On {
			continue
		}
		if f := e.Part.Inside.Loads[e.Index].Function.Text; slices.Contains(functions, f) {
			out = append(out, use{e.Part, e.A, e.B, f, e})
		}
	}
	return out
}

// title names a use: the load's own title, else the part's.
func (u *use) title() string {
	name := u.part.Name.Text
	switch {
	case u.edge != nil && u.part.Inside.Loads[u.edge.Index].Title.IsSet():
		return name + " (" + u.part.Inside.Loads[u.edge.Index].Title.Text + ")"
	case u.part.Title.IsSet():
		return name + " (" + u.part.Title.Text + ")"
	}
	return name
}

// names lists the designators of uses, each once.
func names(all []use) []string {
	var out []string
	for _, u := range all {
		if !slices.Contains(out, u.part.Name.Text) {
			out = append(out, u.part.Name.Text)
		}
	}
	return out
}

func titled(p *model.Part) string {
	if p.Title.IsSet() {
		return p.Name.Text + " (" + p.Title.Text + ")"
	}
	return p.Name.Text
}

// hasFunction lists the parts that have a function and contacts to open.
func hasFunction(p *rules.Pass, function string) []*model.Part {
	var out []*model.Part
	for _, part := range p.Netlist.Parts {
		in := &part.Inside
		if part.Function.Text == function && len(in.Open)+len(in.Closed)+len(in.Positions) > 0 {
			out = append(out, part)
		}
	}
	return out
}

func among(parts []*model.Part) func(*model.Part) bool {
	return func(p *model.Part) bool { return slices.Contains(parts, p) }
}

func partNames(parts []*model.Part) []string {
	out := make([]string, len(parts))
	for i, p := range parts {
		out[i] = p.Name.Text
	}
	return out
}

// engine returns the indexes of the conditions in which the engine does what is said; "off" takes those that say nothing.
func engine(p *rules.Pass, does string) []int {
	var out []int
	for i, c := range p.Conditions {
		if c.State == nil {
			continue
		}
		if e := c.State.Engine.Text; e == does || does == "off" && e == "" && !circuit.Charges(c.State) {
			out = append(out, i)
		}
	}
	return out
}

// keyOff returns the index of the state in which everything is off: the engine stands, no output is on, and every switch
// that it names is at rest. -1 when the file describes none.
func keyOff(p *rules.Pass) int {
	for _, i := range engine(p, "off") {
		s := p.Conditions[i].State
		atRest := len(s.Driven)+len(s.Pulled) == 0 && !s.Charging.On
		for _, set := range s.Switches {
			atRest = atRest && (set.Part == nil || set.Position == set.Part.Inside.Rest)
		}
		if atRest {
			return i
		}
	}
	return -1
}

// steady reports whether the numbers of a solution can be judged.
func steady(s *circuit.Solution) bool { return s.Err == nil && s.Settled && len(s.Cycle) == 0 }

// across is the voltage between two terminals without its sign; 0 where one floats.
func across(s *circuit.Solution, a, b model.PinID) float64 {
	if v, known := s.Across(a, b); known {
		return math.Abs(v)
	}
	return 0
}

// switchedSupplies lists the supply terminals of a module that are not live for good.
func switchedSupplies(p *rules.Pass, m *model.Part) []model.PinID {
	var pins []model.PinID
	for _, id := range m.Terminals() {
		if p.Netlist.Pin(id).Role == catalog.Supply && p.Graph.Reached(id) && !p.Permanent(id) {
			pins = append(pins, id)
		}
	}
	return pins
}

// controllers lists the modules that turn an engine or say that they control something.
func controllers(p *rules.Pass) []*model.Part {
	var out []*model.Part
	for _, part := range p.Netlist.Parts {
		if part.Function.Text == "controller" || part.Kind.Name == "module" && part.Function.Text == "" && drives(p, part) {
			out = append(out, part)
		}
	}
	return out
}

func drives(p *rules.Pass, m *model.Part) bool {
	return slices.ContainsFunc(m.Terminals(), func(id model.PinID) bool {
		r := p.Netlist.Pin(id).Role
		return r == catalog.Sink || r == catalog.Driver || r == catalog.HalfBridge
	})
}

// wiresOn lists the wires of the net that a terminal is on.
func wiresOn(p *rules.Pass, pin model.PinID) []string {
	var out []string
	for _, id := range p.Graph.NetOf(pin).Pins {
		for _, w := range p.Graph.WiresAt(id) {
			if !slices.Contains(out, w.Name.Text) {
				out = append(out, w.Name.Text)
			}
		}
	}
	return out
}
