package cut

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Reel is one sort of wire, as it is bought and cut.
type Reel struct {
	Number     int       // from 1
	Size       unit.Size // not set where the netlist does not say
	AreaMM2    float64   // metal of the size; 0 where it is not stated
	Color      unit.Color
	ColorText  string // as written, also where it is no colour; empty where it is not stated
	Insulation unit.Celsius
	Metal      string // "copper", ...
	Strands    int    // 0 where it is not stated
	Cable      string // the kind of a cable in a jacket, "screened pair"; empty for single wire
	Cores      []Core // of such a cable, else nil

	Pieces  []*Piece // longest first; those whose length is not known last
	Cut     unit.Metre
	Buy     unit.Metre // with the reserve, rounded up
	Unknown int        // cuts whose length is not known, which are missing in both
	Cuts    int        // a cable in a jacket is cut once for all its cores
	Guessed bool       // a length of it is a guess
}

// A Core is one wire of a cable in a jacket.
type Core struct {
	Size      unit.Size
	ColorText string
}

// wind puts every piece on its reel, orders reels and pieces, and sums up.
func (p *Plan) wind() {
	reels := map[string]*Reel{}
	for _, w := range p.Netlist.Wires {
		piece := p.byWire[w]
		if piece == nil {
			continue
		}
		made := p.reelOf(piece)
		key := made.key()
		if reels[key] == nil {
			reels[key] = made
			p.Reels = append(p.Reels, made)
		}
		piece.Reel = reels[key]
		piece.Reel.Pieces = append(piece.Reel.Pieces, piece)
	}
	slices.SortStableFunc(p.Reels, compareReels)
	for i, r := range p.Reels {
		r.Number = i + 1
		slices.SortStableFunc(r.Pieces, comparePieces)
		r.measure(p.Allowances)
		p.Pieces = append(p.Pieces, r.Pieces...)
	}
	for i, piece := range p.Pieces {
		piece.Number = i + 1
	}
}

func (p *Plan) reelOf(piece *Piece) *Reel {
	w := piece.Wire
	r := p.single(w)
	if g := piece.Group; g != nil && !g.Twisted {
		r.Cable = g.Cable.Kind.Text
		for _, core := range g.Cable.Wires {
			r.Cores = append(r.Cores, Core{core.Size, core.ColorText.Text})
		}
		slices.SortStableFunc(r.Cores, func(a, b Core) int {
			return cmp.Or(cmp.Compare(a.Size.AreaMM2(), b.Size.AreaMM2()), strings.Compare(a.ColorText, b.ColorText))
		})
		first := p.single(g.Cable.Wires[0]) // a cable is one thing whatever its cores say
		r.Size, r.AreaMM2, r.Insulation, r.Metal, r.Strands = first.Size, first.AreaMM2, first.Insulation, first.Metal, first.Strands
		r.Color, r.ColorText = unit.Color{}, ""
	}
	return r
}

func (p *Plan) single(w *model.Wire) *Reel {
	r := &Reel{
		Size: w.Size, Color: w.Color, ColorText: w.ColorText.Text, Insulation: p.Netlist.Harness.Insulation,
		Metal: cmp.Or(w.Metal.Text, "copper"), Strands: w.Strands,
	}
	if w.Color.IsSet() {
		r.ColorText = w.Color.String()
	}
	if w.Insulation.IsSet() {
		r.Insulation = unit.Celsius(w.Insulation.Value)
	}
	if w.Size.IsSet() {
		r.AreaMM2, _ = conductor.AreaMM2(w.Size, p.Netlist.Harness.Cable)
	}
	return r
}

// key tells reels apart.
func (r *Reel) key() string {
	parts := []string{r.Cable, r.Size.String(), r.ColorText, r.Insulation.String(), r.Metal, unit.Format(float64(r.Strands))}
	for _, c := range r.Cores {
		parts = append(parts, c.Size.String(), c.ColorText)
	}
	return strings.Join(parts, "\x00")
}

// compareReels orders by size, thinnest first so that a die is set once, then by colour. Single wire goes before cables, and
// what has no size comes last.
func compareReels(a, b *Reel) int {
	return cmp.Or(
		strings.Compare(a.Cable, b.Cable),
		compareBools(!a.Size.IsSet(), !b.Size.IsSet()),
		cmp.Compare(a.AreaMM2, b.AreaMM2),
		strings.Compare(a.Size.String(), b.Size.String()),
		compareBools(a.ColorText == "", b.ColorText == ""),
		strings.Compare(a.ColorText, b.ColorText),
		cmp.Compare(a.Insulation, b.Insulation),
		strings.Compare(a.Metal, b.Metal),
		cmp.Compare(a.Strands, b.Strands),
		strings.Compare(a.key(), b.key()),
	)
}

// comparePieces puts the longest first and cores of one cable side by side.
func comparePieces(a, b *Piece) int {
	return cmp.Or(
		compareBools(!a.Known, !b.Known),
		cmp.Compare(b.Length, a.Length),
		model.CompareNatural(a.groupName(), b.groupName()),
		model.CompareNatural(a.Wire.Name.Text, b.Wire.Name.Text),
	)
}

// groupName is the cable in a jacket that a piece is a core of.
func (p *Piece) groupName() string {
	if p.Group == nil || p.Group.Twisted {
		return ""
	}
	return p.Group.Cable.Name.Text
}

func compareBools(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// Leads reports whether a piece is cut by itself: every one but the further cores of a cable in a jacket.
func (p *Piece) Leads() bool { return p.groupName() == "" || p.Group.lead == p }

// measure sums a reel up, piece by piece.
func (r *Reel) measure(a Allowances) {
	for _, piece := range r.Pieces {
		if g := piece.Group; g != nil && g.lead == nil {
			g.lead = piece
		}
		if piece.Leads() {
			r.Cuts++
			r.Cut += piece.Length
			if !piece.Known {
				r.Unknown++
			}
		}
		r.Guessed = r.Guessed || piece.Guessed
		piece.Running = r.Cut
	}
	r.Buy = roundedUp(float64(r.Cut)*(1+a.Reserve), a.Round)
}

func suppliedOf(n *model.Netlist) []*model.Wire {
	var wires []*model.Wire
	for _, w := range n.Wires {
		if w.Supplied.On {
			wires = append(wires, w)
		}
	}
	slices.SortStableFunc(wires, func(a, b *model.Wire) int { return model.CompareNatural(a.Name.Text, b.Name.Text) })
	return wires
}
