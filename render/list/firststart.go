package list

import (
	"strconv"

	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "first-start", Title: "First start", Order: 445, Sheet: "first-start",
	Doc:     "every line of the card for the first start, in its order, with what to expect; nothing where the harness starts no engine",
	Columns: []Column{number("line"), text("part"), text("pin"), text("do"), text("expect"), text("read")},
	Rows: func(s *sheet.Set) [][]string {
		var rows [][]string
		for i, l := range s.StartLines() {
			rows = append(rows, []string{strconv.Itoa(i + 1), l.Part, l.Pin, l.Do, l.Expect, ""})
		}
		return rows
	},
})
