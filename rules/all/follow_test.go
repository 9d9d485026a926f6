package all_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
	"ferrule/rules"
	"ferrule/rules/rulestest"
)

// shortedStart is an engine whose key switch feeds the ignition coil in run alone, and a wire that joins its terminal 15 to ground.
const shortedStart = `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "20 A" }
S1 = { kind = "switch", pins = ["30", "15", "50"], positions = { off = [], run = ["30-15"], start = ["30-50"] }, rest = "off" }
T1 = { kind = "ignition coil", load = "4 A", needed-in = ["crank"] }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "S1:30", size = "14 AWG", length = "1 m" }
W3 = { from = "S1:15", to = "T1:15", size = "14 AWG", length = "1 m" }
W4 = { from = "T1:1", to = "G1:1", size = "14 AWG", length = "1 m" }
W5 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "0.3 m" }
W6 = { from = "S1:15", to = "G1:3", size = "14 AWG", length = "1 m" }
[state.run]
switches = { S1 = "run" }
[state.crank]
engine = "cranking"
switches = { S1 = "start" }
`

// What is found by what is live in a state follows from a dead short, as what is found in the solved circuit does: it hangs under it.
func TestFindingsFollowADeadShort(t *testing.T) {
	found := rulestest.Find(shortedStart)
	short := findingOf(found, "net-short")
	require.NotNil(t, short, "%v", rulestest.Messages(found))
	dead := findingOf(found, "dead-when-needed")
	require.NotNil(t, dead, "%v", rulestest.Messages(found))
	assert.Equal(t, short.Key(), dead.After)
	under := false
	for _, g := range rules.Grouped(found) {
		if g.Head.Key() == short.Key() {
			for _, d := range g.Under {
				under = under || d.Rule == "dead-when-needed" && d.Severity == diag.Error
			}
		}
	}
	assert.True(t, under, "it hangs under the short")
}
