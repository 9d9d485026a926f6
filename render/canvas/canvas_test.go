package canvas_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

var update = flag.Bool("update", false, "write the golden files anew")

func dump(t *testing.T, p *canvas.Page) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, p.Dump(&out))
	return out.String()
}

// everyCall draws each kind of op at least once.
func everyCall() *canvas.Page {
	r := canvas.NewRecorder("S2", "Fuel", geom.Pt(210*geom.MM, 297*geom.MM))
	thin := canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}
	r.BeginGroup(canvas.Group{Kind: "part", Ref: "K1", Title: `Fuel pump "relay"`})
	r.Rect(geom.RectAt(geom.Pt(20000, 20000), 15000, 10000), thin, canvas.Fill{})
	r.Circle(geom.Pt(50000, 25000), 5000, thin, canvas.SolidFill(canvas.Shade))
	r.Arc(geom.Pt(70000, 25000), 5000, -90, 270, thin)
	canvas.InGroup(r, canvas.Group{Kind: "pin", Ref: "K1:87"}, func() {
		r.Polygon([]geom.Point{{X: 80000, Y: 20000}, {X: 90000, Y: 20000}, {X: 85000, Y: 30000}}, canvas.Stroke{}, canvas.SolidFill(canvas.Ink))
		r.Line(geom.Polyline{{X: 85000, Y: 30000}, {X: 85000, Y: 50000}},
			canvas.Stroke{Width: canvas.Width0p5, Dash: []geom.Length{2000, 1000}})
		r.Text(canvas.Text{At: geom.Pt(30000, 60000), Face: font.Bold, Height: font.Height3p5, Anchor: canvas.Middle, String: "OG/BK\n2.5 mm²"})
		r.Text(canvas.Text{At: geom.Pt(120000, 60000), Height: font.Height2p5, Angle: 90, Anchor: canvas.End, String: "PUMP-FEED 🔥", Color: canvas.Faint})
	})
	r.EndGroup()
	r.Link(geom.RectAt(geom.Pt(10000, 70000), 20000, 5000), "S3")
	r.Anchor("K1", geom.Pt(20000, 20000))
	return r.Page()
}

func TestDumpGolden(t *testing.T) {
	path := filepath.Join("testdata", "every-call.golden")
	got := dump(t, everyCall())
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

func TestReplayIsTheSameDrawing(t *testing.T) {
	first := everyCall()
	second := canvas.NewRecorder(first.Name, first.Title, first.Size)
	first.Replay(second)
	assert.Equal(t, first, second.Page())
	kinds := map[canvas.OpKind]bool{}
	for _, o := range first.Ops {
		kinds[o.Kind] = true
	}
	assert.Len(t, kinds, int(canvas.OpAnchor), "the drawing uses every kind of op")
}

func TestOpsKnowTheirGroups(t *testing.T) {
	for _, o := range everyCall().Ops {
		switch o.Kind {
		case canvas.OpText:
			assert.Equal(t, "K1:87", o.Group().Ref)
			assert.True(t, o.In("part", "K1"))
			assert.True(t, o.In("pin", ""))
			assert.False(t, o.In("part", "K2"))
		case canvas.OpLink:
			assert.Equal(t, canvas.Group{}, o.Group())
		}
	}
}

// What the caller does to its slices afterwards must not reach the recorded page.
func TestRecorderOwnsWhatItKeeps(t *testing.T) {
	r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
	line, dash := geom.Polyline{{X: 1, Y: 1}, {X: 2, Y: 2}}, []geom.Length{5}
	r.Line(line, canvas.Stroke{Width: 1, Dash: dash})
	line[0].X, dash[0] = 99, 99
	op := r.Page().Ops[0]
	assert.Equal(t, geom.Pt(1, 1), op.Points[0])
	assert.Equal(t, geom.Length(5), op.Stroke.Dash[0])
}

func TestUnbalancedGroupsPanic(t *testing.T) {
	r := canvas.NewRecorder("S", "", geom.Point{})
	assert.PanicsWithValue(t, "canvas: EndGroup without BeginGroup", r.EndGroup)
	r.BeginGroup(canvas.Group{Kind: "part"})
	assert.PanicsWithValue(t, "canvas: group part was not ended", func() { r.Page() })
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestDumpReportsTheWriter(t *testing.T) {
	assert.EqualError(t, everyCall().Dump(fullDisk{}), "writing the page S2: disk full")
}

func TestTextBounds(t *testing.T) {
	text := canvas.Text{At: geom.Pt(100000, 100000), Face: font.Regular, Height: font.Height5, String: "HEH"}
	width := text.Width()
	level := text.Bounds()
	assert.Equal(t, geom.Pt(100000, 100000), level.Corners()[3], "the baseline starts at At")
	assert.Equal(t, width, level.Width())
	text.Anchor = canvas.End
	assert.Equal(t, geom.Length(100000), text.Bounds().Max.X)
	text.Anchor = canvas.Middle
	assert.InDelta(t, 100000, float64(text.Bounds().Center().X), 1)

	text.Angle, text.Anchor = 90, canvas.Start
	upright := text.Bounds()
	assert.Equal(t, geom.Pt(100000, 100000), upright.Max, "an upright text stands to the left of and above At")
	assert.Equal(t, width, upright.Height())
	assert.Equal(t, level.Height(), upright.Width())
	text.Anchor = canvas.End
	assert.Equal(t, geom.Length(100000), text.Bounds().Min.Y)
	text.Angle = 45
	assert.Equal(t, level.Width(), text.Bounds().Width(), "other angles are drawn level")
}

func TestCounterClockwise(t *testing.T) {
	for _, test := range []struct{ start, sweep, from, through canvas.Degrees }{
		{0, 90, 0, 90}, {-90, 270, 270, 270}, {0, -90, 270, 90}, {10, -400, 330, 360}, {720, 0, 0, 0}, {0, 1000, 0, 360},
		{-1 << 31, -1 << 31, 104, 360},
	} {
		from, through := canvas.CounterClockwise(test.start, test.sweep)
		assert.Equal(t, test.through, through, "%v", test)
		assert.Equal(t, test.from, from, "%v", test)
	}
}

// Source: IEC 60757 as printed in testdata/reference/colour-codes-iec60757.csv.
func TestEveryCodeOfIEC60757HasAColor(t *testing.T) {
	file, err := os.Open("../../testdata/reference/colour-codes-iec60757.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 16)
	seen := map[canvas.Color]string{}
	for _, row := range rows[1:] {
		color, ok := canvas.CoreColor(row[1])
		assert.True(t, ok, row[1])
		if row[1] != "GNYE" {
			assert.Empty(t, seen[color], "%s looks like another", row[1])
		}
		seen[color] = row[1]
	}
	_, ok := canvas.CoreColor("XX")
	assert.False(t, ok)
}

// ITU-R BT.601 (weights from memory): luma of white 255, of pure green 0.587 of it.
func TestLuma(t *testing.T) {
	assert.Equal(t, 255, canvas.White.Luma())
	assert.Equal(t, 0, canvas.Black.Luma())
	assert.Equal(t, 150, canvas.Color{G: 255}.Luma())
}

func wireOps(base, tracer string) []canvas.Op {
	r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
	canvas.WireLine(r, geom.Polyline{{X: 0, Y: 0}, {X: 50000, Y: 0}}, base, tracer, 1000)
	return r.Page().Ops
}

func TestWireLine(t *testing.T) {
	plain := wireOps("RD", "")
	require.Len(t, plain, 2)
	assert.Greater(t, plain[0].Stroke.Width, plain[1].Stroke.Width, "the edge shows on both sides of the core")
	assert.Equal(t, canvas.Ink, plain[0].Stroke.Color)

	traced := wireOps("WH", "BK")
	require.Len(t, traced, 3, "black on white needs no border")
	assert.NotEmpty(t, traced[2].Stroke.Dash)

	assert.Equal(t, wireOps("GNYE", ""), wireOps("GNYE", "YE"))
	for _, letters := range []string{"", "XX"} {
		unknown := wireOps(letters, "")
		require.Len(t, unknown, 1, "no core, no edge: not to be taken for WH or BK")
		assert.LessOrEqual(t, unknown[0].Stroke.Width, canvas.Width0p25)
	}
}

// Whatever the two colours, on a grey print the tracer differs in lightness from what lies beside it.
func TestTracersReadInGrey(t *testing.T) {
	letters := []string{"BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "GD", "TQ", "SR"}
	for _, base := range letters {
		for _, tracer := range letters {
			if base == tracer {
				continue
			}
			ops := wireOps(base, tracer)
			core, dashes := ops[1].Stroke.Color.Luma(), ops[2].Stroke.Color.Luma()
			assert.GreaterOrEqual(t, max(core-dashes, dashes-core), 64, "%s/%s", base, tracer)
		}
	}
}

func textAt(x, y geom.Length, s string) canvas.Text {
	return canvas.Text{At: geom.Pt(x, y), Height: font.Height5, String: s}
}

func TestOverlaps(t *testing.T) {
	width := textAt(0, 0, "HH").Width()
	for _, test := range []struct {
		name string
		a, b canvas.Text
		want int
	}{
		{"on one another", textAt(50000, 50000, "HH"), textAt(52000, 52000, "HH"), 1},
		{"touching side by side", textAt(50000, 50000, "HH"), textAt(50000+width, 50000, "HH"), 0},
		{"touching one below the other", textAt(50000, 50000, "HH"), textAt(50000, 55000+200, "HH"), 0},
		{"a tail in an accent", textAt(50000, 50000, "gg"), textAt(50000, 57000, "ÅÅ"), 1},
		{"off the left", textAt(-1000, 50000, "HH"), textAt(50000, 80000, "HH"), 1},
		{"off the top", textAt(50000, 4000, "HH"), textAt(50000, 80000, "HH"), 1},
		{"nothing drawn", textAt(50000, 50000, "HH"), textAt(50000, 50000, ""), 0},
	} {
		r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
		r.Text(test.a)
		r.Text(test.b)
		assert.Len(t, canvas.Overlaps(r.Page()), test.want, test.name)
	}
	r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
	r.Line(geom.Polyline{{X: 0, Y: 50000}, {X: 100001, Y: 50000}}, canvas.Stroke{Width: 100})
	r.Text(textAt(50000, 50000, "A"))
	r.Text(textAt(51000, 51000, "B"))
	assert.Equal(t, []string{
		"line 0,50 100.001,50 stroke 0.1 #000000 reaches beyond the page of 100 x 100: its box is -0.05,49.95 100.051,50.05",
		`text "A" at 50,50 lies on text "B" at 51,51`,
	}, canvas.Overlaps(r.Page()))
}

func TestStruckTexts(t *testing.T) {
	for _, test := range []struct {
		name string
		draw func(canvas.Canvas)
		want int
	}{
		{"a line through", func(c canvas.Canvas) {
			c.Line(geom.Polyline{{X: 0, Y: 48000}, {X: 90000, Y: 48000}}, canvas.Stroke{Width: 100})
		}, 1},
		{"a line below", func(c canvas.Canvas) {
			c.Line(geom.Polyline{{X: 0, Y: 50200}, {X: 90000, Y: 50200}}, canvas.Stroke{Width: 400})
		}, 0},
		{"too thick a line below", func(c canvas.Canvas) {
			c.Line(geom.Polyline{{X: 0, Y: 50200}, {X: 90000, Y: 50200}}, canvas.Stroke{Width: 600})
		}, 1},
		{"a box around", func(c canvas.Canvas) {
			c.Rect(geom.RectAt(geom.Pt(48000, 40000), 40000, 15000), canvas.Stroke{Width: 100}, canvas.Fill{})
		}, 0},
		{"the edge of a box", func(c canvas.Canvas) {
			c.Rect(geom.RectAt(geom.Pt(48000, 40000), 40000, 8000), canvas.Stroke{Width: 100}, canvas.Fill{})
		}, 1},
		{"the closing side of a polygon", func(c canvas.Canvas) {
			c.Polygon([]geom.Point{{X: 0, Y: 48000}, {X: 0, Y: 90000}, {X: 90000, Y: 48000}}, canvas.Stroke{Width: 100}, canvas.Fill{})
		}, 1},
		{"a band without outline", func(c canvas.Canvas) {
			c.Rect(geom.RectAt(geom.Pt(0, 48000), 90000, 8000), canvas.Stroke{}, canvas.SolidFill(canvas.Shade))
		}, 0},
	} {
		r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
		test.draw(r)
		r.Text(textAt(50000, 50000, "HEH"))
		assert.Len(t, canvas.StruckTexts(r.Page()), test.want, test.name)
	}
}

func TestSmallTexts(t *testing.T) {
	r := canvas.NewRecorder("S", "", geom.Pt(100000, 100000))
	r.Text(canvas.Text{At: geom.Pt(1000, 9000), Height: font.MinHeight - 1, String: "small"})
	r.Text(canvas.Text{At: geom.Pt(1000, 19000), Height: font.MinHeight, String: "readable"})
	assert.Equal(t, []string{`text "small" at 1,9 is 2.499 mm high, under 2.5 mm`}, canvas.SmallTexts(r.Page(), font.MinHeight))
}

func BenchmarkOverlaps(b *testing.B) {
	r := canvas.NewRecorder("S", "", geom.Pt(1189*geom.MM, 841*geom.MM))
	for i := range geom.Length(5000) {
		r.Text(canvas.Text{At: geom.Pt(10000+i%50*23000, 20000+i/50*8000), Height: font.Height2p5, String: "W101 OG/BK"})
	}
	page := r.Page()
	for b.Loop() {
		if faults := canvas.Overlaps(page); len(faults) != 0 {
			b.Fatal(faults)
		}
	}
}
