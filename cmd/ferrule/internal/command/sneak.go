package command

import (
	"fmt"
	"strings"

	"ferrule/netlist/circuit/study"
)

var sneakCommand = &command{
	name: "sneak", takes: "FILE", least: 1, most: 1,
	title: "what becomes live over ways that nobody meant",
	doc: `Solves every state of the file with each fuse out, each ground lifted, each connector unplugged, each switch in each other
position and each motor turning that generates, and lists what is fed over other consumers, backwards over a fuse or by
a motor that coasts. One line a cause, worst first: danger (starter, controller or a motor could run), fault (a relay pulls in, a
controller is half supplied), odd, glow. A number with ~ rests on a guess or an assumption.

Exit code: 0 done, 1 done and something of danger was found, 2 unusable input.`,
	flags:   []*option{flagStudyFormat},
	example: []string{"ferrule sneak truck.toml", "ferrule sneak truck.toml --format json"},
}

func init() { sneakCommand.run = runSneak }

const (
	sneakCauses  = 15 // causes that the text shows
	sneakEffects = 4  // effects of each
)

func runSneak(inv *invocation) (int, error) {
	_, s, err := inv.studied()
	if err != nil {
		return exitUnusable, err
	}
	r := s.Sneaks()
	code := exitClean
	if len(r.Found) > 0 {
		code = codeOfCount(int(r.Found[0].Severity / study.Danger))
	}
	if inv.value(flagStudyFormat) != "text" {
		return code, inv.printData(sneakTable(r), sneakObjects(r), s)
	}
	inv.printHead("What is fed over ways that nobody meant, each state with one thing out, lifted, unplugged or moved; worst first.")
	t := &table{columns: []string{"", "cause", "states", "what it does"}}
	for i := range r.Found {
		if i == sneakCauses {
			break
		}
		f := &r.Found[i]
		for j, e := range f.Effects {
			row := []string{"", "", "", effectText(&e)}
			if j == 0 {
				row = []string{f.Severity.String(), f.Text, fmt.Sprint(len(f.States)), row[3]}
			}
			if j == sneakEffects {
				t.add("", "", "", fmt.Sprintf("and %d more", len(f.Effects)-j))
				break
			}
			t.add(row...)
		}
	}
	if len(r.Found) == 0 {
		fmt.Fprintln(inv.out, "nothing found")
	} else {
		t.print(inv.out)
	}
	if n := len(r.Found) - sneakCauses; n > 0 {
		fmt.Fprintf(inv.out, "and %s more (--format json or csv lists them)\n", countOf(n, "cause"))
	}
	inv.printSneakFoot(r)
	inv.printFoot(s)
	return code, nil
}

func (inv *invocation) printSneakFoot(r *study.Sneaks) {
	fmt.Fprintln(inv.out)
	if len(r.Series) > 0 {
		var names []string
		for _, e := range r.Series {
			names = append(names, e.What)
		}
		fmt.Fprintf(inv.out, "in series in the declared states already, taken as meant: %s\n", strings.Join(names, ", "))
	}
	fmt.Fprintf(inv.out, "%d combinations of state and cause, %d of which provably change nothing\n", r.Cases, r.Skipped)
	for _, u := range r.Unquiet {
		fmt.Fprintf(inv.out, "came to no rest, numbers are the last ones: %s\n", u)
	}
}

func effectText(e *study.Effect) string {
	text := fmt.Sprintf("%s: %s, %s", e.What, e.How, volts(e.Volts, e.Assumed))
	if e.Share > 0 {
		text += fmt.Sprintf(", %.0f %% of rated current", e.Share*100)
	}
	return text + " [" + e.State + "]"
}

func sneakTable(r *study.Sneaks) *table {
	t := &table{columns: []string{"severity", "kind", "cause", "state", "what", "part", "how", "volts", "amps", "share of rated", "assumed"}}
	for i := range r.Found {
		f := &r.Found[i]
		for _, e := range f.Effects {
			t.add(e.Severity.String(), string(f.Kind), f.Text, e.State, e.What, e.Part, e.How, plain(e.Volts), plain(e.Amps), plain(e.Share), yesNo(e.Assumed))
		}
	}
	return t
}

// plain writes a number for a table that programs read.
func plain(v float64) string {
	if n := number(v); n != nil {
		return fmt.Sprintf("%.4g", *n)
	}
	return ""
}

type sneakObject struct {
	Severity string         `json:"severity"`
	Kind     string         `json:"kind"`
	Name     string         `json:"name"`
	Cause    string         `json:"cause"`
	States   []string       `json:"states"`
	Effects  []effectObject `json:"effects"`
}

type effectObject struct {
	What     string   `json:"what"`
	Part     string   `json:"part,omitempty"`
	How      string   `json:"how"`
	State    string   `json:"state"`
	Severity string   `json:"severity"`
	Volts    *float64 `json:"volts"`
	Amps     *float64 `json:"amps"`
	Share    *float64 `json:"share_of_rated"`
	Assumed  bool     `json:"assumed"`
}

type sneaksObject struct {
	Causes       []sneakObject  `json:"causes"`
	InSeries     []effectObject `json:"in_series_as_declared"`
	Combinations int            `json:"combinations"`
	Unchanged    int            `json:"unchanged"`
	Unsettled    []string       `json:"unsettled"`
}

func sneakObjects(r *study.Sneaks) sneaksObject {
	out := sneaksObject{Causes: []sneakObject{}, InSeries: effectObjects(r.Series), Combinations: r.Cases, Unchanged: r.Skipped, Unsettled: append([]string{}, r.Unquiet...)}
	for i := range r.Found {
		f := &r.Found[i]
		out.Causes = append(out.Causes, sneakObject{f.Severity.String(), string(f.Kind), f.Name, f.Text, f.States, effectObjects(f.Effects)})
	}
	return out
}

func effectObjects(effects []study.Effect) []effectObject {
	out := make([]effectObject, 0, len(effects))
	for i := range effects {
		e := &effects[i]
		out = append(out, effectObject{e.What, e.Part, e.How, e.State, e.Severity.String(), number(e.Volts), number(e.Amps), number(e.Share), e.Assumed})
	}
	return out
}
