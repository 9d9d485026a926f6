package fusecurve

import (
	"math"

	"ferrule/netlist/unit"
)

// coldResistances are the resistances of blade fuses at room temperature: estimates, from memory. Times the rating they come to 57
// mV to 75 mV, well within the 100 mV to 125 mV that DIN 72581-3 allows hot.
var coldResistances = []struct {
	rating unit.Ampere
	ohm    unit.Ohm
}{{5, 0.0150}, {10, 0.0075}, {15, 0.0047}, {20, 0.0033}, {25, 0.0024}, {30, 0.0019}}

// What the fuse is held by adds to the circuit, estimated from practice: the two clips of a blade together, and the two bolted rings
// of 0.5 mohm each of a bolt-in fuse.
const (
	clipsOhm unit.Ohm = 0.004
	boltsOhm unit.Ohm = 0.001
)

// ColdResistance returns the resistance of a fuse at room temperature, and that of the contacts that hold it. Both are estimates.
// Between the listed ratings the link is interpolated on logarithmic axes; outside them its drop at rated current is that of the
// nearest listed one. A rating that is not a positive number gives 0 and a Source that is not set.
func ColdResistance(family Family, rating unit.Ampere) (link, holder unit.Ohm, source Source) {
	if !isRating(rating) {
		return 0, 0, Source{}
	}
	holder = clipsOhm
	if family == BoltIn {
		holder = boltsOhm
	}
	return linkOhm(max(rating, leastRating)), holder, Source{"estimate, common practice: cold blade fuses of 5 A to 30 A, from memory", false}
}

// leastRating keeps the resistance of an absurdly small rating finite; no fuse is made for so little.
const leastRating unit.Ampere = 0.001

// isRating reports whether a rating is a positive number.
func isRating(rating unit.Ampere) bool { return rating > 0 && !math.IsInf(float64(rating), 1) }

func linkOhm(rating unit.Ampere) unit.Ohm {
	first, last := coldResistances[0], coldResistances[len(coldResistances)-1]
	switch {
	case rating <= first.rating:
		return first.ohm * unit.Ohm(first.rating/rating)
	case rating >= last.rating:
		return last.ohm * unit.Ohm(last.rating/rating)
	}
	at := 1
	for coldResistances[at].rating < rating {
		at++
	}
	below, above := coldResistances[at-1], coldResistances[at]
	along := math.Log(float64(rating/below.rating)) / math.Log(float64(above.rating/below.rating))
	return below.ohm * unit.Ohm(math.Pow(float64(above.ohm/below.ohm), along))
}

// ContinuousShare is the share of its rating that a fuse may carry for hours at 25 C. Common practice is 0.70 to 0.80.
const ContinuousShare = 0.75

// AmbientFactor returns what is left of a fuse's rating at an ambient temperature: 1 up to 25 C, never below 0.
//
// Blades and mini blades: 1 - 0.0018 (T - 25), common practice. High-current blades: 0.85 at 65 C and 0.75 at 85 C, read in a
// transcript for 40 A, linear between and on from there. Bolt-in fuses take the same, which is the smaller of the two, since
// there is no source for them. The cold is not credited: the formula would give more than 1 there.
func AmbientFactor(family Family, ambient unit.Celsius) (float64, Source) {
	t := float64(ambient)
	if math.IsNaN(t) {
		return 0, Source{}
	}
	var factor float64
	var source Source
	switch family {
	case HighCurrentBlade, BoltIn:
		factor, source = highCurrentFactor(t), Source{"data sheet transcript for a 40 A high-current blade fuse: 0.85 at 65 C, 0.75 at 85 C", family == HighCurrentBlade}
	default:
		factor, source = 1-0.0018*(t-25), Source{"common practice: 0.18 % per kelvin above 25 C", false}
	}
	return min(max(factor, 0), 1), source
}

func highCurrentFactor(t float64) float64 {
	if t <= 65 {
		return 1 - 0.15*(t-25)/40
	}
	return 0.85 - 0.10*(t-65)/20
}

// ContinuousLimit returns the current that a fuse may carry for hours: ContinuousShare times the rating times AmbientFactor. An
// alternator's main fuse is the exception in practice and chosen by the rated output instead.
func ContinuousLimit(family Family, rating unit.Ampere, ambient unit.Celsius) (unit.Ampere, Source) {
	factor, source := AmbientFactor(family, ambient)
	if !isRating(rating) || !source.IsSet() {
		return 0, Source{}
	}
	return rating * unit.Ampere(ContinuousShare*factor), Source{"common practice: 75 % of the rating; " + source.Title, false}
}
