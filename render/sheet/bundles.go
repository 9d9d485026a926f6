package sheet

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"sync"

	"ferrule/netlist/bundle"
	"ferrule/netlist/model"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "bundles", Title: "Bundles", Order: 160,
	Doc: "Every path with wires in it: how thick they are together, by the formula of practice and packed as circles, and what " +
		"covers, holds and bends them: tube, heat-shrink, tape, grommet hole, least bend, clips, weight. Then sections of the thickest, to scale.",
	Plan: planBundles,
})

const bundleCaution = "Diameters are estimates for thin-wall cable: measure a tied sample before a tube or a grommet is bought. Thread the loom through its " +
	"grommets before the connectors go on. Keep 100 mm from exhaust and clear of fuel lines, belts, pedals and steering."

// bundleNotes say how the columns are to be read.
var bundleNotes = []string{
	"Ø: by the formula of practice, 1.2 times the root of the sum of the squared outside diameters, and as circles packed as tightly as was found. A loom laid " +
		"by hand comes near the formula; two or three wires are as thick as the circles say. The larger one counts in all columns that follow.",
	"Cover: in brackets where the netlist states none and a usual one was taken: split tube at an engine, in the wet and where it flexes, tape elsewhere. " +
		"Tube: nominal bore and how far the bundle fills it across; 80 % is the most, and above 70 % it goes in tightly. Sizes of tube are from memory.",
	"Shrink: expanded size of 2:1, at least 1.15 times the bundle and recovering to at most 0.8 of it; fitted last, it has to pass over the connector too. " +
		"3:1 where no 2:1 does both.",
	"Bend: the least inside radius, the stricter of two customs: 4 times the bundle, 10 times where it flexes (practice), and 10 times the thickest wire " +
		"(AC 43.13-1B). Where the second is the stricter, the first stands in brackets.",
	"Clips: every 250 mm at an engine, 450 mm elsewhere (practice; 46 CFR 183.340 and AC 43.13-1B allow 610 mm). Weight: of the wires, metal and insulation, along the path.",
	"~ rests on a guessed length. Jackets and screens of cables are not counted.",
}

// Fits returns what every bundle needs, worked out when the first asks, and once.
func (s *Set) Fits() []bundle.Fit {
	if s.fits == nil {
		s.fits = sync.OnceValue(func() []bundle.Fit { return bundle.Fits(s.Netlist, s.Routes) })
	}
	return s.fits()
}

func planBundles(s *Set) []*Page {
	t := table{heads: []string{
		"Path", "Between", "Length", "Wires", "Ø formula / packed, mm", "Cover", "Tube, mm", "Shrink 2:1, mm", "Tape", "Hole", "Bend, mm", "Clips", "Weight",
	}}
	var shown []*bundle.Fit
	var empty []string
	fits := s.Fits()
	for i := range fits {
		if f := &fits[i]; len(f.Wires) == 0 {
			empty = append(empty, f.Path.Name.Text)
		} else {
			shown = append(shown, f)
			t.rows = append(t.rows, bundleRow(f))
		}
	}
	if len(shown) == 0 {
		return nil
	}
	t.rows = append(t.rows, bundleSum(shown))
	if len(empty) > 0 {
		t.rows = append(t.rows, row{span: true, cells: []cell{say("No wires lie along: " + strings.Join(empty, ", ") + ".")}})
	}
	for _, note := range bundleNotes {
		t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	}
	pages := s.listPages("bundles", "Bundles", bundleCaution, s.wall(), t.without(8), func(first, last int) string {
		if first >= len(shown) {
			return "notes"
		}
		return counting("paths", first+1, min(last+1, len(shown)), len(shown))
	})
	return append(pages, s.sectionPages(shown, len(pages))...)
}

func bundleRow(f *bundle.Fit) row {
	c := &f.Cover
	return row{
		group: canvas.Group{Kind: "path", Ref: f.Path.Name.Text},
		cells: []cell{
			sayBold(f.Path.Name.Text),
			say(endsText(f.Path)),
			say(pathLength(f)),
			wiresCell(f),
			say(acrossText(f)),
			say(coverText(c)),
			say(mmText(c.TubeMM, fmt.Sprintf(", %.0f %%", 100*c.TubeFill))),
			say(shrinkText(c)),
			say(tapeText(f)),
			holeCell(f),
			say(bendText(f)),
			say(clipText(f)),
			say(gramsText(f)),
		},
	}
}

func endsText(p *model.Path) string {
	names := [2]string{p.Ends[0].Text, p.Ends[1].Text}
	for i, end := range [...]*model.Place{p.From, p.To} {
		if end != nil {
			names[i] = cmp.Or(end.Title.Text, end.Name.Text)
		}
	}
	return names[0] + " – " + names[1]
}

func pathLength(f *bundle.Fit) string {
	if m, ok := f.LengthM(); ok {
		return fmt.Sprintf("%.2f m", m) + guessMark(f.Guessed())
	}
	return "not stated"
}

func wiresCell(f *bundle.Fit) cell {
	text := fmt.Sprint(len(f.Wires))
	if f.Unsized > 0 {
		text += fmt.Sprintf(", %d without size", f.Unsized)
	}
	c := say(text)
	if len(f.Cables) > 0 {
		var names []string
		for _, cable := range f.Cables {
			names = append(names, cable.Name.Text)
		}
		c = append(c, piece{text: "cables " + strings.Join(names, ", ")})
	}
	return c
}

func acrossText(f *bundle.Fit) string {
	switch {
	case f.ThickMM == 0:
		return "not known"
	case len(f.Sized) == 1:
		return fmt.Sprintf("%.1f", f.ThickMM) + orMore(f)
	}
	return fmt.Sprintf("%.1f / %.1f", f.DiameterMM, f.PackedMM) + orMore(f)
}

// orMore marks what is larger than it says because wires without a size lie there too.
func orMore(f *bundle.Fit) string { return when(f.Unsized > 0, " or more") }

func coverText(c *bundle.Cover) string {
	if c.Stated {
		return c.Name
	}
	return "(" + c.Name + ")"
}

// mmText writes a size with what stands behind it, or a dash for none.
func mmText(mm float64, behind string) string {
	if mm == 0 {
		return "–"
	}
	return tenths(mm) + behind
}

// tenths writes a number with one decimal, which is left out where it is nought.
func tenths(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") }

func shrinkText(c *bundle.Cover) string {
	if c.ShrinkMM == 0 && c.ThreeToOne > 0 {
		return tenths(c.ThreeToOne) + " (3:1)"
	}
	return mmText(c.ShrinkMM, "")
}

func tapeText(f *bundle.Fit) string {
	m, ok := f.LengthM()
	if f.Cover.Kind != bundle.Tape || !ok || f.ThickMM == 0 {
		return ""
	}
	return fmt.Sprintf("%.1f m", f.Cover.TapeM*m) + guessMark(f.Guessed())
}

func holeCell(f *bundle.Fit) cell {
	if f.ThickMM == 0 {
		return say("–")
	}
	c := say(fmt.Sprintf("from %.1f mm", math.Ceil(f.LeastHoleMM*2-1e-9)/2))
	for _, h := range f.Holes {
		c = append(c, piece{text: fmt.Sprintf("%s %s mm: %s", h.Place.Name.Text, tenths(h.ClearMM), h.Verdict), bold: h.Verdict != bundle.Passes})
	}
	return c
}

func bendText(f *bundle.Fit) string {
	if f.ThickMM == 0 {
		return "–"
	}
	text := fmt.Sprintf("%.0f", math.Ceil(f.Bend.RadiusMM()-1e-9))
	if f.Bend.AircraftMM > f.Bend.PracticeMM {
		text += fmt.Sprintf(" (%.0f)", math.Ceil(f.Bend.PracticeMM-1e-9))
	}
	if f.Bend.Flexes {
		text += " flexes"
	}
	return text
}

func clipText(f *bundle.Fit) string {
	if f.Clips.Count == 0 {
		return fmt.Sprintf("every %d mm", f.Clips.PitchMM)
	}
	return fmt.Sprintf("%d at %d mm", f.Clips.Count, f.Clips.PitchMM)
}

func gramsText(f *bundle.Fit) string {
	if _, ok := f.LengthM(); !ok || f.ThickMM == 0 {
		return "–"
	}
	return fmt.Sprintf("%.0f g", f.Grams) + guessMark(f.Guessed())
}

// bundleSum adds lengths, clips and weight.
func bundleSum(fits []*bundle.Fit) row {
	metres, grams, clips, guessed := 0.0, 0.0, 0, false
	for _, f := range fits {
		metres, grams, clips, guessed = metres+f.Path.Length.Value, grams+f.Grams, clips+f.Clips.Count, guessed || f.Guessed()
	}
	r := row{ruled: true, shaded: true, cells: make([]cell, 13)}
	r.cells[0], r.cells[2] = sayBold("All"), sayBold(fmt.Sprintf("%.1f m", metres)+guessMark(guessed))
	r.cells[11], r.cells[12] = sayBold(fmt.Sprint(clips)), sayBold(fmt.Sprintf("%.1f kg", grams/1000)+guessMark(guessed))
	for i := range r.cells {
		if r.cells[i] == nil {
			r.cells[i] = say("")
		}
	}
	return r
}
