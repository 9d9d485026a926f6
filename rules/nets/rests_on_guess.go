package nets

import (
	"fmt"
	"math"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "rests-on-guess", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "a fuse or a wire size rests on a guess",
	Doc: `In the vehicle the fan that was guessed at 14 A takes 22, the fuse opens on the first hot day, and the sheet had said that all is
well. The rule goes by known-from = "guess" on consumers, and on paths and wires for their lengths, where a current of 1 A or more comes from them; and
on fuses, whatever they carry. It is a warning where the guess decides: if the consumer takes a quarter more than was guessed, its fuse carries more than
it bears for hours at its ambient; or the rating of a fuse itself is what was guessed. Else it is a note, once a consumer, once for all paths and once for
all wires, so that the list of what is left to measure is complete.

Measure the current with the part at work, or look it up, and write known-from = "measured" or "sheet". Silent are currents below
1 A, such as those of signals and warning lamps, spare parts, and fuses that are too small already for what was guessed: other rules say that.`,
	Sources: []string{"common practice: what was not measured is not passed; a quarter is how far run currents of motors lie from a guess"},
	Bad: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
M1 = { kind = "motor", load = "7 A", known-from = "guess" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`,
	Good: `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A", family = "blade" }
M1 = { kind = "motor", load = "7 A", known-from = "measured" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "BAT1:-", size = "14 AWG", length = "1 m" }
`,
	Settings: []rules.Setting{
		{Key: "from", Dim: unit.Current, Default: 1, Doc: "the current from which a guess matters (common practice)"},
		{Key: "margin", Dim: unit.Share, Default: 0.25, Doc: "how much more than guessed a consumer may turn out to take (common practice)"},
	},
	Run: func(p *rules.Pass) {
		g := &guesses{Pass: p, loads: map[*model.Part]*guess{}}
		g.collect()
		for _, part := range p.Netlist.Parts {
			if one := g.loads[part]; one != nil {
				g.report(part, one)
			}
		}
		g.paths()
		g.wires()
		g.fuses()
	},
})

// guesses is one run of the rule.
type guesses struct {
	*rules.Pass
	loads map[*model.Part]*guess
}

// A guess is the most that a guessed part takes in any state, and the fuse next to it there.
type guess struct {
	amps  float64 // while it is on
	rms   float64 // that warms the fuse
	bears float64 // what the fuse carries for hours; 0 when not known
	fuse  *model.Part
	state string
}

// collect looks at every consumer of every state that came to rest. The fuse next to it is the first on its chain.
func (g *guesses) collect() {
	from := g.Setting("from")
	for _, r := range g.Reports() {
		if r.Solution.Err != nil || !r.Solution.Settled {
			continue
		}
		fuses := map[int]int{}
		for i := range r.Fuses {
			fuses[r.Fuses[i].Branch] = i
		}
		for i := range r.Loads {
			l := &r.Loads[i]
			b := &r.Solution.Circuit.Branches[l.Branch]
			amps := math.Abs(l.Amps)
			if b.Part.KnownFrom.Text != "guess" || b.Part.Spare.On || b.Cranks() || amps < from {
				continue
			}
			one := g.loads[b.Part]
			if one == nil {
				one = &guess{}
				g.loads[b.Part] = one
			}
			if amps <= one.amps*(1+1e-9) {
				continue
			}
			*one = guess{amps: amps, state: r.Solution.State}
			for branch := range l.Drop.Chain() {
				edge := r.Solution.Circuit.Branches[branch].Edge
				if at, known := fuses[branch]; known && edge != nil && edge.Kind == graph.Protect && one.fuse == nil {
					one.fuse, one.rms, one.bears = r.Fuses[at].Part, r.Fuses[at].RMS, r.Fuses[at].Continuous
				}
			}
		}
	}
}

func (g *guesses) report(part *model.Part, one *guess) {
	refs := []string{part.Name.Text}
	message := fmt.Sprintf("%s takes %s by a guess", part.Name.Text, unit.Ampere(one.amps))
	severity := diag.Note
	if one.fuse != nil {
		refs = append(refs, one.fuse.Name.Text)
		message += fmt.Sprintf(", and fuse %s rests on it", one.fuse.Name.Text)
		if more := g.Setting("margin") * one.amps; one.bears > 0 && one.rms <= one.bears && one.rms+more > one.bears {
			severity = diag.Warning
			message += fmt.Sprintf(": it carries %s in state %s and bears %s, less than %s more", unit.Ampere(one.rms), one.state, unit.Ampere(one.bears), unit.Ampere(more))
		}
	}
	d := g.ReportAs(severity, part.KnownFrom.Span, refs, "%s", message)
	d.Help = `measure it at work, then write load and known-from = "measured"`
}

// paths notes, together, guessed paths that wires with such currents take their lengths from.
func (g *guesses) paths() {
	most := map[*model.Path]float64{}
	from := g.Setting("from")
	for _, r := range g.Reports() {
		if r.Solution.Err != nil || !r.Solution.Settled {
			continue
		}
		for i := range r.Wires {
			w := &r.Wires[i]
			if w.Amps < from || !r.Solution.Circuit.Branches[w.Branch].GuessedWire() || w.Wire.Length.IsSet() {
				continue
			}
			_, way, _ := g.Routes.Between(g.Routes.PlaceOf(w.Wire.From.ID), g.Routes.PlaceOf(w.Wire.To.ID))
			for _, path := range way {
				most[path] = max(most[path], w.Amps)
			}
		}
	}
	var first *model.Path
	var names []string
	worst := 0.0
	for _, path := range g.Netlist.Paths {
		if path.KnownFrom.Text != "guess" || most[path] == 0 {
			continue
		}
		if first == nil {
			first = path
		}
		names, worst = append(names, path.Name.Text), max(worst, most[path])
	}
	if first != nil {
		tail := fmt.Sprintf("wires with up to %s take theirs from %s", unit.Ampere(worst), rules.Plural(len(names), "it", "them"))
		g.lengths(first.KnownFrom.Span, names, tail).Help = `measure along the harness, then write known-from = "measured"`
	}
}

// lengths notes that the lengths of paths or wires are guesses, and what hangs on them.
func (g *guesses) lengths(span source.Span, names []string, tail string) *diag.Diagnostic {
	return g.ReportAs(diag.Note, span, names, "the %s of %s %s, and %s", rules.Plural(len(names), "length", "lengths"), rules.Few(names),
		rules.Plural(len(names), "is a guess", "are guesses"), tail)
}

// wires notes, together, wires whose own written length is a guess and that carry such currents.
func (g *guesses) wires() {
	most := map[*model.Wire]float64{}
	for _, r := range g.Reports() {
		if r.Solution.Err != nil || !r.Solution.Settled {
			continue
		}
		for i := range r.Wires {
			if w := r.Wires[i].Wire; w.KnownFrom.Text == "guess" && w.Length.IsSet() {
				most[w] = max(most[w], math.Abs(r.Wires[i].Amps))
			}
		}
	}
	var first *model.Wire
	var names []string
	worst := 0.0
	for _, w := range g.Netlist.Wires {
		if most[w] < g.Setting("from") {
			continue
		}
		if first == nil {
			first = w
		}
		names, worst = append(names, w.Name.Text), max(worst, most[w])
	}
	if first != nil {
		tail := fmt.Sprintf("up to %s %s", unit.Ampere(worst), rules.Plural(len(names), "flows in it", "flow in one of them"))
		g.lengths(first.KnownFrom.Span, names, tail).Help = `measure along the way, then write length and known-from = "measured"`
	}
}

// fuses warns of ratings that are guesses: the wires behind them are protected by nothing that anybody has looked at.
func (g *guesses) fuses() {
	for _, part := range g.Netlist.Parts {
		rating := part.Value("rating")
		if part.KnownFrom.Text != "guess" || part.Spare.On || rating == nil || len(part.Inside.Protects) == 0 {
			continue
		}
		d := g.Report(part.KnownFrom.Span, []string{part.Name.Text}, "the rating of %s, %s, is a guess, and the wires behind it rest on it", part.Name.Text, unit.Ampere(rating.Quantity.Value))
		d.Help = `look at the fuse in its holder, then write rating and known-from = "measured"`
	}
}
