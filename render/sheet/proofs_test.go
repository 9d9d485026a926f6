package sheet_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sheets that prove a harness carry cautions, defer to local codes, and are there where they apply.
func TestProofSheets(t *testing.T) {
	words := []string{"continuity", "insulation", "first-power", "first-start", "commission"}
	for name, without := range map[string][]string{"pickup": nil, "first": {"first-start"}} {
		p := plan(harnesses(t)[name], nil, nil)
		for _, word := range words {
			pages := p.of(word)
			assert.Equal(t, slices.Contains(without, word), len(pages) == 0, "%s %s", name, word)
			for _, page := range pages {
				caution := textIn(pages[:1], "caution", "")
				assert.Contains(t, caution, "Local codes and licensed practice govern.", page.Name)
			}
		}
	}
}

func TestFirstPowerSheet(t *testing.T) {
	pages := plan(harnesses(t)["pickup"], nil, nil).of("first-power")
	require.NotEmpty(t, pages)
	text := squeezed(textIn(pages, "table", ""))
	at := -1
	for _, step := range []string{
		"SET: all switches at rest", "1.  MF1 125 A, Alternator", "4.  F1 5 A", "SET: Lamp switch S10: park", "SET: Key switch S1: acc", "SET: Key switch S1: run",
		"SET: Key switch S1: run, jumper XA:15 to XA:1", "SET: Key switch S1: start", "XA:16 K2 Fuel pump relay",
	} {
		next := strings.Index(text, squeezed(step))
		assert.Greater(t, next, at, step)
		at = next
	}
	assert.Contains(t, text, squeezed("Unplugged, and they stay so to the end of this sheet: STM1 Starter motor, ECU Engine controller"))
	assert.Contains(t, text, squeezed("More than a source of 5 A gives"))
	assert.Contains(t, text, squeezed("Spare positions, which stay empty: F4."))
}

func TestContinuitySheet(t *testing.T) {
	n := harnesses(t)["pickup"]
	pages := plan(n, nil, nil).of("continuity")
	for _, c := range n.Connectors {
		assert.NotEmpty(t, textIn(pages, "connector", c.Name.Text), c.Name.Text)
	}
	text := squeezed(textIn(pages, "table", ""))
	assert.Contains(t, text, squeezed("leads read ______ ohm"), "the resistance of the leads has a place")
	assert.Contains(t, text, squeezed("“supply” is each of BAT1:+, P:BUS, C:BUS"))
}

func TestCommissionSheet(t *testing.T) {
	text := squeezed(textIn(plan(harnesses(t)["pickup"], nil, nil).of("commission"), "table", ""))
	for _, want := range []string{"BAT1:+ – M1:1", "M1:2 – BAT1:-", "15 mA~", "50 mA", "500 miles"} {
		assert.Contains(t, text, squeezed(want))
	}
	start := squeezed(textIn(plan(harnesses(t)["pickup"], nil, nil).of("first-start"), "table", ""))
	for _, want := range []string{"Out for now: fuses F6 Injectors, F7 Ignition coils", "43 or 58 psi", "4 to 7 psi", "the sheet governs", "Drop out while cranking and come back: F28", "Trip S3 Inertia switch"} {
		assert.Contains(t, start, squeezed(want))
	}
}
