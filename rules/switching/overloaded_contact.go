package switching

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
	"ferrule/rules/reach"
)

var _ = rules.Register(&rules.Rule{
	Name: "overloaded-contact", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a contact switches more than it is made for",
	Doc: `The rating of a relay is for a resistive load. Filament lamps take ten times their current for some milliseconds, and motors
three to four times for a second; a contact that is rated for the running current alone welds, and the lamp or the pump stays
on. The rule takes the currents of every state that is described. Of a relay it counts what lamps take against half of the
rating, what motors take against 60 %, and what goes through a contact that is joined at rest against three quarters; the
shares add up. Above the rating that is an error. A hand switch is held against its rating as it stands, since that is stated for
its use, and too much is a warning: the switch runs hot and its feel goes.

Take a larger relay, share the load between two, or have the switch work a relay. What runs for a part of the time counts with
its root mean square. Silent are contacts without a rating, which no-data lists, and states whose relays come to no rest.`,
	Sources: []string{"common practice: lamps at most 50 %, motors at most 50 to 60 % of the resistive rating (from memory)", "ISO 7588-1: 40 A make and 30 A break contact of a mini relay (testdata/reference/relay-iso7588.csv)"},
	Settings: []rules.Setting{
		{Key: "lamp-share", Dim: unit.Share, Default: 0.5, Doc: "the share of a relay's rating that filament lamps may take; common practice"},
		{Key: "motor-share", Dim: unit.Share, Default: 0.6, Doc: "the share of a relay's rating that motors may take; common practice"},
	},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", rating = "2 A" }
E1 = { kind = "lamp", load = "55 W" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "S1:2", to = "E1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "G1:1", size = "14 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "1 m" }
[state.on]
switches = { S1 = "on" }
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
S1 = { kind = "switch", rating = "10 A" }
E1 = { kind = "lamp", load = "55 W" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "S1:1", size = "14 AWG", length = "1 m" }
W2 = { from = "S1:2", to = "E1:1", size = "14 AWG", length = "1 m" }
W3 = { from = "E1:2", to = "G1:1", size = "14 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "1 m" }
[state.on]
switches = { S1 = "on" }
`,
	Run: func(p *rules.Pass) {
		worst := map[*model.Part]burden{}
		for i, r := range p.Reports() {
			if !steady(r.Solution) {
				continue
			}
			through := loadsByPart(r)
			for j := range r.Contacts {
				k := &r.Contacts[j]
				b := weigh(p, r, k, through[k.Part])
				b.state = p.Conditions[i].Name()
				if old, seen := worst[k.Part]; !seen || b.share > old.share*(1+1e-6) {
					worst[k.Part] = b
				}
			}
		}
		for _, part := range p.Netlist.Parts {
			if b, seen := worst[part]; seen {
				b.report(p, part)
			}
		}
	},
})

// steady reports whether the numbers of a solution can be judged.
func steady(s *circuit.Solution) bool { return s.Err == nil && s.Settled && len(s.Cycle) == 0 }

// A burden is what the contacts of a part carry in one state.
type burden struct {
	amps          float64 // that it switches: of lamps and motors while they are on, of the rest what warms it
	contact       circuit.ContactReport
	share         float64 // of what it may carry; 0 when the rating is not stated
	lamps, motors float64 // ampere of these while they are on
	resting       bool    // the current goes through a contact that is joined at rest
	state         string
	loads         []string
}

// loadsByPart lists the consumers that are fed or grounded through the contacts of each part.
func loadsByPart(r *circuit.Report) map[*model.Part][]*circuit.LoadReport {
	out := map[*model.Part][]*circuit.LoadReport{}
	c := r.Solution.Circuit
	for i := range r.Loads {
		l := &r.Loads[i]
		for at := range l.Drop.Chain() {
			e := c.Branches[at].Edge
			if e == nil || !e.Kind.Contact() {
				continue
			}
			if known := out[e.Part]; len(known) == 0 || known[len(known)-1] != l {
				out[e.Part] = append(known, l)
			}
		}
	}
	return out
}

// restShare is the share of its rating that the contact of a changeover relay carries that is joined at rest: 30 of 40 A
// (ISO 7588-1).
const restShare = 0.75

func weigh(p *rules.Pass, r *circuit.Report, k *circuit.ContactReport, loads []*circuit.LoadReport) burden {
	b := burden{contact: *k}
	c := r.Solution.Circuit
	for _, l := range loads {
		if !touches(c, l, k) {
			continue
		}
		amps := math.Abs(l.Amps) // while it is on: a contact does not cool in the pauses of a fan that runs for minutes
		b.loads = append(b.loads, l.Ref)
		switch c.Branches[l.Branch].Part.Kind.Name {
		case "lamp":
			b.lamps += amps
		case "motor", "starter":
			b.motors += amps
		}
	}
	if k.Rating <= 0 {
		return b
	}
	if len(k.Part.Inside.Coils) == 0 {
		b.share, b.amps = k.Share(), k.RMS
		return b
	}
	rest := max(0, k.RMS-b.lamps-b.motors)
	b.amps = b.lamps + b.motors + rest
	b.share = (b.lamps/p.Setting("lamp-share") + b.motors/p.Setting("motor-share") + rest) / k.Rating
	if b.resting = restingContact(r, k); b.resting {
		b.share /= restShare
	}
	return b
}

// touches reports whether the way of a consumer goes over the terminal whose current is reported.
func touches(c *circuit.Circuit, l *circuit.LoadReport, k *circuit.ContactReport) bool {
	for at := range l.Drop.Chain() {
		if e := c.Branches[at].Edge; e != nil && e.Part == k.Part && (e.A == k.Terminal || e.B == k.Terminal) {
			return true
		}
	}
	return false
}

func restingContact(r *circuit.Report, k *circuit.ContactReport) bool {
	c := r.Solution.Circuit
	most, resting := 0.0, false
	for i := range c.Branches {
		if e := c.Branches[i].Edge; e != nil && e.Part == k.Part && e.Kind.Contact() && math.Abs(r.Solution.Amps[i]) > most {
			most, resting = math.Abs(r.Solution.Amps[i]), e.Kind == graph.Closed
		}
	}
	return resting
}

func (b *burden) report(p *rules.Pass, part *model.Part) {
	relay := len(part.Inside.Coils) > 0
	if b.contact.Rating <= 0 {
		if relay || part.Kind.Symbol == "switch" {
			p.Lacks("rating of the contacts", `add rating = "10 A"`, part.Name.Span, part.Name.Text)
		}
		return
	}
	if b.share <= 1+1e-6 {
		return
	}
	severity := diag.Warning
	if relay {
		severity = diag.Error
	}
	allowed := b.amps / b.share
	has, may := rules.Apart(b.amps, allowed, "A", amperes)
	message := fmt.Sprintf("%s switches %s at %s in state %s", titled(part), has, p.Netlist.Pin(b.contact.Terminal), b.state)
	if allowed < b.contact.Rating*(1-1e-6) {
		message += fmt.Sprintf(": of its %s it may switch %s%s", amperes(b.contact.Rating), may, b.because())
	} else {
		message += fmt.Sprintf(", made for %s", may)
	}
	d := p.ReportAs(severity, reach.ValueSpan(p.Netlist, part, "rating"), append([]string{part.Name.Text}, b.loads...), "%s", message)
	d.Help = fmt.Sprintf("take one rated %s or more, or share the load between two", amperes(math.Ceil(b.contact.Rating*b.share)))
	if !relay {
		d.Help += "; a relay takes the current off a switch"
	}
}

func (b *burden) because() string {
	var why []string
	if b.lamps > 0 {
		why = append(why, "lamps take many times that when they light")
	}
	if b.motors > 0 {
		why = append(why, "motors take several times that when they start")
	}
	if b.resting {
		why = append(why, "the contact that is joined at rest carries less")
	}
	return ", since " + strings.Join(why, " and ")
}

func amperes(a float64) string { return unit.Ampere(a).String() }
