package all_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
)

// Pieces of the pickup's files that the mistakes change.
const (
	fuseF8   = `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "10 A"`
	pump60c  = `60c = { from = "X2R:9",   to = "M1:1",    size = "12 AWG"`
	wire15b  = `15b = { from = "S3:2", `
	relayK1  = `K1 = { stock = "mini-relay-40a-resistor"`
	strap2c  = `2c  = { from = "G1:2",    to = "G9:1",`
	fuseF12  = `F12 = { kind = "fuse",`
	low71b   = `71b = { from = "F12:2"`
	feed70a  = `70a = { from = "F28:2", `
	diagX6   = "kind = \"module\"\ntitle = \"Diagnostic socket\""
	plugsX1B = `plugged = ["9", "12", "14"]`
)

// TestEveryMistakeIsSaidOnce makes the mistakes that builders of such a harness make most (common practice), one at a time.
// What is said of each is written down whole, in the order in which a person reads it: a line for each cause, and behind a
// stroke the rules of what hangs under it. Nothing else may be said. The words pointed at and the numbers are held by the
// tests of each room, in this folder.
func TestEveryMistakeIsSaidOnce(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits []edit
		want  []string
		note  string // a rule that speaks in a note
	}{
		{
			name: "F8 of 20 A", edits: []edit{{"power.toml", fuseF8, strings.Replace(fuseF8, "10 A", "20 A", 1)}},
			want: []string{"error fuse-above-wire F8"},
		},
		{
			name: "a thinner pump feed", edits: []edit{{"engine.toml", pump60c, strings.Replace(pump60c, "12 AWG", "18 AWG", 1)}},
			want: []string{"error terminal-range 60c | terminal-range, voltage-drop"},
		},
		{
			// The splice gets a sixth leg by it, and a splice that pulls apart strands.
			name:  "sensor ground taken to the controller's ground bolt",
			edits: []edit{{"sensors.toml", "38k = {", "38m = { from = \"SP5:2\", to = \"G2:3\", size = \"20 AWG\", color = \"BN/WH\" }\n38k = {"}},
			want:  []string{"error sensor-ground-tied XB:2", "warning overfull-splice SP5"},
		},
		{
			// The pump no longer hangs on F8, so that its acceptance there covers nothing.
			name: "the pump relay past the inertia switch", edits: []edit{{"engine.toml", wire15b, `15b = { length = "0.10 m", from = "F1:2", `}},
			want: []string{"error net-short 15b | shared-cavity", "error unguarded-pump M1 | coil-on-live-rail", "error unterminated-pin S3:2", "warning stale-accept F8"},
		},
		{
			name: "X2:3 and X2:4 swapped on the rear half",
			edits: []edit{
				{"lights.toml", `72g = { from = "X2R:3",`, `72g = { from = "X2R:4",`}, {"lights.toml", `72l = { from = "X2R:4",`, `72l = { from = "X2R:3",`},
			},
			want: []string{"error net-short 72l"},
		},
		{
			name:  "a third terminator on the data bus",
			edits: []edit{{"gauges.toml", diagX6, strings.Replace(diagX6, "\n", "\nresistors = [{ between = \"X6:3-X6:4\", value = \"120 ohm\" }]\n", 1)}},
			want:  []string{"error bus-terminator DIAG"},
		},
		{
			name: "a relay with a diode, the wrong way round",
			edits: []edit{
				{"power.toml", relayK1, `K1 = { stock = "mini-relay-40a-diode"`}, {"power.toml", `joins = ["F1:2", "K1:86"]`, `joins = ["F1:2", "K1:85"]`},
				{"engine.toml", `20a = { from = "K1:85"`, `20a = { from = "K1:86"`},
			},
			want: []string{"error reversed-coil-diode K1"},
		},
		{
			name: "the engine's strap left out", edits: []edit{{"power.toml", strap2c, "# " + strap2c}},
			want: []string{"error missing-strap 2a"},
		},
		{
			name: "the start relay fed from the wrong fuse", edits: []edit{{"power.toml", startWire, strings.Replace(startWire, "F35", "F31", 1)}},
			want: []string{"error net-short 64b | shared-cavity", "error unguarded-starter STM1 | essential-shares-fuse", "error unterminated-pin F35:2"},
		},
		{
			// The start wire then comes to X1 under the name of the net before the switch.
			name: "no clutch switch", edits: []edit{{"power.toml", startWire, `64b = { from = "F35:2",   to = "X1C:4"`}, {"power.toml", "64c = {", "#64c = {"}},
			want: []string{"error unguarded-starter STM1 | unterminated-pin", "error net-short 64d"},
		},
		{
			name: "injectors 1 and 3 swapped at the controller",
			edits: []edit{
				{"engine.toml", `to = "XA:7", `, `to = "XA:99", `}, {"engine.toml", `to = "XA:9", `, `to = "XA:7", `}, {"engine.toml", `to = "XA:99", `, `to = "XA:9", `},
			},
			want: []string{"error net-short 24a"},
		},
		{
			name: "the plug of X1:9 lost", edits: []edit{{"connectors.toml", plugsX1B, `plugged = ["12", "14"]`}},
			want: []string{"warning open-cavity X1B"},
		},
		{
			name:  "both low beams on one fuse",
			edits: []edit{{"lights.toml", low71b, strings.Replace(low71b, "F12", "F11", 1)}, {"power.toml", fuseF12, "F12 = { spare = true, " + strings.TrimPrefix(fuseF12, "F12 = { ")}},
			want:  []string{"error net-short 71b | shared-cavity", "warning lamps-share-fuse F11 | fuse-overloaded"},
		},
		{
			name: "the head lamps on the rail that stays on while cranking", edits: []edit{{"lights.toml", feed70a, strings.Replace(feed70a, "F28", "F31", 1)}},
			want: []string{"error net-short 70a | shared-cavity", "error unterminated-pin F28:2"}, note: "loads-while-cranking",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			found := rules.Check(graph.New(parsePickup(t, c.edits...))).Findings
			assert.Equal(t, c.want, causes(rules.Grouped(found.AtLeast(diag.Warning))))
			if c.note != "" {
				require.NotEmpty(t, ofRule(found, c.note))
				assert.Empty(t, ofRule(rules.Check(graph.New(parsePickup(t))).Findings, c.note), "the note comes of the mistake")
			}
		})
	}
}

// causes writes a line for each group: severity, rule and main designator of its head, and the rules under it.
func causes(groups []rules.Group) []string {
	var lines []string
	for _, g := range groups {
		lines = append(lines, fmt.Sprintf("%s %s %s", g.Head.Severity, g.Head.Rule, g.Head.Refs[0])+under(g.Under))
	}
	return lines
}

func under(list diag.List) string {
	if len(list) == 0 {
		return ""
	}
	names := make([]string, len(list))
	for i, d := range list {
		names[i] = d.Rule
	}
	return " | " + strings.Join(names, ", ")
}
