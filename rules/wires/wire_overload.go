package wires

import (
	"fmt"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "wire-overload", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a wire carries more than it may at its ambient, in its bundle",
	Doc: `In the vehicle the copper warms until the insulation softens, then the wires beside it, then the loom. The fuse does not
help: it holds its rating for hours. The rule solves every state and holds what warms each wire against what it may carry
there: the ampacity of its size and insulation, less for the hottest zone on its way, less for the wires that are loaded
beside it on its fullest path in that state.

What warms is the root mean square: a consumer with a duty counts with that, unless it is on for minutes at a time, which
warms a wire as if it never stopped; a flasher counts with half its time. Only wires that
carry more than a quarter of their own ampacity count as loaded; a bundle of forty sensor wires is no bundle in this sense.
What feeds the motor of a starter runs for seconds and is not judged. A wire whose ambient no zone states is judged at that
of a room, 40 C; where it carries more than half of what it might there, the missing ambient is said under no-data.

Take the size that the help names, better insulation, or a way past the hot zone or out of the bundle. A wire in a zone that
is hotter than its insulation is another rule's matter: see insulation-too-hot.`,
	Sources: []string{
		"33 CFR 183.425 Table 5 with notes 1 and 2: ampacity, ambient and bundles (testdata/reference/ampacity-33cfr183.csv)",
		"sizes below 18 AWG: common practice, from memory",
	},
	Bad: `[part]
F1 = { kind = "fuse", rating = "30 A" }
BAT1 = { kind = "battery", capacity = "60 Ah" }
E1 = { kind = "resistor", resistance = "0.4 ohm" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "8 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "BAT1:-", size = "8 AWG", length = "1 m" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "30 A" }
BAT1 = { kind = "battery", capacity = "60 Ah" }
E1 = { kind = "resistor", resistance = "0.4 ohm" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "8 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "E1:1", size = "8 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "BAT1:-", size = "8 AWG", length = "1 m" }
`,
	Run: func(p *rules.Pass) {
		worst := map[*model.Wire]*worse[burden]{}
		for cond, r := range settled(p) {
			for i := range r.Wires {
				w := &r.Wires[i]
				if w.Brief || w.Ampacity <= 0 {
					continue
				}
				if worst[w.Wire] == nil {
					worst[w.Wire] = &worse[burden]{}
				}
				worst[w.Wire].take(w.Share(), burden{cond, r, w})
			}
		}
		lacking := &unknownAmbients{Pass: p}
		for _, w := range p.Netlist.Wires {
			switch at := worst[w]; {
			case at == nil:
			case at.by > 1+1e-9:
				overloaded(p, at.what)
			case tooThinFor(p, w) != nil:
				sized(p, tooThinFor(p, w))
			case at.by > maybeTooMuch && !at.what.wire.AmbientKnown:
				lacking.add(w)
			}
		}
	},
})

// maybeTooMuch is the share of its current at 40 C from which a wire would be overloaded in an engine bay: at 85 C and
// with 105 C insulation it may carry sqrt(20/65) = 0.55 of it.
const maybeTooMuch = 0.55

// A burden is what a wire carries in a state.
type burden struct {
	cond   *graph.Condition
	report *circuit.Report
	wire   *circuit.WireReport
}

func overloaded(p *rules.Pass, b burden) {
	w, branch := b.wire.Wire, &b.report.Solution.Circuit.Branches[b.wire.Branch]
	around := fmt.Sprintf("%s, %s insulation", unit.Celsius(b.wire.Ambient), branch.Insulation())
	path := ""
	if b.wire.Loaded > 1 {
		if fullest := b.fullest(p); fullest != nil {
			path = " in " + fullest.Name.Text
		}
		around += fmt.Sprintf(", %d loaded wires%s", b.wire.Loaded, path)
	}
	carries, may := rules.Apart(b.wire.RMS, b.wire.Ampacity, "A", amperes)
	d := p.Report(place(w).Span, []string{w.Name.Text}, "%s %s carries %s of %s %s (%s)",
		w.Name.Text, w.Size, carries, may, inState(b.cond), around)
	factor, _ := conductor.BundleFactor(b.wire.Loaded)
	d.Help = "part its consumers over several wires, or take it out of the hot zone or the bundle"
	for _, size := range larger(w.Size) {
		base, _ := conductor.AmpacityOf(size, branch.Insulation(), branch.Metal())
		if may := float64(conductor.Derate(base, branch.Insulation(), b.wire.Ambient)) * factor; may >= b.wire.RMS {
			d.Help = fmt.Sprintf("write size = %q, which may carry %s there; and see that the fuse suits it", size, amperes(may))
			if suited := p.Suited(w, size); suited != size {
				d.Help = fmt.Sprintf("write size = %q, and see that the fuse suits it: %s may carry %s there, but other limits of %s ask for more (`ferrule size` says which)", suited, size, amperes(may), w.Name.Text)
				size = suited
			}
			d.Fixes = p.Resize(w, size)
			break
		}
	}
	d.Help += rules.MeasureFirst(rules.GuessedOver(b.report, b.wire.Branch))
}

// tooThinFor returns the study of the size of a wire when it finds the wire too thin for the current that warms it, in a state that is
// looked at: it follows each consumer's pulses into each wire, and sees what the report of a state, which takes them as a mean, can miss
// by a little. Nil when it finds nothing.
func tooThinFor(p *rules.Pass, w *model.Wire) *sizing.Wire {
	s := p.SizeOf(w)
	if s == nil || !w.Size.IsSet() || !slices.ContainsFunc(p.Conditions, func(c *graph.Condition) bool { return c.Name() == s.State }) {
		return nil
	}
	if l := ampacityOf(s); l == nil || l.Met {
		return nil
	}
	return s
}

func ampacityOf(s *sizing.Wire) *sizing.Limit {
	for i := range s.Limits {
		if s.Limits[i].Rule == sizing.Ampacity {
			return &s.Limits[i]
		}
	}
	return nil
}

// sized reports a wire by the numbers of the study of sizes.
func sized(p *rules.Pass, s *sizing.Wire) {
	w, l := s.Wire, ampacityOf(s)
	d := p.Report(place(w).Span, []string{w.Name.Text}, "%s %s is too thin for what warms it in state %s: %s", w.Name.Text, w.Size, s.State, l.What)
	d.Help = "part its consumers over several wires, or take it out of the hot zone or the bundle"
	if size := l.Least; size.IsSet() {
		size = p.Suited(w, size)
		d.Help = fmt.Sprintf("write size = %q; and see that the fuse suits it", size)
		d.Fixes = p.Resize(w, size)
	}
}

// fullest returns the path on the way of a wire that has the most loaded wires in it.
func (b burden) fullest(p *rules.Pass) *model.Path {
	_, way, _ := p.Routes.Between(p.Routes.PlaceOf(b.wire.Wire.From.ID), p.Routes.PlaceOf(b.wire.Wire.To.ID))
	count := map[*model.Path]int{}
	for i := range b.report.Wires {
		w := &b.report.Wires[i]
		branch := &b.report.Solution.Circuit.Branches[w.Branch]
		base, _ := conductor.AmpacityOf(w.Wire.Size, branch.Insulation(), branch.Metal())
		if w.Brief || w.RMS <= loadedShare*float64(base) {
			continue
		}
		_, paths, _ := p.Routes.Between(p.Routes.PlaceOf(w.Wire.From.ID), p.Routes.PlaceOf(w.Wire.To.ID))
		for _, path := range paths {
			count[path]++
		}
	}
	var most *model.Path
	for _, path := range way {
		if most == nil || count[path] > count[most] {
			most = path
		}
	}
	return most
}

// loadedShare is the share of its ampacity at 30 C above which a wire counts in its bundle: 33 CFR 183.425 note 2 speaks of
// current carrying conductors, and practice leaves out what carries next to nothing.
const loadedShare = 0.25

// unknownAmbients says which wires could not be judged in the heat around them: each wire where the file has zones with
// temperatures, the first alone where it has none.
type unknownAmbients struct {
	*rules.Pass
	said bool
}

func (u *unknownAmbients) add(w *model.Wire) {
	zoned := false
	for _, z := range u.Netlist.Zones {
		zoned = zoned || z.Ambient.IsSet()
	}
	if u.said && !zoned {
		return
	}
	u.said = true
	u.Lacks("ambient temperature around the wire", `give its places or paths a zone with ambient = "85 C"`, w.Name.Span, w.Name.Text)
}
