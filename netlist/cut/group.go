package cut

import "ferrule/netlist/model"

// A Group is a cable of the netlist: wires that are cut together, all to the length of the longest.
type Group struct {
	Cable   *model.Cable
	Pieces  []*Piece // its wires that are cut, in the order of the cable
	Twisted bool     // single wires from their own reels, twisted at the bench; else one cable in a jacket, cut once
	Longest *Piece   // whose length all of them have; nil where none is known

	lead *Piece // of a cable in a jacket: the first of its cores in the order of the bench
}

// Lead returns the piece with which a cable in a jacket is cut, the first of its cores in the order of the bench. Of twisted wires
// every one is cut by itself.
func (g *Group) Lead() *Piece { return g.lead }

// isTwisted reports whether a cable is made at the bench of single wires.
func isTwisted(c *model.Cable) bool { return c.Kind.Text == "twisted pair" }

// group brings the pieces of each cable to one length.
func (p *Plan) group() {
	for _, c := range p.Netlist.Cables {
		g := &Group{Cable: c, Twisted: isTwisted(c)}
		for _, w := range c.Wires {
			if piece := p.byWire[w]; piece != nil && piece.Group == nil {
				piece.Group = g
				g.Pieces = append(g.Pieces, piece)
				if piece.Known && (g.Longest == nil || piece.Length > g.Longest.Length) {
					g.Longest = piece
				}
			}
		}
		if len(g.Pieces) > 0 {
			g.level()
			p.Groups = append(p.Groups, g)
		}
	}
}

// level gives every piece the length of the longest. A piece whose own length is not known gets it too: what is twisted or
// in one jacket is as long as the rest of it.
func (g *Group) level() {
	if g.Longest == nil {
		return
	}
	for _, piece := range g.Pieces {
		if piece.Length < g.Longest.Length {
			piece.Length, piece.Known, piece.Guessed = g.Longest.Length, true, g.Longest.Guessed
			piece.Sum.SetBy = g.Longest
		}
	}
}
