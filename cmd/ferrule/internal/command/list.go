package command

import (
	"fmt"
	"strings"
)

var listCommand = &command{
	name: "list", takes: "FILE [NAME]", least: 1, most: 2,
	title: "print a list of the harness, or name all lists",
	doc: `Without NAME it names all lists with their titles and how many rows each has. With NAME it prints that list: text is in
columns; block has each row on lines of 80 columns, and is what a terminal gets where text is wider; csv is for a
spreadsheet and guards it against cells that it would take for formulas; json is an array
with an object for each row, in which numbers are numbers and an empty cell is null. Columns carry their unit: length_m is
metres, rating_A amperes. A cell is empty where the netlist does not say.

Exit code: 0 printed, 1 printed but part of the text could not be read and is not in the list, 2 nothing printed.`,
	flags:   []*option{flagListFormat, flagListFile},
	draws:   true,
	example: []string{"ferrule list truck.toml", "ferrule list truck.toml wires", "ferrule list truck.toml pins --format json", "ferrule list truck.toml wires -o wires.csv"},
}

var flagListFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "block", "csv", "json"},
	doc: "how the list is written; when left out, what the ending of FILE says, or text"}

var flagListFile = &option{name: "out", letter: "o", takes: "FILE", doc: "the file to write; standard output when left out"}

func init() { listCommand.run = runList }

func runList(inv *invocation) (int, error) {
	if len(inv.files) < 2 {
		return inv.nameLists()
	}
	name, names := inv.files[1], inv.drawing.ListNames()
	if err := knownWord("list", name, names); err != nil {
		return exitUnusable, err
	}
	h, err := inv.loadDrawable(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	usual := "text"
	if isTerminal(inv.outFile) && inv.value(flagListFile) == "" {
		usual = "screen" // as text, or in blocks where that is too wide for a terminal
	}
	data, err := inv.drawing.List(h.drawn(), name, inv.formatOf(flagListFormat, flagListFile, usual))
	if err != nil {
		return exitUnusable, err
	}
	return inv.deliver(h, flagListFile, data)
}

// nameLists prints the names of all lists, how many rows they have, and their titles.
func (inv *invocation) nameLists() (int, error) {
	for _, f := range []*option{flagListFormat, flagListFile} {
		if _, given := inv.values[f]; given {
			return exitUnusable, &usageError{fmt.Sprintf("--%s is for one list, and none is named", f.name),
				"write its name behind the file; there are: " + strings.Join(inv.drawing.ListNames(), ", ")}
		}
	}
	h, err := inv.loadDrawable(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	lists, width, digits := inv.drawing.Lists(h.drawn()), 0, 0
	for _, l := range lists {
		width, digits = max(width, len(l.Name)), max(digits, len(fmt.Sprint(l.Rows)))
	}
	for _, l := range lists {
		fmt.Fprintf(inv.out, "%-*s  %*d  %s\n", width, l.Name, digits, l.Rows, l.Title)
	}
	return inv.reportDrawn(h)
}

// knownWord returns an error when a word is none of the known ones.
func knownWord(sort, word string, known []string) error {
	for _, k := range known {
		if k == word {
			return nil
		}
	}
	return unknownWord(sort, word, known, "there are: "+strings.Join(known, ", "))
}
