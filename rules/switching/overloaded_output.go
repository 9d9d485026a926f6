package switching

import (
	"fmt"
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "overloaded-output", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "an output of a controller carries more than its limit",
	Doc: `An output that carries too much is dead, or switches itself off at the worst moment. The rule adds up what hangs on the output
in every state that drives it and holds the sum against the limit of the pin; then it does so with the inrush of the loads in
place of their running current, as far as the file states one. An output that is pulsed is held by its mean current, since
sheets state its limit so.

Put a relay between, or take an output with a higher limit. Silent are outputs that no state drives. An output without a limit
is listed by no-data.`,
	Sources: []string{"the limit is the data sheet's; common practice: the driver feels the peak, not the mean"},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
E1 = { kind = "lamp", load = "21 W" }
A1 = { kind = "module", pins = ["1", "31"], pin.1 = { role = "sink", limit = "1 A" }, pin.31 = { role = "ground" } }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "E1:1", size = "18 AWG", length = "1 m" }
W2 = { from = "E1:2", to = "A1:1", size = "18 AWG", length = "1 m" }
W3 = { from = "A1:31", to = "G1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "1 m" }
[state.on]
driven = ["A1:1"]
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
E1 = { kind = "lamp", load = "5 W" }
A1 = { kind = "module", pins = ["1", "31"], pin.1 = { role = "sink", limit = "1 A" }, pin.31 = { role = "ground" } }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "E1:1", size = "18 AWG", length = "1 m" }
W2 = { from = "E1:2", to = "A1:1", size = "18 AWG", length = "1 m" }
W3 = { from = "A1:31", to = "G1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "1 m" }
[state.on]
driven = ["A1:1"]
`,
	Run: func(p *rules.Pass) {
		worst := map[model.PinID]drive{}
		var order []model.PinID
		for i, r := range p.Reports() {
			if !steady(r.Solution) {
				continue
			}
			for j := range r.Outputs {
				d := driveOf(r, &r.Outputs[j])
				d.state = p.Conditions[i].Name()
				old, seen := worst[d.pin.ID]
				if !seen {
					order = append(order, d.pin.ID)
				}
				if !seen || max(d.amps, d.peak) > max(old.amps, old.peak)*(1+1e-6) {
					worst[d.pin.ID] = d
				}
			}
		}
		for _, id := range order {
			d := worst[id]
			d.report(p)
		}
	},
})

// A drive is what an output carries in one state.
type drive struct {
	pin        *model.Pin
	amps, peak float64 // running, and with the inrush of its loads; of a pulsed output the mean
	limit      float64
	state      string
	loads      []string
}

func driveOf(r *circuit.Report, o *circuit.OutputReport) drive {
	d := drive{pin: o.Pin, amps: o.Amps, limit: o.Limit}
	if o.Pin.Pulsed.On {
		d.amps = o.Mean
	}
	d.peak = d.amps
	c := r.Solution.Circuit
	for i := range r.Loads {
		l := &r.Loads[i]
		if !l.Drop.Passes(o.Branch) {
			continue
		}
		d.loads = append(d.loads, l.Ref)
		if b := &c.Branches[l.Branch]; b.Load != nil && b.Load.Spec.Inrush.IsSet() && !o.Pin.Pulsed.On {
			d.peak += max(0, b.Load.Spec.Inrush.Value-math.Abs(l.Amps))
		}
	}
	if o.Coil != "" && len(d.loads) == 0 {
		d.loads = []string{o.Coil}
	}
	return d
}

func (d *drive) report(p *rules.Pass) {
	if d.limit <= 0 {
		p.Lacks("limit of the output", `add limit = "1 A" to the pin, as its sheet says`, d.pin.Span, d.pin.String())
		return
	}
	word, amps := "carries", d.amps
	switch {
	case d.amps > d.limit*(1+1e-6):
	case d.peak > d.limit*(1+1e-6):
		word, amps = "carries with inrush", d.peak
	default:
		return
	}
	span := d.pin.Limit.Span
	if span.IsZero() {
		span = d.pin.Span
	}
	has, limit := rules.Apart(amps, d.limit, "A", amperes)
	f := p.Report(span, append([]string{d.pin.String()}, d.loads...), "%s %s %s in state %s, and its limit is %s", d.pin, word, has, d.state, limit)
	f.Help = fmt.Sprintf("put a relay between, or take an output with a limit of %s or more", amperes(math.Ceil(amps)))
}
