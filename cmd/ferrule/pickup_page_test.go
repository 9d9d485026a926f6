package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/bundle"
	"ferrule/netlist/circuit"
	"ferrule/netlist/cut"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/netlist/route"
)

// TestPickupPageSaysWhatIsComputed works out the right-hand columns of the page that holds the pickup against its estimate by hand, and
// compares them row by row. The left-hand columns are those of the estimate (testdata/pickup).
func TestPickupPageSaysWhatIsComputed(t *testing.T) {
	page, err := os.ReadFile("../../examples/pickup/README.md")
	require.NoError(t, err)
	n, problems, err := netlist.Load(os.DirFS("../../examples/pickup"), "pickup.toml")
	require.NoError(t, err)
	require.False(t, problems.HasErrors())
	routes := route.New(n)
	rows := append(lengthRows(n, routes), bundleRows(n, routes)...)
	rows = append(rows, orderRows(prove.New(circuit.New(graph.New(n), routes)).FirstPower(), n)...)
	for _, row := range rows {
		assert.Contains(t, string(page), row)
	}
}

func lengthRows(n *model.Netlist, routes *route.Routes) []string {
	plan := cut.New(n, routes)
	ways, splices, pieces, reels, buy := 0.0, 0.0, 0.0, 0.0, 0.0
	for _, p := range plan.Pieces {
		pieces += float64(p.Length)
		if p.Wire.Length.IsSet() {
			ways += p.Wire.Length.Value
			continue
		}
		ways += float64(p.Sum.Way)
		for _, s := range routes.Shifts(p.Wire, p.Sum.Paths) {
			splices += float64(s.Metres)
		}
	}
	for _, r := range plan.Reels {
		reels, buy = reels+float64(r.Cut), buy+float64(r.Buy)
	}
	return []string{
		fmt.Sprintf("| ways of the %d pieces, splices at the forks | 231 pieces, 283 m | %.2f m |", len(plan.Pieces), ways),
		fmt.Sprintf("| the same, splices where they lie | | %.2f m |", ways+splices),
		fmt.Sprintf("| cut, with all allowances | | %.2f m |", pieces),
		fmt.Sprintf("| the same from reels, a cable in a jacket once | | %.2f m |", reels),
		fmt.Sprintf("| with the reserve of 15 %% | | %.2f m |", buy),
	}
}

func bundleRows(n *model.Netlist, routes *route.Routes) []string {
	var rows []string
	for _, f := range bundle.Fits(n, routes) {
		switch f.Path.Name.Text {
		case "N0-G1R":
			rows = append(rows, fmt.Sprintf("| firewall grommet, N0-G1R | 38 wires, 13 to 14 mm | %d wires, %.1f mm by the formula, %.1f mm packed; hole %.0f mm: %s |", len(f.Wires), f.DiameterMM, f.PackedMM, f.Holes[0].ClearMM, f.Holes[0].Verdict))
		case "N5-N6":
			rows = append(rows, fmt.Sprintf("| trunk, N5-N6 | 32 wires, 15 mm | %d wires, %.1f mm by the formula, %.1f mm packed |", len(f.Wires), f.DiameterMM, f.PackedMM))
		}
	}
	return rows
}

// orderRows are the fuses in the order in which they go in, with what has to be switched for them; those of one setup together.
func orderRows(p *prove.Power, n *model.Netlist) []string {
	var rows []string
	var fuses []string
	set := ""
	flush := func() {
		if len(fuses) > 0 {
			rows = append(rows, fmt.Sprintf("| %s | %s |", strings.Join(fuses, " "), set))
		}
		fuses = nil
	}
	for i := range p.Steps {
		var words []string
		for _, w := range p.Steps[i].Setup.Switches {
			words = append(words, w.Part.Name.Text+" "+w.PositionName.Text)
		}
		for _, j := range p.Steps[i].Setup.Jumpers {
			words = append(words, "jumper at "+n.Pin(j).String())
		}
		now := strings.Join(words, ", ")
		if now == "" {
			now = "nothing"
		}
		if now != set {
			flush()
		}
		set, fuses = now, append(fuses, p.Steps[i].Fuse.Name.Text)
	}
	flush()
	return rows
}
