package sheet

import (
	"fmt"
	"slices"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A sheaf is the paper of a table that goes on over several pages: the first has the full title block and heading, the others low
// ones, so that most of them is table.
type sheaf struct{ first, rest Paper }

// sheaf returns the pages of a paper for a table with a caution.
func (p Paper) sheaf(caution string) sheaf { return sheaf{p, p.low(caution)} }

// paper is that of a page, counted from 0.
func (f sheaf) paper(page int) Paper {
	if page == 0 {
		return f.first
	}
	return f.rest
}

// area is the room below the heading of a page.
func (f sheaf) area(page int) geom.Rect {
	paper := f.paper(page)
	area := paper.Area().Inset(sheetMargin)
	area.Min.Y += roomOfHeading(paper)
	return area
}

// width is that of the area of every page.
func (f sheaf) width() geom.Length { return f.area(0).Width() }

// boxes are the pages, each in so many columns.
func (f sheaf) boxes(columns int) func(i int) box {
	return func(i int) box {
		page := i / columns
		return box{page, columnsOf(f.area(page), columns)[i%columns]}
	}
}

// columns lets tables flow under parts that have been placed, in so many columns, and ends those of the last page at about one height,
// so that what is under them has the rest of the page.
func (f sheaf) columns(before []placed, columns int, gap geom.Length, tables ...*laidTable) []placed {
	under := f.under(before)
	place := func(last int, share geom.Length) []placed {
		return flow{gap: gap, boxAt: func(i int) box {
			b := under(i / columns)
			b.area = columnsOf(b.area, columns)[i%columns]
			if b.page == last {
				b.area.Max.Y = b.area.Min.Y + b.area.Height()*share/columnSteps
			}
			return b
		}}.place(tables...)
	}
	return levelled(place(-1, columnSteps), 3, columnSteps, place)
}

// levelled shortens the columns of the last page, so that they end at about one height: to the first share of their height, from one to
// another, with which place needs no more pages than the whole.
func levelled(whole []placed, from, steps geom.Length, place func(last int, share geom.Length) []placed) []placed {
	count := pagesOf(whole)
	for share := from; share < steps; share++ {
		if parts := place(count-1, share); pagesOf(parts) == count {
			return parts
		}
	}
	return whole
}

// columnSteps is by how many steps the columns of a last page are shortened.
const columnSteps = 16

// under are the boxes below parts that have been placed: the rest of their last page, where that is enough to begin in, and the
// pages behind it.
func (f sheaf) under(parts []placed) func(i int) box {
	page := max(0, pagesOf(parts)-1)
	first := f.area(page)
	if len(parts) > 0 {
		first.Min.Y = bottom(onPage(parts, page), first.Min.Y) + blockGap
	}
	if first.Height() < leastRest {
		page++
		first = f.area(page)
	}
	return func(i int) box {
		if i == 0 {
			return box{page, first}
		}
		return box{page + i, f.area(page + i)}
	}
}

// leastRest is the least of a page that something new begins in.
const leastRest = 50 * geom.MM

// lowHeadingRoom is what the heading of a page with a low title block takes.
const lowHeadingRoom = font.Height3p5 + 3500*geom.Micrometre

func roomOfHeading(p Paper) geom.Length {
	if p.Low {
		return lowHeadingRoom
	}
	return headerRoom
}

// heading letters the heading of a page: large, and on a page with a low title block in one line of 3.5 mm.
func (f sheaf) heading(c canvas.Canvas, page int, name, about string, continued bool) {
	paper := f.paper(page)
	area := paper.Area().Inset(sheetMargin)
	if !paper.Low {
		drawHeading(c, area, name, about, continued)
		return
	}
	if continued {
		name += ", continued"
	}
	drawHeadingOf(c, area, name, about, font.Height3p5)
}

// tablePages draws parts of tables on the pages of a sheaf, each under its heading.
func (s *Set) tablePages(name, title, about, caution string, f sheaf, parts []placed) []*Page {
	var pages []*Page
	count := pagesOf(parts)
	for i := range count {
		on := onPage(parts, i)
		page := &Page{
			Name: continuedName(name, i+1), Title: title, Paper: f.paper(i), Caution: caution,
			Draw: func(c canvas.Canvas) {
				f.heading(c, i, title, about, i > 0)
				s.drawParts(c, on)
			},
		}
		if count > 1 {
			page.Title += fmt.Sprintf(" (%d of %d)", i+1, count)
		}
		pages = append(pages, page)
	}
	return pages
}

// deviceHeights are the letterings of the names of devices, from the one for a wall.
var deviceHeights = []geom.Length{font.Height5, font.Height3p5, 0}

// compact lets tables flow over one page of bench paper where that is enough for them, and else over pages of wall paper in columns, of
// which those of the last page end at about one height. The names of devices are as large as costs no page.
func (s *Set) compact(caution string, tables ...table) (sheaf, []placed) {
	bench, one := s.flowing(s.bench(), caution, tables)
	room := caution
	if s.lacksCharacters(one) {
		room += " " + undrawnNote
	}
	if pagesOf(one) <= 1 && s.bench().CautionFits(room) &&
		!slices.ContainsFunc(one, func(p placed) bool { return p.table.breaks }) {
		return bench, one
	}
	return s.flowing(s.wall(), caution, tables)
}

// flowing lays tables out on a paper, with the largest names of devices that need no more pages than small ones.
func (s *Set) flowing(paper Paper, caution string, tables []table) (sheaf, []placed) {
	f, columns := paper.sheaf(caution), wallColumns(paper)
	var best []placed
	for _, height := range deviceHeights {
		for i := range tables {
			tables[i].devices = height
		}
		laid := layAll(columnsOf(f.area(0), columns)[0].Width(), tables...)
		if len(laid) == 0 {
			return f, nil
		}
		if parts := f.columns(nil, columns, blockGap, laid...); best == nil || pagesOf(parts) < pagesOf(best) {
			best = parts
		}
	}
	return f, best
}
