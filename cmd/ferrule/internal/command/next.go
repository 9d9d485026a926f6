package command

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"ferrule/netlist/built"
	"ferrule/netlist/cut"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

var nextCommand = &command{
	name: "next", takes: "[FILE]", most: 1,
	title: "what is next on the bench, and what on the car is older than the netlist",
	doc: `Reads the status that ferrule mark has written beside the netlist and tells how far the harness is; which wires to cut, in the
order of the cut list; which to crimp, likewise, since one die does them all; which to install and which to test,
connector by connector. Then what is made already and the netlist has otherwise by now, with what to do about it first, and what
is made and no longer in the netlist. FILE may be left out in a folder with one netlist.

Exit code: 0 done, 2 unusable input.`,
	flags:   []*option{flagNextFormat},
	example: []string{"ferrule next truck.toml", "ferrule next", "ferrule next truck.toml --format json"},
}

var flagNextFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "json"}, initial: "text",
	doc: "how it is written"}

func init() { nextCommand.run = runNext }

func runNext(inv *invocation) (int, error) {
	name, words, err := inv.netlistAndWords()
	if err != nil {
		return exitUnusable, err
	}
	if len(words) > 0 {
		return exitUnusable, &usageError{fmt.Sprintf("%s is no netlist", words[0]), "give a file that ends in .toml"}
	}
	n, diags, err := inv.readForStatus(name)
	if err != nil {
		return exitUnusable, err
	}
	if brokenText(diags) {
		return exitUnusable, hasMistakes(name)
	}
	status, err := inv.statusBeside(name, n)
	if status == nil || err != nil {
		return exitUnusable, err
	}
	work := workOf(status)
	if inv.value(flagNextFormat) == "json" {
		return exitClean, printSizesJSON(inv.out, work.plain())
	}
	work.print(inv.out)
	return exitClean, nil
}

// statusBeside reads the status file of a netlist. It is nil when the mistakes in the file have been told instead.
func (inv *invocation) statusBeside(name string, n *model.Netlist) (*built.Status, error) {
	m := &marking{invocation: inv, name: name, harness: buildable(n, filepath.Base(name))}
	root, err := os.OpenRoot(m.folder())
	if err != nil {
		return nil, unreadable(name, err)
	}
	defer root.Close()
	f, err := statusText(root.FS(), m.harness.File)
	if f == nil || err != nil {
		return built.None(m.harness), err
	}
	f.Name = m.asGiven(f.Name)
	status, diags := built.Read(f, m.harness)
	if err := inv.printMistakes(diags); err != nil {
		return nil, err
	}
	if diags.HasErrors() {
		inv.say("%s: %s; repair them first", f.Name, summaryOf(diags.AtLeast(diag.Error)))
		return nil, nil
	}
	return status, nil
}

// A work is what is left to do on a harness.
type work struct {
	status   *built.Status
	progress built.Progress
	next     map[built.Stage][]*model.Wire // by the stage that they have to reach next, in the order of the bench
}

func workOf(s *built.Status) *work {
	w := &work{status: s, progress: s.Progress(), next: map[built.Stage][]*model.Wire{}}
	older := map[*model.Wire]bool{} // what is to be changed first has no next stage
	for _, o := range s.Older() {
		older[o.Wire] = true
	}
	for _, wire := range s.Harness.Netlist.Wires {
		if stage, open := s.Next(wire); open && !older[wire] {
			w.next[stage] = append(w.next[stage], wire)
		}
	}
	plan := cut.New(s.Harness.Netlist, route.New(s.Harness.Netlist))
	number := func(wire *model.Wire) int { // in the order of the bench, reel by reel; what is not cut comes last
		if p := plan.Piece(wire); p != nil {
			return p.Number
		}
		return len(plan.Pieces) + 1
	}
	for _, wires := range w.next {
		slices.SortStableFunc(wires, func(a, b *model.Wire) int {
			return cmp.Or(cmp.Compare(number(a), number(b)), model.CompareNatural(a.Name.Text, b.Name.Text))
		})
	}
	return w
}

// print writes the work for a person.
func (w *work) print(out io.Writer) {
	h, p := &w.status.Harness.Netlist.Harness, &w.progress
	fmt.Fprintf(out, "%s, revision %s: %s\n\n", cmp.Or(h.Title.Text, w.status.Harness.File), cmp.Or(h.Revision.Text, "not stated"), countOf(p.Wires, "wire"))
	for stage := built.Cut; stage <= built.Tested; stage++ {
		fmt.Fprintf(out, "  %-9s  %*d of %d\n", stage, len(fmt.Sprint(p.Wires)), p.Reached[stage], p.Of(stage))
	}
	if p.Here < p.Wires {
		fmt.Fprintf(out, "  %s and %s not cut here\n", comeWith(p.Wires-p.Here), isOrAre(p.Wires-p.Here))
	}
	w.printReels(out, "CUT", built.Cut)
	w.printReels(out, "CRIMP", built.Crimped)
	w.printConnectors(out, "INSTALL", built.Installed)
	w.printConnectors(out, "TEST", built.Tested)
	w.printOlder(out)
}

// heading writes the title of a section.
func heading(out io.Writer, title string, n int, how string) {
	fmt.Fprintf(out, "\n%s: %s%s\n", title, countOf(n, "wire"), how)
}

// A reel is the wires of one size and colour.
type reel struct {
	size, color string
	wires       []*model.Wire
}

func (w *work) reels(wires []*model.Wire) []reel {
	var reels []reel
	for _, wire := range wires {
		m := w.status.Harness.Of(wire)
		r := reel{cmp.Or(m.Size.String(), "no size"), cmp.Or(m.Color, "no colour"), nil}
		if n := len(reels); n == 0 || reels[n-1].size != r.size || reels[n-1].color != r.color {
			reels = append(reels, r)
		}
		last := &reels[len(reels)-1]
		last.wires = append(last.wires, wire)
	}
	return reels
}

// printReels writes the wires to cut or to crimp, a line for each with the reel before it.
func (w *work) printReels(out io.Writer, title string, stage built.Stage) {
	wires := w.next[stage]
	if len(wires) == 0 {
		return
	}
	heading(out, title, len(wires), ", by size and colour")
	t := &table{}
	for _, r := range w.reels(wires) {
		for i, wire := range r.wires {
			m := w.status.Harness.Of(wire)
			cells := []string{"  ", "", "", wire.Name.Text, lengthText(m.Length), m.From + " - " + m.To}
			if i == 0 {
				cells[1], cells[2] = r.size, r.color
			}
			t.add(cells...)
		}
	}
	t.printRows(out)
}

func lengthText(m unit.Metre) string {
	if m == 0 {
		return "length not stated"
	}
	return m.String()
}

// printConnectors writes the wires to install or to test, by what they end at: each stands at both of its ends.
func (w *work) printConnectors(out io.Writer, title string, stage built.Stage) {
	wires := w.next[stage]
	if len(wires) == 0 {
		return
	}
	heading(out, title, len(wires), ", by what they end at")
	t := &table{}
	for _, e := range w.ends(wires) {
		t.add("  ", e.owner, strings.Join(e.cavities, ", "))
	}
	t.printRows(out)
}

// An end is what wires end at, with the terminals and the wires: "9 60c".
type end struct {
	owner    string
	cavities []string
}

func (w *work) ends(wires []*model.Wire) []end {
	n := w.status.Harness.Netlist
	type cavity struct{ pin, wire string }
	byOwner := map[string][]cavity{}
	for _, wire := range wires {
		for _, ref := range []model.PinRef{wire.From, wire.To} {
			if ref.ID == model.NoPin || !ref.IsSet() {
				continue
			}
			pin := n.Pin(ref.ID)
			byOwner[pin.Owner.Name.Text] = append(byOwner[pin.Owner.Name.Text], cavity{pin.Name, wire.Name.Text})
		}
	}
	var ends []end
	for owner, cavities := range byOwner {
		slices.SortFunc(cavities, func(a, b cavity) int {
			return cmp.Or(model.CompareNatural(a.pin, b.pin), model.CompareNatural(a.wire, b.wire))
		})
		e := end{owner: owner}
		for _, c := range cavities {
			e.cavities = append(e.cavities, strings.TrimSpace(c.wire+" in "+c.pin))
		}
		ends = append(ends, e)
	}
	slices.SortFunc(ends, func(a, b end) int { return model.CompareNatural(a.owner, b.owner) })
	return ends
}

// printOlder writes what is made and not as the netlist is.
func (w *work) printOlder(out io.Writer) {
	if older := w.status.Older(); len(older) > 0 {
		heading(out, "OLDER THAN THE NETLIST", len(older), "")
		for _, o := range older {
			fmt.Fprintf(out, "  %s\n    do: %s\n", o.Says(), o.Do())
		}
	}
	if gone := w.status.Removed(); len(gone) > 0 {
		heading(out, "NO LONGER IN THE NETLIST", len(gone), "")
		for _, r := range gone {
			fmt.Fprintf(out, "  %s\n    do: %s\n", r.Says(), r.PutAway())
		}
	}
	if w.progress.Reached[built.Tested] == w.progress.Wires && w.progress.Older+w.progress.Removed == 0 {
		fmt.Fprint(out, "\nNothing is left: every wire is tested and as the netlist is.\n")
	}
}
