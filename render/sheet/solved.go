package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Solved is the harness as an electrical network, solved in each of its states: what the sheets that print volts and
// amperes are made from.
type Solved struct {
	Circuit    *circuit.Circuit
	Conditions []*graph.Condition // the states in the order of the file; one at rest where it names none
	Reports    []*circuit.Report  // by condition
	Consumers  []Consumer         // in the order of the file

	loads     []map[int]*circuit.LoadReport // by condition and branch
	reliances []*reliance                   // by condition; see relianceOf
}

// Solved solves all states when the first sheet asks, and once.
func (s *Set) Solved() *Solved {
	if s.solved == nil {
		s.solved = sync.OnceValue(func() *Solved { return solve(s) })
	}
	return s.solved()
}

func solve(s *Set) *Solved {
	v := &Solved{Circuit: circuit.New(s.Graph, s.Routes), Conditions: s.Graph.Conditions()}
	v.Reports = make([]*circuit.Report, len(v.Conditions))
	var group sync.WaitGroup
	for i, cond := range v.Conditions {
		group.Go(func() { v.Reports[i] = v.Circuit.Report(cond, circuit.Options{}) })
	}
	group.Wait()
	for _, r := range v.Reports {
		loads := map[int]*circuit.LoadReport{}
		for i := range r.Loads {
			loads[r.Loads[i].Branch] = &r.Loads[i]
		}
		v.loads = append(v.loads, loads)
	}
	v.findConsumers()
	return v
}

// A Consumer is something that works when it gets current: a load of a part, or what a controller takes at a supply pin.
type Consumer struct {
	Ref    string // the part, or the terminal that takes the current
	Title  string
	Part   *model.Part
	A, B   model.PinID
	Branch int // in Circuit.Branches; -1 where the file does not say how much it takes
}

// Name is designator and title.
func (c *Consumer) Name() string { return strings.TrimSpace(c.Ref + " " + c.Title) }

// heaterAmps is from where a load of a sensor counts as a consumer, such as the heater of an oxygen sensor. What a sensor
// takes to tell something is none.
const heaterAmps = 0.25

// findConsumers lists the loads part by part, then what the part takes at its terminals.
func (v *Solved) findConsumers() {
	branchOf, own := map[*graph.Edge]int{}, map[*model.Part][]int{}
	for i := range v.Circuit.Branches {
		switch b := &v.Circuit.Branches[i]; {
		case b.Edge != nil:
			branchOf[b.Edge] = i
		case b.IsConsumer() || b.IsMotorOfStarter():
			own[b.Part] = append(own[b.Part], i)
		}
	}
	loads := map[*model.Part][]*graph.Edge{}
	for i := range v.Circuit.Graph.Edges {
		if e := &v.Circuit.Graph.Edges[i]; e.Kind == graph.Load {
			loads[e.Part] = append(loads[e.Part], e)
		}
	}
	for _, p := range v.Circuit.Netlist.Parts {
		for _, e := range loads[p] {
			branch, known := branchOf[e]
			if !known {
				branch = -1
			}
			v.addLoad(p, e, branch)
		}
		v.addTerminals(p, own[p])
	}
}

func (v *Solved) addLoad(p *model.Part, e *graph.Edge, branch int) {
	if p.Kind.Symbol == "sensor" && (branch < 0 || v.Circuit.RatedAmps(&v.Circuit.Branches[branch]) < heaterAmps) {
		return
	}
	for _, s := range p.Inside.Sources {
		if s.Plus == e.A && s.Minus == e.B {
			return // the field of a generator, which feeds itself
		}
	}
	c := Consumer{Ref: p.Name.Text, Title: p.Title.Text, Part: p, A: e.A, B: e.B, Branch: branch}
	if t := p.Inside.Loads[e.Index].Title.Text; t != "" && t != c.Title {
		c.Title = joinTitles(c.Title, t)
	} else if p.Kind.Name == "starter" {
		c.Title = joinTitles(c.Title, "solenoid")
	}
	v.Consumers = append(v.Consumers, c)
}

func joinTitles(whole, part string) string {
	if whole == "" {
		return part
	}
	return whole + ": " + part
}

// addTerminals adds what the circuit found at the terminals of a part: the motor of a starter, and supply pins, those too
// of which the file states no current. An input takes what it is given and does nothing by itself.
func (v *Solved) addTerminals(p *model.Part, branches []int) {
	at := map[model.PinID]int{}
	for _, i := range branches {
		b := &v.Circuit.Branches[i]
		if b.IsMotorOfStarter() {
			v.Consumers = append(v.Consumers, Consumer{Ref: p.Name.Text, Title: joinTitles(p.Title.Text, "motor"), Part: p, A: b.A, B: b.B, Branch: i})
			continue
		}
		at[b.A] = i
	}
	module := p.Kind.Symbol == "module"
	ground := model.NoPin
	for _, id := range p.Terminals() {
		if v.Circuit.Netlist.Pin(id).Role == catalog.Ground && v.Circuit.Graph.Reached(id) && ground == model.NoPin {
			ground = id
		}
	}
	for _, id := range p.Terminals() {
		pin := v.Circuit.Netlist.Pin(id)
		i, stated := at[id]
		supply := pin.Role == catalog.Supply && v.Circuit.Graph.Reached(id) && ground != model.NoPin
		if module && !supply || !module && !stated || !stated && loadsAt(p, id) {
			continue
		}
		c := Consumer{Ref: pin.String(), Title: p.Title.Text, Part: p, A: id, B: ground, Branch: -1}
		if pin.Does.IsSet() {
			c.Title = joinTitles(c.Title, pin.Does.Text)
		}
		if stated {
			c.B, c.Branch = v.Circuit.Branches[i].B, i
		}
		v.Consumers = append(v.Consumers, c)
	}
}

// loadsAt reports whether a load of the part says what it takes at the terminal.
func loadsAt(p *model.Part, id model.PinID) bool {
	return slices.ContainsFunc(p.Inside.Loads, func(l model.Load) bool { return l.A == id || l.B == id })
}

// At returns what a state says of a consumer, or nil where it is not at work or nothing is stated of it.
func (v *Solved) At(state int, c *Consumer) *circuit.LoadReport { return v.loads[state][c.Branch] }

// works reports whether a consumer is at work in a state: by the solution, or by what is joined to what where numbers are
// missing for one.
func (v *Solved) works(state int, c *Consumer) bool {
	if v.At(state, c) != nil {
		return true
	}
	return (c.Branch < 0 || len(v.Circuit.Missing) > 0) && v.relianceOf(state).feeds(c.A, c.B)
}

// leftOut names what the circuit lacks a number for and is solved without; empty when it lacks none.
func (v *Solved) leftOut() string {
	var names []string
	for _, m := range v.Circuit.Missing {
		if name := m.Ref + " (" + m.What + ")"; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) > mostLeftOut {
		names = append(names[:mostLeftOut], fmt.Sprintf("and %d more", len(names)-mostLeftOut))
	}
	return strings.Join(names, ", ")
}

// mostLeftOut is how many names a sheet lists of what is left out; ferrule solve lists all.
const mostLeftOut = 12

// onVolts is from where something counts as live, as a share of the nominal voltage: a fiftieth, as the circuit has it.
func (v *Solved) onVolts() float64 { return v.nominal() / 50 }

func (v *Solved) nominal() float64 {
	if volts := v.Circuit.Netlist.Harness.Volts; volts > 0 {
		return volts
	}
	return 12
}

// groundPole is the terminal that volts are told against: the grounded pole of the first battery or, without one, metal of
// the vehicle; NoPin where there is neither.
func (v *Solved) groundPole() model.PinID {
	n := v.Circuit.Netlist
	for i := range v.Circuit.Branches {
		if b := &v.Circuit.Branches[i]; b.IsBattery() {
			if n.Harness.PositiveGround {
				return b.A
			}
			return b.B
		}
	}
	if len(n.Bodies) > 0 {
		return n.Bodies[0].Pin
	}
	return model.NoPin
}

// voltsAt is the voltage of a terminal against ground in a state, without its sign; false where the terminal floats.
func (v *Solved) voltsAt(state int, pin model.PinID) (float64, bool) {
	ground := v.groundPole()
	if ground == model.NoPin {
		return 0, false
	}
	volts, known := v.Reports[state].Solution.Across(pin, ground)
	return math.Abs(volts), known
}

// ampsText writes amperes with the digits that they deserve: tenths from 1 A on, hundredths below, milliamperes below a
// tenth of an ampere.
func ampsText(amps float64, guessed bool) string {
	amps = math.Abs(amps)
	switch {
	case amps >= 20:
		amps = math.Round(amps)
	case amps >= 1:
		amps = math.Round(amps*10) / 10
	case amps >= 0.1:
		amps = math.Round(amps*100) / 100
	default:
		amps = math.Round(amps*1000) / 1000
	}
	return unit.Ampere(amps).String() + guessMark(guessed)
}

func guessMark(guessed bool) string {
	if guessed {
		return "~"
	}
	return ""
}

// guessNote explains the mark.
const guessNote = "~ rests on a guess of the netlist or on a value assumed where it states none. All volts and amperes are computed, not measured."
