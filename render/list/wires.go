package list

import (
	"strconv"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "wires", Title: "Wires", Order: 10, Sheet: "wires",
	Doc: "every wire with its ends, in the order of its number; the length is as written or the way along the paths",
	Columns: []Column{
		text("wire"), text("size"), number("area_mm2"), text("color"), number("length_m"), text("from"),
		text("from_title"), text("to"), text("to_title"), text("net"), text("system"), text("cable"),
		text("supplied"), text("sheathed"), text("note"),
	},
	Rows: wireRows,
})

func wireRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, w := range byName(s.Netlist.Wires, func(w *model.Wire) string { return w.Name.Text }) {
		area, length, cable := "", "", ""
		if w.Size.IsSet() {
			copper, _ := conductor.AreaMM2(w.Size, s.Netlist.Harness.Cable) // vehicle cable may hold less than its name says
			area = strconv.FormatFloat(copper, 'f', 3, 64)
		}
		if l, ok := s.Routes.Length(w); ok {
			length = strconv.FormatFloat(float64(l), 'f', 3, 64)
		}
		if w.Cable != nil {
			cable = w.Cable.Name.Text
		}
		from, fromTitle := endOf(s, w.From)
		to, toTitle := endOf(s, w.To)
		rows = append(rows, []string{
			w.Name.Text, w.Size.String(), area, sheet.ColorText(w), length, from, fromTitle, to, toTitle, s.NetOf(w),
			s.SystemTitle(w), cable, yes(w.Supplied.On), yes(w.Sheathed.On), w.Note.Text,
		})
	}
	return rows
}

// endOf returns a wire's end and the title of what it is at.
func endOf(s *sheet.Set, ref model.PinRef) (end, title string) {
	if ref.ID == model.NoPin || !ref.IsSet() {
		return ref.Text, ""
	}
	pin := s.Netlist.Pin(ref.ID)
	return pin.String(), pin.Owner.Title()
}
