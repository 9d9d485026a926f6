package command

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"ferrule/rules"
)

func runExplain(inv *invocation) (int, error) {
	if len(inv.files) == 0 {
		listRules(inv.out)
		return exitClean, nil
	}
	word := inv.files[0]
	if r := rules.Find(word); r != nil {
		printRule(inv.out, r)
		return exitClean, nil
	}
	if m := findMistake(word); m != nil {
		fmt.Fprintf(inv.out, "%s: %s\n\n%s\n", m.name, m.title, m.doc)
		return exitClean, nil
	}
	return exitUnusable, unknownWord("rule", word, explained(), "run `ferrule explain` for the list")
}

// explained returns every word that explain knows, sorted.
func explained() []string {
	words := rules.Names()
	for _, m := range mistakes {
		words = append(words, m.name)
	}
	slices.Sort(words)
	return words
}

func listRules(w io.Writer) {
	width := 0
	for _, word := range explained() {
		width = max(width, len(word))
	}
	fmt.Fprint(w, "Rules, about the wiring, with the severity and what the mistake does when it is left:\n")
	for _, r := range rules.All() {
		fmt.Fprintf(w, "  %-*s  %-7s  %-7s  %s\n", width, r.Name, r.Severity, r.Harm, r.Title)
	}
	fmt.Fprint(w, "\nMistakes of the text:\n")
	for _, m := range mistakes {
		fmt.Fprintf(w, "  %-*s  %s\n", width, m.name, m.title)
	}
	fmt.Fprint(w, "\nferrule explain RULE says more about one.\n")
}

// printRule prints the page of a rule.
func printRule(w io.Writer, r *rules.Rule) {
	fmt.Fprintf(w, "%s: %s\n\nSeverity: %s, unless [rules] sets another. Left alone, it %s. Since version %s.\n\n%s\n",
		r.Name, r.Title, r.Severity, r.Harm, r.Since, strings.TrimSpace(r.Doc))
	for _, s := range r.Settings {
		fmt.Fprintf(w, "\n%s\n", r.Sets(s))
	}
	fmt.Fprintf(w, "\nSources:\n")
	for _, s := range r.Sources {
		fmt.Fprintf(w, "  - %s\n", s)
	}
	fmt.Fprintf(w, "\nA harness that it finds fault with:\n\n%s\nThe same, repaired:\n\n%s", indented(r.Bad), indented(r.Good))
}

// indented sets a text four columns in, as a block of its own.
func indented(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.Trim(text, "\n") + "\n") {
		if strings.TrimSpace(line) != "" {
			b.WriteString("    ")
		}
		b.WriteString(line)
	}
	return b.String()
}

// A mistake is something that can be wrong with the text of a netlist, as opposed to the wiring that it tells of.
type mistake struct{ name, title, doc string }

func findMistake(name string) *mistake {
	for i := range mistakes {
		if mistakes[i].name == name {
			return &mistakes[i]
		}
	}
	return nil
}

// mistakes are the words in brackets that no rule stands behind; a test holds them against the sources.
var mistakes = []mistake{
	{"bad-accept", "an acceptance that cannot be used",
		`An [[accept]] must say of which rule and at which designator, and because of what; one with until = "C" runs out when the
harness reaches that revision. Complete it, or repair what it covers.`},
	{"bad-value", "a value that its key cannot have",
		`The text has the right type but says nothing that the key understands: a word that is none of those it takes, a quantity
with a unit of another kind, a terminal without its designator.`},
	{"duplicate-key", "a key or a table that is given twice",
		`TOML allows each key once. Of the two, the first is used; remove the other or rename it.`},
	{"duplicate-name", "two things of one name",
		`Parts, connectors, splices and panels share one set of names, because a terminal is written DESIGNATOR:PIN and must mean
one thing. Rename one of the two.`},
	{"include", "a file that cannot be included",
		`An included file must exist and be readable, lie in the folder of the root file or below it, and be included once.
As long as one is missing the rules are not run.`},
	{"later-revision", "a wire marked at a revision that the netlist has not reached",
		`Either the revision in the status file is misspelt, or this is an older copy of the netlist than the one that the car was built to.`},
	{"merge-conflict", "two people have marked wires, and git could not merge it",
		`The status file has the marks that git leaves where both sides changed the same lines, so nobody knows how far these wires are.
Keep one line for each wire, as a rule the one with the later stage, and take out the marks.`},
	{"missing-key", "something essential is not said",
		`The thing cannot be understood without this key: a part without its kind, a path without its two places.`},
	{"missing-value", "a value that the kind of part needs",
		`The part can be drawn without the value, but not judged: a fuse without its rating, a lamp without its load.`},
	{"not-cut-here", "a wire that comes with its device, marked as cut or crimped",
		`A wire with supplied = true is neither cut nor crimped; it can be installed and tested.`},
	{"older-piece", "a wire that was made before the netlist was changed",
		`The status file says what was made and at which revision, and the netlist has the wire otherwise by now: the car, or the piece
on the bench, is older than the netlist. Change the piece, or change the netlist back to what is there. ferrule mark asks
which it is: --anew when the piece has been made anew, --as-built when the old one moves on to the next stage.`},
	{"other-harness", "a status file that lies beside another netlist",
		`The status file names the netlist that it belongs to, so that the marks of one vehicle are not taken for those of another.
Write the new name into it when the netlist was renamed.`},
	{"out-of-range", "a number that cannot be",
		`The number is beyond what the thing can have, as a voltage that no vehicle runs on or a size that no table lists.`},
	{"removed-wire", "a wire that is made and no longer in the netlist",
		`The status file says that the wire was made, and where its ends are; the netlist has no such wire any more. Take it off the car
or insulate and tie back both ends, then take its line out. A wire that was never made and is not in the netlist either is a
slip of the pen, and an error; one that is exactly what a wire without a line is bears a wrong name, and a warning.`},
	{"stale-accept", "an acceptance that covers nothing",
		`What the [[accept]] was written for is not found any more. Remove it, so that the next finding there is seen.`},
	{"step-back", "a mark that would take a wire back to an earlier stage",
		`A wire that is installed does not become cut again by a slip: ferrule mark does that only with --back.`},
	{"syntax", "text that is not TOML",
		`The line cannot be read, so nothing is known of what it says. As long as there is such a line the rules are not run:
they would miss at many places what stands in the unread one.`},
	{"unknown-key", "a key that does not exist here",
		`Keys that the language does not know are refused rather than passed over, so that a misspelt one is not silently lost.`},
	{"unknown-name", "a name that nothing has",
		`The designator, system, place, zone, net or rule is not declared in any file of the harness.`},
	{"unknown-pin", "a terminal that the thing does not have",
		`The part, connector or panel exists, but has no terminal of that name. Its kind or its own list of pins says which it has.`},
	{"wrong-type", "a value of the wrong type",
		`The key takes a text, a number, true or false, a list or a table, and got another of these. Quantities are texts with
their unit: "15 A", not 15.`},
}
