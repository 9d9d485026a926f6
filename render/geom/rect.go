package geom

// A Rect is an upright rectangle from its top left corner Min to its bottom right corner Max, edges included. The zero
// Rect is the one point at the origin.
type Rect struct{ Min, Max Point }

// RectOf returns the rectangle that two opposite corners span, whichever way round they are given.
func RectOf(a, b Point) Rect {
	return Rect{
		Min: Point{min(a.X, b.X), min(a.Y, b.Y)},
		Max: Point{max(a.X, b.X), max(a.Y, b.Y)},
	}
}

// RectAt returns the rectangle with its top left corner at p and the given width and height.
func RectAt(p Point, width, height Length) Rect {
	return RectOf(p, Point{p.X + width, p.Y + height})
}

// Width returns the extent from left to right.
func (r Rect) Width() Length { return r.Max.X - r.Min.X }

// Height returns the extent from top to bottom.
func (r Rect) Height() Length { return r.Max.Y - r.Min.Y }

// Center returns the middle of the rectangle, rounded towards its top left corner.
func (r Rect) Center() Point {
	return Point{r.Min.X + r.Width()/2, r.Min.Y + r.Height()/2}
}

// Union returns the smallest rectangle that holds both. A rectangle of no extent counts like any other: it holds one
// point.
func (r Rect) Union(s Rect) Rect {
	return Rect{
		Min: Point{min(r.Min.X, s.Min.X), min(r.Min.Y, s.Min.Y)},
		Max: Point{max(r.Max.X, s.Max.X), max(r.Max.Y, s.Max.Y)},
	}
}

// Inset returns the rectangle with every edge moved inwards by d, or outwards when d is negative. Where the rectangle is
// too small for that, the opposite edges meet in the middle.
func (r Rect) Inset(d Length) Rect {
	in := Rect{Min: Point{r.Min.X + d, r.Min.Y + d}, Max: Point{r.Max.X - d, r.Max.Y - d}}
	middle := r.Center()
	if in.Min.X > in.Max.X {
		in.Min.X, in.Max.X = middle.X, middle.X
	}
	if in.Min.Y > in.Max.Y {
		in.Min.Y, in.Max.Y = middle.Y, middle.Y
	}
	return in
}

// Move returns the rectangle moved by d.
func (r Rect) Move(d Point) Rect { return Rect{r.Min.Add(d), r.Max.Add(d)} }

// Overlaps reports whether the insides of the two rectangles share a point. Rectangles that only touch along an edge or
// at a corner do not overlap, and a rectangle of no area overlaps nothing.
func (r Rect) Overlaps(s Rect) bool {
	return max(r.Min.X, s.Min.X) < min(r.Max.X, s.Max.X) && max(r.Min.Y, s.Min.Y) < min(r.Max.Y, s.Max.Y)
}

// Contains reports whether p lies in the rectangle or on its edge.
func (r Rect) Contains(p Point) bool {
	return r.Min.X <= p.X && p.X <= r.Max.X && r.Min.Y <= p.Y && p.Y <= r.Max.Y
}

// ContainsRect reports whether s lies wholly in r; their edges may touch.
func (r Rect) ContainsRect(s Rect) bool { return r.Contains(s.Min) && r.Contains(s.Max) }

// Corners returns the four corners clockwise from the top left.
func (r Rect) Corners() [4]Point {
	return [4]Point{r.Min, {r.Max.X, r.Min.Y}, r.Max, {r.Min.X, r.Max.Y}}
}

// String prints the rectangle as "x,y x,y" in millimetres: top left corner, then bottom right.
func (r Rect) String() string { return r.Min.String() + " " + r.Max.String() }
