package list

import (
	"strconv"

	"ferrule/netlist/built"
	"ferrule/netlist/cut"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "cut", Title: "Pieces to cut", Order: 200, Sheet: "cut",
	Doc: "every wire that is cut, in the order of the bench: size, colour, longest first; the last four columns are boxes to tick, with an x where the status file says so",
	Columns: []Column{
		number("number"), number("reel"), text("wire"), text("size"), number("area_mm2"), text("color"), number("cut_mm"), text("guessed"),
		text("end_a"), text("terminal_a"), text("seal_a"), number("strip_a_mm"), text("shares_a"), text("label_a"),
		text("end_b"), text("terminal_b"), text("seal_b"), number("strip_b_mm"), text("shares_b"), text("label_b"),
		text("cable"), text("cable_kind"), text("cut_with"), number("running_m"),
		text("cut"), text("label"), text("crimp"), text("pull"), // as ferrule mark --from reads them back
	},
	Rows: cutRows,
})

func cutRows(s *sheet.Set) [][]string {
	var rows [][]string
	status := s.AsBuilt()
	for _, p := range s.Cut().Pieces {
		row := []string{
			strconv.Itoa(p.Number), strconv.Itoa(p.Reel.Number), p.Wire.Name.Text, p.Wire.Size.String(), areaOf(s, p.Wire),
			sheet.ColorText(p.Wire), cutLength(p), yes(p.Guessed),
		}
		for i := range p.Ends {
			row = append(row, endCells(&p.Ends[i])...)
		}
		cable, kind, with, running := "", "", "", decimals(float64(p.Running), 3)
		if g := p.Group; g != nil {
			cable, kind = g.Cable.Name.Text, g.Cable.Kind.Text
			if !p.Leads() {
				with, running = g.Lead().Wire.Name.Text, ""
			}
		}
		stage := status.Stage(p.Wire)
		rows = append(rows, append(row, cable, kind, with, running, tick(stage >= built.Cut), "", tick(stage >= built.Crimped), ""))
	}
	return rows
}

// tick fills a box.
func tick(on bool) string {
	if on {
		return "x"
	}
	return ""
}

// endCells are the terminal, its crimp, seal, strip length, what shares it, and the label of an end.
func endCells(e *cut.End) []string {
	crimp := sheet.EndTerminal(e)
	if crimp == notStated {
		crimp = ""
	}
	strip := ""
	if e.Strip > 0 {
		strip = decimals(float64(e.Strip)*1000, 1)
	}
	return []string{e.Ref, crimp, sheet.EndSeal(e), strip, wireNames(e.Shares), e.Label}
}

// notStated is what the sheets say where a list has an empty cell.
const notStated = "not stated"

// cutLength is the length of a piece in mm, empty where somebody has to measure.
func cutLength(p *cut.Piece) string {
	if !p.Known {
		return ""
	}
	return sheet.MillimetreText(p.Length)
}

// areaOf is the metal of a wire in mm2, empty where its size is not stated.
func areaOf(s *sheet.Set, w *model.Wire) string {
	if area, ok := s.AreaOf(w); ok {
		return decimals(area, 3)
	}
	return ""
}

// decimals writes a number with so many decimals, nought too.
func decimals(value float64, digits int) string { return strconv.FormatFloat(value, 'f', digits, 64) }

var _ = register(&List{
	Name: "reels", Title: "Reels", Order: 210, Sheet: "cut",
	Doc: "every sort of wire, with what is cut of it and what that is with the reserve",
	Columns: []Column{
		number("reel"), text("size"), number("area_mm2"), text("color"), number("insulation_C"), text("metal"), number("strands"), text("cable"), text("cores"),
		number("cuts"), number("to_measure"), number("cut_m"), number("buy_m"), text("guessed"),
	},
	Rows: reelRows,
})

func reelRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, r := range s.Cut().Reels {
		area, strands := "", ""
		if r.AreaMM2 > 0 {
			area = decimals(r.AreaMM2, 3)
		}
		if r.Strands > 0 {
			strands = strconv.Itoa(r.Strands)
		}
		rows = append(rows, []string{
			strconv.Itoa(r.Number), r.Size.String(), area, r.ColorText, plain(float64(r.Insulation)), r.Metal, strands, r.Cable, sheet.CoresText(r),
			strconv.Itoa(r.Cuts), strconv.Itoa(r.Unknown), decimals(float64(r.Cut), 3), decimals(float64(r.Buy), 3), yes(r.Guessed),
		})
	}
	return rows
}

var _ = register(&List{
	Name: "lengths", Title: "How lengths came about", Order: 220, Sheet: "cut",
	Doc: "every wire that is cut, with the arithmetic of its length",
	Columns: []Column{
		text("wire"), number("cut_mm"), number("written_m"), number("way_m"), text("paths"), number("added_m"), number("lay_percent"), number("twist_percent"),
		number("exact_m"), number("rounded_m"), text("as_long_as"), text("guessed"), text("sum"),
	},
	Rows: lengthRows,
})

func lengthRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, w := range byName(s.Netlist.Wires, func(w *model.Wire) string { return w.Name.Text }) {
		if p := s.Cut().Piece(w); p != nil {
			rows = append(rows, lengthRow(p))
		}
	}
	return rows
}

func lengthRow(p *cut.Piece) []string {
	sum, written, setBy, paths := &p.Sum, "", "", ""
	if sum.Written {
		written = decimals(p.Wire.Length.Value, 3)
	}
	if sum.SetBy != nil {
		setBy = sum.SetBy.Wire.Name.Text
	}
	for i, path := range sum.Paths {
		if i > 0 {
			paths += " "
		}
		paths += path.Name.Text
	}
	known := func(m unit.Metre, digits int) string {
		if !sum.Reached {
			return ""
		}
		return decimals(float64(m), digits)
	}
	percent := func(share float64) string { return known(unit.Metre(share*100), 1) }
	return []string{
		p.Wire.Name.Text, cutLength(p), written, known(sum.Way, 3), paths, known(sum.Added(), 3), percent(sum.Lay), percent(sum.Twist),
		known(sum.Exact, 4), known(sum.Derived, 3), setBy, yes(p.Guessed), sum.String(),
	}
}

var _ = register(&List{
	Name: "splices", Title: "Splices", Order: 230, Sheet: "cut",
	Doc: "every leg of every splice, by the side into which it lies",
	Columns: []Column{
		text("splice"), text("title"), text("place"), text("toward"), number("distance_mm"), text("barrel"), text("sealed"), number("sum_mm2"), number("legs_without_size"),
		text("wire"), text("side"), text("size"), number("area_mm2"), text("color"), number("cut_mm"), text("supplied"),
	},
	Rows: spliceRows,
})

func spliceRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, sp := range s.Cut().Splices {
		toward, distance := "", ""
		if metres, ok := sp.Splice.Lies(); ok {
			toward, distance = sp.Splice.Toward.Name.Text, decimals(metres*1000, 0)
		}
		for _, l := range sp.Legs {
			length := ""
			if p := s.Cut().Piece(l.Wire); p != nil {
				length = cutLength(p)
			}
			rows = append(rows, []string{
				sp.Splice.Name.Text, sp.Splice.Title.Text, placeOf(sp.Splice.Owner), toward, distance, sp.Splice.Barrel.String(), yes(sp.Splice.Sealed.On),
				decimals(sp.AreaMM2, 3), strconv.Itoa(sp.Unsized),
				l.Wire.Name.Text, sheet.SideText(l.Side), l.Wire.Size.String(), areaOf(s, l.Wire), sheet.ColorText(l.Wire), length, yes(l.Wire.Supplied.On),
			})
		}
	}
	return rows
}

var _ = register(&List{
	Name: "double-crimps", Title: "Double crimps", Order: 240, Sheet: "cut",
	Doc: "every terminal that takes several wires",
	Columns: []Column{
		text("terminal"), text("wires"), text("sizes"), number("sum_mm2"), number("wires_without_size"), text("crimp"), text("written"),
	},
	Rows: crimpRows,
})

func crimpRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, c := range s.Cut().Crimps {
		sizes, crimp := "", ""
		for i, w := range c.Wires {
			if i > 0 {
				sizes += ", "
			}
			sizes += w.Size.String()
		}
		if c.Terminal != nil {
			crimp = sheet.EndTerminal(&cut.End{Terminal: c.Terminal})
		}
		rows = append(rows, []string{c.Ref, wireNames(c.Wires), sizes, decimals(c.AreaMM2, 3), strconv.Itoa(c.Unsized), crimp, yes(c.Meant)})
	}
	return rows
}
