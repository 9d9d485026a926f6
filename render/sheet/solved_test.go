package sheet

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/circuit/study"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

func setOf(n *model.Netlist) *Set {
	return &Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n)}
}

var exampleNames = []string{"first", "pickup", "boat", "camper", "motorcycle"}

func exampleSet(t testing.TB, name string) *Set {
	t.Helper()
	n, diags, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
	require.NoError(t, err)
	require.False(t, diags.HasErrors())
	return setOf(n)
}

func textSet(t testing.TB, text string) *Set {
	t.Helper()
	n, diags := netlist.Parse("harness.toml", []byte(text))
	for _, d := range diags.AtLeast(diag.Error) {
		require.Fail(t, d.Message, "line %d: %s", d.Span.Begin().Line, d.Help)
	}
	return setOf(n)
}

// Two relays, one of which holds itself, in a harness small enough to be judged by hand: the lamp E1 goes out with F1, F2,
// K1 and K2; the lamp E2 has two feeds through F3 and F4 and goes out with neither alone; E3 hangs on F1 and F5.
const twoRelays = `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
G1 = { kind = "ground point", body = "body" }
F1 = { kind = "fuse", rating = "30 A" }
F2 = { kind = "fuse", rating = "10 A" }
F3 = { kind = "fuse", rating = "10 A" }
F4 = { kind = "fuse", rating = "10 A" }
F5 = { kind = "fuse", rating = "10 A" }
K1 = { kind = "relay" }
K2 = { kind = "relay" }
S1 = { kind = "switch" }
E1 = { kind = "lamp", load = "21 W" }
E2 = { kind = "lamp", load = "21 W" }
E3 = { kind = "lamp", load = "21 W" }
[link]
BAR = { joins = ["F1:2", "F2:1", "F5:1", "K1:30"], rail = "30" }
OUT = { joins = ["F3:2", "F4:2", "E2:1"] }
[wire]
1 = { from = "BAT1:+", to = "F1:1", size = "10 AWG", length = "0.1 m" }
2 = { from = "F2:2", to = "S1:1", size = "16 AWG", length = "1 m" }
3 = { from = "S1:2", to = "K1:86", size = "16 AWG", length = "1 m" }
4 = { from = "K1:87", to = "K2:86", size = "16 AWG", length = "1 m" }
5 = { from = "K1:87", to = "K2:30", size = "16 AWG", length = "1 m" }
6 = { from = "K2:87", to = "E1:1", size = "16 AWG", length = "1 m" }
7 = { from = "BAT1:+", to = "F3:1", size = "16 AWG", length = "0.1 m" }
8 = { from = "BAT1:+", to = "F4:1", size = "16 AWG", length = "0.1 m" }
9 = { from = "F5:2", to = "E3:1", size = "16 AWG", length = "1 m" }
10 = { from = "K1:85", to = "G1:1", size = "16 AWG", length = "1 m" }
11 = { from = "K2:85", to = "G1:1", size = "16 AWG", length = "1 m" }
12 = { from = "E1:2", to = "G1:2", size = "16 AWG", length = "1 m" }
13 = { from = "E2:2", to = "G1:3", size = "16 AWG", length = "1 m" }
14 = { from = "E3:2", to = "G1:4", size = "16 AWG", length = "1 m" }
15 = { from = "BAT1:-", to = "G1:5", size = "10 AWG", length = "0.3 m" }
[state]
off = {}
on = { switches = { S1 = "on" } }
`

func TestDependenceByHand(t *testing.T) {
	s := textSet(t, twoRelays)
	m := s.dependMatrix()
	got := map[string]string{}
	for _, c := range m.columns {
		var needs []string
		for _, g := range m.gates {
			if mark := m.marks[g][c]; mark != 0 {
				needs = append(needs, g.Name.Text)
				assert.Equal(t, always, mark, "%s %s", g.Name.Text, c.Ref)
			}
		}
		got[c.Ref] = strings.Join(needs, " ")
	}
	assert.Equal(t, map[string]string{"E1": "F1 F2 K1 K2", "E2": "", "E3": "F1 F5"}, got)
}

// What the matrix derives from what is joined to what is held against the solved network with the part taken out, which
// is another program's way to the same answer (netlist/circuit/study). A part that the matrix calls dependent must lose its
// supply there in that state, or keep only what comes over a sneak path; and what goes dead there must have a mark here. The fields of generators are no consumers of this sheet.
func TestDependenceAgainstTheSolvedNetwork(t *testing.T) {
	for _, name := range exampleNames {
		s := exampleSet(t, name)
		v, st := s.Solved(), study.New(s.Graph, s.Routes)
		checked := 0
		for _, g := range s.gates() {
			c, ok := st.CaseOf(g.Name.Text)
			require.True(t, ok)
			hit, dead := map[string]bool{}, map[string]bool{}
			for _, l := range st.Without(c, "") {
				key := l.State + " " + l.Part
				hit[key] = hit[key] || l.Change == study.Dead || l.Change == study.Degraded || l.Sneak
				if l.Change == study.Dead && !strings.HasSuffix(l.What, " coil") && s.Netlist.Owner(l.Part).Part.Value("output") == nil {
					dead[key] = true
				}
			}
			mine := map[string]bool{}
			for state, cond := range v.Conditions {
				r := v.relianceOf(state)
				for i := range v.Consumers {
					c := &v.Consumers[i]
					needs := map[*model.Part]bool{}
					if !v.works(state, c) || !v.consumerNeeds(r, c, needs) {
						continue
					}
					if key := cond.Name() + " " + c.Part.Name.Text; needs[g] {
						mine[key] = true
						checked++
						assert.True(t, hit[key], "%s: without %s, in state %s", name, g.Name.Text, key)
					}
				}
			}
			for key := range dead {
				assert.True(t, mine[key], "%s: without %s, %s goes dead and has no mark", name, g.Name.Text, key)
			}
		}
		assert.Positive(t, checked, name)
	}
}

// Every node of the tree has the sum of what is below it, and what a fuse carries by the solved network is that sum too,
// where it has one source: the sum comes from the consumers, the current of the fuse from Kirchhoff's law.
func TestSumsOfTheTree(t *testing.T) {
	for _, name := range exampleNames {
		s := exampleSet(t, name)
		tree := newFeedTree(s)
		fuses := 0
		for _, r := range tree.rows() {
			n := r.node
			for column, state := range tree.states {
				if n.element == nil {
					sum := 0.0
					for _, c := range n.children {
						sum += c.amps[column]
					}
					assert.InDelta(t, sum, n.amps[column], 1e-9, "%s %s", name, n.name)
				}
				if n.element != nil || n.step.sort != fuseStep || n.amps[column] < 0.5 || name == "camper" {
					continue // the banks of the camper feed one another through their fuses
				}
				for _, f := range s.Solved().Reports[state].Fuses {
					if f.Part == n.step.part {
						fuses++
						assert.InDelta(t, math.Abs(f.Amps), n.amps[column], 0.01*n.amps[column]+unlisted(s, tree, state), "%s %s in %s", name, n.name, tree.stateName(column))
					}
				}
			}
		}
		assert.True(t, fuses > 0 || name == "camper", name)
	}
}

// unlisted is what flows in a state into that which the tree leaves out: sensors, inputs, what comes through others.
func unlisted(s *Set, tree *feedTree, state int) float64 {
	listed := map[int]bool{}
	for _, r := range tree.rows() {
		if r.node.element != nil {
			listed[r.node.element.branch] = true
		}
	}
	sum := 0.005
	sol := s.Solved().Reports[state].Solution
	for i := range s.Solved().Circuit.Branches {
		if b := &s.Solved().Circuit.Branches[i]; (b.IsConsumer() || b.IsCoil()) && (!listed[i] || math.Abs(sol.BranchVolts(i)) < s.Solved().onVolts()) {
			sum += math.Abs(sol.Amps[i])
		}
	}
	return sum
}

// Every consumer stands in the tree once, or below it with the reason.
func TestTreeHasEveryConsumer(t *testing.T) {
	for _, name := range exampleNames {
		s := exampleSet(t, name)
		tree := newFeedTree(s)
		count := map[string]int{}
		for _, r := range tree.rows() {
			if n := r.node; n.element != nil && n.element.consumer != nil && !n.again {
				count[n.element.consumer.Name()]++
			}
		}
		for _, r := range tree.rest {
			count[r.element]++
		}
		want := map[string]int{}
		for i := range s.Solved().Consumers {
			want[s.Solved().Consumers[i].Name()]++
		}
		assert.Equal(t, want, count, name)
	}
}

// A chain of the tree, by the file: the fuel pump of the pickup hangs on K2, that on F3, that on the bar of the bay box.
func TestWayOfThePump(t *testing.T) {
	s := exampleSet(t, "pickup")
	for _, r := range newFeedTree(s).rows() {
		if r.node.element != nil && r.node.name == "M1" {
			assert.Equal(t, "BAT1 > MF2 > P-BUS > F3 > K2", strings.Join(r.trail, " > "))
			return
		}
	}
	assert.Fail(t, "no pump")
}

// A stack has the thickest ring at the bottom and every wire that ends at the stud.
func TestStackOfStuds(t *testing.T) {
	s := exampleSet(t, "pickup")
	for _, p := range s.Netlist.Parts {
		if p.Kind.Name != "ground point" {
			continue
		}
		lugs := s.lugsOf(p.Owner)
		wires := 0
		for i, l := range lugs {
			wires += len(l.wires)
			if i > 0 {
				assert.LessOrEqual(t, l.sum.area, lugs[i-1].sum.area, p.Name.Text)
			}
		}
		ends := 0
		for _, w := range s.Netlist.Wires {
			for _, ref := range []model.PinRef{w.From, w.To} {
				if s.Netlist.Pin(ref.ID).Owner == p.Owner {
					ends++
				}
			}
		}
		assert.Equal(t, ends, wires, p.Name.Text)
	}
	rows := s.studRows(s.Netlist.Owner("G3").Part)
	require.Len(t, rows, 6)
	assert.Equal(t, "1, bottom", rows[1].cells[0][0].text)
	assert.Equal(t, "2b", rows[1].cells[2][0].text)
	assert.Equal(t, "3, top", rows[3].cells[0][0].text)
}

// Legs of a splice stand together by the path into which they lie.
func TestLegsBySide(t *testing.T) {
	s := exampleSet(t, "pickup")
	for _, sp := range s.Netlist.Splices {
		legs := s.legsOf(sp)
		assert.Len(t, legs, len(s.Graph.WiresAt(sp.Owner.Pins[0]))+otherLegs(s, sp), sp.Name.Text)
		closed := map[string]bool{}
		for i, l := range legs {
			if i > 0 && legs[i-1].side != l.side {
				closed[legs[i-1].side] = true
			}
			assert.False(t, closed[l.side], "%s: %s", sp.Name.Text, l.side)
		}
	}
}

func otherLegs(s *Set, sp *model.Splice) int {
	count := 0
	for _, id := range sp.Owner.Pins[1:] {
		count += len(s.Graph.WiresAt(id))
	}
	return count
}

// Groups of the key: the positions of the key switch in the order of the file, each with a letter of its own.
func TestKeyGroups(t *testing.T) {
	var words []string
	for _, g := range exampleSet(t, "pickup").keyGroups() {
		words = append(words, g.letter+" "+g.name)
	}
	assert.Equal(t, []string{"O off", "A acc", "R run", "S start"}, words)
	groups := []keyGroup{{name: "off"}, {name: "on"}, {name: "on2"}}
	letterGroups(groups)
	assert.Equal(t, []string{"OF", "ON", "ON2"}, []string{groups[0].letter, groups[1].letter, groups[2].letter})
}

func BenchmarkSolved(b *testing.B) {
	for b.Loop() {
		exampleSet(b, "pickup").Solved()
	}
}

func BenchmarkDepends(b *testing.B) {
	s := exampleSet(b, "pickup")
	s.Solved()
	for b.Loop() {
		s.dependMatrix()
	}
}

// A harness without lengths and loads has no volts, and its fuses and switches all the same: what is joined is live, what
// hangs on a fuse is marked, and the tree says what is missing.
func TestWithoutNumbers(t *testing.T) {
	text := strings.NewReplacer(`, length = "0.1 m"`, "", `, length = "0.3 m"`, "", `, length = "1 m"`, "", `, load = "21 W"`, "").Replace(twoRelays)
	s := textSet(t, text)
	require.NotEmpty(t, s.Solved().Circuit.Missing)
	var want []string
	for _, r := range newStateMatrix(textSet(t, twoRelays)).consumerRows() {
		want = append(want, r.ref, liveWord(r.cells[0]), liveWord(r.cells[1]))
	}
	var got []string
	for _, r := range newStateMatrix(s).consumerRows() {
		got = append(got, r.ref, liveWord(r.cells[0]), liveWord(r.cells[1]))
	}
	assert.Equal(t, []string{"E1", "off", "live", "E2", "live", "live", "E3", "live", "live"}, want)
	assert.Equal(t, want, got)
	m, whole := s.dependMatrix(), textSet(t, twoRelays).dependMatrix()
	require.Len(t, m.columns, len(whole.columns))
	for i, c := range m.columns {
		for k, g := range m.gates {
			assert.Equal(t, whole.marks[whole.gates[k]][whole.columns[i]], m.marks[g][c], "%s %s", g.Name.Text, c.Ref)
		}
	}
	tree := newFeedTree(s)
	assert.Empty(t, tree.roots)
	assert.Len(t, tree.rest, 3)
	assert.NotEmpty(t, s.Solved().leftOut())
	require.Len(t, planFeeds(s), 1)
}

func liveWord(c stateCell) string {
	if c.live {
		return "live"
	}
	return "off"
}
