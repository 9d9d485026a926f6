package routing

import (
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "noise-pickup", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a sensor wire lies beside a wire that throws noise",
	Doc: `In the vehicle the crank sensor counts a tooth that is none each time the coil fires beside it, and the engine misses. The rule takes
the signal wires of sensors and what throws noise: the primary wires of ignition coils, cables of the starter and of its
solenoid, the output of a generator, leads of cooling fans. It fires where both lie in the same paths for more than 0.3 m.

A warning where the sensor is an inductive pickup, which gives less than a volt at cranking, or a knock sensor, both of whose wires are
signals, and its wires are in no screened or twisted cable: one for each sensor. Slow and filtered sensors, such as temperature, pressure and throttle, and sensors
that switch, bear more: a note, one for each noisy part with all that lies beside it.

A wire in a screened cable or a twisted pair is silent; so are wires that only cross, since they share no path.

Give the sensor a screened pair, or lay the noisy wire 100 mm off, by paths of its own.`,
	Sources: []string{"common practice: 100 mm between sensor wires and coil, starter, alternator and fan leads, or crossing at right angles; 0.3 m together bears no notice"},
	Settings: []rules.Setting{{Key: "together", Dim: unit.Length, Default: 0.3,
		Doc: "how far a sensor wire may lie beside a noisy one; common practice"}},
	Bad:  noiseExample("twisted pair", false),
	Good: noiseExample("twisted pair", true),
	Run: func(p *rules.Pass) {
		l := layOf(p)
		noisy := l.noisyOn(noisyWires(p))
		slow, weak := map[*model.Part]*neighbours{}, map[*model.Part]*neighbours{} // by noisy part, by sensor
		var order, sensors []*model.Part
		for _, s := range sensorWires(p) {
			beside, metres := l.loudest(s.wire, noisy)
			if beside == nil || metres <= p.Setting("together")*(1+1e-9) {
				continue
			}
			if s.weak {
				if weak[s.sensor] == nil {
					weak[s.sensor] = &neighbours{beside: beside}
					sensors = append(sensors, s.sensor)
				}
				weak[s.sensor].add(s, metres)
				continue
			}
			if slow[beside.part] == nil {
				slow[beside.part] = &neighbours{beside: beside}
				order = append(order, beside.part)
			}
			slow[beside.part].add(s, metres)
		}
		for _, sensor := range sensors {
			reportWeak(p, sensor, weak[sensor])
		}
		for _, part := range order {
			reportSlow(p, slow[part])
		}
	},
})

func noiseExample(kind string, paired bool) string {
	text := `[place]
A = {}
B = {}
[path]
A-B = { between = ["A", "B"], length = "1 m" }
[part]
B1 = { kind = "inductive sensor", at = "B", pin.3.unused = true }
T1 = { kind = "ignition coil", load = "8 A", at = "B", pin.15.unused = true }
A1 = { kind = "module", at = "A", pins = ["1", "2", "3"] }
[wire]
W1 = { from = "B1:1", to = "A1:1", size = "22 AWG" }
W2 = { from = "B1:2", to = "A1:2", size = "22 AWG" }
W3 = { from = "T1:1", to = "A1:3", size = "18 AWG" }
`
	if paired {
		text += `[cable]
C1 = { kind = "` + kind + `", wires = ["W1", "W2"] }
`
	}
	return text
}

// A sensorWire leads a signal of a sensor. It is weak where the signal is.
type sensorWire struct {
	wire   *model.Wire
	sensor *model.Part
	weak   bool
}

// sensorWires lists the signal wires of sensors that are neither screened nor twisted.
func sensorWires(p *rules.Pass) []sensorWire {
	var out []sensorWire
	for _, w := range p.Netlist.Wires {
		if !w.Wired() || w.Cable != nil && w.Cable.Kind.Text != "cable" {
			continue
		}
		for _, end := range [...]model.PinID{w.From.ID, w.To.ID} {
			part := p.Netlist.Pin(end).Owner.Device()
			if part != nil && part.Kind.Symbol == "sensor" && part.Kind.Name != "gauge sender" && p.Netlist.Pin(end).Role == catalog.Signal {
				out = append(out, sensorWire{w, part, weakSignal(p, part)})
				break
			}
		}
	}
	return out
}

// weakSignal reports whether a sensor makes its signal itself: an inductive pickup, or a pair both of whose wires are signals.
func weakSignal(p *rules.Pass, part *model.Part) bool {
	if part.Kind.Name == "inductive sensor" {
		return true
	}
	signals := 0
	for _, id := range part.Terminals() {
		if p.Netlist.Pin(id).Role == catalog.Signal {
			signals++
		}
	}
	return part.Kind.Name == "two-wire sensor" && signals > 1
}

// A noisyWire is a wire that throws noise, and what part makes it.
type noisyWire struct {
	wire *model.Wire
	part *model.Part
	what string
}

// noisyWires lists the wires at the terminals of noisy parts, by the wire's index.
func noisyWires(p *rules.Pass) map[*model.Wire]*noisyWire {
	out := map[*model.Wire]*noisyWire{}
	for _, part := range p.Netlist.Parts {
		for _, id := range part.Terminals() {
			what := noise(p, part, p.Netlist.Pin(id))
			if what == "" {
				continue
			}
			for _, w := range p.Graph.WiresAt(id) {
				if out[w] == nil && (w.Cable == nil || !strings.HasPrefix(w.Cable.Kind.Text, "screened")) {
					out[w] = &noisyWire{w, part, what}
				}
			}
		}
	}
	return out
}

// noise says what a wire at a terminal carries, empty for what bears silence.
func noise(p *rules.Pass, part *model.Part, pin *model.Pin) string {
	switch part.Kind.Name {
	case "ignition coil":
		if pin.Role == catalog.Load || pin.Role == catalog.Supply {
			return "the coil wire"
		}
	case "starter":
		if pin.Role == catalog.Cranking || pin.Role == catalog.Load {
			return "the starter wire"
		}
	case "alternator", "dynamo":
		if pin.Role == catalog.SupplyOut {
			return "the generator's output"
		}
	case "motor":
		if part.Function.Text == "cooling fan" || part.Function.Text == "" && strings.Contains(" "+strings.ToLower(part.Title.Text)+" ", "fan ") {
			return "the fan lead"
		}
	}
	return ""
}

// noisyOn lists the noisy wires of each path: few, where a path may hold thousands.
func (l *lay) noisyOn(noisy map[*model.Wire]*noisyWire) map[*model.Path][]*noisyWire {
	on := map[*model.Path][]*noisyWire{}
	for path, wires := range l.on {
		for _, w := range wires {
			if n := noisy[w]; n != nil {
				on[path] = append(on[path], n)
			}
		}
	}
	return on
}

// loudest finds the noisy wire that a wire lies beside for longest.
func (l *lay) loudest(w *model.Wire, noisy map[*model.Path][]*noisyWire) (*noisyWire, float64) {
	var best *noisyWire
	most := 0.0
	together := map[*noisyWire]float64{}
	for _, path := range l.ways[w.Index] {
		for _, n := range noisy[path] {
			if n.wire == w {
				continue
			}
			together[n] += path.Length.Value
			if together[n] > most+1e-9 {
				best, most = n, together[n]
			}
		}
	}
	return best, most
}

func reportWeak(p *rules.Pass, sensor *model.Part, n *neighbours) {
	noisy := n.beside
	refs := append(slices.Clone(n.wires), sensor.Name.Text, noisy.wire.Name.Text, noisy.part.Name.Text)
	d := p.Report(n.first.Name.Span, refs, "%s of %s %s beside %s %s of %s for %s, neither screened nor twisted", rules.And(n.wires), titled(sensor),
		rules.Plural(len(n.wires), "lies", "lie"), noisy.what, noisy.wire.Name.Text, noisy.part.Name.Text, unit.Metre(n.metres))
	d.Help = fmt.Sprintf("make it a screened pair ([cable] with kind = \"screened pair\"), or lay %s by other paths", noisy.wire.Name.Text)
	d.Related = []diag.Related{{Span: noisy.wire.Name.Span, Message: "the noisy one"}}
}

func titled(part *model.Part) string {
	if part.Title.IsSet() {
		return part.Name.Text + " (" + part.Title.Text + ")"
	}
	return part.Name.Text
}

// neighbours are the wires that lie beside what one part makes noise on.
type neighbours struct {
	beside  *noisyWire
	metres  float64
	first   *model.Wire
	wires   []string
	sensors []string
}

func (n *neighbours) add(s sensorWire, metres float64) {
	n.metres = max(n.metres, metres)
	if n.first == nil {
		n.first = s.wire
	}
	n.wires = append(n.wires, s.wire.Name.Text)
	if !slices.Contains(n.sensors, s.sensor.Name.Text) {
		n.sensors = append(n.sensors, s.sensor.Name.Text)
	}
}

func reportSlow(p *rules.Pass, n *neighbours) {
	refs := append([]string{n.beside.wire.Name.Text, n.beside.part.Name.Text}, n.wires...)
	d := p.ReportAs(diag.Note, n.beside.wire.Name.Span, refs, "%s %s of %s lies beside the signals of %s for up to %s", n.beside.what, n.beside.wire.Name.Text,
		titled(n.beside.part), rules.Few(n.sensors), unit.Metre(n.metres))
	d.Help = "they bear it if the controller filters them; else lay the noisy wire 100 mm off, or take screened cable"
}
