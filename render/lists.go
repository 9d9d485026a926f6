package render

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

// A list is one CSV file: a head line and rows in a stable order.
type list struct {
	name string
	head []string
	rows func(s *sheet.Set) [][]string
}

// lists are the CSV files of a build. Lengths are metres, areas square millimetres, currents amperes, as plain numbers
// with a point; a cell is empty where the netlist does not say.
var lists = []list{
	{"wires.csv", []string{
		"wire", "size", "area_mm2", "color", "length_m", "from", "from_title", "to", "to_title", "net", "system", "cable", "supplied", "sheathed", "note",
	}, wireRows},
	{"pins.csv", []string{
		"terminal", "owner", "owner_title", "function", "role", "net", "wire", "size", "color", "goes_to", "goes_to_title", "through", "empty", "expect",
	}, pinRows},
	{"connectors.csv", []string{
		"connector", "title", "plug_of", "mates", "cavities", "wired", "plugs_needed", "sealed", "contacts", "view", "latch", "place", "note",
	}, connectorRows},
	{"fuses.csv", []string{
		"fuse", "title", "kind", "rating_A", "family", "panel", "place", "spare", "wires_1", "wires_2",
	}, fuseRows},
}

// csv writes the list. A spreadsheet takes a cell that begins with =, +, - or @, a tab or a carriage return for a
// formula, and a netlist from somebody else must not bring one along: such a cell gets an apostrophe before it, which
// spreadsheets hide. Terminals are written with their owner ("BAT1:+"), so that they need none.
func (l list) csv(s *sheet.Set) []byte {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	w.Write(l.head) //nolint:errcheck // a bytes.Buffer takes everything
	for _, row := range l.rows(s) {
		for i, cell := range row {
			row[i] = guarded(cell)
		}
		w.Write(row) //nolint:errcheck // a bytes.Buffer takes everything
	}
	w.Flush()
	return out.Bytes()
}

func guarded(cell string) string {
	if cell != "" && strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return "'" + cell
	}
	return cell
}

func wireRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, w := range byName(s.Netlist.Wires, func(w *model.Wire) string { return w.Name.Text }) {
		area, length, cable := "", "", ""
		if w.Size.IsSet() {
			copper, _ := conductor.AreaMM2(w.Size, s.Netlist.Harness.Cable) // vehicle cable may hold less than its name says
			area = strconv.FormatFloat(copper, 'f', 3, 64)
		}
		if l, ok := s.Routes.Length(w); ok {
			length = strconv.FormatFloat(float64(l), 'f', 3, 64)
		}
		if w.Cable != nil {
			cable = w.Cable.Name.Text
		}
		from, fromTitle := endOf(s, w.From)
		to, toTitle := endOf(s, w.To)
		rows = append(rows, []string{
			w.Name.Text, w.Size.String(), area, sheet.ColorText(w), length, from, fromTitle, to, toTitle, s.NetOf(w),
			s.SystemTitle(w), cable, yes(w.Supplied.On), yes(w.Sheathed.On), w.Note.Text,
		})
	}
	return rows
}

// endOf returns a wire's end and the title of what it is at.
func endOf(s *sheet.Set, ref model.PinRef) (end, title string) {
	if ref.ID == model.NoPin || !ref.IsSet() {
		return ref.Text, ""
	}
	pin := s.Netlist.Pin(ref.ID)
	return pin.String(), pin.Owner.Title()
}

// pinRows lists every terminal of every connector, part, splice and panel, once for each wire that ends there.
func pinRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, o := range byName(s.Netlist.Owners, func(o *model.Owner) string { return o.Name.Text }) {
		for _, id := range o.Pins {
			pin := s.Netlist.Pin(id)
			about := []string{pin.String(), o.Name.Text, o.Title(), s.Function(id), string(pin.Role), s.NetName(s.Graph.NetOf(id))}
			wires := s.WiresAt(id)
			if len(wires) == 0 && o.Sort != model.BodyOwner {
				rows = append(rows, append(slices.Clone(about), "", "", "", "", "", "", s.Vacancy(id), pin.Expect.Text))
			}
			for _, w := range wires {
				end := s.FarEnd(w, id)
				rows = append(rows, append(slices.Clone(about),
					w.Name.Text, w.Size.String(), sheet.ColorText(w), end.Ref, end.Title, through(s, end), "", pin.Expect.Text))
			}
		}
	}
	return rows
}

func through(s *sheet.Set, end sheet.FarEnd) string {
	var cavities []string
	for _, id := range end.Through {
		cavities = append(cavities, s.Netlist.Pin(id).String())
	}
	return strings.Join(cavities, " ")
}

func connectorRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, c := range byName(s.Netlist.Connectors, func(c *model.Connector) string { return c.Name.Text }) {
		wired, plugs, of, mates := 0, 0, "", ""
		for _, id := range c.Owner.Pins {
			if len(s.WiresAt(id)) > 0 {
				wired++
			} else if c.Sealed.On {
				plugs++
			}
		}
		if c.Part != nil {
			of = c.Part.Name.Text
		}
		if c.Mate != nil {
			mates = c.Mate.Name.Text
		}
		rows = append(rows, []string{
			c.Name.Text, c.Title.Text, of, mates, strconv.Itoa(len(c.Owner.Pins)), strconv.Itoa(wired), strconv.Itoa(plugs),
			yes(c.Sealed.On), c.Contacts.Text, c.View.Text, c.Latch.Text, placeOf(c.Owner), c.Note.Text,
		})
	}
	return rows
}

// fuseRows lists everything that protects: fuses, breakers, fusible links, with the wires at both sides.
func fuseRows(s *sheet.Set) [][]string {
	var rows [][]string
	for _, p := range byName(s.Netlist.Parts, func(p *model.Part) string { return p.Name.Text }) {
		if len(p.Inside.Protects) == 0 {
			continue
		}
		rating, family, panel := "", "", ""
		if v := p.Value("rating"); v != nil {
			rating = number(v.Quantity.Value)
		}
		if v := p.Value("family"); v != nil {
			family = v.Word.Text
		}
		if p.Panel != nil {
			panel = p.Panel.Name.Text
		}
		row := []string{
			p.Name.Text, p.Title.Text, p.Kind.Name, rating, family, panel, placeOf(p.Owner), yes(p.Spare.On), "", "",
		}
		for i, id := range p.Owner.Pins {
			if i < 2 {
				row[len(row)-2+i] = wireNames(s.WiresAt(id))
			}
		}
		rows = append(rows, row)
	}
	return rows
}

func wireNames(wires []*model.Wire) string {
	names := make([]string, len(wires))
	for i, w := range wires {
		names[i] = w.Name.Text
	}
	return strings.Join(names, " ")
}

func placeOf(o *model.Owner) string {
	if place := o.Place(); place != nil {
		return cmp.Or(place.Title.Text, place.Name.Text)
	}
	return ""
}

// byName sorts by designator in natural order; equals keep the order of the file.
func byName[T any](things []T, name func(T) string) []T {
	sorted := slices.Clone(things)
	slices.SortStableFunc(sorted, func(a, b T) int { return sheet.CompareNatural(name(a), name(b)) })
	return sorted
}

func number(value float64) string {
	return strconv.FormatFloat(value, 'f', -1, 64)
}

func yes(on bool) string {
	if on {
		return "yes"
	}
	return ""
}
