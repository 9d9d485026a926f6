package svg_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/canvas/svg"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var update = flag.Bool("update", false, "write the golden files anew")

func render(t *testing.T, p *canvas.Page) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, svg.Write(&out, p))
	return out.String()
}

func sample() *canvas.Page {
	r := canvas.NewRecorder("S2 fuel", "Fuel & ignition", geom.Pt(210*geom.MM, 297*geom.MM))
	pen := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	canvas.InGroup(r, canvas.Group{Kind: "wire", Ref: "W102", Title: "W102 <F7:2> to K1:30"}, func() {
		canvas.WireLine(r, geom.Polyline{{X: 20000, Y: 20000}, {X: 20000, Y: 60000}}, "OG", "BK", 1200)
		r.Text(canvas.Text{At: geom.Pt(18000, 40000), Face: font.Bold, Height: font.Height2p5, Angle: 90, Anchor: canvas.Middle, String: "W102 OG/BK"})
	})
	r.Arc(geom.Pt(50000, 30000), 10000, 0, 90, pen)
	r.Arc(geom.Pt(80000, 30000), 10000, 0, -90, pen)
	r.Arc(geom.Pt(110000, 30000), 10000, 0, 360, pen)
	r.Circle(geom.Pt(140000, 30000), 10000, pen, canvas.SolidFill(canvas.Shade))
	r.Rect(geom.RectAt(geom.Pt(30000, 60000), 20000, 10000), pen, canvas.Fill{})
	r.Polygon([]geom.Point{{X: 80000, Y: 60000}, {X: 90000, Y: 60000}, {X: 85000, Y: 70000}}, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
	r.Text(canvas.Text{At: geom.Pt(30000, 90000), Face: font.Mono, Height: font.Height3p5, Anchor: canvas.End, String: "two  spaces", Color: canvas.Faint})
	r.Link(geom.RectAt(geom.Pt(30000, 100000), 20000, 5000), "S3")
	r.Anchor("K1:87", geom.Pt(30000, 110000))
	r.Anchor("K1:87", geom.Pt(30000, 120000))
	return r.Page()
}

func TestGolden(t *testing.T) {
	path := filepath.Join("testdata", "sample.svg")
	got := render(t, sample())
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
	assert.Equal(t, got, render(t, sample()), "the same bytes for the same page")
}

// elements reads the file with encoding/xml, the reference for well-formedness.
func elements(t *testing.T, file string) (starts []xml.StartElement, texts string) {
	t.Helper()
	decoder := xml.NewDecoder(strings.NewReader(file))
	for {
		token, err := decoder.Token()
		if errors.Is(err, io.EOF) {
			return starts, texts
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			starts = append(starts, token.Copy())
		case xml.CharData:
			texts += string(token)
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func TestStructure(t *testing.T) {
	starts, texts := elements(t, render(t, sample()))
	root := starts[0]
	assert.Equal(t, "http://www.w3.org/2000/svg", root.Name.Space)
	assert.Equal(t, "210mm", attribute(root, "width"))
	assert.Equal(t, "0 0 210 297", attribute(root, "viewBox"))
	assert.Equal(t, "img", attribute(root, "role"))
	assert.Contains(t, texts, "Fuel & ignition")
	ids, refs := map[string]int{}, 0
	for _, e := range starts {
		if id := attribute(e, "id"); id != "" {
			ids[id]++
		}
		if attribute(e, "data-kind") == "wire" {
			refs++
			assert.Equal(t, "W102", attribute(e, "data-ref"))
		}
		if e.Name.Local == "text" && attribute(e, "transform") != "" {
			assert.Equal(t, "rotate(-90 18 40)", attribute(e, "transform"), "upright text reads upwards")
			assert.Equal(t, "middle", attribute(e, "text-anchor"))
		}
		for _, a := range e.Attr {
			assert.False(t, a.Name.Local == "href" && !strings.HasPrefix(a.Value, "#"), "nothing outside is referred to")
		}
	}
	assert.Equal(t, 1, refs)
	assert.Equal(t, map[string]int{svg.ID("S2 fuel"): 1, svg.ID("K1:87"): 1}, ids)
}

// The quarter circle from three o'clock, counter-clockwise as printed, ends at twelve o'clock: above, so at smaller y.
func TestArcRunsCounterClockwise(t *testing.T) {
	file := render(t, sample())
	assert.Contains(t, file, `d="M60 30 A10 10 0 0 0 50 20"`)
	assert.Contains(t, file, `d="M80 40 A10 10 0 0 0 90 30"`, "clockwise from three o'clock is the quarter that ends there")
}

func TestIDs(t *testing.T) {
	seen := map[string]string{}
	for _, name := range []string{"", "K1", "K1:87", "K1_3a87", "K1 87", "_", "__", "é", "\xff", "1", "a-b", "a.b"} {
		id := svg.ID(name)
		assert.Regexp(t, `^[a-z][A-Za-z0-9_.-]*$`, id)
		assert.NotContains(t, seen, id, "%q and %q", name, seen[id])
		seen[id] = name
	}
}

func TestWriterErrorIsReported(t *testing.T) {
	assert.EqualError(t, svg.Write(fullDisk{}, sample()), "writing the SVG of sheet S2 fuel: disk full")
}

// A machine without the faces takes others, most of them wider. What is drawn has to keep to the width that the layout gave it.
func TestTextsKeepTheirWidths(t *testing.T) {
	starts, _ := elements(t, render(t, sample()))
	var stated []string
	for _, e := range starts {
		if e.Name.Local == "text" {
			assert.Equal(t, "spacingAndGlyphs", attribute(e, "lengthAdjust"))
			stated = append(stated, attribute(e, "textLength"))
		}
	}
	assert.Equal(t, []string{
		fmt.Sprint(font.Width(font.Bold, font.Height2p5, "W102 OG/BK")),
		fmt.Sprint(font.Width(font.Mono, font.Height3p5, "two  spaces")),
	}, stated)
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func FuzzWellFormed(f *testing.F) {
	for _, seed := range []string{"", "<&>\"'", "]]>", "\x00\x01\x0b\x7f", "\xff\xfe", "fan 🔥", "a\u2028b\ufffe", "  two  spaces "} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r := canvas.NewRecorder(s, s, geom.Pt(100000, 100000))
		canvas.InGroup(r, canvas.Group{Kind: s, Ref: s, Title: s}, func() {
			r.Text(canvas.Text{At: geom.Pt(10000, 10000), Height: font.Height5, String: s})
		})
		r.Link(geom.RectAt(geom.Pt(0, 0), 1000, 1000), s)
		r.Anchor(s+"x", geom.Pt(0, 0))
		page := r.Page()
		// A page that was not recorded may hold any text.
		page.Ops = append(page.Ops, canvas.Op{Kind: canvas.OpText, Text: canvas.Text{Height: font.Height5, String: s}})
		_, texts := elements(t, render(t, page))
		require.Contains(t, texts, font.Drawable(s))
	})
}
