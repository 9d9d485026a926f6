package route_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"ferrule/netlist/route"
)

// TestShortestWaysAgainstTwoOthers holds the ways over random places and paths, with islands and parallel paths, against the
// Floyd-Warshall algorithm of a general library of graphs and against relaxation until nothing gets shorter (Bellman and Ford),
// written here. The paths that are told must lead from the one place to the other and add up to the length.
func TestShortestWaysAgainstTwoOthers(t *testing.T) {
	random := rand.New(rand.NewPCG(20, 26))
	for range 60 {
		places, edges := 2+random.IntN(14), random.IntN(40)
		var b strings.Builder
		b.WriteString("[place]\n")
		for i := range places {
			fmt.Fprintf(&b, "P%d = {}\n", i)
		}
		b.WriteString("[path]\n")
		type edge struct{ a, b, mm int }
		var all []edge
		library := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
		for i := range places {
			library.AddNode(simple.Node(i))
		}
		for range edges {
			e := edge{random.IntN(places), random.IntN(places), 1 + random.IntN(3000)}
			if e.a == e.b {
				continue // a path from a place to itself shortens nothing
			}
			fmt.Fprintf(&b, "E%d = { between = [\"P%d\", \"P%d\"], length = \"%d mm\" }\n", len(all), e.a, e.b, e.mm)
			all = append(all, e)
			if w, joined := library.Weight(int64(e.a), int64(e.b)); !joined || float64(e.mm) < w {
				library.SetWeightedEdge(library.NewWeightedEdge(simple.Node(e.a), simple.Node(e.b), float64(e.mm)))
			}
		}
		n := parse(t, b.String())
		r := route.New(n)
		floyd, ok := path.FloydWarshall(library)
		require.True(t, ok)
		for from := range places {
			relaxed := make([]float64, places)
			for i := range relaxed {
				relaxed[i] = math.Inf(1)
			}
			relaxed[from] = 0
			for range places {
				for _, e := range all {
					relaxed[e.b] = min(relaxed[e.b], relaxed[e.a]+float64(e.mm))
					relaxed[e.a] = min(relaxed[e.a], relaxed[e.b]+float64(e.mm))
				}
			}
			for to := range places {
				got, ways, known := r.Between(n.Places[from], n.Places[to])
				want := relaxed[to]
				assert.InDelta(t, want, floyd.Weight(int64(from), int64(to)), within)
				require.Equal(t, !math.IsInf(want, 1), known)
				if !known {
					continue
				}
				assert.InDelta(t, want/1000, float64(got), within)
				at, sum := n.Places[from], 0.0
				for _, p := range ways {
					require.True(t, p.From == at || p.To == at, "the paths follow one another")
					if sum += p.Length.Value; p.From == at {
						at = p.To
					} else {
						at = p.From
					}
				}
				assert.Same(t, n.Places[to], at)
				assert.InDelta(t, float64(got), sum, within)
			}
		}
	}
}
