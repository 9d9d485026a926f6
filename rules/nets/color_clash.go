package nets

import (
	"cmp"
	"ferrule/rules"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

var _ = rules.Register(&rules.Rule{
	Name: "color-clash", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.1",
	Title: "a colour says something that is not so, or does not part two wires",
	Doc: `In the vehicle the next pair of hands goes by colours: two alike in one connector get swapped, a wire that changes colour
at a splice cannot be followed, and a black wire that is not ground gets bolted to the body. The rule fires where one colour
stands for two nets in one connector; where a net changes colour at a splice or an in-line connector and nothing explains it;
where a base colour that the plan keeps for ground or for permanent supply is used for something else; and where the letters
are none of IEC 60757.

Take another base or tracer colour, or change the plan under [colors]. Not meant are ground wires among themselves, wires of
one net, the cores of cables, and wires that come with a kit.`,
	Sources: []string{
		"IEC 60757, letter codes for colours (testdata/reference/colour-codes-iec60757.csv)",
		"common practice: red for permanent supply, black for ground, no colour twice in a connector",
	},
	Bad: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", color = "RED" }
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "5 A", spare = true }
E1 = { kind = "lamp", load = "5 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", color = "RD" }
`,
	Run: func(p *rules.Pass) {
		c := &colors{Pass: p, misused: make([]bool, len(p.Netlist.Wires))}
		for _, w := range p.Netlist.Wires {
			c.letters(w)
			if !w.ColorText.IsSet() && w.Wired() && w.Cable == nil && !w.Supplied.On {
				p.Lacks("colour", `add color = "RD/WH" to each`, w.Name.Span, w.Name.Text)
			}
		}
		c.reserved()
		c.changes()
		c.twins()
	},
})

// colors is one run of the rule. A wire whose base colour is misused is reported for that alone: its other clashes go
// away with it.
type colors struct {
	*rules.Pass
	misused []bool // by wire index
}

// letters reports a colour that is not in IEC 60757 letters.
func (c *colors) letters(w *model.Wire) {
	if !w.ColorText.IsSet() || w.Color.IsSet() {
		return
	}
	d := c.Report(w.ColorText.Span, []string{w.Name.Text}, "%q is not a colour in IEC 60757 letters", w.ColorText.Text)
	if meant, ok := meantColor(w.ColorText.Text); ok {
		d.Help = fmt.Sprintf("did you mean %q?", meant)
		d.Fixes = c.SetKey("write the colour of "+w.Name.Text+" as "+meant, true, "wire", w.Name.Text, "color", meant)
		return
	}
	known := make([]string, len(unit.ColorLetters))
	for i, l := range unit.ColorLetters {
		known[i] = l.Letters + " " + l.Name
	}
	d.Help = "the letters are: " + strings.Join(known, ", ")
}

// meantColor returns the colour that was probably meant: of each half the letters themselves in capitals, the colour with
// that English name, or the nearest of either.
func meantColor(text string) (string, bool) {
	halves := strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune("/-+, ", r) })
	if len(halves) < 1 || len(halves) > 2 {
		return "", false
	}
	for i, half := range halves {
		letters, ok := meantLetters(half)
		if !ok {
			return "", false
		}
		halves[i] = letters
	}
	return strings.Join(halves, "/"), true
}

func meantLetters(half string) (string, bool) {
	var codes, names []string
	for _, l := range unit.ColorLetters {
		if strings.EqualFold(half, l.Letters) || strings.EqualFold(half, l.Name) || strings.EqualFold(half, "gray") && l.Name == "grey" {
			return l.Letters, true
		}
		codes, names = append(codes, l.Letters), append(names, l.Name)
	}
	if near, ok := diag.Nearest(half, names); ok {
		return codes[slices.Index(names, near)], true
	}
	if len(half) != 3 { // two letters are near to too many others; three are a code with a letter too much
		return "", false
	}
	return diag.Nearest(half, codes)
}

// free reports whether the builder chose the wire's colour: not that of a core, nor that of a wire that came with a kit.
func free(w *model.Wire) bool { return w.Color.IsSet() && w.Cable == nil && !w.Supplied.On }

// reserved reports base colours of the plan on wires that are something else, once a net. In a file that has no ground,
// or nothing that is always live, there is nothing to hold the colour against.
func (c *colors) reserved() {
	plan := &c.Netlist.Colors
	hasGround, hasLive := c.HasGround(), c.HasLive()
	told := map[graph.NetID]bool{}
	for _, w := range c.Netlist.Wires {
		if !free(w) || !w.Wired() {
			continue
		}
		switch base := w.Color.Base; {
		case hasGround && rules.Reserves(plan.Ground, base) && !c.Grounded(w.From.ID):
			c.misuse(w, told, "ground", "does not reach ground by wire alone")
		case hasLive && rules.Reserves(plan.Permanent, base) && !rules.Reserves(plan.Ground, base) && !c.Permanent(w.From.ID):
			c.misuse(w, told, "permanent supply", "is not always joined to a source")
		}
	}
}

func (c *colors) misuse(w *model.Wire, told map[graph.NetID]bool, kept, but string) {
	c.misused[w.Index] = true
	net := c.Graph.NetOf(w.From.ID)
	if told[net.ID] {
		return
	}
	told[net.ID] = true
	d := c.Report(w.ColorText.Span, []string{w.Name.Text}, "%s (%s) is kept for %s, but wire %s is on net %s, which %s",
		w.Color.Base, colorName(w.Color.Base), kept, w.Name.Text, net.Name, but)
	d.Help = "take another base colour, or change the plan under [colors]"
}

func colorName(letters string) string {
	name, _ := unit.ColorName(letters)
	return name
}

// changes reports wires that meet at a splice or at a pair of cavities in different colours, once for all that hangs
// together so. At a terminal, a stud or a bus bar wires of one net may differ: the device is the explanation.
func (c *colors) changes() {
	runs := graph.NewSets(len(c.Netlist.Wires))
	for _, s := range c.Netlist.Splices {
		c.joinRun(runs, s.Owner.Pins...)
	}
	for _, x := range c.Netlist.Connectors {
		if x.Part == nil && (x.Mate == nil || x.Mate.Part == nil) {
			for _, id := range x.Owner.Pins {
				c.joinRun(runs, id, c.mateOf(id))
			}
		}
	}
	for _, run := range c.mixedRuns(runs) {
		c.run(run)
	}
}

// mixedRuns returns the runs that hold more than one colour, in the order of the file. Most wires are alone or among their
// like, so every wire is compared with the first of its run, and only the runs in which one differs are collected.
func (c *colors) mixedRuns(runs *graph.Sets) [][]*model.Wire {
	first := make([]*model.Wire, len(c.Netlist.Wires))
	var order []int32
	mixed := map[int32][]*model.Wire{}
	judged := func(w *model.Wire) bool { return free(w) && w.Wired() && !c.misused[w.Index] }
	for _, w := range c.Netlist.Wires {
		if !judged(w) {
			continue
		}
		root := runs.Find(int32(w.Index))
		if first[root] == nil {
			first[root] = w
		} else if _, known := mixed[root]; !known && first[root].Color != w.Color {
			mixed[root] = nil
			order = append(order, root)
		}
	}
	if len(order) == 0 {
		return nil
	}
	for _, w := range c.Netlist.Wires {
		root := runs.Find(int32(w.Index))
		if _, is := mixed[root]; is && judged(w) {
			mixed[root] = append(mixed[root], w)
		}
	}
	out := make([][]*model.Wire, len(order))
	for i, root := range order {
		out[i] = mixed[root]
	}
	return out
}

// joinRun unites the wires at some terminals.
func (c *colors) joinRun(runs *graph.Sets, pins ...model.PinID) {
	first := int32(-1)
	for _, pin := range pins {
		if pin == model.NoPin {
			continue
		}
		for _, id := range c.Graph.At(pin) {
			e := c.Graph.Edge(id)
			if e.Kind != graph.Wire {
				continue
			}
			if first < 0 {
				first = int32(e.Wire.Index)
			}
			runs.Join(first, int32(e.Wire.Index))
		}
	}
}

func (c *colors) mateOf(pin model.PinID) model.PinID {
	for _, id := range c.Graph.At(pin) {
		if e := c.Graph.Edge(id); e.Kind == graph.Mate {
			return e.Other(pin)
		}
	}
	return model.NoPin
}

// run reports the wires of one run that differ from what most are; of as many on either side, those further down. Where
// the file states two nets in the run, the colours are right and a wire is in the wrong place: another rule's matter.
func (c *colors) run(wires []*model.Wire) {
	stated := ""
	for _, w := range wires {
		if w.Net.IsSet() && stated != "" && w.Net.Text != stated {
			return
		}
		stated = cmp.Or(w.Net.Text, stated)
	}
	same := func(a, b *model.Wire) bool {
		return a.Color == b.Color || c.Grounded(a.From.ID) && rules.Reserves(c.Netlist.Colors.Ground, a.Color.Base) && rules.Reserves(c.Netlist.Colors.Ground, b.Color.Base)
	}
	if !slices.ContainsFunc(wires, func(w *model.Wire) bool { return !same(wires[0], w) }) {
		return
	}
	usual, most := wires[0], 0
	var tried []unit.Color
	for _, w := range wires {
		if slices.Contains(tried, w.Color) {
			continue
		}
		tried = append(tried, w.Color)
		count := 0
		for _, other := range wires {
			if same(w, other) {
				count++
			}
		}
		if count > most || count == most && !same(w, usual) && c.feeds(w, usual) {
			usual, most = w, count
		}
	}
	c.changed(wires, usual, same)
}

// feeds reports whether wire a ends where wire b begins.
func (c *colors) feeds(a, b *model.Wire) bool {
	return c.Netlist.Pin(a.To.ID).Owner == c.Netlist.Pin(b.From.ID).Owner || c.mateOf(a.To.ID) == b.From.ID
}

func (c *colors) changed(wires []*model.Wire, usual *model.Wire, same func(a, b *model.Wire) bool) {
	var odd []*model.Wire
	for _, w := range wires {
		if !same(w, usual) {
			odd = append(odd, w)
		}
	}
	w := odd[0]
	d := c.Report(w.ColorText.Span, []string{w.Name.Text, usual.Name.Text}, "wire %s is %s, but the rest of net %s is %s", w.Name.Text, w.Color, c.Graph.NetOf(w.From.ID).Name, usual.Color)
	d.Help = fmt.Sprintf("take %s, so that the wire can be followed through its joints; mark a wire that came in its colour supplied = true", usual.Color)
	d.Related = append(d.Related, diag.Related{Span: usual.ColorText.Span, Message: fmt.Sprintf("wire %s is %s", usual.Name.Text, usual.Color)})
	for _, other := range odd[1:] {
		d.Refs = append(d.Refs, other.Name.Text)
		d.Related = append(d.Related, diag.Related{Span: other.ColorText.Span, Message: fmt.Sprintf("wire %s is %s", other.Name.Text, other.Color)})
	}
}

// A seat is a wire in a cavity.
type seat struct {
	wire *model.Wire
	pin  model.PinID
	net  graph.NetID
}

// A pairing is two nets in one colour. They are one finding, also when they run through several connectors together.
type pairing struct {
	a, b  graph.NetID
	color unit.Color
}

// A clash is where a pairing was seen.
type clash struct {
	first, second seat
	in            []string
}

// twins reports colours that stand for two nets in one connector. Cavities are sorted by colour, one connector at a time,
// so the work stays near the number of wires.
func (c *colors) twins() {
	var order []pairing
	found := map[pairing]*clash{}
	var seats []seat
	for _, x := range c.Netlist.Connectors {
		seats = c.seats(x, seats[:0])
		slices.SortStableFunc(seats, func(a, b seat) int {
			return cmp.Or(cmp.Compare(a.wire.Color.Base, b.wire.Color.Base), cmp.Compare(a.wire.Color.Tracer, b.wire.Color.Tracer))
		})
		for i := 1; i < len(seats); i++ {
			first := c.rival(seats, i)
			if first < 0 {
				continue
			}
			a, b := seats[first], seats[i]
			key := pairing{min(a.net, b.net), max(a.net, b.net), a.wire.Color}
			if found[key] == nil {
				found[key] = &clash{first: a, second: b}
				order = append(order, key)
			}
			if in := found[key]; !slices.Contains(in.in, x.Name.Text) {
				in.in = append(in.in, x.Name.Text)
			}
		}
	}
	for _, key := range order {
		c.twin(found[key])
	}
}

// seats collects the wires of a connector whose colours are to part them: not those of ground.
func (c *colors) seats(x *model.Connector, into []seat) []seat {
	for _, pin := range x.Owner.Pins {
		if c.Grounded(pin) {
			continue
		}
		for _, id := range c.Graph.At(pin) {
			if w := c.Graph.Edge(id).Wire; w != nil && w.Color.IsSet() && !c.misused[w.Index] {
				into = append(into, seat{wire: w, pin: pin, net: c.Graph.NetOf(pin).ID})
			}
		}
	}
	return into
}

// rival returns the first seat before i with the same colour on another net that could be taken for it, or -1. Cores of
// two cables are told apart by their cables, and the colours of two wires of a kit are as they came.
func (c *colors) rival(seats []seat, i int) int {
	b := seats[i]
	for k := i - 1; k >= 0 && seats[k].wire.Color == b.wire.Color; k-- {
		a := seats[k]
		apart := a.wire.Cable != nil && b.wire.Cable != nil && a.wire.Cable != b.wire.Cable
		if a.net != b.net && !apart && !(a.wire.Supplied.On && b.wire.Supplied.On) {
			return k
		}
		if i-k > maxSameColor {
			break
		}
	}
	return -1
}

// maxSameColor is how far rival looks back among wires of one colour. Whoever has as many of one colour in one connector
// has been told before; without a bound a connector of one colour would cost the square of its cavities.
const maxSameColor = 16

func (c *colors) twin(t *clash) {
	a, b := t.first, t.second
	if b.wire.Index < a.wire.Index {
		a, b = b, a
	}
	d := c.Report(b.wire.ColorText.Span, []string{b.wire.Name.Text, a.wire.Name.Text, c.Netlist.Pin(b.pin).String(), c.Netlist.Pin(a.pin).String()},
		"%s stands for %s (%s) and for %s (%s) in %s", b.wire.Color, c.Graph.Nets[a.net].Name, c.Netlist.Pin(a.pin), c.Graph.Nets[b.net].Name, c.Netlist.Pin(b.pin), strings.Join(t.in, ", "))
	d.Help = "give one of the two another tracer, so that they cannot be swapped"
	d.Related = []diag.Related{{Span: a.wire.ColorText.Span, Message: fmt.Sprintf("wire %s is %s too", a.wire.Name.Text, a.wire.Color)}}
}
