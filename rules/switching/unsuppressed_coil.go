package switching

import (
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "unsuppressed-coil", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "nothing catches the kick of a coil",
	Doc: `A coil that is switched off kicks with 100 to 400 V. That burns the contact that switches it, kills an output of a
controller, and disturbs sensors and radio. The rule fires for relays, valves and injectors that say suppression = "none" while
nothing else catches the kick: no clamp in the output that switches them (clamp, clamp-volts), no diode, resistor or capacitor
that is wired across the coil.

Take a relay with a resistor or a diode inside, wire a diode across the coil with its cathode to plus, or state the clamp of
the output if its sheet has one. A clamp in the output is enough: a second one across a fast valve or an injector would make it
close late. Where neither coil nor output says anything, that is listed by no-data and not taken for a fault. Ignition coils
are made to kick, and horns and motors quench themselves.`,
	Sources: []string{"common practice: relay coils kick to 100 to 400 V; 680 ohm keeps that near 110 V, a diode at 0.7 V (from memory)"},
	Bad: `[part]
S1 = { kind = "switch", spare = true }
K1 = { kind = "relay", suppression = "none" }
G1 = { kind = "stud" }
[wire]
W1 = { from = "S1:2", to = "K1:86" }
W2 = { from = "K1:85", to = "G1:1" }
`,
	Good: `[part]
S1 = { kind = "switch", spare = true }
K1 = { kind = "relay", suppression = "resistor" }
G1 = { kind = "stud" }
[wire]
W1 = { from = "S1:2", to = "K1:86" }
W2 = { from = "K1:85", to = "G1:1" }
`,
	Run: func(p *rules.Pass) {
		k := &kicks{ends: lookAround(p), across: map[[2]int32]bool{}}
		k.quenchers()
		for _, c := range k.coils("solenoid", "injector") {
			k.judge(c)
		}
	},
})

type kicks struct {
	*ends
	across map[[2]int32]bool // pairs of what metal and fuses join that a diode, resistor or capacitor of its own lies across
}

func (k *kicks) pair(a, b model.PinID) [2]int32 {
	x, y := k.Fed(a), k.Fed(b)
	return [2]int32{min(x, y), max(x, y)}
}

func (k *kicks) quenchers() {
	for _, p := range k.Netlist.Parts {
		if n := p.Kind.Name; (n == "diode" || n == "resistor" || n == "capacitor") && len(p.Owner.Pins) == 2 {
			k.across[k.pair(p.Owner.Pins[0], p.Owner.Pins[1])] = true
		}
		for _, d := range p.Inside.Diodes {
			k.across[k.pair(d.A, d.B)] = true
		}
	}
}

func (k *kicks) judge(c coil) {
	part := c.edge.Part
	said := ""
	if v := part.Value("suppression"); v != nil {
		said = v.Word.Text
	}
	if said != "" && said != "none" || k.across[k.pair(c.edge.A, c.edge.B)] {
		return
	}
	outputs := k.outputsAt(c.edge.A, c.edge.B)
	open, unknown := model.NoPin, model.NoPin
	for _, id := range outputs {
		switch pin := k.Netlist.Pin(id); {
		case pin.Clamp.Text == "ground", pin.Clamp.Text == "supply", pin.ClampVolts.IsSet():
		case pin.Clamp.Text == "none":
			open = id
		default:
			unknown = id
		}
	}
	switch {
	case len(outputs) > 0 && open == model.NoPin && unknown == model.NoPin:
	case open != model.NoPin:
		k.report(c, fmt.Sprintf("its output %s has no clamp, and nothing lies across the coil", k.name(open)), k.name(open))
	case said == "none" && len(outputs) == 0:
		k.report(c, "no diode, resistor or clamp catches its kick", "")
	case unknown != model.NoPin:
		k.Lacks("suppression of the coil, and no clamp of the output,", `add suppression = "resistor" to the part, or clamp = "ground" to the output if its sheet says so`, part.Name.Span, part.Name.Text)
	default:
		k.Lacks("suppression of the coil", `add suppression = "resistor", "diode" or "none"`, part.Name.Span, part.Name.Text)
	}
}

func (k *kicks) report(c coil, why, output string) {
	refs := []string{c.edge.Part.Name.Text}
	if output != "" {
		refs = append(refs, output)
	}
	d := k.Report(reach.ValueSpan(k.Netlist, c.edge.Part, "suppression"), refs, "nothing quenches %s when it is switched off: %s", c.word, why)
	d.Help = `take a relay with a resistor inside (suppression = "resistor"), or wire a diode across the coil, cathode to plus`
	if c.edge.Kind != graph.Coil {
		d.Help = "wire a diode across it, cathode to plus, or drive it from an output that clamps"
	}
}
