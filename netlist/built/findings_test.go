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

// A line whose name the netlist does not have, and which is exactly what a wire without a line is: the name is a slip of the pen, or the
// wire was renamed.
func TestLinesUnderAnotherName(t *testing.T) {
	n := harness(t, "B", wiresA)
	now := n.Of(n.Netlist.Wire("60b"))
	s, diags := read(t, n, head+`61z = { stage = "installed", revision = "A", size = "`+now.Size.String()+`", color = "`+now.Color+`", from = "`+now.To+`", to = "`+now.From+`" }
99 = { stage = "crimped", revision = "A", from = "X9:1", to = "X9:2", size = "14 AWG" }
`)
	require.Empty(t, diags)
	found := s.Findings()
	require.Len(t, found, 2, "%v", said(found))
	assert.Equal(t, diag.Warning, found[0].Severity)
	assert.Equal(t, "did you mean 60b? It is exactly that piece, and has no line here", found[0].Help)
	assert.Equal(t, diag.Note, found[1].Severity)
}
