package list

import (
	"cmp"
	"strings"

	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "studs", Title: "Studs", Order: 250, Sheet: "ground",
	Doc: "every ring of every ground point, stud and bus bar, from the metal up",
	Columns: []Column{
		text("stud"), text("title"), text("kind"), text("body"), text("place"), text("thread"), number("stack"), text("lug"), text("ring"), text("wires"), text("sizes"),
		number("area_mm2"), text("comes_from"), text("torque_Nm"), text("checked"),
	},
	Rows: studRows,
})

func studRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, r := range s.Rings() {
		body, thread, stack := "", "", ""
		if r.Stud.Body != nil {
			body = cmp.Or(r.Stud.Body.Title.Text, r.Stud.Body.Name.Text)
		}
		if v := r.Stud.Value("thread"); v != nil {
			thread = v.Word.Text
		}
		if r.Stack > 0 {
			stack = plain(float64(r.Stack))
		}
		var sizes, from []string
		for _, w := range r.Wires {
			sizes = append(sizes, w.Size.String())
			from = append(from, s.FarEnd(w, r.Pin.ID).Ref)
		}
		rows = append(rows, []string{
			r.Stud.Name.Text, r.Stud.Title.Text, r.Stud.Kind.Name, body, placeOf(r.Stud.Owner), thread, stack, r.Pin.String(), r.Name, wireNames(r.Wires),
			strings.Join(sizes, ", "), fixed(r.Area, 2), strings.Join(from, " "), "", "",
		})
	}
	return rows
}
