package command

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ferrule/netlist/circuit"
)

// What the text shows of each list; the rest is counted. One state fits one screen.
const (
	loadRows = 14
	wireRows = 6
	fuseRows = 6
)

func (inv *invocation) solveText(c *circuit.Circuit, reports []*circuit.Report, derived *circuit.Circumstances) {
	for _, r := range reports {
		inv.printState(c, r)
	}
	if derived != nil {
		inv.printDerived(derived)
	}
	inv.printGrounds(c)
	fmt.Fprintln(inv.out, "Volts are at the consumer; loop is what wires and contacts lose from the battery's posts and back, own the part of it")
	fmt.Fprintln(inv.out, "that this consumer has to itself, against target and limit of common practice. A contact carries its rating into a plain")
	fmt.Fprintln(inv.out, "resistance; for lamps and motors practice takes half of it.")
	fmt.Fprintln(inv.out, "~ rests on a guess in the file, on a value that it leaves open, or for more than a tenth on estimated contacts")
	inv.printAssumed(c)
	for _, m := range missingObjects(c) {
		fmt.Fprintf(inv.out, "missing: %s:%d: %s has no %s and is left out; add %s\n", m.File, m.Line, m.Ref, m.What, m.Add)
	}
	fmt.Fprintln(inv.out, aidsNote)
}

func (inv *invocation) printState(c *circuit.Circuit, r *circuit.Report) {
	s := r.Solution
	fmt.Fprintf(inv.out, "State %s: %s\n", s.State, r.Title)
	switch {
	case len(s.Cycle) > 0:
		fmt.Fprintf(inv.out, "  these relays chatter, each undoing what it does: %s; the numbers are those of a moment\n", joined(partNames(s.Cycle)))
	case !s.Settled:
		fmt.Fprintf(inv.out, "  did not come to rest in %d rounds; the numbers are not to be trusted\n", s.Rounds)
	}
	if len(s.Race) > 0 {
		fmt.Fprintf(inv.out, "  these relays lock each other out, and which of them wins is chance: %s\n", joined(partNames(s.Race)))
	}
	for _, note := range r.Notes {
		fmt.Fprintln(inv.out, "  note: "+note)
	}
	for _, line := range balanceLines(c, r) {
		fmt.Fprintln(inv.out, "  "+line)
	}
	if len(r.Loads) == 0 {
		fmt.Fprintln(inv.out, "  no consumer is at work")
	}
	inv.printLoads(r)
	inv.printFuses(r)
	inv.printContacts(c, r)
	inv.printOutputs(r)
	inv.printWires(r)
	fmt.Fprintln(inv.out)
}

// balanceLines say what the sources do and whether they keep up.
func balanceLines(c *circuit.Circuit, r *circuit.Report) []string {
	var lines []string
	for _, s := range r.Sources {
		b := &c.Branches[s.Branch]
		if b.Edge == nil || math.Abs(s.Amps) < 1e-4 {
			continue
		}
		does, mean := "delivers", "in the mean"
		if s.Amps < 0 {
			does = "takes"
		}
		if (s.Mean < 0) != (s.Amps < 0) && math.Abs(s.Mean) >= 1e-4 { // it changes over: say which way the mean flows
			mean = "charged with in the mean"
			if s.Mean > 0 {
				mean = "delivered in the mean"
			}
		}
		lines = append(lines, fmt.Sprintf("%s %s %s at %s (%s %s)", c.Netlist.Pin(b.A), does, amps(math.Abs(s.Amps), false), volts(s.Volts, false), amps(math.Abs(s.Mean), false), mean))
	}
	lines = append(lines, leadLines(c, r)...)
	b := &r.Balance
	switch {
	case b.Generator == 0 && b.Others > 0:
		lines = append(lines, fmt.Sprintf("demand %s in the mean, %s of it from sources other than the battery", amps(b.Demand, false), amps(b.Others, false)))
	case b.Charging && b.Output > 0 && b.Generator > 0:
		lines = append(lines, fmt.Sprintf("demand %s in the mean, %s of the generator's %s", amps(b.Demand, false), percent(b.Demand/b.Output), amps(b.Output, false)))
	}
	if b.IdleKnown {
		line := fmt.Sprintf("at idle: demand %s of %s, ", amps(b.IdleDemand, false), amps(b.IdleOutput, false))
		if b.IdleSpare >= 0 {
			line += amps(b.IdleSpare, false) + " to spare"
		} else {
			line += fmt.Sprintf("%s short: the battery is half empty in %.1f h", amps(-b.IdleSpare, false), b.IdleHours)
		}
		lines = append(lines, line)
	}
	return append(lines, restLines(b)...)
}

func restLines(b *circuit.Balance) []string {
	switch {
	case b.Charging:
		return nil
	case math.IsInf(b.Hours, 1) && b.Capacity > 0 && b.Battery < 1e-5:
		return []string{"the battery does not drain"}
	case math.IsInf(b.Hours, 1):
		return nil
	case b.Battery < 1:
		return []string{fmt.Sprintf("from the battery: %.1f mA, %s from 80 to 50 %% of its charge", b.Battery*1000, restTime(b.Days))}
	}
	return []string{fmt.Sprintf("from the battery: %s in the mean, half empty in %.1f h", amps(b.Battery, false), b.Hours)}
}

// restTime writes days, and hours for less than two of them.
func restTime(days float64) string {
	if days < 2 {
		return fmt.Sprintf("%.0f hours", days*24)
	}
	return fmt.Sprintf("%.0f days", days)
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", share*100) }

func (inv *invocation) printLoads(r *circuit.Report) {
	loads := slices.Clone(r.Loads)
	slices.SortStableFunc(loads, func(a, b circuit.LoadReport) int {
		return cmp.Or(cmp.Compare(b.Verdict, a.Verdict), cmp.Compare(pressure(&b), pressure(&a)))
	})
	t := &table{columns: []string{"  consumer", "", "volts", "amps", "loop", "own", "target/limit", ""}}
	for i := range loads[:min(loadRows, len(loads))] {
		l := &loads[i]
		row := []string{"  " + l.Ref, clipped(l.Title, 36), volts(l.Drop.Volts, l.Guessed), amps(math.Abs(l.Amps), l.Guessed), "", "", "", l.Verdict.String()}
		if l.Fed {
			row[4], row[5] = volts(l.Drop.Loop, l.Guessed || l.Drop.LoopMarked()), volts(l.Drop.Own, l.Guessed || l.Drop.OwnMarked())
		}
		if l.Budget.Limit > 0 {
			row[6] = fmt.Sprintf("%.2f/%.2f V", float64(l.Budget.Target), float64(l.Budget.Limit))
		}
		t.add(row...)
	}
	inv.printPart(t, len(loads)-loadRows)
}

// pressure is how near a consumer comes to its budget; 0 without one.
func pressure(l *circuit.LoadReport) float64 {
	if l.Verdict == circuit.NotJudged {
		return 0
	}
	return max(l.Drop.Loop/float64(l.Budget.Limit), l.Drop.Own/float64(l.Budget.Target))
}

func (inv *invocation) printFuses(r *circuit.Report) {
	fuses := slices.DeleteFunc(slices.Clone(r.Fuses), func(f circuit.FuseReport) bool { return f.Amps < leastShown })
	slices.SortStableFunc(fuses, func(a, b circuit.FuseReport) int { return cmp.Compare(settled(b.Share()), settled(a.Share())) })
	t := &table{columns: []string{"  fuse", "", "amps", "warming", "rating", "share", "for hours", ""}}
	for i := range fuses[:min(fuseRows, len(fuses))] {
		f := &fuses[i]
		over := ""
		if f.Continuous > 0 && f.RMS > f.Continuous {
			over = "more than it carries for hours"
		}
		t.add("  "+f.Part.Name.Text, clipped(f.Part.Title.Text, 36), amps(f.Amps, false), amps(f.RMS, false), amps(f.Rating, false), percent(f.Share()), amps(f.Continuous, !f.AmbientKnown), over)
	}
	inv.printPart(t, len(fuses)-fuseRows)
}

// leastShown is the current below which a fuse or wire is left out of the text, in ampere.
const leastShown = 1e-4

func (inv *invocation) printWires(r *circuit.Report) {
	wires := slices.DeleteFunc(slices.Clone(r.Wires), func(w circuit.WireReport) bool { return w.Amps < leastShown })
	slices.SortStableFunc(wires, func(a, b circuit.WireReport) int { return cmp.Compare(settled(wireRank(&b)), settled(wireRank(&a))) })
	t := &table{columns: []string{"  wire", "size", "amps", "warming", "may carry", "share", "loses", "warms by", ""}}
	for i := range wires[:min(wireRows, len(wires))] {
		w := &wires[i]
		note := ""
		switch {
		case w.Brief:
			note = "for seconds only"
		case w.Loaded > 1:
			note = fmt.Sprintf("among %d loaded wires", w.Loaded)
		}
		if !w.Brief && w.Share() > 1 {
			note = strings.TrimPrefix(note+", overloaded", ", ")
		}
		t.add("  "+w.Wire.Name.Text, w.Wire.Size.String(), amps(w.Amps, w.Guessed), amps(w.RMS, w.Guessed), amps(w.Ampacity, w.Guessed || !w.AmbientKnown), percent(w.Share()), volts(w.Volts, w.VoltsMarked()), fmt.Sprintf("%.0f K", float64(w.Celsius-w.Ambient))+mark(!w.AmbientKnown), note)
	}
	inv.printPart(t, len(wires)-wireRows)
}

// settled rounds a share to what a solution is good for, so that rounding decides no order.
func settled(share float64) float64 { return math.Round(share*1e6) / 1e6 }

// wireRank is what wires are sorted by: those that carry for seconds only come last.
func wireRank(w *circuit.WireReport) float64 {
	if w.Brief {
		return -1 / (1 + w.Share())
	}
	return w.Share()
}

// printPart prints a table that has rows, and how many more there are.
func (inv *invocation) printPart(t *table, more int) {
	if len(t.rows) == 0 {
		return
	}
	t.print(inv.out)
	if more > 0 {
		fmt.Fprintf(inv.out, "  and %d more, further from their limits\n", more)
	}
}

// clipped cuts a text that is too long for its column.
func clipped(text string, width int) string {
	if runes := []rune(text); len(runes) > width {
		return string(runes[:width-3]) + "..."
	}
	return text
}
