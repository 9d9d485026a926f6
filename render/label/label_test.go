package label_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/label"
	"ferrule/render/sheet"
)

func setOf(n *model.Netlist) *sheet.Set {
	return &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n)}
}

func example(t testing.TB, name string) *sheet.Set {
	t.Helper()
	n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
	require.NoError(t, err)
	return setOf(n)
}

func parsed(t testing.TB, text string) *sheet.Set {
	t.Helper()
	n, problems := netlist.Parse("t.toml", []byte(text))
	require.False(t, problems.HasErrors(), problems)
	return setOf(n)
}

// TestTwoAWireInCutOrder: the labels of wires are those of the pieces, in their order, one for each end, and no others.
func TestTwoAWireInCutOrder(t *testing.T) {
	s := example(t, "pickup")
	var got, want []string
	for _, l := range label.Of(s) {
		if l.Kind == label.Wire {
			got = append(got, l.Ref+" "+l.End)
			assert.True(t, strings.HasPrefix(l.Second, l.End+" → "), l.Second)
			assert.Equal(t, strings.TrimPrefix(l.Second, l.End+" "), l.Short)
		}
	}
	for _, p := range s.Cut().Pieces {
		want = append(want, p.Wire.Name.Text+" "+p.Ends[0].Ref, p.Wire.Name.Text+" "+p.Ends[1].Ref)
	}
	assert.Equal(t, want, got)
}

// TestOtherLabels: every connector, every part in a panel and every ring of a wire that is cut has its label.
func TestOtherLabels(t *testing.T) {
	s := example(t, "pickup")
	count := map[label.Kind]int{}
	text := map[string]string{}
	for _, l := range label.Of(s) {
		count[l.Kind]++
		text[l.Kind.String()+l.Ref] = l.First() + "|" + l.Second
	}
	assert.Equal(t, len(s.Netlist.Connectors), count[label.Connector])
	inPanels := 0
	for _, p := range s.Netlist.Parts {
		if p.Panel != nil {
			inPanels++
		}
	}
	assert.Equal(t, inPanels, count[label.Module])
	assert.Equal(t, "F3 15 A|Fuel pump", text["fuse or relayF3"])
	assert.Equal(t, "G11 Head: coil pack|wire 32a", text["ringG11"])
}

// TestPagesAreTrue: on every stock and for every example, each label's ink lies within its field and no text on another, lettering is 6 to 8
// points, and pages have the size of the paper or the width of the tape.
func TestPagesAreTrue(t *testing.T) {
	for _, name := range []string{"first", "pickup", "boat", "camper", "motorcycle"} {
		s := example(t, name)
		labels := label.Of(s)
		for _, stock := range label.Stocks(s.Netlist) {
			printed := label.Print(labels, stock)
			assert.Empty(t, printed.Short, "%s %s: the examples are clean", name, stock.Name)
			drawn := 0
			for _, page := range printed.Pages {
				where := fmt.Sprintf("%s %s", name, page.Name)
				assert.Empty(t, canvas.Overlaps(page), where)
				assert.Empty(t, canvas.StruckTexts(page), where)
				if stock.Tape() {
					assert.Equal(t, stock.Size.Y, page.Size.Y, where)
					assert.LessOrEqual(t, page.Size.X.Mm(), 1000.0, where)
				} else {
					assert.Equal(t, stock.Paper, page.Size, where)
				}
				for _, op := range page.Ops {
					if op.Kind == canvas.OpBegin && op.Group().Kind == "label" {
						drawn++
					}
					if op.Kind == canvas.OpText {
						points := op.Text.Height.Mm() / 0.7 / 25.4 * 72 // a capital is about seven tenths of the lettering
						assert.InDelta(t, 7, points, 1.4, where)
					}
				}
			}
			assert.Equal(t, len(labels), drawn, "%s %s", name, stock.Name)
		}
	}
}

// TestInItsField: on sheets each label lies within the field that the table describes: 48.3 mm from one to the next.
func TestInItsField(t *testing.T) {
	s := example(t, "pickup")
	stock := label.Stocks(s.Netlist)[1]
	printed := label.Print(label.Of(s), stock)
	number := -1
	for _, op := range printed.Pages[0].Ops {
		if op.Kind == canvas.OpBegin {
			number++
		}
		if bounds, ok := op.Bounds(); ok {
			left := stock.Left.Mm() + float64(number%4)*48.3
			top := stock.Top.Mm() + float64(number/4)*16.9
			assert.GreaterOrEqual(t, bounds.Min.X.Mm(), left-0.001)
			assert.LessOrEqual(t, bounds.Max.X.Mm(), left+45.7+0.001)
			assert.GreaterOrEqual(t, bounds.Min.Y.Mm(), top-0.001)
			assert.LessOrEqual(t, bounds.Max.Y.Mm(), top+16.9+0.001)
		}
	}
	assert.Equal(t, 63, number)
}

const longNames = `[labels.flag]
paper = "A4"
columns = 10
rows = 40
size = "20 x 7 mm"
[part]
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W" }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG", net = "A-NAME-THAT-IS-LONGER-THAN-ANY-LABEL" }
A-DESIGNATOR-OF-MORE-THAN-TWENTY-MILLIMETRES = { from = "F1:2", to = "E1:1", size = "4/0 AWG" }
`

// TestWhatDoesNotFitIsSaid: with the place in the file, what was left out, and what to do.
func TestWhatDoesNotFitIsSaid(t *testing.T) {
	s := parsed(t, longNames)
	stocks := label.Stocks(s.Netlist)
	require.Len(t, stocks, 2)
	assert.True(t, stocks[0].Tape(), "the usual tape")
	printed := label.Print(label.Of(s), stocks[1])
	require.Len(t, printed.Short, 4, "two labels each")
	assert.Contains(t, printed.Short[0], `t.toml:10:1: warning: the label of wire W1 has no room for "A-NAME-THAT-IS-LONGER-THAN-ANY-LABEL" in 6 pt on labels of 20 mm x 7 mm`)
	assert.Contains(t, printed.Short[2], "t.toml:11:1: warning: the label of wire A-DESIGNATOR")
	assert.Contains(t, printed.Short[2], "no room even for")
	assert.Empty(t, label.Print(label.Of(s), stocks[0]).Pages[0].Name[len("labels"):])
}

// TestRepeated: the two lines stand twice where there is room, so that they read from both sides.
func TestRepeated(t *testing.T) {
	s := parsed(t, strings.Replace(longNames, "A-NAME-THAT-IS-LONGER-THAN-ANY-LABEL", "PUMP", 1))
	printed := label.Print(label.Of(s)[:1], label.Stocks(s.Netlist)[0])
	var lines []string
	for _, op := range printed.Pages[0].Ops {
		if op.Kind == canvas.OpText {
			lines = append(lines, op.Text.String)
		}
	}
	assert.Equal(t, []string{"W1", "PUMP", "F1:2 → E1:1", "W1", "PUMP", "F1:2 → E1:1"}, lines)
}

// TestSameBytes: printing twice gives the same.
func TestSameBytes(t *testing.T) {
	dump := func() string {
		s := example(t, "boat")
		var out bytes.Buffer
		for _, stock := range label.Stocks(s.Netlist) {
			for _, p := range label.Print(label.Of(s), stock).Pages {
				require.NoError(t, p.Dump(&out))
			}
		}
		return out.String()
	}
	assert.Equal(t, dump(), dump())
}

const thickAndThin = `[labels.narrow]
tape = "9 mm"
[labels.wide]
tape = "40 mm"
[part]
F1 = { kind = "fuse", rating = "5 A" }
E1 = { kind = "lamp", load = "5 W" }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "18 AWG" }
W2 = { from = "F1:1", to = "E1:2", size = "2 AWG" }
W3 = { from = "F1:1", to = "E1:2", size = "4/0 AWG" }
`

// TestThickWires: a label that does not reach round its wire goes on a wider tape where one is stated, and is a flag where none is wide
// enough: the text twice, and between the two as much as lies round the wire.
func TestThickWires(t *testing.T) {
	s := parsed(t, thickAndThin)
	stocks := label.Stocks(s.Netlist)
	of := label.Assigned(label.Of(s), stocks)
	refs := func(labels []label.Label) []string {
		var refs []string
		for _, l := range labels {
			if l.Kind == label.Wire {
				refs = append(refs, l.Ref)
			}
		}
		return refs
	}
	assert.Equal(t, []string{"W1", "W1", "W3", "W3"}, refs(of[0]), "18 AWG is thin, and 4/0 AWG is too thick for both")
	assert.Equal(t, []string{"W2", "W2"}, refs(of[1]), "2 AWG is about 30 mm round")
	assert.Equal(t, 2, label.Print(of[0], stocks[0]).Flags)
	assert.Equal(t, 0, label.Print(of[1], stocks[1]).Flags)

	l := of[0][2]
	printed := label.Print([]label.Label{l}, stocks[0])
	var at []float64
	for _, op := range printed.Pages[0].Ops {
		if op.Kind == canvas.OpText && op.Text.String == "W3" {
			at = append(at, op.Text.At.X.Mm())
		}
	}
	require.Len(t, at, 2, "once on each half")
	half := (printed.Pages[0].Size.X.Mm() - l.RoundMM - 1) / 2
	assert.InDelta(t, half+l.RoundMM+1, at[1]-at[0], 0.01)
	assert.Positive(t, half)
}

// TestTitlesUpToTheColon: where a title has no room, the part before its colon stands alone, and nothing is said.
func TestTitlesUpToTheColon(t *testing.T) {
	s := example(t, "camper")
	for _, l := range label.Of(s) {
		if l.Ref == "GND2" {
			assert.Equal(t, "Bond of the cell to the frame", l.Clause)
		}
	}
	for _, stock := range label.Stocks(s.Netlist) {
		assert.Empty(t, label.Print(label.Of(s), stock).Short)
	}
}
