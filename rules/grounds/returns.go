package grounds

import (
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// A landing is where a piece reaches ground: by an edge from a terminal of the piece to a ground terminal.
type landing struct {
	edge *graph.Edge
	from model.PinID // in the piece
	at   model.PinID // on ground
}

// isGroundBar reports whether a terminal belongs to a bus bar or a stud that conductors join to ground. Wires that meet
// there share a bolt and no conductor.
func isGroundBar(p *rules.Pass, pin model.PinID) bool {
	part := p.Netlist.Pin(pin).Owner.Part
	return part != nil && part.Kind.Joined && p.Grounded(pin)
}

// returns is the ground wiring cut at everything that is ground and at the bars that are bolted to it. What then hangs
// together is a piece; all its current leaves by its landings.
type returns struct {
	*rules.Pass
	pieces   *graph.Sets
	landings map[int32][]landing // by piece
	order    []int32             // pieces that reach ground, in the order of the file

	controllers map[int32]*model.Part // see controllerOn
}

func newReturns(p *rules.Pass) *returns {
	r := &returns{Pass: p, pieces: graph.NewSets(len(p.Netlist.Pins)), landings: map[int32][]landing{}}
	for i := range p.Graph.Edges {
		if e := &p.Graph.Edges[i]; carries(e) && !r.isEnd(e.A) && !r.isEnd(e.B) {
			r.pieces.Join(int32(e.A), int32(e.B))
		}
	}
	for i := range p.Graph.Edges {
		e := &p.Graph.Edges[i]
		if !carries(e) || r.isEnd(e.A) == r.isEnd(e.B) {
			continue
		}
		land := landing{edge: e, from: e.A, at: e.B}
		if r.isEnd(e.A) {
			land.from, land.at = e.B, e.A
		}
		root := r.pieces.Find(int32(land.from))
		if r.landings[root] == nil {
			r.order = append(r.order, root)
		}
		r.landings[root] = append(r.landings[root], land)
	}
	return r
}

// carries reports whether an edge is metal that current returns over: outside parts, or through one piece inside a part.
func carries(e *graph.Edge) bool { return e.Kind.Outside() || e.Kind == graph.Common }

func (r *returns) isEnd(pin model.PinID) bool { return r.IsGround(pin) || isGroundBar(r.Pass, pin) }

// onlyWire returns the landing of a piece with a single way out, if that is a wire: what is on the piece shares it.
func (r *returns) onlyWire(root int32) (landing, bool) {
	all := r.landings[root]
	if len(all) != 1 || all[0].edge.Wire == nil {
		return landing{}, false
	}
	return all[0], true
}

// A consumer is something that uses current and returns it over a piece of ground wiring.
type consumer struct {
	part      *model.Part
	load      *model.Load
	ret, feed model.PinID
}

// consumers lists what returns over each piece, in the order of the file. Coils of relays are not among them: a coil
// limits its current to a fraction of an ampere.
func (r *returns) consumers() map[int32][]consumer {
	found := map[int32][]consumer{}
	for _, part := range r.Netlist.Parts {
		for i := range part.Inside.Loads {
			load := &part.Inside.Loads[i]
			for _, c := range []consumer{{part, load, load.B, load.A}, {part, load, load.A, load.B}} {
				if c.ret == model.NoPin || c.feed == model.NoPin || r.isEnd(c.ret) || r.Grounded(c.feed) {
					continue
				}
				if root := r.pieces.Find(int32(c.ret)); r.landings[root] != nil {
					found[root] = append(found[root], c)
					break
				}
			}
		}
	}
	return found
}

// endSpan returns the words that name the ground end of a landing.
func endSpan(p *rules.Pass, land landing) source.Span {
	if w := land.edge.Wire; w != nil {
		if w.To.ID == land.at {
			return w.To.Span
		}
		return w.From.Span
	}
	return p.Graph.Span(graph.Hop{Edge: land.edge, From: land.from, To: land.at})
}

// isJoint reports whether a terminal belongs to something that only joins wires: a splice, an in-line connector, a panel,
// a stud or a bar.
func isJoint(n *model.Netlist, pin model.PinID) bool {
	part := n.Pin(pin).Owner.Device()
	return part == nil || part.Kind.Joined
}
