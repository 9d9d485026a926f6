package list

import (
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "pins", Title: "Terminals", Order: 20, Sheet: "pinout",
	Doc: "every wire at a terminal, and each terminal without wire",
	Columns: []Column{
		text("terminal"), text("owner"), text("owner_title"), text("function"), text("role"), text("net"),
		text("wire"), text("size"), text("color"), text("goes_to"), text("goes_to_title"), text("through"),
		text("empty"), text("expect"),
	},
	Rows: pinRows,
})

// pinRows lists every terminal of every connector, part, splice and panel, once for each wire that ends there.
func pinRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, o := range byName(s.Netlist.Owners, func(o *model.Owner) string { return o.Name.Text }) {
		for _, id := range o.Pins {
			pin := s.Netlist.Pin(id)
			about := []string{pin.String(), o.Name.Text, o.Title(), s.Function(id), string(pin.Role), s.NetName(s.Graph.NetOf(id))}
			wires := s.WiresAt(id)
			if len(wires) == 0 && o.Sort != model.BodyOwner {
				rows = append(rows, append(slices.Clone(about), "", "", "", "", "", "", s.Vacancy(id), pin.Expect.Text))
			}
			for _, w := range wires {
				end := s.FarEnd(w, id)
				rows = append(rows, append(slices.Clone(about),
					w.Name.Text, w.Size.String(), sheet.ColorText(w), end.Ref, end.Title, through(s, end), "", pin.Expect.Text))
			}
		}
	}
	return rows
}

func through(s *sheet.Set, end sheet.FarEnd) string {
	var cavities []string
	for _, id := range end.Through {
		cavities = append(cavities, s.Netlist.Pin(id).String())
	}
	return strings.Join(cavities, " ")
}
