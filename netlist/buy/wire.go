package buy

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// wires adds the reels and the cables.
func (c *collector) wires() {
	var jackets []*model.Cable
	for _, w := range c.Netlist.Wires {
		if w.Supplied.On {
			continue
		}
		if w.Cable != nil && w.Cable.Kind.Text != "twisted pair" && w.Cable.Kind.IsSet() {
			if !slices.Contains(jackets, w.Cable) {
				jackets = append(jackets, w.Cable)
			}
			continue
		}
		c.reel(w)
	}
	for _, it := range c.list.Items {
		if r := c.reels[it]; r != nil {
			it.Spec = c.wireSpec(r)
		}
	}
	for _, cable := range jackets {
		c.jacket(cable)
	}
}

// reel adds a wire that is cut from a reel of its own colour.
func (c *collector) reel(w *model.Wire) {
	switch {
	case !w.Size.IsSet():
		c.lack("wire without a size", `size = "1.5 mm2" in its line`, w.Name)
	case !w.Color.IsSet():
		c.lack("wire without a colour", `color = "RD/BK" in its line`, w.Name)
	default:
		metres, guessed := c.length(w)
		item := c.add(Item{Group: Wire, Metres: true, Reserve: share(c.Netlist.Reserve.Wire, wireReserve), rank: w.Size.AreaMM2(), Text: c.wireText(w), Estimated: guessed},
			metres, w.Name.Text)
		kind := c.wireKind(w)
		if c.kinds[kind] == nil {
			c.kinds[kind] = &reel{wire: w}
		}
		c.reels[item] = c.kinds[kind]
		c.suit(w, c.kinds[kind])
	}
}

// A reel is what all wires of one size, class and metal ask of what is bought, in whatever colours: one sort of cable serves all.
type reel struct {
	wire        *model.Wire
	strands     int     // the most that one asks for
	least, most float64 // outside diameters in mm that all seals of its wires take; most is 0 where there are none
}

// wireText names a reel: "wire 14 AWG RD 125 C".
func (c *collector) wireText(w *model.Wire) string {
	return strings.Replace(c.wireKind(w), w.Size.String(), w.Size.String()+" "+w.Color.String(), 1)
}

// wireKind is wireText without the colour.
func (c *collector) wireKind(w *model.Wire) string {
	text := fmt.Sprintf("wire %s %s", w.Size, c.insulation(w))
	if metal := w.Metal.Text; metal != "" && metal != "copper" {
		text += " " + metal
	}
	return text
}

func (c *collector) insulation(w *model.Wire) unit.Celsius {
	if w.Insulation.IsSet() {
		return unit.Celsius(w.Insulation.Value)
	}
	return c.Netlist.Harness.Insulation
}

// wireSpec says what to ask for.
func (c *collector) wireSpec(r *reel) string {
	metal, size := "copper", r.wire.Size
	if r.wire.Metal.IsSet() {
		metal = r.wire.Metal.Text
	}
	area, _ := conductor.AreaMM2(size, c.Netlist.Harness.Cable)
	spec := fmt.Sprintf("stranded %s, %s, %s or better", metal, c.copper(size, area), c.insulation(r.wire))
	if r.strands > 0 {
		spec += fmt.Sprintf(", %d strands or more", r.strands)
	}
	if r.most > 0 && r.least <= r.most {
		spec += fmt.Sprintf(", outside %s to %s mm for its seals", unit.Format(r.least), unit.Format(r.most))
	}
	return spec
}

// copper says which metal a size means: that of vehicle cable is less than its AWG name says.
func (c *collector) copper(size unit.Size, area float64) string {
	if _, byAWG := size.ByAWG(); !byAWG {
		return unit.Format(area) + " mm2"
	}
	if c.Netlist.Harness.Cable == "AWG" {
		return fmt.Sprintf("%.3g mm2 (full AWG area)", area)
	}
	return fmt.Sprintf("%.3g mm2 (vehicle cable)", area)
}

// suit narrows a reel down to what suits one more wire.
func (c *collector) suit(w *model.Wire, r *reel) {
	r.strands = max(r.strands, w.Strands)
	for _, end := range []model.PinRef{w.From, w.To} {
		if t := c.sealed(end); t != nil {
			r.least = max(r.least, 1000*t.Seal[0].Value)
			if most := 1000 * t.Seal[1].Value; r.most == 0 || most < r.most {
				r.most = most
			}
		}
	}
}

// sealed returns the terminal at a wire's end if it takes a seal there.
func (c *collector) sealed(end model.PinRef) *model.Terminal {
	if !end.IsSet() || end.ID == model.NoPin {
		return nil
	}
	pin := c.Netlist.Pin(end.ID)
	t := pin.Terminal
	if t == nil || !t.Seal[1].IsSet() || !closed(pin.Owner) {
		return nil
	}
	return t
}

// closed reports whether what owns the terminal keeps water out.
func closed(o *model.Owner) bool {
	switch {
	case o.Connector != nil:
		return o.Connector.Sealed.On
	case o.Part != nil:
		return o.Part.Sealed.On
	}
	return false
}

// length returns the length in metres to which a wire is cut, 0 with a gap where it is not known, and whether it rests on a guess.
func (c *collector) length(w *model.Wire) (metres float64, guessed bool) {
	piece := c.Plan.Piece(w)
	if !piece.Known {
		c.lack("wire whose length is not known", "length in its line, or the places of both ends and the paths between them", w.Name)
	}
	return float64(piece.Length), piece.Guessed
}

// jacket adds a cable whose cores are bought in one: as long as its longest core.
func (c *collector) jacket(cable *model.Cable) {
	longest, guessed, area := 0.0, false, 0.0
	var sizes, colors []string
	for _, w := range cable.Wires {
		if w.Supplied.On {
			return // the cable comes with what it belongs to
		}
		if !w.Size.IsSet() {
			c.lack("wire without a size", `size = "1.5 mm2" in its line`, w.Name)
			return
		}
		sizes, area = append(sizes, w.Size.String()), max(area, w.Size.AreaMM2())
		colors = append(colors, w.Color.String())
		metres, guess := c.length(w)
		longest, guessed = max(longest, metres), guessed || guess
	}
	item := Item{
		Group: Cable, Metres: true, Reserve: share(c.Netlist.Reserve.Wire, wireReserve), rank: area, Estimated: guessed,
		Text: fmt.Sprintf("%s %s %s", cable.Kind.Text, bunch(sizes), c.insulation(cable.Wires[0])),
		Spec: fmt.Sprintf("%d cores (here %s), %s or better", len(sizes), strings.Join(colors, ", "), c.insulation(cable.Wires[0])),
	}
	if strings.HasPrefix(cable.Kind.Text, "screened") {
		item.Spec += ", screen with a drain wire"
	}
	c.add(item, longest, cable.Name.Text)
}

// bunch writes sizes together: "2 x 20 AWG", "1.5 mm2 + 2.5 mm2", one alone as it is.
func bunch(sizes []string) string {
	var parts []string
	for i := 0; i < len(sizes); {
		n := 1
		for i+n < len(sizes) && sizes[i+n] == sizes[i] {
			n++
		}
		if n > 1 {
			parts = append(parts, fmt.Sprintf("%d x %s", n, sizes[i]))
		} else {
			parts = append(parts, sizes[i])
		}
		i += n
	}
	return strings.Join(parts, " + ")
}
