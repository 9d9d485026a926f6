package canvas

import "fmt"

// A Color is red, green and blue in the sRGB sense, 0 to 255. The zero Color is black.
type Color struct{ R, G, B uint8 }

// String prints the colour as "#rrggbb".
func (c Color) String() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// Luma returns how light the colour prints on a grey printer, 0 to 255. Weights: ITU-R BT.601, luma of R'G'B', in
// thousandths, from memory.
func (c Color) Luma() int { return (299*int(c.R) + 587*int(c.G) + 114*int(c.B) + 500) / 1000 }

// Colours of the drawing itself.
var (
	Black = Color{0, 0, 0}
	White = Color{255, 255, 255}
	Ink   = Color{26, 26, 26}    // outlines and lettering
	Faint = Color{110, 110, 110} // labels of fields, grids: still 5:1 against white
	Shade = Color{232, 232, 232} // bands and empty cavities, light enough to letter on
)

// coreColors are the colours that cores are drawn in, one for each letter code of IEC 60757. The codes are the
// standard's, in its order (testdata/reference/colour-codes-iec60757.csv); the shades are our own, chosen so that
// neighbours such as RD and OG, or GY and SR, differ in lightness too and a grey print keeps them apart as far as
// fourteen greys can be. Colour never carries the meaning alone: the letters stand beside the wire.
var coreColors = []struct {
	letters string
	color   Color
}{
	{"BK", Color{20, 20, 20}},
	{"BN", Color{112, 66, 28}},
	{"RD", Color{200, 16, 34}},
	{"OG", Color{240, 130, 20}},
	{"YE", Color{250, 218, 30}},
	{"GN", Color{20, 136, 60}},
	{"BU", Color{28, 84, 190}},
	{"VT", Color{124, 52, 152}},
	{"GY", Color{128, 128, 132}},
	{"WH", Color{255, 255, 255}},
	{"PK", Color{244, 158, 186}},
	{"GD", Color{186, 150, 60}},
	{"TQ", Color{60, 190, 190}},
	{"SR", Color{204, 208, 214}},
	{"GNYE", Color{20, 136, 60}},
}

// CoreColor returns the colour that a core of the IEC 60757 letters is drawn in, and whether there are such letters.
// GNYE gives its green; WireLine adds the yellow.
func CoreColor(letters string) (Color, bool) {
	for _, c := range coreColors {
		if c.letters == letters {
			return c.color, true
		}
	}
	return Color{}, false
}
