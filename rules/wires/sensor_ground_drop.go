package wires

import (
	"math"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "sensor-ground-drop", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "the return of a sensor loses volts that its signal is then wrong by",
	Doc: `In the vehicle every millivolt between a sensor's ground and the module's is added to what the sensor says: 5 mV of 5 V is a
tenth of a percent, a heater of 1 A in the same wire makes a lie of 100 mV on every sensor behind it. The readings drift
with load and nobody finds out why.

The rule solves every state and measures from the return terminal of each sensor to the sensor ground pin of the module on the same
net. A sensor that switches, such as a Hall sensor fed with battery volts, stands 100 mV. What measures nothing, because no module
is on the net or no current flows, is silent; a
return that meets power ground is said by sensor-ground-tied; silent too is what passes the limit by less than a twentieth: resistances are not known better.

Take what is no sensor off that wire, give it a ground of its own, or take a thicker wire up to the splice.`,
	Sources: []string{"common practice: 5 mV, a tenth of a percent of 5 V; 100 mV for sensors that switch"},
	Settings: []rules.Setting{
		{Key: "analog", Dim: unit.Voltage, Default: 0.005, Doc: "what the return of a sensor may lose whose signal is a voltage; common practice"},
		{Key: "switching", Dim: unit.Voltage, Default: 0.1, Doc: "the same of a sensor that switches; common practice"},
	},
	Bad:  sensorExample("22 AWG"),
	Good: sensorExample("8 AWG"),
	Run: func(p *rules.Pass) {
		worst := map[model.PinID]*worse[returnDrop]{}
		returns := sensorReturns(p)
		for cond, r := range settled(p) {
			for _, pair := range returns {
				v, known := r.Solution.Across(pair.A, pair.B)
				if known && math.Abs(v) > p.Setting(returnKey(p, pair.A))*withinEstimates {
					if worst[pair.A] == nil {
						worst[pair.A] = &worse[returnDrop]{}
					}
					worst[pair.A].take(math.Abs(v), returnDrop{cond, r, pair})
				}
			}
		}
		seen := map[*model.Wire]bool{}
		for _, pair := range returns {
			if at := worst[pair.A]; at != nil {
				reportReturn(p, at.by, at.what, seen)
			}
		}
	},
})

func sensorExample(size string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
A1 = { kind = "module", pins = ["1", "2", "3", "4", "5"], pin.1 = { role = "supply", load = "1 A" }, pin.2.role = "ground", pin.3.role = "reference", pin.4.role = "signal", pin.5.role = "return" }
B1 = { kind = "three-wire sensor", load = "0.1 A" }
[wire]
W1 = { from = "BAT1:+", to = "A1:1", size = "12 AWG", length = "0.1 m" }
W2 = { from = "A1:2", to = "BAT1:-", size = "12 AWG", length = "0.1 m" }
W3 = { from = "A1:3", to = "B1:1", size = "22 AWG", length = "2 m" }
W4 = { from = "A1:4", to = "B1:2", size = "22 AWG", length = "2 m" }
W5 = { from = "A1:5", to = "B1:3", size = "` + size + `", length = "2 m" }
`
}

// returnDrop is the drop between a sensor's return and the module's in a state.
type returnDrop struct {
	cond   *graph.Condition
	report *circuit.Report
	pair   model.Pair // of the sensor, of the module
}

// sensorReturns pairs the return terminals of sensors with the sensor ground pin of the module on the same net.
func sensorReturns(p *rules.Pass) []model.Pair {
	module := map[graph.NetID]model.PinID{}
	tied := map[graph.NetID]bool{} // to power ground: sensor-ground-tied says so, and the drop is its doing
	for i := range p.Netlist.Pins {
		if id := model.PinID(i); p.IsGround(id) {
			tied[p.Graph.NetOf(id).ID] = true
		}
	}
	for _, part := range p.Netlist.Parts {
		if part.Kind.Symbol != "module" {
			continue
		}
		for _, id := range part.Terminals() {
			if net := p.Graph.NetOf(id).ID; p.Netlist.Pin(id).Role == catalog.Return && !tied[net] {
				if _, taken := module[net]; !taken {
					module[net] = id
				}
			}
		}
	}
	var pairs []model.Pair
	for _, part := range p.Netlist.Parts {
		if part.Kind.Symbol != "sensor" {
			continue
		}
		for _, id := range part.Terminals() {
			if at, ok := module[p.Graph.NetOf(id).ID]; ok && p.Netlist.Pin(id).Role == catalog.Return {
				pairs = append(pairs, model.Pair{A: id, B: at})
			}
		}
	}
	return pairs
}

// returnKey is the setting that holds for a sensor: one that is fed with battery volts switches.
func returnKey(p *rules.Pass, pin model.PinID) string {
	for _, id := range p.Netlist.Pin(pin).Owner.Device().Terminals() {
		if p.Netlist.Pin(id).Role == catalog.Supply {
			return "switching"
		}
	}
	return "analog"
}

// reportReturn says it once for each wire that takes most: the sensors behind one splice share it.
func reportReturn(p *rules.Pass, lost float64, x returnDrop, seen map[*model.Wire]bool) {
	net := p.Graph.NetOf(x.pair.A).ID
	var most *circuit.WireReport
	for i := range x.report.Wires {
		w := &x.report.Wires[i]
		if w.Wire.Wired() && p.Graph.NetOf(w.Wire.From.ID).ID == net && (most == nil || w.Volts > most.Volts) {
			most = w
		}
	}
	if most == nil || seen[most.Wire] {
		return
	}
	seen[most.Wire] = true
	sensor, pin := p.Netlist.Pin(x.pair.A).Owner.Device(), p.Netlist.Pin(x.pair.B).String()
	loses, allowed := rules.Apart(lost, p.Setting(returnKey(p, x.pair.A)), "V", volts)
	d := p.Report(place(most.Wire).Span, []string{most.Wire.Name.Text, sensor.Name.Text, pin},
		"the return of %s loses %s on its way to %s %s, allowed are %s; %s carries %s and takes %s of it", titled(sensor.Name.Text, sensor.Title.Text),
		loses, pin, inState(x.cond), allowed, most.Wire.Name.Text, amperes(most.Amps), volts(most.Volts))
	d.Help = "take what is no sensor off this return, or take a thicker wire to the module"
}
