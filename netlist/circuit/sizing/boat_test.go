package sizing

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/netlist/unit"
)

// 33 CFR 183.425 (d), (e): not thinner than 16 AWG by itself, 18 AWG in a sheath (testdata/reference/harness-rules.csv, verified).
func TestSmallestSizesOfBoats(t *testing.T) {
	for _, c := range []struct {
		practice, wire string
		least          unit.Size
	}{
		{"road", "", unit.AWG(22)},
		{"boat", "", unit.AWG(16)},
		{"boat", ", sheathed = true", unit.AWG(18)},
	} {
		text := strings.Replace(fill(simple, "0.1 A", `size = "22 AWG"`+c.wire), "[harness]", "[harness]\npractice = \""+c.practice+"\"", 1)
		text = strings.Replace(text, `rating = "15 A"`, `rating = "3 A"`, 1)
		w := report(t, text, Options{}).wire(t, "1b")
		assert.Equal(t, c.least, w.Least, "%s%s", c.practice, c.wire)
		if c.practice == "boat" {
			assert.Equal(t, TooThin, w.Verdict)
			assert.Equal(t, Mechanical, w.Decides.Rule)
			assert.Contains(t, w.Decides.Source, "33 CFR 183.425")
		}
	}
}

// A terminal takes 0.6 of the current of its data sheet (common practice), whatever wire is crimped into it, and its seal closes on a
// range of insulation: 16 AWG thin wall has 2.3 mm, 18 AWG 2.0 mm (common practice).
func TestTerminalsLimitSizeAndCurrent(t *testing.T) {
	const terminal = `
[terminal.T]
wire = ["22 AWG", "14 AWG"]
seal = ["1.4 mm", "2.1 mm"]
rating = "10 A"
[part]
`
	for load, over := range map[string]bool{"5 A": false, "7 A": true} {
		text := strings.Replace(fill(simple, load, `size = "16 AWG"`), "[part]\n", terminal, 1)
		text = strings.Replace(text, `E1 = { kind = "lamp",`, `E1 = { kind = "lamp", terminal = "T",`, 1)
		w := report(t, text, Options{}).wire(t, "1b")
		assert.Equal(t, Misfit, w.Verdict, load)
		assert.Contains(t, w.Decides.What, "the seal of T at E1:1 takes 1.4 to 2.1 mm")
		assert.Equal(t, over, len(w.OverRated()) == 1, load)
		if over {
			assert.Contains(t, w.OverRated()[0].What, "T at E1:1 carries 7 A for good; practice takes 6 A, 0.6 of its 10 A")
		}
	}
}
