package sheet

import (
	"cmp"
	"fmt"
	"slices"

	"ferrule/netlist/bundle"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Measures of the pages of sections: cells in rows, each a round section with the list of its wires to the right.
const (
	mostSections = 8
	leastInside  = 4 // wires; fewer are seen at once
	sectionRound = 88 * geom.MM
	sectionHead  = font.Height3p5 + 5*geom.MM
	sectionPitch = font.MinHeight * pitchPercent / 100
)

// sectionScales are the enlargements that a page may have.
var sectionScales = []int{10, 8, 7, 6, 5, 4, 3, 2, 1}

// sectionsOf chooses what is drawn: the thickest at each stated hole, then the thickest of all, without what looks the same.
func sectionsOf(fits []*bundle.Fit) []*bundle.Fit {
	sorted := slices.Clone(fits)
	slices.SortStableFunc(sorted, func(a, b *bundle.Fit) int { return cmp.Compare(b.ThickMM, a.ThickMM) })
	var chosen []*bundle.Fit
	seen := map[*model.Place]bool{}
	take := func(f *bundle.Fit) {
		if len(f.Sized) >= leastInside && len(chosen) < mostSections && !slices.ContainsFunc(chosen, func(g *bundle.Fit) bool { return slices.Equal(f.Sized, g.Sized) }) {
			chosen = append(chosen, f)
		}
	}
	for _, f := range sorted {
		for _, h := range f.Holes {
			if !seen[h.Place] {
				seen[h.Place] = true
				take(f)
			}
		}
	}
	for _, f := range sorted {
		take(f)
	}
	slices.SortStableFunc(chosen, func(a, b *bundle.Fit) int { return cmp.Compare(b.ThickMM, a.ThickMM) })
	return chosen
}

// sectionPages draws sections, four to a page where it is wide; before is the number of pages of bundles before them.
func (s *Set) sectionPages(fits []*bundle.Fit, before int) []*Page {
	chosen := sectionsOf(fits)
	paper := s.wall()
	area := paper.Area().Inset(sheetMargin)
	body := area
	body.Min.Y += headerRoom
	columns := wallColumns(paper)
	rows := max(1, int(body.Height()/(sectionRound+sectionHead+blockGap)))
	var pages []*Page
	for group := range slices.Chunk(chosen, columns*rows) {
		const about = "sections"
		page := &Page{
			Name: continuedName("bundles", before+len(pages)+1), Title: "Bundles, " + about, Paper: paper, Caution: bundleCaution,
			Draw: func(c canvas.Canvas) {
				drawHeading(c, area, "Bundles", "sections to scale; the dashed ring is what the formula of practice says", false)
				width, height := body.Width()/geom.Length(columns), body.Height()/geom.Length(rows)
				for i, f := range group {
					at := body.Min.Add(geom.Pt(geom.Length(i%columns)*width, geom.Length(i/columns)*height))
					canvas.InGroup(c, canvas.Group{Kind: "section", Ref: f.Path.Name.Text}, func() {
						drawSection(c, geom.RectAt(at, width-blockGap, height-blockGap), f, sectionScale(f.ThickMM))
					})
				}
			},
		}
		pages = append(pages, page)
	}
	return pages
}

func sectionScale(thickMM float64) int {
	for _, scale := range sectionScales {
		if geom.Mm(thickMM*float64(scale)) <= sectionRound {
			return scale
		}
	}
	return 1
}

// drawSection draws one bundle in a cell: a headline, the wires as they lie packed, and their list.
func drawSection(c canvas.Canvas, cell geom.Rect, f *bundle.Fit, scale int) {
	head := fmt.Sprintf("%s: %d wires, Ø %.1f mm by the formula, %.1f mm packed; %d : 1", f.Path.Name.Text, len(f.Wires), f.DiameterMM, f.PackedMM, scale)
	letterIn(c, geom.Pt(cell.Min.X, cell.Min.Y+font.Height3p5), cell.Width(), font.Bold, fittingHeight(font.Bold, font.Height3p5, head, cell.Width()), head)
	cell.Min.Y += sectionHead
	round := min(sectionRound+4*geom.MM, cell.Height())
	middle := geom.Pt(cell.Min.X+round/2, cell.Min.Y+round/2)
	toScale := func(mm float64) geom.Length { return geom.Mm(mm * float64(scale)) }
	c.Circle(middle, toScale(f.PackedMM)/2, canvas.Stroke{Width: canvas.Width0p35, Color: canvas.Ink}, canvas.Fill{})
	if f.DiameterMM > f.PackedMM {
		c.Circle(middle, toScale(f.DiameterMM)/2, canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink, Dash: []geom.Length{2 * geom.MM, geom.MM}}, canvas.Fill{})
	}
	for i, circle := range f.Section.Circles {
		at := middle.Add(geom.Pt(toScale(circle.X), toScale(circle.Y)))
		drawCore(c, at, toScale(circle.DiameterMM)/2, f.Sized[i], fmt.Sprint(i+1))
	}
	cell.Min.X += round + blockGap
	listWires(c, cell, f, toScale)
}

// drawCore draws one wire as cut across: the insulation as a ring in its colour, with its tracer in three places, and its
// number in the middle, or the number of its line in the list where that is too long.
func drawCore(c canvas.Canvas, at geom.Point, radius geom.Length, w *model.Wire, line string) {
	ring := radius * 24 / 100
	outline := canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink}
	base, known := canvas.CoreColor(w.Color.Base)
	fill := canvas.Fill{}
	if known {
		fill = canvas.SolidFill(base)
	}
	c.Circle(at, radius-outline.Width/2, outline, fill)
	tracer := w.Color.Tracer
	if w.Color.Base == "GNYE" && tracer == "" {
		tracer = "YE"
	}
	if second, ok := canvas.CoreColor(tracer); ok && known {
		for start := canvas.Degrees(60); start < 420; start += 120 {
			c.Arc(at, radius-ring/2-outline.Width, start, 60, canvas.Stroke{Width: ring * 7 / 10, Color: second})
		}
	}
	c.Circle(at, radius-ring, outline, canvas.SolidFill(canvas.White))
	text := w.Name.Text
	if !insideCore(radius, text) {
		text = "#" + line
	}
	if insideCore(radius, text) {
		c.Text(canvas.Text{At: geom.Pt(at.X, at.Y+font.MinHeight/2), Anchor: canvas.Middle, Face: font.Regular, Height: font.MinHeight, String: text, Color: canvas.Ink})
	}
}

// insideCore reports whether a text has room within the ring of a wire of that radius.
func insideCore(radius geom.Length, text string) bool {
	return font.Width(font.Regular, font.MinHeight, text) <= 2*(radius*76/100)*92/100
}

// listWires lists the wires of a section in columns as high as the cell.
func listWires(c canvas.Canvas, cell geom.Rect, f *bundle.Fit, toScale func(float64) geom.Length) {
	rows := max(1, int(cell.Height()/sectionPitch))
	columns := (len(f.Sized) + rows - 1) / rows
	width := cell.Width() / geom.Length(max(2, columns))
	size := unit.Size.String
	if columns > 2 {
		size = unit.Size.Short
	}
	for i, w := range f.Sized {
		at := cell.Min.Add(geom.Pt(geom.Length(i/rows)*width, geom.Length(i%rows)*sectionPitch+font.MinHeight))
		text := fmt.Sprintf("%s  %s  %s", w.Name.Text, cmp.Or(ColorText(w), "no colour"), size(w.Size))
		if !insideCore(toScale(f.Section.Circles[i].DiameterMM)/2, w.Name.Text) {
			text = fmt.Sprintf("#%d %s", i+1, text)
		}
		letterIn(c, at, width-2*geom.MM, font.Regular, font.MinHeight, text)
	}
}
