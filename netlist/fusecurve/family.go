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

// Standard names the standard by which fuses of a family are made, with its type; empty when not stated.
func (f Family) Standard() string { return madeBy[f.index()] }

var madeBy = [...]string{
	NotStated: "", Blade: "ISO 8820-3 type C", MiniBlade: "ISO 8820-3 type F", HighCurrentBlade: "ISO 8820-3 type E", BoltIn: "ISO 8820-5",
}

// Color returns the body colour by which a fuse is known: blades by ISO 8820-3, high-current blades by DIN 72581-3, as in
// testdata/reference/fuse-colours.csv (reprints); false where no standard that is known here gives one.
func Color(f Family, rating unit.Ampere) (string, bool) {
	color, known := colors[f.index()][rating]
	return color, known
}

var colors = [...]map[unit.Ampere]string{
	NotStated: nil, Blade: bladeColors, MiniBlade: bladeColors,
	HighCurrentBlade: {20: "yellow", 30: "light green", 40: "orange", 50: "red", 60: "light blue", 70: "brown", 80: "clear", 100: "violet", 120: "pink"},
	BoltIn:           nil,
}

var bladeColors = map[unit.Ampere]string{
	1: "black", 2: "grey", 3: "violet", 4: "pink", 5: "light brown", 7.5: "brown", 10: "red", 15: "blue", 20: "yellow", 25: "clear",
	30: "green", 35: "blue-green", 40: "orange",
}

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
