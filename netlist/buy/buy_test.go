package buy_test

import (
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/bundle"
	"ferrule/netlist/buy"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

func read(t *testing.T, text string) buy.Input {
	t.Helper()
	n, problems := netlist.Parse("test.toml", []byte(text))
	require.Empty(t, problems)
	return buy.Input{Netlist: n, Routes: route.New(n)}
}

func example(t *testing.T, name string) buy.Input {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS("../../examples/"+name), name+".toml")
	require.NoError(t, err)
	in := buy.Input{Netlist: n, Routes: route.New(n)}
	in.Fits = bundle.Fits(n, in.Routes)
	return in
}

func item(t *testing.T, l *buy.List, text string) *buy.Item {
	t.Helper()
	i := slices.IndexFunc(l.Items, func(it *buy.Item) bool { return it.Text == text })
	var all []string
	for _, it := range l.Items {
		all = append(all, it.Text)
	}
	require.GreaterOrEqual(t, i, 0, "%q is not among %q", text, all)
	return l.Items[i]
}

const kit = `[harness]
insulation = "125 C"
cable = "metric"
[zone.bay]
wet = true
[place]
a = { zone = "bay", hole = "20 mm" }
b = { zone = "bay" }
[path]
a-b = { between = ["a", "b"], length = "2 m", cover = "split loom", cover-rating = "125 C" }
[body.frame]
[terminal.sealed-15]
title = "1.5 mm, sealed"
wire = ["0.35 mm2", "1.5 mm2"]
seal = ["1.4 mm", "2.4 mm"]
plating = "tin"
[connector.X1]
at = "a"
cavities = 3
sealed = true
contacts = "sockets"
terminal = "sealed-15"
family = "sealed 1.5, 3 way"
lock = "wedge"
mates = "X2"
spare = ["3"]
plugged = ["3"]
[connector.X2]
at = "a"
sealed = true
[part]
F1 = { kind = "fuse", rating = "10 A", family = "blade", at = "b" }
F2 = { kind = "fuse", rating = "10 A", family = "blade", at = "b", supplied = true }
K1 = { kind = "relay", rating = "40 A", suppression = "diode", plus = "86", spare = true }
E1 = { kind = "lamp", load = "5 W", at = "b", terminal = "sealed-15", sealed = true }
G1 = { kind = "ground point", body = "frame", thread = "M6", at = "b" }
[splice]
SP1 = { barrel = "4 mm2", at = "b", sealed = true }
[wire]
1 = { from = "F1:2", to = "X1:1", size = "1 mm2", color = "RD" }
2 = { from = "X2:1", to = "E1:1", size = "1 mm2", color = "RD" }
3 = { from = "E1:2", to = "SP1:1", size = "1 mm2", color = "BN", length = "0.5 m" }
4 = { from = "SP1:2", to = "G1:1", size = "1.5 mm2", color = "BN", length = "0.3 m", known-from = "guess" }
5 = { from = "SP1:2", to = "G1:1", size = "1 mm2", color = "BN", length = "0.3 m" }
6 = { from = "X1:2", to = "F1:2", size = "2.5 mm2", color = "GN" }
7 = { from = "F2:2", to = "F1:1", size = "6 mm2", color = "RD", supplied = true, length = "9 m" }
8 = { from = "X2:2", to = "G1:2", color = "BN", size = "0.5 mm2" }
`

// TestAmounts counts the kit above by hand. Cut lengths: 50 mm an end, 100 mm more where sealed, 2 % lay. Reserves: 15 % of wire and terminals, 25 % of small sealed ones, 2 fuses, 1 relay (common
// practice), rounded up.
func TestAmounts(t *testing.T) {
	l := buy.Of(read(t, kit))
	for text, want := range map[string]struct{ takes, need float64 }{
		"wire 1 mm2 RD 125 C":                           {4.6, 6}, // (2 + 0.05 + 0.15) x 1.02 = 2.25; (2 + 0.15 + 0.15) x 1.02 = 2.35; x 1.15 = 5.29
		"wire 1 mm2 BN 125 C":                           {0.8, 1}, // 0.5 + 0.3
		"wire 1.5 mm2 BN 125 C":                         {0.3, 1}, //
		"wire 2.5 mm2 GN 125 C":                         {2.25, 3},
		"terminal sealed-15 socket":                     {2, 3}, // X1:1, X1:2; x 1.25 = 2.5
		"terminal sealed-15 pin":                        {2, 3}, // X2:1, X2:2
		"terminal sealed-15":                            {2, 3}, // E1
		"wire seal sealed-15 1.4-2.4 mm":                {6, 8}, // one each; x 1.25 = 7.5
		"cavity plug sealed-15":                         {2, 3}, // cavity 3 of both halves
		"housing sealed 1.5, 3 way, for sockets":        {1, 1},
		"lock wedge for sealed 1.5, 3 way, for sockets": {1, 1},
		"relay 12 V 40 A with diode":                    {1, 2},
		"relay socket 4 pole 40 A":                      {1, 1},
		"fuse blade 10 A":                               {1, 3}, // F2 is supplied
		"fuse holder blade 10 A":                        {1, 1},
		"ground bolt M6":                                {1, 1},
		"ring terminal 1.5 mm2 M6":                      {1, 2}, // two on one terminal: a ring each
		"ring terminal 0.5 mm2 M6":                      {1, 2},
		"splice barrel 4 mm2":                           {1, 2},
		"grommet 20 mm":                                 {1, 1},
		"wire label":                                    {14, 17}, // seven wires, both ends; x 1.15 = 16.1
		"connector flag":                                {2, 3},
	} {
		it := item(t, l, text)
		assert.InDelta(t, want.takes, it.Takes, 1e-9, text)
		assert.InDelta(t, want.need, it.Need, 1e-9, text)
		assert.InDelta(t, want.need, it.Buy, 1e-9, text)
	}
	assert.True(t, item(t, l, "wire 1.5 mm2 BN 125 C").Estimated)
	assert.False(t, item(t, l, "wire 1 mm2 BN 125 C").Estimated)
	for _, it := range l.Items {
		assert.NotContains(t, it.Text, "6 mm2 RD", "a supplied wire is bought")
		assert.NotEmpty(t, it.Spec, it.Text)
	}
}

// TestSleeves holds the heat-shrink against the rule by hand: over the splice's thickest side in a wet zone. Wires 3, 4 and 5 stay in
// place b: together 1.2 x root(2.2^2 + 2.4^2 + 2.2^2) or so, 4.6 to 5 mm; the first 3:1 size from 5.3 to 5.8 mm up is 6.4/2.1.
func TestSleeves(t *testing.T) {
	l := buy.Of(read(t, kit))
	it := item(t, l, "heat-shrink 6.4/2.1 mm 3:1 with adhesive")
	assert.Contains(t, it.For, "SP1")
	assert.True(t, it.Metres)
	// Rings of 1.5 mm2: the insulation of 2.4 mm or so x 1.2 is 2.9 mm, from 3.3 mm up.
	assert.Contains(t, item(t, l, "heat-shrink 4.8/1.6 mm 3:1 with adhesive").For, "G1")
}

func TestTheDrawerIsTakenOff(t *testing.T) {
	l := buy.Of(read(t, kit+`[drawer]
"wire 1 mm2 RD 125 C" = "1.2 m"
"FUSE blade  10 A" = 7
"terminal sealed-15 pin" = 1
`))
	assert.Empty(t, l.Unused)
	assert.InDelta(t, 5, item(t, l, "wire 1 mm2 RD 125 C").Buy, 1e-9) // 6 - 1.2, rounded up
	assert.Zero(t, item(t, l, "fuse blade 10 A").Buy)
	assert.InDelta(t, 2, item(t, l, "terminal sealed-15 pin").Buy, 1e-9)
}

// Green wire lies in the drawer and red is wanted: it is proposed, with what it would lie beside, and takes nothing off. Black is kept for
// ground, thicker wire and too little of it suit nothing, and what is red itself is no other colour.
func TestAnotherColourIsProposedOnly(t *testing.T) {
	l := buy.Of(read(t, `[part]
F1 = { kind = "fuse", rating = "10 A" }
F2 = { kind = "fuse", rating = "10 A" }
E1 = { kind = "lamp", load = "5 W" }
[connector.XA]
cavities = 4
[wire]
W1 = { from = "F1:2", to = "XA:1", size = "1 mm2", color = "WH", length = "3 m" }
W2 = { from = "F2:2", to = "XA:2", size = "1 mm2", color = "GN", length = "1 m" }
W3 = { from = "F2:2", to = "E1:1", size = "1 mm2", color = "RD", length = "1 m" }
W4 = { from = "F1:2", to = "XA:3", size = "1 mm2", color = "YE", length = "9 m" }
[colors]
permanent = ["RD"]
[drawer]
"wire 1 mm2 GN 105 C" = "6 m"
"wire 1 mm2 BU 105 C" = "3 m"
"wire 1 mm2 BK 105 C" = "60 m"
"wire 2 mm2 VT 105 C" = "60 m"
`))
	var got []string
	for _, i := range l.Instead {
		got = append(got, fmt.Sprintf("%s by %s, %.1f m, %v", i.For.Text, i.Color, i.Spare, i.Clashes))
	}
	assert.Equal(t, []string{"wire 1 mm2 WH 105 C by GN, 5.0 m, [XA: W2]", "wire 1 mm2 WH 105 C by BU, 3.0 m, []"}, got)
	assert.InDelta(t, 4, item(t, l, "wire 1 mm2 WH 105 C").Buy, 1e-9, "3 m and the reserve")
	unused := map[string]string{}
	for _, u := range l.Unused {
		unused[u.Entry.Item.Text] = u.Near + "|" + u.Help
	}
	assert.Len(t, unused, 3)
	assert.Contains(t, unused["wire 1 mm2 BU 105 C"], "|with a tag at both ends")
	assert.NotContains(t, unused["wire 1 mm2 BK 105 C"], "tag")
}

func TestReservesOfTheNetlist(t *testing.T) {
	l := buy.Of(read(t, kit+`[reserve]
wire = "50 %"
terminals = "100 %"
small-sealed-terminals = "0 %"
fuses = 0
relays = 3
`))
	for text, need := range map[string]float64{"wire 1 mm2 RD 125 C": 7, "terminal sealed-15 pin": 2, "splice barrel 4 mm2": 2, "fuse blade 10 A": 1, "relay 12 V 40 A with diode": 4} {
		assert.InDelta(t, need, item(t, l, text).Need, 1e-9, text)
	}
}

// TestNames: what a drawer writes is compared without case, spaces and the raised two.
func TestNames(t *testing.T) {
	assert.Equal(t, model.PlainItem("wire 2.5 mm2 BU 105 C"), model.PlainItem(" Wire  2.5 mm²\tbu 105 C "))
	assert.NotEqual(t, model.PlainItem("fuse blade 15 A"), model.PlainItem("fuse blade 15A"))
}

// TestEveryItemCanBeCopiedIntoTheDrawer writes the whole list of every example as a drawer: nothing is left to buy, and no entry is idle.
func TestEveryItemCanBeCopiedIntoTheDrawer(t *testing.T) {
	for _, name := range []string{"pickup", "boat", "camper", "motorcycle", "first"} {
		in := example(t, name)
		in.Netlist.Drawer = nil
		seen := map[string]bool{}
		for _, it := range buy.Of(in).Items {
			plain := model.PlainItem(it.Text)
			assert.False(t, seen[plain], "two items are called %q", it.Text)
			seen[plain] = true
			in.Netlist.Drawer = append(in.Netlist.Drawer, &model.DrawerEntry{Item: model.Name{Text: it.Text}, Length: it.Metres, Amount: it.Need})
		}
		l := buy.Of(in)
		assert.Empty(t, l.Unused)
		for _, it := range l.Items {
			assert.Zero(t, it.Buy, "%s: %s", name, it.Text)
		}
	}
}

// TestPickup counts what can be counted by hand in the file: 9 relays and a flasher, 13 ground points of which those of the
// strap are on the vehicle already, 32 blade fuses in use, a housing for each half of four pairs and for four plugs.
func TestPickup(t *testing.T) {
	l := buy.Of(example(t, "pickup"))
	assert.InDelta(t, 9, item(t, l, "relay 12 V 40 A with resistor").Takes, 1e-9)
	assert.InDelta(t, 1, item(t, l, "flasher 12 V 10 A").Takes, 1e-9)
	assert.InDelta(t, 1, item(t, l, "ground bolt M10").Takes, 1e-9) // G1
	assert.InDelta(t, 2, item(t, l, "ground bolt M8").Takes, 1e-9)  // G3 and G9
	assert.InDelta(t, 8, item(t, l, "ground bolt M6").Takes, 1e-9)
	blades, housings := 0.0, 0.0
	for _, it := range l.Items {
		if it.Group == buy.Housings {
			housings += it.Takes
		}
		if it.Group == buy.Fuses && len(it.Text) > 10 && it.Text[:10] == "fuse blade" {
			blades += it.Takes
			assert.InDelta(t, it.Takes+2, it.Need, 1e-9, it.Text)
		}
	}
	assert.InDelta(t, 32, blades, 1e-9) // F1 to F16 and F21 to F40 with gaps, less the spare F4
	assert.InDelta(t, 12, housings, 1e-9)
	var causes []string
	for _, g := range l.Gaps {
		causes = append(causes, g.Cause)
		assert.NotEmpty(t, g.State, g.Cause)
		for _, at := range g.At {
			assert.False(t, at.Span.IsZero(), "%s: %s", g.Cause, at.Name)
		}
	}
	// What an owner cannot say before the boxes are chosen and the plugs of some devices are looked at.
	assert.ElementsMatch(t, []string{"end in a panel, whose terminals come with it or are bought for it", "end at a device without a terminal",
		"ring at a device, whose bolt cannot be stated"}, causes)
}

// TestCrimps: wires that share a terminal share a crimp; a splice is none; what comes along is none.
func TestCrimps(t *testing.T) {
	crimps := buy.Crimps(read(t, kit))
	var at []string
	for _, c := range crimps {
		at = append(at, c.Pin.String()+" "+c.Item)
	}
	assert.Equal(t, []string{"F1:2 ", "E1:1 terminal sealed-15", "E1:2 terminal sealed-15", "X1:1 terminal sealed-15 socket", "X1:2 terminal sealed-15 socket",
		"X2:1 terminal sealed-15 pin", "X2:2 terminal sealed-15 pin", "G1:1 ring terminal 1.5 mm2 M6", "G1:1 ring terminal 1 mm2 M6", "G1:2 ring terminal 0.5 mm2 M6"}, at)
}

// TestCrimpLog: the same wires in the same terminal are one line, a splice is one, and the thinnest wire decides about the pull. 1 mm2
// lies between 18 AWG (0.8231 mm2, 89 N) and 16 AWG (1.3086 mm2, 133.5 N) of UL 486A-486B: 89 + 0.1769/0.4855 x 44.5 = 105.2 N.
func TestCrimpLog(t *testing.T) {
	total := 0
	lines := map[string]*buy.CrimpLine{}
	for _, l := range buy.CrimpLog(read(t, kit)) {
		lines[l.Wires+": "+l.Item] = l
		total += l.Count
		assert.Len(t, l.At, l.Count)
	}
	assert.Equal(t, len(buy.Crimps(read(t, kit)))+1, total)
	require.Contains(t, lines, "1 mm2: terminal sealed-15")
	assert.Equal(t, 2, lines["1 mm2: terminal sealed-15"].Count)
	assert.InDelta(t, 105.2, lines["1 mm2: terminal sealed-15"].Newtons, 0.05)
	require.Contains(t, lines, "1.5 mm2 + 2 x 1 mm2: splice barrel 4 mm2")
	assert.InDelta(t, 105.2, lines["1.5 mm2 + 2 x 1 mm2: splice barrel 4 mm2"].Newtons, 0.05)
	require.Contains(t, lines, "2.5 mm2 + 1 mm2: ") // both wires of the fuse's tab
}

// TestCrimpLogOfOtherMetal: the table is for copper.
func TestCrimpLogOfOtherMetal(t *testing.T) {
	lines := buy.CrimpLog(read(t, `[part]
F1 = { kind = "fuse", rating = "15 A", family = "bolt-in", spare = true }
G1 = { kind = "stud", thread = "M8" }
[wire]
1 = { from = "F1:2", to = "G1:1", size = "16 mm2", color = "RD", length = "1 m", metal = "aluminium" }
`))
	require.Len(t, lines, 2)
	assert.Zero(t, lines[0].Newtons)
	assert.False(t, lines[0].Source.IsSet())
}

// FuzzDrawer: whatever stands in a drawer, the list is made and every entry is either used or told of.
func FuzzDrawer(f *testing.F) {
	f.Add("fuse blade 10 A", int64(4), false)
	f.Add("", int64(-1), true)
	n, _ := netlist.Parse("test.toml", []byte(kit))
	routes := route.New(n)
	fits := bundle.Fits(n, routes)
	f.Fuzz(func(t *testing.T, text string, amount int64, length bool) {
		n.Drawer = []*model.DrawerEntry{{Item: model.Name{Text: text}, Amount: float64(amount), Length: length}}
		l := buy.Of(buy.Input{Netlist: n, Routes: routes, Fits: fits})
		used := slices.ContainsFunc(l.Items, func(it *buy.Item) bool { return it.Entry != nil })
		assert.NotEqual(t, used, len(l.Unused) == 1)
	})
}
