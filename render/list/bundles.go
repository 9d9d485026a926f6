package list

import (
	"strconv"
	"strings"

	"ferrule/netlist/bundle"
	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "bundles", Title: "Bundles", Order: 110, Sheet: "bundles",
	Doc: "every path with how thick its wires are together, what covers them, the hole, bend and clips that they need, and their weight",
	Columns: []Column{
		text("path"), text("from"), text("to"), number("length_m"), text("known_from"), number("wires"), number("without_size"),
		number("formula_mm"), number("packed_mm"), text("cover"), text("cover_stated"), number("tube_mm"), number("tube_fill_percent"),
		number("outside_mm"), number("shrink_2to1_mm"), number("shrink_3to1_mm"), number("tape_m"), number("least_hole_mm"), text("holes"),
		number("least_bend_mm"), number("practice_bend_mm"), number("aircraft_bend_mm"), text("flexes"), number("clips"),
		number("clip_pitch_mm"), number("weight_g"), text("wire_names"),
	},
	Rows: bundleRows,
})

func bundleRows(s *sheet.Set) [][]string {
	var rows [][]string
	fits := s.Fits()
	for i := range fits {
		f := &fits[i]
		c := &f.Cover
		length, stated := f.LengthM()
		tape := 0.0
		if c.Kind == bundle.Tape {
			tape = c.TapeM * length
		}
		var holes, names []string
		for _, h := range f.Holes {
			holes = append(holes, h.Place.Name.Text+" "+fixed(h.ClearMM, 1)+" "+h.Verdict.String())
		}
		for _, w := range f.Wires {
			names = append(names, w.Name.Text)
		}
		cover := c.Name
		if len(f.Wires) == 0 && !c.Stated {
			cover = ""
		}
		rows = append(rows, []string{
			f.Path.Name.Text, placeName(f.Path.From, f.Path.Ends[0]), placeName(f.Path.To, f.Path.Ends[1]), known(stated, length, 3),
			f.Path.KnownFrom.Text, strconv.Itoa(len(f.Wires)), strconv.Itoa(f.Unsized), fixed(f.DiameterMM, 1), fixed(f.PackedMM, 1), cover,
			yes(c.Stated), fixed(c.TubeMM, 1), fixed(100*c.TubeFill, 0), fixed(c.OutsideMM, 1), fixed(c.ShrinkMM, 1), fixed(c.ThreeToOne, 1),
			fixed(tape, 2), fixed(f.LeastHoleMM, 1), strings.Join(holes, ", "), fixed(f.Bend.RadiusMM(), 1), fixed(f.Bend.PracticeMM, 1),
			fixed(f.Bend.AircraftMM, 1), yes(f.Bend.Flexes), known(f.Clips.Count > 0, float64(f.Clips.Count), 0), strconv.Itoa(f.Clips.PitchMM),
			fixed(f.Grams, 1), strings.Join(names, " "),
		})
	}
	return rows
}

func placeName(p *model.Place, written model.Name) string {
	if p == nil {
		return written.Text
	}
	return p.Name.Text
}

// fixed writes a number with so many decimals; nought is nothing to be said.
func fixed(value float64, decimals int) string { return known(value != 0, value, decimals) }

func known(is bool, value float64, decimals int) string {
	if !is {
		return ""
	}
	return strconv.FormatFloat(value, 'f', decimals, 64)
}
