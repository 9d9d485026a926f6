package all_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/netlisttest"
	"ferrule/rules"
)

// BenchmarkRules times each rule alone on the pickup, in the order of the catalogue. The first that asks for the solved
// circuit pays for it, as in a run of all rules; "all" is that run.
func BenchmarkRules(b *testing.B) {
	n, _, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(b, err)
	g := graph.New(n)
	b.Run("all", func(b *testing.B) {
		for b.Loop() {
			rules.Check(g)
		}
	})
	for _, r := range rules.All() {
		b.Run(r.Name, func(b *testing.B) {
			for b.Loop() {
				rules.CheckWith(g, rules.Options{Only: []string{r.Name}})
			}
		})
	}
}

// BenchmarkManyWires runs the whole catalogue on a made-up harness of 10,000 wires.
func BenchmarkManyWires(b *testing.B) {
	n, problems := netlist.Parse("generated.toml", []byte(netlisttest.Harness(10_000)))
	require.Empty(b, problems)
	g := graph.New(n)
	for b.Loop() {
		rules.Check(g)
	}
}
