package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/buy"
	"ferrule/render/canvas"
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
	"Before the series: crimp and pull one sample, write its newtons under Sample. After it: another one under Last. Both fall short: check die, strip length and strands.",
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
	t := table{ruled: true, heads: []string{"Terminal, barrel", "Crimps", "Sample, N", "Last, N", "Die", "Date", "By"}}
	total, wires := 0, ""
	for _, l := range lines {
		if head := l.Wires + ": " + pullText(l); head != wires {
			wires = head
			t.rows = append(t.rows, row{span: true, shaded: true, keep: true, cells: []cell{sayBold(head)}})
		}
		t.rows = append(t.rows, crimpLogRow(l))
		total += l.Count
	}
	for _, note := range crimpNotes {
		t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	}
	paper := s.bench().sheaf(crimpCaution)
	parts := flow{boxAt: paper.boxes(1)}.place(t.lay(paper.width()))
	return s.tablePages("crimps", "Crimp log", fmt.Sprintf("%d crimps of %d sorts", total, len(lines)), crimpCaution, paper, parts)
}

func crimpLogRow(l *buy.CrimpLine) row {
	item := l.Item
	if item == "" {
		item = "not stated"
	}
	return row{
		group: canvas.Group{Kind: "crimp", Ref: l.Wires + " " + l.Item},
		cells: []cell{
			{{text: item, bold: l.Item != ""}, {text: fewOf(l.At)}}, say(strconv.Itoa(l.Count)), room(12), room(12), room(16), room(14), room(8),
		},
	}
}

// room is an empty cell as wide as so many spaces, for a pen.
func room(spaces int) cell { return say(strings.Repeat(" ", spaces)) }

// fewOf names what something is for: the first few, and how many more.
func fewOf(names []string) string {
	if len(names) <= mostUsers {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:mostUsers-1], ", "), len(names)-mostUsers+1)
}

// PoundsOf turns newtons into pounds-force, as pull testers show them.
func PoundsOf(newtons float64) float64 { return newtons / 4.4482216152605 }

// pullText words the least pull of a crimp.
func pullText(l *buy.CrimpLine) string {
	if l.Newtons == 0 {
		return "least pull not in the table"
	}
	text := fmt.Sprintf("least pull %.0f N%s, %.0f lbf", math.Ceil(l.Newtons-0.05), guessMark(!l.Source.Verified), PoundsOf(l.Newtons))
	if strings.Contains(l.Wires, "+") {
		text += ", for " + l.Thinnest.String()
	}
	return text
}
