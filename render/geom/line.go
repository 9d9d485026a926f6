package geom

// A Segment is a straight line between two points, ends included.
type Segment struct{ A, B Point }

// Horizontal reports whether both ends have the same y; a segment of no length is both horizontal and vertical.
func (s Segment) Horizontal() bool { return s.A.Y == s.B.Y }

// Vertical reports whether both ends have the same x.
func (s Segment) Vertical() bool { return s.A.X == s.B.X }

// Bounds returns the smallest rectangle that holds the segment.
func (s Segment) Bounds() Rect { return RectOf(s.A, s.B) }

// Crosses reports whether the two segments cross in one point that is an end of neither: the X of two wires that pass
// over each other. A T, where one ends on the other, and segments that run along each other do not cross.
func (s Segment) Crosses(t Segment) bool {
	return side(s, t.A)*side(s, t.B) < 0 && side(t, s.A)*side(t, s.B) < 0
}

// Touches reports whether the segments share at least one point, ends included.
func (s Segment) Touches(t Segment) bool {
	if s.Crosses(t) {
		return true
	}
	return s.Contains(t.A) || s.Contains(t.B) || t.Contains(s.A) || t.Contains(s.B)
}

// Contains reports whether p lies exactly on the segment.
func (s Segment) Contains(p Point) bool { return side(s, p) == 0 && s.Bounds().Contains(p) }

// Overlaps reports whether the segments run along each other over more than one point: two wires drawn as one.
func (s Segment) Overlaps(t Segment) bool {
	if s.A == s.B || t.A == t.B || side(s, t.A) != 0 || side(s, t.B) != 0 {
		return false
	}
	a, b := s.Bounds(), t.Bounds()
	// On one straight line an overlap of the shadows on either axis is an overlap of the segments; a vertical line has
	// no shadow on x and a horizontal one none on y, hence the two questions.
	return max(a.Min.X, b.Min.X) < min(a.Max.X, b.Max.X) || max(a.Min.Y, b.Min.Y) < min(a.Max.Y, b.Max.Y)
}

// Enters reports whether the segment passes through the inside of the rectangle. Running along an edge or ending on it
// does not count, so that a wire may end at the outline of a symbol.
func (s Segment) Enters(r Rect) bool {
	if r.Width() <= 0 || r.Height() <= 0 {
		return false
	}
	if s.A == s.B {
		return strictlyInside(r, s.A)
	}
	// Two convex shapes are apart exactly when a line parallel to an edge of one of them separates them: the axes, then
	// the segment itself. The inside is open, hence touching counts as apart.
	b := s.Bounds()
	if b.Max.X <= r.Min.X || b.Min.X >= r.Max.X || b.Max.Y <= r.Min.Y || b.Min.Y >= r.Max.Y {
		return false
	}
	return cornersOnBothSides(s, r)
}

func cornersOnBothSides(s Segment, r Rect) bool {
	left, right := false, false
	for _, corner := range r.Corners() {
		switch d := side(s, corner); {
		case d < 0:
			left = true
		case d > 0:
			right = true
		}
	}
	return left && right
}

func strictlyInside(r Rect, p Point) bool {
	return r.Min.X < p.X && p.X < r.Max.X && r.Min.Y < p.Y && p.Y < r.Max.Y
}

// side returns -1, 0 or 1: on which side of the line through s the point p lies, or on it. The products are taken in 64
// bits: a difference of two lengths needs 33, and on a sheet (under two kilometres) the sum of both products fits.
func side(s Segment, p Point) int {
	dx, dy := int64(s.B.X)-int64(s.A.X), int64(s.B.Y)-int64(s.A.Y)
	px, py := int64(p.X)-int64(s.A.X), int64(p.Y)-int64(s.A.Y)
	switch left, right := dx*py, dy*px; {
	case left < right:
		return -1
	case left > right:
		return 1
	}
	return 0
}

// A Polyline is a chain of straight segments through its points, in order.
type Polyline []Point

// Segments returns the segments of the chain: one fewer than it has points.
func (l Polyline) Segments() []Segment {
	if len(l) < 2 {
		return nil
	}
	segments := make([]Segment, 0, len(l)-1)
	for i := 1; i < len(l); i++ {
		segments = append(segments, Segment{l[i-1], l[i]})
	}
	return segments
}

// Bounds returns the smallest rectangle that holds the points; of no points, the zero Rect.
func (l Polyline) Bounds() Rect {
	if len(l) == 0 {
		return Rect{}
	}
	bounds := Rect{l[0], l[0]}
	for _, p := range l[1:] {
		bounds = bounds.Union(Rect{p, p})
	}
	return bounds
}

// Orthogonal reports whether every segment is horizontal or vertical.
func (l Polyline) Orthogonal() bool {
	for _, s := range l.Segments() {
		if !s.Horizontal() && !s.Vertical() {
			return false
		}
	}
	return true
}

// Crossings counts the pairs of segments, one of each chain, that cross (Segment.Crosses).
func (l Polyline) Crossings(m Polyline) int {
	count := 0
	for _, s := range l.Segments() {
		for _, t := range m.Segments() {
			if s.Crosses(t) {
				count++
			}
		}
	}
	return count
}

// Enters reports whether the chain passes through the inside of the rectangle.
func (l Polyline) Enters(r Rect) bool {
	for _, s := range l.Segments() {
		if s.Enters(r) {
			return true
		}
	}
	return false
}
