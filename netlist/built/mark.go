package built

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// The words under which a mark is refused.
const (
	ruleBack  = "step-back"
	ruleOlder = "older-piece"
	ruleBench = "not-cut-here"
)

// An Order says how far a wire is now.
type Order struct {
	Wire  *model.Wire
	Stage Stage
	At    source.Span // where that is written; zero for a command line
	// AtLeast is set where the order comes from a list that was printed some time ago: a wire that is farther by now stays
	// where it is. Without it that is a step back.
	AtLeast bool
}

// Options say what a mark may do that is not done unasked.
type Options struct {
	Back    bool // take wires back to an earlier stage
	AsBuilt bool // a piece that is older than the netlist stays what it is, and moves on
	Anew    bool // the piece has been made anew, as the netlist is now
}

// A Change is a wire whose line changes.
type Change struct {
	Wire     *model.Wire
	Before   Stage
	After    Record
	Replaced *Record // the piece that this one has been made anew for
	Kept     bool    // the piece is older than the netlist and stays so
}

// A Plan is a status file with orders carried out.
type Plan struct {
	Changes []Change // in natural order of the wires
	Already int      // wires that were marked so before, or farther
	Text    []byte   // of the whole file
}

// Mark carries out orders, all of them or none: the list says what speaks against it. What of the file the orders do not
// concern stays as it is, byte for byte, comments included. An error is for a file in which a mark has no place.
func (s *Status) Mark(orders []Order, o Options) (*Plan, diag.List, error) {
	m := &marker{Status: s, options: o, plan: &Plan{}}
	for _, order := range sorted(orders) {
		m.order(order)
	}
	if len(m.plan.Changes) > 0 && !s.Harness.Netlist.Harness.Revision.IsSet() {
		d := m.diags.Errorf("missing-key", s.Harness.Netlist.Harness.Span, "the netlist states no revision, and a mark says at which one a wire was built")
		d.Help = `write revision = "A" under [harness]`
		if d.Span.IsZero() {
			d.Span = s.Harness.Netlist.Files[0].Span(0, 0)
		}
	}
	if m.diags = few(m.diags); len(m.diags) > 0 {
		return nil, m.diags, nil
	}
	text, err := s.write(m.plan.Changes)
	if err != nil {
		return nil, nil, err
	}
	m.plan.Text = text
	return m.plan, nil, nil
}

// sorted puts orders into the natural order of their wires. Of two for one wire the farther one counts.
func sorted(orders []Order) []Order {
	orders = slices.Clone(orders)
	slices.SortStableFunc(orders, func(a, b Order) int {
		if c := model.CompareNatural(a.Wire.Name.Text, b.Wire.Name.Text); c != 0 {
			return c
		}
		return int(b.Stage) - int(a.Stage)
	})
	return slices.CompactFunc(orders, func(a, b Order) bool { return a.Wire == b.Wire })
}

type marker struct {
	*Status
	options Options
	plan    *Plan
	diags   diag.List
}

func (m *marker) refuse(rule string, o Order, r *Record, message, help string) {
	d := diag.Diagnostic{Rule: rule, Severity: diag.Error, Message: message, Help: help, Refs: []string{o.Wire.Name.Text}, Span: o.At}
	if d.Span.IsZero() && r != nil {
		d.Span = r.StageAt
	}
	m.diags = append(m.diags, d)
}

// order decides what becomes of one wire.
func (m *marker) order(o Order) {
	name, r := o.Wire.Name.Text, m.Record(o.Wire.Name.Text)
	before := m.Stage(o.Wire)
	var older *Older
	if r != nil {
		older = m.older(r)
	}
	anew := older != nil && m.options.Anew && o.Stage > Planned
	switch {
	case o.Wire.Supplied.On && (o.Stage == Cut || o.Stage == Crimped):
		m.refuse(ruleBench, o, r, fmt.Sprintf("%s comes with its device (supplied = true) and is not %s here", name, o.Stage), "mark it installed when it is on the vehicle")
		return
	case o.Stage < before && o.AtLeast, o.Stage == before && !anew:
		m.plan.Already++
		return
	case o.Stage < before && !m.options.Back && !anew:
		m.refuse(ruleBack, o, r, fmt.Sprintf("%s is %s already; %s would be a step back", name, before, o.Stage), "say --back if that is meant")
		return
	case older.asks() && o.Stage > Planned && !m.options.AsBuilt && !m.options.Anew:
		m.refuse(ruleOlder, o, r, older.Says(), fmt.Sprintf("say --anew if it has been made anew as the netlist is now, --as-built if it is the old piece that is now %s", o.Stage))
		return
	}
	c := Change{Wire: o.Wire, Before: before, After: m.record(o, r)}
	switch {
	case older == nil || o.Stage == Planned:
	case m.options.Anew:
		c.Replaced = r
	case older.asks():
		c.Kept, c.After.Made, c.After.Revision = true, r.Made, r.Revision
	}
	m.plan.Changes = append(m.plan.Changes, c)
}

// record is the line of a wire as the netlist is now. What the netlist does not say is kept from the line that is there, as
// long as the piece is the same.
func (m *marker) record(o Order, was *Record) Record {
	r := Record{Name: o.Wire.Name, Stage: o.Stage}
	if o.Stage == Planned {
		return r
	}
	r.Revision, r.Made = m.Harness.Netlist.Harness.Revision, m.Harness.Of(o.Wire)
	if was == nil || m.options.Anew {
		return r
	}
	if !r.Made.Size.IsSet() {
		r.Made.Size = was.Made.Size
	}
	r.Made.Color = or(r.Made.Color, was.Made.Color)
	if was.Made.Length > 0 {
		r.Made.Length = was.Made.Length // a piece stays as long as it was cut
	}
	return r
}

// mostAlike is how many findings of one sort are told one by one.
const mostAlike = 10

// few keeps the first findings of each sort and counts the rest.
func few(list diag.List) diag.List {
	var out diag.List
	count, last := map[string]int{}, map[string]int{}
	for _, d := range list {
		count[d.Rule]++
		if count[d.Rule] <= mostAlike {
			last[d.Rule] = len(out)
			out = append(out, d)
		}
	}
	for i := range out {
		if more := count[out[i].Rule] - mostAlike; more > 0 && last[out[i].Rule] == i {
			out[i].Help = strings.TrimPrefix(fmt.Sprintf("%s; and %d more wires like it", out[i].Help, more), "; ")
		}
	}
	return out
}
