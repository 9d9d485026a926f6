package netlisttest_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/netlisttest"
)

// TestHarness reads generated harnesses: the number of wires is exact and the language has nothing against them. That
// the rules find nothing is asserted beside the benchmark, which may import them.
func TestHarness(t *testing.T) {
	for _, n := range []int{28, 300, 699, 10_000} {
		text := netlisttest.Harness(n)
		require.Equal(t, text, netlisttest.Harness(n), "the same number must give the same text")
		read, diags := netlist.Parse("generated", []byte(text))
		for _, d := range diags {
			t.Errorf("%d wires: line %d: %s: %s", n, d.Span.Begin().Line, d.Message, d.Span.Text())
		}
		assert.Len(t, read.Wires, n)
	}
}

// TestVaried reads harnesses of many shapes: the language has nothing against them, and no two are alike.
func TestVaried(t *testing.T) {
	seen := map[string]bool{}
	for seed := range uint64(200) {
		text := netlisttest.Varied(seed)
		require.Equal(t, text, netlisttest.Varied(seed), "the same seed must give the same text")
		require.False(t, seen[text], seed)
		seen[text] = true
		_, diags := netlist.Parse("varied", []byte(text))
		for _, d := range diags {
			t.Fatalf("seed %d: line %d: %s: %s\n%s", seed, d.Span.Begin().Line, d.Message, d.Span.Text(), text)
		}
	}
}
