// Package rules is what every rule of Ferrule is made of: the shape of a rule, the facts that rules ask of a harness, and
// the check that runs them and orders what they find.
//
// The rules themselves live in the rooms below, one rule a file: nets (what is joined to what), terminals (what sits in
// cavities), fuses, wires (what wires carry), routing (where they run), grounds, signals, switching (relays, switches,
// outputs) and operation (what works when). Package all brings them together. A rule takes a Pass and reports; it prints
// nothing and reads nothing but the facts. Packages here may import netlist and its sub-packages. Severities under
// `[rules]` and acceptances under `[[accept]]` are applied here, so that every rule can say what it sees and no rule needs
// to know what somebody has decided about it.
//
//	rules.go    Rule, Register, All            pass.go     what a rule is given, and how it reports
//	facts.go    what several rules ask         solved.go   the same of the solved circuit
//	meaning.go  what a terminal is meant to be check.go    Check: configuration, run, acceptance
//	accept.go   [[accept]]                     rank.go     what burns before what annoys
package rules

import (
	"cmp"
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/unit"
)

// Harm says what a mistake does when it is left. Its zero value is invalid on purpose.
type Harm uint8

// The harms, the worst last.
const (
	Annoys  Harm = iota + 1 // something works badly, or the next pair of hands is misled
	Strands                 // the vehicle stops, or does not start, or does what nobody asked for
	Burns                   // heat, fire, or a device destroyed
)

var harmWords = [...]string{"", "annoys", "strands", "burns"}

// String names the harm as reports do.
func (h Harm) String() string { return harmWords[min(int(h), len(harmWords)-1)] }

// A Rule is one kind of mistake that the program can see.
type Rule struct {
	Name     string        // the word in findings, in `[rules]` and in `[[accept]]`; also the file's name
	Severity diag.Severity // unless the harness sets another, or the rule says of a finding that it is milder or worse
	Harm     Harm          // what the mistake does when it is left
	Since    string        // version of the program that brought it
	Title    string        // the mistake, one line
	Doc      string        // what goes wrong in the vehicle, when the rule is right to fire, what to change
	Sources  []string      // standard or handbook with table or paragraph, or "common practice"
	Bad      string        // the smallest netlist that trips the rule
	Good     string        // the same, repaired
	Settings []Setting     // thresholds that a harness can set under `[rules]`
	Late     bool          // it asks for Shorts, and is run when the other rules have been
	Stops    bool          // nothing is drawn as long as it finds something, and neither an acceptance nor a setting silences it
	Run      func(p *Pass)
}

// A Setting is a threshold of a rule: `voltage-drop = { feeder = "0.3 V" }`.
type Setting struct {
	Key     string
	Dim     unit.Dimension
	Default float64 // in SI
	Doc     string  // what it is, with the source of its default
}

var registered []*Rule

// Register adds a rule to the catalogue; the files of the rules call it once each.
func Register(r *Rule) *Rule {
	registered = append(registered, r)
	return r
}

// All returns the rules sorted by name.
func All() []*Rule {
	all := slices.Clone(registered)
	slices.SortFunc(all, func(a, b *Rule) int { return cmp.Compare(a.Name, b.Name) })
	return all
}

// Find returns the rule of a name, or nil.
func Find(name string) *Rule {
	for _, r := range registered {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// Names returns the names of all rules, sorted.
func Names() []string {
	var names []string
	for _, r := range All() {
		names = append(names, r.Name)
	}
	return names
}

// Sets says in words what a setting is and how a harness sets it.
func (r *Rule) Sets(s Setting) string {
	value := s.Dim.InUnit(s.Default)
	if s.Dim == unit.Share {
		value = unit.Format(100*s.Default) + " %"
	}
	return fmt.Sprintf("Setting %s: %s. Left out, it is as if the file said\n\n    [rules]\n    %s = { %s = %q }", s.Key, s.Doc, r.Name, s.Key, value)
}

func (r *Rule) setting(key string) *Setting {
	for i := range r.Settings {
		if r.Settings[i].Key == key {
			return &r.Settings[i]
		}
	}
	return nil
}
