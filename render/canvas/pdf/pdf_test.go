package pdf_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	xfont "golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"ferrule/render/canvas"
	"ferrule/render/canvas/pdf"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var update = flag.Bool("update", false, "write the golden files anew")

var about = pdf.Doc{Title: "Utility pickup Ω", Subject: "Wiring", Creator: "Ferrule"}

func write(t *testing.T, pages ...*canvas.Page) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, pdf.Write(&out, about, pages))
	return out.Bytes()
}

// sample is a small set: an upright page and a lying one, every kind of call, all three faces, links both ways.
func sample() []*canvas.Page {
	first := canvas.NewRecorder("S1", "Power tree → all", geom.Pt(210*geom.MM, 297*geom.MM))
	pen := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	canvas.WireLine(first, geom.Polyline{{X: 20000, Y: 20000}, {X: 20000, Y: 60000}, {X: 90000, Y: 60000}}, "OG", "BK", 1200)
	first.Circle(geom.Pt(140000, 30000), 10000, pen, canvas.SolidFill(canvas.Shade))
	first.Arc(geom.Pt(50000, 30000), 10000, 0, 90, pen)
	first.Rect(geom.RectAt(geom.Pt(30000, 70000), 20000, 10000), pen, canvas.Fill{})
	first.Polygon([]geom.Point{{X: 80000, Y: 70000}, {X: 90000, Y: 70000}, {X: 85000, Y: 80000}}, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
	first.Text(canvas.Text{At: geom.Pt(30000, 90000), Height: font.Height5, String: `W101 (a\b) čÅ 85 Ω → 31`})
	first.Text(canvas.Text{At: geom.Pt(100000, 200000), Face: font.Bold, Height: font.Height3p5, Angle: 90, Anchor: canvas.Middle, String: "OG/BK"})
	first.Text(canvas.Text{At: geom.Pt(190000, 90000), Face: font.Mono, Height: font.Height2p5, Anchor: canvas.End, String: "3fa9c1 µ"})
	first.Link(geom.RectAt(geom.Pt(30000, 100000), 20000, 5000), "S2")
	first.Link(geom.RectAt(geom.Pt(30000, 110000), 20000, 5000), "K1")
	first.Link(geom.RectAt(geom.Pt(30000, 120000), 20000, 5000), "a sheet that is not in the set")

	second := canvas.NewRecorder("S2", "Fuel", geom.Pt(420*geom.MM, 296*geom.MM))
	second.Text(canvas.Text{At: geom.Pt(30000, 90000), Height: font.Height5, String: "Fuel pump"})
	second.Anchor("K1", geom.Pt(30000, 100000))
	second.Anchor("K1", geom.Pt(30000, 200000))
	second.Link(geom.RectAt(geom.Pt(30000, 100000), 20000, 5000), "S1")
	return []*canvas.Page{first.Page(), second.Page()}
}

func TestPagesAndTexts(t *testing.T) {
	f := read(t, write(t, sample()...))
	kids := f.kids(t)
	require.Len(t, kids, 2)
	// 1 mm is 72/25.4 points, to two places as the file has them.
	assert.Contains(t, f.ref(t, f.catalog, "/Pages").dict, "/MediaBox [0 0 595.28 841.89]")
	assert.Contains(t, f.objects[kids[1]].dict, "/MediaBox [0 0 1190.55 839.06]")
	assert.Equal(t, []string{`W101 (a\b) čÅ 85 Ω → 31`, "OG/BK", "3fa9c1 µ"}, f.textOf(t, kids[0]))
	assert.Equal(t, []string{"Fuel pump"}, f.textOf(t, kids[1]))
}

// The operators themselves are the golden: the bytes of the file depend on the compressor, which may change with Go.
func TestContentGolden(t *testing.T) {
	f := read(t, write(t, sample()...))
	got := ""
	for _, page := range f.kids(t) {
		got += fmt.Sprintf("page\n%q\n", strings.Split(f.content(t, page), "\n"))
	}
	got = strings.ReplaceAll(got, `" "`, "\"\n\"")
	path := filepath.Join("testdata", "sample.golden")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func TestLinksAndOutline(t *testing.T) {
	f := read(t, write(t, sample()...))
	kids := f.kids(t)
	first, second := f.links(t, kids[0]), f.links(t, kids[1])
	assert.Equal(t, 2, strings.Count(first, "/Subtype /Link"), "a link to a sheet outside the set is left out")
	// Heights count from the foot of the page: 296 mm is 839.06 points, and the anchor stands 100 mm below the top.
	assert.Contains(t, first, fmt.Sprintf("/Dest [%d 0 R /XYZ 0 839.06 null]", kids[1]))
	assert.Contains(t, first, fmt.Sprintf("/Dest [%d 0 R /XYZ 0 555.59 null]", kids[1]), "the first anchor of the name counts")
	assert.Contains(t, second, fmt.Sprintf("/Dest [%d 0 R /XYZ 0 841.89 null]", kids[0]))
	// The area of the first link: 30 mm from the left, 100 mm from the top, 20 mm by 5 mm.
	assert.Contains(t, first, "/Rect [85.04 558.43 141.73 544.25]")

	outline := f.ref(t, f.catalog, "/Outlines")
	entry := f.ref(t, outline.dict, "/First")
	assert.Contains(t, entry.dict, fmt.Sprintf("/Dest [%d 0 R /XYZ 0 841.89 null]", kids[0]))
	title := entry.dict[strings.Index(entry.dict, "(")+1 : strings.LastIndex(entry.dict, ")")]
	assert.Equal(t, "Power tree → all", utf16BE(t, unescaped(title)))
	assert.Contains(t, f.ref(t, entry.dict, "/Next").dict, fmt.Sprintf("/Dest [%d 0 R /XYZ 0 839.06 null]", kids[1]))
}

// The last page is 1 mm lower than the first: the difference that the writer takes for "where the pen is".
func TestOutlineOfPagesOneMillimetreApart(t *testing.T) {
	for _, difference := range []geom.Length{-geom.MM, geom.MM, 100 * geom.MM} {
		first := canvas.NewRecorder("S1", "", geom.Pt(300*geom.MM, 300*geom.MM)).Page()
		second := canvas.NewRecorder("S2", "", geom.Pt(300*geom.MM, 300*geom.MM+difference)).Page()
		f := read(t, write(t, first, second))
		entry := f.ref(t, f.ref(t, f.catalog, "/Outlines").dict, "/First")
		height := regexp.MustCompile(`/XYZ 0 ([0-9.]+) null`).FindStringSubmatch(entry.dict)
		require.NotNil(t, height, entry.dict)
		points, err := strconv.ParseFloat(height[1], 64)
		require.NoError(t, err)
		// 300 mm in points; the file has two places, and the way round the -1 costs a micrometre.
		assert.InDelta(t, 300*72/25.4, points, 0.01, "%s", difference)
	}
}

func (f file) fonts() []object {
	var fonts []object
	for n := 1; n <= len(f.objects); n++ {
		if strings.Contains(f.objects[n].dict, "/Subtype /Type0") {
			fonts = append(fonts, f.objects[n])
		}
	}
	return fonts
}

// What is printed is what was measured: the widths in the file, the character codes and the outlines are those of the
// face. golang.org/x/image/font/sfnt reads both the face and the subset in the file.
func TestFontsAreEmbedded(t *testing.T) {
	f := read(t, write(t, sample()...))
	fonts := f.fonts()
	require.Len(t, fonts, 3)
	texts := map[font.Face]string{font.Regular: `W101 (a\b) čÅ 85 Ω → 31Fuel pump`, font.Bold: "OG/BK", font.Mono: "3fa9c1 µ"}
	for i, face := range []font.Face{font.Bold, font.Mono, font.Regular} {
		require.Contains(t, fonts[i].dict, face.String())
		assert.Contains(t, string(f.ref(t, fonts[i].dict, "/ToUnicode").stream), "<0000> <FFFF> <0000>")
		descendant := f.ref(t, fonts[i].dict, "/DescendantFonts")
		widths := advances(t, descendant.dict)
		sum := 0
		for _, r := range texts[face] {
			sum += widths[int(r)]
		}
		em := font.EmSize(face, font.Height20)
		assert.InDelta(t, float64(font.Width(face, font.Height20, texts[face])), float64(sum)*float64(em)/1000,
			float64(sum)/2000+1, "half a micrometre for the em, as often as it was multiplied")
		glyphs := f.ref(t, descendant.dict, "/CIDToGIDMap").stream
		subset, err := xfont.Parse(f.ref(t, f.ref(t, descendant.dict, "/FontDescriptor").dict, "/FontFile2").stream)
		require.NoError(t, err)
		assert.Less(t, subset.NumGlyphs(), 100, "only what is used is embedded")
		requireSameOutlines(t, face, texts[face], subset, glyphs)
	}
}

func requireSameOutlines(t *testing.T, face font.Face, text string, subset *xfont.Font, glyphs []byte) {
	t.Helper()
	whole, err := xfont.Parse(font.TTF(face))
	require.NoError(t, err)
	var a, b xfont.Buffer
	for _, r := range text {
		index, err := whole.GlyphIndex(&a, r)
		require.NoError(t, err)
		want, err := whole.LoadGlyph(&a, index, fixed.I(32), nil)
		require.NoError(t, err)
		cut := xfont.GlyphIndex(glyphs[2*r])<<8 | xfont.GlyphIndex(glyphs[2*r+1])
		got, err := subset.LoadGlyph(&b, cut, fixed.I(32), nil)
		require.NoError(t, err)
		require.Equal(t, want, got, "%s %q", face, r)
	}
}

func TestUnusedFacesStayOut(t *testing.T) {
	f := read(t, write(t, sample()[1]))
	assert.Len(t, f.fonts(), 1)
}

// The writer cuts subsets in the bytes that it is given; the faces of the program must stay whole. Each table of a TrueType
// file has its checksum in the directory (OpenType, "Calculating checksums"; from memory), which a scribble would break,
// whichever test drew first. The head table holds a correction of its own and is left out.
func TestFacesStayWhole(t *testing.T) {
	write(t, sample()...)
	for _, face := range font.Faces() {
		data := font.TTF(face)
		tables := int(binary.BigEndian.Uint16(data[4:]))
		require.Greater(t, tables, 8)
		for i := range tables {
			entry := data[12+16*i:]
			start, size := binary.BigEndian.Uint32(entry[8:]), binary.BigEndian.Uint32(entry[12:])
			if tag := string(entry[:4]); tag != "head" {
				assert.Equal(t, binary.BigEndian.Uint32(entry[4:]), checksum(data[start:start+size]), "%s %s", face, tag)
			}
		}
	}
}

// checksum adds the words of a table, the last one filled up with zeros.
func checksum(table []byte) uint32 {
	padded := append(bytes.Clone(table), make([]byte, (4-len(table)%4)%4)...)
	sum := uint32(0)
	for i := 0; i < len(padded); i += 4 {
		sum += binary.BigEndian.Uint32(padded[i:])
	}
	return sum
}

// Two runs within one second would agree on the clock too, so the dates are looked at by themselves.
func TestDatesAreFixed(t *testing.T) {
	data := string(write(t, sample()...))
	assert.Contains(t, data, "/CreationDate (D:20000101000000)")
	assert.Contains(t, data, "/ModDate (D:20000101000000)")
}

func TestSameBytes(t *testing.T) {
	want := write(t, sample()...)
	assert.True(t, bytes.Equal(want, write(t, sample()...)), "in one process")
	var group sync.WaitGroup
	for range 4 {
		group.Go(func() {
			var out bytes.Buffer
			assert.NoError(t, pdf.Write(&out, about, sample()))
			assert.True(t, bytes.Equal(want, out.Bytes()), "side by side")
		})
	}
	group.Wait()
}

const digestOnly = "FERRULE_TEST_PRINT_PDF_DIGEST"

// A new process has a new seed for the order of maps, which is what differs between two runs of a program.
func TestSameBytesInAnotherProcess(t *testing.T) {
	digest := fmt.Sprintf("%x", sha256.Sum256(write(t, sample()...)))
	if os.Getenv(digestOnly) != "" {
		fmt.Println("digest " + digest)
		return
	}
	program, err := os.Executable()
	require.NoError(t, err)
	for range 3 {
		command := exec.Command(program, "-test.run=^TestSameBytesInAnotherProcess$")
		command.Env = append(os.Environ(), digestOnly+"=1")
		out, err := command.CombinedOutput()
		require.NoError(t, err, string(out))
		assert.Contains(t, string(out), "digest "+digest)
	}
}

func TestErrors(t *testing.T) {
	page := func(name string, width, height geom.Length) *canvas.Page {
		return canvas.NewRecorder(name, "", geom.Pt(width, height)).Page()
	}
	for _, test := range []struct {
		name  string
		pages []*canvas.Page
		want  string
	}{
		{"no pages", nil, "a PDF needs at least one page, and there is none to write"},
		{"no size", []*canvas.Page{page("S1", 0, 297*geom.MM)},
			"page 1 (S1) is 0 x 297 mm; a side must be more than 0 and at most 5080 mm"},
		{"too large", []*canvas.Page{page("S1", 210*geom.MM, 5081*geom.MM)},
			"page 1 (S1) is 210 x 5081 mm; a side must be more than 0 and at most 5080 mm"},
		{"two of a name", []*canvas.Page{page("S1", geom.MM, geom.MM), page("S1", geom.MM, geom.MM)},
			`two pages are named "S1"; links would not know which is meant`},
	} {
		assert.EqualError(t, pdf.Write(&bytes.Buffer{}, about, test.pages), test.want, test.name)
	}
	assert.EqualError(t, pdf.Write(fullDisk{}, about, sample()), "writing the PDF: disk full")
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func FuzzText(f *testing.F) {
	for _, seed := range []string{"", "fan 🔥", "\xff\xe2\x82", `(\)\\`, "č\r\n", "אב", "\ufffe\uffff"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r := canvas.NewRecorder(s, s, geom.Pt(100000, 100000))
		r.Text(canvas.Text{At: geom.Pt(10000, 10000), Height: font.Height5, String: s})
		page := r.Page()
		page.Ops = append(page.Ops, canvas.Op{Kind: canvas.OpText, Text: canvas.Text{Height: font.Height5, String: s}})
		var out bytes.Buffer
		require.NoError(t, pdf.Write(&out, pdf.Doc{Title: s, Subject: s, Creator: s, Author: s}, []*canvas.Page{page}))
		file := read(t, out.Bytes())
		if drawn := font.Drawable(s); drawn != "" {
			require.Equal(t, []string{drawn, drawn}, file.textOf(t, file.kids(t)[0]))
		}
	})
}
