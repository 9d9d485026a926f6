package fuses

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "fuse-above-wire", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a fuse is rated above what a wire behind it carries",
	Doc: `In the vehicle the thinnest piece behind the fuse is then the fuse: it gets hot, softens its neighbours and burns before the
fuse opens. The rule walks from every fuse, breaker and fusible link over wires, splices, connectors and contacts to the next
fuse or to what limits the current by itself, and holds the rating against what each single wire on the way carries at the
hottest ambient along it. The bundle is not counted here: one wire is faulted, not all.

Take the largest rating that the message names, or thicker wire for the pieces that it names. Where different circuits
hang on one fuse, a fuse of its own for the thin branch does it too.

Silent are wires behind a load, a relay's coil or a resistor, since these limit the current; wires from an input or output
of a module to elsewhere; pieces up to 180 mm with both ends in one panel; wires without a size, which no-data lists; wires in a zone
that is hotter than their insulation, which insulation-too-hot reports. Where no zone states an ambient temperature, 40 C is taken and the message says so.`,
	Sources: []string{
		"33 CFR 183.425 Table 5: what a wire carries, corrected for its ambient (testdata/reference/ampacity-33cfr183.csv)",
		"common practice: the fuse protects the thinnest wire; up to 180 mm (7 in) inside a box is exempt, after 33 CFR 183.455(b)",
	},
	Bad: aboveWire("15 A"), Good: aboveWire("10 A"),
	Run: func(p *rules.Pass) {
		a := above{Pass: p}
		for _, g := range surveyOf(p) {
			a.judge(g)
		}
	},
})

func aboveWire(rating string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin."-".unused = true }
F1 = { kind = "fuse", rating = "` + rating + `", family = "blade" }
E1 = { kind = "lamp", load = "55 W", pin.2.unused = true }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "20 AWG", length = "1 m" }
`
}

type above struct {
	*rules.Pass
	lacked bool // that an ambient is missing is said
}

// A class is wires of one fuse that carry the same, and too little.
type class struct {
	size  unit.Size
	bears unit.Ampere
	where string // the ambient and its zone
	names []string
}

func (a *above) judge(g *guarded) {
	if g.rating <= 0 {
		return
	}
	var classes []*class
	var weakest *model.Wire
	least := unit.Ampere(0)
	for _, w := range a.inOrder(g.wires) {
		if !w.Size.IsSet() || a.inBox(w) {
			continue
		}
		ambient, where := a.ambient(w)
		insulation := a.Netlist.Harness.Insulation
		if w.Insulation.IsSet() {
			insulation = unit.Celsius(w.Insulation.Value)
		}
		metal, _ := conductor.ParseMetal(w.Metal.Text)
		base, _ := conductor.AmpacityOf(w.Size, insulation, metal)
		bears := conductor.Derate(base, insulation, ambient)
		if float64(g.rating) <= float64(bears)*(1+1e-9) || base > 0 && bears <= 0 {
			continue
		}
		if weakest == nil || bears < least {
			weakest, least = w, bears
		}
		i := slices.IndexFunc(classes, func(c *class) bool { return c.size == w.Size && c.bears == bears })
		if i < 0 {
			classes = append(classes, &class{size: w.Size, bears: bears, where: where})
			i = len(classes) - 1
		}
		classes[i].names = append(classes[i].names, w.Name.Text)
	}
	if weakest != nil {
		a.report(g, classes, weakest, least)
	}
}

func (a *above) report(g *guarded, classes []*class, weakest *model.Wire, least unit.Ampere) {
	slices.SortStableFunc(classes, func(x, y *class) int {
		if x.bears < y.bears {
			return -1
		}
		return 1
	})
	var texts []string
	refs := []string{g.part.Name.Text}
	for _, c := range classes {
		texts = append(texts, fmt.Sprintf("%s of %s, which %s %s at %s", rules.Few(runs(c.names)), c.size, rules.Plural(len(c.names), "carries", "carry"), c.bears, c.where))
		refs = append(refs, c.names...)
	}
	_, span := ratingOf(g.part)
	largest := largestUpTo(g.part, least)
	f := studies(a.Pass)[g.part]
	if f != nil && len(f.Fitting) > 0 && f.Choice < largest { // a short piece in a box, exempt here, bears less
		largest = f.Choice
	}
	help := "take thicker wire"
	if apart := largestOf(fusecurve.Blade, least); apart > 0 {
		help = fmt.Sprintf("put a fuse of %s where %s begins, or take thicker wire", apart, weakest.Name.Text)
	}
	tail := ""
	if largest > 0 {
		tail = fmt.Sprintf("; largest fuse %s", largest)
		help = fmt.Sprintf("write rating = %q, or take thicker wire", largest.String())
	}
	asksMore := f != nil && largest > 0 && f.Least > largest
	if asksMore {
		help = fmt.Sprintf("the loads ask for at least %s: take thicker wire for these pieces, or put a fuse of %s or less where they begin", f.Least, largest)
	}
	d := a.Report(span, refs, "%s feeds %s%s", called(g.part), strings.Join(texts, ", and "), tail)
	d.Help = help
	if largest > 0 && !asksMore {
		d.Fixes = a.Rerate(g.part, largest, a.onlyFuseWrong(g, f) && f.Choice == largest)
	}
	d.Related = append(d.Related, diag.Related{Span: weakest.SizeSpan, Message: fmt.Sprintf("%s carries least: %s", weakest.Name.Text, least)})
}

// onlyFuseWrong reports whether a smaller fuse is the whole cure: the study finds one that the loads and the wires bear, of a family
// that the file states, and no wire behind the fuse has to become thicker for something else.
func (a *above) onlyFuseWrong(g *guarded, f *sizing.Fuse) bool {
	return f != nil && len(f.Fitting) > 0 && !f.Assumed && !slices.ContainsFunc(g.wires, a.TooThinAnyhow)
}

// inOrder sorts wires as they stand in the file.
func (a *above) inOrder(wires []*model.Wire) []*model.Wire {
	sorted := slices.Clone(wires)
	slices.SortFunc(sorted, func(x, y *model.Wire) int { return x.Index - y.Index })
	return sorted
}

// inBox reports whether a wire is a short piece with both ends in one panel. Where it states no length, no-data says so.
func (a *above) inBox(w *model.Wire) bool {
	from, to := panelOf(a.Netlist.Pin(w.From.ID).Owner), panelOf(a.Netlist.Pin(w.To.ID).Owner)
	length, known := a.Routes.Length(w)
	reach, _ := conductor.ProtectionReach(false)
	return from != nil && from == to && (!known || length <= reach)
}

func panelOf(o *model.Owner) *model.Panel {
	switch {
	case o.Panel != nil:
		return o.Panel
	case o.Part != nil:
		return o.Part.Panel
	}
	return nil
}

// roomCelsius is the ambient that is taken where no zone states one, as in the network of the circuit.
const roomCelsius unit.Celsius = 40

// ambient is the hottest ambient along the way of a wire, and the words for it with the zone.
func (a *above) ambient(w *model.Wire) (unit.Celsius, string) {
	from, to := a.Routes.PlaceOf(w.From.ID), a.Routes.PlaceOf(w.To.ID)
	var hottest *model.Zone
	consider := func(z *model.Zone) {
		if z != nil && z.Ambient.IsSet() && (hottest == nil || z.Ambient.Value > hottest.Ambient.Value) {
			hottest = z
		}
	}
	for _, p := range [...]*model.Place{from, to} {
		if p != nil {
			consider(p.Zone)
		}
	}
	_, paths, _ := a.Routes.Between(from, to)
	for _, p := range paths {
		consider(p.Zone)
	}
	if hottest != nil {
		celsius := unit.Celsius(hottest.Ambient.Value)
		return celsius, celsius.String() + " in " + hottest.Name.Text
	}
	if !a.lacked {
		a.lacked = true
		a.Lacks("ambient temperature around the wire", `give its places or paths a zone with ambient = "85 C"`, w.Name.Span, w.Name.Text)
	}
	return roomCelsius, roomCelsius.String() + " (taken, since no zone states it)"
}

// largestUpTo is the largest rating of the fuse's family that a current bears; 0 when none is made so small.
func largestUpTo(part *model.Part, most unit.Ampere) unit.Ampere {
	curve, _ := curveOf(part)
	return largestOf(curve.Family, most)
}

// largestOf is the largest rating of a family that a current bears; 0 when none is made so small.
func largestOf(family fusecurve.Family, most unit.Ampere) unit.Ampere {
	best := unit.Ampere(0)
	for _, r := range fusecurve.StandardRatings(family) {
		if float64(r) <= float64(most)*(1+1e-9) {
			best = r
		}
	}
	return best
}

// runs joins names that follow each other: 14c, 14d, 14e, 15a become 14c-14e, 15a.
func runs(names []string) []string {
	var out []string
	for i := 0; i < len(names); {
		j := i
		for j+1 < len(names) && follows(names[j], names[j+1]) {
			j++
		}
		switch {
		case j-i >= 2:
			out = append(out, names[i]+"-"+names[j])
		default:
			out = append(out, names[i:j+1]...)
		}
		i = j + 1
	}
	return out
}

// follows reports whether the second name comes after the first: 14c and 14d, W279 and W280.
func follows(a, b string) bool {
	n := len(a)
	if n > 1 && n == len(b) && a[:n-1] == b[:n-1] && a[n-1] >= 'A' && a[n-1]+1 == b[n-1] {
		return true
	}
	digits := func(s string) (head string, number int) {
		cut := strings.TrimRight(s, "0123456789")
		number, _ = strconv.Atoi(s[len(cut):])
		return cut, number
	}
	headA, numberA := digits(a)
	headB, numberB := digits(b)
	return headA == headB && numberA > 0 && numberB == numberA+1
}
