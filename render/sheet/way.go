package sheet

import (
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// A wayStep is one thing that current passes between a source and a consumer: what a person pulls, switches or measures
// at. Wires and joints are left out.
type wayStep struct {
	sort   stepSort
	part   *model.Part // of all but a bus
	output model.PinID // of an output
	link   *model.Link // of a bus
	branch int         // in Circuit.Branches
	far    model.PinID // the terminal on the side of the consumer
}

type stepSort uint8

const (
	fuseStep    stepSort = iota + 1
	contactStep          // of a switch or relay
	outputStep           // of a module
	busStep              // a bar that feeds several circuits
	seriesStep           // another consumer, a coil or a resistor
	sourceStep           // what feeds: only at the root of a tree
)

// name is the designator by which a step is known.
func (w wayStep) name(n *model.Netlist) string {
	switch w.sort {
	case outputStep:
		return n.Pin(w.output).String()
	case busStep:
		return w.link.Name.Text
	case seriesStep:
		return w.part.Name.Text + " in series"
	}
	return w.part.Name.Text
}

// steps turns the branches from a terminal outward into what lies on them, from the far end to the terminal.
func (v *Solved) steps(from model.PinID, branches []int) []wayStep {
	var out []wayStep
	at := from
	for _, i := range branches {
		b := &v.Circuit.Branches[i]
		if w, ok := stepOf(b); ok {
			w.branch, w.far = i, at
			if last := len(out) - 1; last < 0 || out[last].part != w.part || out[last].link != w.link || w.sort != out[last].sort {
				out = append(out, w)
			}
		}
		at = b.A + b.B - at
	}
	slices.Reverse(out)
	return out
}

// busJoins is from how many terminals on a link is a bar that feeds several circuits.
const busJoins = 3

func stepOf(b *circuit.Branch) (wayStep, bool) {
	w := wayStep{part: b.Part}
	switch e := b.Edge; {
	case b.IsOutput():
		w.sort, w.output = outputStep, b.Pin
	case b.IsConsumer() || b.IsCoil():
		w.sort = seriesStep
	case e == nil:
		return w, false
	case e.Kind == graph.Protect:
		w.sort = fuseStep
	case e.Kind.Contact():
		w.sort = contactStep
	case e.Kind == graph.Diode && b.Part.Kind.Name == "diode", e.Kind == graph.Resistor:
		w.sort = seriesStep
	case e.Kind == graph.Link && (e.Link.Rail.IsSet() || len(e.Link.Joins) >= busJoins):
		w.sort, w.link, w.part = busStep, e.Link, nil
	default:
		return w, false
	}
	return w, true
}

// waysOf returns what lies on the live and on the ground side of a consumer at work, each from the battery on.
func (v *Solved) waysOf(l *circuit.LoadReport) (live, ground []wayStep) {
	b := &v.Circuit.Branches[l.Branch]
	from, to := b.A, b.B
	if l.Amps < 0 {
		from, to = to, from
	}
	supply, drain := v.steps(from, l.Drop.Supply), v.steps(to, l.Drop.Return)
	if v.Circuit.Netlist.Harness.PositiveGround {
		return drain, supply
	}
	return supply, drain
}

// shortWay names the fuse nearest to the consumer and all that switches, from the source on: "K9 F37 S15".
func (v *Solved) shortWay(live, ground []wayStep) string {
	n := v.Circuit.Netlist
	last := -1
	for i, w := range live {
		if w.sort == fuseStep {
			last = i
		}
	}
	var names []string
	for i, w := range live {
		if w.sort != busStep && (w.sort != fuseStep || i == last) {
			names = append(names, w.name(n))
		}
	}
	text := strings.Join(slices.Compact(names), " ")
	var back []string
	for i := len(ground) - 1; i >= 0; i-- {
		if w := ground[i]; w.sort != busStep {
			back = append(back, w.name(n))
		}
	}
	if len(back) > 0 {
		text = strings.TrimPrefix(text+", to ground by "+strings.Join(slices.Compact(back), " "), ", ")
	}
	if text == "" {
		return "directly"
	}
	return text
}

// feedOf names what brings a terminal its supply in a state: the shortest way from a pole or from a driven output, over
// whatever is closed.
func (v *Solved) feedOf(cond *graph.Condition, pin model.PinID) string {
	g := v.Circuit.Graph
	hops := g.PathFrom(v.feedersIn(cond), func(p model.PinID) bool { return p == pin }, cond.Closed)
	if hops == nil {
		return ""
	}
	var names []string
	fuse := -1
	start := pin
	if len(hops) > 0 {
		start = hops[0].From
	}
	if role := g.Netlist.Pin(start).Role; role == catalog.Driver || role == catalog.HalfBridge {
		names = append(names, g.Netlist.Pin(start).String())
	}
	for _, h := range hops {
		switch {
		case h.Edge.Kind == graph.Protect:
			if fuse >= 0 {
				names = slices.Delete(names, fuse, fuse+1)
			}
			fuse = len(names)
			names = append(names, h.Edge.Part.Name.Text)
		case h.Edge.Kind.Contact() || h.Edge.Kind == graph.Diode:
			names = append(names, h.Edge.Part.Name.Text)
		}
	}
	if len(names) == 0 {
		return "directly"
	}
	return strings.Join(slices.Compact(names), " ")
}

// feedersIn lists the terminals that supply comes from in a state: live poles of sources that deliver in it, then outputs
// that it drives to supply.
func (v *Solved) feedersIn(cond *graph.Condition) []model.PinID {
	var pins []model.PinID
	n := v.Circuit.Netlist
	for i := range v.Circuit.Branches {
		b := &v.Circuit.Branches[i]
		if b.Supplies() && b.Edge != nil && b.Edge.Index == 0 && (!b.IsGenerator() || cond.State != nil && circuit.Charges(cond.State)) {
			for _, pin := range []model.PinID{b.A, b.B} {
				if cond.Live(pin) && !cond.Grounded(pin) {
					pins = append(pins, pin)
				}
			}
		}
	}
	if cond.State != nil {
		for _, r := range cond.State.Driven {
			if r.ID != model.NoPin && (n.Pin(r.ID).Role == catalog.Driver || n.Pin(r.ID).Role == catalog.HalfBridge) {
				pins = append(pins, r.ID)
			}
		}
	}
	return pins
}
