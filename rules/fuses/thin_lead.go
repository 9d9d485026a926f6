package fuses

import (
	"fmt"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "thin-lead", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a lead without a fuse of its own bears less than the fuse that stands in series with it",
	Doc: `In the vehicle the piece from the battery to its main fuse, the cable between two batteries of a bank, or the lead of a generator carries
whatever that fuse lets pass, and it is the thinnest of all: it glows, and the fuse has no reason to open. No fuse lies ahead of such a
lead, so fuse-above-wire does not see it. The rule fires where the lead bears less, alone and at its ambient, than the rating of the
fuse in series with it, or than the limit of the source that feeds it.

Take thicker wire, or a smaller fuse if the loads allow it. Silent are the ground side, which is thin-ground's matter; pieces up to
180 mm with both ends in one panel; leads of which the fuse is too large for a wire behind it as well, where fuse-above-wire says that
the fuse is the mistake; and wires of which nothing is known to stand in series.`,
	Sources: []string{
		"33 CFR 183.425 Table 5: what a wire carries, corrected for its ambient (testdata/reference/ampacity-33cfr183.csv)",
		"common practice: a battery lead bears its main fuse, and a series jumper is as thick as the cables of its bank",
	},
	Bad: leadTo("10 AWG"), Good: leadTo("4 AWG"),
	Run: func(p *rules.Pass) {
		for _, w := range p.Sizing().Wires {
			for i := range w.Limits {
				if l := &w.Limits[i]; l.Series && !l.Met {
					thinLead(p, w, l)
				}
			}
		}
	},
})

// leadTo is a heater behind a fuse of 60 A, with the size of the lead from the battery to the fuse.
func leadTo(size string) string {
	return `[harness]
cable = "AWG"
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "60 A" }
A1 = { kind = "heater", load = "40 A" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "` + size + `", length = "0.1 m" }
W2 = { from = "F1:2", to = "A1:1", size = "6 AWG", length = "1 m" }
W3 = { from = "A1:2", to = "BAT1:-", size = "4 AWG", length = "1 m" }
[state.on]
`
}

func thinLead(p *rules.Pass, w *sizing.Wire, l *sizing.Limit) {
	a := above{Pass: p}
	wire := w.Wire
	if !wire.Size.IsSet() || !wire.Wired() || p.Grounded(wire.From.ID) || a.inBox(wire) || tooLargeAnyhow(p, l.Device, wire) {
		return
	}
	d := p.Report(wire.SizeSpan, []string{wire.Name.Text, l.Device.Name.Text}, "lead %s %s is too thin: %s", wire.Name.Text, wire.Size, l.What)
	d.Help = "make it thicker: ferrule size says by how much"
	if l.Least.IsSet() {
		size := p.Suited(wire, l.Least)
		d.Help = fmt.Sprintf("make it %s", size)
		d.Fixes = p.Resize(wire, size)
	}
	_, span := ratingOf(l.Device)
	d.Related = []diag.Related{{Span: span, Message: called(l.Device)}}
}

// tooLargeAnyhow reports whether a fuse is too large for a wire behind it that has no more metal than a lead.
func tooLargeAnyhow(p *rules.Pass, device *model.Part, lead *model.Wire) bool {
	f := studies(p)[device]
	if f == nil || f.LimitedBy == nil || f.Most >= f.Rating {
		return false
	}
	behind, _ := conductor.AreaMM2(f.LimitedBy.Size, p.Netlist.Harness.Cable)
	own, _ := conductor.AreaMM2(lead.Size, p.Netlist.Harness.Cable)
	return behind <= own*1.03
}
