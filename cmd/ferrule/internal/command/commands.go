package command

import (
	"fmt"
	"slices"
)

// A command is one word that the program understands. Parser, help and documents are made from this.
type command struct {
	name    string
	takes   string // its arguments, as the help writes them
	least   int    // how many arguments it needs
	most    int    // how many it takes; -1 for any number
	title   string // one line, for the list of commands
	doc     string // the rest of its help
	flags   []*option
	draws   bool // it needs the drawing side
	example []string
	run     func(*invocation) (int, error)
}

// commands returns the table of commands, in the order in which somebody meets them.
func commands() []*command {
	return []*command{newCommand, checkCommand, buildCommand, drawCommand, listCommand, markCommand, nextCommand, solveCommand, sizeCommand, faultsCommand, sneakCommand, traceCommand, withoutCommand, hookCommand, explainCommand, versionCommand, helpCommand}
}

var newCommand = &command{
	name: "new", takes: "[DIR or FILE]", most: 1,
	title: "write a small harness to start from",
	doc: `Writes a commented harness with a battery, a fuse, a switch and a lamp, that checks clean and builds. An argument that
ends in .toml is the file to write; any other is a folder, in which harness.toml is written. Without an argument it is
written into the current folder. A file that is there already is never touched.`,
	example: []string{"ferrule new truck", "ferrule check truck/harness.toml"},
}

var checkCommand = &command{
	name: "check", takes: "FILE...", least: 1, most: -1,
	title: "find what is wrong with a harness",
	doc: `Reads each netlist with the files that it includes, and prints every mistake of the text and every finding of the rules:
what burns first, then what strands, then what annoys, each cause once. A file named - is standard input. Findings go to
standard output, a summary for each netlist to standard error; it counts the checks that had no data. A status file that
ferrule mark has written beside the netlist is looked at too: what is wrong in it, and what on the car is older.

With --fix the changes that are sure are made in the files, as taking out an acceptance that covers nothing; nothing else
in them is touched. The findings are then those of the changed files.

Exit code: 0 nothing at or above the threshold, 1 findings, 2 a file that cannot be read or a wrong command line.`,
	flags:   []*option{flagFindingsFormat, flagAtLeast, flagOnly, flagExcept, flagInState, flagFix, flagColor},
	example: []string{"ferrule check truck.toml", "ferrule check --at-least note --format json truck.toml", "ferrule check --only ground-loop,net-short truck.toml", "ferrule check --fix truck.toml"},
}

var buildCommand = &command{
	name: "build", takes: "FILE", least: 1, most: 1,
	title: "draw the whole set of sheets and write the lists",
	doc: `Writes wall.pdf, with every sheet of the harness, and its lists as CSV into a folder: all of them or, when something goes
wrong, none. Other files in the folder stay as they are. A harness that has findings is drawn too; they stand on its
cover. What was written goes to standard output, the summary of the findings to standard error.

Exit code: 0 written, 1 written but part of the text could not be read and is not on the sheets, 2 nothing written.`,
	flags:   []*option{flagFolder, flagPaper, flagGray, flagTile},
	draws:   true,
	example: []string{"ferrule build truck.toml", "ferrule build truck.toml -o print", "ferrule build truck.toml --paper a2", "ferrule build truck.toml --gray --tile a4"},
}

var drawCommand = &command{
	name: "draw", takes: "FILE", least: 1, most: 1,
	title: "draw one sheet as SVG or PDF",
	doc: `Draws one sheet and writes it to standard output or to a file.

Exit code: 0 drawn, 1 drawn but part of the text could not be read and is not on the sheet, 2 nothing drawn.`,
	flags:   []*option{flagSheet, flagDrawingFormat, flagDrawing, flagPaper, flagGray, flagTile},
	draws:   true,
	example: []string{"ferrule draw truck.toml --sheet '?'", "ferrule draw truck.toml --sheet cover -o cover.svg"},
}

var explainCommand = &command{
	name: "explain", takes: "[RULE]", most: 1,
	title: "say what a rule is about, or list all rules",
	doc: `Prints what goes wrong in the vehicle, when the rule is right, what to change, its sources, and a bad and a good example.
The word is the one in brackets behind a finding. Without a word it lists all of them.`,
	example: []string{"ferrule explain", "ferrule explain unfused-feed"},
}

var versionCommand = &command{
	name: "version", title: "print the version of the program",
	doc: `Prints the version of the program, of the Go toolchain that built it, and the platform.`,
}

var helpCommand = &command{
	name: "help", takes: "[COMMAND]", most: 1,
	title: "say how to use the program or a command",
	doc:   `The same text comes with ferrule COMMAND -h.`,
}

// The functions are set here and not in the table: help reads the table, and Go does not let a variable refer to itself.
func init() {
	newCommand.run, checkCommand.run, buildCommand.run, drawCommand.run = runNew, runCheck, runBuild, runDraw
	explainCommand.run, versionCommand.run, helpCommand.run = runExplain, runVersion, runHelp
}

func findCommand(name string) *command {
	for _, c := range commands() {
		if c.name == name {
			return c
		}
	}
	return nil
}

func commandNames() []string {
	var names []string
	for _, c := range commands() {
		names = append(names, c.name)
	}
	slices.Sort(names)
	return names
}

// findFlag returns the flag of a spelling with its dashes, or nil.
func (c *command) findFlag(spelling string) *option {
	for _, f := range c.flags {
		if spelling == "--"+f.name || f.letter != "" && spelling == "-"+f.letter {
			return f
		}
	}
	return nil
}

// checkFiles returns an error when the command cannot take so many arguments.
func (c *command) checkFiles(files []string) error {
	switch {
	case len(files) < c.least:
		return &usageError{message: fmt.Sprintf("ferrule %s needs a file", c.name)}
	case c.most >= 0 && len(files) > c.most:
		return &usageError{message: fmt.Sprintf("ferrule %s cannot use %q", c.name, files[c.most])}
	}
	return nil
}
