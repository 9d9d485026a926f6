package all_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
)

// startWire is piece 64b of the pickup, as it stands.
const startWire = `64b = { from = "F35:2",   to = "S4:1"`

// TestMistakesOfSwitchingAndOperation makes mistakes of the kinds that builders make with relays, the key and the guards
// (common practice), one at a time, and looks for the finding that names them.
func TestMistakesOfSwitchingAndOperation(t *testing.T) {
	cases := []struct {
		name  string
		edits []edit
		rule  string
		words string
		refs  []string // the first is the main one
		says  []string
	}{
		{
			name: "K1 of the diode type, supply on 85, output 15 on 86",
			edits: []edit{
				{"power.toml", `K1 = { stock = "mini-relay-40a-resistor"`, `K1 = { stock = "mini-relay-40a-diode"`},
				{"power.toml", `joins = ["F1:2", "K1:86"]`, `joins = ["F1:2", "K1:85"]`},
				{"engine.toml", `20a = { from = "K1:85"`, `20a = { from = "K1:86"`},
			},
			rule: "reversed-coil-diode", words: `"K1:85"`, refs: []string{"K1", "K1:85", "K1:86"}, says: []string{"across F1", "XA:15"},
		},
		{
			name:  "15b from F1 in place of the inertia switch: the guard",
			edits: []edit{{"engine.toml", `15b = { from = "S3:2", `, `15b = { from = "F1:2", `}},
			rule:  "unguarded-pump", words: `"F1:2"`, refs: []string{"M1", "S3", "K2"}, says: []string{"inertia switch S3 is bypassed", "a chafe of 21a and 21b to ground runs the pump with the key off"},
		},
		{
			name:  "15b from F1 in place of the inertia switch: the coil",
			edits: []edit{{"engine.toml", `15b = { from = "S3:2", `, `15b = { from = "F1:2", `}},
			rule:  "coil-on-live-rail", words: `"F1:2"`, refs: []string{"K2", "XA:16", "15b"}, says: []string{"the coil of K2", "state off", "XA:4"},
		},
		{
			name:  "64b from F31 in place of F35: the start relay pulls in as the clutch goes down",
			edits: []edit{{"power.toml", startWire, strings.Replace(startWire, "F35:2\", ", "F31:2\", ", 1)}},
			rule:  "unguarded-starter", words: `"F31:2"`, refs: []string{"STM1", "K8", "F31"}, says: []string{"state run", "K8 (Start relay) pulls in", "with S4 closed"},
		},
		{
			name: "S4 left out",
			edits: []edit{
				{"power.toml", startWire, `64b = { from = "F35:2",   to = "X1C:4"`},
				{"power.toml", "64c = {", "#64c = {"},
			},
			rule: "unguarded-starter", words: `"F35:2"`, refs: []string{"STM1", "K8", "S4"}, says: []string{"turns in gear", "start interlock S4 is bypassed"},
		},
		{
			name:  "the output for the pump relay clamps to supply, and its coil is on F1",
			edits: []edit{{"engine.toml", `15b = { from = "S3:2", `, `15b = { from = "F1:2", `}, {"engine.toml", `net = "PUMP-RELAY-CONTROL", limit = "1 A", clamp = "ground"`, `net = "PUMP-RELAY-CONTROL", limit = "1 A", clamp = "supply"`}},
			rule:  "coil-on-live-rail", words: `"F1:2"`, refs: []string{"K2", "XA:16"}, says: []string{"half awake"},
		},
		{
			name:  "70a from F31, so from 15: the head lamps stay on while cranking",
			edits: []edit{{"lights.toml", `70a = { from = "F28:2", `, `70a = { from = "F31:2", `}, {"pickup.toml", "[body.engine]", "[rules]\nloads-while-cranking = \"warning\"\n[body.engine]"}},
			rule:  "loads-while-cranking", words: `"F31:2"`, refs: []string{"HLL", "HLR", "F31"}, says: []string{"head lamps", "state crank"},
		},
		{
			name:  "the key switch drops 15 in START",
			edits: []edit{{"engine.toml", `13a = { from = "F7:2", `, `13a = { from = "F34:2",`}, {"power.toml", `start = ["30-15-50"]`, `start = ["30-50"]`}},
			rule:  "dead-when-needed", words: "COIL1", refs: []string{"COIL1", "COIL1:4"}, says: []string{"state crank", "S1 30-15"},
		},
		{
			name:  "K2 with contact and coil changed over",
			edits: []edit{{"engine.toml", `21a = { from = "K2:85"`, `21a = { from = "K2:87"`}, {"engine.toml", `60a = { from = "K2:87"`, `60a = { from = "K2:85"`}},
			rule:  "miswired-relay", words: `"K2:85"`, refs: []string{"K2", "K2:85"}, says: []string{"only through M1"},
		},
		{
			name:  "a relay without a resistor at the horn",
			edits: []edit{{"power.toml", `K7 = { stock = "mini-relay-40a-resistor"`, `K7 = { stock = "mini-relay-40a"`}},
			rule:  "unsuppressed-coil", words: "K7", refs: []string{"K7"}, says: []string{"the coil of K7"},
		},
		{
			name:  "relays of 20 A for the fans: 14 A of a motor are more than 60 % of that",
			edits: []edit{{"power.toml", `K3 = { stock = "mini-relay-40a-resistor"`, `K3 = { stock = "micro-relay-20a"`}},
			rule:  "overloaded-contact", words: "K3", refs: []string{"K3", "M2"}, says: []string{"of its 20 A it may switch 12 A"},
		},
		{
			name:  "an idle valve of 4 A on an output of 3 A",
			edits: []edit{{"engine.toml", `at = "IAC", load = "1 A"`, `at = "IAC", load = "4 A"`}},
			rule:  "overloaded-output", words: `"3 A"`, refs: []string{"XA:19", "IAC"}, says: []string{"its limit is 3 A"},
		},
		{
			name:  "the output of the pump relay is pulsed",
			edits: []edit{{"engine.toml", `net = "PUMP-RELAY-CONTROL", limit = "1 A"`, `net = "PUMP-RELAY-CONTROL", pulsed = true, limit = "1 A"`}},
			rule:  "pulsed-relay", words: `"XA:16"`, refs: []string{"K2", "XA:16"}, says: []string{"pulsed"},
		},
		{
			name:  "nobody has looked at what F8 takes with it",
			edits: []edit{{"pickup.toml", "rule = \"single-failure\"\nat = \"F8\"", "rule = \"color-clash\"\nat = \"F8\""}},
			rule:  "single-failure", words: "F8", refs: []string{"F8", "K1", "F1", "M2", "M3", "M1"}, says: []string{"any one of F8, K1 and F1", "the fuel pump M1"},
		},
		{
			name:  "a hazard switch that makes before it breaks",
			edits: []edit{{"lights.toml", `on = ["30-49", "49a-49a2-L-R"]`, `on = ["15-30-49", "49a-49a2-L-R"]`}},
			rule:  "tied-feeds", words: "on", refs: []string{"S13", "S13:30", "S13:15"}, says: []string{"state off", "rail 15"},
		},
		{
			name:  "a fan on the bar of the main relay",
			edits: []edit{{"engine.toml", `62a = { from = "K3:87",`, `62a = { from = "F7:2", `}},
			rule:  "motor-feeds-controller", words: `"F7:2"`, refs: []string{"M2", "XA:4"}, says: []string{"while it turns on"},
		},
		{
			name:  "the stop lamps on the key",
			edits: []edit{{"lights.toml", `74a = { from = "F21:2", `, `74a = { from = "F32:2", `}},
			rule:  "dead-with-key-off", words: `"F32:2"`, refs: []string{"LRL", "LRR", "S1", "F32"}, says: []string{"stop lamps"},
		},
		{
			name:  "the interior lamp past its door switch",
			edits: []edit{{"body.toml", `to = "S17:1", `, `to = "G6:5", `}},
			rule:  "live-when-off", words: "DOME", refs: []string{"DOME"}, says: []string{"state off"},
		},
	}
	for _, c := range tried(cases) {
		t.Run(c.name, func(t *testing.T) {
			var found []diag.Diagnostic
			for _, d := range pickup(t, c.edits...) {
				if d.Rule == c.rule && d.Span.Text() == c.words && d.Refs[0] == c.refs[0] {
					found = append(found, d)
				}
			}
			require.Len(t, found, 1)
			for _, ref := range c.refs {
				assert.Contains(t, found[0].Refs, ref, found[0].Message)
			}
			for _, text := range c.says {
				assert.Contains(t, found[0].Message, text)
			}
		})
	}
}
