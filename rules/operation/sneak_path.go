package operation

import (
	"cmp"
	"fmt"
	"slices"
	"sync"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sneak-path", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "with a fuse out, a ground lifted or a motor coasting, current takes a way that nobody meant",
	Doc: `A blown fuse or a loose ground does not always make things dead: current comes back through a lamp, a gauge or a coil that is fed
from elsewhere, and lamps glow, relays hold, a controller sits at half its voltage and does what it likes. Finding such a fault
on the road takes a day. The rule takes out each fuse, lifts each ground point and lets each motor that generates coast with the key off,
where the graph shows that what is cut off can still meet supply and ground through consumers; only these cases are solved,
each in the state in which the most is on. It reports what then has more than 1 V and 5 % of its rated current over such a way.

A relay that pulls in, a lamp that is lit with half its current or more, a controller at part of its supply: a warning. A starter, fuel pump or
controller that is powered though it was not before: an error. Less, and all that a lifted ground does, is a note, since
filaments on a shared ground always feed each other when it is lifted.

Give what is fed back a fuse in common with what feeds it, a diode, or a ground of its own. Silent are chains that the declared
states show themselves, such as a gauge with its sender. All states, single wires, plugs and switches are looked into by
ferrule sneak, which takes longer. In a very large harness the cases beyond what a check may cost are noted without numbers.`,
	Sources: []string{"common practice; thresholds of 1 V and 5 % of rated current likewise"},
	Settings: []rules.Setting{
		{Key: "share", Dim: unit.Share, Default: 0.05, Doc: "the share of its rated current from which a consumer on such a way is reported; common practice"},
		{Key: "volts", Dim: unit.Voltage, Default: 1, Doc: "the voltage from which it is; common practice"},
	},
	Bad:  twoFeeds(`"F2:2"`),
	Good: twoFeeds(`"G1:3"`),
	Run: func(p *rules.Pass) {
		for _, fan := range p.Netlist.Parts {
			if fan.Function.Text == "cooling fan" && fan.Kind.Name == "motor" && !fan.Spare.On && fan.Value("generates") == nil {
				p.Lacks("volts that a fan gives while it coasts", `add generates = "6 V" to it; "0 V" for one that gives none`, fan.Name.Span, fan.Name.Text)
			}
		}
		h := &hunt{Pass: p, stamp: make([]int32, len(p.Netlist.Pins))}
		cases := append(append(h.fuses(), h.coasting()...), h.grounds()...)
		if len(cases) == 0 {
			return
		}
		solved := min(len(cases), max(leastCases, mostBranches/max(1, len(p.Circuit().Branches))))
		h.solve(cases[:solved])
		for i := range cases {
			h.report(&cases[i], i < solved)
		}
	},
})

// Of what a check may cost: so many branches are solved in all, and so many cases in any event. A solution of the
// demonstration pickup, with its 700 branches, takes a millisecond.
const (
	mostBranches = 30000
	leastCases   = 4
)

// twoFeeds are two lamps with a fuse each; the return of the first ends at the place given.
func twoFeeds(at string) string {
	return `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", resistance = "8 mohm" }
F1 = { kind = "fuse", rating = "10 A" }
F2 = { kind = "fuse", rating = "10 A" }
E1 = { kind = "lamp", load = "21 W" }
E2 = { kind = "lamp", load = "5 W" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "14 AWG", length = "0.1 m" }
W2 = { from = "BAT1:+", to = "F2:1", size = "14 AWG", length = "0.1 m" }
W3 = { from = "F1:2", to = "E1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "E1:2", to = ` + at + `, size = "18 AWG", length = "1 m" }
W5 = { from = "F2:2", to = "E2:1", size = "18 AWG", length = "1 m" }
W6 = { from = "E2:2", to = "G1:1", size = "18 AWG", length = "1 m" }
W7 = { from = "BAT1:-", to = "G1:2", size = "4 AWG", length = "0.5 m" }
`
}

// solve works the cases out side by side; each has its own place for the result.
func (h *hunt) solve(cases []sneak) {
	h.Reports() // before the workers, which all begin from these
	var group sync.WaitGroup
	slots := make(chan struct{}, 4)
	for i := range cases {
		group.Add(1)
		slots <- struct{}{}
		go func() {
			defer group.Done()
			h.work(&cases[i])
			<-slots
		}()
	}
	group.Wait()
}

// An effect is what a case does to one thing.
type effect struct {
	name, part string
	how        string
	volts      float64
	share      float64
	severity   diag.Severity
}

func (h *hunt) report(k *sneak, solved bool) {
	if !solved {
		d := h.ReportAs(diag.Note, k.span, append([]string{k.name}, k.shared...), "%s, %s are joined to each other only through themselves (not computed)", k.does, rules.Few(k.shared))
		d.Help = "`ferrule sneak` computes what flows"
		return
	}
	if len(k.effects) == 0 {
		return
	}
	slices.SortStableFunc(k.effects, func(a, b effect) int {
		return cmp.Or(cmp.Compare(b.severity, a.severity), cmp.Compare(b.share, a.share))
	})
	refs, texts, severity := []string{k.name}, []string(nil), k.effects[0].severity
	for i, e := range k.effects {
		if !slices.Contains(refs, e.part) {
			refs = append(refs, e.part)
		}
		if i < 3 {
			texts = append(texts, fmt.Sprintf("%s %s with %s (%.0f %%)", e.name, e.how, unit.Volt(round(e.volts)), 100*e.share))
		}
	}
	more := ""
	if n := len(k.effects) - 3; n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	d := h.ReportAs(severity, k.span, refs, "%s in state %s, current comes over a way that is not meant: %s%s", k.does, h.Conditions[k.at].Name(), join(texts), more)
	d.Help = k.help
}

func round(v float64) float64 { return float64(int(v*10+0.5)) / 10 }

func join(texts []string) string {
	out := ""
	for i, t := range texts {
		if i > 0 {
			out += "; "
		}
		out += t
	}
	return out
}

// A sneak is one case that the graph shows to be worth solving.
type sneak struct {
	kind    sneakKind
	name    string // designator
	does    string // "with F7 out (Ignition)"
	help    string
	span    source.Span
	at      int // condition
	shared  []string
	effects []effect
	cut
}
