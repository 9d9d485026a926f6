package cut

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Allowances are what a piece is cut longer than its way. Lengths are metres, Lay, Twist and Reserve shares.
type Allowances struct {
	Plain    float64 // at each end
	Sealed   float64 // more at a sealed connector or device
	HingeOut float64 // more at a plug of a module
	Rock     float64 // more for each path that bends
	Lay      float64
	Twist    float64 // of a pair that is twisted at the bench
	Round    float64 // the step, upwards; 0 for none
	Reserve  float64 // what is bought beyond what is cut: `wire` of [reserve]
}

// Usual are the allowances of a netlist that states none: common practice. Of a span (rock 30 to 50 mm, twist 5 to 8 %) the upper
// end is taken: too long is a fold, too short is a new wire.
var Usual = Allowances{Plain: 0.05, Sealed: 0.10, HingeOut: 0.15, Rock: 0.05, Lay: 0.02, Twist: 0.08, Round: 0.01, Reserve: 0.15}

// AllowancesOf returns the allowances of a netlist, the usual ones for what it does not state.
func AllowancesOf(n *model.Netlist) Allowances {
	a, w := Usual, &n.Allowance
	for _, f := range []struct {
		to   *float64
		from model.Quantity
	}{
		{&a.Plain, w.Plain}, {&a.Sealed, w.Sealed}, {&a.HingeOut, w.HingeOut}, {&a.Rock, w.Rock}, {&a.Lay, w.Lay}, {&a.Twist, w.Twist},
		{&a.Round, w.Round}, {&a.Reserve, n.Reserve.Wire},
	} {
		if f.from.IsSet() {
			*f.to = f.from.Value
		}
	}
	return a
}

// String words the allowances for the foot of a sheet.
func (a Allowances) String() string {
	mm := func(metres float64) string { return unit.Format(math.Round(metres*1000)) + " mm" }
	percent := func(share float64) string { return unit.Format(math.Round(share*1000)/10) + " %" }
	return fmt.Sprintf("%s at each end, %s more where it is sealed, %s where a module hinges out, %s for a path that bends, %s lay, %s for a pair twisted at the bench, rounded up to %s",
		mm(a.Plain), mm(a.Sealed), mm(a.HingeOut), mm(a.Rock), percent(a.Lay), percent(a.Twist), mm(a.Round))
}

// A Sum is how a length came about.
type Sum struct {
	Written bool // in the netlist: it is cut as it stands there, and nothing is added
	Way     unit.Metre
	Paths   []*model.Path // over which the way leads
	Reached bool          // a way is known; of a written length it is there to compare
	Terms   []Term        // what is added to the way
	Lay     float64       // shares by which that grows; 0 for none
	Twist   float64
	Exact   unit.Metre // before it was rounded up; 0 where no way is known
	Derived unit.Metre // after it; of a written length what it would be
	SetBy   *Piece     // the longest of its group, whose length it has; nil where that is its own
}

// A Term is one thing that is added to a way.
type Term struct {
	What   string     // "to splice", "end", "sealed", "hinge-out", "service loop", "bends", "slack"
	At     string     // the designator where that is; empty for slack
	Metres unit.Metre // below zero where a splice lies on the way, short of its place
}

// Added is the sum of the terms.
func (s *Sum) Added() unit.Metre {
	sum := unit.Metre(0)
	for _, t := range s.Terms {
		sum += t.Metres
	}
	return sum
}

// String writes the arithmetic out, as a bench can check it: "1.25 way + 0.05 end XA + 0.15 hinge-out XA = 1.45; + 2 % lay = 1.479 m".
func (s *Sum) String() string {
	var b strings.Builder
	switch {
	case s.Written && !s.Reached:
		b.WriteString("as written; no way to compare")
	case s.Written:
		fmt.Fprintf(&b, "as written; way and allowances come to %s m", plain(float64(s.Derived)))
	case !s.Reached:
		b.WriteString("no way is known: measure, and write the length")
	default:
		s.writeTerms(&b)
	}
	if s.SetBy != nil {
		fmt.Fprintf(&b, "; as long as %s", s.SetBy.Wire.Name.Text)
	}
	return b.String()
}

func (s *Sum) writeTerms(b *strings.Builder) {
	fmt.Fprintf(b, "%s way", plain(float64(s.Way)))
	for _, t := range s.Terms {
		sign := "+"
		if t.Metres < 0 {
			sign = "-"
		}
		fmt.Fprintf(b, " %s %s %s", sign, plain(math.Abs(float64(t.Metres))), strings.TrimSpace(t.What+" "+t.At))
	}
	sum := float64(s.Way + s.Added())
	fmt.Fprintf(b, " = %s", plain(sum))
	for _, f := range []struct {
		share float64
		name  string
	}{{s.Lay, "lay"}, {s.Twist, "twist"}} {
		if f.share > 0 {
			sum *= 1 + f.share
			fmt.Fprintf(b, "; + %s %% %s = %s", unit.Format(math.Round(f.share*1000)/10), f.name, plain(sum))
		}
	}
	fmt.Fprintf(b, "; up to %s m", plain(float64(s.Derived)))
}

// plain writes metres to the tenth of a millimetre.
func plain(metres float64) string {
	return strconv.FormatFloat(math.Round(metres*1e4)/1e4, 'f', -1, 64)
}

// roundedUp is the next step above, or the length itself where it lies on one as near as sums of decimals get.
func roundedUp(metres, step float64) unit.Metre {
	if step <= 0 {
		return unit.Metre(metres)
	}
	const within = 1e-6 // of a step
	steps := math.Ceil(metres/step - within)
	return unit.Metre(math.Round(steps*step*1e9) / 1e9) // 144 steps of 0.01 are 1.44, and not a bit more
}
