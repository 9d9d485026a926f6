package syntax

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"

	"ferrule/netlist/source"
)

// wires writes a netlist of n wires, one a line.
func wires(n int) string {
	var b strings.Builder
	b.WriteString("[wire]\n")
	for i := range n {
		fmt.Fprintf(&b, "W%d = { from = \"F%d:2\", to = \"X%d:%d\", size = \"14 AWG\", color = \"RD/BK\" }\n", i+1, i%40+1, i%60+1, i%24+1)
	}
	return b.String()
}

// BenchmarkParse shows the reader alone (tree), the authority's decoding alone (plain-decode), and both together as
// Parse runs them (both).
func BenchmarkParse(b *testing.B) {
	for _, n := range []int{300, 10_000, 100_000} {
		text := wires(n)
		f := source.NewFile("bench.toml", []byte(text))
		b.Run(fmt.Sprintf("tree/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				tooDeep(text)
				r := newReader(f, string(f.Text))
				r.readAll()
				if len(r.diags) > 0 {
					b.Fatal(r.diags[0].Message)
				}
			}
		})
		b.Run(fmt.Sprintf("plain-decode/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				var values map[string]any
				if _, err := toml.Decode(text, &values); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("both/%d", n), func(b *testing.B) {
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, list := Parse(f); len(list) > 0 {
					b.Fatal(list[0].Message)
				}
			}
		})
	}
}

// BenchmarkHostile reads the texts of TestHostileTexts.
func BenchmarkHostile(b *testing.B) {
	texts := hostileTexts()
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		f := source.NewFile("a.toml", []byte(texts[name]))
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(f.Text)))
			b.ReportAllocs()
			for b.Loop() {
				Parse(f)
			}
		})
	}
}
