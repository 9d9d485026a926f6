package built_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
)

func TestFindings(t *testing.T) {
	s, diags := read(t, harness(t, "B", wiresA), head+`60a = { stage = "installed", revision = "A", size = "14 AWG" }
60b = { stage = "installed", revision = "A", size = "12 AWG" }
61c = { stage = "crimped", revision = "A", from = "X2:4", to = "M1:1" }
61d = { stage = "installed", revision = "A", from = "X2:4", to = "M1:1" }
`)
	require.Empty(t, diags)
	found := s.Findings()
	assert.Equal(t, []string{
		"5:1 older-piece: 60a is on the car since revision A as 14 AWG; the netlist now says 12 AWG (make it anew of 12 AWG)",
		"7:1 removed-wire: 61c was crimped at revision A as X2:4 - M1:1; the netlist has no such wire any more (put the piece aside, then take its line out of the status file)",
		"8:1 removed-wire: 61d is on the car since revision A as X2:4 - M1:1; the netlist has no such wire any more (take it off the car, or insulate and tie back both ends; then take its line out of the status file)",
	}, said(found))
	assert.Equal(t, 3, found.Count(diag.Note))
	assert.Equal(t, "truck.toml", found[0].Related[0].Span.File.Name)
}
