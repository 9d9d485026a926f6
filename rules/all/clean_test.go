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

// TestThePickupIsCleanAsWorkedOutByHand holds the demonstration pickup against what its wiring was judged to be before
// there was a program: no error, no warning, the findings that were put aside with a reason, and four remarks to know.
func TestThePickupIsCleanAsWorkedOutByHand(t *testing.T) {
	r := rules.Check(graph.New(parsePickup(t)))
	assert.Empty(t, causes(rules.Grouped(r.Findings.AtLeast(diag.Warning))))
	assert.Zero(t, r.NoData, "everything that the rules ask for is stated")

	accepted := make([]string, len(r.Accepted))
	for i, a := range r.Accepted {
		accepted[i] = a.Finding.Rule + " " + a.Finding.Refs[0]
		assert.NotEmpty(t, a.Because)
	}
	// By hand: four equal injector plugs, pump and fan coils on one fuse with the oxygen sensor, fans that stop with F8. The
	// short lead at the wiper motor does not follow the harness; by hand its length was simply taken.
	assert.ElementsMatch(t, []string{"swappable-plugs INJ1", "essential-shares-fuse F8", "single-failure F8", "length-outlier 77g"}, accepted)

	for _, n := range []struct {
		rule, ref string
		says      []string
	}{
		// Stop current finds its way back through the filaments of tail and turn lamps.
		{"sneak-path", "G7", []string{"G7 (Rear frame: rear lamps) lifted", "LRL (Tail) is fed back"}},
		{"sneak-path", "G10", []string{"G10 (Right front: lamps, horn, relay coils) lifted", "HLR (Low beam) is in series"}},
		{"sneak-path", "M6", []string{"with the key turned off and M6 (Heater blower) coasting"}},
		{"noise-pickup", "COIL1", []string{"coil wire", "beside the signals of"}},
		{"charging-deficit", "ALT1", []string{"gives 55 A at idle", "state night-rain", "are left"}},
	} {
		d := aboutRef(r.Findings, n.rule, n.ref)
		require.NotNil(t, d, "%s %s", n.rule, n.ref)
		assert.Equal(t, diag.Note, d.Severity, d.Message)
		for _, text := range n.says {
			assert.Contains(t, d.Message, text)
		}
	}
}

// TestThePickupHasThreeAmpereLeftAtIdle: by hand 52 A of 55 at night, in rain, with a fan at half time.
func TestThePickupHasThreeAmpereLeftAtIdle(t *testing.T) {
	d := aboutRef(rules.Check(graph.New(parsePickup(t))).Findings, "charging-deficit", "ALT1")
	require.NotNil(t, d)
	var left float64
	_, after, _ := strings.Cut(d.Message, ": ")
	_, err := fmt.Sscanf(after, "%g A are left", &left)
	require.NoError(t, err, d.Message)
	assert.InDelta(t, 3, left, 1)
}

// aboutRef returns the finding of a rule that names a designator; nil when there is none.
func aboutRef(found diag.List, rule, ref string) *diag.Diagnostic {
	for i := range found {
		for _, r := range found[i].Refs {
			if found[i].Rule == rule && r == ref {
				return &found[i]
			}
		}
	}
	return nil
}
