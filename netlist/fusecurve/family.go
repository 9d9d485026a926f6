package fusecurve

import "ferrule/netlist/unit"

// A Family is the standard form of a fuse. The zero value is not stated.
type Family uint8

// The families.
const (
	NotStated        Family = iota
	Blade                   // type C of ISO 8820-3
	MiniBlade               // type F of ISO 8820-3
	HighCurrentBlade        // type E of ISO 8820-3 and DIN 72581-3
	BoltIn                  // ISO 8820-5
)

// families holds what is known of each form. Ratings: blades up to 40 A and type E from 20 A are the rows of
// testdata/reference/fuse-colours.csv (a reprint of DIN 72581-3 and ISO 8820-3), of the mini blade those up to 30 A; bolt-in
// ratings are from memory, within the 30 A to 500 A of ISO 8820-5.
var families = [...]struct {
	word    string
	row     string // the word in the column fuse_type
	ratings []unit.Ampere
}{
	NotStated:        {},
	Blade:            {"blade", "type C (standard blade)", []unit.Ampere{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40}},
	MiniBlade:        {"mini blade", "type F (mini blade)", []unit.Ampere{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30}},
	HighCurrentBlade: {"high-current blade", "type E (high-current blade)", []unit.Ampere{20, 30, 40, 50, 60, 70, 80}},
	BoltIn: {"bolt-in", "bolt-in (ISO 8820-5)",
		[]unit.Ampere{30, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500}},
}

// index returns the row of a family in families; a number that is no Family counts as NotStated.
func (f Family) index() Family {
	if int(f) < len(families) {
		return f
	}
	return NotStated
}

// String returns the family as a netlist writes it: "blade". It is empty when not stated.
func (f Family) String() string { return families[f.index()].word }

// ParseFamily reads the family of a part: "blade", "mini blade", "high-current blade" or "bolt-in". An empty or other word is
// NotStated and false.
func ParseFamily(word string) (Family, bool) {
	for f := Blade; int(f) < len(families); f++ {
		if families[f].word == word {
			return f, true
		}
	}
	return NotStated, false
}

// largestBlade is the largest rating that is made as a blade of type C.
const largestBlade unit.Ampere = 40

// familyOf returns the family of a word, and whether it had to be assumed from the rating: a blade up to 40 A, bolt-in above.
func familyOf(word string, rating unit.Ampere) (family Family, assumed bool) {
	if f, known := ParseFamily(word); known {
		return f, false
	}
	if rating > largestBlade {
		return BoltIn, true
	}
	return Blade, true
}

// StandardRatings returns the ratings in which fuses of a family are made, from the smallest; none when it is not stated. The
// caller may keep and change the slice.
func StandardRatings(family Family) []unit.Ampere {
	return append([]unit.Ampere(nil), families[family.index()].ratings...)
}
