package buy

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/bundle"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// covering adds what covers the bundles, by the metre.
func (c *collector) covering() {
	for _, b := range bundle.Of(c.Netlist, c.Routes) {
		if len(b.Wires) == 0 || !b.Path.Cover.IsSet() {
			continue
		}
		if !b.Path.Length.IsSet() {
			c.lack("covered path without a length", `length = "1.20 m"`, b.Path.Name)
			continue
		}
		if b.DiameterMM == 0 {
			continue // wires without a size, which are told of
		}
		c.cover(b)
	}
}

// Inside diameters in mm of tubes and convoluted loom, and widths of expandable braid, as shops have them: common practice, from memory.
var (
	loomSizes  = []float64{5, 7, 10, 13, 16, 19, 23, 26, 32, 38, 50, 63}
	braidSizes = []float64{3, 4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50}
)

// Of a tube's bore a bundle takes at most 80 % across: AC 43.13-1B paragraph 11-249 has the inside diameter of conduit 25 % above the
// bundle. A braid goes over what is up to a quarter thicker than its name (common practice).
const (
	boreShare  = 0.80
	braidOver  = 1.25
	tapeMM     = 19  // the usual width of harness tape
	tapeLap    = 0.5 // half over half
	braidExtra = 1.1 // a braid gets shorter as it opens: common practice
)

func (c *collector) cover(b bundle.Bundle) {
	item := Item{Group: Covering, Metres: true, Estimated: true, Reserve: share(c.Netlist.Reserve.Wire, wireReserve)}
	text, metres := b.Path.Cover.Text, b.Path.Length.Value
	switch {
	case strings.Contains(text, "tape"):
		item.Text, item.Spec = fmt.Sprintf("%s %d mm wide", text, tapeMM), "harness tape, wound half over half"
		item.rank = tapeMM
		metres *= math.Pi * b.DiameterMM / (tapeMM * (1 - tapeLap))
	case strings.Contains(text, "braid"):
		size := nextSize(braidSizes, b.DiameterMM/braidOver)
		item.Text, item.Spec, item.rank = fmt.Sprintf("%s %s mm", text, unit.Format(size)), "opens to the bundle under it", size
		metres *= braidExtra
	default:
		size := nextSize(loomSizes, b.DiameterMM/boreShare)
		item.Text, item.Spec, item.rank = fmt.Sprintf("%s %s mm", text, unit.Format(size)), "inside diameter", size
	}
	if r := b.Path.CoverRating; r.IsSet() {
		item.Text += " " + unit.Celsius(r.Value).String()
		item.Spec += ", stands " + unit.Celsius(r.Value).String()
	}
	if b.Unsized > 0 {
		c.lack("wire without a size", `size = "1.5 mm2" in its line`, firstUnsized(b).Name)
	}
	c.add(item, metres, b.Path.Name.Text)
}

func firstUnsized(b bundle.Bundle) *model.Wire {
	for _, w := range b.Wires {
		if !w.Size.IsSet() {
			return w
		}
	}
	return nil
}

// nextSize returns the smallest size that is large enough; above all of them, what is needed itself, to the millimetre.
func nextSize(sizes []float64, least float64) float64 {
	for _, s := range sizes {
		if s >= least {
			return s
		}
	}
	return math.Ceil(least)
}

// grommets adds the grommets of holes that wires pass.
func (c *collector) grommets() {
	widest := map[*model.Place]float64{}
	for _, b := range bundle.Of(c.Netlist, c.Routes) {
		for _, p := range []*model.Place{b.Path.From, b.Path.To} {
			if p != nil {
				widest[p] = max(widest[p], b.DiameterMM)
			}
		}
	}
	for _, p := range c.Netlist.Places {
		if !p.Hole.IsSet() || widest[p] == 0 {
			continue
		}
		opening := 1000 * p.Hole.Value
		c.add(Item{Group: Grommets, Text: "grommet " + unit.Format(opening) + " mm", rank: opening,
			Spec: fmt.Sprintf("clear opening %s mm; the sheet is cut larger, as the grommet asks", unit.Format(opening))}, 1, cmp.Or(p.Title.Text, p.Name.Text))
	}
}

// labels adds a label for each end of a wire, and those of connectors, fuses and grounds.
func (c *collector) labels() {
	add := func(text, spec, what string, count float64) {
		c.add(Item{Group: Labels, Text: text, Spec: spec, Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve)}, count, what)
	}
	for _, w := range c.Netlist.Wires {
		if !w.Supplied.On {
			add("wire label", "wrap-around, clear tail over the print; two a wire", "", 2)
		}
	}
	for _, con := range c.Netlist.Connectors {
		if !c.comesAlong(con) {
			add("connector flag", "flag or tie-on, beside the housing", con.Name.Text, 1)
		}
	}
	for _, p := range c.Netlist.Parts {
		switch {
		case p.Kind.Name == "ground point" || p.Kind.Name == "stud":
			for _, id := range p.Owner.Pins {
				if len(c.made(id)) > 0 {
					add("ring label", "wrap-around, behind the barrel of a ring", p.Name.Text, 1)
				}
			}
		case len(p.Inside.Protects) > 0 && !p.Supplied.On:
			add("fuse label", "for the panel or the holder", p.Name.Text, 1)
		}
	}
}
