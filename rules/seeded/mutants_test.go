package seeded_test

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// A mutant is a clean harness with one thing broken.
type mutant struct {
	class string // what was done, in words that head a row of the table
	what  string // to what: "60c removed"
	edits []source.Edit
}

// breaker makes the mutants of a harness, class by class, in the order of the file.
type breaker struct {
	n    *model.Netlist
	at   map[model.PinID][]*model.PinRef // the wire ends at a terminal
	made []mutant
}

func mutantsOf(n *model.Netlist) []mutant {
	b := &breaker{n: n, at: map[model.PinID][]*model.PinRef{}}
	for _, w := range n.Wires {
		for _, end := range []*model.PinRef{&w.From, &w.To} {
			if end.ID != model.NoPin {
				b.at[end.ID] = append(b.at[end.ID], end)
			}
		}
	}
	for _, w := range n.Wires {
		b.removed(w)
		b.moved(w)
		b.thinner(w)
		b.recolored(w)
		b.dropped(w)
		b.regrounded(w)
		b.length("wire length", w.Name.Text, w.Length)
	}
	for _, p := range n.Paths {
		b.length("path length", "path "+p.Name.Text, p.Length)
	}
	for _, o := range n.Owners {
		b.swapped(o)
	}
	for _, p := range n.Parts {
		b.fused(p)
		b.rotated(p)
		b.permuted(p)
		b.diode(p)
	}
	for _, c := range n.Cables {
		b.screened(c)
	}
	slices.SortStableFunc(b.made, func(a, b mutant) int { return strings.Compare(a.class, b.class) })
	return b.made
}

func (b *breaker) add(class, what string, edits ...source.Edit) {
	b.made = append(b.made, mutant{class, what, edits})
}

func replace(s source.Span, text string) source.Edit { return source.Edit{Span: s, New: text} }

// line is the span of whole lines, with the line break.
func line(s source.Span) source.Span {
	text, end := s.File.Text, int(s.End)
	for end < len(text) && text[end] != '\n' {
		end++
	}
	start := int(s.Start)
	for start > 0 && text[start-1] != '\n' {
		start--
	}
	return s.File.Span(start, min(end+1, len(text)))
}

// removed takes a wire out, and its name out of its cable.
func (b *breaker) removed(w *model.Wire) {
	edits := []source.Edit{replace(line(w.Span), "")}
	if w.Cable != nil {
		for _, name := range w.Cable.WireNames {
			if name.Text == w.Name.Text {
				edits = append(edits, replace(listItem(name.Span), ""))
			}
		}
	}
	b.add("wire removed", w.Name.Text+" removed", edits...)
}

var commaAfter = regexp.MustCompile(`^\s*,\s*`)

// listItem widens the span of an item of a list by the comma behind it, or before it when it is the last.
func listItem(s source.Span) source.Span {
	text := s.File.Text
	if m := commaAfter.FindIndex(text[s.End:]); m != nil {
		return s.File.Span(int(s.Start), int(s.End)+m[1])
	}
	start := int(s.Start)
	for start > 0 && strings.ContainsRune(" \t\n\r,", rune(text[start-1])) {
		start--
	}
	return s.File.Span(start, int(s.End))
}

// moved brings each end of a wire to the terminals beside its own.
func (b *breaker) moved(w *model.Wire) {
	for _, end := range []*model.PinRef{&w.From, &w.To} {
		if end.ID == model.NoPin {
			continue
		}
		for _, to := range b.beside(end.ID) {
			b.add("end moved to a neighbour", fmt.Sprintf("%s from %s to %s", w.Name.Text, end.Text, b.n.Pin(to)), replace(end.Span, quoted(b.n.Pin(to).String())))
		}
	}
}

func quoted(text string) string { return fmt.Sprintf("%q", text) }

// beside returns the terminals around one: those left and right of it, above and below, where the file says how the cavities lie, else
// those before and after it in the order of its owner. Splices, studs and the like have none: all their terminals are one.
func (b *breaker) beside(pin model.PinID) []model.PinID {
	o := b.n.Pin(pin).Owner
	if o.OpenPins || o.Joined {
		return nil
	}
	if o.Connector != nil && o.Connector.Rows != nil {
		return o.Connector.Neighbours(o.PinName(pin))
	}
	i := slices.Index(o.Pins, pin)
	var out []model.PinID
	if i > 0 {
		out = append(out, o.Pins[i-1])
	}
	if i >= 0 && i+1 < len(o.Pins) {
		out = append(out, o.Pins[i+1])
	}
	return out
}

// swapped exchanges what goes to two terminals of a part or connector, for every pair of them: those that follow one another, which a
// slip of the hand exchanges, apart from the others.
func (b *breaker) swapped(o *model.Owner) {
	if o.OpenPins || o.Joined {
		return
	}
	for i, first := range o.Pins {
		for j := i + 1; j < len(o.Pins); j++ {
			second, class := o.Pins[j], "two ends exchanged"
			if j > i+1 {
				class = "two ends exchanged, apart"
			}
			if len(b.at[first]) > 0 && len(b.at[second]) > 0 {
				b.add(class, fmt.Sprintf("%s and %s exchanged", b.n.Pin(first), b.n.Pin(second)), b.exchange(first, second)...)
			}
		}
	}
}

func (b *breaker) exchange(first, second model.PinID) []source.Edit {
	return append(b.move(first, second), b.move(second, first)...)
}

func (b *breaker) move(from, to model.PinID) []source.Edit {
	var edits []source.Edit
	for _, end := range b.at[from] {
		edits = append(edits, replace(end.Span, quoted(b.n.Pin(to).String())))
	}
	return edits
}

// thinner takes the next standard sizes below that of a wire.
func (b *breaker) thinner(w *model.Wire) {
	if !w.Size.IsSet() {
		return
	}
	_, awg := w.Size.ByAWG()
	sizes := conductor.StandardSizes(awg)
	at := slices.IndexFunc(sizes, func(s unit.Size) bool { return s.AreaMM2() >= w.Size.AreaMM2()*0.999 })
	for step := 1; step <= 2 && at-step >= 0; step++ {
		size := sizes[at-step].String()
		b.add(fmt.Sprintf("thinner by %d", step), fmt.Sprintf("%s %s for %s", w.Name.Text, size, w.Size), replace(w.SizeSpan, quoted(size)))
	}
}

// palette is what colours are changed among: base colours that every reel comes in.
var palette = []string{"BK", "RD", "BU", "GN", "YE", "WH", "BN", "OG"}

func (b *breaker) recolored(w *model.Wire) {
	if !w.Color.IsSet() {
		return
	}
	at := slices.Index(palette, w.Color.Base)
	color := palette[(at+1+w.Index)%len(palette)]
	if color == w.ColorText.Text {
		color = palette[(at+2+w.Index)%len(palette)]
	}
	b.add("colour changed", fmt.Sprintf("%s %s for %s", w.Name.Text, color, w.ColorText.Text), replace(w.ColorText.Span, quoted(color)))
}

// dropped leaves a leg of a splice loose: its end is not written any more.
func (b *breaker) dropped(w *model.Wire) {
	for _, end := range []*model.PinRef{&w.From, &w.To} {
		if end.ID == model.NoPin || b.n.Pin(end.ID).Owner.Splice == nil {
			continue
		}
		if entry, ok := entryOf(w, end); ok {
			b.add("splice leg dropped", fmt.Sprintf("%s off %s", w.Name.Text, end.Text), replace(entry, ""))
		}
	}
}

var keyBefore = regexp.MustCompile(`(from|to)\s*=\s*$`)

// entryOf is the span of `to = "SP1:2", ` in a wire's line.
func entryOf(w *model.Wire, end *model.PinRef) (source.Span, bool) {
	text := end.Span.File.Text
	m := keyBefore.FindIndex(text[w.Span.Start:end.Span.Start])
	if m == nil {
		return source.Span{}, false
	}
	value := listItem(end.Span)
	return end.Span.File.Span(min(int(w.Span.Start)+m[0], int(value.Start)), int(value.End)), true
}

// regrounded brings a wire from one ground point to the next.
func (b *breaker) regrounded(w *model.Wire) {
	var points []*model.Part
	for _, p := range b.n.Parts {
		if p.Kind.Name == "ground point" {
			points = append(points, p)
		}
	}
	for _, end := range []*model.PinRef{&w.From, &w.To} {
		if end.ID == model.NoPin {
			continue
		}
		at := slices.Index(points, b.n.Pin(end.ID).Owner.Part)
		if at < 0 || len(points) < 2 {
			continue
		}
		to := points[(at+1)%len(points)].Name.Text
		b.add("ground moved", fmt.Sprintf("%s from %s to %s", w.Name.Text, end.Text, to), replace(end.Span, quoted(to+":moved")))
	}
}

// length makes a length ten times as long and a tenth.
func (b *breaker) length(class, what string, q model.Quantity) {
	if !q.IsSet() {
		return
	}
	for _, f := range []struct {
		word string
		by   float64
	}{{"x10", 10}, {"/10", 0.1}} {
		if metres := q.Value * f.by; metres <= 100 && metres >= 0.001 {
			b.add(class+" "+f.word, fmt.Sprintf("%s %.4g m for %.4g m", what, metres, q.Value), replace(q.Span, quoted(fmt.Sprintf("%.4g m", metres))))
		}
	}
}

// fused takes the next standard ratings above that of a fuse.
func (b *breaker) fused(p *model.Part) {
	rating := p.Value("rating")
	if len(p.Inside.Protects) == 0 || rating == nil || !rating.Quantity.IsSet() {
		return
	}
	word := ""
	if v := p.Value("family"); v != nil {
		word = v.Word.Text
	}
	family, _ := fusecurve.ParseFamily(word)
	ratings := fusecurve.StandardRatings(family)
	at := slices.IndexFunc(ratings, func(a unit.Ampere) bool { return float64(a) > rating.Quantity.Value*1.001 })
	for step := 0; step < 2 && at >= 0 && at+step < len(ratings); step++ {
		text := fmt.Sprintf("%g A", float64(ratings[at+step]))
		b.add(fmt.Sprintf("fuse up by %d", step+1), fmt.Sprintf("%s %s for %g A", p.Name.Text, text, rating.Quantity.Value), replace(rating.Quantity.Span, quoted(text)))
	}
}

// rotated turns what goes to the terminals of a relay, by one and on until it would stand as it was.
func (b *breaker) rotated(p *model.Part) {
	if len(p.Inside.Coils) == 0 {
		return
	}
	for step := 1; step < len(p.Owner.Pins); step++ {
		var edits []source.Edit
		for i, pin := range p.Owner.Pins {
			edits = append(edits, b.move(pin, p.Owner.Pins[(i+step)%len(p.Owner.Pins)])...)
		}
		if len(edits) > 0 {
			b.add("relay terminals rotated", fmt.Sprintf("%s rotated by %d", p.Name.Text, step), edits...)
		}
	}
}

// permuted exchanges the names of two positions of a switch, for every pair of them.
func (b *breaker) permuted(p *model.Part) {
	positions := p.Inside.Positions
	for i := range positions {
		for j := i + 1; j < len(positions); j++ {
			first, second := positions[i].Name, positions[j].Name
			if first.Span.IsZero() || second.Span.IsZero() {
				continue
			}
			b.add("switch positions exchanged", fmt.Sprintf("%s: %s and %s exchanged", p.Name.Text, first.Text, second.Text),
				replace(first.Span, second.Span.Text()), replace(second.Span, first.Span.Text()))
		}
	}
}

// diode turns a diode round, bridges it, and takes it out; and the same for those that are written as being inside a part.
func (b *breaker) diode(p *model.Part) {
	b.inside(p)
	if p.Kind.Name != "diode" || len(p.Owner.Pins) != 2 {
		return
	}
	anode, cathode := p.Owner.Pins[0], p.Owner.Pins[1]
	b.add("diode reversed", p.Name.Text+" reversed", b.exchange(anode, cathode)...)
	b.add("diode bridged", p.Name.Text+" left out and its wires joined", b.move(cathode, anode)...)
	var edits []source.Edit
	for _, w := range b.n.Wires {
		for _, end := range []*model.PinRef{&w.From, &w.To} {
			if entry, ok := entryOf(w, end); ok && (end.ID == anode || end.ID == cathode) {
				edits = append(edits, replace(entry, ""))
			}
		}
	}
	b.add("diode removed", p.Name.Text+" out, and its wires loose", edits...)
}

var (
	diodesKey = regexp.MustCompile(`(?m)^diodes = \[(.*)\]`)
	diodeItem = regexp.MustCompile(`"([^">]+)>([^"]+)"`)
)

// inside breaks the diodes of a part that has a table of its own.
func (b *breaker) inside(p *model.Part) {
	text, start := p.Name.Span.File.Text, int(p.Name.Span.End)
	end := len(text)
	if next := bytes.Index(text[start:], []byte("\n[")); next >= 0 {
		end = start + next
	}
	key := diodesKey.FindSubmatchIndex(text[start:end])
	if key == nil || len(p.Inside.Diodes) == 0 {
		return
	}
	start, end = start+key[2], start+key[3]
	for _, m := range diodeItem.FindAllSubmatchIndex(text[start:end], -1) {
		anode, cathode := string(text[start+m[2]:start+m[3]]), string(text[start+m[4]:start+m[5]])
		span, what := p.Name.Span.File.Span(start+m[0], start+m[1]), p.Name.Text+" "+anode+">"+cathode
		b.add("diode reversed", what+" reversed", replace(span, quoted(cathode+">"+anode)))
		b.add("diode removed", what+" out", replace(listItem(span), ""))
	}
}

// screened ties a screen a second time, to the first ground point of the file, or ground bar of a boat without metal.
func (b *breaker) screened(c *model.Cable) {
	if len(c.Screen) == 0 {
		return
	}
	for _, p := range b.n.Parts {
		if p.Kind.Name == "ground point" || p.Kind.Name == "bus bar" && strings.Contains(strings.ToLower(p.Title.Text), "ground") {
			tie := c.Screen[0]
			text := fmt.Sprintf("[%q, %q]", tie.Text, p.Name.Text+":second-tie")
			if strings.HasPrefix(string(tie.Span.File.Text[tie.Span.Start-1:]), "[") { // a list already
				text = text[1 : len(text)-1]
			}
			b.add("screen tied twice", fmt.Sprintf("%s also to %s", c.Name.Text, p.Name.Text), replace(tie.Span, text))
			return
		}
	}
}
