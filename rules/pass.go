package rules

import (
	"fmt"
	"strings"
	"sync/atomic"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/circuit/study"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

// A Pass is one run of one rule over one harness.
type Pass struct {
	*Facts
	rule     *Rule
	settings map[string]float64
	found    diag.List
	lacks    []lack
	waits    atomic.Bool // it has asked for the fault study; several goroutines of a rule may ask
	solves   atomic.Bool // it has asked for something of the solved circuit
	follows  bool        // it goes by what is live in a state; see FollowsShorts
	upset    string      // the key of a finding of its that upsets the solved circuit; see Upsets
}

// Reports is that of Facts. A rule that asks for it says nothing of what could not be solved: no-data says so.
func (p *Pass) Reports() []*circuit.Report { p.solves.Store(true); return p.Facts.Reports() }

// Sizing is that of Facts, as Reports.
func (p *Pass) Sizing() *sizing.Report { p.solves.Store(true); return p.Facts.Sizing() }

// SizeOf is that of Facts, as Reports.
func (p *Pass) SizeOf(w *model.Wire) *sizing.Wire { p.solves.Store(true); return p.Facts.SizeOf(w) }

// Study is that of Facts, as Reports.
func (p *Pass) Study() *study.Study { p.solves.Store(true); return p.Facts.Study() }

// Shorts is that of Facts, as Reports.
func (p *Pass) Shorts() []study.Short {
	p.solves.Store(true)
	p.waits.Store(true)
	return p.Facts.Shorts()
}

// Waited reports whether the rule has asked for Shorts. Such a rule says Late.
func (p *Pass) Waited() bool { return p.waits.Load() }

// Upsets says that with what a finding reports the currents of the solved circuit are not those of its loads, as a dead short does. What
// rules find in it then follows from that finding; of several the first counts.
func (p *Pass) Upsets(d *diag.Diagnostic) {
	if p.upset == "" {
		p.upset = d.Key()
	}
}

// FollowsShorts says that the rule goes by what is live in a state without asking for the solved circuit: with a dead short, what it
// finds follows from that.
func (p *Pass) FollowsShorts() { p.follows = true }

// Report adds a finding at the words of span, about the designators refs, the main one first. The diagnostic that it
// returns can be given help, related places and fixes until the next call.
func (p *Pass) Report(span source.Span, refs []string, format string, args ...any) *diag.Diagnostic {
	return p.ReportAs(p.rule.Severity, span, refs, format, args...)
}

// ReportAs is Report for a finding that is milder or worse than the rule's own severity. What the harness sets under
// `[rules]` goes before both.
func (p *Pass) ReportAs(severity diag.Severity, span source.Span, refs []string, format string, args ...any) *diag.Diagnostic {
	p.found = append(p.found, diag.Diagnostic{
		Rule: p.rule.Name, Severity: severity, Span: span, Refs: refs, Message: fmt.Sprintf(format, args...),
	})
	return &p.found[len(p.found)-1]
}

// Setting returns a threshold of the rule in SI: what the harness sets, or the rule's default.
func (p *Pass) Setting(key string) float64 {
	if v, set := p.settings[key]; set {
		return v
	}
	return p.rule.setting(key).Default
}

// A lack is one check that could not be made for want of data.
type lack struct {
	what, help string
	span       source.Span
	ref        string
	rule       string
}

// Lacks says that one check could not be made because something is not stated: what, in words that go with "no ...
// stated" ("length", "seal range of the terminal"), of which designator, and what to add. All that lack the same make
// one note; see no-data.
func (p *Pass) Lacks(what, help string, span source.Span, ref string) {
	p.lacks = append(p.lacks, lack{what: what, help: help, span: span, ref: ref, rule: p.rule.Name})
}

// Hops turns a path into related places, hop by hop, so that a reader can follow it in the file.
func (p *Pass) Hops(path []graph.Hop) []diag.Related {
	related := make([]diag.Related, len(path))
	for i, h := range path {
		related[i] = diag.Related{Span: p.Graph.Span(h), Message: p.Graph.Describe(h)}
	}
	return related
}

// List joins names and adds the verb: "F1:1 is", "F1:1, F1:2 and F1:3 are".
func List(names []string, one, many string) string {
	if len(names) == 1 {
		return names[0] + " " + one
	}
	return And(names) + " " + many
}

// And joins names as a sentence does: "F1", "F1 and F2", "F1, F2 and F3".
func And(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}

// Few is And for many names: it writes the first three and how many more there are.
func Few(names []string) string {
	if len(names) <= 4 {
		return And(names)
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:3], ", "), len(names)-3)
}

// Plural chooses the word that goes with a number.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
