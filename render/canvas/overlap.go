package canvas

import (
	"fmt"
	"slices"

	"ferrule/render/geom"
)

// The checks below hold a recorded page against what every sheet promises. Each returns one sentence per fault, in the
// order of the page, and nothing for a page that is in order. Tests print them.

// Overlaps reports texts that lie on one another, and everything that reaches beyond the page. Boxes that only touch are
// in order. A text counts as its Bounds.
func Overlaps(p *Page) []string {
	faults := beyondPage(p)
	texts := textsOf(p)
	for _, pair := range overlappingPairs(texts) {
		faults = append(faults, fmt.Sprintf("text %q at %s lies on text %q at %s",
			texts[pair[0]].String, texts[pair[0]].At, texts[pair[1]].String, texts[pair[1]].At))
	}
	return faults
}

func beyondPage(p *Page) []string {
	var faults []string
	for _, o := range p.Ops {
		if box, drawn := o.Bounds(); drawn && !p.Bounds().ContainsRect(box) {
			faults = append(faults, fmt.Sprintf("%s reaches beyond the page of %s x %s: its box is %s",
				o, p.Size.X, p.Size.Y, box))
		}
	}
	return faults
}

func textsOf(p *Page) []Text {
	var texts []Text
	for _, o := range p.Ops {
		if o.Kind == OpText && o.Text.Draws() {
			texts = append(texts, o.Text)
		}
	}
	return texts
}

// overlappingPairs returns the pairs of indices, smaller first, whose boxes overlap. It sweeps down the page: a text is
// held only against those whose box begins before its own ends, so that a full sheet of some thousand texts takes
// milliseconds.
func overlappingPairs(texts []Text) [][2]int {
	boxes := make([]geom.Rect, len(texts))
	downwards := make([]int, len(texts))
	for i, t := range texts {
		boxes[i], downwards[i] = t.Bounds(), i
	}
	slices.SortStableFunc(downwards, func(i, j int) int { return int(boxes[i].Min.Y) - int(boxes[j].Min.Y) })
	var pairs [][2]int
	for n, i := range downwards {
		for _, j := range downwards[n+1:] {
			if boxes[j].Min.Y >= boxes[i].Max.Y {
				break
			}
			if boxes[i].Overlaps(boxes[j]) {
				pairs = append(pairs, [2]int{min(i, j), max(i, j)})
			}
		}
	}
	slices.SortFunc(pairs, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	return pairs
}

// StruckTexts reports texts that a line, the outline of a rectangle or of a polygon passes through. Half the width of the
// line counts, touching does not. Circles and arcs are not looked at: the letter in the circle of a symbol stands inside
// them by design.
func StruckTexts(p *Page) []string {
	var faults []string
	texts := textsOf(p)
	boxes := make([]geom.Rect, len(texts))
	for i, t := range texts {
		boxes[i] = t.Bounds()
	}
	for _, o := range p.Ops {
		outline := o.outline()
		if outline == nil || !o.Stroke.Draws() {
			continue
		}
		reach := outline.Bounds().Inset(-o.Stroke.Width / 2)
		for i, box := range boxes {
			if reach.Overlaps(box) && outline.Enters(box.Inset(-o.Stroke.Width/2)) {
				faults = append(faults, fmt.Sprintf("%s passes through text %q at %s", o, texts[i].String, texts[i].At))
			}
		}
	}
	return faults
}

// outline returns the straight lines that the op draws, as one chain; of other ops, nil.
func (o Op) outline() geom.Polyline {
	switch o.Kind {
	case OpLine:
		return o.Points
	case OpRect:
		c := o.Area.Corners()
		return geom.Polyline{c[0], c[1], c[2], c[3], c[0]}
	case OpPolygon:
		if len(o.Points) < 3 {
			return nil
		}
		return append(slices.Clone(o.Points), o.Points[0])
	default:
		return nil
	}
}

// SmallTexts reports lettering lower than least.
func SmallTexts(p *Page, least geom.Length) []string {
	var faults []string
	for _, t := range textsOf(p) {
		if t.Height < least {
			faults = append(faults, fmt.Sprintf("text %q at %s is %s mm high, under %s mm", t.String, t.At, t.Height, least))
		}
	}
	return faults
}
