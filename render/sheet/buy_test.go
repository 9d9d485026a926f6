package sheet_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render/sheet"
)

// TestBuyListHasEveryItem: each item stands once, with its amounts, and each gap with what to write.
func TestBuyListHasEveryItem(t *testing.T) {
	for name, p := range plans(t) {
		pages := p.of("buy")
		list := p.set.Buy()
		assert.Len(t, refsOn(pages, "item"), len(list.Items), name)
		for _, it := range list.Items {
			text := textIn(pages, "item", it.Text)
			require.NotEmpty(t, text, "%s: %s", name, it.Text)
			unit := ""
			if it.Metres {
				unit = " m"
			}
			assert.Contains(t, text, amount(it.Buy)+unit, "%s: %s", name, it.Text)
		}
		for _, g := range list.Gaps {
			assert.Contains(t, textIn(pages, "gap", g.Cause), strings.Fields(g.State)[0], "%s: %s", name, g.Cause)
		}
	}
}

func amount(n float64) string {
	digits := ""
	for whole := int(n); whole > 0 || digits == ""; whole /= 10 {
		digits = string(rune('0'+whole%10)) + digits
	}
	return digits
}

// TestBuyListTakesTheDrawerOff: what is in hand is printed and bought no more; the colour of a reel can be told from its row alone.
func TestBuyListTakesTheDrawerOff(t *testing.T) {
	p := plan(parsed(t, `[part]
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
E1 = { kind = "lamp", load = "55 W" }
[wire]
1a = { from = "F1:2", to = "E1:1", size = "14 AWG", color = "RD", length = "2.40 m" }
[drawer]
"wire 14 AWG RD 105 C" = "6 m"
"fuse blade 15 A" = 1
`), nil, nil)
	pages := p.of("buy")
	assert.Equal(t, "14 RD 3 m 6 m 0 m", strings.TrimSpace(textIn(pages, "item", "wire 14 AWG RD 105 C")))
	assert.True(t, strings.HasSuffix(strings.TrimSpace(textIn(pages, "item", "fuse blade 15 A")), " 3 1 2"))
	i := slices.IndexFunc(p.set.Pages, func(q *sheet.Page) bool { return q.Name == "buy" })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, "A4", p.set.Pages[i].Paper.Name)
}

// TestCrimpLogHasEverySort: each sort of crimp stands once, and the forces of the table are printed: 58 N and 13 lbf for 20 AWG
// (UL 486A-486B: 57.9 N, 13 lbf).
func TestCrimpLogHasEverySort(t *testing.T) {
	for name, p := range plans(t) {
		pages := p.of("crimps")
		assert.Len(t, refsOn(pages, "crimp"), len(p.set.CrimpLog()), name)
		for _, l := range p.set.CrimpLog() {
			assert.Contains(t, textIn(pages, "crimp", l.Wires+" "+l.Item), amount(float64(l.Count)), "%s: %s %s", name, l.Wires, l.Item)
		}
	}
	assert.Contains(t, textIn(plans(t)["pickup"].of("crimps"), "crimp", "20 AWG terminal open-064 socket"), "58 N 13 lbf")
}
