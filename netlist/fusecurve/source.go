package fusecurve

// A Source says where a number comes from. The zero Source stands beside a number that there is not.
type Source struct {
	// Title is the standard or practice with its edition, and what was done with it when the number does not stand in it.
	Title string
	// Verified reports that every row that the number is worked out from was read in a public copy. False means from memory,
	// practice or assumption: to be confirmed in the standard before it decides anything about safety.
	Verified bool
}

// IsSet reports whether there is a number at all.
func (s Source) IsSet() bool { return s.Title != "" }
