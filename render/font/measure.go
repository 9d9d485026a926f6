package font

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"ferrule/render/geom"
)

// Lettering heights of ISO 3098: the height of a capital, in the standard's steps of the square root of two. Source:
// testdata/reference/sheet-rules.csv, rows ISO 3098. The step below, 1.8 mm, is left out: nothing on a sheet is smaller
// than 2.5 mm.
const (
	Height2p5 = 2500 * geom.Micrometre
	Height3p5 = 3500 * geom.Micrometre
	Height5   = 5 * geom.MM
	Height7   = 7 * geom.MM
	Height10  = 10 * geom.MM
	Height14  = 14 * geom.MM
	Height20  = 20 * geom.MM
)

// MinHeight is the smallest lettering that a sheet may carry.
const MinHeight = Height2p5

// EmSize returns the size of the font (its em) that gives capitals of the stated height.
func EmSize(face Face, height geom.Length) geom.Length {
	m := metricsOf(face)
	return m.scale(m.unitsPerEm, height)
}

// Ascent returns how far the tallest letters of the face, capitals with accents, reach above the baseline.
func Ascent(face Face, height geom.Length) geom.Length {
	m := metricsOf(face)
	return m.scale(m.ascent, height)
}

// Descent returns how far the face reaches below the baseline, as a positive length.
func Descent(face Face, height geom.Length) geom.Length {
	m := metricsOf(face)
	return m.scale(m.descent, height)
}

// LinePitch returns the distance between the baselines of two lines of a paragraph: 1.9 times the lettering height, the
// least that ISO 3098 allows for type B lettering with accents (testdata/reference/sheet-rules.csv).
func LinePitch(height geom.Length) geom.Length {
	return geom.Length(roundedQuotient(int64(height)*19, 10))
}

// scale turns font units into a length for capitals of the given height.
func (m *metrics) scale(units int64, height geom.Length) geom.Length {
	return clamp(roundedQuotient(units*int64(height), m.capHeight))
}

func clamp(l int64) geom.Length {
	const most = 1<<31 - 1
	return geom.Length(max(-most, min(most, l)))
}

// Width returns how far the text advances along its baseline. Pairs are not kerned. The text is measured as Drawable
// would have it drawn.
func Width(face Face, height geom.Length, text string) geom.Length {
	m := metricsOf(face)
	return m.width(height, m.advance(text))
}

// width turns an advance in thousandths of the em into a length.
func (m *metrics) width(height geom.Length, advance int64) geom.Length {
	// A quotient in 64 bits: a million characters at 20 mm stay below 1e9 * 2e4 * 2048 = 4e16, far from 9e18.
	return clamp(roundedQuotient(advance*int64(height)*m.unitsPerEm, m.capHeight*1000))
}

func (m *metrics) advance(text string) int64 {
	sum := int64(0)
	for _, r := range Drawable(text) {
		sum += m.glyphs[r].advance
	}
	return sum
}

// Box returns the box of the text about the start of its baseline, with y downwards: the ink, widened to the advance and
// to the band from the baseline to the capital height. A text without ink takes no room above or below the baseline.
func Box(face Face, height geom.Length, text string) geom.Rect {
	m := metricsOf(face)
	pen, left, right, top, foot, inked := int64(0), int64(0), int64(0), -m.capHeight, int64(0), false
	for _, r := range Drawable(text) {
		g := m.glyphs[r]
		if g.left < g.right {
			inked = true
			start := pen * m.unitsPerEm / 1000
			left, right = min(left, start+g.left), max(right, start+g.right)
			top, foot = min(top, g.top), max(foot, g.foot)
		}
		pen += g.advance
	}
	if !inked {
		top, foot = 0, 0
	}
	return geom.Rect{
		Min: geom.Pt(m.scale(left, height), m.scale(top, height)),
		Max: geom.Pt(max(m.scale(right, height), m.width(height, pen)), m.scale(foot, height)),
	}
}

// Has reports whether the face has a glyph for the character.
func Has(face Face, r rune) bool {
	_, ok := metricsOf(face).glyphs[r]
	return ok
}

// replacement stands for what the faces cannot draw. It is in all of them and is not a character that anybody types.
const replacement = utf8.RuneError

// Drawable returns the text as it can be drawn: line breaks, tabs and other controls become spaces, characters without
// width or of writing direction go, and what the faces lack (emoji, writing from right to left, broken UTF-8) becomes
// U+FFFD, the replacement character. Every face has the same characters, so the answer does not depend on the face.
// Drawable of its own result changes nothing.
func Drawable(text string) string {
	return strings.Map(drawableRune, text)
}

func drawableRune(r rune) rune {
	switch {
	case r == ' ' || Has(Regular, r):
		return r
	case unicode.IsControl(r) || unicode.IsSpace(r):
		return ' '
	case unicode.Is(unicode.Cf, r) || unicode.Is(unicode.Variation_Selector, r):
		return -1
	default:
		return replacement
	}
}
