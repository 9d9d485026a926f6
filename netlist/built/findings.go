package built

import (
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

// ruleRemoved is the word for a made piece that the netlist has no wire for.
const ruleRemoved = "removed-wire"

// Findings returns what has to be done to what is made already, so that it is as the netlist is: a note for each piece, at its
// line in the status file; a warning where a line without a wire is what a wire without a line is, since
// then its name is a slip of the pen, or the wire was renamed. They are no rules of the harness, which knows nothing of the vehicle, and cannot be accepted: the
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
		d := diag.Diagnostic{
			Rule: ruleRemoved, Severity: diag.Note, Span: r.Name.Span, Message: r.Says() + "; the netlist has no such wire any more",
			Help: r.PutAway(), Refs: []string{r.Name.Text},
		}
		if twin := s.twin(r); twin != nil {
			d.Severity, d.Help = diag.Warning, fmt.Sprintf("did you mean %s? It is exactly that piece, and has no line here", twin.Name.Text)
			d.Related = []diag.Related{{Span: twin.Name.Span, Message: "the wire in the netlist"}}
		}
		list = append(list, d)
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

// twin is the one wire without a line that is exactly what a record says was made; nil where there is none, or several.
func (s *Status) twin(r *Record) *model.Wire {
	var twin *model.Wire
	for _, w := range s.Harness.Netlist.Wires {
		now := s.Harness.Of(w)
		if s.byName[w.Name.Text] != nil || r.Made.From == "" || r.Made.To == "" || !r.Made.Size.IsSet() || !now.Size.IsSet() || len(differences(r.Made, now)) > 0 ||
			!strings.EqualFold(r.Made.Color, now.Color) {
			continue
		}
		if twin != nil {
			return nil
		}
		twin = w
	}
	return twin
}
