package all_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/rules/rulestest"
)

// TestGroundAndSignalMistakesInThePickup makes one mistake at a time about the way back, the data bus, sensors or outputs,
// and holds what is said of it to the words pointed at and the numbers. Other rules may see the same mistake in their way.
func TestGroundAndSignalMistakesInThePickup(t *testing.T) {
	cases := []struct {
		name     string
		edits    []edit
		severity diag.Severity
		rule     string
		words    string
		refs     []string
		has      []string // in the message
	}{
		{
			// Three of 120 ohm in parallel are 40 ohm; ISO 11898-2 wants two, 60 ohm.
			name:     "120 ohm added in the diagnostic socket",
			edits:    []edit{{"gauges.toml", "kind = \"module\"\ntitle = \"Diagnostic socket\"", "kind = \"module\"\nresistors = [{ between = \"X6:3-X6:4\", value = \"120 ohm\" }]\ntitle = \"Diagnostic socket\""}},
			severity: diag.Error, rule: "bus-terminator", words: `"120 ohm"`, refs: []string{"DIAG", "CAN-H", "CAN-L", "ECU", "CLU"},
			has: []string{"three terminators", "40 ohm", "60 ohm"},
		},
		{
			name:     "the terminator of the cluster left out",
			edits:    []edit{{"gauges.toml", `  { between = "X5:15-X5:16", value = "120 ohm" },`, ``}},
			severity: diag.Error, rule: "bus-terminator", words: `"120 ohm"`, refs: []string{"ECU"}, has: []string{"one terminator", "120 ohm"},
		},
		{
			// SAE J2284: 1 m at 500 kbit/s.
			name:     "the diagnostic socket moved: a stub of 1.4 m",
			edits:    []edit{{"gauges.toml", `to = "X6:3",   size`, `to = "X6:3",   length = "1.4 m", size`}, {"gauges.toml", `to = "X6:4",   size`, `to = "X6:4",   length = "1.4 m", size`}},
			severity: diag.Warning, rule: "bus-stub", words: `50d`, refs: []string{"DIAG", "50d"}, has: []string{"1.40 m", "500 kbit/s", "1.00 m"},
		},
		{
			name:     "the strap between engine and body deleted",
			edits:    []edit{{"power.toml", `2c  = { from = "G1:2",    to = "G9:1",`, `# 2c  = {`}},
			severity: diag.Error, rule: "missing-strap", words: "2a", refs: []string{"2a", "STM1", "engine"},
			has: []string{"with 2a lifted", "200 A", "throttle cable"},
		},
		{
			name:     "the crankshaft sensor crossed at the controller",
			edits:    []edit{{"sensors.toml", `to = "XB:9",   size = "22 AWG", color = "WH",    net = "CRANK-PLUS"`, `to = "XB:10",   size = "22 AWG", color = "WH",    net = "CRANK-MINUS"`}, {"sensors.toml", `to = "XB:10",  size = "22 AWG", color = "BK",    net = "CRANK-MINUS"`, `to = "XB:9",  size = "22 AWG", color = "BK",    net = "CRANK-PLUS"`}},
			severity: diag.Error, rule: "crossed-pair", words: `"XB:10"`, refs: []string{"CKP", "CKP:1", "XB:10", "34a"}, has: []string{"CKP:1 (+)", "XB:10 (-)"},
		},
		{
			name:     "the crankshaft sensor on loose wires",
			edits:    []edit{{"sensors.toml", `CRANK  = { kind = "screened pair", wires = ["34a", "35a"], screen = "SP7:1", title = "Crankshaft sensor" }`, ``}},
			severity: diag.Warning, rule: "untwisted-pair", words: `34a`, refs: []string{"CKP", "34a", "35a"}, has: []string{"not twisted or screened"},
		},
		{
			name:     "the screens no longer taken on to the controller",
			edits:    []edit{{"sensors.toml", `36c = { from = "SP7:2",  to = "XB:11", `, `36c = { from = "SP7:2",  to = "SP7:3", `}},
			severity: diag.Warning, rule: "open-screen", words: `"SP7:1"`, refs: []string{"CRANK", "SP7:1"}, has: []string{"leads to no module"},
		},
		{
			name:     "injectors fed from the key, not from the main relay",
			edits:    []edit{{"engine.toml", `12a = { from = "F6:2", `, `12a = { from = "F34:2",`}},
			severity: diag.Error, rule: "unkilled-feed", words: `"INJ1:1"`, refs: []string{"INJ1", "S1", "F34"}, has: []string{"injector INJ1", "no controller can switch off"},
		},
		{
			name:     "the oxygen sensor's heater returned over sensor ground 2",
			edits:    []edit{{"engine.toml", `29a = { from = "O2:2",    to = "XA:21", `, `29a = { from = "O2:2",    to = "SP5:2", `}, {"engine.toml", `net = "O2-HEATER", limit`, `unused = true, limit`}, {"sensors.toml", `role = "load", net = "O2-HEATER"`, `role = "load"`}, {"engine.toml", `color = "GN/OG", net = "O2-HEATER", system`, `color = "GN/OG", system`}},
			severity: diag.Error, rule: "sensor-ground-load", words: `"O2:2"`, refs: []string{"O2", "O2:2", "XB:2", "29a"}, has: []string{"1.2 A", "XB:2"},
		},
		{
			name:     "the level sender's ground taken on the pump's wire",
			edits:    []edit{{"engine.toml", `61c = { from = "M1:4",    to = "G8:2", `, `61c = { from = "M1:4",    to = "M1:2", `}},
			severity: diag.Warning, rule: "sender-ground", words: `"G8:1"`, refs: []string{"M1", "M1:4", "60d"}, has: []string{"7 A"},
		},
		{
			name:     "the ground of the second fan in 16 AWG",
			edits:    []edit{{"engine.toml", `63b = { from = "M3:2",    to = "G3:3",    size = "10 AWG"`, `63b = { from = "M3:2",    to = "G3:3",    size = "16 AWG"`}},
			severity: diag.Warning, rule: "thin-ground", words: `"16 AWG"`, refs: []string{"63b", "M3", "63a", "F10"}, has: []string{"63b 16 AWG", "63a 10 AWG", "30 A"},
		},
		{
			name:     "the controller's second power ground left open",
			edits:    []edit{{"engine.toml", `33b = { from = "XA:2",`, `# 33b = {`}, {"engine.toml", `2  = { does = "Power ground",                              role`, `2  = { does = "Power ground", unused = true, role`}},
			severity: diag.Error, rule: "required-pin", words: "true", refs: []string{"XA:2"}, has: []string{"Power ground", "marked unused"},
		},
		{
			name:     "the coil pack's ground moved to the stud of the fans, the controller's logic ground to the body",
			edits:    []edit{{"engine.toml", `33c = { from = "XA:3",    to = "G2:2", `, `33c = { from = "XA:3",    to = "G3:4", `}},
			severity: diag.Warning, rule: "split-grounds", words: `"G3:4"`, refs: []string{"ECU", "XA:1", "XA:3", "G2", "G3"}, has: []string{"engine", "body"},
		},
		{
			name:     "the frame's strap forgotten",
			edits:    []edit{{"power.toml", `STRAP1 = {`, `# STRAP1 = {`}},
			severity: diag.Warning, rule: "unbonded-metal", words: `"frame"`, refs: []string{"G7", "frame"}, has: []string{"G7 is grounded on frame"},
		},
	}
	for _, c := range tried(cases) {
		t.Run(c.name, func(t *testing.T) {
			found := pickup(t, c.edits...)
			var mine diag.List
			for _, d := range found {
				if d.Rule == c.rule {
					mine = append(mine, d)
				}
			}
			require.NotEmpty(t, mine, "%v", rulestest.Messages(found))
			d := mine[0]
			assert.Equal(t, c.severity, d.Severity, d.Message)
			assert.Equal(t, c.words, d.Span.Text(), d.Message)
			for _, ref := range c.refs {
				assert.Contains(t, d.Refs, ref, d.Message)
			}
			for _, text := range c.has {
				assert.Contains(t, d.Message, text)
			}
		})
	}
}
