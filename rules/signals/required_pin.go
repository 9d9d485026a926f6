package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "required-pin", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a terminal that a device does not work without is left empty, or leads nowhere",
	Doc: `In the vehicle a controller with one of two power grounds missing works until all injectors are on at once; without its memory
supply it forgets what it has learnt each night; without key sense it never wakes. Such faults look like anything but a missing wire.
The rule looks at terminals marked required = true: at one that is marked unused or spare all the same; at one whose wire leads to no
other device; and at a ground or a sensor ground that does not reach what it is for.

Wire it, or take required away if the sheet says that the terminal may stay open. A required terminal with no wire and no mark at
all is the matter of unterminated-pin.`,
	Sources: []string{"the sheet of the device"},
	Bad: `[part]
A1 = { kind = "module", pins = ["1", "2"], pin.1 = { role = "ground", required = true, unused = true } }
[part.G1]
kind = "ground point"
body = "body"
[body.body]
[wire]
W1 = { from = "A1:2", to = "G1:1" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["1", "2"], pin.1 = { role = "ground", required = true } }
[part.G1]
kind = "ground point"
body = "body"
[body.body]
[wire]
W1 = { from = "A1:2", to = "G1:1" }
W2 = { from = "A1:1", to = "G1:1" }
`,
	Run: func(p *rules.Pass) {
		for i := range p.Netlist.Pins {
			if pin := &p.Netlist.Pins[i]; pin.Required.On {
				if part := pin.Owner.Device(); part != nil && !part.Spare.On {
					requiredPin(p, pin)
				}
			}
		}
	},
})

func requiredPin(p *rules.Pass, pin *model.Pin) {
	span, wires := spanAt(p, pin.ID)
	refs := append([]string{pin.String()}, wires...)
	var d *diag.Diagnostic
	switch {
	case pin.OnPurpose() && len(wires) == 0:
		mark, at := "unused", pin.Unused.Span
		if pin.Spare.On {
			mark, at = "spare", pin.Spare.Span
		}
		if at == (source.Span{}) {
			at = pin.Span
		}
		d = p.Report(at, refs, "%s%s is required, and marked %s", pin, does(pin), mark)
		d.Help = "wire it, or take required = true away if the sheet lets it stay open"
	case len(wires) == 0:
		return
	case pin.Role == catalog.Ground && p.HasGround() && !groundsOut(p, pin.ID):
		d = p.Report(span, refs, "%s%s is a required ground, and its wire reaches no ground", pin, does(pin))
		d.Help = "take the wire on to the ground point"
	case len(others(p, pin.ID)) == 0 && !reachesMetal(p, pin.ID):
		d = p.Report(span, refs, "%s%s is required, and its wire leads to no other device", pin, does(pin))
		d.Help = "take the wire on to where it belongs"
	default:
		return
	}
	d.Related = []diag.Related{{Span: pin.Required.Span, Message: "required here"}}
}

// does adds the function of a terminal to its name.
func does(pin *model.Pin) string {
	if !pin.Does.IsSet() {
		return ""
	}
	return " (" + pin.Does.Text + ")"
}

// reachesMetal reports whether a bar, a stud, a panel or ground is on the net of a terminal.
func reachesMetal(p *rules.Pass, id model.PinID) bool {
	for _, other := range p.Graph.NetOf(id).Pins {
		if part := p.Netlist.Pin(other).Owner.Part; p.IsGround(other) || p.Netlist.Pin(other).Owner.Panel != nil || part != nil && part.Kind.Joined {
			return true
		}
	}
	return false
}

// groundsOut reports whether wires lead from a terminal to ground, or to something else that is meant as power ground, such
// as the terminal of a panel that another file goes on from.
func groundsOut(p *rules.Pass, id model.PinID) bool {
	for _, other := range p.Graph.NetOf(id).Pins {
		pin := p.Netlist.Pin(other)
		if p.IsGround(other) || pin.Owner.Panel != nil || pin.Role == catalog.Ground && pin.Owner.Device() != p.Netlist.Pin(id).Owner.Device() {
			return true
		}
		if part := pin.Owner.Part; part != nil && part.Kind.Joined {
			return true
		}
	}
	return switched(p, id)
}

// switched reports whether a contact on the net of a terminal may lead on to ground.
func switched(p *rules.Pass, id model.PinID) bool {
	for _, other := range p.Graph.NetOf(id).Pins {
		for _, e := range p.Graph.At(other) {
			if p.Graph.Edge(e).Kind.Contact() {
				return true
			}
		}
	}
	return false
}
