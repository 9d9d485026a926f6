package terminals

import (
	"ferrule/rules"
	"fmt"

	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "seal-range", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a wire does not fit the seal of its cavity",
	Doc: `In the vehicle water creeps along a wire that is too thin for its seal, or past a seal that a thick one has split, stands in the
plug and eats the contact; it shows a winter later. Two wires through one seal leave a gap between them that nothing closes. The rule looks
at sealed connectors and sealed parts whose terminals state a seal, and holds the outside diameter of each wire against its range.

Take the seal for this wire (they are sold by colour for ranges of diameter), or another size. Two wires meet in a splice outside the
housing. The outside diameters are those of thin-wall vehicle wire as they are usually made, no maker's; a tenth is allowed for that, so
measure what you have. Silent is what is not sealed, a wire without size, and one that does not
fit the barrel either (terminal-range says that).`,
	Sources: []string{"outside diameters of thin-wall wire: from memory, an estimate (netlist/conductor)", "common practice: one wire, one seal"},
	Bad: `[terminal.t15]
seal = ["1.4 mm", "2.4 mm"]
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
M1 = { kind = "motor", load = "7 A", spare = true, terminal = "t15", sealed = true }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "12 AWG" }
`,
	Good: `[terminal.t15]
seal = ["1.4 mm", "2.4 mm"]
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
M1 = { kind = "motor", load = "7 A", spare = true, terminal = "t15", sealed = true }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "16 AWG" }
`,
	Run: func(p *rules.Pass) {
		seats(p, func(s seat) {
			t := s.terminal
			switch {
			case !sealed(s.pin.Owner):
			case !t.Seal[0].IsSet():
				p.Lacks("seal range of the terminal", `add seal = ["1.4 mm", "2.4 mm"] to its definition, from the sheet`, t.Name.Span, t.Name.Text)
			case len(s.wires) > 1:
				twoInASeal(p, s)
			case outside(s.wires[0].Size, t): // the size is wrong already, and with the right one the seal may fit
			default:
				throughSeal(p, s)
			}
		})
	},
})

// guessOfDiameter is how far the diameters of wires of one size differ from maker to maker.
const guessOfDiameter = 0.1

func throughSeal(p *rules.Pass, s seat) {
	t, pin, w := s.terminal, s.pin, s.wires[0]
	mm, _ := conductor.OutsideDiameter(w.Size)
	low, high := t.Seal[0].Value*1000, t.Seal[1].Value*1000
	how, kind := "thin", "tighter"
	switch {
	case mm <= 0 || mm >= low*(1-guessOfDiameter) && mm <= high*(1+guessOfDiameter):
		return
	case mm > high:
		how, kind = "thick", "wider"
	}
	d := p.Report(w.SizeSpan, []string{w.Name.Text, pin.String(), t.Name.Text}, "wire %s, %s, is some %s mm over its insulation, too %s for the seal at %s, which takes %s to %s mm",
		w.Name.Text, w.Size, unit.Format(mm), how, pin, unit.Format(low), unit.Format(high))
	d.Help = "take the " + kind + " seal of the family, or a wire that fits this one"
	d.Related = []diag.Related{{Span: t.Seal[0].Span, Message: fmt.Sprintf("the seal of terminal %s", t.Name.Text)}}
}

func twoInASeal(p *rules.Pass, s seat) {
	refs := []string{s.pin.String()}
	var names []string
	for _, w := range s.wires {
		names = append(names, w.Name.Text)
	}
	d := p.Report(endAt(s.wires[1], s.pin.ID).Span, append(refs, names...), "wires %s go through one seal at %s", rules.And(names), s.pin)
	d.Help = "join them at a splice outside the housing: a seal closes around one wire"
	if s.pin.DoubleCrimp.On {
		d.Related = []diag.Related{{Span: s.pin.DoubleCrimp.Span, Message: "a double crimp is for cavities without seal"}}
	}
}
