package sheet

import (
	"fmt"
	"math"
	"strings"
	"sync"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/canvas"
	"ferrule/render/font"
)

// Proofs is what is measured to prove the harness, worked out part by part when the first asks.
type Proofs struct {
	Harness    *prove.Harness
	Continuity func() *prove.Continuity
	Insulation func() *prove.Insulation
	Power      func() *prove.Power
	Start      func() *prove.Start // nil where the harness starts no engine
	Commission func() *prove.Commission
}

// Proofs returns the proofs of the harness, of which there is one.
func (s *Set) Proofs() *Proofs {
	if s.proofs == nil {
		v := s.Solved()
		h := prove.New(v.Circuit)
		s.proofs = &Proofs{
			Harness:    h,
			Continuity: sync.OnceValue(func() *prove.Continuity { return h.Continuity(CompareNatural) }),
			Insulation: sync.OnceValue(h.Insulation),
			Power:      sync.OnceValue(h.FirstPower),
			Start:      sync.OnceValue(func() *prove.Start { return h.Start(v.Reports) }),
			Commission: sync.OnceValue(func() *prove.Commission { return h.Commission(v.Reports) }),
		}
	}
	return s.proofs
}

// pen is where something is written in; box is where something is ticked.
const (
	pen     = "______"
	tickBox = "[   ]"
)

// pointText names a terminal with the device it is at: "K8:86 Start relay". Of a stud or bar the lug does not matter.
func (s *Set) pointText(id model.PinID) string {
	return strings.TrimSpace(s.pointName(id) + " " + s.Netlist.Pin(id).Owner.Title())
}

func (s *Set) pointName(id model.PinID) string {
	pin := s.Netlist.Pin(id)
	if pin.Owner.Joined || pin.Owner.Sort == model.BodyOwner {
		return pin.Owner.Name.Text
	}
	return pin.String()
}

func (s *Set) pointNames(ids []model.PinID) string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = s.pointName(id)
	}
	return strings.Join(names, ", ")
}

// ohmsText writes a resistance as a meter for small ones shows it.
func ohmsText(ohms float64, marked bool) string {
	switch {
	case ohms < 0.01:
		return "<0.01" + guessMark(marked)
	case ohms < 10:
		return fmt.Sprintf("%.2f", ohms) + guessMark(marked)
	}
	return fmt.Sprintf("%.0f", ohms) + guessMark(marked)
}

// voltsText writes volts with one digit; a dash where nothing can be said.
func voltsText(volts float64) string {
	if math.IsNaN(volts) {
		return notComputed
	}
	return fmt.Sprintf("%.1f V", math.Abs(volts))
}

func millivolts(volts float64) string { return fmt.Sprintf("%.0f", 1000*volts) }

// setupText says what is switched and bridged: "Key switch S1: run. Jumper XA:15 to XA:1".
func (s *Set) setupText(setup *prove.Setup, short bool) string {
	var words []string
	for _, w := range setup.Switches {
		name := w.Part.Name.Text + " " + w.PositionName.Text
		if !short {
			name = strings.TrimSpace(w.Part.Title.Text+" "+w.Part.Name.Text) + ": " + w.PositionName.Text
		}
		words = append(words, name)
	}
	h := s.Proofs().Harness
	for _, j := range setup.Jumpers {
		name := "jumper " + s.pointName(j)
		if !short {
			name += " to " + s.pointName(h.JumperTo(j))
		}
		words = append(words, name)
	}
	if len(words) == 0 {
		return "all switches at rest"
	}
	return strings.Join(words, ", ")
}

func (s *Set) stateText(st *model.State) string {
	if st == nil {
		return "everything at rest"
	}
	if st.Title.IsSet() {
		return st.Title.Text
	}
	return st.Name.Text
}

func partNames(parts []*model.Part) string {
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = p.Name.Text
	}
	return strings.Join(names, ", ")
}

// titledParts names parts with their titles.
func titledParts(parts []*model.Part) string {
	names := make([]string, len(parts))
	for i, p := range parts {
		names[i] = strings.TrimSpace(p.Name.Text + " " + p.Title.Text)
	}
	return strings.Join(names, ", ")
}

// spanRow is a row of one text over the whole width.
func spanRow(text string) row { return row{span: true, cells: []cell{say(text)}} }

// headRow opens a group of rows.
func headRow(text string, group canvas.Group) row {
	return row{span: true, ruled: true, keep: true, shaded: true, cells: []cell{sayBold(text)}, group: group}
}

// tickRows are lines to be ticked, each with what is to be done.
func tickRows(texts ...string) []row {
	var rows []row
	for _, text := range texts {
		if text != "" {
			rows = append(rows, row{cells: []cell{say(tickBox), say(text)}})
		}
	}
	return rows
}

// noted puts a note below a table that has rows, and keeps it with the last of them.
func (t table) noted(text string) table {
	if n := len(t.rows); n > 0 {
		t.rows[n-1].keep = true
		t.rows = append(t.rows, spanRow(text))
	}
	return t
}

// proofPages lays tables out below one another on bench paper.
func (s *Set) proofPages(name, title, about, caution string, tables ...table) []*Page {
	paper := s.bench()
	paper.LongCaution = !paper.CautionFits(caution)
	sheaf := paper.sheaf(caution)
	var laid []*laidTable
	for _, t := range tables {
		if len(t.rows) > 0 {
			t.height = font.MinHeight
			laid = append(laid, t.lay(sheaf.width()))
		}
	}
	if len(laid) == 0 {
		return nil
	}
	parts := flow{gap: blockGap, boxAt: sheaf.boxes(1)}.place(laid...)
	pages := s.tablePages(name, title, about, caution, sheaf, parts)
	for i, p := range pages {
		for _, part := range onPage(parts, i) {
			for _, r := range part.rows {
				p.Shows = append(p.Shows, Shown{r.row.group.Kind, r.row.group.Ref})
			}
		}
	}
	return pages
}

// netWord names a net for the bench.
func (s *Set) netWord(n *graph.Net) string { return s.NetName(n) }

// measured writes a current that a meter in the supply shows.
func measured(value float64, marked bool) string {
	if value < 0.005 {
		return "0 A"
	}
	return ampsText(value, marked)
}
