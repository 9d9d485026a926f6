// Package tile cuts a large page into pieces that a small printer prints: overlapping, with marks to cut and lay them by.
//
// It takes recorded pages and a paper, and gives for each piece the page moved into place, the window that may be seen of
// it, and the marks around the window. It may import render/canvas and what lies below it, and draws nothing itself.
package tile

import (
	"fmt"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Tile is one piece of a page on its own paper.
type Tile struct {
	Page   *canvas.Page // the whole page, moved so that the piece lies in Window
	Window geom.Rect    // what may be seen of it
	Marks  *canvas.Page // drawn over it, outside of the window
}

// Margin is what stays white around a piece, since printers cannot print to the edge, and Overlap what two pieces that
// lie side by side both show, to be glued. Common practice.
const (
	Margin  = 10 * geom.MM
	Overlap = 10 * geom.MM
)

// Cut cuts a page into pieces for a paper of that size, held upright or lying, whichever gives fewer. A page that fits on
// the paper as it is comes back as one tile without marks.
func Cut(page *canvas.Page, paper geom.Point) []Tile {
	if fits(page.Size, paper) || fits(page.Size, turned(paper)) {
		return []Tile{{Page: page, Window: page.Bounds(), Marks: &canvas.Page{Name: page.Name, Size: page.Size}}}
	}
	if count(page.Size, turned(paper)) < count(page.Size, paper) {
		paper = turned(paper)
	}
	columns, rows := along(page.Size.X, paper.X), along(page.Size.Y, paper.Y)
	var tiles []Tile
	for row := range rows {
		for column := range columns {
			tiles = append(tiles, piece(page, paper, place{row, column, rows, columns}))
		}
	}
	return tiles
}

func fits(size, paper geom.Point) bool { return size.X <= paper.X && size.Y <= paper.Y }

func turned(p geom.Point) geom.Point { return geom.Pt(p.Y, p.X) }

func count(size, paper geom.Point) int { return along(size.X, paper.X) * along(size.Y, paper.Y) }

// along is how many pieces it takes to cover a length.
func along(length, paper geom.Length) int {
	step := paper - 2*Margin - Overlap
	return max(1, int((length-Overlap+step-1)/step))
}

// A place says which piece of how many.
type place struct{ row, column, rows, columns int }

// name is the piece as it is called on the sheet: row letter and column number, A1 at the top left.
func (p place) name() string { return fmt.Sprintf("%c%d", 'A'+p.row, p.column+1) }

func piece(page *canvas.Page, paper geom.Point, at place) Tile {
	window := geom.Rect{Min: geom.Pt(Margin, Margin), Max: geom.Pt(paper.X-Margin, paper.Y-Margin)}
	from := geom.Pt(geom.Length(at.column)*(window.Width()-Overlap), geom.Length(at.row)*(window.Height()-Overlap))
	name := page.Name + "@" + at.name()
	marks := canvas.NewRecorder(name, page.Title+", piece "+at.name(), paper)
	drawMarks(marks, window, at)
	label := fmt.Sprintf("%s  piece %s of %d x %d. Print at 100 %%. Cut at the marks on the left and above, lay on by %s mm.",
		page.Name, at.name(), at.rows, at.columns, Overlap)
	marks.Text(canvas.Text{At: geom.Pt(Margin, paper.Y-3*geom.MM), Face: font.Regular, Height: font.MinHeight, String: font.Fit(font.Regular, font.MinHeight, label, window.Width())})
	moved := canvas.Moved(page, geom.Pt(window.Min.X-from.X, window.Min.Y-from.Y))
	moved.Name, moved.Title, moved.Size = name, page.Title+", piece "+at.name(), paper
	return Tile{Page: moved, Window: window, Marks: marks.Page()}
}

// drawMarks draws the corners of the window and, on the sides that lie on a neighbour, where that one's edge comes.
func drawMarks(c canvas.Canvas, window geom.Rect, at place) {
	const long = 6 * geom.MM
	stroke := canvas.Stroke{Width: canvas.Width0p25}
	vertical := func(x geom.Length) {
		c.Line(geom.Polyline{geom.Pt(x, window.Min.Y-long), geom.Pt(x, window.Min.Y-geom.MM)}, stroke)
		c.Line(geom.Polyline{geom.Pt(x, window.Max.Y+geom.MM), geom.Pt(x, window.Max.Y+3*geom.MM)}, stroke)
	}
	horizontal := func(y geom.Length) {
		c.Line(geom.Polyline{geom.Pt(window.Min.X-long, y), geom.Pt(window.Min.X-geom.MM, y)}, stroke)
		c.Line(geom.Polyline{geom.Pt(window.Max.X+geom.MM, y), geom.Pt(window.Max.X+long, y)}, stroke)
	}
	vertical(window.Min.X)
	vertical(window.Max.X)
	horizontal(window.Min.Y)
	horizontal(window.Max.Y)
	if at.column < at.columns-1 {
		vertical(window.Max.X - Overlap)
	}
	if at.row < at.rows-1 {
		horizontal(window.Max.Y - Overlap)
	}
}
