package signals

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "coil-drive", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "an ignition coil and the output that works it are not made for each other",
	Doc: `In the vehicle a logic output on the bare primary of a coil has to carry 8 A and dies with the first key-on; a power driver on the
input of an igniter puts some 400 V of kick, or 12 V, into a logic input. The rule compares what an output is made for (drives =
"coil logic" or "coil primary", or role output for logic) with what the terminal of the ignition coil expects: drives on it, or role
input for the input of an igniter, or else the bare primary.

Put an igniter between, or take the other sort of output. Outputs that drive "anything" stay silent; so do coils worked by a contact
breaker. Of a low-side output that does not say what it is made for, and works a bare coil, the summary asks for drives.`,
	Sources: []string{"common practice; the sheets of the coil and the controller"},
	Bad: `[part]
A1 = { kind = "module", pins = ["11"], pin.11 = { role = "output", drives = "coil logic" } }
T1 = { kind = "ignition coil", load = "8 A", pin.15.unused = true }
[wire]
W1 = { from = "T1:1", to = "A1:11" }
`,
	Good: `[part]
A1 = { kind = "module", pins = ["11"], pin.11 = { role = "sink", drives = "coil primary" } }
T1 = { kind = "ignition coil", load = "8 A", pin.15.unused = true }
[wire]
W1 = { from = "T1:1", to = "A1:11" }
`,
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			if part.Kind.Name != "ignition coil" {
				continue
			}
			for _, id := range part.Terminals() {
				coilDrive(p, part, p.Netlist.Pin(id))
			}
		}
	},
})

const logic, primary = "coil logic", "coil primary"

// expects says how a terminal of an ignition coil wants to be worked; empty for supply and ground.
func expects(p *rules.Pass, pin *model.Pin) string {
	switch {
	case pin.Drives.Text == logic || pin.Drives.Text == primary:
		return pin.Drives.Text
	case pin.Drives.IsSet():
		return ""
	case pin.Role == catalog.Input:
		return logic
	case pin.Role != catalog.Load && pin.Role != catalog.NoRole:
		return ""
	}
	for _, id := range p.Graph.At(pin.ID) {
		if e := p.Graph.Edge(id); e.Kind == graph.Load {
			return primary
		}
	}
	return ""
}

// gives says how an output works a coil; empty when the file does not show it or any load will do.
func gives(pin *model.Pin) string {
	switch {
	case pin.Drives.Text == logic, pin.Drives.Text == "logic", !pin.Drives.IsSet() && pin.Role == catalog.Output:
		return logic
	case pin.Drives.Text == primary:
		return primary
	}
	return ""
}

func coilDrive(p *rules.Pass, part *model.Part, pin *model.Pin) {
	wants := expects(p, pin)
	if wants == "" {
		return
	}
	for _, id := range others(p, pin.ID) {
		o := p.Netlist.Pin(id)
		has := gives(o)
		switch {
		case !isOutput(o.Role) || o.Owner.Device() == part:
		case has == "" && !o.Drives.IsSet():
			p.Lacks("purpose (drives) of an output that works an ignition coil", `add drives = "coil primary" or drives = "coil logic" to the terminal`, o.Span, o.String())
		case has != "" && has != wants:
			wrongDrive(p, part, pin, o, wants)
			return
		}
	}
}

func wrongDrive(p *rules.Pass, part *model.Part, pin, output *model.Pin, wants string) {
	span, wires := spanAt(p, output.ID)
	refs := append([]string{part.Name.Text, pin.String(), output.String()}, wires...)
	message, help := "%s is the bare primary of a coil, and output %s is made for the input of an igniter", "put an igniter between, or take an output with drives = \"coil primary\""
	if wants == logic {
		message, help = "%s is the logic input of an igniter, and output %s is made for the primary of a coil", "take a logic output, or a coil without an igniter"
	}
	d := p.Report(span, refs, message, pin, output)
	d.Help = help
	d.Related = p.Hops(p.Graph.Path(pin.ID, output.ID, outside))
	for _, x := range []*model.Pin{pin, output} {
		if x.Drives.IsSet() {
			d.Related = append(d.Related, diag.Related{Span: x.Drives.Span, Message: x.String() + " says " + x.Drives.Text})
		}
	}
}
