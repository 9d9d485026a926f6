package built

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An Older is a made piece that the netlist has otherwise by now.
type Older struct {
	Record      *Record
	Wire        *model.Wire
	Differences []Difference // never empty: size, colour, ends, length
}

// A Difference is one thing in which a piece and the netlist disagree.
type Difference struct {
	What       string // "size", "color", "from", "to", "ends" or "length"
	Built, Now string
	Do         string // what makes the piece agree
}

// shorterBy is how much shorter than the netlist asks for a piece has to be to count: below that it is the rounding of a cut
// list and the hand of whoever cuts (common practice). A piece that is too long is no reason to touch it.
const shorterBy unit.Metre = 0.010

// asks reports whether somebody has to say what the piece is before it can move on. A piece that is too short is no other piece:
// it stays as long as it is.
func (o *Older) asks() bool {
	return o != nil && slices.ContainsFunc(o.Differences, func(d Difference) bool { return d.What != "length" })
}

// Older returns the made pieces that the netlist has otherwise by now, in natural order.
func (s *Status) Older() []Older {
	var list []Older
	for _, r := range s.Records {
		if o := s.older(r); o != nil {
			list = append(list, *o)
		}
	}
	slices.SortFunc(list, func(a, b Older) int { return model.CompareNatural(a.Record.Name.Text, b.Record.Name.Text) })
	return list
}

// older compares one line with the netlist; nil when they agree or there is nothing to compare.
func (s *Status) older(r *Record) *Older {
	w := s.Harness.Netlist.Wire(r.Name.Text)
	if w == nil || r.Stage == Planned {
		return nil
	}
	if d := differences(r.Made, s.Harness.Of(w)); len(d) > 0 {
		return &Older{r, w, d}
	}
	return nil
}

// differences compares what both of them state.
func differences(was, now Made) []Difference {
	var list []Difference
	if was.Size.IsSet() && now.Size.IsSet() && was.Size.String() != now.Size.String() {
		list = append(list, Difference{"size", was.Size.String(), now.Size.String(), "make it anew of " + now.Size.String()})
	}
	if was.Color != "" && now.Color != "" && !strings.EqualFold(was.Color, now.Color) {
		list = append(list, Difference{"color", was.Color, now.Color, "make it anew in " + now.Color + ", or write the colour that it has into the netlist"})
	}
	list = append(list, movedEnds(was, now)...)
	if was.Length > 0 && now.Length > was.Length+shorterBy {
		list = append(list, Difference{"length", metres(was.Length), metres(now.Length), "it is " + metres(rounded(now.Length-was.Length)) + " too short: make it anew, or lengthen it at a splice of the netlist"})
	}
	return list
}

// movedEnds compares the ends. Which of them is called from is no property of a piece of wire.
func movedEnds(was, now Made) []Difference {
	if was.From == "" || was.To == "" || now.From == "" || now.To == "" {
		return nil
	}
	end := func(what, from, to string) []Difference {
		return []Difference{{what, from, to, fmt.Sprintf("move its end at %s to %s, and label it anew", from, to)}}
	}
	switch {
	case was.From == now.From && was.To == now.To || was.From == now.To && was.To == now.From:
		return nil
	case was.From == now.From:
		return end("to", was.To, now.To)
	case was.To == now.To:
		return end("from", was.From, now.From)
	case was.From == now.To:
		return end("to", was.To, now.From)
	case was.To == now.From:
		return end("from", was.From, now.To)
	}
	ends := now.From + " - " + now.To
	return []Difference{{"ends", was.From + " - " + was.To, ends, "move both ends to " + ends + ", and label it anew"}}
}

// Says is the whole of it in one sentence: "60c is on the car since revision A as 12 AWG OG/BK X2:9 - M1:1, 3 m; the netlist
// now says 10 AWG".
func (o *Older) Says() string {
	now := make([]string, len(o.Differences))
	for i, d := range o.Differences {
		now[i] = d.Now
	}
	return o.Record.Says() + "; the netlist now says " + strings.Join(now, ", ")
}

// Do is what makes the piece agree with the netlist. A piece that has to be made anew anyway needs nothing else.
func (o *Older) Do() string {
	for _, d := range o.Differences {
		if d.What == "size" {
			return d.Do
		}
	}
	var all []string
	for _, d := range o.Differences {
		all = append(all, d.Do)
	}
	return strings.Join(all, "; ")
}

// Says tells where a piece is and what it is: "60c is on the car since revision A as 12 AWG OG/BK X2:9 - M1:1, 3 m".
func (r *Record) Says() string {
	text := r.Name.Text + " "
	switch r.Stage {
	case Planned:
		return text + "is planned"
	case Installed:
		text += "is on the car since revision " + r.Revision.Text
	case Tested:
		text += "is on the car, tested at revision " + r.Revision.Text + ","
	default:
		text += "was " + r.Stage.String() + " at revision " + r.Revision.Text
	}
	if made := r.Made.String(); made != "" {
		text = strings.TrimSuffix(text, ",") + " as " + made
	}
	return strings.TrimSuffix(text, ",")
}

// String writes what a piece is: "12 AWG OG/BK X2:9 - M1:1, 3 m".
func (m Made) String() string {
	var parts []string
	for _, p := range []string{m.Size.String(), m.Color} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if m.From != "" || m.To != "" {
		parts = append(parts, m.From+" - "+m.To)
	}
	text := strings.Join(parts, " ")
	if m.Length > 0 {
		text = strings.TrimPrefix(text+", "+metres(m.Length), ", ")
	}
	return text
}

// rounded is a length in whole millimetres, which is what a cut list can say.
func rounded(m unit.Metre) unit.Metre { return unit.Metre(math.Round(float64(m)*1000) / 1000) }

// metres writes a length as the file does: "3 m", "0.245 m".
func metres(m unit.Metre) string {
	return strconv.FormatFloat(float64(rounded(m)), 'f', -1, 64) + " m"
}
