// Package cut makes pieces of wire out of a harness: how long each is cut and why, in which order a bench works, what is
// at both ends, what is cut and crimped together, and how much of each reel that takes.
//
// It takes a netlist with its routes and gives a Plan. Wires that are supplied are not cut and no pieces, but they are told
// where they share a terminal or a splice with one that is. It may import the model, netlist/route, netlist/conductor (metal
// of a size) and the units; it draws and writes nothing.
//
// A length that nobody knows stays unknown: it is never guessed, and every sum counts what it lacks.
package cut

import (
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/unit"
)

// A Plan is all that is cut for a harness.
type Plan struct {
	Netlist    *model.Netlist
	Allowances Allowances
	Reels      []*Reel       // thinnest first, then by colour; cables in a jacket after the single wires
	Pieces     []*Piece      // those of the reels in their order, longest first
	Groups     []*Group      // in the order of the file
	Crimps     []*Crimp      // terminals that take several wires, in natural order of their names
	Splices    []*Splice     // in natural order of their names, those with a wire
	Supplied   []*model.Wire // not cut, in natural order of their names

	byWire map[*model.Wire]*Piece
	at     map[model.PinID][]*model.Wire // in the order of the file
	routes *route.Routes
}

// A Piece is one wire that is cut, with both of its ends.
type Piece struct {
	Wire    *model.Wire
	Number  int    // from 1, in the order of the bench
	Reel    *Reel  // never nil
	Group   *Group // what it is cut together with, or nil
	Ends    [2]End // where it begins and where it ends
	Length  unit.Metre
	Known   bool // else Length is 0 and somebody has to measure
	Guessed bool // the length, or one of the paths, is a guess by the file's own word
	Sum     Sum  // how the length came about
	Running unit.Metre
	// Running is what is gone from the reel after this piece. Of a cable in a jacket, which is cut once for all its cores, it
	// grows with the first core only.
}

// Piece returns the piece of a wire; nil for one that is supplied.
func (p *Plan) Piece(w *model.Wire) *Piece { return p.byWire[w] }

// Length returns how long a wire is cut; false for one that is supplied or whose length nobody knows.
func (p *Plan) Length(w *model.Wire) (unit.Metre, bool) {
	if piece := p.byWire[w]; piece != nil && piece.Known {
		return piece.Length, true
	}
	return 0, false
}

// WiresAt returns the wires that end at a terminal, also supplied ones, in the order of the file.
func (p *Plan) WiresAt(pin model.PinID) []*model.Wire { return p.at[pin] }

// New works a plan out. It reads the netlist and keeps it; nothing in it is changed.
func New(n *model.Netlist, routes *route.Routes) *Plan {
	p := &Plan{
		Netlist: n, Allowances: AllowancesOf(n), byWire: map[*model.Wire]*Piece{}, at: map[model.PinID][]*model.Wire{}, routes: routes,
	}
	for _, w := range n.Wires {
		for i, id := range [...]model.PinID{w.From.ID, w.To.ID} {
			if id != model.NoPin && !(i == 1 && id == w.From.ID) {
				p.at[id] = append(p.at[id], w)
			}
		}
	}
	for _, w := range n.Wires {
		if !w.Supplied.On {
			p.byWire[w] = p.pieceOf(w)
		}
	}
	p.group()
	p.wind()
	p.findCrimps()
	p.findSplices()
	p.Supplied = suppliedOf(n)
	return p
}
