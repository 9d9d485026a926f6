package buy

import (
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An Instead is a reel of another colour that is in hand and could stand in for one that is to be bought. It is a proposal and takes
// nothing off the list: the trade allows it where a tag at both ends of every wire says the colour of the netlist.
type Instead struct {
	For     *Item
	Entry   *model.DrawerEntry
	Color   unit.Color
	Spare   float64  // metres in hand beyond what the harness takes of that colour itself
	Clashes []string // what it lies beside in the same colour: "XA: 24a"
}

// insteads finds the reels in hand that could stand in for others: of the same size, class and metal, and as much of it as the wires
// take, without the reserve. Colours that the plan keeps for ground or for permanent supply neither stand in nor are stood in for.
func (c *collector) insteads() {
	for _, e := range c.Netlist.Drawer {
		color, kind, ok := reelOf(e)
		if !ok || c.kept(color) {
			continue
		}
		spare := e.Amount
		for _, it := range c.list.Items {
			if it.Entry == e {
				spare = max(0, spare-it.Takes)
			}
		}
		for _, it := range c.list.Items {
			r := c.reels[it]
			if r == nil || it.Buy == 0 || it.Entry == e || model.PlainItem(c.wireKind(r.wire)) != kind || it.Takes-it.Have > spare+whole {
				continue
			}
			if own, _, ok := reelOf(&model.DrawerEntry{Item: model.Name{Text: it.Text}, Length: true}); ok && !c.kept(own) && own != color {
				c.list.Instead = append(c.list.Instead, Instead{For: it, Entry: e, Color: color, Spare: spare, Clashes: c.clashes(it, color)})
			}
		}
	}
}

// reelOf reads the name of a reel, "wire 14 AWG RD 125 C": its colour, and the rest as PlainItem writes it.
func reelOf(e *model.DrawerEntry) (color unit.Color, kind string, ok bool) {
	words := strings.Fields(model.PlainItem(e.Item.Text))
	if !e.Length || len(words) < 5 || words[0] != "wire" {
		return color, "", false
	}
	color, err := unit.ParseColor(strings.ToUpper(words[3]))
	return color, strings.Join(slices.Delete(words, 3, 4), " "), err == nil
}

// kept reports whether the plan keeps a base colour for ground or for permanent supply.
func (c *collector) kept(color unit.Color) bool {
	base := func(n model.Name) bool { return n.Text == color.Base }
	return slices.ContainsFunc(c.Netlist.Colors.Ground, base) || slices.ContainsFunc(c.Netlist.Colors.Permanent, base)
}

// clashes lists the wires of a colour that end in the same connectors or devices as those of an item.
func (c *collector) clashes(it *Item, color unit.Color) []string {
	var list []string
	for _, name := range it.For {
		w := c.Netlist.Wire(name)
		if w == nil {
			continue
		}
		for _, end := range [...]model.PinRef{w.From, w.To} {
			if !end.IsSet() || end.ID == model.NoPin {
				continue
			}
			owner := c.Netlist.Pin(end.ID).Owner
			if owner.Sort == model.SpliceOwner || owner.Joined {
				continue // what ends there is one net
			}
			for _, pin := range owner.Pins {
				for _, other := range c.ends[pin] {
					if text := owner.Name.Text + ": " + other.Name.Text; other != w && other.Color == color && !slices.Contains(list, text) {
						list = append(list, text)
					}
				}
			}
		}
	}
	return list
}

// standIn says of an entry that takes nothing off what it could stand in for, so that a reel of another colour is not taken for a slip of
// the pen: renaming it would take red wire off the list for green wire in the drawer.
func (c *collector) standIn(u *Unused) {
	color, kind, ok := reelOf(u.Entry)
	if !ok || u.WrongUnit {
		return
	}
	if near, nearKind, ok := reelOf(&model.DrawerEntry{Item: model.Name{Text: u.Near}, Length: true}); ok {
		if near == color || nearKind != kind {
			return // the colour is right and something else is not
		}
		u.Near, u.Help = "", "no wire of that size has this colour; take the line out when the harness has no use for it"
	}
	var names []string
	for _, i := range c.list.Instead {
		if i.Entry == u.Entry {
			names = append(names, i.For.Text)
		}
	}
	if len(names) > 0 {
		u.Help = "with a tag at both ends that says the colour of the netlist it could stand in for " + strings.Join(names, " or ") + "; `ferrule list FILE buy` proposes it and takes nothing off"
	}
}
