package command

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"ferrule/netlist/circuit/study"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

var faultsCommand = &command{
	name: "faults", takes: "FILE", least: 1, most: 1,
	title: "what a dead short to ground does at the end of every wire",
	doc: `Works out, for a dead short at the far end of each wire, the current with a weak battery and hot wires, the fuse or breaker
that has to clear it, the shortest and longest time that its standard allows, what it lets through against what the
insulation of the wires survives, and whether the device upstream stays whole. Worst first. A number with ~ rests on a
guess, an assumption or a bound. A wire between the battery and the first fuse is unprotected when it is longer than the
rule unfused-feed allows; the cable of a starter is exempt.

Exit code: 0 done, 1 done and a fed wire is unprotected or its short is not cleared, 2 unusable input.`,
	flags:   []*option{flagStudyFormat},
	example: []string{"ferrule faults truck.toml", "ferrule faults truck.toml --format csv"},
}

func init() { faultsCommand.run = runFaults }

// faultRows is how many shorts the text shows that are in order; those that are not are all shown.
const faultRows = 12

// studied reads a harness and makes it ready for studies. A text that could not be read in full is refused: what is missing would
// show as a fault of the wiring.
func (inv *invocation) studied() (*harness, *study.Study, error) {
	h, err := inv.load(inv.files[0])
	if err != nil {
		return nil, nil, err
	}
	h.nameAsGiven()
	if h.unruled {
		return nil, nil, &inputError{h.name + ": part of the text cannot be read, so nothing can be said of its circuits", "run `ferrule check " + h.name + "` and repair the text first"}
	}
	inv.tellRefused(h)
	return h, study.New(h.graph, route.New(h.netlist)), nil
}

func runFaults(inv *invocation) (int, error) {
	h, s, err := inv.studied()
	if err != nil {
		return exitUnusable, err
	}
	shorts, err := s.Faults()
	if err != nil {
		return exitUnusable, fmt.Errorf("%s: %w", h.name, err)
	}
	t := &table{columns: []string{"verdict", "wire", "size", "far end", "state", "short", "device", "ratio", "opens in", "I2t passed", "wire bears", "upstream", "selective"}}
	shown, hidden := map[study.Verdict]int{}, 0
	text := inv.value(flagStudyFormat) == "text"
	for i := range shorts {
		f := &shorts[i]
		shown[f.Verdict]++
		if text && (f.Verdict > study.Cleared || f.Verdict == study.Cleared && shown[f.Verdict] > faultRows) {
			hidden++
			continue
		}
		t.add(faultRow(h, f)...)
		for _, row := range feedRows(f) {
			t.add(row...)
		}
	}
	code := codeOfCount(shown[study.Unprotected] + shown[study.NotCleared])
	if !text {
		return code, inv.printData(faultTable(h, shorts), faultObjects(h, shorts), s)
	}
	inv.printHead("A dead short to ground at the far end of every wire: weak battery, hot wires, worst first.")
	t.print(inv.out)
	if hidden > 0 {
		fmt.Fprintf(inv.out, "and %d more: %d in order in all, %d limited by a consumer or coil, %d ground conductors, %d without feed (--format json or csv lists them)\n",
			hidden, shown[study.Cleared], shown[study.Limited], shown[study.Grounded], shown[study.NoFeed])
	}
	fmt.Fprintf(inv.out, "\nwanted: short at least %.1f times the rating; slow below %.1f, not cleared below %.1f or when the wire bears less than is passed (job practice)\n", study.WantRatio, study.WarnRatio, study.BadRatio)
	if len(h.netlist.Bodies) == 0 {
		fmt.Fprintln(inv.out, "the file has no body: a wire is shorted to the return of the load behind it, at the load's terminal")
	}
	inv.printFoot(s)
	return code, nil
}

// codeOfCount is the exit code for a number of things found.
func codeOfCount(n int) int {
	if n > 0 {
		return exitFindings
	}
	return exitClean
}

func faultRow(h *harness, f *study.Short) []string {
	row := []string{f.Verdict.String(), f.Wire.Name.Text, f.Wire.Size.String(), h.netlist.Pin(f.Far).String(), f.State}
	switch {
	case f.Ohms == 0 && f.Amps == 0:
		return append(row, "", f.Because)
	case f.Ohms == 0:
		return append(row, amps(f.Amps, f.Assumed), f.Because)
	}
	row = append(row, amps(f.Amps, f.Assumed))
	switch {
	case f.Device == nil && f.Because != "":
		return append(row, "none: "+f.Because)
	case f.Device == nil || f.Ratio == 0:
		return append(row, "none")
	}
	row = append(row, f.Device.Name.Text+" "+ratingText(f), fmt.Sprintf("%.1f", f.Ratio), band(f.Fastest, f.Slowest), energy(f.LetThrough)+mark(f.Bounded), energy(f.Withstand))
	if f.Upstream == nil {
		return append(row, "none", "")
	}
	return append(row, f.Upstream.Name.Text, yesNo(f.Selective))
}

func ratingText(f *study.Short) string { return unit.Ampere(ratingAmps(f)).String() }

// feedRows are the shares of the devices that feed one short together, one row each.
func feedRows(f *study.Short) [][]string {
	var rows [][]string
	for i := range f.Feeds {
		d := &f.Feeds[i]
		words := "of it over"
		if d.Alone {
			words = "alone over"
		}
		rating := ""
		if v := d.Device.Value("rating"); v != nil {
			rating = " " + unit.Ampere(v.Quantity.Value).String()
		}
		rows = append(rows, []string{"", "", "", words, f.FedIn, amps(d.Amps, f.Assumed), d.Device.Name.Text + rating, fmt.Sprintf("%.1f", d.Ratio), band(d.Fastest, d.Slowest), energy(d.LetThrough) + mark(d.Bounded)})
	}
	return rows
}

// ratingAmps is the rating of the device of a short; 0 where none is stated.
func ratingAmps(f *study.Short) float64 {
	if v := f.Device.Value("rating"); v != nil {
		return v.Quantity.Value
	}
	return 0
}

// band writes the fastest and the slowest time of a device.
func band(fastest, slowest float64) string { return seconds(fastest) + " to " + seconds(slowest) }

func seconds(s float64) string {
	switch {
	case math.IsInf(s, 1):
		return "never"
	case s < 0.1:
		return unit.Format(s*1000) + " ms"
	}
	return unit.Format(s) + " s"
}

func energy(a2s float64) string {
	if math.IsInf(a2s, 1) {
		return "no end"
	}
	return fmt.Sprintf("%.3g A2s", a2s)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// faultTable is what other programs read: plain numbers, with their units in the names of the columns. A time or an energy without
// end is an empty cell.
func faultTable(h *harness, shorts []study.Short) *table {
	t := &table{columns: []string{"verdict", "wire", "size", "far_end", "state", "because", "short_amps", "loop_ohms", "device", "rating_amps", "ratio", "fastest_seconds", "slowest_seconds",
		"let_through_a2s", "let_through_bounded", "withstand_a2s", "weakest_wire", "upstream", "selective", "selective_at_amps", "assumed", "shorted_to", "feeds"}}
	for i, o := range faultObjects(h, shorts) {
		selective := ""
		if o.Selective != nil {
			selective = yesNo(*o.Selective)
		}
		t.add(o.Verdict, o.Wire, o.Size, o.FarEnd, o.State, o.Because, cell(o.Amps), cell(o.Ohms), o.Device, cell(o.Rating), cell(o.Ratio), cell(o.Fastest), cell(o.Slowest),
			cell(o.LetThrough), yesNo(shorts[i].Bounded), cell(o.Withstand), o.Weakest, o.Upstream, selective, cell(o.SelectiveAt), yesNo(o.Assumed), o.ShortedTo, feedsCell(o.Feeds))
	}
	return t
}

// feedsCell writes the shares of several devices into one cell: "F1 812 A; F2 640 A".
func feedsCell(feeds []feedObject) string {
	var words []string
	for _, f := range feeds {
		words = append(words, f.Device+" "+cell(f.Amps)+" A")
	}
	return strings.Join(words, "; ")
}

// cell writes a number of JSON for CSV; one that there is not is empty.
func cell(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

// A faultObject is a short as other programs read it. A number that there is not is null.
type faultObject struct {
	Wire        string   `json:"wire"`
	Verdict     string   `json:"verdict"`
	FarEnd      string   `json:"far_end"`
	State       string   `json:"state,omitempty"`
	Because     string   `json:"because,omitempty"`
	Amps        *float64 `json:"amps"`
	Ohms        *float64 `json:"ohms"`
	Device      string   `json:"device,omitempty"`
	Rating      *float64 `json:"rating_amps"`
	Ratio       *float64 `json:"ratio"`
	Fastest     *float64 `json:"fastest_seconds"`
	Slowest     *float64 `json:"slowest_seconds"`
	LetThrough  *float64 `json:"let_through_a2s"`
	Bounded     bool     `json:"let_through_bounded"`
	Withstand   *float64 `json:"withstand_a2s"`
	Weakest     string   `json:"weakest_wire,omitempty"`
	Upstream    string   `json:"upstream,omitempty"`
	Selective   *bool    `json:"selective"`
	SelectiveAt *float64 `json:"selective_at_amps"`
	Source      string   `json:"source,omitempty"`
	Assumed     bool     `json:"assumed"`
	Size        string   `json:"size,omitempty"`
	ShortedTo   string   `json:"shorted_to,omitempty"`

	Feeds []feedObject `json:"feeds,omitempty"`
	FedIn string       `json:"feeds_in_state,omitempty"`
}

// A feedObject is the share of one of several devices that feed a short together.
type feedObject struct {
	Device     string   `json:"device"`
	Amps       *float64 `json:"amps"`
	Alone      bool     `json:"others_open"` // amps flow after the other devices have opened
	Ratio      *float64 `json:"ratio"`
	Fastest    *float64 `json:"fastest_seconds"`
	Slowest    *float64 `json:"slowest_seconds"`
	LetThrough *float64 `json:"let_through_a2s"`
}

func faultObjects(h *harness, shorts []study.Short) []faultObject {
	out := make([]faultObject, 0, len(shorts))
	for i := range shorts {
		f := &shorts[i]
		o := faultObject{Wire: f.Wire.Name.Text, Verdict: f.Verdict.String(), FarEnd: h.netlist.Pin(f.Far).String(), State: f.State, Because: f.Because,
			Bounded: f.Bounded, Source: f.Source, Assumed: f.Assumed, Size: f.Wire.Size.String()}
		if f.Amps > 0 {
			o.Amps = number(f.Amps)
		}
		if f.Ohms > 0 {
			o.Ohms = number(f.Ohms)
		}
		if f.Device != nil {
			o.Device = f.Device.Name.Text
		}
		if f.Device != nil && f.Ratio > 0 {
			o.Rating, o.Ratio, o.Fastest, o.Slowest = number(ratingAmps(f)), number(f.Ratio), number(f.Fastest), number(f.Slowest)
			o.LetThrough = number(f.LetThrough)
		}
		if f.Weakest != nil {
			o.Weakest, o.Withstand = f.Weakest.Name.Text, number(f.Withstand)
		}
		if f.Upstream != nil {
			o.Upstream, o.Selective, o.SelectiveAt = f.Upstream.Name.Text, &f.Selective, number(f.SelectiveAmps)
		}
		if f.To != model.NoPin && f.Amps > 0 {
			o.ShortedTo = h.netlist.Pin(f.To).String()
		}
		o.FedIn = f.FedIn
		for _, d := range f.Feeds {
			o.Feeds = append(o.Feeds, feedObject{d.Device.Name.Text, number(d.Amps), d.Alone, number(d.Ratio), number(d.Fastest), number(d.Slowest), number(d.LetThrough)})
		}
		out = append(out, o)
	}
	return out
}
