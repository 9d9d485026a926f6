package sheet

import (
	"cmp"
	"slices"

	"ferrule/netlist/model"
)

// A craft is what a harness is built into, as far as cautions depend on it. Nobody states it: it is read off what the
// netlist has. Where that tells nothing it counts as a road vehicle with all its hazards, since a caution too many harms
// nobody.
type craft struct {
	sort      craftSort
	engine    bool // something turns, charges, ignites or cranks
	starter   bool
	ignition  bool // ignition coils
	fuelPump  bool
	inertia   bool // an inertia switch
	modules   bool
	fans      bool     // cooling fans
	sources   []string // batteries, generators and other sources, by designator
	standing  int      // of these, such that deliver while nothing turns
	vapor     []string // zones where vapour gathers
	metalBody bool
}

type craftSort uint8

const (
	roadVehicle craftSort = iota
	twoWheeler
	boat
)

// functionsOf lists what the parts and loads of the netlist are there for, with how often.
func functionsOf(n *model.Netlist) map[string]int {
	count := map[string]int{}
	for _, p := range n.Parts {
		if len(p.Inside.Loads) == 0 && p.Function.IsSet() {
			count[p.Function.Text]++
		}
		for _, l := range p.Inside.Loads {
			if f := cmp.Or(l.Function.Text, p.Function.Text); f != "" {
				count[f]++
			}
		}
	}
	return count
}

// craft reads off what the harness is built into.
func (s *Set) craft() craft {
	n, functions := s.Netlist, functionsOf(s.Netlist)
	kinds := map[string]bool{}
	c := craft{metalBody: len(n.Bodies) > 0}
	for _, p := range n.Parts {
		kinds[p.Kind.Name] = true
		c.modules = c.modules || p.Kind.Symbol == "module"
		if len(p.Inside.Sources) > 0 {
			c.sources = append(c.sources, p.Name.Text)
			if p.Kind.Symbol != "generator" {
				c.standing++
			}
		}
	}
	for _, z := range n.Zones {
		if z.Vapor.On {
			c.vapor = append(c.vapor, cmp.Or(z.Title.Text, z.Name.Text))
		}
	}
	slices.SortFunc(c.sources, CompareNatural)
	c.sort = sortOf(functions)
	c.starter = kinds["starter"] || functions["starter"] > 0
	c.ignition = kinds["ignition coil"] || functions["ignition"] > 0
	c.fuelPump = functions["fuel pump"] > 0
	c.inertia = functions["inertia switch"] > 0
	c.fans = functions["cooling fan"] > 0
	runs := slices.ContainsFunc(n.States, func(st *model.State) bool { return st.Engine.IsSet() && st.Engine.Text != "off" })
	c.engine = runs || c.starter || c.ignition || c.fuelPump || kinds["alternator"] || kinds["dynamo"] || functions["injection"] > 0
	return c
}

// sortOf tells a boat by its pumps and lights, and a two-wheeler by its one head lamp and the lack of a wiper.
func sortOf(functions map[string]int) craftSort {
	lamps := max(functions["low beam"], functions["high beam"])
	switch {
	case functions["bilge pump"]+functions["navigation light"] > 0:
		return boat
	case lamps == 1 && functions["wiper"] == 0 && functions["airbag"] == 0 && functions["reverse"] == 0:
		return twoWheeler
	}
	return roadVehicle
}

// tightness says when terminals that carry much are checked again: common practice.
func (c craft) tightness() string {
	if c.sort == boat {
		return "Battery and charging terminals: check that they are tight and bright after the first day under way, then each season."
	}
	return "Battery terminals, and those of alternator and starter where there are any: check that they are tight at 50 and 500 miles."
}
