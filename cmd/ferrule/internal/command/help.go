package command

import (
	"fmt"
	"io"
	"strings"
)

const overview = `Ferrule compiles the wiring of a vehicle, written as a TOML netlist, into checks and printable sheets.

Usage: ferrule COMMAND [arguments]

Commands:
`

func runHelp(inv *invocation) (int, error) {
	if len(inv.files) == 0 {
		printOverview(inv.out)
		return exitClean, nil
	}
	c := findCommand(inv.files[0])
	if c == nil {
		return exitUnusable, unknownWord("command", inv.files[0], commandNames(), "run `ferrule help` for the commands")
	}
	printCommandHelp(inv.out, c)
	return exitClean, nil
}

// printOverview prints what the program is and its commands.
func printOverview(w io.Writer) {
	fmt.Fprint(w, overview)
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-8s  %s\n", c.name, c.title)
	}
	fmt.Fprint(w, "\nferrule help COMMAND says more about one.\n")
}

// printCommandHelp prints the help of one command.
func printCommandHelp(w io.Writer, c *command) {
	fmt.Fprintf(w, "ferrule %s: %s\n\nUsage: %s\n\n%s\n", c.name, c.title, c.usage(), c.doc)
	if len(c.flags) > 0 {
		fmt.Fprint(w, "\nFlags:\n")
	}
	for _, f := range c.flags {
		fmt.Fprintf(w, "  %s\n      %s\n", f.spelling(), f.explanation())
	}
	if len(c.example) > 0 {
		fmt.Fprintf(w, "\nExamples:\n  %s\n", strings.Join(c.example, "\n  "))
	}
}

// usage is the form of the command line.
func (c *command) usage() string {
	parts := []string{"ferrule", c.name}
	if len(c.flags) > 0 {
		parts = append(parts, "[flags]")
	}
	if c.takes != "" {
		parts = append(parts, c.takes)
	}
	return strings.Join(parts, " ")
}
