package bundle_test

import (
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/bundle"
	"ferrule/netlist/conductor"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

func fitsOf(t *testing.T, folder, root string) map[string]bundle.Fit {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS(folder), root)
	require.NoError(t, err)
	by := map[string]bundle.Fit{}
	for _, f := range bundle.Fits(n, route.New(n)) {
		by[f.Path.Name.Text] = f
	}
	return by
}

// TestPickupBundles holds the pickup against what its builder estimated by hand: some 13 to 14 mm for the 38 wires at the
// grommet G1R and some 15 mm for the trunk of 32 wires.
//
// The formula of practice comes to 13.0 and 15.1 mm. Circles packed as tightly as they go come to 12.2 and 14.2 mm: seven
// hundredths less, which is what a loom laid by hand lacks of the densest order, and the formula allows for it. The shortest way
// of 77g leads along the trunk too, and its written 0.30 m does not reach over it: it does not lie there. The bundle is judged
// by the larger figure.
func TestPickupBundles(t *testing.T) {
	fits := fitsOf(t, "../../examples/pickup", "pickup.toml")
	grommet, trunk := fits["N0-G1R"], fits["N5-N6"]
	assert.Len(t, grommet.Wires, 38)
	assert.InDelta(t, 13.03, grommet.DiameterMM, 0.05)
	assert.InDelta(t, 12.2, grommet.PackedMM, 0.15)
	assert.InDelta(t, 13.5, grommet.ThickMM, 0.6, "the estimate by hand, 13 to 14 mm")
	require.Len(t, grommet.Holes, 1)
	assert.Equal(t, bundle.Passes, grommet.Holes[0].Verdict, "18 mm")
	assert.Len(t, trunk.Wires, 32)
	assert.InDelta(t, 15.07, trunk.DiameterMM, 0.05)
	assert.InDelta(t, 14.2, trunk.PackedMM, 0.2)
	assert.InDelta(t, 15, trunk.ThickMM, 0.5, "the estimate by hand, 15 mm")
	for name, f := range fits {
		if len(f.Wires) >= 7 {
			assert.Less(t, f.PackedMM, f.DiameterMM, "the formula allows for hands: %s", name)
		}
		assert.GreaterOrEqual(t, f.PackedMM, 0.86*f.DiameterMM, name)
	}
}

const oneTrunk = `[zone.bay]
title = "Engine bay"
[zone.cab]
ambient = "60 C"
[place]
A = { zone = "bay", hole = "8 mm" }
B = { zone = "cab", hole = "4.5 mm" }
C = { zone = "cab", hole = "2 mm" }
[path]
A-B = { between = ["A", "B"], length = "1 m" }
B-C = { between = ["B", "C"], length = "1 m", flex = true, cover = "heat sleeve", known-from = "guess" }
[part]
F1 = { kind = "fuse", rating = "5 A", at = "A" }
E1 = { kind = "lamp", load = "5 W", at = "B" }
E2 = { kind = "lamp", load = "5 W", at = "C" }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
W2 = { from = "F1:1", to = "E2:1", size = "18 AWG" }
W3 = { from = "F1:1", to = "E2:2" }
`

// TestFits by hand. A-B holds two wires of 2.0 mm and one without a size: packed 4.0 mm, by the formula 3.39. It wants a
// hole of 4.0 / 0.85 = 4.71 mm, so 8 mm passes and 4.5 mm is tight. Bends: 4 x 4.0 against 10 x 2.0 mm. Clips every 250 mm
// in an engine bay: 4. Tube: 4.0 <= 0.8 x 6. Shrink: 4.0 x 1.15 = 4.6 <= 4.8, which recovers to 2.4 <= 3.2.
func TestFits(t *testing.T) {
	n, _ := netlist.Parse("t.toml", []byte(oneTrunk))
	fits := bundle.Fits(n, route.New(n))
	a, b := fits[0], fits[1]
	assert.InDelta(t, 4, a.PackedMM, 1e-9)
	assert.InDelta(t, 3.394, a.DiameterMM, 1e-3)
	assert.InDelta(t, 4, a.ThickMM, 1e-9)
	assert.Equal(t, 1, a.Unsized)
	assert.InDelta(t, 4.706, a.LeastHoleMM, 1e-3)
	require.Len(t, a.Holes, 2)
	assert.Equal(t, bundle.Passes, a.Holes[0].Verdict)
	assert.Equal(t, bundle.Tight, a.Holes[1].Verdict)
	assert.Equal(t, "tight", a.Holes[1].Verdict.String())
	assert.InDelta(t, 20, a.Bend.RadiusMM(), 1e-9, "the aircraft custom is the stricter")
	assert.InDelta(t, 16, a.Bend.PracticeMM, 1e-9)
	assert.Equal(t, bundle.Clips{Engine: true, PitchMM: 250, Count: 4}, a.Clips)
	assert.Equal(t, bundle.Tube, a.Cover.Kind)
	assert.False(t, a.Cover.Stated)
	assert.InDelta(t, 6, a.Cover.TubeMM, 1e-9)
	assert.InDelta(t, 4.8, a.Cover.ShrinkMM, 1e-9)

	assert.InDelta(t, 2, b.ThickMM, 1e-9, "one wire is as thick as it is")
	assert.InDelta(t, 20, b.Bend.RadiusMM(), 1e-9, "10 times in a place that flexes")
	assert.Equal(t, bundle.Sleeve, b.Cover.Kind)
	assert.True(t, b.Cover.Stated)
	assert.True(t, b.Guessed())
	assert.Equal(t, bundle.Clips{PitchMM: 450, Count: 3}, b.Clips)
	assert.Equal(t, bundle.Tight, b.Holes[1].Verdict)
}

// TestShrinkAndTube: what is chosen passes over and grips, what is not chosen has no smaller size that does.
func TestShrinkAndTube(t *testing.T) {
	for thick := 0.8; thick < 50; thick += 0.1 {
		for _, ratio := range []float64{2, 3} {
			if size, ok := bundle.ShrinkFor(thick, ratio); ok {
				assert.GreaterOrEqual(t, size, 1.15*thick)
				assert.LessOrEqual(t, size/ratio, 0.8*thick)
			} else {
				assert.Equal(t, 2.0, ratio, "3:1 covers every thickness: %.1f", thick)
			}
		}
		if bore, outside, ok := bundle.TubeFor(thick); ok {
			assert.LessOrEqual(t, thick/bore, bundle.MostTubeFill+1e-9)
			assert.Greater(t, outside, bore)
		} else {
			assert.Greater(t, thick, 38.0)
		}
	}
}

// TestGramsPerMetre against the masses that sheets of thin-wall vehicle cable print, about 6, 9, 17, 26 and 41 g/m for 0.5,
// 0.75, 1.5, 2.5 and 4 mm2 (common practice, from memory), within a sixth. Copper alone: 1 mm2 is 8.89 g/m.
func TestGramsPerMetre(t *testing.T) {
	for text, want := range map[string]float64{"0.5 mm2": 6, "0.75 mm2": 9, "1.5 mm2": 17, "2.5 mm2": 26, "4 mm2": 41} {
		size, err := unit.ParseSize(text)
		require.NoError(t, err)
		got := bundle.GramsPerMetre(size, "metric", conductor.Copper, 105)
		assert.InEpsilon(t, want, got, 1.0/6, text)
		assert.Greater(t, got, 8.89*size.AreaMM2(), text)
		assert.Less(t, bundle.GramsPerMetre(size, "metric", conductor.Aluminium, 105), got, text)
		assert.Less(t, bundle.GramsPerMetre(size, "metric", conductor.CopperClad, 125), got, text)
		assert.Greater(t, bundle.GramsPerMetre(size, "metric", conductor.Copper, 200), got, text)
	}
	assert.Zero(t, bundle.GramsPerMetre(unit.Size{}, "metric", conductor.Copper, 105))
}

// TestSevenFitIntoThreeDiameters: the hole below which Thick searches is one that every packing of so few circles keeps.
func TestSevenFitIntoThreeDiameters(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 7))
	for range 60 {
		diameters, most := make([]float64, 3+random.IntN(5)), 0.0
		for i := range diameters {
			diameters[i] = 1 + 4*random.Float64()*random.Float64()
			most = max(most, diameters[i])
		}
		assert.LessOrEqual(t, bundle.Pack(diameters).DiameterMM, 3*most*(1+1e-6), "%v", diameters)
	}
}

// TestThickIsWhatFitsSay: the quick answer of the checks is that of the sheets, for every bundle of the examples.
func TestThickIsWhatFitsSay(t *testing.T) {
	for _, name := range []string{"pickup", "boat", "camper", "motorcycle"} {
		n, problems, err := netlist.Load(os.DirFS("../../examples/"+name), name+".toml")
		require.NoError(t, err)
		require.False(t, problems.HasErrors())
		for _, f := range bundle.Fits(n, route.New(n)) {
			assert.InDelta(t, f.ThickMM, bundle.Thick(f.Wires), 0.02*f.ThickMM, "%s %s", name, f.Path.Name.Text)
			assert.LessOrEqual(t, bundle.Thick(f.Wires), f.ThickMM*1.001, "%s %s", name, f.Path.Name.Text)
		}
	}
}
