package buy

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// A Crimp is one end that is crimped at the bench: the wires that go into one barrel.
type Crimp struct {
	Pin   *model.Pin
	Wires []*model.Wire // the thickest first
	// The terminal by its definition; nil for a ring, and where the netlist does not say.
	Terminal *model.Terminal
	// What is crimped on, as the buy list names it; empty where the netlist does not say.
	Item string
	Ring bool
}

// Crimps returns the ends of all wires that are made at the bench, terminal by terminal in the order of the netlist; splices are
// not among them. Wires that share a terminal share a crimp.
func Crimps(in Input) []Crimp {
	return newCollector(in).crimped()
}

func (c *collector) crimped() []Crimp {
	var crimps []Crimp
	for i := range c.Netlist.Pins {
		pin := &c.Netlist.Pins[i]
		wires := c.made(pin.ID)
		if len(wires) == 0 || pin.Owner.Sort == model.SpliceOwner {
			continue
		}
		crimps = append(crimps, c.crimpsAt(pin, wires)...)
	}
	return crimps
}

// crimpsAt returns the crimps at a terminal. In a cavity or on a tab wires share one; under a screw each has a ring of its own, unless
// the netlist says double-crimp.
func (c *collector) crimpsAt(pin *model.Pin, wires []*model.Wire) []Crimp {
	if !pin.DoubleCrimp.On && (bolted(pin) || bolts(pin)) {
		var crimps []Crimp
		for i := range wires {
			crimps = append(crimps, crimpOf(pin, wires[i:i+1]))
		}
		return crimps
	}
	return []Crimp{crimpOf(pin, wires)}
}

func crimpOf(pin *model.Pin, wires []*model.Wire) Crimp {
	switch t := pin.Terminal; {
	case t != nil:
		return Crimp{Pin: pin, Wires: wires, Terminal: t, Item: terminalText(t, pin.Owner.Connector)}
	case bolted(pin):
		return Crimp{Pin: pin, Wires: wires, Ring: true, Item: ringText(pin, wires)}
	}
	return Crimp{Pin: pin, Wires: wires}
}

// bolts reports whether several terminals can go on one post of a part, as on a battery.
func bolts(pin *model.Pin) bool {
	return pin.Terminal.IsRing() || pin.Owner.Part != nil && slices.Contains([]string{"battery", "generator", "starter"}, pin.Owner.Part.Kind.Symbol)
}

// made returns the wires at a terminal that are cut at the bench, the thickest first.
func (c *collector) made(id model.PinID) []*model.Wire {
	var wires []*model.Wire
	for _, w := range c.ends[id] {
		if !w.Supplied.On {
			wires = append(wires, w)
		}
	}
	slices.SortStableFunc(wires, func(a, b *model.Wire) int { return cmp.Compare(b.Size.AreaMM2(), a.Size.AreaMM2()) })
	return wires
}

// crimps adds terminals, seals and rings.
func (c *collector) crimps() {
	for _, crimp := range c.crimped() {
		switch {
		case crimp.Ring:
			c.ring(crimp)
		case crimp.Item != "":
			c.terminal(crimp)
		case !c.brings(crimp.Pin.Owner):
			c.noTerminal(crimp.Pin.Owner)
		}
	}
}

// brings reports whether the terminals for a part come with something else that is on the list: a relay's with its socket, those of a
// fuse by itself with its holder.
func (c *collector) brings(o *model.Owner) bool {
	if o.Part == nil || o.Part.Supplied.On {
		return false
	}
	switch o.Part.Kind.Name {
	case "relay", "changeover relay", "flasher":
		return true
	case "fuse":
		return o.Part.Panel == nil
	}
	return false
}

// noTerminal records an end of which the netlist does not say what is crimped on.
func (c *collector) noTerminal(o *model.Owner) {
	switch {
	case o.Sort == model.ConnectorOwner:
		c.lack("cavity without a terminal", `terminal = "NAME" in the connector, and [terminal.NAME]`, o.Name)
	case o.Sort == model.PanelOwner || o.Part.Panel != nil:
		c.lack("end in a panel, whose terminals come with it or are bought for it", `terminal = "NAME" in the part, where they are bought; a terminal of the panel itself: by hand`, o.Name)
	default:
		c.lack("end at a device without a terminal", `terminal = "NAME" in the part, and [terminal.NAME]; not where the device has screws or a lead of its own`, o.Name)
	}
}

// contactsOf returns "pin" or "socket" for what is crimped on for a cavity, or an empty text. The halves of a pair carry one each.
func contactsOf(con *model.Connector) string {
	if con.Contacts.IsSet() {
		return strings.TrimSuffix(con.Contacts.Text, "s")
	}
	if con.Mate != nil && con.Mate.Contacts.IsSet() {
		if con.Mate.Contacts.Text == "pins" {
			return "socket"
		}
		return "pin"
	}
	return ""
}

// terminalText names a terminal: "terminal sealed-15 socket".
func terminalText(t *model.Terminal, con *model.Connector) string {
	text := "terminal " + t.Name.Text
	if con != nil && contactsOf(con) != "" {
		text += " " + contactsOf(con)
	}
	return text
}

func (c *collector) terminal(crimp Crimp) {
	t := crimp.Terminal
	item := Item{Group: Terminals, Text: crimp.Item, Spec: terminalSpec(t), Reserve: c.crimpReserve(t), Estimated: t.KnownFrom.Text == "guess", rank: t.Wire[1].AreaMM2()}
	c.add(item, 1, crimp.Pin.Owner.Name.Text)
	if con := crimp.Pin.Owner.Connector; con != nil && contactsOf(con) == "" {
		c.lack("connector that does not say whether it carries pins or sockets", `contacts = "sockets" or "pins"`, con.Name)
	}
	if !t.Plating.IsSet() {
		c.lack("terminal without a plating", `plating = "tin", "silver" or "gold": both halves of a pair alike`, t.Name)
	}
	if !t.Wire[1].IsSet() {
		c.lack("terminal without a wire range", `wire = ["22 AWG", "16 AWG"]`, t.Name)
	}
	c.seal(crimp)
}

func terminalSpec(t *model.Terminal) string {
	var words []string
	if t.Title.IsSet() {
		words = append(words, t.Title.Text)
	}
	if t.Plating.IsSet() {
		words = append(words, t.Plating.Text+" plated")
	}
	if t.Wire[1].IsSet() {
		words = append(words, fmt.Sprintf("wire %s to %s", t.Wire[0], t.Wire[1]))
	}
	if t.Seal[1].IsSet() {
		words = append(words, "insulation "+sealRange(t))
	}
	if t.Rating.IsSet() {
		words = append(words, unit.Ampere(t.Rating.Value).String())
	}
	return strings.Join(words, ", ")
}

func sealRange(t *model.Terminal) string {
	return unit.Format(1000*t.Seal[0].Value) + "-" + unit.Format(1000*t.Seal[1].Value) + " mm"
}

// smallMM2 is the thickest conductor that a small terminal takes. That small sealed terminals are lost and spoilt more often is
// common practice; where small ends is an estimate.
const smallMM2 = 1.5

func (c *collector) crimpReserve(t *model.Terminal) Reserve {
	if t.Seal[1].IsSet() && t.Wire[1].IsSet() && t.Wire[1].AreaMM2() <= smallMM2 {
		return share(c.Netlist.Reserve.SmallSealed, sealedReserve)
	}
	return share(c.Netlist.Reserve.Terminals, crimpReserve)
}

// seal adds the wire seal of a terminal in a housing that keeps water out.
func (c *collector) seal(crimp Crimp) {
	t, o := crimp.Terminal, crimp.Pin.Owner
	switch {
	case !closed(o):
	case !t.Seal[1].IsSet():
		c.lack("terminal without a seal range, in something sealed", `seal = ["1.4 mm", "2.4 mm"], the insulation that its seal takes`, t.Name)
	default:
		item := Item{Group: Seals, Text: "wire seal " + t.Name.Text + " " + sealRange(t), Reserve: c.crimpReserve(t), Estimated: t.KnownFrom.Text == "guess",
			Spec: "single wire seal, for the cavities of " + t.Name.Text, rank: t.Seal[1].Value}
		c.add(item, 1, o.Name.Text)
	}
}

// studKinds are the kinds that several rings are stacked on.
var studKinds = []string{"ground point", "stud", "bus bar"}

// bolted reports whether a wire ends there in a ring: at studs and grounds, at a case and at bolt-in fuses, and at what delivers or
// takes hundreds of amperes, which has bolts by common practice. A battery has posts, bolts or tabs: that must be stated.
func bolted(pin *model.Pin) bool {
	p := pin.Owner.Part
	switch {
	case p == nil:
		return pin.Owner.Sort == model.BodyOwner
	case slices.Contains(studKinds, p.Kind.Name), word(p, "family") == "bolt-in", pin.Name == model.CasePin:
		return true
	case p.Kind.Symbol == "generator" || p.Kind.Symbol == "starter":
		return pin.Role == catalog.SupplyOut || pin.Role == catalog.Cranking
	}
	return false
}

// threadOf returns the thread that a ring goes on, or an empty text.
func threadOf(o *model.Owner) string {
	if o.Part == nil {
		return ""
	}
	if v := o.Part.Value("thread"); v != nil {
		return v.Word.Text
	}
	return ""
}

// ringText names the ring at a stud for the wires in it, the thickest first: "ring terminal 6 mm2 M8".
func ringText(pin *model.Pin, wires []*model.Wire) string {
	var sizes []string
	for _, w := range wires {
		if !w.Size.IsSet() {
			return ""
		}
		sizes = append(sizes, w.Size.String())
	}
	return strings.TrimSpace("ring terminal " + bunch(sizes) + " " + threadOf(pin.Owner))
}

// RingName names the ring for wires at a bolt, or the terminal that the netlist states there; empty where a wire has no size.
func RingName(pin *model.Pin, wires []*model.Wire) string {
	if pin.Terminal != nil {
		return terminalText(pin.Terminal, pin.Owner.Connector)
	}
	return ringText(pin, wires)
}

func (c *collector) ring(crimp Crimp) {
	o := crimp.Pin.Owner
	if crimp.Item == "" {
		return // a wire without a size, which is told with the wire
	}
	hole := "hole for " + threadOf(o)
	if threadOf(o) == "" {
		c.noThread(o)
		hole = "hole not stated"
	}
	sum := 0.0
	for _, w := range crimp.Wires {
		area, _ := conductor.AreaMM2(w.Size, c.Netlist.Harness.Cable)
		sum += area
	}
	spec := fmt.Sprintf("tinned copper, barrel %.3g mm2, %s", sum, hole)
	if len(crimp.Wires) > 1 {
		spec += fmt.Sprintf(", %d wires in one barrel", len(crimp.Wires))
	}
	c.add(Item{Group: Studs, Text: crimp.Item, Spec: spec, Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve), rank: ringRank + sum}, 1, o.Name.Text)
	c.ringSleeve(crimp)
}

// ringRank puts rings behind the bolts that they go on.
const ringRank = 1000

// noThread records a bolt of which the thread is not known, so that neither it nor its rings can be ordered.
func (c *collector) noThread(o *model.Owner) {
	if o.Part != nil && o.Part.Kind.Takes("thread") {
		c.lack("bolt without a thread", `thread = "M8" in the ground point or stud, for the bolt and the holes of its rings`, o.Name)
		return
	}
	c.lack("ring at a device, whose bolt cannot be stated", "measure the bolt of the device", o.Name)
}
