package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// A Size is the size of a conductor as it is bought: by AWG name or by metric area. The zero Size is not set.
type Size struct {
	awg    int     // AWG number: 20; 0 is 1/0, -1 is 2/0, -3 is 4/0; meaningful when areaMM2 is 0 and set is true
	mm2    float64 // nominal area; 0 when named by AWG
	isSize bool
}

// AWG makes a size from an AWG number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.
func AWG(number int) Size { return Size{awg: number, isSize: true} }

// MM2 makes a size from a nominal area in square millimetres.
func MM2(area float64) Size { return Size{mm2: area, isSize: true} }

// IsSet reports whether a size was given at all.
func (s Size) IsSet() bool { return s.isSize }

// ByAWG reports whether the size is named by AWG, and the number.
func (s Size) ByAWG() (int, bool) { return s.awg, s.isSize && s.mm2 == 0 }

// AreaMM2 returns the nominal copper area in mm2. For AWG it is the area of the solid round wire of ASTM B258:
// d = 0.127 mm x 92^((36-n)/39). Stranded vehicle cable sold under an AWG name may have less copper.
func (s Size) AreaMM2() float64 {
	if !s.isSize || s.mm2 > 0 {
		return s.mm2
	}
	if at := s.awg - thickestAWG; at >= 0 && at < len(awgAreas) {
		return awgAreas[at]
	}
	return awgArea(s.awg)
}

func awgArea(number int) float64 {
	d := 0.127 * math.Pow(92, float64(36-number)/39)
	return math.Pi / 4 * d * d
}

// awgAreas are the areas from the thickest to the thinnest, which are asked for again and again.
var awgAreas = func() (areas [thinnestAWG - thickestAWG + 1]float64) {
	for i := range areas {
		areas[i] = awgArea(thickestAWG + i)
	}
	return areas
}()

// String prints the size as it is written: "14 AWG", "2/0 AWG", "2.5 mm2".
func (s Size) String() string {
	switch {
	case !s.isSize:
		return ""
	case s.mm2 > 0:
		return Format(s.mm2) + " mm2"
	case s.awg <= 0:
		return strconv.Itoa(1-s.awg) + "/0 AWG"
	}
	return strconv.Itoa(s.awg) + " AWG"
}

// Short prints the size for a wire in a drawing: the number alone for AWG, the area with "mm²" otherwise.
func (s Size) Short() string {
	if s.mm2 > 0 {
		return Format(s.mm2) + "mm²"
	}
	return strings.TrimSuffix(s.String(), " AWG")
}

// thinnest and thickest are the sizes that vehicle cable is sold in: 30 AWG to 4/0, 0.05 to 300 mm2.
const (
	thinnestAWG, thickestAWG = 30, -3
	thinnestMM2, thickestMM2 = 0.05, 300
)

// ParseSize reads "14 AWG", "2/0 AWG" or "2.5 mm2".
func ParseSize(text string) (Size, error) {
	number, name, _ := strings.Cut(strings.TrimSpace(text), " ")
	name = strings.TrimSpace(name)
	if name == "" {
		cut := strings.IndexAny(number, "Aam")
		if cut < 0 {
			return Size{}, fmt.Errorf(`%q has no unit: write "14 AWG" or "2.5 mm2"`, text)
		}
		number, name = number[:cut], number[cut:]
	}
	switch name {
	case "AWG", "awg":
		return parseAWG(text, number)
	case "mm2", "mm²":
		area, err := strconv.ParseFloat(number, 64)
		if err != nil || !(area >= thinnestMM2 && area <= thickestMM2) {
			return Size{}, fmt.Errorf("%q is not a conductor size: 0.05 mm2 to 300 mm2 are made", text)
		}
		return MM2(area), nil
	}
	return Size{}, fmt.Errorf(`%q is not a conductor size: write "14 AWG" or "2.5 mm2"`, text)
}

func parseAWG(text, number string) (Size, error) {
	refused := fmt.Errorf("%q is not a conductor size: 30 AWG to 1 AWG and 1/0 to 4/0 AWG are made", text)
	if zeros, ok := strings.CutSuffix(number, "/0"); ok {
		n, err := strconv.Atoi(zeros)
		if err != nil || n < 1 || 1-n < thickestAWG {
			return Size{}, refused
		}
		return AWG(1 - n), nil
	}
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 || n > thinnestAWG {
		return Size{}, refused
	}
	return AWG(n), nil
}
