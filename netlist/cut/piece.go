package cut

import (
	"slices"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An End is one end of a piece.
type End struct {
	Pin      model.PinID // NoPin where the file leads nowhere
	Ref      string      // as the language writes it: "XA:9"
	Terminal *model.Terminal
	Splice   *model.Splice // it ends in this splice, whose barrel stands for the terminal
	Seal     Seal
	Strip    unit.Metre    // of the terminal's sheet; 0 where it is not stated: by the sheet of terminal or barrel
	Shares   []*model.Wire // the others in the same terminal, also supplied ones
	Label    string        // what its label says below the number of the wire: this end, then the other: "XA:9 → X3E:4"
}

// Seal is whether a seal goes over an end before the terminal.
type Seal uint8

// The answers. A terminal whose data the file does not state, in a housing that is sealed, needs one that is not known.
const (
	NoSeal        Seal = iota
	TerminalSeal       // the terminal's, for the insulation that its data give
	SealNotStated      // the housing or device is sealed, and the file does not say what goes there
)

func (p *Plan) pieceOf(w *model.Wire) *Piece {
	piece := &Piece{Wire: w, Ends: [2]End{p.endOf(w, w.From), p.endOf(w, w.To)}}
	piece.Ends[0].Label = piece.Ends[0].Ref + " → " + piece.Ends[1].Ref
	piece.Ends[1].Label = piece.Ends[1].Ref + " → " + piece.Ends[0].Ref
	piece.Sum = p.sumOf(w)
	switch s := &piece.Sum; {
	case w.Length.IsSet():
		piece.Length, piece.Known, piece.Guessed = unit.Metre(w.Length.Value), true, w.KnownFrom.Text == "guess"
	case s.Reached:
		piece.Length, piece.Known = s.Derived, true
		for _, path := range s.Paths {
			piece.Guessed = piece.Guessed || path.KnownFrom.Text == "guess"
		}
	}
	return piece
}

func (p *Plan) endOf(w *model.Wire, ref model.PinRef) End {
	e := End{Pin: ref.ID, Ref: ref.Text}
	if ref.ID == model.NoPin || !ref.IsSet() {
		e.Pin = model.NoPin
		return e
	}
	pin := p.Netlist.Pin(ref.ID)
	e.Ref, e.Terminal, e.Splice = pin.String(), pin.Terminal, pin.Owner.Splice
	switch {
	case e.Splice != nil:
		e.Terminal = nil
	case e.Terminal != nil && e.Terminal.Seal[1].IsSet():
		e.Seal = TerminalSeal
	case e.Terminal == nil && sealed(pin.Owner):
		e.Seal = SealNotStated
	}
	if e.Terminal != nil {
		e.Strip = unit.Metre(e.Terminal.Strip.Value)
	}
	if oneCrimp(pin) {
		for _, other := range p.at[ref.ID] {
			if other != w {
				e.Shares = append(e.Shares, other)
			}
		}
	}
	return e
}

// oneCrimp reports whether the wires at a terminal share one crimp. A splice has a barrel for all of them; on a screw or a
// post, as of a battery, a starter or a stud, each has a ring of its own unless the file says double-crimp = true.
func oneCrimp(pin *model.Pin) bool {
	switch o := pin.Owner; {
	case o.Connector != nil:
		return true
	case o.Part == nil:
		return false
	case pin.DoubleCrimp.On:
		return true
	case o.Part.Kind.Joined || pin.Terminal.IsRing():
		return false
	default:
		return !slices.Contains([]string{"battery", "generator", "starter"}, o.Part.Kind.Symbol)
	}
}

// sealed reports whether wires go through seals into an owner. Fuses and relays in a panel are behind its lid.
func sealed(o *model.Owner) bool {
	switch o.Sort {
	case model.ConnectorOwner:
		return o.Connector.Sealed.On || o.Connector.Part != nil && o.Connector.Part.Sealed.On
	case model.PartOwner:
		return o.Part.Sealed.On && o.Part.Panel == nil
	}
	return false
}

// sumOf adds up what a wire takes over its way.
func (p *Plan) sumOf(w *model.Wire) Sum {
	s := Sum{Written: w.Length.IsSet(), Lay: p.Allowances.Lay}
	from, to := p.routes.PlaceOf(w.From.ID), p.routes.PlaceOf(w.To.ID)
	if from == nil || to == nil {
		return s
	}
	s.Way, s.Paths, s.Reached = p.routes.Between(from, to)
	laid := p.toSplices(w, s.Paths)
	if s.Reached = s.Reached && (from != to || len(laid) > 0); !s.Reached {
		return s
	}
	s.Terms = laid
	for _, id := range [...]model.PinID{w.From.ID, w.To.ID} {
		s.Terms = append(s.Terms, p.atEnd(id)...)
	}
	for _, path := range s.Paths {
		if path.Flex.On {
			s.Terms = append(s.Terms, Term{"bends", path.Name.Text, unit.Metre(p.Allowances.Rock)})
		}
	}
	if w.Slack.IsSet() {
		s.Terms = append(s.Terms, Term{"slack", "", unit.Metre(w.Slack.Value)})
	}
	if w.Cable != nil && isTwisted(w.Cable) {
		s.Twist = p.Allowances.Twist
	}
	s.Exact = unit.Metre(float64(s.Way+s.Added()) * (1 + s.Lay) * (1 + s.Twist))
	s.Derived = roundedUp(float64(s.Exact), p.Allowances.Round)
	return s
}

// atEnd lists what a wire takes at one of its ends; what is nothing is left out.
func (p *Plan) atEnd(id model.PinID) []Term {
	o := p.Netlist.Pin(id).Owner
	terms := []Term{{"end", o.Name.Text, unit.Metre(p.Allowances.Plain)}}
	if sealed(o) {
		terms = append(terms, Term{"sealed", o.Name.Text, unit.Metre(p.Allowances.Sealed)})
	}
	switch c := o.Connector; {
	case c == nil:
	case c.ServiceLoop.IsSet():
		terms = append(terms, Term{"service loop", o.Name.Text, unit.Metre(c.ServiceLoop.Value)})
	case c.Part != nil && c.Part.Kind.Symbol == "module":
		terms = append(terms, Term{"hinge-out", o.Name.Text, unit.Metre(p.Allowances.HingeOut)})
	}
	if place := o.Place(); place != nil && place.ServiceLoop.IsSet() {
		terms = append(terms, Term{"service loop", place.Name.Text, unit.Metre(place.ServiceLoop.Value)})
	}
	some := terms[:0]
	for _, t := range terms {
		if t.Metres > 0 {
			some = append(some, t)
		}
	}
	return some
}
