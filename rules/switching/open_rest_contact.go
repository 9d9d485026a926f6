package switching

import (
	"ferrule/netlist/diag"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "open-rest-contact", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "the contact 87a of a changeover relay is live and open",
	Doc: `A changeover relay joins 30 to 87a as long as it rests. Where a relay with five terminals stands in for one with four, 87a is
live behind the fuse of 30 and ends in the air or under a loose plug: what touches it shorts the feed. The rule fires where 30 can
be live and 87a has no wire.

Take a relay with a make contact only, or close the cavity and say so: pin.87a = { unused = true }. Silent are relays in a
panel, where nothing can touch the terminal, relays with four terminals, and a 30 that cannot be live. A wire on 87a that leads
nowhere is the matter of unterminated-pin.`,
	Sources: []string{"DIN 72552 and ISO 7588-1 for the terminals (testdata/reference/relay-iso7588.csv)", "common practice"},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
K1 = { kind = "changeover relay", suppression = "resistor" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "K1:30" }
W2 = { from = "BAT1:-", to = "G1:1" }
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
K1 = { kind = "relay", suppression = "resistor" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "K1:30" }
W2 = { from = "BAT1:-", to = "G1:1" }
`,
	Run: func(p *rules.Pass) {
		var most *reach.Flow
		for _, part := range p.Netlist.Parts {
			if len(part.Inside.Coils) == 0 || part.Spare.On || part.Panel != nil {
				continue
			}
			for _, c := range part.Inside.Closed {
				open, feed := c.B, c.A
				if p.Graph.Reached(feed) == p.Graph.Reached(open) {
					continue
				}
				if p.Graph.Reached(open) {
					open, feed = feed, open
				}
				pin := p.Netlist.Pin(open)
				if pin.OnPurpose() || pin.Plugged.On {
					continue
				}
				if most == nil {
					most = reach.New(p.Facts).Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput})
				}
				if !most.Live(feed) {
					continue
				}
				d := p.Report(part.Name.Span, []string{part.Name.Text, pin.String()}, "%s is live while the relay rests, and nothing is on it", pin)
				d.Help = "take a relay with a make contact only, or close the cavity and write pin." + pin.Name + " = { unused = true }"
			}
		}
	},
})
