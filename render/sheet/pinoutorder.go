package sheet

import (
	"ferrule/netlist/catalog"
	"ferrule/netlist/model"
)

// A pinGroup is some of the cavities of a connector under a heading; without one, all of them in the order of the housing.
type pinGroup struct {
	title string
	pins  []model.PinID
}

// functionOrder says in which order a controller is checked, and under which headings: what keeps it alive first.
var functionOrder = []struct {
	title string
	roles []catalog.Role
}{
	{"Power", []catalog.Role{catalog.Supply, catalog.SupplyOut, catalog.Cranking}},
	{"Grounds", []catalog.Role{catalog.Ground}},
	{"Outputs", []catalog.Role{catalog.Sink, catalog.Driver, catalog.HalfBridge, catalog.Output}},
	{"Sensor supplies, sensor grounds and screens", []catalog.Role{catalog.Reference, catalog.Return, catalog.Screen}},
	{"Inputs", []catalog.Role{catalog.Input, catalog.Signal}},
	{"Data buses", []catalog.Role{catalog.Bus}},
}

// leastByFunction is from how many wired cavities on a plug is worth a sheet in the order of functions.
const leastByFunction = 6

// functionGroups parts the cavities of a plug of a controller by what they do, those of one group in the order of the
// housing; nil for other connectors, small ones and such whose roles are not stated.
func (s *Set) functionGroups(c *model.Connector) []pinGroup {
	if c.Part == nil || c.Part.Kind.Symbol != "module" {
		return nil
	}
	byRole := map[catalog.Role]int{}
	for i, group := range functionOrder {
		for _, role := range group.roles {
			byRole[role] = i + 1
		}
	}
	groups := make([]pinGroup, len(functionOrder)+2)
	for i, group := range functionOrder {
		groups[i].title = group.title
	}
	others, empty := len(functionOrder), len(functionOrder)+1
	groups[others].title, groups[empty].title = "Others", "Without a wire"
	wired := 0
	for _, id := range c.Owner.Pins {
		at := byRole[s.Netlist.Pin(id).Role] - 1
		switch {
		case s.Vacancy(id) != "":
			at = empty
		case at < 0:
			at = others
			wired++
		default:
			wired++
		}
		groups[at].pins = append(groups[at].pins, id)
	}
	if wired < leastByFunction || len(groups[others].pins)*2 > wired {
		return nil
	}
	var filled []pinGroup
	for _, g := range groups {
		if len(g.pins) > 0 {
			filled = append(filled, g)
		}
	}
	return filled
}
