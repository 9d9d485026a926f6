package unit

import (
	"fmt"
	"strings"
)

// A Color is the colour of a core: IEC 60757 letters, base first, tracer after a slash. The zero Color is not set.
type Color struct{ Base, Tracer string }

// ColorLetters maps the IEC 60757 letter codes to the colours' names. Source: IEC 60757:1983 and its 2021 edition, read
// in reprints (testdata/reference/colour-codes-iec60757.csv); the order is the standard's.
var ColorLetters = []struct{ Letters, Name string }{
	{"BK", "black"}, {"BN", "brown"}, {"RD", "red"}, {"OG", "orange"}, {"YE", "yellow"}, {"GN", "green"}, {"BU", "blue"},
	{"VT", "violet"}, {"GY", "grey"}, {"WH", "white"}, {"PK", "pink"}, {"GD", "gold"}, {"TQ", "turquoise"}, {"SR", "silver"},
	{"GNYE", "green-and-yellow"},
}

// ColorName returns the English name of IEC 60757 letters, and whether there are such letters.
func ColorName(letters string) (string, bool) {
	for _, c := range ColorLetters {
		if c.Letters == letters {
			return c.Name, true
		}
	}
	return "", false
}

// ParseColor reads "RD" or "OG/BK". The error names the letters that are not in IEC 60757.
func ParseColor(text string) (Color, error) {
	base, tracer, twoColored := strings.Cut(text, "/")
	for i, letters := range []string{base, tracer} {
		if i > 0 && !twoColored {
			continue
		}
		if _, ok := ColorName(letters); !ok {
			return Color{}, fmt.Errorf("%q is not a colour in IEC 60757 letters", letters)
		}
	}
	return Color{Base: base, Tracer: tracer}, nil
}

// IsSet reports whether a colour was given.
func (c Color) IsSet() bool { return c.Base != "" }

// String prints the colour as it is written: "OG/BK".
func (c Color) String() string {
	if c.Tracer == "" {
		return c.Base
	}
	return c.Base + "/" + c.Tracer
}
