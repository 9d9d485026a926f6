package bundle

import (
	"math"
	"strings"

	"ferrule/netlist/model"
)

// A CoverKind is what a bundle is covered with.
type CoverKind uint8

// The kinds of covers.
const (
	Tube   CoverKind = iota + 1 // corrugated tube, slit or whole
	Tape                        // wound with half overlap
	Braid                       // a sleeve that widens
	Shrink                      // heat-shrink 2:1
	Sleeve                      // a heat sleeve
	Other                       // by the file's own word; nothing is known of it
)

// A Cover is what covers a bundle, and what else would. Sizes are mm, 0 where nothing is to be said: a bundle without a
// stated size of wire, or one that is thicker than the largest in the list.
type Cover struct {
	Kind        CoverKind
	Name        string  // as the file words it, else ours
	Stated      bool    // by the file; else what is usual here
	TubeMM      float64 // nominal bore of the smallest tube that the bundle fills to TubeFill at the most
	TubeFill    float64 // the share of that bore that the bundle then takes across
	TubeOutMM   float64 // outside diameter of that tube
	ShrinkMM    float64 // heat-shrink 2:1 as supplied; 0 where no size both passes over the bundle and grips it
	ThreeToOne  float64 // heat-shrink 3:1 as supplied, where 2:1 has no size
	TapeM       float64 // metres of tape a metre of bundle, TapeWidthMM wide, half overlapped
	OutsideMM   float64 // what the covered bundle takes up
	TapeWidthMM float64
}

// MostTubeFill is the share of a tube's bore that a bundle takes across at the most: AC 43.13-1B, paragraph 11-249 (the bore
// is a quarter larger than the bundle). From GoodTubeFill on a tube is called full: common practice has 70 to 80 %.
const (
	MostTubeFill = 0.80
	GoodTubeFill = 0.70
)

// tubes are the nominal bores of corrugated tube and the outside diameters that go with them, mm: from memory; a maker's
// sheet says more.
var tubes = [...]struct{ bore, outside float64 }{
	{4.5, 7.2}, {6, 9}, {7.5, 10.5}, {8.5, 11.8}, {10, 13.2}, {12, 15.8}, {14, 18.5}, {17, 21.2}, {20, 25}, {23, 28.5}, {26, 31.5},
	{29, 34.5}, {37, 42.5}, {48, 54.5},
}

// shrinkSizes are the expanded inside diameters of thin-wall heat-shrink in mm, 3/64 to 4 in (AMS-DTL-23053, from memory).
var shrinkSizes = [...]float64{1.2, 1.6, 2.4, 3.2, 4.8, 6.4, 9.5, 12.7, 19.1, 25.4, 38.1, 50.8, 76.2, 101.6}

// Heat-shrink passes over a bundle that it is at least 1.15 times as wide as, and grips one that is thicker than it recovers
// to by a quarter: recovered at most 0.8 of the bundle (common practice).
const (
	shrinkOver = 1.15
	shrinkGrip = 0.8
)

// ShrinkFor returns the expanded size in mm of the smallest heat-shrink of a ratio (2 for 2:1) that passes over a thickness
// and still grips it; false where no size does both.
func ShrinkFor(thickMM, ratio float64) (float64, bool) {
	for _, size := range shrinkSizes {
		if size >= shrinkOver*thickMM && size/ratio <= shrinkGrip*thickMM {
			return size, true
		}
	}
	return 0, false
}

// TubeFor returns nominal bore and outside diameter in mm of the smallest corrugated tube for a thickness; false where
// none is large enough.
func TubeFor(thickMM float64) (bore, outside float64, ok bool) {
	for _, t := range tubes {
		if thickMM <= MostTubeFill*t.bore*(1+1e-9) {
			return t.bore, t.outside, true
		}
	}
	return 0, 0, false
}

// Tape of the bench: 19 mm wide and some 0.15 mm thick, wound with half overlap, so that it lies double (common practice).
const (
	tapeWidthMM = 19
	tapeThickMM = 0.15
)

// kindOf reads the file's word for a cover.
func kindOf(word string) CoverKind {
	word = strings.ToLower(word)
	for _, k := range [...]struct {
		part string
		kind CoverKind
	}{
		{"shrink", Shrink}, {"heat sleeve", Sleeve}, {"tape", Tape}, {"braid", Braid}, {"split", Tube}, {"loom", Tube},
		{"corrugated", Tube}, {"conduit", Tube}, {"tube", Tube}, {"sleeve", Sleeve},
	} {
		if strings.Contains(word, k.part) {
			return k.kind
		}
	}
	return Other
}

// coverOf finds the cover of a bundle. Where the file states none it is split tube, if the bundle is at an engine, in a wet
// zone or flexes, else tape.
func coverOf(f *Fit) Cover {
	c := Cover{Kind: kindOf(f.Path.Cover.Text), Name: f.Path.Cover.Text, Stated: f.Path.Cover.IsSet(), TapeWidthMM: tapeWidthMM}
	if !c.Stated {
		c.Kind, c.Name = Tape, "tape"
		if f.Clips.Engine || f.wet() || f.Bend.Flexes {
			c.Kind, c.Name = Tube, "split tube"
		}
	}
	if f.ThickMM == 0 {
		return c
	}
	if bore, outside, ok := TubeFor(f.ThickMM); ok {
		c.TubeMM, c.TubeFill, c.TubeOutMM = bore, f.ThickMM/bore, outside
	}
	if size, ok := ShrinkFor(f.ThickMM, 2); ok {
		c.ShrinkMM = size
	} else if size, ok := ShrinkFor(f.ThickMM, 3); ok {
		c.ThreeToOne = size
	}
	c.TapeM = math.Pi * (f.ThickMM + tapeThickMM) / (tapeWidthMM / 2.0)
	c.OutsideMM = c.outside(f.ThickMM)
	return c
}

// outside is the diameter of the covered bundle: of a tube its own, of tape two layers on each side, and for what is not
// known at least the bundle's.
func (c *Cover) outside(thickMM float64) float64 {
	switch {
	case c.Kind == Tube && c.TubeOutMM > 0:
		return c.TubeOutMM
	case c.Kind == Tape:
		return thickMM + 4*tapeThickMM
	case c.Kind == Shrink, c.Kind == Braid, c.Kind == Sleeve:
		return thickMM + 2 // walls of about 1 mm: common practice
	}
	return thickMM
}

func (f *Fit) wet() bool {
	if f.Path.Zone != nil {
		return f.Path.Zone.Wet.On
	}
	for _, end := range [...]*model.Place{f.Path.From, f.Path.To} {
		if end != nil && end.Zone != nil && end.Zone.Wet.On {
			return true
		}
	}
	return false
}
