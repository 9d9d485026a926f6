package command

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var markCommand = &command{
	name: "mark", takes: "[FILE] WIRE... STAGE", most: -1,
	title: "note how far wires are: cut, crimped, installed, tested",
	doc: `Writes into NAME.built.toml beside NAME.toml how far wires are, at which revision of the harness, and what was made: size,
colour, ends and length as the netlist has them now. FILE is the first argument that ends in .toml; without one it is the only
netlist of the current folder. The stages are planned, cut, crimped, installed and tested, and include those before them.

WIRE is a wire, a range as W101..W110 in natural order, or a cable, part, connector, splice, panel or system, which stand for
all their wires. With --from the marks come from a list as CSV that somebody has filled in: the column wire, and the column
stage or boxes to tick, as the cut list has them (cut, label, crimp, pull).

A stage back needs --back. A wire that was made before the netlist was changed needs --anew or --as-built, since only you know
which of the two it is. One order that cannot be carried out, and nothing is written. Other text in the file stays as it is;
the file is replaced in one step, so that it is never half written, and two marks at once are made one after the other.

Exit code: 0 marked, 1 marked but for bad rows (--skip-bad), 2 nothing written.`,
	flags:   []*option{flagMarkFrom, flagSkipBad, flagBack, flagAnew, flagAsBuilt, flagPreview},
	example: []string{"ferrule mark truck.toml W101..W110 cut", "ferrule mark W101 X2 installed", "ferrule mark truck.toml --from cut.csv --preview"},
}

// The flags of mark.
var (
	flagMarkFrom = &option{name: "from", takes: "LIST.csv", doc: "take wires and stages from a list that somebody has filled in"}
	flagSkipBad  = &option{name: "skip-bad", doc: "with --from: carry out the good rows although others are bad"}
	flagBack     = &option{name: "back", doc: "wires may go back to an earlier stage"}
	flagAnew     = &option{name: "anew", doc: "wires that are older than the netlist have been made anew, as it is now"}
	flagAsBuilt  = &option{name: "as-built", doc: "wires that are older than the netlist are still the old ones, and move on to the stage"}
	flagPreview  = &option{name: "preview", doc: "say what would be marked, and write nothing"}
)

func init() { markCommand.run = runMark }

func (inv *invocation) given(f *option) bool {
	_, given := inv.values[f]
	return given
}

func runMark(inv *invocation) (int, error) {
	name, words, err := inv.netlistAndWords()
	if err != nil {
		return exitUnusable, err
	}
	if inv.given(flagAnew) && inv.given(flagAsBuilt) {
		return exitUnusable, &usageError{"--anew and --as-built say opposite things", "a piece is either made anew or still the old one; mark the wires in two goes"}
	}
	n, diags, err := inv.readForStatus(name)
	if err != nil {
		return exitUnusable, err
	}
	if brokenText(diags) {
		return exitUnusable, hasMistakes(name)
	}
	m := &marking{invocation: inv, name: name, harness: buildable(n, filepath.Base(name))}
	for _, f := range n.Files {
		f.Name = m.asGiven(f.Name)
	}
	if err := m.gather(words); err != nil {
		return exitUnusable, err
	}
	if m.code == exitUnusable {
		return m.code, nil
	}
	return m.carryOut()
}

// netlistAndWords takes the netlist from the arguments of a command that finds it by itself where none is given.
func (inv *invocation) netlistAndWords() (name string, words []string, err error) {
	words = inv.files
	if len(words) > 0 && (strings.EqualFold(filepath.Ext(words[0]), ".toml") || words[0] == standardInput) {
		name, words = words[0], words[1:]
	}
	if name == standardInput {
		return "", nil, &usageError{fmt.Sprintf("ferrule %s needs a file: the status lies beside it", inv.command.name), "give the name of the netlist"}
	}
	if name == "" {
		name, err = onlyHarness(inv.command.name)
	}
	return name, words, err
}

// readForStatus reads a netlist, and tells of mistakes in it, since what they concern has no status.
func (inv *invocation) readForStatus(name string) (*model.Netlist, diag.List, error) {
	n, diags, err := inv.read(name)
	if err == nil && diags.HasErrors() && !brokenText(diags) {
		inv.say("%s has mistakes, and what they concern may be missing here: run `ferrule check %s`", name, name)
	}
	return n, diags, err
}

// A marking is one run of the command.
type marking struct {
	*invocation
	name    string // of the netlist, as given
	harness *built.Harness
	orders  []built.Order
	talk    []string
	code    int
}

// asGiven puts the folder that the user typed before the name of a file.
func (m *marking) asGiven(name string) string {
	folder, _ := filepath.Split(m.name)
	return filepath.ToSlash(folder) + name
}

// gather finds out which wires are to be marked how.
func (m *marking) gather(words []string) error {
	if m.given(flagMarkFrom) {
		if len(words) > 0 {
			return &usageError{fmt.Sprintf("with --from the list says which wires are meant, and %q is one too many", words[0]), "leave it out"}
		}
		return m.gatherList(m.value(flagMarkFrom))
	}
	if m.given(flagSkipBad) {
		return &usageError{"--skip-bad is about the rows of a list", "give the list with --from LIST.csv"}
	}
	if len(words) < 2 {
		return &usageError{message: "ferrule mark needs wires and a stage", help: "as in `ferrule mark truck.toml W101..W110 cut`; the stages are: " + strings.Join(built.Stages(), ", ")}
	}
	last := len(words) - 1
	stage, ok := built.ParseStage(words[last])
	if !ok {
		return unknownWord("stage", words[last], built.Stages(), "the stages are: "+strings.Join(built.Stages(), ", "))
	}
	picks, err := pickWires(m.harness.Netlist, words[:last])
	if err != nil {
		return err
	}
	passed := 0
	for _, p := range picks {
		if !p.named && p.wire.Supplied.On && (stage == built.Cut || stage == built.Crimped) {
			passed++
			continue
		}
		m.orders = append(m.orders, built.Order{Wire: p.wire, Stage: stage})
	}
	if passed > 0 {
		m.talk = append(m.talk, fmt.Sprintf("of these, %s and %s not %s here", comeWith(passed), isOrAre(passed), stage))
	}
	return nil
}

func comeWith(n int) string {
	if n == 1 {
		return "1 wire comes with its device"
	}
	return fmt.Sprintf("%d wires come with their devices", n)
}

func isOrAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// gatherList reads a list that somebody has filled in.
func (m *marking) gatherList(name string) error {
	text, err := os.ReadFile(name)
	if err != nil {
		var reason *fs.PathError
		if errors.As(err, &reason) {
			return &inputError{fmt.Sprintf("%s: %v", name, reason.Err), "give the list as CSV: `ferrule list truck.toml cut --format csv` prints one to fill in"}
		}
		return err
	}
	orders, rows, bad := built.ReadFilled(source.NewFile(filepath.ToSlash(name), text), m.harness)
	m.orders = orders
	if len(bad) > 0 {
		if err := m.printMistakes(bad); err != nil {
			return err
		}
		m.code = exitFindings
		if !m.given(flagSkipBad) {
			m.say("%s: %s, and nothing is written; --skip-bad carries out the good rows", name, countOf(len(bad), "bad row"))
			m.code = exitUnusable
		}
		return nil
	}
	if len(orders) == 0 {
		m.talk = append(m.talk, fmt.Sprintf("%s has %s and no mark", name, countOf(rows, "wire")))
	}
	return nil
}

// attempts is how often a mark is made anew on a file that an editor changes at the same moment.
const attempts = 5

// carryOut makes the marks in the file as it is at that moment.
func (m *marking) carryOut() (int, error) {
	root, err := os.OpenRoot(m.folder())
	if err != nil {
		return exitUnusable, unreadable(m.name, err)
	}
	defer root.Close()
	unlock, err := lockFolder(root)
	if err != nil {
		return exitUnusable, err
	}
	defer unlock()
	for range attempts {
		var again bool
		if again, err = m.attempt(root); !again {
			break
		}
	}
	if err != nil {
		return exitUnusable, err
	}
	return m.code, nil
}

func (m *marking) folder() string {
	folder, _ := filepath.Split(m.name)
	return filepath.Clean(folder + ".")
}

// attempt reads the status, plans and writes. It is to be made again when the file has been changed in between.
func (m *marking) attempt(root *os.Root) (again bool, err error) {
	base := built.FileName(m.harness.File)
	status, was, err := m.readStatus(root, base)
	if err != nil || status == nil {
		return false, err
	}
	plan, refused, err := status.Mark(m.orders, built.Options{Back: m.given(flagBack), Anew: m.given(flagAnew), AsBuilt: m.given(flagAsBuilt)})
	if err != nil {
		return false, &inputError{err.Error(), "nothing is written"}
	}
	if len(refused) > 0 {
		m.code = exitUnusable
		return false, m.printMistakes(refused)
	}
	if len(plan.Changes) > 0 && !m.given(flagPreview) {
		if err := replaceStatus(root, base, was, plan.Text); err != nil {
			return errors.Is(err, errMeanwhile), err
		}
	}
	return false, m.report(plan, m.asGiven(base))
}

// readStatus reads the status file as it is now; text is nil where there is none. The status is nil when mistakes in it have
// been told instead.
func (m *marking) readStatus(root *os.Root, base string) (status *built.Status, text []byte, err error) {
	text, err = root.ReadFile(base)
	if errors.Is(err, fs.ErrNotExist) {
		return built.None(m.harness), nil, nil
	}
	if err != nil {
		return nil, nil, unreadableStatus(m.asGiven(base), err)
	}
	status, diags := built.Read(source.NewFile(m.asGiven(base), text), m.harness)
	if diags.HasErrors() {
		m.code = exitUnusable
		if err := m.printMistakes(diags.AtLeast(diag.Error)); err != nil {
			return nil, nil, err
		}
		m.say("%s: %s; repair them first, nothing is written", m.asGiven(base), summaryOf(diags.AtLeast(diag.Error)))
		return nil, nil, nil
	}
	return status, text, m.printMistakes(diags)
}

// errMeanwhile is a file that is no longer what was read.
var errMeanwhile = &inputError{"the status file was changed by somebody else meanwhile", "run the command again"}

// replaceStatus puts a new text in the place of a status file, in one step. was is the text that was read, nil for none: what is
// no longer that is not overwritten.
func replaceStatus(root *os.Root, base string, was, text []byte) (err error) {
	mode := fs.FileMode(0o644)
	if was != nil {
		now, err := root.ReadFile(base)
		if err != nil || !bytes.Equal(now, was) {
			return errMeanwhile
		}
		info, err := unchanged(root, base, was)
		if err != nil {
			return err
		}
		mode = info.Mode().Perm()
	} else if _, err := root.Lstat(base); err == nil {
		return errMeanwhile
	}
	clearStaged(root, base)
	staged, err := stage(root, File{base, text})
	defer func() {
		if err != nil && staged != "" {
			root.Remove(staged)
		}
	}()
	if err == nil && mode != 0o644 {
		err = root.Chmod(staged, mode)
	}
	if err == nil {
		err = root.Rename(staged, base)
	}
	if err != nil {
		return fmt.Errorf("writing %s: %w", base, err)
	}
	syncFolder(root)
	return nil
}

// clearStaged removes what marks that were killed have left beside the status file. It is called under the lock, when no
// other mark is at work.
func clearStaged(root *os.Root, base string) {
	for i := range 10 {
		if root.Remove(stagedName(base, i)) != nil {
			return
		}
	}
}

// report says what has been marked, or would be.
func (m *marking) report(plan *built.Plan, name string) error {
	width := 0
	for _, c := range plan.Changes {
		width = max(width, len(c.Wire.Name.Text))
	}
	for _, c := range plan.Changes {
		line := fmt.Sprintf("%-*s  %-9s -> %-9s  %s", width, c.Wire.Name.Text, c.Before, c.After.Stage, c.After.Made)
		if c.Kept {
			line += fmt.Sprintf(" (as built at revision %s, older than the netlist)", c.After.Revision.Text)
		}
		fmt.Fprintln(m.out, strings.TrimRight(line, " "))
	}
	if err := m.out.Flush(); err != nil {
		return err
	}
	for _, c := range plan.Changes {
		if c.Replaced != nil && c.Replaced.Stage >= built.Installed && c.After.Stage < built.Installed {
			m.talk = append(m.talk, fmt.Sprintf("the piece before it is still on the car: %s", c.Replaced.Says()))
		}
	}
	for _, t := range m.talk {
		m.say("%s", t)
	}
	text := countOf(len(plan.Changes), "wire") + " marked"
	if m.given(flagPreview) {
		text = countOf(len(plan.Changes), "wire") + " would be marked"
	}
	if plan.Already > 0 {
		text += fmt.Sprintf(", %d as far already", plan.Already)
	}
	if m.given(flagPreview) {
		text += "; --preview writes nothing"
	}
	m.say("%s: %s", name, text)
	return nil
}
