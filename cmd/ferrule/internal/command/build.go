package command

import (
	"fmt"
	"path/filepath"

	"ferrule/netlist/diag"
	"ferrule/rules"
)

func runBuild(inv *invocation) (int, error) {
	h, err := inv.loadDrawable(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	files, err := inv.drawing.Build(inv.printed(h))
	if err != nil {
		return exitUnusable, fmt.Errorf("drawing %s: %w", h.name, err)
	}
	folder := inv.value(flagFolder)
	if err := writeAll(folder, files); err != nil {
		return exitUnusable, err
	}
	for _, f := range files {
		fmt.Fprintf(inv.out, "%s  %s\n", filepath.Join(folder, f.Name), kilobytes(len(f.Data)))
	}
	return inv.reportDrawn(h)
}

// kilobytes writes a number of bytes, rounded up.
func kilobytes(n int) string { return fmt.Sprintf("%d kB", (n+999)/1000) }

// loadDrawable reads a harness and refuses it when there is nothing in it to draw.
func (inv *invocation) loadDrawable(name string) (*harness, error) {
	h, err := inv.load(name)
	if err != nil {
		return nil, err
	}
	if stops := h.stops(); len(stops) > 0 {
		h.nameAsGiven()
		if err := inv.printMistakes(stops); err != nil {
			return nil, err
		}
		return nil, &inputError{name + ": nothing is drawn of a harness with a circuit that must not be in it", "take the circuit out of the netlist"}
	}
	n := h.netlist
	if len(n.Parts)+len(n.Connectors)+len(n.Splices)+len(n.Wires) > 0 {
		return h, nil
	}
	h.nameAsGiven()
	if err := inv.printMistakes(h.findings.AtLeast(diag.Error)); err != nil {
		return nil, err
	}
	return nil, &inputError{name + ": no part and no wire could be read from it", "`ferrule new` writes a harness to start from"}
}

// stops are the findings that no sheet may be printed with.
func (h *harness) stops() diag.List {
	var stops diag.List
	for _, d := range h.findings {
		if rule := rules.Find(d.Rule); rule != nil && rule.Stops {
			stops = append(stops, d)
		}
	}
	return stops
}

// reportDrawn prints the summary of what has been drawn, and what of the text is missing from the drawing.
func (inv *invocation) reportDrawn(h *harness) (int, error) {
	if err := inv.out.Flush(); err != nil {
		return exitClean, err
	}
	inv.say("%s", h.summary())
	if !h.unread {
		return exitClean, nil
	}
	inv.say("part of the text could not be read and is missing from the drawing: run `ferrule check %s`", h.name)
	return exitFindings, nil
}

// printed is the harness with what the flags say about the printer.
func (inv *invocation) printed(h *harness) Drawn {
	d := h.drawn()
	_, d.Gray = inv.values[flagGray]
	d.Tile, d.Paper = inv.value(flagTile), inv.value(flagPaper)
	d.Say = func(text string) { inv.say("%s", text) }
	return d
}

// drawn is the harness as the drawing side gets it. Its files keep the names that they have in its own folder, so that the
// sheets do not depend on where the command was typed.
func (h *harness) drawn() Drawn {
	return Drawn{Graph: h.graph, Findings: h.findings, Accepted: h.accepted, Built: h.drawnStatus(), Program: "Ferrule " + version()}
}
