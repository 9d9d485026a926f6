package circuit_test

import (
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

// pickup loads the demonstration harness.
func pickup(t testing.TB) *circuit.Circuit {
	t.Helper()
	n, diags, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(t, err)
	_ = diags
	return circuit.New(graph.New(n), route.New(n))
}

func BenchmarkPickupAllStates(b *testing.B) {
	c := pickup(b)
	conditions := c.Graph.Conditions()
	b.ReportAllocs()
	for b.Loop() {
		for _, cond := range conditions {
			c.Solve(cond, circuit.Options{})
		}
	}
}

func TestShow(t *testing.T) {
	c := pickup(t)
	fmt.Println(len(c.Branches), len(c.Netlist.Pins), c.Missing, c.Assumptions)
	for _, cond := range c.Graph.Conditions() {
		s := c.Solve(cond, circuit.Options{Idle: cond.Name() == "night-rain"})
		fmt.Println(s.State, s.Settled, s.Rounds, s.Cycle, s.Residual, s.Cond, s.Err)
		for i := range c.Branches {
			b := &c.Branches[i]
			if b.Edge != nil && b.Edge.Kind == graph.Source {
				v, _ := s.Across(b.A, b.B)
				fmt.Println("  ", b.Part.Name.Text, s.Amps[i], v)
			}
		}
	}
}
