package label

import (
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A fitted is the text of a label as it has room: how large, how often, and what had to go.
type fitted struct {
	ref, title string // of the first line
	second     string
	points     float64
	repeats    int
	width      geom.Length // of the longer line
	lost       lost
	blank      geom.Length // of a flag: what lies round the wire between its two halves; 0 for a label that is wrapped
}

// A lost says what of a label had no room.
type lost uint8

const (
	nothing   lost = iota
	theTitle       // the words behind the designator
	theSecond      // the second line, after the title
	theRef         // even the designator
)

// Free space in a label: at its ends, and above and below the lines.
const (
	endSpace  = 1200 * geom.Micrometre
	edgeSpace = 500 * geom.Micrometre
	wordSpace = 3 // parts in ten of the lettering, between designator and title
)

// wanted is how often the two lines stand below one another if they can: so that they read from both sides of a wire.
const wanted = 2

// fit finds the largest lettering in which a label has room in a field: first for all of its text twice, then for all of it
// once, then with the short second line, and last with less.
func fit(l Label, room geom.Point, largest float64) fitted {
	for _, text := range variants(l) {
		for _, repeats := range []int{wanted, 1} {
			for p := largest; p >= leastPoints; p -= pointStep {
				if f := text; f.inside(room, p, repeats) {
					f.repeats = min(maxRepeats, f.howOften(room))
					return f
				}
			}
		}
	}
	f := variants(l)[0]
	f.title, f.second, f.lost, f.points = "", "", theRef, leastPoints
	f.ref = font.Fit(font.Bold, capHeight(leastPoints), f.ref, room.X-2*endSpace)
	f.measure()
	f.repeats = f.howOften(room)
	return f
}

// fitOn finds the text of a label on a stock: wrapped where the label reaches round what it goes on, and else as a flag, whose middle lies
// round it and whose halves stick to each other, each with the whole text.
func fitOn(l Label, stock Stock) fitted {
	wrapped := fit(l, stock.Size, stock.Largest)
	around := geom.Mm(l.RoundMM)
	if around <= stock.Size.Y {
		return wrapped
	}
	blank, half := around+flagPlay, stock.Size
	if !stock.Tape() {
		half.X = (stock.Size.X - blank) / 2
	}
	if half.X <= 2*endSpace {
		return wrapped
	}
	flag := fit(l, half, stock.Largest)
	if !stock.Tape() && flag.lost > wrapped.lost {
		return wrapped
	}
	flag.blank = blank
	return flag
}

// flagPlay is how much longer the middle of a flag is than the way round its wire.
const flagPlay = geom.MM

// maxRepeats bounds how often the lines stand on a wide label.
const maxRepeats = 6

// variants are the texts of a label, the fullest first.
func variants(l Label) []fitted {
	full := fitted{ref: l.Ref, title: l.Title, second: l.Second}
	list := []fitted{full}
	if l.Short != "" && l.Short != l.Second {
		short := full
		short.second = l.Short
		list = append(list, short)
	}
	last := list[len(list)-1]
	if l.Clause != "" && l.Clause != l.Title {
		clause := last
		clause.title = l.Clause
		list = append(list, clause)
	}
	if l.Title != "" {
		last.title, last.lost = "", theTitle
		list = append(list, last)
	}
	if l.Second != "" {
		last.second, last.lost = "", theSecond
		list = append(list, last)
	}
	return list
}

func (f *fitted) lines() int {
	if f.second == "" {
		return 1
	}
	return 2
}

// measure works out how wide the text is in its lettering.
func (f *fitted) measure() {
	height := capHeight(f.points)
	f.width = font.Width(font.Bold, height, f.ref)
	if f.title != "" {
		f.width += gapOf(f.points) + font.Width(font.Regular, height, f.title)
	}
	f.width = max(f.width, font.Width(font.Regular, height, f.second))
}

func gapOf(points float64) geom.Length { return geom.Mm(points * pointMM * wordSpace / 10) }

// inside sets the lettering and reports whether so many repeats have room.
func (f *fitted) inside(room geom.Point, points float64, repeats int) bool {
	f.points = points
	f.measure()
	return f.width+2*endSpace <= room.X && geom.Length(repeats*f.lines())*linePitch(points)+2*edgeSpace <= room.Y
}

func (f *fitted) howOften(room geom.Point) int {
	return max(1, int((room.Y-2*edgeSpace)/(geom.Length(f.lines())*linePitch(f.points))))
}
