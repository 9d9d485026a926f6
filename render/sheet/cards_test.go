package sheet_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/sheet"
)

// TestCards: on the cards of every example, on A4 and on Letter, nothing runs into anything and all is on the paper, every ring of every
// stud stands once, the thickest nearest to the metal, and every connector and every panel has its card.
func TestCards(t *testing.T) {
	for _, name := range []string{"first", "pickup", "boat", "camper", "motorcycle"} {
		n, _, err := netlist.Load(os.DirFS(filepath.Join("..", "..", "examples", name)), name+".toml")
		require.NoError(t, err)
		for _, word := range []string{"a4", "letter"} {
			s := &sheet.Set{Graph: graph.New(n), Netlist: n, Routes: route.New(n), Hash: "0123abcd"}
			s.Paper, _ = sheet.PaperByName(word)
			pages := s.Cards()
			for _, page := range pages {
				where := name + " " + word + " " + page.Name
				assert.Empty(t, canvas.Overlaps(page), where)
				assert.Empty(t, canvas.StruckTexts(page), where)
				assert.Empty(t, canvas.SmallTexts(page, font.MinHeight), where)
				paper := geom.RectAt(geom.Pt(0, 0), page.Size.X, page.Size.Y).Inset(5 * geom.MM)
				for _, o := range page.Ops {
					if bounds, drawn := o.Bounds(); drawn {
						assert.True(t, paper.ContainsRect(bounds), "%s: %s", where, o)
					}
				}
			}
			rows, rings := refsOn(pages, "pin"), map[string][]float64{}
			for _, r := range s.Rings() {
				var wires []string
				for _, w := range r.Wires {
					wires = append(wires, w.Name.Text)
				}
				assert.Equal(t, 1, rows[r.Pin.String()+" "+strings.Join(wires, ", ")], "%s: %s", name, r.Pin)
				rings[r.Stud.Name.Text] = append(rings[r.Stud.Name.Text], r.Area)
			}
			assert.Len(t, rows, len(s.Rings()), name)
			assert.Len(t, refsOn(pages, "stud-card"), len(rings), name)
			assert.Len(t, refsOn(pages, "tag"), len(n.Connectors), name)
			if name == "pickup" {
				assert.Len(t, refsOn(pages, "lid-card"), 3, name)
				assert.True(t, strings.HasPrefix(textIn(pages, "stud-card", "G3"), "G3 Right wing: battery and fans"))
				stack := textIn(pages, "stud-card", "G3")
				assert.Less(t, strings.Index(stack, "63b"), strings.Index(stack, "2b"), "the 4 AWG cable lies next to the metal, at the foot of the card")
				assert.Contains(t, stack, "Battery off, grounded pole first.")
			}
		}
	}
}
