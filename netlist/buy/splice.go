package buy

import (
	"fmt"
	"math"

	"ferrule/netlist/bundle"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// splices adds barrels and the sleeves over them.
func (c *collector) splices() {
	for _, s := range c.Netlist.Splices {
		legs := c.legs(s)
		if len(legs) == 0 {
			continue
		}
		if s.Barrel.IsSet() {
			c.add(Item{Group: Splices, Text: "splice barrel " + s.Barrel.String(), rank: s.Barrel.AreaMM2(), Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve),
				Spec: fmt.Sprintf("tinned copper, crimped, conductors of %s together", c.areaText(s.Barrel))}, 1, s.Name.Text)
		} else {
			c.lack("splice without a barrel", `barrel = "6 mm2", the largest sum of conductors that it takes`, s.Name)
		}
		if across := c.thickestSide(s, legs); across > 0 {
			c.sleeve(across, spliceSleeve, s.Sealed.On || wetAt(s.Place), s.Name.Text)
		}
	}
}

func (c *collector) areaText(size unit.Size) string {
	area, _ := conductor.AreaMM2(size, c.Netlist.Harness.Cable)
	return fmt.Sprintf("%.3g mm2", area)
}

// legs returns the wires that are crimped into a splice at the bench.
func (c *collector) legs(s *model.Splice) []*model.Wire {
	var legs []*model.Wire
	for _, id := range s.Owner.Pins {
		legs = append(legs, c.made(id)...)
	}
	return legs
}

// thickestSide returns the diameter in mm of the legs that leave a splice together, on the side where they are thickest. Legs of
// which the way is not known are taken to lie together.
func (c *collector) thickestSide(s *model.Splice, legs []*model.Wire) float64 {
	sides := map[*model.Path][]unit.Size{}
	widest := 0.0
	for _, w := range legs {
		if !w.Size.IsSet() {
			continue
		}
		var first *model.Path
		if way := bundle.Way(c.Routes, w); len(way) > 0 {
			first = way[0]
			if c.Routes.PlaceOf(w.From.ID) != s.Place {
				first = way[len(way)-1]
			}
		}
		sides[first] = append(sides[first], w.Size)
		widest = max(widest, bundle.Diameter(sides[first]))
	}
	return widest
}

// Lengths of sleeve in metres: over a splice with its barrel and a good centimetre of insulation at either end, and over the barrel of
// a ring. Common practice.
const (
	spliceSleeve = 0.050
	ringSleeve   = 0.030
)

// A tube is a size of heat-shrink: inside diameters in mm as supplied and once shrunk with nothing in it.
type tube struct{ supplied, recovered float64 }

// Heat-shrink as shops have it: thin wall 2:1, and 3:1 with adhesive. Common practice, from memory; no standard is followed here.
var (
	plainTubes    = []tube{{2.4, 1.2}, {3.2, 1.6}, {4.8, 2.4}, {6.4, 3.2}, {9.5, 4.8}, {12.7, 6.4}, {19, 9.5}, {25.4, 12.7}, {38, 19}}
	adhesiveTubes = []tube{{3, 1}, {6, 2}, {9, 3}, {12, 4}, {18, 6}, {24, 8}, {39, 13}, {50, 17}}
)

// A sleeve goes on over passes and has to hold in the end: supplied at least 1.15 times, recovered at most 0.8 times the diameter
// under it (common practice).
const (
	leastSupplied = 1.15
	mostRecovered = 0.8
)

// fits returns the first size that suits a diameter in mm.
func fits(tubes []tube, across float64) (tube, bool) {
	for _, t := range tubes {
		if t.supplied >= leastSupplied*across && t.recovered <= mostRecovered*across {
			return t, true
		}
	}
	return tube{}, false
}

// sleeve adds so many metres of heat-shrink for something of that diameter in mm. Where no thin-wall size shrinks far enough, and
// where water comes to it, it is the one with adhesive.
func (c *collector) sleeve(across, metres float64, wet bool, what string) {
	t, known := fits(plainTubes, across)
	word := "2:1"
	if wet || !known {
		if t, known = fits(adhesiveTubes, across); !known {
			return
		}
		word = "3:1 with adhesive"
	}
	c.add(Item{
		Group: Shrink, Metres: true, Estimated: true, rank: t.recovered, Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve),
		Text: fmt.Sprintf("heat-shrink %s/%s mm %s", unit.Format(t.supplied), unit.Format(t.recovered), word),
		Spec: fmt.Sprintf("inside %s mm as supplied, %s mm or less recovered, %s", unit.Format(t.supplied), unit.Format(t.recovered), "polyolefin, 125 C"),
	}, metres, what)
}

// barrelOver is how much thicker the barrel of a ring is than the insulation of its wire: an estimate.
const barrelOver = 1.2

// ringSleeve adds the sleeve over the barrel of a ring, with adhesive where water comes.
func (c *collector) ringSleeve(crimp Crimp) {
	var sizes []unit.Size
	for _, w := range crimp.Wires {
		sizes = append(sizes, w.Size)
	}
	across := math.Max(bundle.Diameter(sizes)*barrelOver, 0)
	c.sleeve(across, ringSleeve, wetAt(crimp.Pin.Owner.Place()), crimp.Pin.Owner.Name.Text)
}

func wetAt(p *model.Place) bool { return p != nil && p.Zone != nil && p.Zone.Wet.On }
