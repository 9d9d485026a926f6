package sheet

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ferrule/netlist/buy"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/render/canvas"
)

var _ = register(&Maker{
	Name: "ground", Title: "Ground and splice chart", Order: 320,
	Doc: "How every ground point and stud is stacked, from the metal up, with sizes, areas and where the wires come from, and room for the " +
		"torque; and for every splice its legs, by the side on which they lie, with the sum that the barrel has to take.",
	Plan: planGround,
})

// groundCaution is the caution for work at ground points and splices.
func (s *Set) groundCaution() string {
	return "Battery off, grounded pole first. Bright metal under the lowest ring, thickest ring first, no paint between rings. Torque by the maker of " +
		"the stud: none is computed here. " + s.craft().tightness() + " Crimped splices, sealed where wet; none in a fuel tank."
}

func planGround(s *Set) []*Page {
	tables := []table{s.studTable(), s.spliceTable()}
	caution := s.groundCaution()
	paper, parts := s.compact(caution, tables...)
	if len(parts) == 0 {
		return nil
	}
	return s.tablePages("ground", "Ground and splice chart", "stacks from the metal up, legs by side", caution, paper, parts)
}

// AreaOf is the metal of a wire in mm2; false where its size is not stated.
func (s *Set) AreaOf(w *model.Wire) (float64, bool) {
	if !w.Size.IsSet() {
		return 0, false
	}
	area, _ := conductor.AreaMM2(w.Size, s.Netlist.Harness.Cable)
	return area, area > 0
}

func areaText(area float64) string { return strconv.FormatFloat(area, 'f', 2, 64) }

// An areaSum adds areas up and counts what it cannot add.
type areaSum struct {
	area           float64
	wires, unknown int
}

func (a *areaSum) add(s *Set, wires ...*model.Wire) {
	for _, w := range wires {
		a.wires++
		if area, ok := s.AreaOf(w); ok {
			a.area += area
		} else {
			a.unknown++
		}
	}
}

func (a areaSum) text() string {
	text := areaText(a.area)
	if a.unknown > 0 {
		text = fmt.Sprintf("%s and %d not stated", text, a.unknown)
	}
	return text
}

// A lug is one ring of a stud with the wires crimped into it.
type lug struct {
	pin   model.PinID
	wires []*model.Wire
	sum   areaSum
}

// lugsOf returns the lugs of a stud from the metal up: the thickest first, so that the largest current passes the fewest
// faces; those of unknown area last. Terminals without a wire are left out.
func (s *Set) lugsOf(o *model.Owner) []lug {
	var lugs []lug
	for _, id := range o.Pins {
		for _, wires := range s.ringsAt(id) {
			l := lug{pin: id, wires: wires}
			l.sum.add(s, wires...)
			lugs = append(lugs, l)
		}
	}
	slices.SortStableFunc(lugs, func(a, b lug) int {
		if order := cmp.Compare(min(a.sum.unknown, 1), min(b.sum.unknown, 1)); order != 0 {
			return order
		}
		return cmp.Compare(b.sum.area, a.sum.area)
	})
	return lugs
}

// ringsAt returns the wires of each ring at a terminal of a stud: one wire a ring, unless the netlist says double-crimp.
func (s *Set) ringsAt(id model.PinID) [][]*model.Wire {
	wires := s.WiresAt(id)
	if len(wires) == 0 {
		return nil
	}
	if s.Netlist.Pin(id).DoubleCrimp.On {
		return [][]*model.Wire{wires}
	}
	var rings [][]*model.Wire
	for i := range wires {
		rings = append(rings, wires[i:i+1])
	}
	return rings
}

// ringText names the ring of a lug without the word for it: "6 mm2 M8".
func (s *Set) ringText(l lug) string {
	name := buy.RingName(s.Netlist.Pin(l.pin), l.wires)
	return cmp.Or(strings.TrimPrefix(strings.TrimPrefix(name, "ring terminal "), "terminal "), "not stated")
}

// studKinds are the kinds that wires are bolted to. On a bus bar every terminal has a screw of its own.
var studKinds = []string{"ground point", "stud", "bus bar"}

// mostRings is how many rings may lie on one stud: common practice.
const mostRings = 4

// longStud is the number of lugs above which a stud may be parted between two columns.
const longStud = 14

func (s *Set) studTable() table {
	t := table{title: "Ground points, studs and bars", heads: []string{"Stack", "Lug", "Wire", "Size", "mm²", "Ring", "Comes from"}}
	for _, p := range s.studs() {
		t.rows = append(t.rows, s.studRows(p)...)
	}
	return t
}

func (s *Set) studRows(p *model.Part) []row {
	lugs := s.lugsOf(p.Owner)
	if len(lugs) == 0 {
		return nil
	}
	rows := []row{{
		span: true, ruled: true, keep: true, cells: []cell{s.studLine(p)},
		group: canvas.Group{Kind: "part", Ref: p.Name.Text, Title: p.Title.Text},
	}}
	var total areaSum
	for i, l := range lugs {
		total.add(s, l.wires...)
		r := s.lugRow(l, stackWord(p, i, len(lugs)))
		r.keep = len(lugs) <= longStud || i == 0 || i == len(lugs)-1
		rows = append(rows, r)
	}
	rows = append(rows, row{shaded: true, keep: true, cells: []cell{
		sayBold("Sum"), say(""), say(counted(total.wires, "wire")), say(""), sayBold(total.text()), say(""), say(""),
	}})
	pen := studPen(p)
	if p.Kind.Name != "bus bar" && len(lugs) > mostRings {
		pen += fmt.Sprintf("\nMore than %d rings: if this is a bar, each has a screw of its own and there is no stack.", mostRings)
	}
	return append(rows, row{span: true, cells: []cell{say(pen)}})
}

// studPen are the lines for a pen: torque and preparation.
func studPen(p *model.Part) string {
	switch p.Kind.Name {
	case "bus bar":
		return "Torque of the screws: ____________ N m   Checked: ________________"
	case "stud":
		return "Torque: ____________ N m, by: ________________   Faces bright, insulator whole, boot on: ________________"
	}
	return "Torque: ____________ N m, by: ________________\nBright metal: ______   Toothed washer under the lowest ring: ______   Greased after tightening: ______"
}

func stackWord(p *model.Part, i, count int) string {
	switch {
	case p.Kind.Name == "bus bar":
		return "own screw"
	case i == 0 && count > 1:
		return "1, bottom"
	case i == count-1 && i > 0:
		return strconv.Itoa(i+1) + ", top"
	}
	return strconv.Itoa(i + 1)
}

// studLine names a stud, with what it is bolted to, its place and its thread.
func (s *Set) studLine(p *model.Part) cell {
	about := []string{p.Kind.Name}
	if p.Body != nil {
		about = append(about, "on: "+cmp.Or(p.Body.Title.Text, p.Body.Name.Text))
	} else if p.Kind.Name == "ground point" {
		about = append(about, "body not stated")
	}
	if place := p.Owner.Place(); place != nil {
		if title := cmp.Or(place.Title.Text, place.Name.Text); title != p.Name.Text && title != p.Title.Text {
			about = append(about, "at: "+title)
		}
	}
	thread := "not stated"
	if v := p.Value("thread"); v != nil && v.Word.IsSet() {
		thread = v.Word.Text
	}
	if p.Kind.Name != "bus bar" {
		about = append(about, "thread "+thread)
	}
	return deviceLine(p.Name.Text, p.Title.Text, about)
}

// deviceLine is the head of what a thing is connected with: its name to be read from afar, and what is to be known about it.
func deviceLine(name, title string, about []string) cell {
	return cell{{text: strings.TrimSpace(name + " " + title), bold: true, device: true}, {text: strings.Join(about, ", ")}}
}

// A Ring is one ring of a stud, for the lists.
type Ring struct {
	Stud  *model.Part
	Stack int // from the metal up, from 1; 0 on a bus bar, where each has a screw of its own
	Name  string
	Pin   *model.Pin
	Wires []*model.Wire
	Area  float64 // mm2, of the wires whose size is stated
}

// Rings returns the rings of all ground points, studs and bars in natural order, from the metal up.
func (s *Set) Rings() []Ring {
	var rings []Ring
	for _, p := range s.studs() {
		for i, l := range s.lugsOf(p.Owner) {
			r := Ring{Stud: p, Stack: i + 1, Name: s.ringText(l), Pin: s.Netlist.Pin(l.pin), Wires: l.wires, Area: l.sum.area}
			if p.Kind.Name == "bus bar" {
				r.Stack = 0
			}
			rings = append(rings, r)
		}
	}
	return rings
}

// studs returns what rings go on, in natural order.
func (s *Set) studs() []*model.Part {
	var studs []*model.Part
	for _, p := range s.Netlist.Parts {
		if slices.Contains(studKinds, p.Kind.Name) {
			studs = append(studs, p)
		}
	}
	slices.SortStableFunc(studs, func(a, b *model.Part) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	return studs
}

func (s *Set) lugRow(l lug, stack string) row {
	pin := s.Netlist.Pin(l.pin)
	r := row{group: canvas.Group{Kind: "pin", Ref: pin.String()}}
	var wires, sizes, areas, goes cell
	for _, w := range l.wires {
		wires = append(wires, piece{text: w.Name.Text, bold: true})
		sizes = append(sizes, piece{text: sizeText(w)})
		areas = append(areas, piece{text: s.wireAreaText(w)})
		goes = append(goes, s.farPiece(w, l.pin))
	}
	r.cells = []cell{sayBold(stack), say(pin.String()), wires, sizes, areas, say(s.ringText(l)), goes}
	return r
}

func (s *Set) wireAreaText(w *model.Wire) string {
	if area, ok := s.AreaOf(w); ok {
		return areaText(area)
	}
	return "not stated"
}

// A leg is a wire at a splice.
type leg struct {
	wire *model.Wire
	pin  model.PinID // of the splice
	side string
}

func (s *Set) spliceTable() table {
	t := table{title: "Splices", heads: []string{"Lies towards", "Leg", "Size", "mm²", "Goes to"}}
	splices := slices.Clone(s.Netlist.Splices)
	slices.SortStableFunc(splices, func(a, b *model.Splice) int { return CompareNatural(a.Name.Text, b.Name.Text) })
	for _, sp := range splices {
		t.rows = append(t.rows, s.spliceRows(sp)...)
	}
	return t
}

// legsOf returns the wires of a splice, those of one side together, sides in the order of their first wire.
func (s *Set) legsOf(sp *model.Splice) []leg {
	var legs []leg
	var sides []string
	for _, id := range sp.Owner.Pins {
		for _, w := range s.WiresAt(id) {
			l := leg{w, id, SideText(s.Cut().SideOf(w, id))}
			if !slices.Contains(sides, l.side) {
				sides = append(sides, l.side)
			}
			legs = append(legs, l)
		}
	}
	slices.SortStableFunc(legs, func(a, b leg) int {
		return cmp.Compare(slices.Index(sides, a.side), slices.Index(sides, b.side))
	})
	return legs
}

func (s *Set) spliceRows(sp *model.Splice) []row {
	legs := s.legsOf(sp)
	about := []string{splicePlace(sp)}
	if sp.Sealed.On {
		about = append(about, "sealed")
	}
	if sp.Spare.On {
		about = append(about, "spare")
	}
	head := deviceLine(sp.Name.Text, sp.Title.Text, about)
	rows := []row{{
		span: true, ruled: true, keep: true, cells: []cell{head},
		group: canvas.Group{Kind: "splice", Ref: sp.Name.Text, Title: sp.Title.Text},
	}}
	var total areaSum
	before := ""
	for i, l := range legs {
		total.add(s, l.wire)
		side := l.side
		if side == before {
			side = ""
		}
		before = l.side
		rows = append(rows, row{
			keep: len(legs) <= longStud || i == 0 || i == len(legs)-1, group: canvas.Group{Kind: "leg", Ref: sp.Name.Text + " " + l.wire.Name.Text},
			cells: []cell{say(side), sayBold(l.wire.Name.Text), say(sizeText(l.wire)), say(s.wireAreaText(l.wire)), {s.farPiece(l.wire, l.pin)}},
		})
	}
	barrel := "barrel: not stated"
	if sp.Barrel.IsSet() {
		barrel = "barrel for " + sp.Barrel.String() + ": " + areaText(barrelArea(sp, s.Netlist.Harness.Cable)) + " mm²"
	}
	rows = append(rows, row{shaded: true, keep: true, cells: []cell{
		sayBold("Sum"), say(counted(total.wires, "leg")), say(""), sayBold(total.text()), say(barrel),
	}})
	return append(rows, row{span: true, cells: []cell{say(spliceLine(sp))}})
}

func barrelArea(sp *model.Splice, cable string) float64 {
	area, _ := conductor.AreaMM2(sp.Barrel, cable)
	return area
}
