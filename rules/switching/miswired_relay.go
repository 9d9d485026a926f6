package switching

import (
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "miswired-relay", Severity: diag.Error, Harm: rules.Strands, Since: "0.2",
	Title: "a relay can never pull in, always pulls in, or works at rest",
	Doc: `In the vehicle a relay whose coil and contact are mixed up does nothing at all, or is on for good and empties the battery
within days. The rule lets every switch stand in any position and every output of a module be on, and looks whether the coil
can then lie between supply and ground. It fires where that is not possible whatever anybody does: both ends on supply, both
on ground, or one end that comes to ground only through a consumer, as happens when 85 and 87 or 86 and 30 are changed over.
It fires too where no switch, no contact and no output lies in the way of the coil, so that the relay always pulls in, and,
as a warning, where a consumer hangs on the contact 87a that is joined at rest while 87 stays empty: it works as long as the
relay does not, all night too. The same warning goes to a relay with a fuse on 87a and ground on 87: what hangs on 30 works at rest
and stops when the relay pulls in.

Wire the coil to 86 and 85 and the load to 30 and 87 (DIN 72552); sockets differ in where these lie, so go by the numbers
moulded in the relay. Silent are relays whose coil goes to something of which the file does not say what it does: a terminal
of a module without a role, the half of a connector whose other half is in another file. Silent are consumers on 87a that say
works-off = true, and relays where 87 is used for a feed too.`,
	Sources: []string{"DIN 72552 and ISO 7588-1 for the terminals of relays (testdata/reference/relay-iso7588.csv)", "common practice"},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch" }
K1 = { kind = "relay" }
M1 = { kind = "motor", load = "10 A", pin.2.net = "GROUND" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "K1:30" }
W2 = { from = "BAT1:+", to = "S1:1" }
W3 = { from = "S1:2", to = "K1:86" }
W4 = { from = "K1:85", to = "M1:1" }
W5 = { from = "K1:87", to = "G1:1" }
W6 = { from = "M1:2", to = "G1:2" }
W7 = { from = "BAT1:-", to = "G1:3" }
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch" }
K1 = { kind = "relay" }
M1 = { kind = "motor", load = "10 A", pin.2.net = "GROUND" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "K1:30" }
W2 = { from = "BAT1:+", to = "S1:1" }
W3 = { from = "S1:2", to = "K1:86" }
W4 = { from = "K1:87", to = "M1:1" }
W5 = { from = "K1:85", to = "G1:1" }
W6 = { from = "M1:2", to = "G1:2" }
W7 = { from = "BAT1:-", to = "G1:3" }
`,
	Run: func(p *rules.Pass) {
		web := reach.New(p.Facts)
		if !web.Whole() {
			return
		}
		m := &miswired{ends: lookAround(p)}
		m.most = web.Flow(reach.Ask{Free: reach.Any, Outputs: reach.AnyOutput})
		m.least = web.Flow(reach.Ask{Outputs: reach.NoOutput, Out: hasContacts})
		m.rest = web.Flow(reach.Ask{Outputs: reach.NoOutput})
		for _, c := range m.coils() {
			m.coil(c.edge)
		}
		for _, part := range p.Netlist.Parts {
			if part.Kind.Name == "changeover relay" && !part.Spare.On {
				m.restContact(part)
			}
		}
	},
})

func hasContacts(p *model.Part) bool {
	in := &p.Inside
	return len(in.Open)+len(in.Closed)+len(in.Positions) > 0
}

type miswired struct {
	*ends
	most, least, rest *reach.Flow // with every switch and output as it may be, with none closed, with all at rest
}

func (m *miswired) coil(c *graph.Edge) {
	switch {
	case m.unsaid[m.Solid(c.A)] || m.unsaid[m.Solid(c.B)]:
	case m.least.Works(c.A, c.B):
		d := m.Report(reach.Named(m.Facts, c.A), []string{c.Part.Name.Text, m.name(c.A), m.name(c.B)},
			"%s is always pulled in: nothing switches %s or %s", titled(c.Part), m.name(c.A), m.name(c.B))
		d.Help = "lead one end of the coil over the switch or the output that is to work the relay; without one, leave the relay out"
	case !m.most.Works(c.A, c.B):
		m.never(c)
	}
}

// never says which end of a coil comes to nothing. Of two ends that both fail, the one whose wrong neighbour shows is named.
func (m *miswired) never(c *graph.Edge) {
	at, why := c.A, ""
	liveA, groundA, liveB, groundB := m.most.Live(c.A), m.most.Ground(c.A), m.most.Live(c.B), m.most.Ground(c.B)
	switch {
	case liveA && liveB:
		at, why = c.B, fmt.Sprintf("%s and %s both lie on supply", m.name(c.A), m.name(c.B))
	case groundA && groundB:
		at, why = c.A, fmt.Sprintf("%s and %s both lie on ground", m.name(c.A), m.name(c.B))
	case liveA || groundA:
		at, why = c.B, m.missing(c.B, liveA, groundA)
	case liveB || groundB:
		why = m.missing(c.A, liveB, groundB)
	default:
		why = m.missing(c.A, false, false)
	}
	d := m.Report(reach.Named(m.Facts, at), []string{c.Part.Name.Text, m.name(at)}, "%s can never pull in: %s", titled(c.Part), why)
	d.Help = fmt.Sprintf("the coil is %s and %s; lead one to supply and one to ground, with the switch or output in one of the two ways", m.name(c.A), m.name(c.B))
}

// missing says what an end lacks whose other end has supply or ground.
func (m *miswired) missing(at model.PinID, otherLive, otherGround bool) string {
	wants := "supply or ground"
	switch {
	case otherLive && !otherGround:
		wants = "ground"
	case otherGround && !otherLive:
		wants = "supply"
	}
	for _, e := range m.loads[m.Fed(at)] {
		return fmt.Sprintf("%s comes to %s only through %s", m.name(at), wants, titled(e.Part))
	}
	return fmt.Sprintf("%s comes to no %s in any position of the switches", m.name(at), wants)
}

// restContact looks at consumers on a contact that is joined at rest, where the other contact stays empty.
func (m *miswired) restContact(p *model.Part) {
	make87, ok := p.Owner.Pin("87")
	rest87a, has := p.Owner.Pin("87a")
	if ok && has && m.Grounded(make87) && m.fuseAt(rest87a) {
		m.changedOver(p, make87, rest87a)
		return
	}
	if !ok || !has || m.Graph.Reached(make87) || !m.Graph.Reached(rest87a) {
		return
	}
	for _, e := range m.loads[m.Fed(rest87a)] {
		if load := &e.Part.Inside.Loads[e.Index]; load.WorksOff.On || !m.rest.Works(e.A, e.B) {
			continue
		}
		d := m.ReportAs(diag.Warning, reach.Named(m.Facts, rest87a), []string{p.Name.Text, m.name(rest87a), e.Part.Name.Text},
			"%s works while %s is at rest: it hangs on 87a, and 87 is empty", titled(e.Part), titled(p))
		d.Help = fmt.Sprintf("move the wire from %s to %s; if the load is to work until the relay pulls in, say works-off = true of it", m.name(rest87a), m.name(make87))
		return
	}
}

// fuseAt reports whether wires lead from a terminal to a fuse.
func (m *miswired) fuseAt(pin model.PinID) bool {
	return slices.ContainsFunc(m.Graph.NetOf(pin).Pins, func(id model.PinID) bool {
		part := m.Netlist.Pin(id).Owner.Part
		return part != nil && len(part.Inside.Protects) > 0
	})
}

// changedOver reports a relay that feeds a consumer at rest and grounds it when it pulls in.
func (m *miswired) changedOver(p *model.Part, make87, rest87a model.PinID) {
	common, ok := p.Owner.Pin("30")
	if !ok {
		return
	}
	for _, e := range m.loads[m.Fed(common)] {
		if e.Part.Inside.Loads[e.Index].WorksOff.On {
			continue
		}
		d := m.ReportAs(diag.Warning, reach.Named(m.Facts, rest87a), []string{p.Name.Text, m.name(rest87a), e.Part.Name.Text},
			"%s works while %s is at rest: the feed is on 87a, and 87 is on ground", titled(e.Part), titled(p))
		d.Help = fmt.Sprintf("exchange what goes to %s and %s; if the load is to work until the relay pulls in, say works-off = true of it", m.name(make87), m.name(rest87a))
		d.Fixes = m.Exchange(make87, rest87a, false)
		return
	}
}
