package sheet

import (
	"strings"

	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Series is a family of paper sizes that a workshop has, or has not.
type Series uint8

// The series. A workshop prints on one of them.
const (
	ISO  Series = iota + 1 // ISO 216, as used for drawings by ISO 5457
	ANSI                   // ANSI/ASME Y14.1, sizes in inches
)

// A Paper is a trimmed sheet as it is held to be read: A4 and Letter upright, the others lying.
type Paper struct {
	Name          string
	Series        Series
	Width, Height geom.Length
	LongCaution   bool // narrow paper with room for a caution that was written for wide paper
	Low           bool // a page that goes on from another one: its title block is low, and its caution takes what it needs
	lines         int  // of the caution of a low block on narrow paper
	Permille      int  // what the drawing is enlarged by, in thousandths; 0 for as it is. The frame is never enlarged.
}

// papers lists the sizes of each series from small to large. Sources: ISO 216 and ANSI/ASME Y14.1, as printed in
// testdata/reference/sheet-sizes.csv. Inches are converted exactly and not to the rounded millimetres of that table.
var papers = []Paper{
	{Name: "A4", Series: ISO, Width: 210 * geom.MM, Height: 297 * geom.MM},
	{Name: "A3", Series: ISO, Width: 420 * geom.MM, Height: 297 * geom.MM},
	{Name: "A2", Series: ISO, Width: 594 * geom.MM, Height: 420 * geom.MM},
	{Name: "A1", Series: ISO, Width: 841 * geom.MM, Height: 594 * geom.MM},
	{Name: "A0", Series: ISO, Width: 1189 * geom.MM, Height: 841 * geom.MM},
	{Name: "Letter", Series: ANSI, Width: geom.Inches(8.5), Height: geom.Inches(11)},
	{Name: "ANSI B", Series: ANSI, Width: geom.Inches(17), Height: geom.Inches(11)},
	{Name: "ANSI C", Series: ANSI, Width: geom.Inches(22), Height: geom.Inches(17)},
	{Name: "ANSI D", Series: ANSI, Width: geom.Inches(34), Height: geom.Inches(22)},
	{Name: "ANSI E", Series: ANSI, Width: geom.Inches(44), Height: geom.Inches(34)},
}

// Papers returns the sizes that sheets come in: each series from small to large.
func Papers() []Paper { return append([]Paper(nil), papers...) }

// PaperByName finds a paper by its name. Case, spaces and hyphens do not count: "a3", "ANSI-B" and "ansi b" are
// understood, and "ANSI A" is Letter.
func PaperByName(name string) (Paper, bool) {
	wanted := plainName(name)
	if wanted == "ansia" {
		wanted = "letter"
	}
	for _, p := range papers {
		if plainName(p.Name) == wanted {
			return p, true
		}
	}
	return Paper{}, false
}

func paperWord(p Paper) string { return strings.ToLower(strings.ReplaceAll(p.Name, " ", "-")) }

func plainName(name string) string {
	return strings.NewReplacer(" ", "", "-", "").Replace(strings.ToLower(name))
}

// SmallestFor returns the smallest paper of the series whose drawing area (Paper.Area) holds a drawing of that width and
// height. The answer is false, with the largest paper, where none does.
func SmallestFor(series Series, width, height geom.Length) (Paper, bool) {
	var largest Paper
	for _, p := range papers {
		if p.Series != series {
			continue
		}
		largest = p
		if area := p.Area(); area.Width() >= width && area.Height() >= height {
			return p, true
		}
	}
	return largest, false
}

// Size returns width and height as a point, as canvas.NewRecorder takes them.
func (p Paper) Size() geom.Point { return geom.Pt(p.Width, p.Height) }

// Borders of ISO 5457: 20 mm at the left, for filing, and 10 mm elsewhere. Source: testdata/reference/sheet-rules.csv,
// where they are given from memory. The inch sizes get the same borders: those of ASME Y14.1 differ from size to size,
// are doubtful in our table, and no printer needs them.
const (
	leftBorder  = 20 * geom.MM
	otherBorder = 10 * geom.MM
)

// Frame returns the rectangle of the frame line: the drawing space with the title block in it.
func (p Paper) Frame() geom.Rect {
	return geom.Rect{Min: geom.Pt(leftBorder, otherBorder), Max: geom.Pt(p.Width-otherBorder, p.Height-otherBorder)}
}

// Area returns the drawing area: what is left of the frame above the strip of the title block. A drawing may use it to
// the edge; the frame's line reaches into it by half its width. On a paper whose drawing is enlarged, the area is told in
// the measures of the drawing before it is enlarged, so that what draws need not know of it.
func (p Paper) Area() geom.Rect {
	area := p.Frame()
	area.Max.Y = p.strip().Min.Y
	if p.Permille == 0 {
		return area
	}
	reduced := func(l geom.Length, up int64) geom.Length {
		return geom.Length((int64(l)*1000 + up) / int64(p.Permille))
	}
	most := int64(p.Permille) - 1 // what is rounded stays inside
	return geom.Rect{
		Min: geom.Pt(reduced(area.Min.X, most), reduced(area.Min.Y, most)), Max: geom.Pt(reduced(area.Max.X, 0), reduced(area.Max.Y, 0)),
	}
}

// narrow reports whether the frame has no room beside the title block, so that the block takes the whole foot of the
// sheet and the caution stands above it.
func (p Paper) narrow() bool { return p.Frame().Width() < titleWidth+leastFoot }

// strip returns the foot of the frame that the title block and the caution stand in.
func (p Paper) strip() geom.Rect {
	strip := p.Frame()
	height := p.titleHeight()
	if p.narrow() {
		height += p.cautionHeight()
	}
	strip.Min.Y = strip.Max.Y - height
	return strip
}

// titleBlock returns the place of the title block: the bottom right corner of the frame.
func (p Paper) titleBlock() geom.Rect {
	block := p.Frame()
	block.Min.Y = block.Max.Y - p.titleHeight()
	if !p.narrow() {
		block.Min.X = block.Max.X - titleWidth
	}
	return block
}

func (p Paper) titleHeight() geom.Length {
	if p.Low {
		return lowTitleHeight
	}
	return titleHeight
}

func (p Paper) cautionHeight() geom.Length {
	switch {
	case p.Low && p.lines == 0:
		return 0
	case p.Low:
		return 2*p.cautionInset() + font.MinHeight + geom.Length(p.lines-1)*font.LinePitch(font.MinHeight)
	case p.LongCaution:
		return longCaution
	}
	return cautionHeight
}

// low returns the paper with the low title block of a page that goes on from another one, and with room for the whole caution. Where a
// wide paper has none beside a low block, it keeps its full one.
func (p Paper) low(caution string) Paper {
	low := p
	low.Low = true
	if low.narrow() {
		lines, _ := low.cautionLines(caution)
		low.lines = len(lines)
	}
	if !low.CautionFits(caution) {
		return p
	}
	return low
}

// caution returns the place of the caution: above the title block on narrow paper, beside it on wide paper.
func (p Paper) caution() geom.Rect {
	place := p.strip()
	if p.narrow() {
		place.Max.Y = place.Min.Y + p.cautionHeight()
	} else {
		place.Max.X = p.titleBlock().Min.X
	}
	return place
}
