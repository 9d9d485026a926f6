package sizing

import (
	"fmt"
	"io/fs"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// A Change is one value of the text that must be another.
type Change struct {
	Name     string // of the wire or fuse
	Key      string // "size" or "rating"
	From, To string // From is empty where the key was missing
	Why      string
}

// A Revision is a harness with the sizes and ratings that it needs.
type Revision struct {
	Before  *Report // of the text as it was
	After   *Report // of the text with the changes
	Changes []Change
	Files   []edit.Revised // the files that change, each with the text as it was and as it becomes
}

// A FaultyError is a text with mistakes, which is not to be changed by a program.
type FaultyError struct{ Diags diag.List }

// Error says how many mistakes there are.
func (e *FaultyError) Error() string {
	return fmt.Sprintf("the netlist has %d mistakes", len(e.Diags.AtLeast(diag.Error)))
}

// revisions is how often the text is studied anew; every round changes at least one value and wires only grow.
const revisions = 40

// Revise reads a harness, changes what must change (wires that are too thin or have no size, fuses outside their span) and
// studies the new text again until nothing more must change, so that a second run finds nothing to do. Fuses go first:
// a smaller one is safer, and cheaper than a wire. Everything else in the files stays as it is.
//
// The error is a *FaultyError for a text with mistakes, else one of reading.
func Revise(files fs.FS, root string, o Options) (*Revision, error) {
	rev := &Revision{}
	texts := overlay{under: files, texts: map[string][]byte{}}
	first := map[string]*source.File{}
	for range revisions {
		n, diags, err := netlist.Load(texts, root)
		if err != nil {
			return nil, err
		}
		if diags.HasErrors() {
			return nil, &FaultyError{diags}
		}
		report := New(graph.New(n), route.New(n), o)
		if rev.Before == nil {
			rev.Before = report
		}
		rev.After = report
		changes := rev.next(report)
		if len(changes) == 0 {
			break
		}
		revised, err := apply(n, changes)
		if err != nil {
			return nil, err
		}
		for _, f := range revised {
			if first[f.File.Name] == nil {
				first[f.File.Name] = f.File
			}
			texts.texts[f.File.Name] = f.Text
		}
		rev.note(changes)
	}
	for _, f := range rev.After.files() {
		if before := first[f.Name]; before != nil {
			rev.Files = append(rev.Files, edit.Revised{File: before, Text: f.Text})
		}
	}
	return rev, nil
}

// next lists what must change next: the fuses that can be right with the wires as they are, else the wires.
func (rev *Revision) next(r *Report) []Change {
	var changes []Change
	for _, f := range r.Fuses {
		if f.Choice > 0 && f.Choice != f.Rating && rev.times(f.Part.Name.Text) < 2 {
			c := Change{Name: f.Part.Name.Text, Key: "rating", To: f.Choice.String(), Why: f.Reason()}
			if f.Rating > 0 {
				c.From = f.Rating.String()
			}
			changes = append(changes, c)
		}
	}
	if len(changes) > 0 {
		return changes
	}
	for _, w := range r.cheapest() {
		changes = append(changes, Change{Name: w.Wire.Name.Text, Key: "size", From: w.Wire.Size.String(), To: w.Least.String(), Why: w.Decides.Rule.String() + ": " + w.Decides.What})
	}
	return changes
}

// cheapest lists the wires that are to grow in one round. Of those that one overdrawn budget asks for it takes only the one that
// needs the least copper: the budget may be kept when that one has grown.
func (r *Report) cheapest() []*Wire {
	type group struct {
		consumer string
		rule     Rule
	}
	best := map[group]*Wire{}
	groupOf := func(w *Wire) group { return group{w.Decides.Consumer, w.Decides.Rule} }
	var open []*Wire
	for _, w := range r.Wires {
		if w.Verdict != TooThin && w.Verdict != NoSize || !w.Least.IsSet() || w.Least == w.Wire.Size {
			continue
		}
		open = append(open, w)
		if old := best[groupOf(w)]; w.sharesBudget() && (old == nil || w.copper() < old.copper()) {
			best[groupOf(w)] = w
		}
	}
	var out []*Wire
	for _, w := range open {
		if !w.sharesBudget() || best[groupOf(w)] == w {
			out = append(out, w)
		}
	}
	return out
}

// sharesBudget reports whether a wire is too thin for a drop only, which another wire might cure as well.
func (w *Wire) sharesBudget() bool {
	return w.Verdict == TooThin && w.Decides.Consumer != ""
}

// copper is how much metal the growth of a wire takes, in mm2 m.
func (w *Wire) copper() float64 {
	return (w.Least.AreaMM2() - w.Wire.Size.AreaMM2()) * float64(w.Metres)
}

// times is how often a fuse has been changed: a second time may be needed after wires have grown, a third would be a circle.
func (rev *Revision) times(name string) int {
	for _, c := range rev.Changes {
		if c.Name == name && c.Key == "rating" {
			return 1
		}
	}
	return 0
}

// note merges changes into those made before: the first From stays, the last To counts.
func (rev *Revision) note(changes []Change) {
	for _, c := range changes {
		merged := false
		for i := range rev.Changes {
			if old := &rev.Changes[i]; old.Name == c.Name && old.Key == c.Key {
				old.To, old.Why, merged = c.To, c.Why, true
			}
		}
		if !merged {
			rev.Changes = append(rev.Changes, c)
		}
	}
}

// apply makes the changes in the texts of a netlist.
func apply(n *model.Netlist, changes []Change) ([]edit.Revised, error) {
	doc := edit.Read(n.Files)
	var edits []edit.Edit
	for _, c := range changes {
		section, after := "wire", []string{"to", "from"}
		if c.Key == "rating" {
			section, after = "part", []string{"in", "at", "stock", "kind"}
		}
		e, err := doc.Set(section, c.Name, c.Key, c.To, after...)
		if err != nil {
			return nil, fmt.Errorf("changing the %s of %s: %w", c.Key, c.Name, err)
		}
		edits = append(edits, e)
	}
	return edit.ApplyAll(edits)
}

// files are those that the report's harness was read from.
func (r *Report) files() []*source.File { return r.netlist.Files }

// Reason says in words why a fuse does not suit.
func (f *Fuse) Reason() string {
	wire := "no wire is behind it"
	if f.LimitedBy != nil {
		wire = fmt.Sprintf("%s bears %s", f.LimitedBy.Name.Text, f.Most)
	}
	return fmt.Sprintf("loads need %s (%s), %s", unit.Ampere(f.Least), f.Why, wire)
}

// An overlay is a folder with some of its files replaced.
type overlay struct {
	under fs.FS
	texts map[string][]byte
}

// Open opens a file of the folder below; replaced files are read with ReadFile.
func (o overlay) Open(name string) (fs.File, error) { return o.under.Open(name) }

// ReadFile reads a file, or the text that replaces it.
func (o overlay) ReadFile(name string) ([]byte, error) {
	if text, replaced := o.texts[name]; replaced {
		return text, nil
	}
	return fs.ReadFile(o.under, name)
}
