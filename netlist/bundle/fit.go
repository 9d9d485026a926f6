package bundle

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// A Fit is a bundle with what it takes to cover, hold, bend and lead it. Lengths across are mm. All diameters rest on outside
// diameters that conductor estimates; wires without a size count nowhere, see Unsized.
type Fit struct {
	*Bundle
	PackedMM    float64       // the smallest round hole that was found for the circles of its wires; see Pack
	Section     Packing       // that packing: circle i is wire Sized[i]
	Sized       []*model.Wire // the wires whose size is stated
	ThickMM     float64       // what the rest is made for: the larger of DiameterMM and PackedMM
	WidestMM    float64       // outside diameter of the thickest wire
	Cover       Cover
	LeastHoleMM float64 // clear opening that the bundle needs where it passes one: ThickMM / HoleFill
	Holes       []Hole  // openings that the file states at the ends of the path
	Bend        Bend
	Clips       Clips
	Grams       float64        // of wire, metal and insulation, along the path; 0 where its length is not stated
	PerMetre    float64        // grams of wire a metre
	Cables      []*model.Cable // that lie here in part or whole: their jackets and screens are not counted
}

// LengthM is the length of the path in m, and whether it is stated.
func (f *Fit) LengthM() (float64, bool) { return f.Path.Length.Value, f.Path.Length.IsSet() }

// Guessed reports whether the length of the path is a guess.
func (f *Fit) Guessed() bool { return f.Path.KnownFrom.Text == "guess" }

// A Hole is a stated opening that the bundle passes at one end of its path.
type Hole struct {
	Place   *model.Place
	ClearMM float64
	Verdict Verdict
}

// A Verdict says whether a bundle goes through a hole.
type Verdict uint8

// The verdicts: with room, only with force, and not at all.
const (
	Passes Verdict = iota + 1
	Tight
	TooThick
)

// String is the verdict in a word or two.
func (v Verdict) String() string { return [...]string{"", "passes", "tight", "does not pass"}[v] }

// A Bend is the least inside radius of a bend. Two customs differ, and the stricter one holds.
type Bend struct {
	PracticeMM float64 // 4 times the bundle's diameter where it is fixed, 10 times where it flexes (common practice)
	AircraftMM float64 // 10 times the outside diameter of the thickest wire (AC 43.13-1B, TM 1-1500-323)
	Flexes     bool
}

// RadiusMM is the stricter one.
func (b Bend) RadiusMM() float64 { return max(b.PracticeMM, b.AircraftMM) }

// Clips say how a bundle is held along its path.
type Clips struct {
	Engine  bool // on or at an engine, where it shakes
	PitchMM int  // the largest distance between two
	Count   int  // 0 where the length is not stated
}

// Distances between clips: 250 to 300 mm at an engine and 450 mm elsewhere (common practice; ABYC E-11 has 18 in from
// memory). 46 CFR 183.340 and AC 43.13-1B allow 24 in (610 mm), which both keep.
const (
	enginePitchMM = 250
	otherPitchMM  = 450
)

// hotZone is from where a zone counts as an engine's: what stands near an engine gets 85 C and more, a cabin hardly more
// than 70 C (common practice).
const hotZone = 80

// Fits works out what the bundle of every path needs, in the order of the file.
func Fits(n *model.Netlist, routes *route.Routes) []Fit {
	bundles := Of(n, routes)
	fits := make([]Fit, len(bundles))
	packed := map[string]packedOnce{}
	for i := range bundles {
		f := &fits[i]
		f.Bundle = &bundles[i]
		f.pack(packed)
		f.ThickMM = max(f.DiameterMM, f.PackedMM)
		f.LeastHoleMM = f.ThickMM / HoleFill
		f.passHoles()
		f.Bend = Bend{4 * f.ThickMM, 10 * f.WidestMM, f.Path.Flex.On}
		if f.Bend.Flexes {
			f.Bend.PracticeMM = 10 * f.ThickMM
		}
		f.weigh(n.Harness.Cable, n.Harness.Insulation)
		f.hold()
		f.Cover = coverOf(f)
	}
	return fits
}

// A packedOnce is the packing of a set of diameters, for the other bundles that have the same.
type packedOnce struct {
	packing   Packing
	diameters []float64 // falling
}

// pack lays the wires of known size, the thickest first, so that equal sets are packed once and equally.
func (f *Fit) pack(packed map[string]packedOnce) {
	for _, w := range f.Wires {
		if d, _ := conductor.OutsideDiameter(w.Size); d > 0 {
			f.Sized = append(f.Sized, w)
		}
		if w.Cable != nil && !slices.Contains(f.Cables, w.Cable) {
			f.Cables = append(f.Cables, w.Cable)
		}
	}
	slices.SortStableFunc(f.Sized, func(a, b *model.Wire) int {
		x, _ := conductor.OutsideDiameter(a.Size)
		y, _ := conductor.OutsideDiameter(b.Size)
		switch {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	diameters := make([]float64, len(f.Sized))
	for i, w := range f.Sized {
		diameters[i], _ = conductor.OutsideDiameter(w.Size)
	}
	key := fmt.Sprint(diameters)
	once, done := packed[key]
	if !done {
		once = packedOnce{Pack(diameters), diameters}
		packed[key] = once
	}
	f.Section, f.PackedMM = once.packing, once.packing.DiameterMM
	if len(diameters) > 0 {
		f.WidestMM = diameters[0]
	}
}

func (f *Fit) passHoles() {
	if f.ThickMM == 0 {
		return
	}
	for _, end := range [...]*model.Place{f.Path.From, f.Path.To} {
		if end != nil && end.Hole.IsSet() && end.Hole.Value > 0 {
			f.Holes = append(f.Holes, Hole{end, end.Hole.Value * 1000, Through(f.ThickMM, end.Hole.Value*1000)})
		}
	}
}

// Through judges a bundle of a thickness at a hole of a clear opening, both in mm.
func Through(thickMM, clearMM float64) Verdict {
	const rounding = 1 + 1e-9
	switch {
	case thickMM > clearMM*rounding:
		return TooThick
	case thickMM > clearMM*HoleFill*rounding:
		return Tight
	}
	return Passes
}

// hold finds where the bundle is held.
func (f *Fit) hold() {
	f.Clips.PitchMM = otherPitchMM
	if atEngine(f.Path) {
		f.Clips.Engine, f.Clips.PitchMM = true, enginePitchMM
	}
	if length, ok := f.LengthM(); ok && len(f.Wires) > 0 {
		f.Clips.Count = max(1, int(math.Ceil(length*1000/float64(f.Clips.PitchMM)-1e-9)))
	}
}

// atEngine reports whether a path lies at an engine: by the unit that an end leaves the vehicle with, by the words of its
// zone, or by how hot that gets.
func atEngine(p *model.Path) bool {
	zones := []*model.Zone{p.Zone}
	for _, end := range [...]*model.Place{p.From, p.To} {
		if end == nil {
			continue
		}
		if strings.Contains(end.RemovedWith.Text, "engine") {
			return true
		}
		if p.Zone == nil {
			zones = append(zones, end.Zone)
		}
	}
	return slices.ContainsFunc(zones, func(z *model.Zone) bool {
		return z != nil && (strings.Contains(strings.ToLower(z.Name.Text+" "+z.Title.Text), "engine") || z.Ambient.IsSet() && z.Ambient.Value >= hotZone)
	})
}

func (f *Fit) weigh(cable string, class unit.Celsius) {
	for _, w := range f.Sized {
		insulation := class
		if w.Insulation.IsSet() {
			insulation = unit.Celsius(w.Insulation.Value)
		}
		metal, _ := conductor.ParseMetal(w.Metal.Text)
		f.PerMetre += GramsPerMetre(w.Size, cable, metal, insulation)
	}
	f.Grams = f.PerMetre * f.Path.Length.Value
}
