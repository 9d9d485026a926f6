package command

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
)

// listSheets is the value of --sheet that lists the sheets.
const listSheets = "?"

func runDraw(inv *invocation) (int, error) {
	name := inv.value(flagSheet)
	if name == "" {
		return exitUnusable, &usageError{"ferrule draw needs --sheet NAME", "--sheet '?' lists the sheets of the harness"}
	}
	h, err := inv.loadDrawable(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	in := inv.printed(h)
	if name == listSheets {
		printSheets(inv, inv.drawing.Sheets(in))
		return inv.reportDrawn(h)
	}
	format := inv.formatOf(flagDrawingFormat, flagDrawing, "svg")
	if inv.value(flagDrawing) == "" && format == "pdf" && isTerminal(inv.outFile) {
		return exitUnusable, &usageError{"a PDF is not for the screen of a terminal", "write it to a file with -o FILE, or give --format svg"}
	}
	if in.Tile != "" && format != "pdf" {
		return exitUnusable, &usageError{"--tile makes several pages, and an SVG holds one", "add --format pdf"}
	}
	data, err := inv.drawing.Draw(in, name, format)
	if err != nil {
		return exitUnusable, err
	}
	return inv.deliver(h, flagDrawing, data)
}

// deliver writes what was made into the file of a flag or, without one, to standard output.
func (inv *invocation) deliver(h *harness, into *option, data []byte) (int, error) {
	if file := inv.value(into); file != "" {
		if err := writeOne(file, data); err != nil {
			return exitUnusable, err
		}
	} else if _, err := inv.out.Write(data); err != nil {
		return exitClean, err
	}
	return inv.reportDrawn(h)
}

// printSheets lists the sheets in the order of the set, and what is in files of its own.
func printSheets(inv *invocation, sheets []Sheet) {
	width := 0
	for _, s := range sheets {
		width = max(width, len(s.Name))
	}
	for _, s := range sheets {
		number := fmt.Sprint(s.Number)
		if s.Number == 0 {
			number = "-" // in a file of its own
		}
		fmt.Fprintf(inv.out, "%3s  %-*s  %s\n", number, width, s.Name, s.Title)
	}
}

// formatOf is the flag of the format, or what the ending of the file says, or else the one that is usual.
func (inv *invocation) formatOf(flag, file *option, usual string) string {
	if format := inv.value(flag); format != "" {
		return format
	}
	ending := strings.ToLower(strings.TrimPrefix(filepath.Ext(inv.value(file)), "."))
	if slices.Contains(flag.choices, ending) {
		return ending
	}
	return usual
}
