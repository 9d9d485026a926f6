package conductor

import (
	"math"

	"ferrule/netlist/unit"
)

// AdiabaticK returns k of S = I sqrt(t)/k in A s^(1/2)/mm2, for a conductor that a short circuit heats from startC to endC, in
// degrees Celsius, with no heat lost: k = 226 sqrt(ln((endC + 234.5)/(startC + 234.5))) for copper, 148 and 228 for aluminium
// (IEC 60949:1988; the formula from memory, its results 115 and 143 read). Copper-clad aluminium takes aluminium's. It holds for
// 0.1 s to 5 s; a longer fault loses heat, and k is then on the safe side. It is 0 when endC is not above startC.
func AdiabaticK(metal Metal, startC, endC float64) float64 {
	d := metal.data()
	start, end := float64(held(unit.Celsius(startC))), float64(held(unit.Celsius(endC)))
	if !(end > start) || math.IsNaN(endC) {
		return 0
	}
	return d.adiabatic * math.Sqrt(math.Log((end+d.zeroOffset)/(start+d.zeroOffset)))
}

// crossLinked is the lowest insulation temperature at which a vehicle wire is sure to be cross-linked and not PVC: SAE J1128 SXL,
// GXL and TXL are 125 C. PVC is made up to 105 C, and what lies between may be either.
const crossLinked unit.Celsius = 125

// ShortCircuitLimit returns the temperature to which a short circuit may heat the conductor, by the temperature class of its
// insulation: 160 C below 125 C (PVC), 250 C from 125 C (cross-linked polyethylene and better). The two end temperatures are
// those of IEC 60364-4-43 table 43A; which of them belongs to a class is a choice made here, on the safe side: a 120 C wire that
// is cross-linked is held to PVC's. 250 C is not exceeded for insulation that would bear more, such as silicone.
func ShortCircuitLimit(insulation unit.Celsius) (unit.Celsius, Source) {
	if insulation >= crossLinked {
		return 250, Source{"IEC 60364-4-43:2008 table 43A, cross-linked polyethylene; chosen for insulation of 125 C and more", false}
	}
	return 160, Source{"IEC 60364-4-43:2008 table 43A, PVC; chosen for insulation below 125 C", false}
}

// Withstand returns the energy that a conductor survives, (k area)^2 in A2s, from its area in mm2 and the k of AdiabaticK. A
// protective device must let through less: I^2 t at the largest fault current and at the smallest, where it is slow.
func Withstand(areaMM2, k float64) (ampereSquaredSeconds float64) {
	return (k * areaMM2) * (k * areaMM2)
}

// PreeceCurrent returns the steady current that melts a bare round wire in free air: I = a d^1.5 (W. H. Preece, 1888), a = 10244
// A/in^1.5 for copper. It is no carrying capacity: the metal melts. areaMM2 is the area of the metal; 0 for none.
func PreeceCurrent(metal Metal, areaMM2 float64) unit.Ampere {
	if !(areaMM2 > 0) {
		return 0
	}
	const mmPerInch = 25.4
	diameterInch := math.Sqrt(4*areaMM2/math.Pi) / mmPerInch
	return unit.Ampere(metal.data().preece * math.Pow(diameterInch, 1.5))
}

// OnderdonkCurrent returns the current that melts a copper wire within the given time with no heat lost:
// I = A sqrt(log10((1083 - Ta)/(234 + Ta) + 1)/(33 t)), A in circular mils (I. M. Onderdonk; Standard Handbook for Electrical
// Engineers, 1940s). It is no carrying capacity: the metal melts. It is meant for 10 s at most; 0 for no area or no time.
func OnderdonkCurrent(areaMM2 float64, time unit.Second, ambient unit.Celsius) unit.Ampere {
	if !(areaMM2 > 0) || !(time > 0) {
		return 0
	}
	const mm2PerCircularMil = math.Pi / 4 * 0.0254 * 0.0254
	t := float64(held(ambient))
	heat := math.Log10((float64(melting)-t)/(234+t) + 1)
	return unit.Ampere(areaMM2 / mm2PerCircularMil * math.Sqrt(heat/(33*float64(time))))
}
