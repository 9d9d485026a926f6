package switching

import (
	"slices"
	"strings"
	"unicode"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "crossed-positions", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a position of a switch works what another position is named for",
	Doc: `In the vehicle the stalk is pushed to the left and the right side flashes, the beam goes down on high, the wiper is fast on slow:
two lines of the table of positions are exchanged, or two wires at the switch are. The rule goes by words that the file uses
anyhow: the name of a position, and the title, the side or the function of a consumer, the title of a relay, and what a
terminal does. It fires where something is named for one position of a switch (left: "Turn left lamp", low: "Low beam relay"), wires
lead to it from a terminal that other positions of the same switch join, and that position does not.

Exchange the joins of the two positions, or the wires at the switch; where the words are wrong, change the words. Silent are
the names on, off, rest, open, closed, pressed and released, and numbers and single letters, which say nothing of what is worked;
one of two positions that joins nothing; what is
reached over a fuse or a contact first; and what is named for a position that works it as well. A terminal of the switch that is
called by the first letter of one position alone, as H for high, counts as named for it.`,
	Sources: []string{"common practice"},
	Bad:     dipSwitch("56-56a", "56-56b"),
	Good:    dipSwitch("56-56b", "56-56a"),
	Run: func(p *rules.Pass) {
		var names *labels
		for _, part := range p.Netlist.Parts {
			if len(part.Inside.Positions) < 2 || part.Spare.On {
				continue
			}
			if names == nil {
				names = labelsOf(p)
			}
			names.crossed(part)
		}
	},
})

// dipSwitch is a head lamp behind a dip switch, with what its positions join.
func dipSwitch(low, high string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "10 A" }
S1 = { kind = "switch", pins = ["56", "56a", "56b"], positions = { low = ["` + low + `"], high = ["` + high + `"] }, rest = "low" }
E1 = { kind = "lamp", pins = ["56a", "56b", "31"], loads = [{ between = "56b-31", load = "55 W", title = "Low beam" }, { between = "56a-31", load = "60 W", title = "High beam" }] }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "12 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "S1:56", size = "12 AWG", length = "0.1 m" }
W3 = { from = "S1:56a", to = "E1:56a", size = "12 AWG", length = "0.1 m" }
W4 = { from = "S1:56b", to = "E1:56b", size = "12 AWG", length = "0.1 m" }
W5 = { from = "E1:31", to = "BAT1:-", size = "12 AWG", length = "0.1 m" }
`
}

// A label is what the file calls something at a terminal.
type label struct {
	pin   model.PinID
	text  string   // as the file writes it
	words []string // in lower case
}

// labels are the labels of consumers, relays and terminals, by net.
type labels struct {
	*rules.Pass
	on map[*graph.Net][]label
}

func labelsOf(p *rules.Pass) *labels {
	l := &labels{p, map[*graph.Net][]label{}}
	for i := range p.Graph.Edges {
		switch e := &p.Graph.Edges[i]; e.Kind {
		case graph.Coil:
			l.add(e.A, e.Part.Title)
			l.add(e.B, e.Part.Title)
		case graph.Load:
			load := &e.Part.Inside.Loads[e.Index]
			for _, pin := range [...]model.PinID{e.A, e.B} {
				l.add(pin, load.Title)
				l.add(pin, load.Function)
				l.add(pin, load.Side)
			}
		}
	}
	for i := range p.Netlist.Pins {
		if pin := &p.Netlist.Pins[i]; len(p.Graph.WiresAt(pin.ID)) > 0 {
			l.add(pin.ID, pin.Does)
		}
	}
	return l
}

func (l *labels) add(pin model.PinID, name model.Name) {
	if name.IsSet() && pin != model.NoPin && !l.Grounded(pin) {
		net := l.Graph.NetOf(pin)
		l.on[net] = append(l.on[net], label{pin, name.Text, wordsOf(name.Text)})
	}
}

// wordsOf takes a text apart into words, in lower case.
func wordsOf(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// plain are names of positions that say nothing of what they work.
var plain = []string{"on", "off", "rest", "open", "closed", "pressed", "released", "pulled"}

// telling reports whether a word can say what something works. Numbers and single letters count positions, and lamps are counted too.
func telling(word string) bool {
	return len([]rune(word)) > 1 && strings.ContainsFunc(word, unicode.IsLetter)
}

// crossed looks for something that is named for one position of a switch and is worked by others alone.
func (l *labels) crossed(part *model.Part) {
	worked := map[*graph.Net][]int{} // the positions that join a net to something
	var order []*graph.Net
	for i := range part.Inside.Positions {
		for _, group := range part.Inside.Positions[i].Joins {
			for _, pin := range group {
				net := l.Graph.NetOf(pin)
				if worked[net] == nil {
					order = append(order, net)
				}
				if !slices.Contains(worked[net], i) {
					worked[net] = append(worked[net], i)
				}
			}
		}
	}
	for i := range part.Inside.Positions {
		words := wordsOf(part.Inside.Positions[i].Name.Text)
		if !slices.ContainsFunc(words, telling) || slices.Contains(plain, strings.Join(words, " ")) {
			continue
		}
		if len(part.Inside.Positions[i].Joins) == 0 && len(part.Inside.Positions) < 3 {
			continue // a position that joins nothing, as the one of a sender, may be named for what it senses
		}
		for _, net := range order {
			if !slices.Contains(worked[net], i) && l.told(part, i, words, net, worked[net]) {
				return
			}
		}
		if l.byLetter(part, i) {
			return
		}
	}
}

// byLetter reports a terminal of the switch that is called by the first letter of one position's name, and of no other, and that others
// alone join: H for high, L for left.
func (l *labels) byLetter(part *model.Part, position int) bool {
	at := part.Inside.Positions[position].Name
	letter := func(name string) string { return strings.ToUpper(string([]rune(name)[:1])) }
	pin, has := part.Owner.Pin(letter(at.Text))
	if !has || len(part.Inside.Positions[position].Joins) == 0 {
		return false
	}
	other := model.Name{}
	for i := range part.Inside.Positions {
		p := &part.Inside.Positions[i]
		with := slices.ContainsFunc(p.Joins, func(group []model.PinID) bool { return slices.Contains(group, pin) })
		switch {
		case i == position && with, i != position && letter(p.Name.Text) == letter(at.Text):
			return false
		case with:
			other = p.Name
		}
	}
	if !other.IsSet() {
		return false
	}
	d := l.Report(at.Span, []string{part.Name.Text, l.Netlist.Pin(pin).String()}, "position %s of %s joins %s, and position %s does not", other.Text, titled(part), l.Netlist.Pin(pin), at.Text)
	d.Help = "exchange what the two positions join, or correct the names"
	return true
}

// told reports the first thing on a net that is named for a position; by are the positions that work it.
func (l *labels) told(part *model.Part, position int, words []string, net *graph.Net, by []int) bool {
	for _, label := range l.on[net] {
		if l.Netlist.Pin(label.pin).Owner.Device() == part || !containsAll(label.words, words) {
			continue
		}
		if slices.ContainsFunc(by, func(i int) bool {
			return containsAll(label.words, wordsOf(part.Inside.Positions[i].Name.Text))
		}) {
			continue
		}
		at, other, pin := part.Inside.Positions[position].Name, part.Inside.Positions[by[0]].Name, l.Netlist.Pin(label.pin)
		span := at.Span
		if span.IsZero() {
			span = part.Name.Span
		}
		d := l.Report(span, []string{part.Name.Text, pin.String()}, "position %s of %s works %s (%s), and position %s does not", other.Text, titled(part), pin, label.text, at.Text)
		d.Help = "exchange what the two positions join, or the wires at the switch; or correct the words"
		return true
	}
	return false
}

func containsAll(all, wanted []string) bool {
	return !slices.ContainsFunc(wanted, func(word string) bool { return !slices.Contains(all, word) })
}
