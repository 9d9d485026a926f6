package list

import (
	"strconv"

	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "connectors", Title: "Connectors", Order: 30, Sheet: "pinout",
	Doc: "every connector, with the number of plugs that empty cavities of a sealed one need",
	Columns: []Column{
		text("connector"), text("title"), text("plug_of"), text("mates"), number("cavities"), number("wired"),
		number("plugs_needed"), text("sealed"), text("contacts"), text("view"), text("latch"), text("place"),
		text("note"),
	},
	Rows: connectorRows,
})

func connectorRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, c := range byName(s.Netlist.Connectors, func(c *model.Connector) string { return c.Name.Text }) {
		wired, plugs, of, mates := 0, 0, "", ""
		for _, id := range c.Owner.Pins {
			if len(s.WiresAt(id)) > 0 {
				wired++
			} else if c.Sealed.On {
				plugs++
			}
		}
		if c.Part != nil {
			of = c.Part.Name.Text
		}
		if c.Mate != nil {
			mates = c.Mate.Name.Text
		}
		rows = append(rows, []string{
			c.Name.Text, c.Title.Text, of, mates, strconv.Itoa(len(c.Owner.Pins)), strconv.Itoa(wired), strconv.Itoa(plugs),
			yes(c.Sealed.On), c.Contacts.Text, c.View.Text, c.Latch.Text, placeOf(c.Owner), c.Note.Text,
		})
	}
	return rows
}
