package built

import (
	"ferrule/netlist/diag"
)

// ruleRemoved is the word for a made piece that the netlist has no wire for.
const ruleRemoved = "removed-wire"

// Findings returns what has to be done to what is made already, so that it is as the netlist is: a note for each piece, at its
// line in the status file. They are no rules of the harness, which knows nothing of the vehicle, and cannot be accepted: the
// line in the status file is changed, or the vehicle is.
func (s *Status) Findings() diag.List {
	var list diag.List
	for _, o := range s.Older() {
		list = append(list, diag.Diagnostic{
			Rule: ruleOlder, Severity: diag.Note, Span: o.Record.Name.Span, Message: o.Says(), Help: o.Do(), Refs: []string{o.Record.Name.Text},
			Related: []diag.Related{{Span: o.Wire.Name.Span, Message: "the wire in the netlist"}},
		})
	}
	for _, r := range s.Removed() {
		list = append(list, diag.Diagnostic{
			Rule: ruleRemoved, Severity: diag.Note, Span: r.Name.Span, Message: r.Says() + "; the netlist has no such wire any more",
			Help: r.PutAway(), Refs: []string{r.Name.Text},
		})
	}
	list.Sort()
	return list
}

// PutAway is what to do with a piece that no wire of the netlist stands for.
func (r *Record) PutAway() string {
	if r.Stage >= Installed {
		return "take it off the car, or insulate and tie back both ends; then take its line out of the status file"
	}
	return "put the piece aside, then take its line out of the status file"
}
