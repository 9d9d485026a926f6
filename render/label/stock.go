package label

import (
	"ferrule/netlist/model"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Stock is what labels are printed on, at true size. A tape has neither columns nor rows: its Paper is as high as the tape
// and as long as what is printed on it.
type Stock struct {
	Name          string // "" for the usual tape: the file is labels.pdf
	Paper         geom.Point
	Columns, Rows int
	Size, Pitch   geom.Point // of a tape the longest label and its width
	Left, Top     geom.Length
	Largest       float64 // lettering in points
}

// Tape reports whether the stock is a continuous tape.
func (s *Stock) Tape() bool { return s.Columns == 0 }

// Lettering lies between these, in points (common practice: 6 to 8 pt).
const (
	leastPoints = 6.0
	mostPoints  = 8.0
	pointStep   = 0.5
)

// usualLongest is the longest label that is cut from a tape: longer ones stand off the loom.
const usualLongest = 60 * geom.MM

// usualTape is the width of tape that is taken where none is stated.
const usualTape = 12 * geom.MM

// Stocks are what the labels of a netlist are printed on: its own tables, and where it has none of a sort the usual ones, a tape
// of 12 mm and sheets of 4 x 16 labels on A4 and 4 x 20 on Letter. The first is a tape.
func Stocks(n *model.Netlist) []Stock {
	var tapes, sheets []Stock
	for _, l := range n.Labels {
		if l.Tape.IsSet() {
			tapes = append(tapes, tapeOf(l))
		} else {
			sheets = append(sheets, sheetOf(l))
		}
	}
	if len(tapes) == 0 {
		tapes = []Stock{tape("", usualTape, usualLongest, mostPoints)}
	}
	tapes[0].Name = ""
	if len(sheets) == 0 {
		sheets = usualSheets()
	}
	return append(tapes, sheets...)
}

// Assigned returns which labels are printed on each of the stocks: on a sheet all of them, and of several tapes on the narrowest that
// reaches round and holds the text, or else on the first, as a flag.
func Assigned(labels []Label, stocks []Stock) [][]Label {
	of := make([][]Label, len(stocks))
	for i := range stocks {
		if !stocks[i].Tape() {
			of[i] = labels
		}
	}
	for _, l := range labels {
		if i := tapeFor(l, stocks); i >= 0 {
			of[i] = append(of[i], l)
		}
	}
	return of
}

// tapeFor is the index of the tape that a label is printed on; -1 where there is none.
func tapeFor(l Label, stocks []Stock) int {
	first, best := -1, -1
	for i := range stocks {
		s := &stocks[i]
		if !s.Tape() {
			continue
		}
		if first < 0 {
			first = i
		}
		reaches := geom.Mm(l.RoundMM) <= s.Size.Y && fit(l, s.Size, s.Largest).lost == nothing
		if reaches && (best < 0 || s.Size.Y < stocks[best].Size.Y) {
			best = i
		}
	}
	if best < 0 {
		return first
	}
	return best
}

// usualSheets are common sizes of labels: 64 on A4 and 80 on Letter (common practice).
func usualSheets() []Stock {
	return []Stock{
		{Name: "a4", Paper: geom.Pt(210*geom.MM, 297*geom.MM), Columns: 4, Rows: 16, Size: geom.Pt(geom.Mm(45.7), geom.Mm(16.9)),
			Pitch: geom.Pt(geom.Mm(48.3), geom.Mm(16.9)), Left: geom.Mm(9.7), Top: geom.Mm(13.3), Largest: mostPoints},
		{Name: "letter", Paper: geom.Pt(geom.Inches(8.5), geom.Inches(11)), Columns: 4, Rows: 20, Size: geom.Pt(geom.Inches(1.75), geom.Inches(0.5)),
			Pitch: geom.Pt(geom.Inches(2.05), geom.Inches(0.5)), Left: geom.Inches(0.3), Top: geom.Inches(0.5), Largest: mostPoints},
	}
}

func tape(name string, width, longest geom.Length, largest float64) Stock {
	return Stock{Name: name, Size: geom.Pt(longest, width), Largest: largest}
}

func tapeOf(l *model.LabelStock) Stock {
	longest := usualLongest
	if l.Longest.IsSet() {
		longest = metres(l.Longest.Value)
	}
	return tape(l.Name.Text, metres(l.Tape.Value), longest, points(l.Text.Text))
}

func sheetOf(l *model.LabelStock) Stock {
	s := Stock{
		Name: l.Name.Text, Columns: l.Columns.Number, Rows: l.Rows.Number, Largest: points(l.Text.Text),
		Size: geom.Pt(metres(l.Size.Width), metres(l.Size.Height)), Pitch: geom.Pt(metres(l.Pitch.Width), metres(l.Pitch.Height)),
		Left: metres(l.Left.Value), Top: metres(l.Top.Value),
	}
	for _, p := range model.LabelPapers {
		if p.Name == l.Paper.Text {
			s.Paper = geom.Pt(metres(p.Width), metres(p.Height))
		}
	}
	return s
}

func metres(m float64) geom.Length { return geom.Mm(m * 1000) }

// points reads the word for the largest lettering.
func points(word string) float64 {
	switch word {
	case "7 pt":
		return 7
	case "6 pt":
		return 6
	}
	return mostPoints
}

// pointMM is a printer's point, 1/72 inch, in millimetres.
const pointMM = 25.4 / 72

// capHeight is the height of a capital, by which lettering is set, in lettering of so many points.
func capHeight(points float64) geom.Length {
	const probe = 100 * geom.MM
	return geom.Mm(points * pointMM * probe.Mm() / font.EmSize(font.Regular, probe).Mm())
}

// linePitch is from line to line: a fifth more than the lettering.
func linePitch(points float64) geom.Length { return geom.Mm(points * pointMM * 1.2) }
