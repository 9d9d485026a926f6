package sheet

import (
	"fmt"
	"path"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/buy"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "buy", Title: "Buy list", Order: 480,
	Doc: "What to buy for the harness, by specification and never by brand, shelf by shelf: wire by the reel, terminals, seals, plugs, housings, relays, " +
		"fuses with spares, rings, barrels, heat-shrink, covering, labels; less what is in hand. Then what cannot be ordered yet, with what to write where.",
	Plan: planBuy,
})

const buyCaution = "Fuses, relays and cable by the ratings printed here or better, never less; no copper-clad aluminium for copper. The data sheet of a " +
	"part goes before this list: check terminal, seal and wire against it before a hundred are ordered. Counted from the netlist, not from the vehicle."

// buyNotes say how the list is to be read.
var buyNotes = []string{
	"Need: what the harness takes and a reserve, rounded up. 15 % of wire, covering and terminals, 25 % of small sealed terminals and their seals, two fuses of every " +
		"rating, one relay of every type (common practice), where [reserve] does not say otherwise.",
	"Have: from [drawer] of the netlist, by the name of the item, \"wire 14 AWG RD 125 C\" for a reel; empty: for a pen. ~ the size or the amount rests on a guess or on practice.",
	"Not on the list: what comes with a kit, and the devices themselves (lamps, motors, sensors, switches, modules). A colour that is not to be had: another one " +
		"that no neighbour has, with labels at both ends, and into the netlist before the check is asked again.",
}

// Buy returns what to buy, worked out when the first asks, and once.
func (s *Set) Buy() *buy.List {
	if s.bought == nil {
		s.bought = sync.OnceValue(func() *buy.List {
			return buy.Of(buy.Input{Netlist: s.Netlist, Routes: s.Routes, Plan: s.Cut(), Fits: s.Fits()})
		})
	}
	return s.bought()
}

func planBuy(s *Set) []*Page {
	list := s.Buy()
	if len(list.Items) == 0 {
		return nil
	}
	paper := s.bench().sheaf(buyCaution)
	half := columnsOf(paper.area(0), wireColumns)[0].Width()
	wires := paper.columns(nil, wireColumns, 0, layAll(half, wireShelf(list.Items))...)
	laid := layAll(paper.width(), shelves(list.Items))
	if len(list.Instead) > 0 {
		laid = append(laid, insteadTable(list.Instead).lay(paper.width()))
	}
	if len(list.Gaps) > 0 {
		laid = append(laid, gapTable(list.Gaps).lay(paper.width()))
	}
	rest := flow{gap: blockGap, boxAt: paper.under(wires)}.place(laid...)
	return s.tablePages("buy", "Buy list", "by specification, less what is in hand", buyCaution, paper, append(wires, rest...))
}

// wireColumns is how many columns of reels stand side by side.
const wireColumns = 2

// wireShelf lists the reels, size by size, narrow enough for its columns: the name of a reel is that of the size with its colour.
func wireShelf(items []*buy.Item) table {
	t := table{heads: []string{"Reel", "Need", "Have", "Buy", ""}}
	kind := ""
	for _, it := range items {
		if it.Group != buy.Wire {
			continue
		}
		color, size, without := reelColor(it)
		if without != kind {
			kind = without
			t.rows = append(t.rows, row{span: true, shaded: true, keep: true, cells: []cell{{{text: kind, bold: true}, {text: it.Spec}}}})
		}
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "item", Ref: it.Text}, cells: append([]cell{{{text: size + " " + color.String(), bold: true, color: color}}}, amounts(it)...)})
	}
	return t
}

// reelColor parts the name of a reel, "wire 14 AWG RD 125 C": its colour, its size in short, and the whole with a word for the colour.
func reelColor(it *buy.Item) (color unit.Color, size, whole string) {
	words := strings.Fields(it.Text)
	color, _ = unit.ParseColor(words[3])
	words[3] = "COLOUR"
	if size, err := unit.ParseSize(words[1] + " " + words[2]); err == nil {
		return color, size.Short(), strings.Join(words, " ")
	}
	return color, words[1], strings.Join(words, " ")
}

// shelves lists everything else, group by group, and how to read it.
func shelves(items []*buy.Item) table {
	t := table{heads: []string{"Item", "Ask for", "Need", "Have", "Buy", ""}}
	group := buy.Wire
	for _, it := range items {
		if it.Group == buy.Wire {
			continue
		}
		if it.Group != group {
			group = it.Group
			t.rows = append(t.rows, row{span: true, shaded: true, keep: true, cells: []cell{sayBold(group.String())}})
		}
		spec := it.Spec
		if users := fewOf(it.For); users != "" {
			spec += " (" + users + ")"
		}
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "item", Ref: it.Text}, cells: append([]cell{sayBold(it.Text), say(spec)}, amounts(it)...)})
	}
	for _, note := range buyNotes {
		t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	}
	return t
}

// amounts are the cells of an item's numbers and the box to tick.
func amounts(it *buy.Item) []cell {
	have := ""
	if it.Entry != nil {
		have = amountText(it.Have, it.Metres)
	}
	return []cell{say(amountText(it.Need, it.Metres) + guessMark(it.Estimated)), say(have), sayBold(amountText(it.Buy, it.Metres)), {{mark: boxMark}}}
}

// mostUsers is how many names of what an item is for are written; more are counted.
const mostUsers = 3

// amountText writes pieces or metres.
func amountText(amount float64, metres bool) string {
	text := strconv.FormatFloat(amount, 'f', -1, 64)
	if metres {
		return text + " m"
	}
	return text
}

// gapTable lists what cannot be ordered yet.
func gapTable(gaps []*buy.Gap) table {
	t := table{title: "Cannot be ordered yet: the netlist does not say enough", heads: []string{"What", "Write", "Where"}}
	for _, g := range gaps {
		t.rows = append(t.rows, row{
			group: canvas.Group{Kind: "gap", Ref: g.Cause},
			cells: []cell{sayBold(fmt.Sprintf("%d x ", len(g.At)) + g.Cause), say(g.State), say(gapPlaces(g))},
		})
	}
	return t
}

// mostPlaces is how many places of a gap are written on the sheet; the list has all of them.
const mostPlaces = 4

// gapPlaces names what a gap is about, with file and line.
func gapPlaces(g *buy.Gap) string {
	var places []string
	for _, at := range g.At[:min(len(g.At), mostPlaces)] {
		file, line := PlaceOf(at.Span)
		places = append(places, fmt.Sprintf("%s %s:%d", at.Name, path.Base(file), line))
	}
	text := strings.Join(places, ", ")
	if more := len(g.At) - len(places); more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// PlaceOf returns file and line of a span; the zero span is nowhere.
func PlaceOf(span source.Span) (file string, line int) {
	if span.IsZero() {
		return "", 0
	}
	return span.File.Name, span.Begin().Line
}
