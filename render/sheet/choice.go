package sheet

import (
	"slices"

	"ferrule/render/geom"
	"ferrule/render/layout"
)

// Which paper a sheet is on. There are three uses: bench sheets are held in the hand, wall sheets hang beside the work, and
// a diagram is as large as what it shows. Unless somebody asks for a paper, bench sheets are on the smallest of the series,
// wall sheets on the next, and a diagram on the smallest that holds it.
//
// Somebody who asks for a paper gets wall sheets and diagrams on it. What does not fit flows on where it is a table, and
// takes the next larger paper where it cannot be cut. On a paper with room to spare, everything is drawn larger and not
// further apart: a large sheet is asked for to be read from afar.

// wallPaper is what wall sheets have when nobody asks for a paper.
var wallPaper = papers[1]

// enlargements are the steps by which a drawing is enlarged, in thousandths, from the greatest down: those of ISO 3098 and
// ISO 128, by the square root of two, so that lettering and lines keep to standard heights and widths (2.5, 3.5, 5, 7 mm).
var enlargements = []int{2828, 2000, 1414}

// series returns the papers of the series that the set is printed on, from small to large.
func (s *Set) series() []Paper {
	wanted := s.Paper.Series
	if wanted == 0 {
		wanted = ISO
	}
	return papersOf(wanted)
}

func papersOf(series Series) []Paper {
	return slices.DeleteFunc(Papers(), func(p Paper) bool { return p.Series != series })
}

// bench is the paper for what is held in the hand.
func (s *Set) bench() Paper { return s.series()[0] }

// table is the paper for bench sheets that do not fit on bench paper.
func (s *Set) table() Paper { return s.series()[1] }

// wall is the paper for what hangs beside the work. Its drawing is enlarged where it is larger than the usual one.
func (s *Set) wall() Paper {
	usual := s.table()
	if s.Paper.Name == "" {
		return usual
	}
	paper := s.Paper
	paper.Permille = 0
	if paper.Width < usual.Width {
		paper.LongCaution = true
		return paper
	}
	// A table flows, so a tenth less than the usual width is enough.
	return enlargedFor(paper, usual.Area().Width()*9/10, usual.Area().Height()*9/10)
}

// paperForWords is the wall paper, or the usual one where a table would break words on the smaller one that is asked for.
func (s *Set) paperForWords(t table) Paper {
	paper := s.wall()
	if paper.Width < s.table().Width && t.lay(paper.Area().Inset(sheetMargin).Width()).breaks {
		return s.table()
	}
	return paper
}

// wide reports whether a paper has room for two columns of a table side by side.
func wide(p Paper) bool { return p.Area().Width() > 300*geom.MM }

// wallColumns is how many columns a table of wall paper has where the usual paper has two.
func wallColumns(p Paper) int {
	if wide(p) {
		return 2
	}
	return 1
}

// enlargedFor enlarges the drawing of a paper as far as an area of the width and height still fits.
func enlargedFor(paper Paper, width, height geom.Length) Paper {
	for _, step := range enlargements {
		larger := paper
		larger.Permille = step
		if area := larger.Area(); area.Width() >= width && area.Height() >= height {
			return larger
		}
	}
	return paper
}

// diagram is the paper for a drawing of that width and height: the one that is asked for, or the smallest, upright or lying,
// that takes it. Of a size the way is taken that allows the larger drawing, lying where both are alike; but A4 and Letter
// upright only, since lying their title block takes half of them. What is too large for the largest paper gets a sheet made
// to measure.
func (s *Set) diagram(width, height geom.Length) Paper {
	var best Paper
	for _, p := range s.series() {
		if s.Paper.Name != "" && p.Width < s.Paper.Width {
			continue
		}
		for _, way := range waysOf(p) {
			if area := way.Area(); area.Width() < width || area.Height() < height {
				continue
			}
			if way = enlargedFor(way, width, height); best.Name == "" || way.Permille > best.Permille {
				best = way
			}
		}
		if best.Name != "" {
			return best
		}
	}
	return Paper{
		Name: "made to measure", Series: s.series()[0].Series, Width: max(width, 300*geom.MM) + 40*geom.MM, Height: height + 90*geom.MM,
	}
}

// DiagramRooms are what a diagram may take of each paper of a series, from small to large: upright, then lying.
func DiagramRooms(series Series) [][]layout.Room {
	var rooms [][]layout.Room
	for _, p := range papersOf(series) {
		var ways []layout.Room
		for _, way := range waysOf(p) {
			area := way.Area().Inset(diagramMargin)
			ways = append(ways, layout.Room{Width: area.Width(), Height: area.Height()})
		}
		slices.Reverse(ways)
		rooms = append(rooms, ways)
	}
	return rooms
}

// waysOf are the ways in which a paper is held for a diagram: lying and upright, but A4 and Letter upright only.
func waysOf(p Paper) []Paper {
	if p.Width < p.Height {
		return []Paper{p}
	}
	return []Paper{p, upright(p)}
}

// upright is a paper held upright that else lies.
func upright(p Paper) Paper {
	p.Name += " upright"
	p.Width, p.Height = p.Height, p.Width
	return p
}

// PaperWords are the words by which papers are asked for: their names in small letters, with "-" for a space.
func PaperWords() []string {
	var words []string
	for _, p := range papers {
		words = append(words, paperWord(p))
	}
	return words
}

// Exceeds reports whether a paper is larger than another, whichever way they are held.
func (p Paper) Exceeds(than Paper) bool {
	return max(p.Width, p.Height) > max(than.Width, than.Height) || min(p.Width, p.Height) > min(than.Width, than.Height)
}
