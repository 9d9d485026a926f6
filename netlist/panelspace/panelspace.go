// Package panelspace says whether what belongs into a panel has room there: the modules, and the wires that feed them.
//
// It takes a netlist with its routes and gives, for each panel in the order of the file, the modules with their sizes, the
// bundles that enter, the area of both, how far they fill the space that the file states, and what is spare. It may import
// the model, netlist/bundle and netlist/route.
//
// The area is an estimate from the front. A module takes its outline, with the socket around it. A bundle runs along the
// longer side of the panel as a strip as wide as the hole that it enters by; a wire within the panel lies beside the others
// over half of width and height. What a lid, a seal or a hand needs is what Full leaves.
package panelspace

import (
	"math"
	"slices"

	"ferrule/netlist/bundle"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

// A Space is one panel with what it has to hold. Areas are mm2, diameters mm.
type Space struct {
	Panel      *model.Panel
	Modules    []Module
	Unmeasured []*model.Part // of which neither file nor table gives a size
	Entries    []Entry
	Inner      []*model.Wire // both ends in the panel
	Unsized    int           // wires without a size: they need more than is counted

	ModuleMM2 float64
	WireMM2   float64 // in the space that is stated or, where none is, in the least square one
	InsideMM2 float64 // 0 where the file does not state it
	LeastMM2  float64 // the least inside space of the stated shape, or of a square, that is filled to Full
	Spare     []*model.Part
	Positions int // sockets for fuses and relays: as stated, or counted in the grid; 0 where the file does not say
	Empty     int // positions with nothing in them; -1 where the file does not say how many there are
}

// A Module is something that sits in the panel.
type Module struct {
	Part     *model.Part // nil for a terminal of the panel itself
	Name     string
	WidthMM  float64
	HeightMM float64
	Stated   bool   // by the file; else by the table
	Source   string // of the size
}

// AreaMM2 is the module's outline.
func (m Module) AreaMM2() float64 { return m.WidthMM * m.HeightMM }

// An Entry is a bundle that comes into the panel by one way.
type Entry struct {
	Path    *model.Path // nil for wires that come from the same place, or by a way that is not known
	Known   bool        // the way is known: without a path, the wires come from beside the panel
	Wires   []*model.Wire
	ThickMM float64 // bundle.Across of them
	HoleMM  float64 // the least clear opening
}

// Full is how far modules and wires may fill a panel: a fifth stays for hands, for bends and for what comes later (common
// practice).
const Full = 0.8

// Fill is the share of the inside that modules and wires take; 0 where the inside is not stated.
func (s *Space) Fill() float64 {
	if s.InsideMM2 == 0 {
		return 0
	}
	return (s.ModuleMM2 + s.WireMM2) / s.InsideMM2
}

// Of works out the space of every panel, in the order of the file.
func Of(n *model.Netlist, routes *route.Routes) []Space {
	spaces := make([]Space, len(n.Panels))
	at := map[*model.Panel]*Space{}
	for i, p := range n.Panels {
		spaces[i] = Space{Panel: p, Empty: -1}
		at[p] = &spaces[i]
		for _, id := range p.Owner.Pins {
			m := UsualModule("terminal", "", "")
			m.Name = n.Pin(id).String()
			spaces[i].add(m)
		}
	}
	for _, p := range n.Parts {
		if s := at[p.Panel]; p.Panel != nil && s != nil {
			s.addPart(p)
		}
	}
	for _, w := range n.Wires {
		from, to := panelOf(n, w.From), panelOf(n, w.To)
		switch {
		case from != nil && from == to:
			at[from].Inner = append(at[from].Inner, w)
		default:
			at[from].enter(routes, w, from, false)
			at[to].enter(routes, w, to, true)
		}
	}
	for i := range spaces {
		spaces[i].measure()
	}
	return spaces
}

func (s *Space) add(m Module) {
	s.Modules = append(s.Modules, m)
	s.ModuleMM2 += m.AreaMM2()
}

func (s *Space) addPart(p *model.Part) {
	if p.Spare.On {
		s.Spare = append(s.Spare, p)
	}
	m := Module{WidthMM: p.Size.Width * 1000, HeightMM: p.Size.Height * 1000, Stated: true, Source: "stated"}
	if !p.Size.IsSet() {
		family := ""
		if v := p.Value("family"); v != nil {
			family = v.Word.Text
		}
		m = UsualModule(p.Kind.Name, family, p.StockName.Text)
	}
	if m.Part, m.Name = p, p.Name.Text; m.AreaMM2() == 0 {
		s.Unmeasured = append(s.Unmeasured, p)
		return
	}
	s.add(m)
}

// panelOf is the panel that an end of a wire is in: its own terminal, that of a part in it or of such a part's plug.
func panelOf(n *model.Netlist, ref model.PinRef) *model.Panel {
	if ref.ID == model.NoPin {
		return nil
	}
	o := n.Pin(ref.ID).Owner
	if o.Sort == model.PanelOwner {
		return o.Panel
	}
	if d := o.Device(); d != nil {
		return d.Panel
	}
	return nil
}

// enter puts a wire to the others of its way into the panel; last is true when its end lies there and not its beginning.
func (s *Space) enter(routes *route.Routes, w *model.Wire, panel *model.Panel, last bool) {
	if panel == nil || s == nil {
		return
	}
	var path *model.Path
	known := false
	if from, to := routes.PlaceOf(w.From.ID), routes.PlaceOf(w.To.ID); from != nil && from == to {
		known = true
	} else if way := routes.Along(w); len(way) > 0 {
		known, path = true, way[0]
		if last {
			path = way[len(way)-1]
		}
	}
	i := slices.IndexFunc(s.Entries, func(e Entry) bool { return e.Path == path && e.Known == known })
	if i < 0 {
		i = len(s.Entries)
		s.Entries = append(s.Entries, Entry{Path: path, Known: known})
	}
	s.Entries[i].Wires = append(s.Entries[i].Wires, w)
}

// measure works out areas and entries.
func (s *Space) measure() {
	strips := 0.0
	for i := range s.Entries {
		e := &s.Entries[i]
		e.ThickMM = bundle.Across(e.Wires)
		e.HoleMM = e.ThickMM / bundle.HoleFill
		strips += e.HoleMM
		s.countUnsized(e.Wires)
	}
	inner := 0.0
	for _, w := range s.Inner {
		d, _ := conductor.OutsideDiameter(w.Size)
		inner += d
	}
	s.countUnsized(s.Inner)
	wide, high := 1.0, 1.0 // the shape: of a side of 1
	if in := s.Panel.Inside; in.IsSet() {
		s.InsideMM2 = in.AreaMM2()
		side := math.Sqrt(in.Width * in.Height)
		wide, high = in.Width/side, in.Height/side
	}
	run := strips*max(wide, high) + inner*(wide+high)/2 // mm of width for each mm of the side of an equal square
	side := (run + math.Sqrt(run*run+4*Full*s.ModuleMM2)) / (2 * Full)
	s.LeastMM2 = side * side
	if s.InsideMM2 > 0 {
		side = math.Sqrt(s.InsideMM2)
	}
	s.WireMM2 = run * side
	if s.Positions = s.Panel.Positions; s.Positions == 0 {
		s.Positions = s.inGrid()
	}
	if s.Positions > 0 {
		s.Empty = max(0, s.Positions-s.Seated())
	}
}

// inGrid counts the positions of the grid; 0 where there is none, or where it leaves out parts that are in the panel: then it
// does not show the whole panel.
func (s *Space) inGrid() int {
	count, taken := 0, 0
	for _, row := range s.Panel.Rows {
		count += len(row)
		for _, part := range row {
			if part != nil {
				taken++
			}
		}
	}
	if taken < s.Seated() {
		return 0
	}
	return count
}

func (s *Space) countUnsized(wires []*model.Wire) {
	for _, w := range wires {
		if !w.Size.IsSet() {
			s.Unsized++
		}
	}
}

// Seated is how many parts take a position: all that are in the panel.
func (s *Space) Seated() int {
	count := len(s.Unmeasured)
	for _, m := range s.Modules {
		if m.Part != nil {
			count++
		}
	}
	return count
}

// LeastInside is the least inside of the stated shape, or a square one, in mm, rounded up to 5 mm.
func (s *Space) LeastInside() (width, height float64) {
	shape := 1.0
	if in := s.Panel.Inside; in.IsSet() {
		shape = in.Width / in.Height
	}
	up := func(v float64) float64 { return 5 * math.Ceil(v/5-1e-9) }
	return up(math.Sqrt(s.LeastMM2 * shape)), up(math.Sqrt(s.LeastMM2 / shape))
}
