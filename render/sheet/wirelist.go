package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/canvas"
	"ferrule/render/font"
)

var _ = register(&Maker{
	Name: "wires", Title: "Wire list", Order: 400,
	Doc: "Every wire of the netlist in natural order of its number: size, colour with a drawn sample, length, both ends with " +
		"the devices they are at, net, system, cable, and whether it comes with a device and is not cut.",
	Plan: planWires,
})

const wireCaution = "Lengths are aids: measure on the vehicle before cutting, and leave slack at both ends. Every conductor is fused at its source end."

func planWires(s *Set) []*Page {
	wires := s.wiresInOrder()
	if len(wires) == 0 {
		return nil
	}
	t := table{heads: []string{"Wire", "Size", "Colour", "Length", "From", "To", "Net", "System", "Remarks"}}
	if s.Built != nil {
		t.heads = append(t.heads, "Status")
	}
	for _, w := range wires {
		r := s.wireRow(w)
		if s.Built != nil {
			r.cells = append(r.cells, s.statusCell(w))
		}
		t.rows = append(t.rows, r)
	}
	return s.listPages("wires", "Wire list", wireCaution, s.paperForWords(t.without(8)), t.without(8), func(first, last int) string {
		return counting("wires", first+1, last+1, len(wires))
	})
}

// wiresInOrder returns the wires in natural order of their numbers.
func (s *Set) wiresInOrder() []*model.Wire {
	wires := slices.Clone(s.Netlist.Wires)
	slices.SortStableFunc(wires, func(a, b *model.Wire) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	return wires
}

func (s *Set) wireRow(w *model.Wire) row {
	var remarks cell
	if w.Cable != nil {
		remarks = append(remarks, piece{text: strings.TrimSpace(w.Cable.Name.Text + " " + w.Cable.Kind.Text + screenText(w.Cable))})
	}
	for _, text := range []string{MarksOf(w), w.Note.Text} {
		if text != "" {
			remarks = append(remarks, piece{text: text})
		}
	}
	return row{
		group: canvas.Group{Kind: "wire", Ref: w.Name.Text},
		cells: []cell{
			sayBold(w.Name.Text),
			say(sizeText(w)),
			{{text: cmp.Or(ColorText(w), "not stated"), color: w.Color}},
			say(s.LengthText(w)),
			{s.endPiece(w.From)},
			{s.endPiece(w.To)},
			say(s.NetOf(w)),
			say(s.SystemTitle(w)),
			remarks,
		},
	}
}

// statusCell is how far a wire is by the status file, and at which revision; bold where the netlist has been changed since.
func (s *Set) statusCell(w *model.Wire) cell {
	p := piece{text: s.Built.Stage(w).String()}
	if r := s.Built.Record(w.Name.Text); r != nil && r.Revision.IsSet() {
		p.text += ", rev. " + r.Revision.Text
	}
	for _, older := range s.Built.Older() {
		if older.Wire == w {
			p.text, p.bold = p.text+", older than the netlist", true
		}
	}
	return cell{p}
}

// LengthText returns the length of a wire as a bench reads it, or "not known".
func (s *Set) LengthText(w *model.Wire) string {
	if length, ok := s.Routes.Length(w); ok {
		return length.String()
	}
	return "not known"
}

// NetOf returns the name of the net that a wire is on: derived where one of its ends is a terminal, else as written.
func (s *Set) NetOf(w *model.Wire) string {
	for _, ref := range []model.PinRef{w.From, w.To} {
		if ref.ID != model.NoPin {
			return s.NetName(s.Graph.NetOf(ref.ID))
		}
	}
	return w.Net.Text
}

// endPiece words one end of a wire, and links to the sheet that shows the terminal.
func (s *Set) endPiece(ref model.PinRef) piece {
	switch {
	case !ref.IsSet():
		return piece{text: "not stated"}
	case ref.ID == model.NoPin:
		return piece{text: ref.Text + " (no such terminal)"}
	}
	pin := s.Netlist.Pin(ref.ID)
	return piece{
		text: strings.TrimSpace(pin.String() + " " + pin.Owner.Title()),
		link: Shown{pin.Owner.Sort.String(), pin.Owner.Name.Text},
	}
}

// listPages plans a table of one column that goes on over as many pages as it needs. about words which of its rows a
// page holds, counted from 0.
func (s *Set) listPages(name, title, caution string, paper Paper, t table, about func(first, last int) string) []*Page {
	f := paper.sheaf(caution)
	t.height = font.MinHeight
	parts := flow{boxAt: f.boxes(1)}.place(t.lay(f.width()))
	var pages []*Page
	for i := range pagesOf(parts) {
		on := onPage(parts, i)
		last := len(t.rows) - 1
		if i+1 < pagesOf(parts) {
			last = onPage(parts, i+1)[0].first - 1
		}
		rows := about(on[0].first, max(on[0].first, last))
		page := &Page{
			Name: continuedName(name, i+1), Title: title + ", " + rows, Paper: f.paper(i), Caution: caution,
			Draw: func(c canvas.Canvas) {
				f.heading(c, i, title, rows, false)
				s.drawParts(c, on)
			},
		}
		for _, p := range on {
			for _, r := range p.rows {
				page.Shows = append(page.Shows, Shown{r.row.group.Kind, r.row.group.Ref})
			}
		}
		pages = append(pages, page)
	}
	return pages
}

// counting words a range of numbers: "wires 1-40 of 232".
func counting(noun string, first, last, total int) string {
	if first == last {
		return fmt.Sprintf("%s %d of %d", noun, first, total)
	}
	return fmt.Sprintf("%s %d-%d of %d", noun, first, last, total)
}

// screenText says where the screen of a cable is tied, for whoever makes up its ends.
func screenText(c *model.Cable) string {
	var ties []string
	for _, r := range c.Screen {
		ties = append(ties, r.Text)
	}
	if len(ties) == 0 {
		return ""
	}
	return ", screen to " + strings.Join(ties, ", ")
}
