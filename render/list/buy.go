package list

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/buy"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "buy", Title: "Buy list", Order: 300, Sheet: "buy",
	Doc: "everything to buy by specification, with what the harness takes, the reserve, what is in hand by [drawer] and what is left to buy",
	Columns: []Column{
		text("group"), text("item"), text("ask_for"), text("unit"), number("takes"), number("reserve_percent"), number("spares"), number("need"),
		number("in_hand"), number("buy"), text("estimated"), text("for"), text("other_color_in_hand"),
	},
	Rows: buyRows,
})

var _ = register(&List{
	Name: "unstated", Title: "What the buy list lacks", Order: 305, Sheet: "buy",
	Doc:     "everything that cannot be ordered yet because the netlist does not say enough, with what to write and where",
	Columns: []Column{text("what"), text("write"), text("name"), text("file"), number("line")},
	Rows:    unstatedRows,
})

func buyRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, it := range s.Buy().Items {
		unit := "pieces"
		if it.Metres {
			unit = "m"
		}
		rows = append(rows, []string{
			it.Group.String(), it.Text, it.Spec, unit, plain(math.Round(100*it.Takes) / 100), percent(it), spares(it), plain(it.Need), inHand(it), plain(it.Buy), yes(it.Estimated),
			strings.Join(it.For, " "), instead(s.Buy(), it),
		})
	}
	return rows
}

// instead words what other colours in hand could stand in for a reel.
func instead(list *buy.List, it *buy.Item) string {
	var words []string
	for i := range list.Instead {
		if list.Instead[i].For == it {
			words = append(words, sheet.InsteadText(&list.Instead[i]))
		}
	}
	return strings.Join(words, "; ")
}

func inHand(it *buy.Item) string {
	if it.Entry == nil {
		return ""
	}
	return plain(it.Have)
}

func percent(it *buy.Item) string {
	if it.Reserve.Share == 0 {
		return ""
	}
	return fmt.Sprintf("%.4g", 100*it.Reserve.Share)
}

func spares(it *buy.Item) string {
	if it.Reserve.Spares == 0 {
		return ""
	}
	return plain(float64(it.Reserve.Spares))
}

func unstatedRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, g := range s.Buy().Gaps {
		for _, at := range g.At {
			file, line := sheet.PlaceOf(at.Span)
			rows = append(rows, []string{g.Cause, g.State, at.Name, file, plain(float64(line))})
		}
	}
	return rows
}
