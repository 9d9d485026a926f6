// Package unit reads and prints the quantities of a harness: "15 A", "1.2 m", "14 AWG".
//
// It takes the text of a quantity with its unit and gives a number in SI (or in the unit that the name of its type says).
// Each dimension is a type of its own, so that volts cannot be added to amperes. It imports nothing of ours.
package unit

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// The dimensions that a harness is described in. Each holds the number in the unit of its name.
type (
	Volt    float64
	Ampere  float64
	Ohm     float64
	Watt    float64
	Metre   float64
	Second  float64
	Celsius float64
	AmpHour float64
	Farad   float64
	Ratio   float64 // 1 is 100 %
)

// A Dimension names what a quantity measures.
type Dimension uint8

// The dimensions, in the order in which messages list them.
const (
	None Dimension = iota
	Voltage
	Current
	Resistance
	Power
	Length
	Time
	Temperature
	Charge
	Capacitance
	Share
)

// A scale says how a unit maps to the unit of its dimension: value*factor + offset.
type scale struct {
	dimension      Dimension
	factor, offset float64
}

// units lists every unit that may be written. The inch and the foot are exact (international yard and pound agreement,
// 1959); Fahrenheit is exact by definition.
var units = map[string]scale{
	"V": {Voltage, 1, 0}, "mV": {Voltage, 1e-3, 0},
	"A": {Current, 1, 0}, "mA": {Current, 1e-3, 0}, "uA": {Current, 1e-6, 0}, "µA": {Current, 1e-6, 0},
	"ohm": {Resistance, 1, 0}, "mohm": {Resistance, 1e-3, 0}, "kohm": {Resistance, 1e3, 0}, "Mohm": {Resistance, 1e6, 0},
	"Ω": {Resistance, 1, 0}, "mΩ": {Resistance, 1e-3, 0}, "kΩ": {Resistance, 1e3, 0}, "MΩ": {Resistance, 1e6, 0},
	"W": {Power, 1, 0}, "mW": {Power, 1e-3, 0}, "kW": {Power, 1e3, 0},
	"m": {Length, 1, 0}, "mm": {Length, 1e-3, 0}, "cm": {Length, 1e-2, 0}, "in": {Length, 0.0254, 0}, "ft": {Length, 0.3048, 0},
	"s": {Time, 1, 0}, "ms": {Time, 1e-3, 0}, "min": {Time, 60, 0}, "h": {Time, 3600, 0},
	"C": {Temperature, 1, 0}, "°C": {Temperature, 1, 0}, "F": {Temperature, 5.0 / 9, -160.0 / 9}, "°F": {Temperature, 5.0 / 9, -160.0 / 9},
	"Ah": {Charge, 1, 0},
	"pF": {Capacitance, 1e-12, 0}, "nF": {Capacitance, 1e-9, 0}, "uF": {Capacitance, 1e-6, 0}, "µF": {Capacitance, 1e-6, 0}, "mF": {Capacitance, 1e-3, 0},
	"%": {Share, 1e-2, 0},
}

// examples shows one quantity of each dimension, for messages.
var examples = [...]string{
	Voltage: `"12 V"`, Current: `"15 A"`, Resistance: `"85 ohm"`, Power: `"55 W"`, Length: `"1.2 m"`, Time: `"0.2 s"`,
	Temperature: `"85 C"`, Charge: `"60 Ah"`, Capacitance: `"470 uF"`, Share: `"50 %"`,
}

var dimensionNames = [...]string{
	Voltage: "a voltage", Current: "a current", Resistance: "a resistance", Power: "a power", Length: "a length", Time: "a time",
	Temperature: "a temperature", Charge: "a battery capacity", Capacitance: "a capacitance", Share: "a share",
}

// String names the dimension with its article: "a current".
func (d Dimension) String() string { return dimensionNames[d] }

// Example returns one quantity of the dimension, in quotes, as it is written in a netlist.
func (d Dimension) Example() string { return examples[d] }

// InUnit writes a number of the dimension with its base unit: "100 m"; of a share in per cent.
func (d Dimension) InUnit(value float64) string {
	if d == Share {
		return Format(100*value) + " %"
	}
	return Format(value) + " " + baseUnits[d]
}

var baseUnits = [...]string{
	Voltage: "V", Current: "A", Resistance: "ohm", Power: "W", Length: "m", Time: "s", Temperature: "C", Charge: "Ah", Capacitance: "F", Share: "",
}

// Units returns the unit names of a dimension, sorted.
func (d Dimension) Units() []string {
	var out []string
	for name, s := range units {
		if s.dimension == d {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// Parse reads "NUMBER UNIT" and returns the number in the unit of its dimension and which of the wanted dimensions it
// has. The error says in plain words what is wrong and what would be right.
func Parse(text string, want ...Dimension) (float64, Dimension, error) {
	number, name, err := split(text)
	if err != nil {
		return 0, None, fmt.Errorf("%q is not a quantity: write a number and a unit, such as %s", text, examplesOf(want))
	}
	s, known := units[name]
	if !known && strings.HasPrefix(name, ",") {
		return 0, None, fmt.Errorf("%q has a comma for its decimals: write a point, such as %s", text, examplesOf(want))
	}
	if !known {
		if name == "" {
			return 0, None, fmt.Errorf("%q has no unit: write for example %s", text, examplesOf(want))
		}
		return 0, None, fmt.Errorf("%q has no unit that is known: write for example %s", text, examplesOf(want))
	}
	if !slices.Contains(want, s.dimension) {
		return 0, None, fmt.Errorf("%q is %s; here stands %s", text, s.dimension, describe(want))
	}
	value := number*s.factor + s.offset
	if math.IsInf(value, 0) || math.IsNaN(value) {
		return 0, None, fmt.Errorf("%q is too large a number", text)
	}
	return value, s.dimension, nil
}

// split parts the number from its unit. Signs and decimals are read; infinity, not-a-number and hexadecimal are not.
func split(text string) (number float64, name string, err error) {
	trimmed := strings.TrimSpace(text)
	end := 0
	for end < len(trimmed) && strings.IndexByte("+-.0123456789eE", trimmed[end]) >= 0 {
		if c := trimmed[end]; (c == 'e' || c == 'E') && (end+1 >= len(trimmed) || strings.IndexByte("+-0123456789", trimmed[end+1]) < 0) {
			break
		}
		end++
	}
	number, err = strconv.ParseFloat(trimmed[:end], 64)
	return number, strings.TrimSpace(trimmed[end:]), err
}

func examplesOf(want []Dimension) string {
	words := make([]string, len(want))
	for i, d := range want {
		words[i] = d.Example()
	}
	return strings.Join(words, " or ")
}

func describe(want []Dimension) string {
	words := make([]string, len(want))
	for i, d := range want {
		words[i] = fmt.Sprintf("%s, such as %s", d, d.Example())
	}
	return strings.Join(words, " or ")
}

// Format prints a number with up to three significant digits after which nothing but noise follows, without exponent.
func Format(value float64) string {
	if value == 0 {
		return "0"
	}
	digits := 2 - int(math.Floor(math.Log10(math.Abs(value))))
	text := strconv.FormatFloat(value, 'f', min(max(digits, 0), 6), 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// String prints the length as a bench reads it: millimetres below one metre, else metres to the centimetre.
func (m Metre) String() string {
	if m < 1 {
		return strconv.FormatFloat(math.Round(float64(m)*1000), 'f', -1, 64) + " mm"
	}
	return strconv.FormatFloat(float64(m), 'f', 2, 64) + " m"
}

// String prints amperes, or milliamperes below one tenth.
func (a Ampere) String() string {
	if a != 0 && math.Abs(float64(a)) < 0.1 {
		return Format(float64(a)*1000) + " mA"
	}
	return Format(float64(a)) + " A"
}

// String prints volts.
func (v Volt) String() string { return Format(float64(v)) + " V" }

// String prints watts.
func (w Watt) String() string { return Format(float64(w)) + " W" }

// String prints ohms, or milliohms below one tenth.
func (r Ohm) String() string {
	switch {
	case r != 0 && math.Abs(float64(r)) < 0.1:
		return Format(float64(r)*1000) + " mohm"
	case r >= 1000:
		return Format(float64(r)/1000) + " kohm"
	}
	return Format(float64(r)) + " ohm"
}

// String prints degrees Celsius.
func (c Celsius) String() string { return Format(float64(c)) + " C" }
