package conductor

import "ferrule/netlist/unit"

// A Metal is what the conductor is made of. The zero value is copper, which nearly every vehicle wire is.
type Metal uint8

// The metals. CopperClad is copper-clad aluminium with a tenth of copper by volume, the poorest of the usual classes.
const (
	Copper Metal = iota
	Aluminium
	CopperClad
)

// A metalData is what is known of a metal.
type metalData struct {
	name              string
	resistivity       float64 // ohm mm2/m at 20 C
	resistivitySource Source
	coefficient       float64 // 1/K at 20 C
	coefficientSource Source
	adiabatic         float64 // A s^(1/2)/mm2, the factor before the root in IEC 60949
	zeroOffset        float64 // C, the reciprocal of the coefficient at 0 C, IEC 60949
	preece            float64 // A/in^1.5
}

var (
	sourceIACS     = Source{"International Annealed Copper Standard (IEC 28:1925; NBS Handbook 100, 1966): 1/58 ohm mm2/m at 20 C", true}
	sourceHandbook = Source{"power engineering handbook, 2001, p. 970: conductor properties at 20 C", true}
	sourceB566     = Source{"ASTM B566 (2004, confirmed 2021), 10 % copper by volume: at least 62.9 % of the conductivity of annealed copper", true}
)

// metals holds the data by Metal. Resistivities and coefficients are rows of testdata/reference/temperature.csv; the adiabatic
// constants are IEC 60949:1988, where copper-clad wire is not listed and takes aluminium's, which its own share of copper can
// only better. Preece's constants (1888) are for bare wire in air; there is none for copper-clad wire, and aluminium's is less.
var metals = [...]metalData{
	Copper:     {"copper", 1.0 / 58, sourceIACS, 0.00393, sourceHandbook, 226, 234.5, 10244},
	Aluminium:  {"aluminium", 0.02874, sourceHandbook, 0.00403, sourceHandbook, 148, 228, 7585},
	CopperClad: {"copper-clad aluminium", 0.02741, sourceB566, 0.004, Source{"copper-clad aluminium: approximate, from memory", false}, 148, 228, 7585},
}

// data returns the row of a metal; a number that is no Metal counts as copper-clad aluminium, the poorest.
func (m Metal) data() metalData { return metals[min(m, CopperClad)] }

// ParseMetal returns the metal of a word of the netlist language; an empty word is copper. A word that is no metal is false, and
// counts as copper-clad aluminium, the poorest.
func ParseMetal(word string) (metal Metal, known bool) {
	if word == "" {
		return Copper, true
	}
	for m := range metals {
		if metals[m].name == word {
			return Metal(m), true
		}
	}
	return CopperClad, false
}

// String returns the name of the metal.
func (m Metal) String() string { return m.data().name }

// Resistivity returns the resistivity of the solid metal at 20 C in ohm mm2/m.
func (m Metal) Resistivity() (ohmMM2PerMetre float64, source Source) {
	return m.data().resistivity, m.data().resistivitySource
}

// Coefficient returns the temperature coefficient of resistance at 20 C in 1/K.
func (m Metal) Coefficient() (perKelvin float64, source Source) {
	return m.data().coefficient, m.data().coefficientSource
}

// The temperatures between which the linear law of resistance is used. Copper's resistance leaves the line below about -200 C,
// and above the melting point there is no conductor.
const (
	coldest unit.Celsius = -200
	melting unit.Celsius = 1083 // copper; 1084.6 C in modern tables (memory)
)

// held puts a temperature between coldest and melting; what is not a number becomes melting, the worst for every use here.
func held(t unit.Celsius) unit.Celsius {
	if !(t <= melting) {
		return melting
	}
	return max(t, coldest)
}

// ResistanceAt takes a resistance at 20 C to another temperature: R = R20 (1 + a (T - 20)), a = 0.00393/K for copper. The
// unit of ohm20 is the unit of the result. AC 43.13-1B writes the same as (234.5 + T)/254.5.
func ResistanceAt(ohm20 float64, celsius unit.Celsius, metal Metal) float64 {
	return ohm20 * (1 + metal.data().coefficient*float64(held(celsius)-20))
}
