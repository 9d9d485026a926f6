package list

import (
	"strconv"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "continuity", Title: "Continuity", Order: 410, Sheet: "continuity",
	Doc: "every cavity and terminal with the points that must ring to it, the ohms from the point that its net is measured from, and what must not ring",
	Columns: []Column{
		text("terminal"), text("owner"), text("owner_title"), text("net"), text("empty"), text("must_ring"), text("buried"), text("measured_from"),
		number("expected_ohm"), text("estimated"), number("most_ohm"), text("must_not_ring"), text("must_ring_ground"), text("must_not_ring_ground"),
		text("must_not_ring_supply"), text("reads_through"), number("read_ohm"),
	},
	Rows: continuityRows,
})

func continuityRows(s *sheet.Set) [][]string {
	c := s.Proofs().Continuity()
	lines := map[model.PinID]*prove.Line{}
	each := func(do func(g *prove.Group, r *prove.Cavity)) {
		for i := range c.Groups {
			for j := range c.Groups[i].Rows {
				do(&c.Groups[i], &c.Groups[i].Rows[j])
			}
		}
	}
	each(func(_ *prove.Group, r *prove.Cavity) {
		for i := range r.Lines {
			lines[r.Lines[i].To] = &r.Lines[i]
		}
	})
	var rows [][]string
	each(func(g *prove.Group, r *prove.Cavity) {
		from, expected, marked, most := "", "", "", ""
		if l := lines[r.Pin]; l != nil && r.Base != r.Pin {
			from = s.Netlist.Pin(r.Base).String()
			if l.Known {
				expected, marked, most = fixed(l.Ohms, 4), yes(l.Marked), fixed(l.Most(), 2)
			}
		}
		var through []string
		for _, x := range r.Through {
			through = append(through, s.Netlist.Pin(x.To).String()+" "+fixed(x.Ohms, 1))
		}
		rows = append(rows, []string{
			s.Netlist.Pin(r.Pin).String(), g.Owner.Name.Text, g.Owner.Title(), netName(s, r.Net), yes(r.Empty), pins(s, r.Rings), pins(s, r.Buried), from,
			expected, marked, most, pins(s, r.Not), yes(r.Ground), yes(r.NotGround && !r.Empty), yes(r.NotSupply && !r.Empty), strings.Join(through, ", "), "",
		})
	})
	return rows
}

func netName(s *sheet.Set, n *graph.Net) string { return s.NetName(n) }

func pins(s *sheet.Set, ids []model.PinID) string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = s.Netlist.Pin(id).String()
	}
	return strings.Join(names, " ")
}

var _ = register(&List{
	Name: "insulation", Title: "Insulation", Order: 420, Sheet: "insulation",
	Doc:     "every net that is tested for insulation, where the probe goes, and against what",
	Columns: []Column{text("net"), text("group"), text("probe_at"), text("to_ground"), text("to_supply"), text("to_cable_partners"), number("most_V"), number("least_ohm"), number("read_ohm")},
	Rows:    insulationRows,
})

func insulationRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, g := range s.Proofs().Insulation().Groups {
		for _, n := range g.Nets {
			rows = append(rows, []string{netName(s, n.Net), g.Title, s.Netlist.Pin(n.At).String(), yes(n.ToGround), yes(n.ToSupply), pins(s, n.Partners),
				plain(prove.InsulationVolts), strconv.FormatFloat(prove.InsulationOhms, 'f', 0, 64), ""})
		}
	}
	return rows
}
