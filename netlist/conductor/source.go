package conductor

// A Source says where a number comes from. The zero Source stands beside a number that there is not: a size that is not set
// or not made.
type Source struct {
	// Title is the standard, regulation or handbook with its edition, and what was done with it when the number does not
	// stand in it as it is.
	Title string
	// Verified reports that the number, or every row and formula that it is worked out from, was read in a public copy. False
	// means from memory, practice, or interpolated: to be confirmed in the standard before it decides anything about safety.
	Verified bool
}

// IsSet reports whether there is a number at all.
func (s Source) IsSet() bool { return s.Title != "" }

// The sources that more than one title is made from. The others stand beside the function that reads them.
var (
	sourceB258     = Source{"ASTM B258 (2002 and later): d = 0.127 mm x 92^((36-n)/39); formula confirmed by ten printed diameters", true}
	sourceStranded = Source{"common practice: 18.5 mohm mm2/m for stranded vehicle cable at 20 C", false}
)
