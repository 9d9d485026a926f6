package sheet

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "continuity", Title: "Continuity", Order: 500,
	Doc: "For the bench, battery off and everything unplugged: from every cavity, what must ring, with the ohms that the wires and their " +
		"connections come to, and which neighbours, ground and supply must not; with room to write in.",
	Plan: planContinuity,
})

const continuityCaution = "Battery off, grounded pole first. Every module, load, relay and fuse unplugged; no ohmmeter near a yellow connector (SRS). Touch " +
	"terminals, do not push probes into sockets. Local codes and licensed practice govern."

func planContinuity(s *Set) []*Page {
	c := s.Proofs().Continuity()
	if len(c.Groups) == 0 {
		return nil
	}
	w := &continuityWriter{s: s, c: c, pairs: map[[2]graph.NetID]bool{}}
	plugs := table{title: "By connector", heads: continuityHeads}
	rest := table{title: "At fuses, relays, devices and grounds", heads: slices.Insert(slices.Clone(continuityHeads), 1, "Of")}
	for i := range c.Groups {
		g := &c.Groups[i]
		if g.Connector != nil {
			plugs.rows = append(plugs.rows, w.connector(g)...)
		} else {
			rest.rows = append(rest.rows, w.device(g)...)
		}
	}
	if len(w.over) > 0 {
		rest.rows = append(rest.rows, spanRow("Measured from above, and nothing more to do: "+strings.Join(w.over, "; ")+"."))
	}
	return s.proofPages("continuity", "Continuity", "battery off, all unplugged", continuityCaution, w.before(), plugs, rest)
}

var continuityHeads = []string{"From", "Must ring to", "Ohm", "Read", "Must not ring to", "Open"}

// continuityWriter makes the rows; a pair of nets is tested for a short once.
type continuityWriter struct {
	s     *Set
	c     *prove.Continuity
	pairs map[[2]graph.NetID]bool
	over  []string // terminals of devices with nothing left to measure
}

// before says how the test is prepared and read.
func (w *continuityWriter) before() table {
	t := table{heads: []string{"", ""}}
	t.rows = tickRows(
		"Battery parted at both poles. Modules, loads, relays, fuses, bulbs and switches unplugged; in-line connectors mated; ground rings bolted.",
		"Meter on the lowest range of ohms. Tips together: leads read "+pen+" ohm (commonly 0.2 to 0.5). Take that off every reading.",
		"Ohm is what wires and connections come to at 20 °C. It rings where the reading is below 1 ohm, or below twice what is printed where that is more "+
			"(common practice). More: crimp, corrosion, wrong or broken wire. A meter does not find broken strands: that is what the loaded drop test is for.",
		w.staying(),
	)
	words := []string{}
	if w.c.Ground != model.NoPin {
		words = append(words, "“ground” is "+w.s.pointText(w.c.Ground)+" or bright metal")
	}
	if len(w.c.Supply) > 0 {
		words = append(words, "“supply” is each of "+w.s.pointNames(w.c.Supply))
	}
	if len(words) > 0 {
		t.rows = append(t.rows, row{cells: []cell{say(tickBox), say("Must not ring: more than 1 Mohm, or no tone. " + strings.Join(words, "; ") + ". Bare numbers are cavities of the same connector. Every pair is listed once.")}})
	}
	return t
}

func (w *continuityWriter) staying() string {
	if len(w.c.Stays) == 0 {
		return ""
	}
	return "These stay plugged, as the netlist says, and are read: " + titledParts(w.c.Stays) + "."
}

func (w *continuityWriter) connector(g *prove.Group) []row {
	o := g.Owner
	title := strings.TrimSpace(o.Name.Text + " " + o.Title())
	if g.Connector.Part != nil {
		title += " (plug of " + g.Connector.Part.Name.Text + ")"
	}
	rows := []row{headRow(title, canvas.Group{Kind: "connector", Ref: o.Name.Text})}
	var done, empty []string
	for i := range g.Rows {
		r := &g.Rows[i]
		name := w.s.Netlist.Pin(r.Pin).Name
		cells, any := w.cells(g, r)
		switch {
		case any:
			rows = append(rows, row{cells: append([]cell{sayBold(name)}, cells...), group: canvas.Group{Kind: "pin", Ref: w.s.Netlist.Pin(r.Pin).String()}})
		case r.Empty:
			empty = append(empty, name)
		default:
			done = append(done, name+" from "+w.s.pointName(r.Base))
		}
	}
	var foot []string
	if len(done) > 0 {
		foot = append(foot, "Measured from elsewhere: "+strings.Join(done, ", ")+".")
	}
	if len(empty) > 0 {
		foot = append(foot, "Empty: "+strings.Join(empty, ", ")+".")
	}
	if len(foot) > 0 {
		rows = append(rows, spanRow(strings.Join(foot, " ")))
	}
	rows[len(rows)-1].keep = false
	return rows
}

func (w *continuityWriter) device(g *prove.Group) []row {
	var rows []row
	for i := range g.Rows {
		r := &g.Rows[i]
		cells, any := w.cells(g, r)
		if !any {
			w.over = append(w.over, w.s.pointName(r.Pin)+" from "+w.s.pointName(r.Base))
			continue
		}
		name, title := w.s.pointName(r.Pin), ""
		if len(rows) == 0 {
			title = g.Owner.Title()
		}
		rows = append(rows, row{cells: append([]cell{sayBold(name), say(title)}, cells...), group: canvas.Group{Kind: "pin", Ref: w.s.Netlist.Pin(r.Pin).String()}})
	}
	return rows
}

// cells are what is measured from one terminal; false where nothing is left.
func (w *continuityWriter) cells(g *prove.Group, r *prove.Cavity) ([]cell, bool) {
	var to, ohms, read cell
	add := func(point, value, room string) {
		to, ohms, read = append(to, piece{text: point}), append(ohms, piece{text: value}), append(read, piece{text: room})
	}
	var passed []model.PinID
	for i := range r.Lines {
		l := &r.Lines[i]
		if w.between(r, l.To) {
			passed = append(passed, l.To)
			continue
		}
		value := "not stated"
		if l.Known {
			value = ohmsText(l.Ohms, l.Marked)
		}
		add(w.s.pointText(l.To), value, pen)
	}
	switch {
	case len(passed) > 0 && len(to) == 1:
		to[0].text += ", by " + w.s.pointNames(passed)
	case len(passed) > 0:
		add("by "+w.s.pointNames(passed), "", "")
	}
	if r.Ground && r.Base == r.Pin && !slices.ContainsFunc(append([]model.PinID{r.Pin}, r.Rings...), w.s.grounds) {
		add("ground", "", pen)
	}
	if r.Base == r.Pin {
		for _, x := range r.Through {
			add(w.s.pointText(x.To)+" through "+partNames(x.By), ohmsText(x.Ohms, false), pen)
		}
	}
	not := w.not(g, r)
	if len(to) == 0 && not != "" && !r.Empty {
		add("measured from "+w.s.pointName(r.Base), "", "")
	}
	open := cell{}
	if not != "" {
		open = say(tickBox)
	}
	return []cell{to, ohms, read, say(not), open}, len(to) > 0
}

// between reports whether a point of a net is a cavity of an in-line connector that need not be measured, since the net goes on behind
// it: to its mate, and to some point that is no such cavity.
func (w *continuityWriter) between(r *prove.Cavity, id model.PinID) bool {
	inline := func(id model.PinID) bool {
		c := w.s.Netlist.Pin(id).Owner.Connector
		return c != nil && c.Mate != nil
	}
	return inline(id) && len(w.s.Graph.At(id)) > 1 && slices.ContainsFunc(r.Rings, func(o model.PinID) bool { return !inline(o) })
}

// grounds reports whether a terminal is that of a ground point.
func (s *Set) grounds(id model.PinID) bool {
	p := s.Netlist.Pin(id).Owner.Part
	return p != nil && p.Kind.Name == "ground point"
}

// not names what must not ring: ground and supply once for each net, neighbours once for each pair of nets.
func (w *continuityWriter) not(g *prove.Group, r *prove.Cavity) string {
	var words []string
	if r.Base == r.Pin && !r.Empty {
		if r.NotGround {
			words = append(words, "ground")
		}
		if r.NotSupply && len(w.c.Supply) > 0 {
			words = append(words, "supply")
		}
	}
	for _, id := range r.Not {
		a, b := r.Net.ID, w.s.Graph.NetOf(id).ID
		if a > b {
			a, b = b, a
		}
		pair := [2]graph.NetID{a, b}
		if w.pairs[pair] || r.Empty || len(w.s.Graph.At(id)) == 0 {
			continue
		}
		w.pairs[pair] = true
		name := w.s.pointName(id)
		if g.Connector != nil {
			name = w.s.Netlist.Pin(id).Name
		}
		words = append(words, name)
	}
	return strings.Join(words, ", ")
}

var _ = register(&Maker{
	Name: "insulation", Title: "Insulation", Order: 505,
	Doc:  "Which nets are tested for insulation, at 50 V at most and with every module unplugged: against ground, against supply, and against what lies in the same cable.",
	Plan: planInsulation,
})

const insulationCaution = "Never above 50 V, never with any module, sensor, lamp or gauge connected. Battery off. No insulation test near SRS wiring. " +
	"Discharge the loom after each test. Local codes and licensed practice govern."

func planInsulation(s *Set) []*Page {
	in := s.Proofs().Insulation()
	if len(in.Groups) == 0 {
		return nil
	}
	before := table{heads: []string{"", ""}, rows: tickRows(
		fmt.Sprintf("Everything unplugged as for continuity, which comes first. Tester at no more than %.0f V; at least 1 Mohm after 1 s (common practice, new and dry harness).", prove.InsulationVolts),
		"Nets of one group that pass may be clipped together for the next group: below 1 Mohm, part them and find which.",
		s.insulationEnds(in),
	)}
	t := table{heads: []string{"Net", "Probe at", "to ground", "to supply", "to the other wire of its cable", "Mohm"}}
	for _, g := range in.Groups {
		t.rows = append(t.rows, headRow(fmt.Sprintf("%s: %s", g.Title, counted(len(g.Nets), "net")), canvas.Group{}))
		for i := range g.Nets {
			t.rows = append(t.rows, s.insulationRow(&g.Nets[i]))
		}
	}
	for _, skip := range in.Skipped {
		t.rows = append(t.rows, spanRow("Not tested against ground: "+s.netWord(skip.Net)+", which "+titledParts(skip.By)+" joins to it and cannot be unplugged."))
	}
	return s.proofPages("insulation", "Insulation", "50 V at most, all modules unplugged", insulationCaution, before, t.without(4))
}

func (s *Set) insulationEnds(in *prove.Insulation) string {
	var words []string
	if in.Ground != model.NoPin {
		words = append(words, "Ground: "+s.pointText(in.Ground))
	}
	if in.Supply != model.NoPin {
		words = append(words, "Supply: "+s.pointText(in.Supply))
	}
	if len(words) == 0 {
		return ""
	}
	return strings.Join(words, ". ") + "."
}

func (s *Set) insulationRow(n *prove.InsulationNet) row {
	tick := func(is bool) cell {
		if is {
			return say(tickBox)
		}
		return cell{}
	}
	partners := ""
	if len(n.Partners) > 0 {
		partners = tickBox + " " + s.pointNames(n.Partners) + " (" + n.Cable.Name.Text + ")"
	}
	return row{cells: []cell{say(s.netWord(n.Net)), say(s.pointText(n.At)), tick(n.ToGround), tick(n.ToSupply), say(partners), say(pen)}}
}
