// Package seeded_test breaks clean examples in every way there is, one at a time, and counts what the rules notice. The
// table that it makes is rules/SEEDED.md:
//
//	go test ./rules/seeded -run Table -update -timeout 60m
//
// The plain test runs a bounded sample and holds it against the table: a gap that the table does not list fails.
package seeded_test

import (
	"cmp"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/diag"
	"ferrule/netlist/edit"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	_ "ferrule/rules/all"
)

var (
	update = flag.Bool("update", false, "write "+tableFile+" anew")
	only   = flag.String("class", "", "of TestClass: the mutants to make, as a row of "+tableFile+" names them")
)

const (
	tableFile = "../SEEDED.md"
	examples  = "../../examples"
)

// broken are the clean examples that are broken.
var broken = []string{"boat", "camper", "motorcycle", "pickup"}

// sampleStep takes every so many mutants of an example for the sample; it is a prime, so that no class is missed for its
// place in the list.
const sampleStep = 97

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// A verdict is what became of a mutant.
type verdict struct {
	mutant
	by  diag.Severity // of the worst new finding; Invalid when there is none
	why string        // of one that went unnoticed: what has changed; empty when nothing has that counts
}

// A victim is a clean example, with what is found in it and what it does.
type victim struct {
	name    string
	files   fstest.MapFS
	netlist *model.Netlist
	found   map[string]bool
	does    behaviour
	mutants []mutant
}

func load(t *testing.T, name string) *victim {
	t.Helper()
	v := &victim{name: name, files: fstest.MapFS{}, found: map[string]bool{}}
	folder := os.DirFS(examples + "/" + name)
	names, err := fs.Glob(folder, "*.toml")
	require.NoError(t, err)
	for _, file := range names {
		text, err := fs.ReadFile(folder, file)
		require.NoError(t, err)
		v.files[file] = &fstest.MapFile{Data: text}
	}
	n, found, err := netlist.Load(v.files, name+".toml")
	require.NoError(t, err)
	require.Empty(t, found)
	v.netlist = n
	g := graph.New(n)
	for _, d := range rules.Check(g).Findings {
		v.found[identity(d)] = true
		for _, ref := range d.Refs {
			v.found[naming(d, ref)] = true
		}
	}
	v.does = behaviourOf(n, g)
	v.mutants = mutantsOf(n)
	return v
}

// identity is what makes a finding the same one before and after a change elsewhere: not its place or its numbers.
func identity(d diag.Diagnostic) string {
	main := ""
	if len(d.Refs) > 0 {
		main = d.Refs[0]
	}
	return d.Rule + " " + d.Severity.String() + " " + main
}

// naming is what makes it new that a finding names a designator: a finding that the clean example has already is noticed when it
// comes to speak of one more wire or part.
func naming(d diag.Diagnostic, ref string) string { return identity(d) + " names " + ref }

// isNew reports whether a finding says something that is not said of the clean example.
func (v *victim) isNew(d diag.Diagnostic) bool {
	return !v.found[identity(d)] || slices.ContainsFunc(d.Refs, func(ref string) bool { return !v.found[naming(d, ref)] })
}

// try breaks the example in one way and looks at what is found.
func (v *victim) try(m mutant) verdict {
	files := maps.Clone(v.files)
	revised, err := edit.ApplyAll(m.edits)
	if err != nil {
		return verdict{m, diag.Invalid, "cannot be made: " + err.Error()}
	}
	for _, r := range revised {
		files[r.File.Name] = &fstest.MapFile{Data: r.Text}
	}
	n, found, err := netlist.Load(files, v.name+".toml")
	if err != nil {
		return verdict{m, diag.Invalid, "cannot be read: " + err.Error()}
	}
	g := graph.New(n)
	out := verdict{mutant: m}
	for _, d := range append(found, rules.Check(g).Findings...) {
		if v.isNew(d) {
			out.by = max(out.by, d.Severity)
		}
	}
	if out.by < diag.Warning {
		out.why = behaviourOf(n, g).differs(v.does, v.netlist.Harness.Volts)
	}
	return out
}

// tryAll breaks the example in many ways, side by side.
func (v *victim) tryAll(mutants []mutant) []verdict {
	out := make([]verdict, len(mutants))
	next := make(chan int)
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for i := range next {
				out[i] = v.try(mutants[i])
			}
		})
	}
	for i := range mutants {
		next <- i
	}
	close(next)
	group.Wait()
	return out
}

// gap reports whether a mutant that changes something that counts went unnoticed.
func (v *verdict) gap() bool { return v.by < diag.Note && v.why != "" }

// line names a gap in the table, and finds it again.
func (v *verdict) line(example string) string {
	return fmt.Sprintf("- %s: %s: %s (%s)", example, v.class, v.what, v.why)
}

// TestSample breaks the examples in some of the ways. What goes unnoticed must be in the table.
func TestSample(t *testing.T) {
	table, err := os.ReadFile(tableFile)
	require.NoError(t, err)
	for _, name := range broken {
		v := load(t, name)
		var sample []mutant
		for i := 0; i < len(v.mutants); i += sampleStep {
			sample = append(sample, v.mutants[i])
		}
		require.NotEmpty(t, sample)
		for _, r := range v.tryAll(sample) {
			head := fmt.Sprintf("- %s: %s: %s (", name, r.class, r.what)
			assert.True(t, !r.gap() || strings.Contains(string(table), head), "%s: unnoticed: %s: %s: %s", name, r.class, r.what, r.why)
		}
	}
}

// TestMutantsAreWhole holds the harness itself: every mutant can be made and differs from the example.
func TestMutantsAreWhole(t *testing.T) {
	for _, name := range broken {
		v := load(t, name)
		classes := map[string]int{}
		for _, m := range v.mutants {
			classes[m.class]++
			revised, err := edit.ApplyAll(m.edits)
			require.NoError(t, err, m.what)
			for _, r := range revised {
				require.NotEqual(t, string(r.File.Text), string(r.Text), "%s: %s changes nothing", m.class, m.what)
			}
		}
		assert.GreaterOrEqual(t, len(classes), 8, "%s is broken in too few ways", name)
	}
}

// TestTable makes the table of rules/SEEDED.md with -update; without, it is skipped, because it runs for minutes.
func TestTable(t *testing.T) {
	if !*update {
		t.Skip("runs with -update alone")
	}
	rows, gaps := map[string]*row{}, map[string][]string{}
	for _, name := range broken {
		v := load(t, name)
		for _, r := range v.tryAll(v.mutants) {
			if rows[r.class] == nil {
				rows[r.class] = &row{class: r.class}
			}
			rows[r.class].count(&r)
			if r.gap() {
				gaps[r.class] = append(gaps[r.class], r.line(name))
			}
		}
	}
	require.NoError(t, os.WriteFile(tableFile, []byte(page(rows, gaps)), 0o644))
}

// TestClass says what of one class of mutants goes unnoticed, without the table:
//
//	go test ./rules/seeded -run Class -class 'thinner by 1' -v
func TestClass(t *testing.T) {
	if *only == "" {
		t.Skip("runs with -class alone")
	}
	all := row{class: *only}
	for _, name := range broken {
		v := load(t, name)
		of := slices.DeleteFunc(slices.Clone(v.mutants), func(m mutant) bool { return m.class != *only })
		for _, r := range v.tryAll(of) {
			all.count(&r)
			if r.gap() {
				t.Log(r.line(name))
			}
		}
	}
	require.Positive(t, all.all, "no mutants of the class %q", *only)
	t.Logf("%d: %d by an error, %d by a warning, %d by a note, %d harmless, %d gaps", all.all, all.errors, all.warnings, all.notes, all.harmless, all.gaps)
}

// A row counts what became of the mutants of a class.
type row struct {
	class                                        string
	all, errors, warnings, harmless, notes, gaps int
}

func (r *row) count(v *verdict) {
	r.all++
	switch {
	case v.by == diag.Error:
		r.errors++
	case v.by == diag.Warning:
		r.warnings++
	case v.why == "":
		r.harmless++
	case v.by == diag.Note:
		r.notes++
	default:
		r.gaps++
	}
}

func (r *row) add(other *row) {
	r.all += other.all
	r.errors += other.errors
	r.warnings += other.warnings
	r.notes += other.notes
	r.harmless += other.harmless
	r.gaps += other.gaps
}

func page(rows map[string]*row, gaps map[string][]string) string {
	var b strings.Builder
	b.WriteString(pageHead)
	var sum row
	for _, class := range sortedKeys(rows) {
		r := rows[class]
		fmt.Fprintf(&b, "| %s | %d | %d | %d | %d | %d | %d |\n", r.class, r.all, r.errors, r.warnings, r.notes, r.harmless, r.gaps)
		sum.add(r)
	}
	fmt.Fprintf(&b, "| **all** | %d | %d | %d | %d | %d | %d |\n", sum.all, sum.errors, sum.warnings, sum.notes, sum.harmless, sum.gaps)
	b.WriteString(gapHead)
	if len(gaps) == 0 {
		b.WriteString("\nNone.\n")
	}
	for _, class := range sortedKeys(gaps) {
		fmt.Fprintf(&b, "\n### %s\n\n%s\n\n", class, reasonFor(class))
		slices.SortFunc(gaps[class], cmp.Compare[string])
		b.WriteString(strings.Join(gaps[class], "\n") + "\n")
	}
	return b.String()
}

const pageHead = `# What the rules notice

Made by ` + "`go test ./rules/seeded -run Table -update -timeout 60m`" + `; do not edit. Clean examples (boat, camper, motorcycle,
pickup) are broken in every way that the harness in rules/seeded knows, one at a time: ends go to each terminal beside their own (above
and below too, where the file says how cavities lie) and change places with each other end of the same connector or part, relays are
turned by every step, switches have each two positions exchanged. A mutant is noticed by an error or by
a warning that the clean example does not have, or that comes to name one more wire or part. One that is not is harmless when nothing that
counts has changed: every consumer, winding and output has the same voltage in every state within 5 % of the nominal one (the
solenoid of a starter: enough to pull in), and every wire and fuse is still within its limits as ` + "`ferrule size`" + ` judges them.
Of those that do change something, some give a new note:
a limit passed by less than the estimates of contacts leave open, or data that is now missing. The rest are gaps, listed below.

| broken | mutants | by an error | by a warning | by a note | harmless | gaps |
|---|---|---|---|---|---|---|
`

const gapHead = `
A harmless change that nobody notices is as it should be for most of them: two ends on one piece of metal, a lamp the other
way round, a wire that is still thick enough, a colour that nothing in the file speaks against.

## Gaps

What is listed here changes what the vehicle does, or takes a wire or fuse out of its limits, and no rule says so.
`

// reasons says for each class why its gaps cannot be known, or what would close them.
var reasons = map[string]string{
	"switch positions exchanged": "What a position works is known where words say it: its name, those of lamps, relays and terminals, and needed-in of a part " +
		"or of one of its loads.",
	"two ends exchanged": "Both wires are where a wire may be. A net, a side, a function or a polarity on the terminals, or needed-in on what they feed, lets " +
		"the check see it.",
	"two ends exchanged, apart": "As for two that follow one another.",
}

// reasonFor is the reason of a class, or that none is known.
func reasonFor(class string) string {
	return cmp.Or(reasons[class], "Why they cannot be known has not been looked into.")
}
