package circuit

import (
	"math"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An OutputReport is an output of a module that the state drives.
type OutputReport struct {
	Branch     int
	Pin        *model.Pin
	Pulls      bool    // it joins to ground: a low-side output, or a half bridge that is pulled
	Amps, Mean float64 // with everything on that the state drives, and over time
	Limit      float64 // 0 when not stated
	Volts      float64 // that it loses itself
	Estimated  bool    // its on-resistance is not stated
	Coil       string  // the part whose coil it switches; empty when it switches none
	Clamp      string  // where the kick of that coil goes when it is switched off, in words; empty when nothing is stated
}

// Over reports whether the output carries more than its limit. Its driver feels the peak, not the mean.
func (o *OutputReport) Over() bool { return o.Limit > 0 && o.Amps > o.Limit*(1+1e-9) }

// addOutput reports an output that is on.
func (r *Report) addOutput(i int, b *Branch) {
	c := r.Solution.Circuit
	pin := c.Netlist.Pin(b.Pin)
	o := OutputReport{Branch: i, Pin: pin, Pulls: b.B == c.modules[b.module].ground, Amps: math.Abs(r.Solution.Amps[i]), Mean: math.Abs(r.Mean.Amps[i]),
		Limit: b.Limit, Volts: math.Abs(r.Solution.across[i]), Estimated: b.Ohms == driverOhms && !pin.Resistance.IsSet()}
	if coil := c.coilAt(b.Pin); coil != nil {
		o.Coil, o.Clamp = coil.Name.Text, clampOf(pin, coil)
	}
	r.Outputs = append(r.Outputs, o)
}

// coilAt finds something with a winding on the net of a terminal, over fuses too; nil when there is none.
func (c *Circuit) coilAt(pin model.PinID) *model.Part {
	seen := map[model.PinID]bool{pin: true}
	queue := []model.PinID{pin}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, id := range c.Graph.At(at) {
			e := c.Graph.Edge(id)
			switch {
			case e.Kind == graph.Coil, e.Kind == graph.Load && wound(e.Part):
				return e.Part
			case e.Kind == graph.Source:
				return nil // a rail, and not what this output switches
			case e.Kind.Outside() || e.Kind == graph.Protect:
				if next := e.Other(at); !seen[next] {
					seen[next] = true
					queue = append(queue, next)
				}
			}
		}
	}
	return nil
}

// wound reports whether a consumer stores energy in a winding that kicks when it is switched off.
func wound(p *model.Part) bool {
	switch p.Kind.Name {
	case "solenoid", "injector", "ignition coil", "motor", "starter", "horn":
		return true
	}
	return false
}

// clampOf says where the kick of a coil goes, by what is stated of the output and of the coil. How much energy that is depends on
// the inductance, which no file states.
func clampOf(pin *model.Pin, coil *model.Part) string {
	text := ""
	switch pin.Clamp.Text {
	case "ground", "supply":
		text = "clamped to " + pin.Clamp.Text + " in the output"
	}
	if v := pin.ClampVolts; v.IsSet() && v.Value > 0 {
		if text == "" {
			text = "clamped in the output"
		}
		text += " at " + unit.Volt(v.Value).String()
	}
	if text != "" {
		return text
	}
	if v := coil.Value("suppression"); v != nil && v.Word.IsSet() && v.Word.Text != "none" {
		return v.Word.Text + " across the coil of " + coil.Name.Text
	}
	if pin.Clamp.Text == "none" {
		return "nothing catches it"
	}
	return ""
}
