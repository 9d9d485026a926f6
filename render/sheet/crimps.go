package sheet

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/buy"
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "crimps", Title: "Crimp log", Order: 430,
	Doc: "Every sort of crimp, the same wires in the same terminal, with how many there are and the least pull of the published table, and room for " +
		"the sample pulls, the die, the date and who made them. Splices are crimps too.",
	Plan: planCrimps,
})

const crimpCaution = "A sample is pulled to destruction at the bench and never goes into the vehicle: eyes protected, hands off the line of pull. The die by the " +
	"sheet of the terminal; a new sample after each change of die, terminal or wire. Battery rings by a hydraulic or hex die, not by solder alone."

// crimpNotes say how the log is to be read.
var crimpNotes = []string{
	"Least pull: UL 486A-486B, copper, held for one minute (from a reprint); each wire of a crimp has to hold it, and of wires of two sizes that of the thinner " +
		"one is printed. A good crimp holds well above it. The sheet of the terminal goes before the table.",
	"~ the table has AWG sizes only: interpolated by area between two of them. Where there is none: the table has no such size, or the wire is not copper; ask for it in the " +
		"sheet of the terminal.",
	"Wires stand on the first row of theirs. Before the series: crimp and pull one sample, write its newtons under Sample. After it: another one under Last. Both fall short: check die, strip length and strands.",
}

// CrimpLog returns the sorts of crimps, worked out when the first asks, and once.
func (s *Set) CrimpLog() []*buy.CrimpLine {
	if s.crimps == nil {
		s.crimps = sync.OnceValue(func() []*buy.CrimpLine { return buy.CrimpLog(buy.Input{Netlist: s.Netlist, Routes: s.Routes}) })
	}
	return s.crimps()
}

func planCrimps(s *Set) []*Page {
	lines := s.CrimpLog()
	if len(lines) == 0 {
		return nil
	}
	t := table{ruled: true, heads: []string{"Wires", "Terminal, barrel", "Crimps", "Least pull", "Sample, N", "Last, N", "Die", "Date", "By"}}
	total, wires := 0, ""
	for _, l := range lines {
		t.rows = append(t.rows, crimpLogRow(l, l.Wires != wires))
		total, wires = total+l.Count, l.Wires
	}
	for _, note := range crimpNotes {
		t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	}
	paper := s.bench().sheaf(crimpCaution)
	parts := flow{boxAt: paper.boxes(1)}.place(t.lay(paper.width()))
	return s.tablePages("crimps", "Crimp log", fmt.Sprintf("%d crimps of %d sorts", total, len(lines)), crimpCaution, paper, parts)
}

// crimpLogRow has two lines, so that a pen has room; the wires stand on the first row of theirs, under a heavy rule.
func crimpLogRow(l *buy.CrimpLine, first bool) row {
	item, wires := cmp.Or(l.Item, "not stated"), ""
	if first {
		wires = l.Wires
	}
	return row{
		group: canvas.Group{Kind: "crimp", Ref: l.Wires + " " + l.Item}, ruled: first,
		cells: []cell{
			sayBold(wires), {{text: item, bold: l.Item != ""}, {text: fewOf(l.At)}}, say(strconv.Itoa(l.Count)), say(pullText(l)), room(14), room(14), room(15), room(14), room(9),
		},
	}
}

// room is an empty cell of a width in millimetres, for a pen.
func room(mm geom.Length) cell { return cell{{blank: mm * geom.MM}} }

// fewOf names what something is for: the first few, and how many more.
func fewOf(names []string) string {
	if len(names) <= mostUsers {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:mostUsers-1], ", "), len(names)-mostUsers+1)
}

// PoundsOf turns newtons into pounds-force, as pull testers show them.
func PoundsOf(newtons float64) float64 { return newtons / 4.4482216152605 }

// pullText words the least pull of a crimp: newtons, and below them pounds-force.
func pullText(l *buy.CrimpLine) string {
	if l.Newtons == 0 {
		return "not in the table"
	}
	return fmt.Sprintf("%.0f N%s\n%.0f lbf", math.Ceil(l.Newtons-0.05), guessMark(!l.Source.Verified), PoundsOf(l.Newtons))
}
