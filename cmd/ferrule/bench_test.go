package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/BurntSushi/toml"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/netlisttest"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/rules"
)

// benchmarkSizes are the numbers of wires that are measured: a car, a large vehicle, and one that shows how time grows.
var benchmarkSizes = []int{300, 10_000, 100_000}

// BenchmarkCheck measures how long a check takes beside a plain decode of the same text by the standard TOML decoder.
// The steps include each other: compile contains tree, check contains compile.
func BenchmarkCheck(b *testing.B) {
	for _, n := range benchmarkSizes {
		text := netlisttest.Harness(n)
		for _, step := range []struct {
			name string
			run  func(b *testing.B, text string)
		}{{"plain-decode", plainDecode}, {"tree", readTree}, {"compile", compile}, {"check", wholeCheck}} {
			b.Run(fmt.Sprintf("%d/%s", n, step.name), func(b *testing.B) {
				b.SetBytes(int64(len(text)))
				b.ReportAllocs()
				// Whichever step comes first would pay for the growth of the heap that the later ones find ready.
				debug.FreeOSMemory()
				for b.Loop() {
					step.run(b, text)
				}
			})
		}
	}
}

// BenchmarkGrowth says in one line a size what a check costs beside a plain decode and for each wire, so that it shows when something
// grows faster than the wires: the seconds of a round by the clock over those of the decode, and bytes and allocations of a round a
// wire. Both are measured in turn within one process, on a heap that is given back in between.
func BenchmarkGrowth(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000} {
		text := netlisttest.Harness(n)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var decode, check cost
			rounds := 0
			for b.Loop() {
				decode.add(b, text, plainDecode)
				check.add(b, text, wholeCheck)
				rounds++
			}
			wires := float64(rounds * n)
			b.ReportMetric(check.elapsed.Seconds()/decode.elapsed.Seconds(), "check/decode")
			b.ReportMetric(float64(check.bytes)/wires, "B/wire")
			b.ReportMetric(float64(check.allocations)/wires, "allocs/wire")
			b.ReportMetric(float64(check.elapsed.Microseconds())/wires, "µs/wire")
		})
	}
}

// A cost is what several rounds of a step took together.
type cost struct {
	elapsed            time.Duration
	bytes, allocations uint64
}

func (c *cost) add(b *testing.B, text string, step func(*testing.B, string)) {
	var before, after runtime.MemStats
	debug.FreeOSMemory()
	runtime.ReadMemStats(&before)
	begun := time.Now()
	step(b, text)
	c.elapsed += time.Since(begun)
	runtime.ReadMemStats(&after)
	c.bytes += after.TotalAlloc - before.TotalAlloc
	c.allocations += after.Mallocs - before.Mallocs
}

// BenchmarkPickup measures the check of a real harness in several files, as the command does it but without the start of
// the process.
func BenchmarkPickup(b *testing.B) {
	for b.Loop() {
		code, _, talk := runInside(nil, "check", "../../examples/pickup/pickup.toml")
		require.Zero(b, code, talk)
	}
}

func plainDecode(b *testing.B, text string) {
	var values map[string]any
	_, err := toml.Decode(text, &values)
	require.NoError(b, err)
}

func readTree(b *testing.B, text string) {
	_, diags := syntax.Parse(source.NewFile("generated.toml", []byte(text)))
	require.Empty(b, diags)
}

func compile(b *testing.B, text string) {
	_, diags := netlist.Parse("generated.toml", []byte(text))
	require.Empty(b, diags)
}

func wholeCheck(b *testing.B, text string) {
	n, diags := netlist.Parse("generated.toml", []byte(text))
	require.Empty(b, diags)
	require.Empty(b, rules.Check(graph.New(n)).Findings.AtLeast(diag.Warning))
}

// TestGeneratedHarnessIsClean holds what the benchmark takes for granted: no rule finds anything in what it measures.
func TestGeneratedHarnessIsClean(t *testing.T) {
	for _, n := range []int{28, 300, 1_000} {
		parsed, diags := netlist.Parse("generated.toml", []byte(netlisttest.Harness(n)))
		require.Empty(t, diags)
		for _, d := range rules.Check(graph.New(parsed)).Findings.AtLeast(diag.Warning) {
			t.Errorf("%d wires: line %d: %s[%s]: %s", n, d.Span.Begin().Line, d.Severity, d.Rule, d.Message)
		}
	}
}
