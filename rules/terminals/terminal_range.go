package terminals

import (
	"ferrule/rules"
	"fmt"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "terminal-range", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a wire is too thin or too thick for the terminal that is crimped on",
	Doc: `In the vehicle a conductor that is too thin sits loose in the barrel, gets hot under load and pulls out; one that is too thick does
not close the crimp, and strands are cut off to make it fit. The rule holds the size of every wire against the range that the
definition of its terminal states (wire = ["22 AWG", "16 AWG"]). Of a double crimp the sum of the conductors must lie in the range.

Take another size, or the terminal for it: most families have one for thin and one for thick wire. A wire that is longer and
thicker than its current asks can end in a short piece of the right size, joined by a splice. AWG and mm2 are compared by the
nominal area; 5 % is allowed between them, since 0.5 mm2 and 20 AWG are one crimp. Silent are terminals of which the file states no range.`,
	Sources: []string{
		"ASTM B258 for the areas of AWG sizes (testdata/reference/awg.csv)",
		"common practice: the range of the maker's sheet, for a double crimp the sum of the areas",
	},
	Bad: `[terminal.t15]
wire = ["22 AWG", "16 AWG"]
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
M1 = { kind = "motor", load = "7 A", spare = true, terminal = "t15" }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "12 AWG" }
`,
	Good: `[terminal.t63]
wire = ["14 AWG", "10 AWG"]
[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
M1 = { kind = "motor", load = "7 A", spare = true, terminal = "t63" }
[wire]
W1 = { from = "F1:2", to = "M1:1", size = "12 AWG" }
`,
	Run: func(p *rules.Pass) {
		seats(p, func(s seat) { inRange(p, s) })
		lackTerminals(p)
	},
})

// sameCrimp is how far two areas may differ and count as one: the names of sizes by AWG and by mm2 differ by that much.
const sameCrimp = 0.05

func inRange(p *rules.Pass, s seat) {
	t := s.terminal
	if !t.Wire[0].IsSet() {
		p.Lacks("conductor range of the terminal", `add wire = ["22 AWG", "16 AWG"] to its definition`, t.Name.Span, t.Name.Text)
		return
	}
	area := 0.0
	for _, w := range s.wires {
		if !w.Size.IsSet() {
			return // no-data says that it has no size
		}
		area += w.Size.AreaMM2()
	}
	if len(s.wires) > 1 && !s.pin.DoubleCrimp.On {
		for _, w := range s.wires { // whether they may share it at all is the matter of shared-cavity
			one(p, s, []*model.Wire{w}, w.Size.AreaMM2())
		}
		return
	}
	one(p, s, s.wires, area)
}

// misfit reports whether so much conductor is too thin or too thick for a barrel.
func misfit(area float64, t *model.Terminal) (thin, thick bool) {
	return area < t.Wire[0].AreaMM2()*(1-sameCrimp), area > t.Wire[1].AreaMM2()*(1+sameCrimp)
}

// outside reports whether a size is stated and lies outside the stated range of a barrel.
func outside(size unit.Size, t *model.Terminal) bool {
	if !size.IsSet() || !t.Wire[0].IsSet() {
		return false
	}
	thin, thick := misfit(size.AreaMM2(), t)
	return thin || thick
}

// one holds what goes into a barrel against its range.
func one(p *rules.Pass, s seat, wires []*model.Wire, area float64) {
	t, pin := s.terminal, s.pin
	low, high := t.Wire[0], t.Wire[1]
	thin, thick := misfit(area, t)
	if !thin && !thick {
		return
	}
	w := wires[0]
	refs, what := []string{pin.String(), t.Name.Text, w.Name.Text}, fmt.Sprintf("wire %s is %s", w.Name.Text, w.Size)
	if len(wires) > 1 {
		var names []string
		refs = refs[:2]
		for _, w := range wires {
			names, refs = append(names, fmt.Sprintf("%s (%s)", w.Name.Text, w.Size)), append(refs, w.Name.Text)
		}
		what = fmt.Sprintf("wires %s are %s mm2 together", rules.And(names), unit.Format(area))
	} else {
		refs = []string{w.Name.Text, pin.String(), t.Name.Text}
	}
	d := p.Report(w.SizeSpan, refs, "%s, but terminal %s at %s takes %s to %s", what, t.Name.Text, pin, low, high)
	d.Help = "take the terminal of the family that is made for it, or a wire within the range"
	if thin {
		d.Help += "; a thin wire folded back is no crimp"
	}
	d.Related = []diag.Related{{Span: t.WireSpan, Message: fmt.Sprintf("terminal %s takes %s to %s", t.Name.Text, low, high)}}
}
