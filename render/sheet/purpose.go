package sheet

import (
	"cmp"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// Function says what a terminal is for, in the words that a person at the vehicle uses: what the file says it does; else
// what it is inside its device, a contact or the supply side of a fuse; else what is at the far end of its wires, which for
// a cavity of an in-line pair is what lies behind the other half. Only where nothing of that is known it is the stated
// name of the net, or the role.
func (s *Set) Function(id model.PinID) string {
	pin := s.Netlist.Pin(id)
	if pin.Does.IsSet() {
		return pin.Does.Text
	}
	if pin.Owner.Part != nil {
		if inside := cmp.Or(s.insideWords(pin), roleWords[pin.Role], s.sideWords(pin)); inside != "" {
			return inside
		}
	} else if far := s.farTitles(id); far != "" {
		return far
	}
	switch net := s.Graph.NetOf(id); {
	case net.Stated && pin.Owner.Sort != model.SpliceOwner:
		return net.Name
	case pin.Role == catalog.Passive:
		return ""
	}
	return string(pin.Role)
}

// roleWords are the words for roles that tell what a terminal of a part is for.
var roleWords = map[catalog.Role]string{
	catalog.Ground: "ground", catalog.Return: "sensor ground", catalog.Reference: "sensor supply", catalog.Signal: "signal",
	catalog.Bus: "data bus", catalog.Screen: "screen",
}

// sideWords says on which side of a consumer a terminal is: on the side of the ground, on that of the feed or, where neither
// a source nor ground reaches it without a driven output, on the side that is switched.
func (s *Set) sideWords(pin *model.Pin) string {
	switch {
	case pin.Name == model.CasePin:
		return "case"
	case pin.Role != catalog.Load || !s.Graph.Reached(pin.ID):
		return ""
	case s.groundOf(s.Graph.NetOf(pin.ID)) != "":
		return "ground side"
	case s.fromSources(pin.ID) < notFed:
		return "feed side"
	}
	return "switched side"
}

// farTitles names what is at the far ends of the wires of a cavity or of a terminal of a panel.
func (s *Set) farTitles(id model.PinID) string {
	if s.Netlist.Pin(id).Owner.Splice != nil {
		return ""
	}
	from := id
	if mated, ok := s.mated(id); ok {
		from = mated
	}
	var titles []string
	for _, w := range s.WiresAt(from) {
		if title := s.farTitle(s.FarEnd(w, from)); title != "" && !slices.Contains(titles, title) {
			titles = append(titles, title)
		}
	}
	if len(titles) > mostTitles {
		return strings.Join(titles[:mostTitles], ", ") + " and others"
	}
	return strings.Join(titles, ", ")
}

// mostTitles is how many far ends are named.
const mostTitles = 3

// farTitle is what the far end does there, or what it is called.
func (s *Set) farTitle(end FarEnd) string {
	if end.Pin == model.NoPin {
		return ""
	}
	if pin := s.Netlist.Pin(end.Pin); pin.Does.IsSet() {
		return pin.Does.Text
	}
	return cmp.Or(end.Title, end.Ref)
}

// insideWords says what a terminal of a part is inside the part; empty where its inside tells nothing.
func (s *Set) insideWords(pin *model.Pin) string {
	var others, words []string // by what it is joined to; and when
	add := func(other, when string) {
		if i := slices.Index(others, other); i >= 0 {
			if !slices.Contains(strings.Split(words[i], ", "), when) {
				words[i] += ", " + when
			}
			return
		}
		others, words = append(others, other), append(words, when)
	}
	plain := ""
	for _, id := range s.Graph.At(pin.ID) {
		e := s.Graph.Edge(id)
		if e.Part != pin.Owner.Part || e.Part == nil {
			continue
		}
		other := e.Part.Owner.PinName(e.Other(pin.ID))
		switch e.Kind {
		case graph.Protect:
			plain = cmp.Or(plain, s.fuseSide(pin.ID, e.Other(pin.ID)))
		case graph.Open:
			add(other, actuated(e.Part))
		case graph.Closed:
			add(other, "at rest")
		case graph.Position:
			add(other, e.Part.Inside.Positions[e.Position].Name.Text)
		case graph.Coil:
			plain = cmp.Or(plain, "coil")
		case graph.Diode:
			plain = cmp.Or(plain, diodeEnd(e, pin.ID))
		case graph.Source:
			plain = cmp.Or(plain, sourceEnd(e, pin.ID))
		case graph.Load:
			if title := e.Part.Inside.Loads[e.Index].Title.Text; title != e.Part.Title.Text && s.groundOf(s.Graph.NetOf(pin.ID)) == "" {
				plain = cmp.Or(plain, title)
			}
		}
	}
	for i := range others {
		others[i] = "to " + others[i] + ": " + words[i]
	}
	return cmp.Or(strings.Join(others, "; "), plain)
}

// actuated says when the open contacts of a part are closed.
func actuated(p *model.Part) string {
	switch {
	case len(p.Inside.Coils) > 0:
		return "pulled in"
	case p.Kind.Name == "momentary switch":
		return "pressed"
	}
	return "on"
}

func diodeEnd(e *graph.Edge, id model.PinID) string {
	switch {
	case e.Part.Kind.Name != "diode":
		return ""
	case e.A == id:
		return "anode"
	}
	return "cathode, marked end"
}

func sourceEnd(e *graph.Edge, id model.PinID) string {
	if e.A == id {
		return "plus"
	}
	return "minus"
}

// fuseSide says on which side of a fuse a terminal is: the one with fewer fuses to a source is the supply side.
func (s *Set) fuseSide(id, other model.PinID) string {
	here, there := s.fromSources(id), s.fromSources(other)
	switch {
	case here == there && here == notFed:
		return "not fed"
	case here == there:
		return "can be fed from both sides"
	case here < there:
		return "supply side"
	}
	return "load side"
}

// fromSources is the least number of fuses between a source and a terminal.
func (s *Set) fromSources(id model.PinID) int {
	if s.fuses == nil {
		s.fuses = fusesFromSources(s)
	}
	return s.fuses[id]
}

// notFed is the count of fuses of a terminal that no source reaches.
const notFed = 1 << 30

// fusesFromSources counts for every terminal the least number of fuses between it and the live pole of a source, over
// conductors, diodes and contacts, whatever position these are in.
func fusesFromSources(s *Set) []int {
	count := make([]int, len(s.Netlist.Pins))
	for i := range count {
		count[i] = notFed
	}
	var level, next []model.PinID
	reach := func(list []model.PinID, id model.PinID, fuses int) []model.PinID {
		if id == model.NoPin || count[id] <= fuses {
			return list
		}
		count[id] = fuses
		return append(list, id)
	}
	for _, p := range s.Netlist.Parts {
		for _, source := range p.Inside.Sources {
			level = reach(level, s.poles(source).live, 0)
		}
	}
	for fuses := 0; len(level) > 0; fuses++ {
		for i := 0; i < len(level); i++ { // grows while it is gone through
			for _, edge := range s.Graph.At(level[i]) {
				switch e := s.Graph.Edge(edge); {
				case e.Kind == graph.Protect:
					next = reach(next, e.Other(level[i]), fuses+1)
				case e.Kind.Conducts() || e.Kind.Contact() || e.Kind == graph.Diode:
					level = reach(level, e.Other(level[i]), fuses)
				}
			}
		}
		level, next = next, nil
	}
	return count
}
