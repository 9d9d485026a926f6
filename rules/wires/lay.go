package wires

import (
	"strings"

	"ferrule/netlist/model"
	"ferrule/rules"
)

// A lay says along which paths wires run.
type lay struct {
	ways  [][]*model.Path     // by the wire's index
	count map[*model.Path]int // wires on a path
}

func layOf(p *rules.Pass) *lay {
	l := &lay{ways: make([][]*model.Path, len(p.Netlist.Wires)), count: map[*model.Path]int{}}
	for i, w := range p.Netlist.Wires {
		l.ways[i] = p.Routes.Along(w)
		for _, path := range l.ways[i] {
			l.count[path]++
		}
	}
	return l
}

// sleeved reports whether a path has a sleeve against heat.
func sleeved(path *model.Path) bool {
	cover := strings.ToLower(path.Cover.Text)
	return strings.Contains(cover, "heat") || strings.Contains(cover, "thermal") || strings.Contains(cover, "glass")
}
