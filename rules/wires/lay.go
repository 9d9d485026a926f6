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
		from, to := p.Routes.PlaceOf(w.From.ID), p.Routes.PlaceOf(w.To.ID)
		if from == to {
			continue
		}
		_, l.ways[i], _ = p.Routes.Between(from, to)
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
