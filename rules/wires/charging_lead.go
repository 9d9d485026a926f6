package wires

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "charging-lead", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "the generator's lead, or where it senses, keeps the battery from its charge",
	Doc: `In the vehicle a lead that loses half a volt leaves the battery at 70 %; a sense wire that hangs behind a loaded feed makes the
regulator raise the volts until the battery boils. The rule puts the full output of the generator through its lead and its way
back, contacts included, and fires above 0.3 V from B+ to the battery and above 0.2 V from the case to the battery. And in every
state that charges it holds the terminal S against the battery's plus: 0.3 V apart, either way, and it senses at the wrong place. Where S is
dead in such a state, since its wire hangs on what a switch or a relay feeds, the regulator takes the battery for empty and boils it.

A generator without a wired terminal S senses inside, and only its lead counts.

Take a thicker lead, better rings, a strap of its own for the case; take the sense wire to the battery's post over a small fuse.`,
	Sources: []string{"common practice: output 0.2 V wanted, 0.3 V at most; case 0.1 and 0.2 V; at full output, 12 V, others in proportion"},
	Settings: []rules.Setting{{Key: "sense", Dim: unit.Voltage, Default: 0.3,
		Doc: "how far the sensed volts may lie from those at the battery of a 12 V system; common practice"}},
	Bad:  leadExample("8 AWG"),
	Good: leadExample("2 AWG"),
	Run: func(p *rules.Pass) {
		type key struct {
			part *model.Part
			back bool
		}
		leads, senses := map[key]*worse[lead]{}, map[*model.Part]*worse[lead]{}
		blind := map[*model.Part]*graph.Condition{} // generators that sense nothing, and the first state of it
		for cond, r := range settled(p) {
			for i := range r.Leads {
				l := &r.Leads[i]
				k := key{l.Part, l.Return}
				if leads[k] == nil {
					leads[k] = &worse[lead]{}
				}
				leads[k].take(l.Volts/l.Limit, lead{cond: cond, report: r, lead: l})
			}
			for _, part := range p.Netlist.Parts {
				pin, wired := senseOf(p, part)
				if !wired || !circuit.Charges(cond.State) {
					continue
				}
				if !cond.Live(pin) && blind[part] == nil {
					blind[part] = cond
				}
				v, ok := sensed(p, pin, r)
				if ok && senses[part] == nil {
					senses[part] = &worse[lead]{}
				}
				if ok {
					senses[part].take(math.Abs(v), lead{cond: cond, report: r, volts: v})
				}
			}
		}
		for _, part := range p.Netlist.Parts {
			for _, back := range [...]bool{false, true} {
				if at := leads[key{part, back}]; at != nil && at.by > 1+1e-9 {
					reportLead(p, at.what)
				}
			}
			if cond := blind[part]; cond != nil && everLive(p, part) {
				reportBlind(p, part, cond)
			} else if at := senses[part]; at != nil && at.by > p.Setting("sense")*p.Netlist.Harness.Volts/12 {
				reportSense(p, part, at.what)
			}
		}
	},
})

func leadExample(size string) string {
	return `[body.engine]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
ALT1 = { kind = "alternator", output = "100 A", idle-output = "50 A", regulated = "14 V", case = "engine", pin.L.unused = true, pin.S.unused = true }
G1 = { kind = "ground point", body = "engine" }
F1 = { kind = "fuse", rating = "125 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "2 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "ALT1:B+", size = "` + size + `", length = "1.2 m" }
W3 = { from = "G1:1", to = "BAT1:-", size = "2 AWG", length = "0.5 m" }
[state.run]
engine = "running"
charging = true
`
}

// lead is what a generator loses, or senses wrong, in a state.
type lead struct {
	cond   *graph.Condition
	report *circuit.Report
	lead   *circuit.LeadReport
	volts  float64 // at the sense terminal, less the battery's
}

// senseOf is the sense terminal of a generator, and whether a wire ends there.
func senseOf(p *rules.Pass, part *model.Part) (model.PinID, bool) {
	if part.Value("output") == nil {
		return model.NoPin, false
	}
	pin, ok := part.Owner.Pin("S")
	return pin, ok && len(p.Graph.WiresAt(pin)) > 0
}

// sensed is how far the sense terminal of a generator stands above the live post of the battery.
func sensed(p *rules.Pass, pin model.PinID, r *circuit.Report) (float64, bool) {
	for i := range r.Solution.Circuit.Branches {
		if b := &r.Solution.Circuit.Branches[i]; b.IsBattery() {
			post := b.A
			if p.Netlist.Harness.PositiveGround {
				post = b.B
			}
			v, known := r.Solution.Across(pin, post)
			if p.Netlist.Harness.PositiveGround {
				v = -v
			}
			return v, known && math.Abs(v) < 0.3*p.Netlist.Harness.Volts // a dead sense wire is no drop
		}
	}
	return 0, false
}

func reportLead(p *rules.Pass, x lead) {
	l := x.lead
	pin := p.Netlist.Pin(l.From)
	at, refs, what := pin.Span, []string{l.Part.Name.Text}, "from "+pin.String()+" to the battery"
	if at.IsZero() {
		at = l.Part.Name.Span
	}
	if w := x.carrier(p); w != nil {
		at, refs = place(w).Span, []string{w.Name.Text, l.Part.Name.Text}
		what += fmt.Sprintf(" over %s (%s)", w.Name.Text, w.Size)
	}
	lost, most := rules.Apart(l.Volts, l.Limit, "V", volts)
	d := p.Report(at, refs, "%s loses %s %s at its full %s; %s at most", titled(l.Part.Name.Text, l.Part.Title.Text), lost, what, amperes(l.Amps), most)
	d.Help = "take a thicker lead and look at its rings"
	if l.Return {
		d.Help = "give the engine a ground cable of its own to the battery, or a thicker one"
	}
}

// carrier is the wire at the generator's output, or at its case, that carries the most in the state: a cut-out inside may
// lie between the terminal and the source.
func (x *lead) carrier(p *rules.Pass) *model.Wire {
	generator, most, amps := x.lead.Part, (*model.Wire)(nil), 0.0
	for i := range x.report.Wires {
		w := &x.report.Wires[i]
		for _, end := range [...]model.PinID{w.Wire.From.ID, w.Wire.To.ID} {
			if end == model.NoPin || p.Netlist.Pin(end).Owner.Device() != generator || (p.Netlist.Pin(end).Name == model.CasePin) != x.lead.Return {
				continue
			}
			if w.Amps > amps {
				most, amps = w.Wire, w.Amps
			}
		}
	}
	return most
}

// everLive reports whether the sense terminal is live in some state; where it never is, other rules say what is left open.
func everLive(p *rules.Pass, part *model.Part) bool {
	pin, _ := part.Owner.Pin("S")
	return slices.ContainsFunc(p.Conditions, func(c *graph.Condition) bool { return c.Live(pin) })
}

// reportBlind reports a sense wire that is dead while its generator charges.
func reportBlind(p *rules.Pass, part *model.Part, cond *graph.Condition) {
	pin, _ := part.Owner.Pin("S")
	w := p.Graph.WiresAt(pin)[0]
	at := source.Span(w.From.Span)
	if w.From.ID == pin {
		at = w.To.Span
	}
	d := p.Report(at, []string{w.Name.Text, part.Name.Text}, "%s is dead %s, and %s charges: its regulator takes the battery for empty and drives the volts up until it boils",
		p.Netlist.Pin(pin), inState(cond), titled(part.Name.Text, part.Title.Text))
	d.Help = "take the sense wire to the battery's post, over a small fuse there"
}

func reportSense(p *rules.Pass, part *model.Part, x lead) {
	pin, _ := part.Owner.Pin("S")
	w := p.Graph.WiresAt(pin)[0]
	at, side := source.Span(w.From.Span), w.To
	if w.From.ID == pin {
		at, side = w.To.Span, w.From
	}
	above, so := "above", "the battery gets that much too little"
	if x.volts < 0 {
		above, so = "below", "the battery gets that much too much"
	}
	d := p.Report(at, []string{w.Name.Text, part.Name.Text}, "%s senses %s %s the battery's post %s: %s", side.Text, volts(math.Abs(x.volts)), above, inState(x.cond), so)
	d.Help = "take the sense wire to the battery's post, over a small fuse there"
}
