package bundle

import (
	"math"

	"ferrule/netlist/conductor"
	"ferrule/netlist/unit"
)

// Densities in g/cm3.
const (
	copperDensity     = 8.89  // IEC 60028:1925, annealed copper at 20 C; from memory
	aluminiumDensity  = 2.703 // IEC 60889:1987; from memory
	copperCladDensity = 3.32  // ASTM B566, 10 % copper by volume; from memory
	pvcDensity        = 1.40  // soft PVC of cables, 1.3 to 1.5: common practice
	polyolefinDensity = 1.20  // cross-linked, flame retardant, 1.0 to 1.4: common practice
	fluoroDensity     = 1.75  // ETFE 1.7, FEP 2.15: common practice
)

// strandFill is the share of metal in the circle around a strand of seven equal wires, 7/9: the rest is air.
const strandFill = 7.0 / 9

// GramsPerMetre is the mass of one metre of insulated wire: its metal, and the ring of insulation between the strand and
// the outside diameter. The insulation is taken by its temperature class: PVC up to 105 C, cross-linked polyolefin up to
// 150 C, a fluoropolymer above. An estimate, since diameter and insulation are; 0 for a size that is not made.
func GramsPerMetre(size unit.Size, cable string, metal conductor.Metal, insulation unit.Celsius) float64 {
	outside, _ := conductor.OutsideDiameter(size)
	area, _ := conductor.AreaMM2(size, cable)
	ring := max(0, math.Pi/4*outside*outside-area/strandFill)
	return area*metalDensity(metal) + ring*insulationDensity(insulation)
}

func metalDensity(metal conductor.Metal) float64 {
	switch metal {
	case conductor.Copper:
		return copperDensity
	case conductor.Aluminium:
		return aluminiumDensity
	}
	return copperCladDensity
}

func insulationDensity(class unit.Celsius) float64 {
	switch {
	case class <= 105:
		return pvcDensity
	case class <= 150:
		return polyolefinDensity
	}
	return fluoroDensity
}
