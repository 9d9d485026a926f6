package list

import (
	"strconv"

	"ferrule/render/label"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "labels", Title: "Labels", Order: 130, Sheet: "labels",
	Doc: "every label in the order in which it is printed: two for each wire that is cut, in cut order, then connectors, fuses and relays, rings",
	Columns: []Column{
		number("number"), text("kind"), text("label"), text("end"), text("line_1"), text("line_2"), text("line_2_short"), number("around_mm"),
	},
	Rows: func(s *sheet.Set) [][]string {
		var rows [][]string
		for i, l := range label.Of(s) {
			rows = append(rows, []string{strconv.Itoa(i + 1), l.Kind.String(), l.Ref, l.End, l.First(), l.Second, l.Short, fixed(l.RoundMM, 1)})
		}
		return rows
	},
})
