package all_test

import (
	"testing"

	"ferrule/netlist/diag"
)

// TestTerminalMistakesInThePickup: the mistakes are of the kinds that builders make (common practice).
func TestTerminalMistakesInThePickup(t *testing.T) {
	blunders(t, []blunder{
		{
			name: "18 AWG for 12 AWG in the pump feed", rule: "terminal-range", severity: diag.Error,
			edits: []edit{{"engine.toml", `60c = { from = "X2R:9",   to = "M1:1",    size = "12 AWG"`, `60c = { from = "X2R:9",   to = "M1:1",    size = "18 AWG"`}},
			words: []string{`"18 AWG"`, `"18 AWG"`}, refs: []string{"60c", "60c"}, texts: []string{"sealed-63 at X2R:9 takes 14 AWG to 10 AWG", "sealed-63 at M1:1 takes 14 AWG to 10 AWG"},
		},
		{
			name: "the plug of X1:9 lost", rule: "open-cavity", severity: diag.Warning,
			edits: []edit{{"connectors.toml", `plugged = ["9", "12", "14"]`, `plugged = ["12", "14"]`}},
			words: []string{`"9"`}, refs: []string{"X1B"}, texts: []string{"cavity 9 of X1B is empty"},
		},
		{
			name: "the pump through a cavity of 1.5 mm", rule: "terminal-current", severity: diag.Warning,
			edits: []edit{{"connectors.toml", `pin.9 = { terminal = "sealed-63" }`, `pin.9 = { terminal = "sealed-28" }`}, {"connectors.toml", `[terminal.sealed-63]`, "[terminal.sealed-28]\nwire = [\"16 AWG\", \"12 AWG\"]\nrating = \"11 A\"\nseal = [\"2.0 mm\", \"3.5 mm\"]\n[terminal.sealed-63]"}},
			words: []string{`"X2C:9"`, `"X2R:9"`}, refs: []string{"X2C:9", "X2R:9"}, texts: []string{"carries 7 A", "of its 11 A it bears 6.6 A"},
		},
		{
			name: "seals for thinner wire at the fans", rule: "seal-range", severity: diag.Error,
			edits: []edit{{"connectors.toml", `seal = ["2.5 mm", "4.2 mm"]`, `seal = ["2.5 mm", "3.4 mm"]`}},
			words: []string{`"10 AWG"`, `"10 AWG"`, `"10 AWG"`, `"10 AWG"`}, refs: []string{"62a", "62b", "63a", "63b"}, texts: []string{"3.9 mm", "too thick for the seal at M2:1, which takes 2.5 to 3.4 mm"},
		},
		{
			name: "X3 not sealed in the engine bay", rule: "unsealed-in-wet", severity: diag.Warning,
			edits: []edit{{"connectors.toml", "mates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = true\n", "mates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = false\n"}},
			words: []string{"false"}, refs: []string{"X3P"}, texts: []string{"X3P is not sealed, and zone engine-bay is wet"},
		},
		{
			name: "the rear harness with its pins on the feeding side", rule: "live-pins", severity: diag.Warning,
			edits: []edit{
				{"connectors.toml", "title = \"Engine harness, box half\"\nmates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = true\ncontacts = \"sockets\"", "title = \"Engine harness, box half\"\nmates = \"X3E\"\ncavities = 12\ngrid = [\"1-6\", \"7-12\"]\nview = \"wire side\"\nlatch = \"top\"\nsealed = true\ncontacts = \"pins\""},
				{"connectors.toml", "mates = \"X3P\"\nsealed = true\ncontacts = \"pins\"", "mates = \"X3P\"\nsealed = true\ncontacts = \"sockets\""},
			},
			words: []string{`"pins"`}, refs: []string{"X3P"}, texts: []string{"cavities 1, 10 stay live when it is unplugged, whatever the switches do"},
		},
		{
			name: "an airbag in the cluster's file", rule: "out-of-scope", severity: diag.Error,
			edits: []edit{{"gauges.toml", `title = "Park brake switch", `, `title = "Airbag warning", `}},
			words: []string{`"Airbag warning"`}, refs: []string{"S9"}, texts: []string{"S9 belongs to airbags"},
		},
		{
			name: "the acceptance of the injectors' plugs taken out", rule: "swappable-plugs", severity: diag.Warning,
			edits: []edit{{"pickup.toml", "rule = \"swappable-plugs\"\nat = \"INJ1\"", "rule = \"swappable-plugs\"\nat = \"INJ9\""}},
			words: []string{"INJ1"}, refs: []string{"INJ1"}, texts: []string{"INJ1, INJ2, INJ3 and INJ4 are alike"},
		},
	})
}
