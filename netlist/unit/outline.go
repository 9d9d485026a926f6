package unit

import (
	"fmt"
	"strings"
)

// An Outline is how large a thing is from the front: width and height in m, and how deep, 0 where that is not said.
type Outline struct{ Width, Height, Depth float64 }

// IsSet reports whether there is an outline at all.
func (o Outline) IsSet() bool { return o.Width > 0 && o.Height > 0 }

// AreaMM2 is width times height in mm2.
func (o Outline) AreaMM2() float64 { return o.Width * o.Height * 1e6 }

// String writes the outline in millimetres, as ParseOutline reads it.
func (o Outline) String() string {
	text := Format(o.Width*1000) + " x " + Format(o.Height*1000)
	if o.Depth > 0 {
		text += " x " + Format(o.Depth*1000)
	}
	return text + " mm"
}

// leastOutline and mostOutline are what sizes in a vehicle lie between, in m: a slip of the pen lies beyond.
const leastOutline, mostOutline = 0.0005, 10

// ParseOutline reads "28 x 28 mm" or "200 x 120 x 60 mm": two or three lengths with one unit behind them. The sign between
// them is the letter x or the sign of multiplication.
func ParseOutline(text string) (Outline, error) {
	wrong := fmt.Errorf("%q is not a size: write width x height with the unit behind, such as \"28 x 28 mm\"", text)
	parts := strings.Split(strings.NewReplacer("×", "x", "X", "x").Replace(text), "x")
	if len(parts) != 2 && len(parts) != 3 {
		return Outline{}, wrong
	}
	_, name, err := split(parts[len(parts)-1])
	if err != nil || name == "" {
		return Outline{}, wrong
	}
	var lengths [3]float64
	for i, part := range parts {
		if part = strings.TrimSpace(part); i < len(parts)-1 {
			if _, own, err := split(part); err != nil || own != "" && own != name {
				return Outline{}, wrong
			}
			part = strings.TrimSpace(strings.TrimSuffix(part, name)) + " " + name
		}
		if lengths[i], _, err = Parse(part, Length); err != nil {
			return Outline{}, wrong
		}
		if lengths[i] < leastOutline || lengths[i] > mostOutline {
			return Outline{}, fmt.Errorf("%q is out of range: a side lies between 0.5 mm and 10 m", text)
		}
	}
	return Outline{lengths[0], lengths[1], lengths[2]}, nil
}
