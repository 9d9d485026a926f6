// Package geom holds the measures of a sheet: lengths as whole micrometres, and the points, rectangles, segments and
// polylines made of them.
//
// The origin is the top left corner of the sheet as printed; x grows to the right and y grows downwards. Whole numbers
// are used so that two drawings of the same source are the same to the last digit on every machine: a comparison of
// lengths is exact and needs no tolerance. The package is a leaf and knows nothing of wires or of paper.
package geom

import (
	"math"
	"strconv"
)

// A Length is a distance in micrometres. An int32 holds a little over two kilometres, which is far beyond any sheet.
type Length int32

// Micrometre and MM are the units that lengths are written in: 25*MM is 25 mm.
const (
	Micrometre Length = 1
	MM         Length = 1000
)

// Mm turns millimetres into a Length, rounded to the nearest micrometre, halves away from zero. A value beyond what a
// Length holds becomes the greatest or the least Length, and NaN becomes zero.
func Mm(millimetres float64) Length {
	micrometres := math.Round(millimetres * 1000)
	switch {
	case math.IsNaN(micrometres):
		return 0
	case micrometres >= math.MaxInt32:
		return math.MaxInt32
	case micrometres <= math.MinInt32:
		return math.MinInt32
	}
	return Length(micrometres)
}

// Inches turns inches into a Length, at 25.4 mm to the inch (the international inch of 1959), rounded like Mm.
func Inches(inches float64) Length { return Mm(inches * 25.4) }

// Mm returns the length in millimetres.
func (l Length) Mm() float64 { return float64(l) / 1000 }

// String prints the length in millimetres without a unit and without trailing zeros: "12.5", "-0.07". It works on the
// whole number, so that no rounding of floats can reach a printed drawing.
func (l Length) String() string {
	text := make([]byte, 0, 12)
	rest := int64(l)
	if rest < 0 {
		text = append(text, '-')
		rest = -rest
	}
	text = strconv.AppendInt(text, rest/1000, 10)
	fraction := rest % 1000
	if fraction == 0 {
		return string(text)
	}
	text = append(text, '.', byte('0'+fraction/100), byte('0'+fraction/10%10), byte('0'+fraction%10))
	for text[len(text)-1] == '0' {
		text = text[:len(text)-1]
	}
	return string(text)
}

// Abs returns the length without its sign.
func (l Length) Abs() Length {
	if l < 0 {
		return -l
	}
	return l
}

// A Point is a place on the sheet, or the distance between two places.
type Point struct{ X, Y Length }

// Pt is short for Point{X: x, Y: y}.
func Pt(x, y Length) Point { return Point{X: x, Y: y} }

// Add returns p moved by q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns the distance from q to p.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// String prints the point as "x,y" in millimetres.
func (p Point) String() string { return p.X.String() + "," + p.Y.String() }
