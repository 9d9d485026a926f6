package buy

import (
	"fmt"
	"math"
	"strconv"

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
				Spec: fmt.Sprintf("tinned copper, to crimp, for %s in all", c.areaText(s.Barrel))}, 1, s.Name.Text)
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
		if way := c.Routes.Along(w); len(way) > 0 {
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

// sleeve adds so many metres of heat-shrink for something of that diameter in mm. Where no 2:1 size shrinks far enough, and where
// water comes to it, it is 3:1 with adhesive.
func (c *collector) sleeve(across, metres float64, wet bool, what string) {
	size, known := bundle.ShrinkFor(across, 2)
	ratio, word := 2.0, "2:1"
	if wet || !known {
		if size, known = bundle.ShrinkFor(across, 3); !known {
			return
		}
		ratio, word = 3, "3:1 with adhesive"
	}
	supplied, recovered := unit.Format(size), strconv.FormatFloat(size/ratio, 'f', 1, 64)
	c.add(Item{
		Group: Shrink, Metres: true, Estimated: true, rank: size / ratio, Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve),
		Text: fmt.Sprintf("heat-shrink %s/%s mm %s", supplied, recovered, word),
		Spec: fmt.Sprintf("%s mm as supplied, recovers to %s mm or less, 125 C", supplied, recovered),
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
