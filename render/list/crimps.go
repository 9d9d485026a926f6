package list

import (
	"strings"

	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "crimps", Title: "Crimp log", Order: 290, Sheet: "crimps",
	Doc: "every sort of crimp with its number and the least pull of UL 486A-486B for its thinnest wire",
	Columns: []Column{
		text("wires"), text("terminal"), number("crimps"), number("least_pull_N"), number("least_pull_lbf"), text("pull_from"), text("at"), text("sample_N"), text("last_N"),
		text("die"), text("date"), text("by"),
	},
	Rows: crimpLogRows,
})

func crimpLogRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, l := range s.CrimpLog() {
		rows = append(rows, []string{
			l.Wires, l.Item, plain(float64(l.Count)), fixed(l.Newtons, 1), fixed(sheet.PoundsOf(l.Newtons), 1), l.Source.Title, strings.Join(l.At, " "), "", "", "", "", "",
		})
	}
	return rows
}
