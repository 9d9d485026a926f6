// Package font holds the faces that sheets are lettered in and their metrics, so that text is measured before it is
// drawn.
//
// It takes a face, a lettering height and a text, and gives widths, boxes, shortened text and broken lines, all in whole
// micrometres and the same on every machine. Lettering heights are the height of a capital, as ISO 3098 counts them, not
// the size of a font. The faces are the free Go family (golang.org/x/image/font/gofont), compiled in: nothing is read
// from the machine. The package draws nothing and may import nothing of ours but geom.
package font

import (
	"bytes"
	"fmt"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// A Face is one of the embedded faces. The zero Face is not set and counts as Regular wherever a face is needed.
type Face uint8

// The faces. Mono is for what is compared letter by letter, such as a content hash.
const (
	Regular Face = iota + 1
	Bold
	Mono
)

// Faces lists every face, in a fixed order.
func Faces() []Face { return []Face{Regular, Bold, Mono} }

// String returns the name of the face in a golden file: "regular", "bold", "mono".
func (f Face) String() string {
	switch f {
	case Bold:
		return "bold"
	case Mono:
		return "mono"
	default:
		return "regular"
	}
}

// TTF returns the TrueType file of the face. It is a fresh copy every time, because a PDF writer that cuts the font down
// may scribble into the bytes it was given.
func TTF(face Face) []byte { return bytes.Clone(file(face)) }

func file(face Face) []byte {
	switch face {
	case Bold:
		return gobold.TTF
	case Mono:
		return gomono.TTF
	default:
		return goregular.TTF
	}
}

// A glyph is the measure of one character: its advance in thousandths of the em, and its ink in font units with y
// downwards from the baseline.
type glyph struct {
	advance                int64
	left, top, right, foot int64
}

// metrics are the measures of one face. Lengths are in font units, of which unitsPerEm make the size of the font.
type metrics struct {
	unitsPerEm, capHeight, ascent, descent int64
	glyphs                                 map[rune]glyph
}

var loaded = [...]func() *metrics{
	Regular: sync.OnceValue(func() *metrics { return load(Regular) }),
	Bold:    sync.OnceValue(func() *metrics { return load(Bold) }),
	Mono:    sync.OnceValue(func() *metrics { return load(Mono) }),
}

func metricsOf(face Face) *metrics {
	if face < Regular || face > Mono {
		face = Regular
	}
	return loaded[face]()
}

// load reads the measures of an embedded face. The files are part of the program: one that does not parse is a bug of
// ours, hence the panics.
func load(face Face) *metrics {
	parsed, err := sfnt.Parse(file(face))
	if err != nil {
		panic(fmt.Sprintf("embedded face %s: %v", face, err))
	}
	// At a size of unitsPerEm/64 pixels a 26.6 fixed-point number counts whole font units, so nothing is rounded.
	var buffer sfnt.Buffer
	size := fixed.Int26_6(parsed.UnitsPerEm())
	m, err := parsed.Metrics(&buffer, size, font.HintingNone)
	if err != nil {
		panic(fmt.Sprintf("metrics of embedded face %s: %v", face, err))
	}
	return &metrics{
		unitsPerEm: int64(size), capHeight: int64(m.CapHeight), ascent: int64(m.Ascent), descent: int64(m.Descent),
		glyphs: glyphsOf(parsed, &buffer, size),
	}
}

// lastRune ends the Basic Multilingual Plane. The faces reach no further, and the PDF canvas cannot.
const lastRune = 0xFFFF

func glyphsOf(parsed *sfnt.Font, buffer *sfnt.Buffer, size fixed.Int26_6) map[rune]glyph {
	glyphs := make(map[rune]glyph, parsed.NumGlyphs())
	for r := ' '; r <= lastRune; r++ {
		index, err := parsed.GlyphIndex(buffer, r)
		if err != nil || index == 0 {
			continue
		}
		ink, advance, err := parsed.GlyphBounds(buffer, index, size, font.HintingNone)
		if err != nil {
			continue
		}
		glyphs[r] = glyph{
			// A PDF states advances in thousandths of the em (ISO 32000-1, 9.2.4, from
			// memory), and the writer rounds them to whole ones. Rounding here in the same way
			// makes the measured width the printed one.
			advance: roundedQuotient(int64(advance)*1000, int64(size)),
			left:    int64(ink.Min.X), top: int64(ink.Min.Y), right: int64(ink.Max.X), foot: int64(ink.Max.Y),
		}
	}
	return glyphs
}

// roundedQuotient divides and rounds halves away from zero; the divisor is positive.
func roundedQuotient(dividend, divisor int64) int64 {
	if dividend < 0 {
		return -((-dividend + divisor/2) / divisor)
	}
	return (dividend + divisor/2) / divisor
}
