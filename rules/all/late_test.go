package all_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/rules"
)

// A rule that asks for the fault study without saying so keeps the others waiting.
func TestWhoAsksForTheFaultStudyIsLate(t *testing.T) {
	waited := map[string]bool{}
	for _, r := range rules.All() {
		run := r.Run
		r.Run = func(p *rules.Pass) {
			run(p)
			if p.Waited() {
				waited[r.Name] = true
				assert.True(t, r.Late, r.Name)
			}
		}
		defer func() { r.Run = run }()
	}
	for _, name := range []string{"pickup", "boat", "broken"} {
		n, _, err := netlist.Load(os.DirFS("../../examples/"+name), name+".toml")
		require.NoError(t, err)
		rules.Check(graph.New(n))
	}
	assert.NotEmpty(t, waited)
}
