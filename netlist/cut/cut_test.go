package cut_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/cut"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

func parse(t testing.TB, text string) *cut.Plan {
	t.Helper()
	n, problems := netlist.Parse("x.toml", []byte(text))
	require.Empty(t, problems)
	return cut.New(n, route.New(n))
}

func example(t testing.TB, name string) *cut.Plan {
	t.Helper()
	n, problems, err := netlist.Load(os.DirFS("../../examples/"+name), name+".toml")
	require.NoError(t, err)
	require.False(t, problems.HasErrors())
	return cut.New(n, route.New(n))
}

// within is for sums of a few lengths that have no exact binary form.
const within = 1e-9

// bench is a harness with one wire for each allowance. Ways: A-B 1 m, B-C 0.5 m over a path that bends.
const bench = `[harness]
insulation = "125 C"
[place]
A = {}
B = {}
C = { service-loop = "0.2 m" }
FAR = {}
[path]
A-B = { between = ["A", "B"], length = "1 m" }
B-C = { between = ["B", "C"], length = "0.5 m", flex = true, known-from = "guess" }
[panel.P]
at = "A"
[terminal.socket]
title = "1.5 mm socket"
wire = ["22 AWG", "16 AWG"]
seal = ["1.4 mm", "2.4 mm"]
strip = "5 mm"
[terminal.eye]
title = "6 mm ring"
[part]
F1 = { kind = "fuse", rating = "5 A", in = "P" }
F2 = { kind = "fuse", rating = "5 A", in = "P", sealed = true }
E1 = { kind = "lamp", load = "5 W", at = "B" }
E2 = { kind = "lamp", load = "5 W", at = "C", sealed = true }
E3 = { kind = "lamp", load = "5 W", at = "B" }
E4 = { kind = "lamp", load = "5 W", at = "B", terminal = "eye" }
E5 = { kind = "lamp", load = "5 W", at = "FAR" }
A1 = { kind = "module", at = "B" }
[connector.XA]
of = "A1"
cavities = 4
terminal = "socket"
[connector.XB]
of = "A1"
cavities = 1
service-loop = "0 mm"
[connector.XC]
at = "B"
cavities = 1
sealed = true
[connector.XD]
mates = "XC"
sealed = true
[splice]
SP1 = { at = "B", barrel = "6 mm2" }
[wire]
PLAIN   = { from = "F1:1", to = "E1:1", size = "18 AWG", color = "RD" }
LID     = { from = "F2:1", to = "E1:2", size = "18 AWG", color = "RD" }
SEALED  = { from = "F1:2", to = "XC:1", size = "18 AWG", color = "RD/BK" }
HINGE   = { from = "F2:2", to = "XA:1", size = "18 AWG", color = "RD" }
NOHINGE = { from = "F1:1", to = "XB:1", size = "18 AWG", color = "RD" }
ROCK    = { from = "E2:1", to = "F1:1", size = "18 AWG", color = "RD", slack = "0.3 m" }
WRITTEN = { from = "F1:2", to = "E3:1", size = "18 AWG", color = "RD", length = "1.234 m", known-from = "guess" }
HERE    = { from = "E1:1", to = "E3:1", size = "18 AWG", color = "RD" }
NOWHERE = { from = "F1:1", to = "E5:1", size = "18 AWG" }
KIT     = { from = "E3:1", to = "E1:2", size = "18 AWG", supplied = true }
TW1     = { from = "F1:1", to = "XA:2", size = "20 AWG", color = "WH" }
TW2     = { from = "F1:2", to = "XA:3", size = "20 AWG", color = "BN", length = "1.2 m" }
SC1     = { from = "F1:1", to = "XA:2", size = "22 AWG", color = "WH" }
SC2     = { from = "F1:2", to = "XA:4", size = "22 AWG", color = "BN", length = "2 m" }
SC3     = { from = "E1:1", to = "XA:4", size = "22 AWG", color = "WH" }
SC4     = { from = "E1:2", to = "XA:3", size = "22 AWG", color = "BN" }
LEG1    = { from = "F1:1", to = "SP1:1", size = "2 mm2", color = "BU" }
LEG2    = { from = "SP1:2", to = "E2:1", size = "2 mm2", color = "BU", metal = "copper-clad aluminium" }
LEG3    = { from = "SP1:2", to = "F1:2", size = "2 mm2", color = "BU", strands = 19 }
LEG4    = { from = "SP1:3", to = "E3:1", color = "BU" }
EYE1    = { from = "E4:1", to = "F2:1", size = "18 AWG", color = "BK" }
EYE2    = { from = "E4:1", to = "F2:2", size = "18 AWG", color = "BK", insulation = "85 C" }
[cable]
TW = { kind = "twisted pair", wires = ["TW1", "TW2"] }
SC = { kind = "screened pair", wires = ["SC1", "SC2"] }
UN = { kind = "screened pair", wires = ["SC3", "SC4"] }
`

func piece(t testing.TB, p *cut.Plan, name string) *cut.Piece {
	t.Helper()
	w := p.Netlist.Wire(name)
	require.NotNil(t, w, name)
	require.NotNil(t, p.Piece(w), name)
	return p.Piece(w)
}

// TestLengthsByHand: the rule of practice, (way + ends) x (1 + lay), up to the next 10 mm, worked out by hand.
func TestLengthsByHand(t *testing.T) {
	p := parse(t, bench)
	for _, c := range []struct {
		wire           string
		length         float64
		known, guessed bool
		why            string
	}{
		{"PLAIN", 1.13, true, false, "(1 + 0.05 + 0.05) x 1.02 = 1.122"},
		{"LID", 1.13, true, false, "a fuse behind a lid has no seal of its own: as PLAIN"},
		{"SEALED", 1.23, true, false, "(1 + 0.05 + 0.05 + 0.10) x 1.02 = 1.224"},
		{"HINGE", 1.28, true, false, "(1 + 0.05 + 0.05 + 0.15) x 1.02 = 1.275"},
		{"NOHINGE", 1.13, true, false, "as PLAIN: its service loop is 0"},
		{"ROCK", 2.30, true, true, "(1.5 + 0.05 + 0.10 + 0.2 + 0.05 + 0.05 + 0.3) x 1.02 = 2.295"},
		{"WRITTEN", 1.234, true, true, "as it stands there"},
		{"HERE", 0, false, false, "both ends at one place"},
		{"NOWHERE", 0, false, false, "no path leads there"},
		{"TW1", 1.38, true, false, "(1 + 0.05 + 0.05 + 0.15) x 1.02 x 1.08 = 1.377"},
		{"TW2", 1.38, true, false, "1.2 is written, its other wire is 1.38"},
		{"SC1", 2, true, false, "1.275 by itself; the other core of the cable is written 2"},
		{"SC2", 2, true, false, "as written"},
		{"SC3", 0, false, false, "both ends at one place, and the other core too"},
	} {
		got := piece(t, p, c.wire)
		assert.Equal(t, c.known, got.Known, c.wire)
		assert.Equal(t, c.guessed, got.Guessed, c.wire)
		assert.InDelta(t, c.length, float64(got.Length), within, "%s: %s", c.wire, c.why)
	}
	assert.Nil(t, p.Piece(p.Netlist.Wire("KIT")), "supplied wires are not cut")
	require.Len(t, p.Supplied, 1)
}

func TestArithmeticInWords(t *testing.T) {
	p := parse(t, bench)
	for wire, want := range map[string]string{
		"ROCK":    "1.5 way + 0.05 end E2 + 0.1 sealed E2 + 0.2 service loop C + 0.05 end F1 + 0.05 bends B-C + 0.3 slack = 2.25; + 2 % lay = 2.295; up to 2.3 m",
		"WRITTEN": "as written; way and allowances come to 1.13 m",
		"HERE":    "no way is known: measure, and write the length",
		"TW2":     "as written; way and allowances come to 1.38 m; as long as TW1",
	} {
		assert.Equal(t, want, piece(t, p, wire).Sum.String(), wire)
	}
}

// TestSettings: every allowance can be set, to nothing too.
func TestSettings(t *testing.T) {
	all := parse(t, "[allowance]\nplain = \"0 mm\"\nsealed = \"0 mm\"\nhinge-out = \"0 mm\"\nrock = \"0 mm\"\nlay = \"0 %\"\ntwist = \"0 %\"\nround = \"0 mm\"\n[reserve]\nwire = \"0 %\"\n"+bench)
	assert.Equal(t, cut.Allowances{}, all.Allowances)
	assert.InDelta(t, 1.0, float64(piece(t, all, "HINGE").Length), within)
	assert.Equal(t, piece(t, all, "HINGE").Reel.Cut, piece(t, all, "HINGE").Reel.Buy)
	some := parse(t, "[allowance]\nplain = \"0.1 m\"\nlay = \"10 %\"\nround = \"0.5 m\"\n[reserve]\nwire = \"50 %\"\n"+bench)
	assert.InDelta(t, 1.5, float64(piece(t, some, "PLAIN").Length), within) // 1.2 x 1.1 = 1.32
	assert.Equal(t, cut.Usual, parse(t, bench).Allowances)
	for _, bad := range []string{`plain = "9 m"`, `plain = "-1 mm"`, `lay = "200 %"`, `round = "5 V"`, `plain = 50`, `plane = "5 mm"`} {
		_, problems := netlist.Parse("x.toml", []byte("[allowance]\n"+bad+"\n"))
		assert.NotEmpty(t, problems, bad)
	}
}

// TestEveryPieceOnce: reels hold every wire that is cut, once, longest first, and their sums are those of their pieces.
func TestEveryPieceOnce(t *testing.T) {
	for _, name := range []string{"", "pickup", "boat", "camper", "motorcycle", "first"} {
		p := parse(t, bench)
		if name != "" {
			p = example(t, name)
		}
		seen := map[*model.Wire]bool{}
		for i, piece := range p.Pieces {
			assert.Equal(t, i+1, piece.Number)
			assert.False(t, seen[piece.Wire])
			seen[piece.Wire] = true
			assert.Same(t, piece, p.Piece(piece.Wire))
			assert.False(t, piece.Wire.Supplied.On)
		}
		assert.Equal(t, len(p.Netlist.Wires), len(p.Pieces)+len(p.Supplied))
		at := 0
		for _, r := range p.Reels {
			sum, cables := 0.0, map[*cut.Group]bool{}
			for i, piece := range r.Pieces {
				assert.Same(t, p.Pieces[at], piece)
				at++
				if i > 0 && piece.Known {
					assert.True(t, r.Pieces[i-1].Known && r.Pieces[i-1].Length >= piece.Length, "%s: longest first", piece.Wire.Name.Text)
				}
				if r.Cable == "" || !cables[piece.Group] {
					sum += float64(piece.Length)
				}
				cables[piece.Group] = true
				assert.InDelta(t, sum, float64(piece.Running), within)
			}
			assert.InDelta(t, sum, float64(r.Cut), within)
			assert.GreaterOrEqual(t, float64(r.Buy), sum*1.15-within)
			assert.Less(t, float64(r.Buy), sum*1.15+0.01)
		}
	}
}

func TestReels(t *testing.T) {
	p := parse(t, bench)
	var got []string
	for _, r := range p.Reels {
		got = append(got, fmt.Sprintf("%s|%s|%s|%s|%s|%d|%d cuts|%d unknown", r.Cable, r.Size, r.ColorText, r.Insulation, r.Metal, r.Strands, r.Cuts, r.Unknown))
	}
	assert.Equal(t, []string{
		"|20 AWG|BN|125 C|copper|0|1 cuts|0 unknown",
		"|20 AWG|WH|125 C|copper|0|1 cuts|0 unknown",
		"|18 AWG|BK|85 C|copper|0|1 cuts|0 unknown",
		"|18 AWG|BK|125 C|copper|0|1 cuts|0 unknown",
		"|18 AWG|RD|125 C|copper|0|7 cuts|1 unknown",
		"|18 AWG|RD/BK|125 C|copper|0|1 cuts|0 unknown",
		"|18 AWG||125 C|copper|0|1 cuts|1 unknown",
		"|2 mm2|BU|125 C|copper|0|1 cuts|0 unknown",
		"|2 mm2|BU|125 C|copper|19|1 cuts|0 unknown",
		"|2 mm2|BU|125 C|copper-clad aluminium|0|1 cuts|0 unknown",
		"||BU|125 C|copper|0|1 cuts|1 unknown",
		"screened pair|22 AWG||125 C|copper|0|2 cuts|1 unknown",
	}, got)
}

func TestEnds(t *testing.T) {
	p := parse(t, bench)
	hinge, sealed, leg := piece(t, p, "HINGE"), piece(t, p, "SEALED"), piece(t, p, "LEG1")
	assert.Equal(t, "F2:2 → XA:1", hinge.Ends[0].Label)
	assert.Equal(t, "XA:1 → F2:2", hinge.Ends[1].Label)
	assert.Equal(t, "socket", hinge.Ends[1].Terminal.Name.Text)
	assert.Equal(t, cut.TerminalSeal, hinge.Ends[1].Seal)
	assert.InDelta(t, 0.005, float64(hinge.Ends[1].Strip), within)
	assert.Nil(t, hinge.Ends[0].Terminal)
	assert.Zero(t, hinge.Ends[0].Strip, "a strip length is never made up")
	assert.Equal(t, cut.NoSeal, hinge.Ends[0].Seal)
	assert.Equal(t, cut.SealNotStated, sealed.Ends[1].Seal)
	assert.Equal(t, "SP1", leg.Ends[1].Splice.Name.Text)
	require.Len(t, hinge.Ends[0].Shares, 1)
	assert.Equal(t, "EYE2", hinge.Ends[0].Shares[0].Name.Text)
	assert.Empty(t, leg.Ends[1].Shares, "legs share a barrel, not a terminal")
}

// TestDoubleCrimps: cavities and tabs with several wires; rings on a screw are one each.
func TestDoubleCrimps(t *testing.T) {
	p := parse(t, bench)
	found := map[string]*cut.Crimp{}
	for _, c := range p.Crimps {
		found[c.Ref] = c
	}
	assert.NotContains(t, found, "E4:1", "two rings on one screw")
	assert.NotContains(t, found, "SP1:2")
	require.Contains(t, found, "XA:4")
	assert.Len(t, found["XA:4"].Wires, 2)
	assert.Len(t, found["E1:2"].Wires, 3, "with the supplied one")
	assert.InDelta(t, 2*0.324, found["XA:4"].AreaMM2, 0.001, "22 AWG of SAE J1128 has 0.324 mm2")
	battery := parse(t, `[body.frame]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah", pin.-.double-crimp = true }
G1 = { kind = "ground point", body = "frame" }
[wire]
A = { from = "BAT1:+", to = "G1:1", size = "4 AWG" }
B = { from = "BAT1:+", to = "G1:1", size = "4 AWG" }
C = { from = "BAT1:-", to = "G1:2", size = "4 AWG" }
D = { from = "BAT1:-", to = "G1:3", size = "4 AWG" }
`)
	require.Len(t, battery.Crimps, 1, "only where the file says so")
	assert.Equal(t, "BAT1:-", battery.Crimps[0].Ref)
	assert.True(t, battery.Crimps[0].Meant)
}

func TestSplices(t *testing.T) {
	p := parse(t, bench)
	require.Len(t, p.Splices, 1)
	s := p.Splices[0]
	var legs []string
	for _, l := range s.Legs {
		side := "stays"
		if l.Side.Path != nil {
			side = l.Side.Path.Name.Text + " to " + l.Side.Toward.Name.Text
		}
		legs = append(legs, l.Wire.Name.Text+": "+side)
	}
	assert.Equal(t, []string{"LEG1: A-B to A", "LEG3: A-B to A", "LEG2: B-C to C", "LEG4: stays"}, legs)
	assert.InDelta(t, 6, s.AreaMM2, within)
	assert.Equal(t, 1, s.Unsized)
}

// TestSplicesAlongAPath: a splice laid 0.2 m into the path from B toward A. What comes over that path is shorter by that, what comes from
// the other side longer, and between two of one place lies what they are apart.
func TestSplicesAlongAPath(t *testing.T) {
	p := parse(t, `[allowance]
plain = "0 mm"
sealed = "0 mm"
lay = "0 %"
[place]
A = {}
B = {}
C = {}
[path]
LONG = { between = ["A", "B"], length = "9 m" }
A-B = { between = ["A", "B"], length = "1 m" }
B-C = { between = ["C", "B"], length = "0.5 m" }
[part]
E1 = { kind = "lamp", load = "5 W", at = "A" }
E2 = { kind = "lamp", load = "5 W", at = "C" }
E3 = { kind = "lamp", load = "5 W", at = "B" }
[splice]
SP1 = { at = "B", toward = "A", distance = "200 mm" }
SP2 = { at = "B", toward = "A", distance = "0.25 m" }
SP3 = { at = "A", toward = "B", distance = "0.1 m" }
SP4 = { at = "B", toward = "C", distance = "0.1 m" }
SP5 = { at = "B" }
[wire]
FEED  = { from = "E1:1", to = "SP1:1", size = "18 AWG" }
FAR   = { from = "SP1:2", to = "E2:1", size = "18 AWG" }
HERE  = { from = "SP1:2", to = "E3:1", size = "18 AWG" }
PAIR  = { from = "SP1:2", to = "SP2:1", size = "18 AWG" }
ENDS  = { from = "SP2:1", to = "SP3:1", size = "18 AWG" }
FORK  = { from = "SP2:2", to = "SP4:1", size = "18 AWG" }
NONE  = { from = "SP5:2", to = "E3:2", size = "18 AWG" }
`)
	for wire, want := range map[string]string{
		"FEED": "1 way - 0.2 to splice SP1 = 0.8; up to 0.8 m",
		"FAR":  "0.5 way + 0.2 to splice SP1 = 0.7; up to 0.7 m",
		"HERE": "0 way + 0.2 to splice SP1 = 0.2; up to 0.2 m",
		"PAIR": "0 way + 0.05 to splice SP2 = 0.05; up to 0.05 m",
		"ENDS": "1 way - 0.25 to splice SP2 - 0.1 to splice SP3 = 0.65; up to 0.65 m",
		"FORK": "0 way + 0.25 to splice SP2 + 0.1 to splice SP4 = 0.35; up to 0.35 m",
		"NONE": "no way is known: measure, and write the length",
	} {
		assert.Equal(t, want, piece(t, p, wire).Sum.String(), wire)
	}
	var sides []string
	for _, l := range p.Splices[0].Legs {
		sides = append(sides, l.Wire.Name.Text+" "+l.Side.Path.Name.Text+" "+l.Side.Toward.Name.Text)
	}
	assert.Equal(t, []string{"FEED A-B A", "PAIR A-B A", "FAR A-B B", "HERE A-B B"}, sides)
}

// TestSpliceLaidNowhere: what cannot be is told where it stands.
func TestSpliceLaidNowhere(t *testing.T) {
	for splice, want := range map[string]string{
		`at = "A", distance = "50 mm"`:                "SP1 does not say toward which place its distance is",
		`toward = "B"`:                                "SP1 does not say from which place it is laid",
		`at = "A", toward = "C", distance = "50 mm"`:  "no path joins A and C",
		`at = "A", toward = "A", distance = "50 mm"`:  "no path joins A and A",
		`at = "A", toward = "B", distance = "1.2 m"`:  "splice SP1 lies 1.20 m along path A-B, which is 1.00 m long",
		`at = "A", toward = "B", distance = "-50 mm"`: "",
		`at = "A", toward = "Z", distance = "50 mm"`:  "",
	} {
		_, problems := netlist.Parse("x.toml", []byte("[place]\nA = {}\nB = {}\nC = {}\n[path]\nA-B = { between = [\"A\", \"B\"], length = \"1 m\" }\n[splice]\nSP1 = { "+splice+" }\n"))
		require.NotEmpty(t, problems, splice)
		assert.Contains(t, problems[0].Message, want, splice)
	}
}

// pickupRows reads the list that was made with the pickup, by hand and before this program: wire, from, to, size, colour, length.
func pickupRows(t *testing.T) [][]string {
	t.Helper()
	file, err := os.Open("../../testdata/pickup/wires.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

// TestPickupAgainstItsList: 231 pieces and 283 m of ways (283.25 by the list), without allowances. A written length counts as it is.
// No wire differs by more than the list's rounding; 77g is why written lengths come first: its way over the paths is 3 m, and it is
// a lead of 0.30 m of its own.
func TestPickupAgainstItsList(t *testing.T) {
	p := example(t, "pickup")
	rows := pickupRows(t)
	assert.Len(t, rows, 231)
	assert.Len(t, p.Pieces, 231)
	sum := 0.0
	for _, row := range rows {
		want, err := strconv.ParseFloat(row[5], 64)
		require.NoError(t, err)
		got := float64(piece(t, p, row[0]).Sum.Way)
		if w := p.Netlist.Wire(row[0]); w.Length.IsSet() {
			got = w.Length.Value
		}
		assert.InDelta(t, want, got, 0.005+within, row[0])
		sum += got
	}
	assert.InDelta(t, 283, sum, 0.5)
	assert.InDelta(t, 283.25, sum, 0.01)
}

// TestPickupByHand holds whole pieces against sums made on paper, from the branch list of the pickup (testdata/pickup/branches.csv).
func TestPickupByHand(t *testing.T) {
	p := example(t, "pickup")
	for _, c := range []struct {
		wire   string
		length float64
		why    string
	}{
		{"38d", 0.72, "SP4, 0.15 before T2, to the air sensor, 0.35; 0.05 at the splice, 0.05 + 0.10 at the sealed sensor: 0.70 x 1.02 = 0.714"},
		{"34a", 2.86, "crank sensor to plug XB, 2.25 of screened pair; 0.15 at the sensor, 0.05 + 0.15 at the controller; 0.05 + 0.15 where the engine rocks: 2.80 x 1.02 = 2.856"},
		{"50d", 0.78, "data bus SP8 to the diagnostic socket, which does not hinge out, 0.50, twisted; as long as 51d from SP9, 0.10 before N7; 0.05 + 0.05: 0.70 x 1.02 x 1.08 = 0.771"},
		{"51a", 0.83, "data bus XB to X4E, 0.50, twisted; 0.20 + 0.05: 0.75 x 1.02 x 1.08 = 0.826"},
		{"36c", 0.36, "screens, SP7, 0.10 from N0 on the way to XB, 0.20; 0.05 + 0.20: 0.35 x 1.02 = 0.357"},
		{"1a", 1.10, "battery cable, written"},
	} {
		assert.InDelta(t, c.length, float64(piece(t, p, c.wire).Length), within, "%s: %s", c.wire, c.why)
	}
}

// TestPickupAllowances: where the metres between the 283 m of ways and the total of the cut list come from, summed in another way
// than the plan does: from the kinds of ends, not piece by piece.
func TestPickupAllowances(t *testing.T) {
	p := example(t, "pickup")
	ways, ends, sealed, hinges, rocks, total, written, splices := 0.0, 0, 0, 0, 0, 0.0, 0.0, 0.0
	for _, piece := range p.Pieces {
		total += float64(piece.Length)
		if piece.Wire.Length.IsSet() {
			written += piece.Wire.Length.Value
			continue
		}
		ways += float64(piece.Sum.Way)
		if piece.Wire.Slack.IsSet() { // the loop that each wire between grommet and engine has, and no other
			rocks++
		}
		for _, id := range []model.PinID{piece.Wire.From.ID, piece.Wire.To.ID} {
			ends++
			switch o := p.Netlist.Pin(id).Owner; {
			case o.Splice != nil && slices.Contains(piece.Sum.Paths, o.Splice.Along):
				splices -= o.Splice.Distance.Value
			case o.Splice != nil:
				splices += o.Splice.Distance.Value
			case o.Name.Text == "X6": // screwed to the dash
			case o.Connector != nil && o.Connector.Part != nil:
				hinges++
			case o.Connector != nil && o.Connector.Sealed.On, o.Part != nil && o.Part.Sealed.On && o.Part.Panel == nil:
				sealed++
			}
		}
	}
	assert.InDelta(t, 283.25, ways+written, 0.01)
	assert.Equal(t, 36, rocks, "wires from the grommet to the engine, counted by hand")
	exact := (ways + splices + (0.05+0.15)*float64(rocks) + 0.05*float64(ends) + 0.10*float64(sealed) + 0.15*float64(hinges)) * 1.02
	twisted := 0.0
	for _, g := range p.Groups {
		if g.Twisted {
			for _, piece := range g.Pieces {
				twisted += float64(piece.Sum.Way+piece.Sum.Added()) * 1.02 * 0.08
			}
		}
	}
	rounded := total - written - exact - twisted
	t.Logf("ways %.2f, to splices %.2f, written %.2f, ends %d, sealed %d, hinge-out %d, exact %.2f, twist %.2f, rounding %.2f, total %.2f", ways, splices, written, ends, sealed, hinges, exact, twisted, rounded, total)
	assert.Positive(t, rounded)
	assert.Less(t, rounded, 0.01*float64(len(p.Pieces)), "less than 10 mm a piece")
	assert.Greater(t, total, 283.25)
}

// TestRoundingIsNotFooledByBinaryFractions: 1.44 m is 144 steps of 10 mm, whatever 1.44/0.01 is in binary.
func TestRoundingIsNotFooledByBinaryFractions(t *testing.T) {
	for i := 1; i < 400; i++ {
		p := parse(t, fmt.Sprintf("[allowance]\nplain = \"0 mm\"\nlay = \"0 %%\"\n[place]\nA = {}\nB = {}\n[path]\nW = { between = [\"A\", \"B\"], length = \"%d mm\" }\n"+
			"[part]\nE1 = { kind = \"lamp\", load = \"5 W\", at = \"A\" }\nE2 = { kind = \"lamp\", load = \"5 W\", at = \"B\" }\n[wire]\nW1 = { from = \"E1:1\", to = \"E2:1\" }\n", i))
		assert.InDelta(t, math.Ceil(float64(i)/10)/100, float64(piece(t, p, "W1").Length), within, "%d mm", i)
	}
}
