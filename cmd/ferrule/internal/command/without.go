package command

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/circuit/study"
)

var withoutCommand = &command{
	name: "without", takes: "FILE NAME", least: 1, most: 2,
	title: "what is dead, weak or newly live when one thing is missing",
	doc: `Takes out a fuse, a relay or any other part, lifts a ground point, unplugs a connector, parts a splice or cuts a wire, solves
all states (or one) and tells what is dead, degraded (below 90 % of its voltage), newly live or chattering. Each thing
stands once, with the volts of its worst state. A number with ~ rests on a guess or an assumption.

Exit code: 0 done, 2 unusable input.`,
	flags:   []*option{flagState, flagStudyFormat},
	example: []string{"ferrule without truck.toml F7", "ferrule without truck.toml G2 --state run"},
}

func init() { withoutCommand.run = runWithout }

func runWithout(inv *invocation) (int, error) {
	if len(inv.files) < 2 {
		return exitUnusable, &usageError{"ferrule without needs the name of something", "write it behind the file: ferrule without truck.toml F7"}
	}
	h, s, state, err := inv.studiedIn()
	if err != nil {
		return exitUnusable, err
	}
	c, ok := s.CaseOf(inv.files[1])
	if !ok {
		return exitUnusable, unknownWord("part, connector, splice or wire", inv.files[1], h.designators(), "give a designator of the file, such as F7")
	}
	losses := s.Without(c, state)
	if inv.value(flagStudyFormat) != "text" {
		return exitClean, inv.printData(lossTable(losses), lossObjects(losses), s)
	}
	where := "in all states"
	if state != "" {
		where = "in state " + state
	}
	inv.printHead(fmt.Sprintf("%s, %s:", c.Text, where))
	printLosses(inv, losses, len(s.StateNames()))
	inv.printFoot(s)
	return exitClean, nil
}

// designators lists everything that can be taken out.
func (h *harness) designators() []string {
	var names []string
	for _, o := range h.netlist.Owners {
		names = append(names, o.Name.Text)
	}
	for _, w := range h.netlist.Wires {
		names = append(names, w.Name.Text)
	}
	return names
}

// lossStates is how many states a line names.
const lossStates = 4

// printLosses writes one line for each thing and change, in its worst state, with the states in which it is so.
func printLosses(inv *invocation, losses []study.Loss, states int) {
	if len(losses) == 0 {
		fmt.Fprintln(inv.out, "nothing changes")
	}
	t := &table{columns: []string{"", "what", "before", "after", "states"}}
	for _, change := range []study.Change{study.Dead, study.Degraded, study.NewlyLive, study.Chatters} {
		for i := range losses {
			l := &losses[i]
			same := func(o study.Loss) bool { return o.What == l.What && o.Change == change }
			if l.Change != change || slices.IndexFunc(losses, same) != i {
				continue
			}
			worst, names := *l, []string{}
			for _, o := range losses {
				if same(o) {
					names = append(names, o.State)
					if change == study.NewlyLive && o.After > worst.After+1e-6 || change != study.NewlyLive && o.Before-o.After > worst.Before-worst.After+1e-6 {
						worst = o
					}
				}
			}
			after := volts(worst.After, worst.Assumed)
			if worst.Sneak {
				after += " over a sneak path"
			}
			t.add(string(change), l.What, volts(worst.Before, worst.Assumed), after, stateList(names, states))
		}
	}
	if len(t.rows) > 0 {
		t.print(inv.out)
	}
	fmt.Fprintln(inv.out)
}

func stateList(names []string, states int) string {
	switch {
	case len(names) == states && states > 1:
		return "all"
	case len(names) > lossStates:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:lossStates], ", "), len(names)-lossStates)
	}
	return strings.Join(names, ", ")
}

func lossTable(losses []study.Loss) *table {
	t := &table{columns: []string{"change", "what", "part", "state", "volts before", "volts after", "sneak path", "assumed"}}
	for _, l := range losses {
		t.add(string(l.Change), l.What, l.Part, l.State, plain(l.Before), plain(l.After), yesNo(l.Sneak), yesNo(l.Assumed))
	}
	return t
}

type lossObject struct {
	Change  string   `json:"change"`
	What    string   `json:"what"`
	Part    string   `json:"part"`
	State   string   `json:"state"`
	Before  *float64 `json:"volts_before"`
	After   *float64 `json:"volts_after"`
	Sneak   bool     `json:"sneak_path"`
	Assumed bool     `json:"assumed"`
}

func lossObjects(losses []study.Loss) []lossObject {
	out := make([]lossObject, 0, len(losses))
	for _, l := range losses {
		out = append(out, lossObject{string(l.Change), l.What, l.Part, l.State, number(l.Before), number(l.After), l.Sneak, l.Assumed})
	}
	return out
}
