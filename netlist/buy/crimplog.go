package buy

import (
	"cmp"
	"slices"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A CrimpLine is one sort of crimp: the same wires in the same terminal, made with one die.
type CrimpLine struct {
	Wires    string // "20 AWG", "2 x 1.5 mm2", "18 AWG + 20 AWG"; the thickest first
	Item     string // the terminal, ring or barrel as the buy list names it; empty where the netlist does not say
	Count    int
	At       []string  // terminals and splices, in the order of the netlist
	Thinnest unit.Size // of the wires, which decides about the pull
	// Newtons is the least pull of each wire in the crimp, from the published table; 0 where the table has none for the size, or the
	// wire is not copper.
	Newtons float64
	Source  conductor.Source

	area float64 // of the thickest wire in mm2
}

// CrimpLog sorts the crimps that are made at the bench, splices among them: by the thickest wire, then the terminal. A wire without a
// size is left out; it cannot be cut either.
func CrimpLog(in Input) []*CrimpLine {
	c := newCollector(in)
	log := crimpLog{lines: map[string]*CrimpLine{}}
	for _, crimp := range c.crimped() {
		log.add(crimp.Wires, crimp.Item, crimp.Pin.String())
	}
	for _, s := range in.Netlist.Splices {
		legs := c.legs(s)
		slices.SortStableFunc(legs, func(a, b *model.Wire) int { return cmp.Compare(b.Size.AreaMM2(), a.Size.AreaMM2()) })
		item := "splice, barrel not stated"
		if s.Barrel.IsSet() {
			item = "splice barrel " + s.Barrel.String()
		}
		log.add(legs, item, s.Name.Text)
	}
	slices.SortStableFunc(log.sorted, func(a, b *CrimpLine) int {
		return cmp.Or(cmp.Compare(a.area, b.area), cmp.Compare(a.Wires, b.Wires), cmp.Compare(a.Item, b.Item))
	})
	return log.sorted
}

type crimpLog struct {
	lines  map[string]*CrimpLine
	sorted []*CrimpLine
}

func (l *crimpLog) add(wires []*model.Wire, item, at string) {
	if len(wires) == 0 {
		return
	}
	copper := true
	var sizes []string
	for _, w := range wires {
		if !w.Size.IsSet() {
			return
		}
		sizes = append(sizes, w.Size.String())
		copper = copper && (!w.Metal.IsSet() || w.Metal.Text == "copper")
	}
	key := bunch(sizes) + "\x00" + item
	if !copper {
		key += "\x00" // a pull for copper says nothing about it
	}
	line := l.lines[key]
	if line == nil {
		line = &CrimpLine{Wires: bunch(sizes), Item: item, Thinnest: wires[len(wires)-1].Size, area: wires[0].Size.AreaMM2()}
		if copper {
			line.Newtons, line.Source = conductor.CrimpPull(line.Thinnest)
		}
		l.lines[key] = line
		l.sorted = append(l.sorted, line)
	}
	line.Count++
	line.At = append(line.At, at)
}
