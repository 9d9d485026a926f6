package list

import (
	"math"
	"strconv"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/prove"
	"ferrule/render/sheet"
)

var _ = register(&List{
	Name: "first-power", Title: "First power", Order: 430, Sheet: "first-power",
	Doc: "every fuse in the order in which they go in, once for each setting of the switches in which it is measured, with amperes, volts and the reading at which to stop",
	Columns: []Column{
		number("step"), text("fuse"), text("title"), number("rating_A"), text("behind"), text("source_at"), text("switches"), text("jumpers"), number("fuse_A"), number("source_A"),
		number("source_before_A"), text("guessed"), number("stop_A"), text("beyond_source"), text("output"), number("output_V"), text("live_V"), text("works"),
		text("look"), number("read_A"), number("read_V"),
	},
	Rows: powerRows,
})

func powerRows(s *sheet.Set) [][]string {
	var rows [][]string
	p := s.Proofs().Power()
	for i := range p.Steps {
		step := &p.Steps[i]
		for n := range step.Readings {
			rows = append(rows, powerRow(s, step, &step.Readings[n]))
		}
	}
	return rows
}

func powerRow(s *sheet.Set, step *prove.Step, r *prove.Reading) []string {
	var live, look []string
	for _, v := range r.Live {
		live = append(live, s.Netlist.Pin(v.Pin).String()+" "+strconv.FormatFloat(v.Volts, 'f', 2, 64))
	}
	for _, x := range step.Look {
		if x.Wire != nil {
			look = append(look, x.Wire.Name.Text)
		} else {
			look = append(look, s.Netlist.Pin(x.Pin).String())
		}
	}
	output := ""
	if !math.IsNaN(r.Volts) {
		output = strconv.FormatFloat(r.Volts, 'f', 2, 64)
	}
	return []string{
		strconv.Itoa(step.Number), step.Fuse.Name.Text, step.Fuse.Title.Text, fixed(step.Rating, 1), parts(step.Ahead), sourceAt(s, step), switches(&r.Setup), pins(s, r.Setup.Jumpers),
		strconv.FormatFloat(r.Amps, 'f', 3, 64), strconv.FormatFloat(r.Supply, 'f', 3, 64), strconv.FormatFloat(r.Before, 'f', 3, 64), yes(r.Marked),
		strconv.FormatFloat(r.Stop(), 'f', 2, 64), yes(r.Beyond()), s.Netlist.Pin(step.Output).String(), output, strings.Join(live, ", "),
		strings.Join(r.Works, ", "), strings.Join(look, " "), "", "",
	}
}

// sourceAt is where the source stands in for batteries.
func sourceAt(s *sheet.Set, step *prove.Step) string {
	banks := s.Proofs().Power().Banks
	if step.Bank >= len(banks) {
		return ""
	}
	return s.Netlist.Pin(banks[step.Bank].Live).String() + " " + s.Netlist.Pin(banks[step.Bank].Grounded).String()
}

func switches(setup *prove.Setup) string {
	var words []string
	for _, w := range setup.Switches {
		words = append(words, w.Part.Name.Text+" "+w.PositionName.Text)
	}
	return strings.Join(words, ", ")
}

func parts(list []*model.Part) string {
	names := make([]string, len(list))
	for i, p := range list {
		names[i] = p.Name.Text
	}
	return strings.Join(names, " ")
}

var _ = register(&List{
	Name: "empty-plugs", Title: "Empty plugs", Order: 440, Sheet: "first-power",
	Doc:     "every cavity of an unplugged device in every key position, with all fuses in, and the volts to expect",
	Columns: []Column{text("terminal"), text("part"), text("function"), text("switches"), text("jumpers"), text("floats"), number("expected_V"), number("read_V")},
	Rows:    plugRows,
})

func plugRows(s *sheet.Set) [][]string {
	var rows [][]string
	p := s.Proofs().Power()
	for _, plug := range p.Plugs {
		for i, id := range plug.Pins {
			for n, v := range plug.Rows[i] {
				volts := ""
				if !math.IsNaN(v) {
					volts = strconv.FormatFloat(v, 'f', 2, 64)
				}
				rows = append(rows, []string{s.Netlist.Pin(id).String(), plug.Part.Name.Text, s.Function(id), switches(&p.Columns[n]), pins(s, p.Columns[n].Jumpers),
					yes(math.IsNaN(v)), volts, ""})
			}
		}
	}
	return rows
}

var _ = register(&List{
	Name: "drop-tests", Title: "Drop tests", Order: 450, Sheet: "commission",
	Doc: "every consumer with a drop budget in the state that uses most of it: where the meter goes, the millivolts to expect and the limit, out, back and together",
	Columns: []Column{
		text("consumer"), text("title"), text("state"), number("load_A"), text("guessed"), text("from"), text("to"), text("way"), number("expected_mV"), number("limit_mV"),
		text("above_limit"), number("read_mV"),
	},
	Rows: dropRows,
})

func dropRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, d := range s.Proofs().Commission().Drops {
		state := ""
		if d.State != nil {
			state = d.State.Name.Text
		}
		add := func(from, to model.PinID, way string, volts, limit float64) {
			names := [2]string{}
			for i, id := range [...]model.PinID{from, to} {
				if id != model.NoPin {
					names[i] = s.Netlist.Pin(id).String()
				}
			}
			rows = append(rows, []string{d.Load.Ref, d.Load.Title, state, strconv.FormatFloat(math.Abs(d.Load.Amps), 'f', 3, 64), yes(d.Marked), names[0], names[1], way,
				strconv.FormatFloat(1000*volts, 'f', 0, 64), strconv.FormatFloat(1000*limit, 'f', 0, 64), yes(volts > limit), ""})
		}
		if d.Post != d.Feed {
			add(d.Post, d.Feed, "out", d.Out, d.OutLimit)
		}
		if d.Drain != model.NoPin && d.Drain != d.Base {
			add(d.Drain, d.Base, "back", d.Back, d.BackLimit)
		}
		add(model.NoPin, model.NoPin, "together", d.Load.Drop.Loop, d.Limit)
	}
	return rows
}
