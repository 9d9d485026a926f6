package sizing

import (
	"ferrule/netlist/circuit"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

// loadedShare is the share of its current at 30 C above which a wire heats those beside it. Common practice.
const loadedShare = 0.25

// A lay says along which paths wires lie.
type lay struct {
	paths [][]*model.Path       // by branch
	on    map[*model.Path][]int // branches that are wires, by path
}

func newLay(c *circuit.Circuit, routes *route.Routes) *lay {
	l := &lay{paths: make([][]*model.Path, len(c.Branches)), on: map[*model.Path][]int{}}
	for i := range c.Branches {
		w := c.Branches[i].Wire
		if w == nil {
			continue
		}
		paths := routes.Along(w)
		l.paths[i] = paths
		for _, p := range paths {
			l.on[p] = append(l.on[p], i)
		}
	}
	return l
}

// loaded reports for every branch whether it is a wire that heats its neighbours in a state.
func loaded(c *circuit.Circuit, rms []float64) []bool {
	out := make([]bool, len(c.Branches))
	for i := range c.Branches {
		if b := &c.Branches[i]; b.Wire != nil {
			base, _ := conductor.AmpacityOf(b.Wire.Size, b.Insulation(), b.Metal())
			out[i] = rms[i] > loadedShare*float64(base)
		}
	}
	return out
}

// heating counts the loaded wires along each path.
func (l *lay) heating(loaded []bool) map[*model.Path]int {
	count := make(map[*model.Path]int, len(l.on))
	for p, branches := range l.on {
		for _, i := range branches {
			if loaded[i] {
				count[p]++
			}
		}
	}
	return count
}

// around counts the loaded wires in the fullest path of a wire, itself counted whether it is loaded or not: thinner, it may be. It is
// given whether it is, and what heating says of the paths.
func (l *lay) around(branch int, loaded bool, heating map[*model.Path]int) int {
	most := 1
	for _, p := range l.paths[branch] {
		others := heating[p]
		if loaded {
			others--
		}
		most = max(most, 1+others)
	}
	return most
}

// exposed reports whether a wire runs alone and uncovered somewhere on its way, or on no path that is known.
func (l *lay) exposed(branch int, w *model.Wire) bool {
	if w.Sheathed.On || w.Cable != nil {
		return false
	}
	for _, p := range l.paths[branch] {
		if !p.Cover.IsSet() && len(l.on[p]) < 2 {
			return true
		}
	}
	return len(l.paths[branch]) == 0
}

// noBundle is the source of the factor of a branch that is no wire.
var noBundle = conductor.Source{Title: "no wire", Verified: true}
