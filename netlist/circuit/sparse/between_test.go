package sparse

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestBetweenIsASolve holds the short way against Solve with one ampere in and out, on random networks with held nodes and
// floating islands (tolerance 1e-9 of the value).
func TestBetweenIsASolve(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	compared := 0
	for range 60 {
		n := 3 + rng.IntN(40)
		var branches []Branch
		var siemens []float64
		for i := 1; i < n; i++ {
			branches = append(branches, Branch{int32(i), int32(rng.IntN(i))})
			siemens = append(siemens, 0.1+rng.Float64()*100)
			if rng.IntN(6) == 0 {
				siemens[len(siemens)-1] = 0 // an island
			}
		}
		for range rng.IntN(n) {
			a, b := rng.IntN(n), rng.IntN(n)
			if a != b {
				branches, siemens = append(branches, Branch{int32(a), int32(b)}), append(siemens, rng.Float64()*10)
			}
		}
		held := make([]bool, n)
		held[rng.IntN(n)] = true
		held[rng.IntN(n)] = true
		pattern, err := Analyze(n, branches)
		require.NoError(t, err)
		f, err := pattern.Factor(State{Siemens: siemens, Held: held})
		require.NoError(t, err)
		for range 20 {
			a, b := int32(rng.IntN(n)), int32(rng.IntN(n))
			ohms, ok := f.Between(a, b)
			if a == b {
				assert.False(t, ok)
				continue
			}
			src := Sources{Amperes: make([]float64, n)}
			src.Amperes[a], src.Amperes[b] = 1, -1
			var s Solution
			require.NoError(t, f.Solve(&s, src))
			if len(s.Stranded) > 0 {
				assert.False(t, ok, "nodes of different islands")
				continue
			}
			require.True(t, ok)
			want := s.Volts[a] - s.Volts[b]
			if want == want { // islands without potential have none
				assert.InDelta(t, want, ohms, 1e-9*(1+want))
				compared++
			}
		}
	}
	assert.Greater(t, compared, 300)
}
