package sheet_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/canvas"
	"ferrule/render/sheet"
)

// TestCutListHasEveryPiece: each wire that is cut stands in the list once, with its length, both labels and the size; no supplied one does.
func TestCutListHasEveryPiece(t *testing.T) {
	for name, p := range plans(t) {
		pages := p.of("cut")
		if len(p.set.Netlist.Wires) == 0 {
			assert.Empty(t, pages, name)
			continue
		}
		rows := refsOn(pages, "wire")
		for _, w := range p.set.Netlist.Wires {
			piece := p.set.Cut().Piece(w)
			if piece == nil {
				assert.NotContains(t, rows, w.Name.Text, name)
				continue
			}
			assert.GreaterOrEqual(t, rows[w.Name.Text], 1, "%s %s", name, w.Name.Text)
			text := textIn(pages, "wire", w.Name.Text)
			switch {
			case !piece.Known && piece.Leads():
				assert.Contains(t, text, "measure", "%s %s", name, w.Name.Text)
			case piece.Leads():
				assert.Contains(t, text, " "+sheet.MillimetreText(piece.Length), "%s %s", name, w.Name.Text)
			}
			if name == "pickup" {
				assert.Contains(t, strings.ReplaceAll(text, " ", ""), strings.ReplaceAll(piece.Ends[0].Label, " ", ""), w.Name.Text)
			}
		}
	}
}

// TestCutListIsInTheOrderOfTheBench reads the order back from the drawing: areas grow, and within a size and colour lengths fall.
func TestCutListIsInTheOrderOfTheBench(t *testing.T) {
	p := plans(t)["pickup"]
	var order []string
	for _, page := range p.of("cut") {
		for _, o := range page.Ops {
			if o.Kind == canvas.OpBegin && o.Group().Kind == "wire" {
				order = append(order, o.Group().Ref)
			}
		}
	}
	require.Len(t, order, 231)
	for i := 1; i < len(order); i++ {
		a, b := p.set.Cut().Piece(p.set.Netlist.Wire(order[i-1])), p.set.Cut().Piece(p.set.Netlist.Wire(order[i]))
		if a.Group != nil && !a.Group.Twisted || b.Group != nil && !b.Group.Twisted {
			continue // cables stand behind the single wires
		}
		areaA, _ := p.set.AreaOf(a.Wire)
		areaB, _ := p.set.AreaOf(b.Wire)
		assert.LessOrEqual(t, areaA, areaB, "%s before %s", order[i-1], order[i])
		if areaA == areaB && a.Wire.Color == b.Wire.Color {
			assert.GreaterOrEqual(t, float64(a.Length), float64(b.Length), "%s before %s", order[i-1], order[i])
		}
	}
}

// TestCutListReelsAddUp: the metres in the table of reels add up to those in the heading.
func TestCutListReelsAddUp(t *testing.T) {
	p := plans(t)["pickup"]
	pages := p.of("cut")
	sum := 0.0
	for i := range p.set.Cut().Reels {
		text := textIn(pages, "reel", fmt.Sprint(i+1))
		lengths := regexp.MustCompile(`[0-9]+\.[0-9]{2}`).FindAllString(text, -1)
		require.Len(t, lengths, 2, text)
		var cut, buy float64
		_, err := fmt.Sscan(lengths[0], &cut)
		require.NoError(t, err)
		_, err = fmt.Sscan(lengths[1], &buy)
		require.NoError(t, err)
		assert.InDelta(t, cut*1.15, buy, 0.011, text)
		sum += cut
	}
	heading := ""
	for _, o := range pages[0].Ops {
		if o.Kind == canvas.OpText && strings.Contains(o.Text.String, " pieces, ") {
			heading = o.Text.String
		}
	}
	assert.Contains(t, heading, fmt.Sprintf("231 pieces, %.2f m", sum))
}
