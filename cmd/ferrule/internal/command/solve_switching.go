package command

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/unit"
)

// What the text shows of contacts and outputs.
const (
	contactRows = 5
	outputRows  = 5
)

// leadLines say what generators lose on the way to the battery.
func leadLines(c *circuit.Circuit, r *circuit.Report) []string {
	var lines []string
	for i := range r.Leads {
		l := &r.Leads[i]
		lines = append(lines, fmt.Sprintf("%s to the battery: %s at the full %s; target %.2f V, limit %.2f V: %s", c.Netlist.Pin(l.From), volts(l.Volts, true), amps(l.Amps, false), l.Target, l.Limit, l.Verdict))
	}
	return lines
}

func (inv *invocation) printContacts(c *circuit.Circuit, r *circuit.Report) {
	contacts := slices.Clone(r.Contacts)
	slices.SortStableFunc(contacts, func(a, b circuit.ContactReport) int {
		return cmp.Or(cmp.Compare(b.Share(), a.Share()), cmp.Compare(b.RMS, a.RMS))
	})
	t := &table{columns: []string{"  contact", "", "amps", "warming", "rating", "share", "resists", ""}}
	for i := range contacts[:min(contactRows, len(contacts))] {
		k := &contacts[i]
		row := []string{"  " + c.Netlist.Pin(k.Terminal).String(), clipped(k.Part.Title.Text, 36), amps(k.Amps, false), amps(k.RMS, false), "not stated", "", unit.Ohm(k.Ohms).String() + mark(k.Estimated), ""}
		if k.Rating > 0 {
			row[4], row[5] = amps(k.Rating, false), percent(k.Share())
		}
		if k.Over() {
			row[7] = "above rating"
		}
		t.add(row...)
	}
	inv.printPart(t, len(contacts)-contactRows)
}

func (inv *invocation) printOutputs(r *circuit.Report) {
	outputs := slices.Clone(r.Outputs)
	share := func(o *circuit.OutputReport) float64 {
		if o.Limit <= 0 {
			return 0
		}
		return o.Amps / o.Limit
	}
	slices.SortStableFunc(outputs, func(a, b circuit.OutputReport) int {
		return cmp.Or(cmp.Compare(share(&b), share(&a)), cmp.Compare(b.Amps, a.Amps))
	})
	t := &table{columns: []string{"  output", "", "joins to", "amps", "limit", "share", "loses", "when it switches the coil off"}}
	for i := range outputs[:min(outputRows, len(outputs))] {
		o := &outputs[i]
		row := []string{"  " + o.Pin.String(), clipped(o.Pin.Does.Text, 36), sideOf(o), amps(o.Amps, false), "not stated", "", volts(o.Volts, o.Estimated), kickOf(o)}
		if o.Limit > 0 {
			row[4], row[5] = amps(o.Limit, false), percent(share(o))
		}
		if o.Over() {
			row[7] = strings.TrimPrefix(row[7]+"; above limit", "; ")
		}
		t.add(row...)
	}
	inv.printPart(t, len(outputs)-outputRows)
}

func sideOf(o *circuit.OutputReport) string {
	if o.Pulls {
		return "ground"
	}
	return "supply"
}

// kickOf says what becomes of the kick of a coil.
func kickOf(o *circuit.OutputReport) string {
	switch {
	case o.Coil == "":
		return ""
	case o.Clamp == "":
		return o.Coil + ": no clamp is stated"
	}
	return o.Coil + ": " + o.Clamp
}

// printGrounds holds the ground cables of the batteries against what they carry back. They are the same in all states.
func (inv *invocation) printGrounds(c *circuit.Circuit) {
	for _, g := range c.GroundCables() {
		var names []string
		for _, w := range g.Cables {
			names = append(names, w.Name.Text)
		}
		line := fmt.Sprintf("Ground of %s: %s, %s together", g.Battery.Name.Text, joined(names), amps(g.Carries, false))
		if thin := g.Thin(); thin != "" {
			line += ": " + thin
		} else if g.Fuse != nil {
			line += fmt.Sprintf(": enough for the largest fuse, %s %s", g.Fuse.Name.Text, amps(g.Rating, false))
		}
		fmt.Fprintln(inv.out, line)
	}
}

type contactObject struct {
	Ref      string   `json:"ref"`
	Title    string   `json:"title"`
	Terminal string   `json:"terminal"`
	Amps     *float64 `json:"amps"`
	MeanAmps *float64 `json:"mean_amps"`
	RMSAmps  *float64 `json:"rms_amps"`
	Rating   *float64 `json:"rating_amps"`
	Share    *float64 `json:"rating_share"`
	Ohms     *float64 `json:"contact_ohms"`
	Assumed  bool     `json:"contact_ohms_assumed"`
	Verdict  string   `json:"verdict"`
}

type outputObject struct {
	Terminal  string   `json:"terminal"`
	Does      string   `json:"does"`
	JoinsTo   string   `json:"joins_to"`
	Amps      *float64 `json:"amps"`
	MeanAmps  *float64 `json:"mean_amps"`
	LimitAmps *float64 `json:"limit_amps"`
	DropVolts *float64 `json:"drop_volts"`
	Assumed   bool     `json:"resistance_assumed"`
	Coil      string   `json:"coil,omitempty"`
	Clamp     string   `json:"clamp,omitempty"`
	Verdict   string   `json:"verdict"`
}

type leadObject struct {
	Ref     string   `json:"ref"`
	From    string   `json:"from"`
	Return  bool     `json:"return"`
	Amps    *float64 `json:"amps"`
	Volts   *float64 `json:"drop_volts"`
	Target  *float64 `json:"target_volts"`
	Limit   *float64 `json:"limit_volts"`
	Verdict string   `json:"verdict"`
}

type groundObject struct {
	Battery string   `json:"battery"`
	Cables  []string `json:"cables"`
	Carries *float64 `json:"carries_amps"`
	Area    *float64 `json:"area_mm2"`
	Fuse    string   `json:"largest_fuse,omitempty"`
	Rating  *float64 `json:"largest_fuse_amps"`
	Feed    string   `json:"thickest_feed,omitempty"`
	FeedMM2 *float64 `json:"thickest_feed_mm2"`
	Verdict string   `json:"verdict"`
}

// The words for what has a limit. A limit that the file does not state is not known to be kept.
func limitVerdict(limit float64, over bool, within, above string) string {
	switch {
	case over:
		return above
	case limit > 0:
		return within
	}
	return "not known"
}

func contactVerdict(k *circuit.ContactReport) string {
	return limitVerdict(k.Rating, k.Over(), "within rating", "above rating")
}

func outputVerdict(o *circuit.OutputReport) string {
	return limitVerdict(o.Limit, o.Over(), "within limit", "above limit")
}

func contactObjects(c *circuit.Circuit, r *circuit.Report) []*contactObject {
	out := []*contactObject{}
	for i := range r.Contacts {
		k := &r.Contacts[i]
		o := &contactObject{k.Part.Name.Text, k.Part.Title.Text, c.Netlist.Pin(k.Terminal).String(), number(tidy(k.Amps)), number(tidy(k.Mean)), number(tidy(k.RMS)), stated(k.Rating), nil, number(k.Ohms), k.Estimated, contactVerdict(k)}
		if k.Rating > 0 {
			o.Share = number(tidy(k.Share()))
		}
		out = append(out, o)
	}
	return out
}

func outputObjects(r *circuit.Report) []*outputObject {
	out := []*outputObject{}
	for i := range r.Outputs {
		o := &r.Outputs[i]
		out = append(out, &outputObject{o.Pin.String(), o.Pin.Does.Text, sideOf(o), number(tidy(o.Amps)), number(tidy(o.Mean)), stated(o.Limit), number(tidy(o.Volts)), o.Estimated, o.Coil, o.Clamp, outputVerdict(o)})
	}
	return out
}

func leadObjects(c *circuit.Circuit, r *circuit.Report) []*leadObject {
	out := []*leadObject{}
	for i := range r.Leads {
		l := &r.Leads[i]
		out = append(out, &leadObject{l.Part.Name.Text, c.Netlist.Pin(l.From).String(), l.Return, number(l.Amps), number(tidy(l.Volts)), number(l.Target), number(l.Limit), l.Verdict.String()})
	}
	return out
}

func groundObjects(c *circuit.Circuit) []*groundObject {
	out := []*groundObject{}
	for _, g := range c.GroundCables() {
		o := &groundObject{Battery: g.Battery.Name.Text, Cables: []string{}, Carries: number(g.Carries), Area: number(g.Area), Rating: stated(g.Rating), FeedMM2: stated(g.FeedArea), Verdict: g.Thin()}
		for _, w := range g.Cables {
			o.Cables = append(o.Cables, w.Name.Text)
		}
		if g.Fuse != nil {
			o.Fuse = g.Fuse.Name.Text
		}
		if g.Feed != nil {
			o.Feed = g.Feed.Name.Text
		}
		if o.Verdict == "" {
			o.Verdict = "enough"
		}
		out = append(out, o)
	}
	return out
}

// solvedAssumed is a number that stands in for one that the file lacks, and how often it does.
type solvedAssumed struct {
	Ref   string `json:"ref,omitempty"`
	What  string `json:"what"`
	Taken string `json:"taken"`
	Count int    `json:"count"`
}

func assumedObjects(c *circuit.Circuit) []solvedAssumed {
	out := []solvedAssumed{}
	for _, a := range c.Assumptions {
		out = append(out, solvedAssumed{a.Part.Name.Text, a.What, a.Taken, 1})
	}
	for _, e := range c.Estimates {
		out = append(out, solvedAssumed{"", e.What, e.Taken, e.Count})
	}
	return out
}

func (inv *invocation) printAssumed(c *circuit.Circuit) {
	for _, a := range assumedObjects(c) {
		if a.Ref != "" {
			fmt.Fprintf(inv.out, "assumed: %s of %s: %s~\n", a.What, a.Ref, a.Taken)
			continue
		}
		fmt.Fprintf(inv.out, "assumed: %s: %s~, %s\n", a.What, a.Taken, countOf(a.Count, "time"))
	}
}
