package buy

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/bundle"
	"ferrule/netlist/unit"
)

// covering adds what covers the bundles, by the metre, and the clips that hold them.
func (c *collector) covering() {
	for i := range c.Fits {
		f := &c.Fits[i]
		if len(f.Wires) == 0 || f.ThickMM == 0 {
			continue // wires without a size are told of with the wires
		}
		if _, known := f.LengthM(); !known {
			c.lack("path without a length, so that its covering is not known", `length = "1.20 m"`, f.Path.Name)
			continue
		}
		if !f.Cover.Stated {
			c.lack("path without a cover: taken as split tube where it is wet, hot or flexes, as tape elsewhere", `cover = "split loom", "braid", "tape" ... in the path`, f.Path.Name)
		}
		c.cover(f)
		size := nextSize(clipSizes, f.Cover.OutsideMM)
		c.add(Item{Group: Grommets, Text: "clip " + unit.Format(size) + " mm", Spec: "cushioned, for a covered bundle of up to " + unit.Format(size) + " mm", rank: clipRank + size,
			Estimated: true, Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve)}, float64(f.Clips.Count), f.Path.Name.Text)
	}
}

// Widths in mm of expandable braid and of cushioned clips, as shops have them: common practice, from memory.
var (
	braidSizes = []float64{3, 4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50}
	clipSizes  = []float64{6, 8, 10, 13, 16, 19, 22, 25, 29, 32, 38, 45, 50}
)

// A braid goes over what is up to a quarter thicker than its name and gets shorter as it opens: common practice.
const (
	braidOver  = 1.25
	braidExtra = 1.1
	clipRank   = 1000 // clips behind grommets
)

func (c *collector) cover(f *bundle.Fit) {
	item := Item{Group: Covering, Metres: true, Estimated: true, Reserve: share(c.Netlist.Reserve.Wire, wireReserve)}
	metres, size := f.Path.Length.Value, 0.0
	switch f.Cover.Kind {
	case bundle.Tape:
		item.Text, item.Spec = fmt.Sprintf("%s %g mm wide", f.Cover.Name, f.Cover.TapeWidthMM), "harness tape, wound half over half"
		metres *= f.Cover.TapeM
	case bundle.Braid:
		size = nextSize(braidSizes, f.ThickMM/braidOver)
		item.Spec = "opens to the bundle under it"
		metres *= braidExtra
	case bundle.Tube:
		size = f.Cover.TubeMM
		item.Spec = "inside diameter"
	case bundle.Shrink:
		size, item.Spec = cmp.Or(f.Cover.ShrinkMM, f.Cover.ThreeToOne), "inside diameter as supplied"
	default:
		size, item.Spec = math.Ceil(f.ThickMM/bundle.MostTubeFill), "inside diameter"
	}
	if item.Text == "" {
		if size == 0 {
			size = math.Ceil(f.ThickMM / bundle.MostTubeFill) // thicker than the largest that is listed
		}
		item.Text = fmt.Sprintf("%s %s mm", f.Cover.Name, unit.Format(size))
	}
	item.rank = size
	if r := f.Path.CoverRating; r.IsSet() {
		item.Text += " " + unit.Celsius(r.Value).String()
		item.Spec += ", stands " + unit.Celsius(r.Value).String()
	}
	c.add(item, metres, f.Path.Name.Text)
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
	for _, p := range c.Netlist.Places {
		if !p.Hole.IsSet() || !slices.ContainsFunc(c.Fits, func(f bundle.Fit) bool { return f.ThickMM > 0 && (f.Path.From == p || f.Path.To == p) }) {
			continue
		}
		opening := unit.Format(1000 * p.Hole.Value)
		c.add(Item{Group: Grommets, Text: "grommet " + opening + " mm", rank: 1000 * p.Hole.Value,
			Spec: "clear opening " + opening + " mm; the sheet is cut larger, as the grommet asks"}, 1, cmp.Or(p.Title.Text, p.Name.Text))
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
