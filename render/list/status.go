package list

import (
	"strconv"
	"strings"

	"ferrule/netlist/built"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "status", Title: "How far the wires are", Order: 45, Sheet: "wires",
	Doc: "every wire, and every one that is made and no longer in the netlist, with its stage and the next one, what was made at which " +
		"revision, what the netlist says now, and what to do where the two differ",
	Columns: []Column{
		text("wire"), text("stage"), text("next"), text("revision"), text("built_size"), text("built_color"), number("built_length_m"), text("built_from"), text("built_to"),
		text("size"), text("color"), number("length_m"), text("from"), text("to"), text("older"), text("do"),
	},
	Rows: statusRows,
})

func statusRows(s *sheet.Set) [][]string {
	status := s.AsBuilt()
	older := map[*built.Record]built.Older{}
	for _, o := range status.Older() {
		older[o.Record] = o
	}
	var rows [][]string
	for _, w := range byName(s.Netlist.Wires, func(w *model.Wire) string { return w.Name.Text }) {
		r := status.Record(w.Name.Text)
		now := status.Harness.Of(w)
		cells := append(pieceCells(r, status.Stage(w)), now.Size.String(), now.Color, metresOf(now.Length), now.From, now.To, "", "")
		cells[0] = w.Name.Text
		o, isOlder := older[r]
		if next, open := status.Next(w); open && !isOlder {
			cells[2] = next.String()
		}
		if isOlder {
			var what []string
			for _, d := range o.Differences {
				what = append(what, d.What)
			}
			cells[14], cells[15] = strings.Join(what, " "), o.Do()
		}
		rows = append(rows, cells)
	}
	for _, r := range status.Removed() {
		rows = append(rows, append(pieceCells(r, r.Stage), "", "", "", "", "", "removed", r.PutAway()))
	}
	return rows
}

// pieceCells are the columns of what was made; r is nil for nothing.
func pieceCells(r *built.Record, stage built.Stage) []string {
	if r == nil {
		return []string{"", stage.String(), "", "", "", "", "", "", ""}
	}
	return []string{r.Name.Text, stage.String(), "", r.Revision.Text, r.Made.Size.String(), r.Made.Color, metresOf(r.Made.Length), r.Made.From, r.Made.To}
}

func metresOf(m unit.Metre) string {
	if m == 0 {
		return ""
	}
	return strconv.FormatFloat(float64(m), 'f', 3, 64)
}
