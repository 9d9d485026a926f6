package list

import (
	"strings"

	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "fuses", Title: "Fuses", Order: 40, Sheet: "panel",
	Doc: "every fuse, breaker and fusible link",
	Columns: []Column{
		text("fuse"), text("title"), text("kind"), number("rating_A"), text("family"), text("panel"),
		text("place"), text("spare"), text("wires_1"), text("wires_2"),
	},
	Rows: fuseRows,
})

// fuseRows lists everything that protects: fuses, breakers, fusible links, with the wires at both sides.
func fuseRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, p := range byName(s.Netlist.Parts, func(p *model.Part) string { return p.Name.Text }) {
		if len(p.Inside.Protects) == 0 {
			continue
		}
		rating, family, panel := "", "", ""
		if v := p.Value("rating"); v != nil {
			rating = plain(v.Quantity.Value)
		}
		if v := p.Value("family"); v != nil {
			family = v.Word.Text
		}
		if p.Panel != nil {
			panel = p.Panel.Name.Text
		}
		row := []string{
			p.Name.Text, p.Title.Text, p.Kind.Name, rating, family, panel, placeOf(p.Owner), yes(p.Spare.On), "", "",
		}
		for i, id := range p.Owner.Pins {
			if i < 2 {
				row[len(row)-2+i] = wireNames(s.WiresAt(id))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func wireNames(wires []*model.Wire) string {
	names := make([]string, len(wires))
	for i, w := range wires {
		names[i] = w.Name.Text
	}
	return strings.Join(names, " ")
}
