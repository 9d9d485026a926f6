package list

import (
	"strconv"
	"strings"

	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "panels", Title: "Panel space", Order: 120, Sheet: "space",
	Doc: "every panel with its inside, the area of what sits in it and of the wires that feed it, how full it is, and a line for each way in",
	Columns: []Column{
		text("panel"), text("title"), number("inside_width_mm"), number("inside_height_mm"), number("modules_mm2"), number("wires_mm2"),
		number("fill_percent"), number("least_width_mm"), number("least_height_mm"), text("not_counted"), text("spare"), number("positions"),
		number("empty_positions"), text("entry"), number("entry_wires"), number("entry_mm"), number("entry_hole_mm"),
	},
	Rows: panelRows,
})

func panelRows(s *sheet.Set) [][]string {
	var rows [][]string
	spaces := s.Spaces()
	for i := range spaces {
		p := &spaces[i]
		var unmeasured, spare []string
		for _, part := range p.Unmeasured {
			unmeasured = append(unmeasured, part.Name.Text)
		}
		for _, part := range p.Spare {
			spare = append(spare, part.Name.Text)
		}
		width, height := p.LeastInside()
		about := []string{
			p.Panel.Name.Text, p.Panel.Title.Text, fixed(p.Panel.Inside.Width*1000, 1), fixed(p.Panel.Inside.Height*1000, 1), fixed(p.ModuleMM2, 0),
			fixed(p.WireMM2, 0), fixed(100*p.Fill(), 0), fixed(width, 0), fixed(height, 0), strings.Join(unmeasured, " "), strings.Join(spare, " "),
			known(p.Positions > 0, float64(p.Positions), 0), known(p.Empty >= 0, float64(p.Empty), 0),
		}
		if len(p.Entries) == 0 {
			rows = append(rows, append(about, "", "", "", ""))
		}
		for _, e := range p.Entries {
			way := "not known"
			switch {
			case e.Path != nil:
				way = e.Path.Name.Text
			case e.Known:
				way = "from beside"
			}
			row := append([]string{}, about...)
			rows = append(rows, append(row, way, strconv.Itoa(len(e.Wires)), fixed(e.ThickMM, 1), fixed(e.HoleMM, 1)))
		}
	}
	return rows
}
