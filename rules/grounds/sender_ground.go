package grounds

import (
	"fmt"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sender-ground", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "a gauge sender shares its ground wire with a pump or another large consumer",
	Doc: `In the vehicle the gauge moves when the pump starts: 7 A over 20 mohm of shared wire and joint lift the sender's end by 140 mV,
a good part of what the gauge reads. The rule fires where the return of a sender (a resistance whose other end is a terminal of
role signal) and that of a consumer of one ampere or more have one wire as their only way to ground.

Give the sender a wire of its own to the stud. Separate wires to one stud stay silent, and so does a unit that has one ground
terminal for both by make.`,
	Sources: []string{"common practice"},
	Bad: `[body.frame]
[part]
B1 = { kind = "device", pins = ["1", "2"], pin.1 = { role = "signal", unused = true }, resistors = [{ between = "1-2", value = "45 ohm" }] }
M1 = { kind = "motor", load = "7 A", pin.1.unused = true }
G1 = { kind = "ground point", body = "frame" }
[wire]
W1 = { from = "B1:2", to = "M1:2" }
W2 = { from = "M1:2", to = "G1:1" }
`,
	Good: `[body.frame]
[part]
B1 = { kind = "device", pins = ["1", "2"], pin.1 = { role = "signal", unused = true }, resistors = [{ between = "1-2", value = "45 ohm" }] }
M1 = { kind = "motor", load = "7 A", pin.1.unused = true }
G1 = { kind = "ground point", body = "frame" }
[wire]
W1 = { from = "B1:2", to = "G1:1" }
W2 = { from = "M1:2", to = "G1:2" }
`,
	Settings: []rules.Setting{{Key: "least", Dim: unit.Current, Default: 1, Doc: "the current of a consumer from which a sender must not share its ground: 1 A over 20 mohm are 20 mV (common practice)"}},
	Run: func(p *rules.Pass) {
		r := newReturns(p)
		consumers := r.consumers()
		senders := r.senders()
		for _, root := range r.order {
			land, only := r.onlyWire(root)
			sender, any := senders[root]
			if !only || !any {
				continue
			}
			for _, c := range consumers[root] {
				takes, known := p.LoadAmps(c.load, p.LoadVolts(c.load))
				if known && takes >= p.Setting("least") && c.ret != sender {
					movesGauge(p, land, sender, c, takes)
					break
				}
			}
		}
	},
})

// senders finds, for each piece, the return of a sender on it.
func (r *returns) senders() map[int32]model.PinID {
	found := map[int32]model.PinID{}
	note := func(ret, signal model.PinID) {
		if ret == model.NoPin || signal == model.NoPin || r.isEnd(ret) || r.Netlist.Pin(signal).Role != catalog.Signal {
			return
		}
		if root := r.pieces.Find(int32(ret)); r.landings[root] != nil {
			if _, known := found[root]; !known {
				found[root] = ret
			}
		}
	}
	for _, part := range r.Netlist.Parts {
		if part.Kind.Name == "module" || part.Kind.Name == "gauge" {
			continue // the resistors inside are inputs and pull-ups
		}
		for _, x := range part.Inside.Resistors {
			note(x.A, x.B)
			note(x.B, x.A)
		}
		for _, x := range part.Inside.Loads {
			note(x.A, x.B)
			note(x.B, x.A)
		}
	}
	return found
}

func movesGauge(p *rules.Pass, land landing, sender model.PinID, c consumer, takes float64) {
	w, name := land.edge.Wire.Name.Text, p.Netlist.Pin(sender).String()
	refs := []string{p.Netlist.Pin(sender).Owner.Name.Text, name, c.part.Name.Text, w}
	d := p.Report(endSpan(p, land), refs, "sender ground %s and %s (%s) share wire %s", name, c.part.Name.Text, unit.Ampere(takes), w)
	d.Help = fmt.Sprintf("take %s to %s by a wire of its own", name, p.Netlist.Pin(land.at).Owner.Name.Text)
	path := append(p.Graph.Path(sender, land.from, carries), p.Graph.Path(c.ret, land.from, carries)...)
	d.Related = p.Hops(path)
}
