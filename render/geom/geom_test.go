package geom_test

import (
	"math"
	"math/rand"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/render/geom"
)

func TestMmRoundsToTheMicrometre(t *testing.T) {
	for _, test := range []struct {
		millimetres float64
		want        geom.Length
	}{
		{0, 0}, {2.5, 2500}, {-2.5, -2500}, {0.0004, 0}, {0.0005, 1}, {-0.0005, -1}, {1189, 1189 * geom.MM},
		{1e12, math.MaxInt32}, {-1e12, math.MinInt32}, {math.Inf(1), math.MaxInt32}, {math.NaN(), 0},
	} {
		assert.Equal(t, test.want, geom.Mm(test.millimetres), "%v mm", test.millimetres)
	}
	// 25.4 mm to the inch: international yard and pound agreement of 1959.
	assert.Equal(t, 215900*geom.Micrometre, geom.Inches(8.5))
}

func TestLengthPrintsShortest(t *testing.T) {
	for length, want := range map[geom.Length]string{
		0: "0", 1: "0.001", -1: "-0.001", 70: "0.07", 500: "0.5", 12500: "12.5", -12345: "-12.345", 210 * geom.MM: "210",
		math.MinInt32: "-2147483.648",
	} {
		assert.Equal(t, want, length.String())
	}
}

// strconv is the reference: what String prints reads back as the same number of millimetres.
func TestLengthStringReadsBack(t *testing.T) {
	random := rand.New(rand.NewSource(1))
	for range 2000 {
		want := geom.Length(random.Int31()) - 1<<30
		millimetres, err := strconv.ParseFloat(want.String(), 64)
		assert.NoError(t, err)
		assert.Equal(t, want, geom.Mm(millimetres))
	}
}

func rect(x0, y0, x1, y1 geom.Length) geom.Rect {
	return geom.Rect{Min: geom.Pt(x0, y0), Max: geom.Pt(x1, y1)}
}

func TestRectOverlaps(t *testing.T) {
	for _, test := range []struct {
		name string
		s    geom.Rect
		want bool
	}{
		{"inside", rect(2, 2, 4, 4), true},
		{"across", rect(-5, 4, 15, 6), true},
		{"itself", rect(0, 0, 10, 10), true},
		{"touching an edge", rect(10, 0, 20, 10), false},
		{"touching a corner", rect(10, 10, 20, 20), false},
		{"apart", rect(11, 0, 20, 10), false},
		{"of no area", rect(5, 5, 5, 5), false},
		{"of no width", rect(5, 0, 5, 10), false},
	} {
		assert.Equal(t, test.want, rect(0, 0, 10, 10).Overlaps(test.s), test.name)
		assert.Equal(t, test.want, test.s.Overlaps(rect(0, 0, 10, 10)), "%s, turned round", test.name)
	}
}

func TestRect(t *testing.T) {
	r := rect(0, 0, 10, 20)
	assert.Equal(t, r, geom.RectOf(geom.Pt(10, 0), geom.Pt(0, 20)))
	assert.Equal(t, r, geom.RectAt(geom.Pt(0, 0), 10, 20))
	assert.Equal(t, rect(-5, 0, 10, 30), r.Union(rect(-5, 5, -1, 30)))
	assert.Equal(t, rect(2, 2, 8, 18), r.Inset(2))
	assert.Equal(t, rect(-2, -2, 12, 22), r.Inset(-2))
	assert.Equal(t, rect(5, 7, 5, 13), r.Inset(7), "the edges meet in the middle")
	assert.True(t, r.Contains(geom.Pt(10, 20)))
	assert.False(t, r.Contains(geom.Pt(11, 20)))
	assert.True(t, r.ContainsRect(r))
	assert.False(t, r.ContainsRect(rect(0, 0, 10, 21)))
	assert.Equal(t, rect(1, 2, 11, 22), r.Move(geom.Pt(1, 2)))
}

func segment(x0, y0, x1, y1 geom.Length) geom.Segment {
	return geom.Segment{A: geom.Pt(x0, y0), B: geom.Pt(x1, y1)}
}

func TestSegmentMeetings(t *testing.T) {
	s := segment(0, 0, 10, 0)
	for _, test := range []struct {
		name                       string
		t                          geom.Segment
		crosses, touches, overlaps bool
	}{
		{"a cross", segment(5, -5, 5, 5), true, true, false},
		{"a slanting cross", segment(3, -1, 7, 2), true, true, false},
		{"a T", segment(5, 0, 5, 5), false, true, false},
		{"a corner", segment(10, 0, 10, 5), false, true, false},
		{"end to end", segment(10, 0, 20, 0), false, true, false},
		{"along", segment(5, 0, 15, 0), false, true, true},
		{"inside", segment(2, 0, 8, 0), false, true, true},
		{"the same, backwards", segment(10, 0, 0, 0), false, true, true},
		{"beside", segment(0, 1, 10, 1), false, false, false},
		{"in line, apart", segment(11, 0, 20, 0), false, false, false},
		{"a point on it", segment(5, 0, 5, 0), false, true, false},
	} {
		for _, pair := range [][2]geom.Segment{{s, test.t}, {test.t, s}} {
			assert.Equal(t, test.crosses, pair[0].Crosses(pair[1]), "%s crosses", test.name)
			assert.Equal(t, test.touches, pair[0].Touches(pair[1]), "%s touches", test.name)
			assert.Equal(t, test.overlaps, pair[0].Overlaps(pair[1]), "%s overlaps", test.name)
		}
	}
	// The ends of the range of a Length: differences need 33 bits and their products 66; a sheet stays far below.
	far := 1000 * 1000 * geom.MM
	assert.True(t, segment(-far, 0, far, 0).Crosses(segment(0, -far, 0, far)))
}

func TestSegmentEnters(t *testing.T) {
	r := rect(0, 0, 10, 10)
	for _, test := range []struct {
		name string
		s    geom.Segment
		want bool
	}{
		{"through", segment(-5, 5, 15, 5), true},
		{"inside", segment(2, 2, 3, 3), true},
		{"a point inside", segment(2, 2, 2, 2), true},
		{"ends inside", segment(-5, 5, 1, 5), true},
		{"cuts a corner", segment(-1, 2, 2, -1), true},
		{"the diagonal", segment(0, 0, 10, 10), true},
		{"ends on the edge", segment(-5, 5, 0, 5), false},
		{"along an edge", segment(-5, 0, 15, 0), false},
		{"touches a corner", segment(-5, 5, 5, -5), false},
		{"passes a corner", segment(-6, 5, 5, -6), false},
		{"apart", segment(20, 0, 20, 10), false},
		{"a point on the edge", segment(0, 5, 0, 5), false},
	} {
		assert.Equal(t, test.want, test.s.Enters(r), test.name)
	}
	assert.False(t, segment(-5, 5, 15, 5).Enters(rect(0, 5, 10, 5)), "a rectangle of no area has no inside")
}

// Walking along the segment in small steps is the slow reference: a step strictly inside means that the segment enters.
// The other way round a step can miss a sliver, so only slivers may differ.
func TestSegmentEntersAgainstWalking(t *testing.T) {
	random := rand.New(rand.NewSource(2))
	r := rect(-20, -20, 20, 20)
	entered := 0
	for range 5000 {
		coordinate := func() geom.Length { return geom.Length(random.Intn(101) - 50) }
		s := segment(coordinate(), coordinate(), coordinate(), coordinate())
		walked := false
		for step := 0.0; step <= 1; step += 1.0 / 4096 {
			x := float64(s.A.X) + step*float64(s.B.X-s.A.X)
			y := float64(s.A.Y) + step*float64(s.B.Y-s.A.Y)
			walked = walked || x > -20 && x < 20 && y > -20 && y < 20
		}
		// A segment of whole coordinates within 50 that enters at all has, by the size of its steps, a step inside
		// unless it only grazes a corner by less than 100/4096.
		if walked {
			entered++
			assert.True(t, s.Enters(r), "%v", s)
		} else if s.Enters(r) {
			assert.True(t, s.Enters(r.Inset(-1)) && !s.Enters(r.Inset(1)), "%v", s)
		}
	}
	assert.Greater(t, entered, 500)
}

func TestPolyline(t *testing.T) {
	l := geom.Polyline{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 20}}
	assert.Len(t, l.Segments(), 2)
	assert.Equal(t, rect(0, 0, 10, 20), l.Bounds())
	assert.True(t, l.Orthogonal())
	assert.False(t, geom.Polyline{{X: 0, Y: 0}, {X: 1, Y: 1}}.Orthogonal())
	assert.Equal(t, 2, l.Crossings(geom.Polyline{{X: 5, Y: -5}, {X: 5, Y: 5}, {X: 15, Y: 5}}))
	assert.True(t, l.Enters(rect(9, 5, 11, 6)))
	assert.False(t, l.Enters(rect(0, 0, 10, 20)), "a wire may run along the outline of a symbol")
	assert.Empty(t, geom.Polyline{}.Segments())
	assert.Equal(t, geom.Rect{}, geom.Polyline{}.Bounds())
}
