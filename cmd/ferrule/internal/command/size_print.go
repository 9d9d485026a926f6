package command

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// printSizes writes a report as text, JSON or CSV.
func printSizes(out io.Writer, format string, r *sizing.Report) error {
	switch format {
	case "json":
		return printSizesJSON(out, r.Plain())
	case "csv":
		return printSizeRows(out, r.Plain())
	}
	return printSizeText(out, r)
}

func printSizesJSON(out io.Writer, v any) error {
	encoder := json.NewEncoder(out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(v)
}

// printSizeRows writes wires and fuses as one table.
func printSizeRows(out io.Writer, p sizing.Plain) error {
	w := csv.NewWriter(out)
	rows := [][]string{{"kind", "name", "written", "least", "most", "verdict", "decided_by", "because", "state", "peak_a", "continuous_a", "source", "guess"}}
	for _, x := range p.Wires {
		rows = append(rows, []string{"wire", x.Name, x.Written, x.Least, "", x.Verdict, x.DecidedBy, x.Because, x.State, digits(x.PeakAmps), digits(x.ContinuousAmps), x.Source, strconv.FormatBool(x.Guess)})
	}
	for _, f := range p.Fuses {
		rows = append(rows, []string{"fuse", f.Name, digits(f.RatingAmps), digits(f.LeastAmps), digits(f.MostAmps), f.Verdict, f.LimitedBy, f.Because, f.State, "", digits(f.ContinuousAmps), f.Source, strconv.FormatBool(f.Guess)})
	}
	if err := w.WriteAll(rows); err != nil {
		return err
	}
	return w.Error()
}

// digits writes a number without noise; empty for one that there is not.
func digits(v float64) string {
	if v == 0 {
		return ""
	}
	return unit.Format(v)
}

// A sourceNotes list numbers the sources that a table refers to.
type sourceNotes struct{ list []string }

func (n *sourceNotes) of(source string) string {
	for i, s := range n.list {
		if s == source {
			return fmt.Sprintf("[%d]", i+1)
		}
	}
	n.list = append(n.list, source)
	return fmt.Sprintf("[%d]", len(n.list))
}

func printSizeText(out io.Writer, r *sizing.Report) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	sources := &sourceNotes{}
	fmt.Fprintf(w, "WIRES: %s\n\n", tallySizes(r))
	fmt.Fprintln(w, "wire\twritten\tleast\tverdict\tpeak\tcontinuous\tdecided by\tstate\tsource")
	over := r.Overdrawn()
	for _, x := range sizing.MustChangeFirst(r.Wires) {
		printWireRow(w, x, sources)
		for _, l := range over[x] {
			printAlso(w, fmt.Sprintf("%s; no size of wire helps: better joints, or a feed of its own", l.What), l.State)
		}
		for _, l := range x.OverRated() {
			printAlso(w, l.What, l.State)
		}
		if barrel := x.Barrel(); barrel != nil {
			printAlso(w, fmt.Sprintf("%s would do, and %s", x.Decides.Least, barrel.What), "")
		}
		printCranking(w, r, x)
	}
	fmt.Fprintln(w)
	if err := w.Flush(); err != nil {
		return err
	}
	printFuses(w, r, sources)
	printMissing(w, r)
	printSizeFooter(w, r, sources)
	return w.Flush()
}

// printAlso adds a line below a wire, in the column that says what decided.
func printAlso(w io.Writer, text, state string) {
	fmt.Fprintf(w, "\t\t\t\t\t\talso: %s\t%s\t\n", text, state)
}

// printCranking says what a cable loses while a starter turns.
func printCranking(w io.Writer, r *sizing.Report, x *sizing.Wire) {
	for _, s := range r.Starting {
		for _, c := range s.Cables {
			if c.Wire == x.Wire {
				printAlso(w, fmt.Sprintf("%s of the %s that %s loses around its loop at %s; wanted %s, limit %s", c.Volts, s.Loop, s.Part.Name.Text, s.Amps, s.Target, s.Limit), s.State)
			}
		}
	}
}

// tallySizes counts the verdicts.
func tallySizes(r *sizing.Report) string {
	count := map[sizing.Verdict]int{}
	for _, x := range r.Wires {
		count[x.Verdict]++
	}
	var parts []string
	for _, v := range []sizing.Verdict{sizing.TooThin, sizing.Misfit, sizing.NoSize, sizing.Unknown, sizing.Generous, sizing.Fits} {
		if count[v] > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", count[v], v))
		}
	}
	return strings.Join(parts, ", ")
}

func printWireRow(w io.Writer, x *sizing.Wire, sources *sourceNotes) {
	if x.Decides == nil {
		fmt.Fprintf(w, "%s\t%s\t-\t%s\t\t\t\t\t\n", x.Wire.Name.Text, orDash(x.Wire.Size.String()), x.Verdict)
		return
	}
	least := orDash(x.Least.String())
	if byAmbient := x.Decides.Rule == sizing.Ampacity || x.Decides.Rule == sizing.Fused; x.Least.IsSet() && (x.Guess || byAmbient && !x.AmbientKnown) {
		least += "~"
	}
	written := orDash(x.Wire.Size.String())
	if m := x.Wire.Metal.Text; m != "" && m != "copper" {
		written += " " + m
	}
	fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s: %s\t%s\t%s\n", x.Wire.Name.Text, written, least, x.Verdict,
		withMark(x.Peak, x.Guess), withMark(x.Continue, x.Guess), x.Decides.Rule, x.Decides.What, orDash(x.Decides.State), sources.of(sourceLine(x.Decides.Source, x.Decides.Verified)))
}

func sourceLine(title string, verified bool) string {
	if verified {
		return title
	}
	return title + " (not read in the original: confirm it)"
}

func orDash(text string) string {
	if text == "" {
		return "-"
	}
	return text
}

// withMark writes a current, with the mark of numbers that rest on a guess.
func withMark(a unit.Ampere, guess bool) string {
	if guess && a != 0 {
		return a.String() + "~"
	}
	return a.String()
}

func printFuses(w io.Writer, r *sizing.Report, sources *sourceNotes) {
	if len(r.Fuses) == 0 {
		return
	}
	fmt.Fprintln(w, "FUSES")
	fmt.Fprintln(w)
	fmt.Fprintln(w, "fuse\twritten\tloads need\twires bear\tlimited by\tstandard ratings\tverdict\ttake\tloads\tstate\tsource")
	for _, f := range r.Fuses {
		most, by := "-", "-"
		if f.LimitedBy != nil {
			most, by = f.Most.String(), f.LimitedBy.Name.Text+" "+f.LimitedBy.Size.String()
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", f.Part.Name.Text, f.Rating, withMark(f.Least, f.Guess), most, by, ratingsOf(f), f.Verdict, taken(f), f.Why, orDash(f.State), sources.of(sourceLine(f.Source, false)))
	}
	fmt.Fprintln(w)
}

// ratingsOf writes the first and the last standard rating inside the span.
func ratingsOf(f *sizing.Fuse) string {
	switch n := len(f.Fitting); {
	case n == 0:
		return "none"
	case n == 1:
		return f.Fitting[0].String()
	default:
		return fmt.Sprintf("%s to %s", strings.TrimSuffix(f.Fitting[0].String(), " A"), f.Fitting[n-1])
	}
}

func taken(f *sizing.Fuse) string {
	if f.Choice == 0 || f.Choice == f.Rating {
		return "-"
	}
	return f.Choice.String()
}

func printMissing(w io.Writer, r *sizing.Report) {
	if len(r.Missing) == 0 && len(r.Unsettled) == 0 {
		return
	}
	fmt.Fprintln(w, "MISSING: left out of the calculation, with all that depends on it")
	for _, m := range r.Missing {
		fmt.Fprintf(w, "  %s\n", missingLine(m))
	}
	for _, s := range r.Unsettled {
		fmt.Fprintf(w, "  state %s does not come to rest; its currents are not used\n", s)
	}
	fmt.Fprintln(w)
}

func missingLine(m circuit.Missing) string {
	return fmt.Sprintf("%s: %s has no %s: add %s", lineOf(m.At.Span), m.Ref, m.What, m.Add)
}

// lineOf writes where a span begins: "lights.toml:12".
func lineOf(s source.Span) string {
	if s.IsZero() {
		return "-"
	}
	return fmt.Sprintf("%s:%d", s.File.Name, s.Begin().Line)
}

func printSizeFooter(w io.Writer, r *sizing.Report, sources *sourceNotes) {
	for i, s := range sources.list {
		fmt.Fprintf(w, "[%d] %s\n", i+1, s)
	}
	fmt.Fprintln(w, "~ rests on a number that is guessed in the file or assumed because the file has none, the ambient temperature among them.")
	fmt.Fprintln(w, "Drops: a budget less what contacts and fuses lose is shared by length of wire; a wire may also use what the others leave.")
	fmt.Fprintln(w, "Terminals: sizes are held to their crimp range where the file states it with [terminal]. Check the others before a size is changed.")
	fmt.Fprintln(w, "Computed values are aids; local codes and licensed practice govern. Never raise a fuse without checking every wire behind it.")
}

// printChanges writes what was put into the files.
func printChanges(out io.Writer, format string, rev *sizing.Revision) error {
	switch format {
	case "json":
		return printSizesJSON(out, struct {
			Version int                  `json:"version"`
			Changes []sizing.PlainChange `json:"changes"`
		}{1, rev.Plain()})
	case "csv":
		w := csv.NewWriter(out)
		rows := [][]string{{"name", "key", "from", "to", "because"}}
		for _, c := range rev.Changes {
			rows = append(rows, []string{c.Name, c.Key, c.From, c.To, c.Why})
		}
		return w.WriteAll(rows)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, c := range rev.Changes {
		fmt.Fprintf(w, "%s\t%s\t%s\t->\t%s\t%s\n", c.Name, c.Key, orDash(c.From), c.To, c.Why)
	}
	return w.Flush()
}
