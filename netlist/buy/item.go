package buy

import (
	"cmp"
	"math"
	"slices"

	"ferrule/netlist/bundle"
	"ferrule/netlist/cut"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/netlist/source"
)

// Input is what a list is made from.
type Input struct {
	Netlist *model.Netlist
	Routes  *route.Routes
	// Plan says how long every wire is cut; nil works it out.
	Plan *cut.Plan
	// Fits are the bundles; nil works them out, which takes longer than all the rest. Without any the list has no covering.
	Fits []bundle.Fit
}

// A Group is a shelf of the shop. The order of the constants is that of the list.
type Group uint8

// The groups.
const (
	Wire Group = iota
	Cable
	Terminals
	Seals
	Housings
	Relays
	Fuses
	Holders
	Small
	Studs
	Splices
	Shrink
	Covering
	Grommets
	Labels
)

var groupTitles = [...]string{"Wire", "Cable", "Terminals", "Seals and cavity plugs", "Housings and locks", "Relays and sockets", "Fuses and breakers",
	"Fuse holders and panels", "Small parts", "Studs and rings", "Splice barrels", "Heat-shrink", "Covering", "Grommets and clips", "Labels"}

// String is the heading of the group.
func (g Group) String() string { return groupTitles[g] }

// An Item is one thing to buy. Amounts are pieces, or metres where Metres is set.
type Item struct {
	Group     Group
	Text      string // names it, in the list as in `[drawer]`: "wire 14 AWG RD 125 C"
	Spec      string // what to ask for
	Metres    bool
	Takes     float64            // what the harness takes
	Need      float64            // with the reserve, rounded up to whole pieces and metres
	Have      float64            // by the drawer
	Buy       float64            // Need less Have, never below 0, rounded up
	Reserve   Reserve            // what Need has beyond Takes
	For       []string           // what takes it: wires, connectors, parts; in the order of the file
	Estimated bool               // the amount or the size rests on a guess of the netlist or on a value of practice
	Entry     *model.DrawerEntry // of the drawer; nil for none

	rank float64 // within its group, before the text
}

// A Reserve is what is bought beyond what the harness takes: a share, and a number of pieces.
type Reserve struct {
	Share  float64
	Spares int
}

// A Gap is one reason why something cannot be specified, with all that has it.
type Gap struct {
	Cause string // "no terminal stated at lamps"
	State string // what to write, and where
	At    []Place
}

// A Place is a thing that the netlist says too little of.
type Place struct {
	Name string
	Span source.Span
}

// A List is what to buy for a harness.
type List struct {
	Items   []*Item // by group, then size, then text
	Gaps    []*Gap  // in the order of their first place in the groups
	Unused  []Unused
	Instead []Instead // other colours in hand that could stand in, by entry of the drawer; proposals only
}

// Of makes the list of a netlist.
func Of(in Input) *List {
	c := newCollector(in)
	if c.Fits == nil {
		c.Fits = bundle.Fits(in.Netlist, in.Routes)
	}
	if c.Plan == nil {
		c.Plan = cut.New(in.Netlist, in.Routes)
	}
	c.wires()
	c.crimps()
	c.housings()
	c.parts()
	c.panels()
	c.splices()
	c.covering()
	c.grommets()
	c.labels()
	return c.finish()
}

// A collector adds up what is needed.
type collector struct {
	Input
	items map[string]*Item
	gaps  map[string]*Gap
	ends  map[model.PinID][]*model.Wire // the wires at a terminal, in the order of the file
	kinds map[string]*reel              // by wireKind
	reels map[*Item]*reel
	list  List
}

func newCollector(in Input) *collector {
	c := &collector{Input: in, items: map[string]*Item{}, gaps: map[string]*Gap{}, kinds: map[string]*reel{}, reels: map[*Item]*reel{}, ends: map[model.PinID][]*model.Wire{}}
	for _, w := range in.Netlist.Wires {
		for _, end := range []model.PinRef{w.From, w.To} {
			if end.IsSet() && end.ID != model.NoPin {
				c.ends[end.ID] = append(c.ends[end.ID], w)
			}
		}
	}
	return c
}

// add adds to an item, which the first call makes. What it is for is told once.
func (c *collector) add(item Item, amount float64, what string) *Item {
	it := c.items[item.Text]
	if it == nil {
		it = &item
		c.items[item.Text] = it
		c.list.Items = append(c.list.Items, it)
	}
	it.Takes += amount
	if what != "" && !slices.Contains(it.For, what) {
		it.For = append(it.For, what)
	}
	it.Estimated = it.Estimated || item.Estimated
	return it
}

// lack records that something cannot be specified. What has the cause twice is named once.
func (c *collector) lack(cause, state string, name model.Name) {
	g := c.gaps[cause]
	if g == nil {
		g = &Gap{Cause: cause, State: state}
		c.gaps[cause] = g
		c.list.Gaps = append(c.list.Gaps, g)
	}
	place := Place{name.Text, name.Span}
	if !slices.Contains(g.At, place) {
		g.At = append(g.At, place)
	}
}

// whole takes away what adding up floats leaves behind, so that 6.9 m / 1.15 does not round up to one metre more.
const whole = 1e-6

// finish rounds, takes the drawer off and sorts.
func (c *collector) finish() *List {
	for _, it := range c.list.Items {
		it.Need = math.Ceil(it.Takes*(1+it.Reserve.Share)-whole) + float64(it.Reserve.Spares)
		it.Buy = it.Need
	}
	slices.SortStableFunc(c.list.Items, func(a, b *Item) int {
		return cmp.Or(cmp.Compare(a.Group, b.Group), cmp.Compare(a.rank, b.rank), cmp.Compare(a.Text, b.Text))
	})
	c.takeOff(c.Netlist.Drawer)
	c.insteads()
	for i := range c.list.Unused {
		c.standIn(&c.list.Unused[i])
	}
	return &c.list
}

// Shares and numbers that a netlist does not set under [reserve]. 15 % of wire and terminals, 25 % of the small sealed ones, spare
// fuses and relays: common practice.
const (
	wireReserve   = 0.15
	crimpReserve  = 0.15
	sealedReserve = 0.25
	spareFuses    = 2
	spareRelays   = 1
)

func share(q model.Quantity, standard float64) Reserve {
	if q.IsSet() {
		return Reserve{Share: q.Value}
	}
	return Reserve{Share: standard}
}

func spares(c model.Count, standard int) Reserve {
	if c.IsSet() {
		return Reserve{Spares: c.Number}
	}
	return Reserve{Spares: standard}
}
