package command

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"slices"
	"strings"
	"syscall"

	"ferrule/netlist/diag"
)

// The exit codes. The output format never changes them.
const (
	exitClean    = 0 // done; nothing found at or above the threshold
	exitFindings = 1
	exitUnusable = 2 // wrong usage, unusable input, a machine that refused, a bug of ours
)

// An invocation is one run of one command: its arguments and the world around it.
type invocation struct {
	command *command
	values  map[*option]string // flags as given
	files   []string           // the other arguments
	in      io.Reader
	out     *bufio.Writer // data
	err     io.Writer     // talk
	outFile io.Writer     // what out writes to, to be asked whether it is a terminal
	getenv  func(string) string
	drawing *Drawing // nil where nothing can be drawn
}

// value returns what a flag was set to, or its default.
func (inv *invocation) value(f *option) string {
	if v, ok := inv.values[f]; ok {
		return v
	}
	return f.initial
}

// say prints a line of talk.
func (inv *invocation) say(format string, args ...any) { fmt.Fprintf(inv.err, format+"\n", args...) }

// A usageError is a command line that makes no sense: what is wrong and what to do about it.
type usageError struct{ message, help string }

func (e *usageError) Error() string { return e.message }

// An inputError is input that cannot be used: what is wrong and what to do about it.
type inputError struct{ message, help string }

func (e *inputError) Error() string { return e.message }

// Run is the whole program: it runs the command that the arguments name, and returns the exit code. A nil drawing will do
// for what IsText says yes to.
func Run(args []string, stdin io.Reader, stdout, stderr io.Writer, getenv func(string) string, drawing *Drawing) (code int) {
	// A reader that closes the pipe early (head, less) has what it wanted. Without this the system would end the process
	// before it could tidy up; with it the write fails with EPIPE, which finish passes over.
	signal.Ignore(syscall.SIGPIPE)
	defer func() {
		if p := recover(); p != nil {
			fmt.Fprintf(stderr, "ferrule: this is a bug in Ferrule, please report it with the netlist: %s\n", oneLine(fmt.Sprint(p)))
			code = exitUnusable
		}
	}()
	inv := &invocation{in: stdin, out: bufio.NewWriter(stdout), err: stderr, outFile: stdout, getenv: getenv, drawing: drawing}
	code, err := inv.dispatch(args)
	return inv.finish(code, err)
}

// dispatch reads the command line and runs the command that it names.
func (inv *invocation) dispatch(args []string) (int, error) {
	if len(args) == 0 {
		printOverview(inv.err)
		return exitUnusable, nil
	}
	if asksForHelp(args[0]) {
		printOverview(inv.out)
		return exitClean, nil
	}
	inv.command = commandOf(args[0])
	if inv.command == nil {
		return exitUnusable, unknownWord("command", args[0], commandNames(), "run `ferrule help` for the commands")
	}
	help, err := inv.parse(args[1:])
	if err != nil {
		return exitUnusable, err
	}
	if help {
		printCommandHelp(inv.out, inv.command)
		return exitClean, nil
	}
	return inv.command.run(inv)
}

func asksForHelp(arg string) bool { return arg == "-h" || arg == "--help" }

// commandOf returns the command that the first argument names, or nil.
func commandOf(arg string) *command {
	if arg == "--version" {
		return versionCommand
	}
	return findCommand(arg)
}

// IsText reports whether the first argument names a command that draws nothing, or asks for help.
func IsText(args []string) bool {
	if len(args) == 0 {
		return false
	}
	if asksForHelp(args[0]) {
		return true
	}
	c := commandOf(args[0])
	return c != nil && !c.draws
}

// ReadsHarness reports whether the arguments name a command that reads a harness.
func ReadsHarness(args []string) bool {
	if len(args) == 0 {
		return false
	}
	c := commandOf(args[0])
	return c != nil && (c.least > 0 || c == hookCommand && slices.Contains(args, "run"))
}

// finish writes out what is left, puts an error into words and settles the exit code.
func (inv *invocation) finish(code int, err error) int {
	if flushErr := inv.out.Flush(); err == nil && flushErr != nil {
		err = fmt.Errorf("writing the output: %w", flushErr)
	}
	if err == nil || errors.Is(err, syscall.EPIPE) {
		return code
	}
	var usage *usageError
	var input *inputError
	switch {
	case errors.As(err, &usage):
		help := usage.help
		if help == "" && inv.command != nil {
			help = fmt.Sprintf("run `ferrule help %s` for its arguments and flags", inv.command.name)
		}
		inv.complain(usage.message, help)
	case errors.As(err, &input):
		inv.complain(input.message, input.help)
	default:
		inv.complain(err.Error(), "")
	}
	return exitUnusable
}

// complain prints what is wrong and, below it, what to do about it.
func (inv *invocation) complain(message, help string) {
	inv.say("ferrule: %s", message)
	if help != "" {
		inv.say("  %s", help)
	}
}

// unknownWord says that a word is none of the known ones, with the nearest that is, or else the advice.
func unknownWord(sort, word string, known []string, advice string) error {
	return &usageError{fmt.Sprintf("there is no %s %q", sort, word), suggestion(word, known, advice)}
}

// suggestion is the known word that was probably meant, or else the advice.
func suggestion(word string, known []string, advice string) string {
	if near, ok := diag.Nearest(word, known); ok {
		return fmt.Sprintf("did you mean %s?", near)
	}
	return advice
}

// oneLine puts a text on one line.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }
