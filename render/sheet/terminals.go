package sheet

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "terminals", Title: "Device terminals", Order: 300,
	Doc: "Every terminal that is not in a plug: relays, fuses, lamps, sensors, switches, motors, ground points, splices and " +
		"the terminals of panels, sorted by designator, each with its wires and where they lead. With the pin-outs it " +
		"holds every wire end of the harness.",
	Plan: planTerminals,
})

// terminalCaution is the caution for work at terminals.
func (s *Set) terminalCaution() string {
	return "Battery off, grounded pole first, before a terminal is loosened. Never up-rate a fuse; after it blows, find the cause. " +
		s.craft().tightness()
}

// ownersWithTerminals returns what has terminals of its own, in natural order of designators. Devices that have nothing
// but plugs are left out, and so is metal of the vehicle that no wire goes to.
func (s *Set) ownersWithTerminals() []*model.Owner {
	wired := func(id model.PinID) bool { return len(s.Graph.WiresAt(id)) > 0 }
	var owners []*model.Owner
	for _, o := range s.Netlist.Owners {
		if o.Sort != model.ConnectorOwner && len(o.Pins) > 0 && (o.Sort != model.BodyOwner || slices.ContainsFunc(o.Pins, wired)) {
			owners = append(owners, o)
		}
	}
	slices.SortStableFunc(owners, func(a, b *model.Owner) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	return owners
}

func planTerminals(s *Set) []*Page {
	owners := s.ownersWithTerminals()
	if len(owners) == 0 {
		return nil
	}
	wall := s.wall()
	area := wall.Area().Inset(sheetMargin)
	area.Min.Y += headerRoom
	columns := s.benchColumns(area)
	parts := s.evenly(s.terminalTable(owners).lay(columns[0].Width()), columns)
	var pages []*Page
	count := pagesOf(parts)
	for i := range count {
		on := onPage(parts, i)
		shown := ownersOn(on)
		paper := wall
		if s.fitsBench(on) {
			paper = s.bench()
		}
		page := &Page{
			Name: continuedName("terminals", i+1), Title: "Device terminals, " + fromTo(shown), Paper: paper, Caution: s.terminalCaution(),
			Draw: func(c canvas.Canvas) {
				drawHeading(c, paper.Area().Inset(sheetMargin), "Device terminals", fromTo(shown), false)
				s.drawParts(c, on)
			},
		}
		for _, name := range shown {
			page.Shows = append(page.Shows, Shown{s.Netlist.Owner(name).Sort.String(), name})
		}
		pages = append(pages, page)
	}
	return pages
}

// evenly lets a table flow over pages of two columns. Where the last page is for bench paper it stays as it is; else its
// columns end at about one height, so that no half of a page is bare.
func (s *Set) evenly(t *laidTable, columns []geom.Rect) []placed {
	place := func(last int, tenths geom.Length) []placed {
		return flow{boxAt: func(i int) box {
			column := columns[i%len(columns)]
			if i/len(columns) == last {
				column.Max.Y = column.Min.Y + column.Height()*tenths/10
			}
			return box{i / len(columns), column}
		}}.place(t)
	}
	whole := place(-1, 10)
	if len(columns) == 1 || s.fitsBench(onPage(whole, pagesOf(whole)-1)) {
		return whole
	}
	return levelled(whole, 5, 10, place)
}

// benchColumns divides an area of wall paper into two columns as wide as bench paper, so that what fits into the left one
// can stand on bench paper as it is.
func (s *Set) benchColumns(area geom.Rect) []geom.Rect {
	width := s.bench().Area().Inset(sheetMargin).Width()
	if area.Width() < 2*width {
		return []geom.Rect{area}
	}
	left, right := area, area
	left.Max.X, right.Min.X = area.Min.X+width, area.Max.X-width
	return []geom.Rect{left, right}
}

// fitsBench reports whether all parts of a page of wall paper lie where bench paper has room. What is laid out to be
// enlarged lies elsewhere.
func (s *Set) fitsBench(parts []placed) bool {
	if s.wall().Permille != 0 {
		return false
	}
	area := s.bench().Area().Inset(sheetMargin)
	for _, p := range parts {
		if p.at.X+p.table.width > area.Max.X {
			return false
		}
	}
	return bottom(parts, area.Min.Y) <= area.Max.Y
}

// columnsOf divides an area into columns of one width.
func columnsOf(area geom.Rect, count int) []geom.Rect {
	width := (area.Width() - geom.Length(count-1)*columnGap) / geom.Length(count)
	var columns []geom.Rect
	for i := range count {
		left := area.Min.X + geom.Length(i)*(width+columnGap)
		columns = append(columns, geom.Rect{Min: geom.Pt(left, area.Min.Y), Max: geom.Pt(left+width, area.Max.Y)})
	}
	return columns
}

const columnGap = 8 * geom.MM

// ownersOn returns the designators of which rows stand in the parts.
func ownersOn(parts []placed) []string {
	var names []string
	for _, p := range parts {
		for _, r := range p.rows {
			name, _, _ := strings.Cut(r.row.group.Ref, ":")
			if len(names) == 0 || names[len(names)-1] != name {
				names = append(names, name)
			}
		}
	}
	return names
}

func fromTo(names []string) string {
	if len(names) == 1 {
		return names[0]
	}
	return names[0] + " to " + names[len(names)-1]
}

// longDevice is the number of terminals above which a device may be parted between two columns.
const longDevice = 15

// terminalTable lists the terminals device by device, each device under a line with its name.
func (s *Set) terminalTable(owners []*model.Owner) table {
	t := table{heads: []string{"Terminal", "Function", "Wire", "Size", "Colour", "Goes to"}}
	for _, o := range owners {
		t.rows = append(t.rows, row{
			span: true, ruled: true, keep: true, cells: []cell{sayBold(s.deviceLine(o))},
			group: canvas.Group{Kind: o.Sort.String(), Ref: o.Name.Text, Title: o.Title()},
		})
		for i, id := range o.Pins {
			r := s.terminalRow(id, s.Netlist.Pin(id).String())
			r.cells = r.cells[:6]
			r.keep = i < len(o.Pins)-1 && (len(o.Pins) <= longDevice || i == 0)
			if expect := s.Netlist.Pin(id).Expect; expect.IsSet() {
				r.cells[1] = append(slices.Clone(r.cells[1]), piece{text: "Expect: " + expect.Text})
			}
			t.rows = append(t.rows, r)
		}
	}
	return t
}

// deviceLine names a device with its kind, its main value and its place: "F3 Fuel pump: fuse, 15 A, blade, in P". A
// place that has the name of the device says nothing new.
func (s *Set) deviceLine(o *model.Owner) string {
	about := o.Sort.String()
	if o.Part != nil {
		about = partText(o.Part)
	}
	if place := o.Place(); place != nil && (o.Part == nil || o.Part.Panel == nil) {
		if title := cmp.Or(place.Title.Text, place.Name.Text); title != o.Name.Text && title != o.Title() {
			about += ", at: " + title
		}
	}
	return strings.TrimSpace(o.Name.Text+" "+o.Title()) + ": " + about
}

func partText(p *model.Part) string {
	text := p.Kind.Name
	for _, key := range []string{"rating", "family"} {
		if v := p.Value(key); v != nil {
			text += ", " + valueText(v)
		}
	}
	if p.Spare.On {
		text += ", spare"
	}
	if p.Panel != nil {
		text += ", in " + p.Panel.Name.Text
	}
	return text
}

// valueText writes a word or a current; other values have no place on a sheet yet.
func valueText(v *model.Value) string {
	if v.Quantity.IsSet() && v.Quantity.Dim == unit.Current {
		return unit.Ampere(v.Quantity.Value).String()
	}
	return v.Word.Text
}
