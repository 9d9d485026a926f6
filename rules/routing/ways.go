package routing

import (
	"math"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

// A lay says along which paths wires run.
type lay struct {
	ways [][]*model.Path               // by the wire's index; nil where none is known
	on   map[*model.Path][]*model.Wire // in the order of the file
}

func layOf(p *rules.Pass) *lay {
	l := &lay{ways: make([][]*model.Path, len(p.Netlist.Wires)), on: map[*model.Path][]*model.Wire{}}
	if len(p.Netlist.Paths) == 0 {
		return l
	}
	for i, w := range p.Netlist.Wires {
		l.ways[i] = p.Routes.Along(w)
		for _, path := range l.ways[i] {
			l.on[path] = append(l.on[path], w)
		}
	}
	return l
}

// names are the designators of wires.
func names(wires []*model.Wire) []string {
	out := make([]string, len(wires))
	for i, w := range wires {
		out[i] = w.Name.Text
	}
	return out
}

// covered reports whether something harder than tape is around a path.
func covered(path *model.Path) bool {
	cover := strings.ToLower(path.Cover.Text)
	return cover != "" && cover != "none" && cover != "open" && !strings.Contains(cover, "tape")
}

// heatSleeved reports whether a path has a sleeve against heat.
func heatSleeved(path *model.Path) bool {
	cover := strings.ToLower(path.Cover.Text)
	return strings.Contains(cover, "heat") || strings.Contains(cover, "thermal") || strings.Contains(cover, "glass")
}

// millimetres writes a length as a whole number of millimetres.
func millimetres(metres float64) string { return unit.Format(math.Round(metres*1000)) + " mm" }
