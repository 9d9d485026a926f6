package font_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"

	"ferrule/render/font"
	"ferrule/render/geom"
)

// golang.org/x/image/font/opentype is the reference: it measures the same files on its own. It kerns, which we do not, so
// pairs are measured letter by letter; and we round every advance to a thousandth of the em, as a PDF does, so half a
// thousandth of the em for each letter is allowed, and half a micrometre.
func TestWidthAgainstOpentype(t *testing.T) {
	const text = "W101 14 AWG OG/BK 2.5 mm² 85 Ω → µF …"
	for _, face := range font.Faces() {
		parsed, err := opentype.Parse(font.TTF(face))
		require.NoError(t, err)
		// 2048 pixels to the em: one pixel is one font unit, so that no hinting or rounding enters.
		reference, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 2048, DPI: 72, Hinting: xfont.HintingNone})
		require.NoError(t, err)
		units := 0.0
		for _, r := range text {
			advance, ok := reference.GlyphAdvance(r)
			require.True(t, ok, "%s has %q", face, r)
			units += float64(advance) / 64
		}
		capHeight := float64(reference.Metrics().CapHeight) / 64
		for _, height := range []geom.Length{font.Height2p5, font.Height20} {
			em := float64(height) * 2048 / capHeight
			want := units / 2048 * em
			tolerance := 0.5 + em/2000*float64(utf8.RuneCountInString(text))
			assert.InDelta(t, want, float64(font.Width(face, height, text)), tolerance, "%s %s", face, height)
			assert.InDelta(t, em, float64(font.EmSize(face, height)), 0.5, "%s %s", face, height)
		}
	}
}

// A capital without curves stands exactly as high as the lettering height says; that is what the height means in ISO 3098.
// Eight thousandths: the drawn letters of the faces may miss the stated capital height by a few font units.
func TestHeightIsTheHeightOfACapital(t *testing.T) {
	for _, face := range font.Faces() {
		for _, letter := range []string{"H", "E", "X"} {
			box := font.Box(face, font.Height20, letter)
			assert.InEpsilon(t, float64(font.Height20), float64(-box.Min.Y), 0.008, "%s %s", face, letter)
			assert.Zero(t, box.Max.Y, "%s %s stands on the baseline", face, letter)
		}
	}
}

func TestHeightsAreThoseOfISO3098(t *testing.T) {
	var want []geom.Length
	pitch := ""
	file, err := os.Open("../../testdata/reference/sheet-rules.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	for _, row := range rows {
		if row[0] == "ISO 3098" && row[1] == "lettering height h" {
			millimetres, err := strconv.ParseFloat(row[2], 64)
			require.NoError(t, err)
			want = append(want, geom.Mm(millimetres))
		}
		if row[1] == "minimum line pitch type B with accents" {
			pitch = row[2]
		}
	}
	require.Equal(t, 1800*geom.Micrometre, want[0])
	assert.Equal(t, want[1:], []geom.Length{font.Height2p5, font.Height3p5, font.Height5, font.Height7, font.Height10,
		font.Height14, font.Height20}, "all but the smallest, which no sheet uses")
	require.Equal(t, "1.9 h", pitch)
	assert.Equal(t, geom.Mm(19), font.LinePitch(font.Height10))
}

func TestBox(t *testing.T) {
	small := font.Box(font.Regular, font.Height10, "ace")
	assert.Equal(t, -font.Height10, small.Min.Y, "at least the capital height")
	assert.InDelta(t, 0, float64(small.Max.Y), float64(geom.Mm(0.2)), "round letters reach a hair below the baseline")
	deep := font.Box(font.Regular, font.Height10, "gÅ")
	assert.Greater(t, deep.Max.Y, geom.Mm(2), "the tail of the g")
	assert.Less(t, deep.Min.Y, -geom.Mm(11), "the ring of the Å")
	assert.LessOrEqual(t, -deep.Min.Y, font.Ascent(font.Regular, font.Height10))
	assert.LessOrEqual(t, deep.Max.Y, font.Descent(font.Regular, font.Height10))
	assert.Equal(t, font.Width(font.Regular, font.Height10, "ace"), small.Max.X)
	assert.Equal(t, geom.Rect{}, font.Box(font.Regular, font.Height10, ""))
	spaces := font.Box(font.Regular, font.Height10, "  ")
	assert.Zero(t, spaces.Height())
	assert.Positive(t, spaces.Width())
}

func TestMonoIsOneWidth(t *testing.T) {
	assert.Equal(t, font.Width(font.Mono, font.Height5, "iiii"), font.Width(font.Mono, font.Height5, "WWWW"))
	assert.NotEqual(t, font.Width(font.Regular, font.Height5, "iiii"), font.Width(font.Regular, font.Height5, "WWWW"))
}

// Drawable answers for all faces at once; that holds only while they have the same characters.
func TestFacesHaveTheSameCharacters(t *testing.T) {
	count := 0
	for r := rune(0); r <= 0xFFFF; r++ {
		has := font.Has(font.Regular, r)
		if has {
			count++
		}
		assert.Equal(t, has, font.Has(font.Bold, r), "%U", r)
		assert.Equal(t, has, font.Has(font.Mono, r), "%U", r)
	}
	assert.Greater(t, count, 600)
	for _, r := range "Ωµ→°±×≤≥²½…–—ÄÖÜäöüßéñøåŁşžЖя€□" {
		assert.True(t, font.Has(font.Regular, r), "%q", r)
	}
}

func TestDrawable(t *testing.T) {
	for _, test := range []struct{ name, text, want string }{
		{"plain", "W101 OG/BK", "W101 OG/BK"},
		{"signs", "85 Ω, 10 µF → 31", "85 Ω, 10 µF → 31"},
		{"line breaks and tabs", "a\r\n\tb\x00\x7f\u0085", "a   b   "},
		{"wide spaces", "a\u2003b\u3000c", "a b c"},
		{"emoji", "fan 🔥 on", "fan \ufffd on"},
		{"emoji with selector and joiner", "\u2764\ufe0f\u200d", "\ufffd"},
		{"right to left", "אב", "\ufffd\ufffd"},
		{"marks of direction", "a\u202eb\u200f", "ab"},
		{"broken UTF-8", "a\xffb\xe2\x82", "a\ufffdb\ufffd\ufffd"},
	} {
		assert.Equal(t, test.want, font.Drawable(test.text), test.name)
	}
}

func TestFit(t *testing.T) {
	const text = "Fuel pump and injectors"
	width := func(s string) geom.Length { return font.Width(font.Regular, font.Height3p5, s) }
	fit := func(max geom.Length) string { return font.Fit(font.Regular, font.Height3p5, text, max) }
	assert.Equal(t, text, fit(width(text)))
	short := fit(width(text) - 1)
	kept := len(strings.TrimSuffix(short, "…"))
	assert.Equal(t, text[:kept]+"…", short)
	assert.LessOrEqual(t, width(short), width(text)-1)
	assert.Greater(t, width(text[:kept+1]+"…"), width(text)-1, "one letter more does not fit")
	assert.Equal(t, "Fuel pump…", fit(width("Fuel pump …")), "no space before the mark")
	assert.Equal(t, "…", fit(width("…")))
	assert.Equal(t, "", fit(width("…")-1))
	assert.Equal(t, "", font.Fit(font.Regular, font.Height3p5, "", 0))
}

func TestWrap(t *testing.T) {
	width := func(s string) geom.Length { return font.Width(font.Bold, font.Height2p5, s) }
	for _, test := range []struct {
		name, text string
		width      geom.Length
		want       []string
	}{
		{"one line", "battery off", width("battery off"), []string{"battery off"}},
		{"at the space", "battery off", width("battery off") - 1, []string{"battery", "off"}},
		{"runs of spaces", "  battery   off ", width("battery off"), []string{"battery off"}},
		{"own line breaks", "one\r\n\ntwo\n", width("one two"), []string{"one", "", "two"}},
		{"a long word", "AAAAA B", width("AAA"), []string{"AAA", "AA", "B"}},
		{"a long word, then what fits behind it", "AAAA B", width("AAA"), []string{"AAA", "A B"}},
		{"at the hyphen", "ALL-ROUND-LIGHT", width("ALL-ROUND-LIGH"), []string{"ALL-ROUND-", "LIGHT"}},
		{"at two hyphens", "CHARGE-ENABLE-LINE", width("CHARGE-E"), []string{"CHARGE-", "ENABLE-", "LINE"}},
		{"at the stroke, before a word", "RD/BK lamp", width("RD/B"), []string{"RD/", "BK", "lamp"}},
		{"a hyphen too far off", "AAAAA-B", width("AAA"), []string{"AAA", "AA-", "B"}},
		{"nothing but hyphens", "-----", width("--"), []string{"--", "--", "-"}},
		{"too narrow for anything", "ab c", 0, []string{"a", "b", "c"}},
		{"nothing", "", width("one"), nil},
		{"only spaces", " \n\t ", width("one"), nil},
	} {
		assert.Equal(t, test.want, font.Wrap(font.Bold, font.Height2p5, test.text, test.width), test.name)
	}
}

func TestJoints(t *testing.T) {
	for word, want := range map[string][]string{
		"":                {""},
		"LIGHT":           {"LIGHT"},
		"ALL-ROUND-LIGHT": {"ALL-", "ROUND-", "LIGHT"},
		"--a--":           {"--", "a--"},
		"LAMP_FEED/A":     {"LAMP_", "FEED/", "A"},
	} {
		assert.Equal(t, want, font.Joints(word), word)
	}
}

func TestTTFIsACopy(t *testing.T) {
	first := font.TTF(font.Mono)
	clear(first)
	assert.NotEqual(t, first, font.TTF(font.Mono))
}

func FuzzText(f *testing.F) {
	for _, seed := range []string{"", "plain words of a caution", "fan 🔥\xff\x00", "one\n\ntwo", "אב\u202e", strings.Repeat("W", 300)} {
		f.Add(seed, int32(20000))
		f.Add(seed, int32(-5))
	}
	f.Fuzz(func(t *testing.T, text string, limit int32) {
		width := geom.Length(limit)
		drawn := font.Drawable(text)
		require.True(t, utf8.ValidString(drawn))
		require.Equal(t, drawn, font.Drawable(drawn))
		for _, r := range drawn {
			require.True(t, font.Has(font.Bold, r), "%U", r)
		}
		if short := font.Fit(font.Regular, font.Height3p5, text, width); short != "" {
			require.LessOrEqual(t, font.Width(font.Regular, font.Height3p5, short), width)
		}
		lines := font.Wrap(font.Regular, font.Height2p5, text, width)
		for _, line := range lines {
			if utf8.RuneCountInString(line) > 1 {
				require.LessOrEqual(t, font.Width(font.Regular, font.Height2p5, line), width)
			}
		}
		// Wrapping loses nothing but space.
		solid := func(s string) string {
			return strings.Map(func(r rune) rune {
				if unicode.IsSpace(r) {
					return -1
				}
				return r
			}, s)
		}
		require.Equal(t, solid(drawn), solid(strings.Join(lines, "")))
	})
}
