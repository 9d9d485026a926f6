package seeded_test

import (
	"fmt"
	"math"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
)

// A behaviour is what a harness does and whether it is within its limits, by names that stay when a wire is moved: the
// volts across every consumer and winding in every state, and the verdict on every wire and fuse.
type behaviour struct {
	volts    map[string]float64
	verdicts map[string]string
}

func behaviourOf(n *model.Netlist, g *graph.Graph) behaviour {
	b := behaviour{map[string]float64{}, map[string]string{}}
	routes := route.New(n)
	c := circuit.New(g, routes)
	for _, cond := range g.Conditions() {
		s := c.Solve(cond, circuit.Options{})
		for i := range c.Branches {
			if br := &c.Branches[i]; br.Part != nil && (br.IsConsumer() || br.IsCoil() || br.IsOutput()) {
				volts := s.BranchVolts(i)
				if eitherWay[br.Part.Kind.Name] {
					volts = math.Abs(volts)
				}
				if br.Cranks() && br.Load != nil && math.Abs(volts) >= pullsIn*n.Harness.Volts/12 {
					volts = n.Harness.Volts // a solenoid that pulls in does its work; the motor behind it is looked at by itself
				}
				b.volts[fmt.Sprintf("%s: %s %s-%s", cond.Name(), br.Part.Name.Text, n.Pin(br.A), n.Pin(br.B))] = volts
			}
		}
	}
	sized := sizing.New(g, routes, sizing.Options{})
	for _, w := range sized.Wires {
		b.verdicts[w.Wire.Name.Text] = w.Verdict.String()
	}
	for _, f := range sized.Fuses {
		b.verdicts[f.Part.Name.Text] = f.Verdict.String()
	}
	return b
}

// pullsIn is the voltage at terminal 50 at which the solenoid of a 12 V starter pulls in; an estimate, as in
// netlist/circuit/assume.go.
const pullsIn = 8

// eitherWay are the kinds whose parts do the same when their two terminals are exchanged.
var eitherWay = map[string]bool{"lamp": true, "heater": true, "solenoid": true, "injector": true, "horn": true, "resistor": true, "two-wire sensor": true, "relay": true, "changeover relay": true}

// tolerance is the change of a consumer's voltage that counts as none, as a share of the nominal voltage: a lamp shows no
// difference below 5 % (common practice), and a limit of drop that is crossed shows in the verdicts.
const tolerance = 0.05

// differs says in words the first thing, in the order of names, that two behaviours differ in; empty when in nothing that
// counts. Thicker than needed is no fault, and neither is a wire that is not there where everything has its volts without it.
func (b behaviour) differs(from behaviour, nominal float64) string {
	for _, key := range sortedKeys(from.volts) {
		now, there := b.volts[key]
		if !there || math.Abs(now-from.volts[key]) > tolerance*nominal {
			return fmt.Sprintf("%s has %.2f V for %.2f V", key, now, from.volts[key])
		}
	}
	for _, key := range sortedKeys(from.verdicts) {
		if now, there := b.verdicts[key]; there && now != from.verdicts[key] && now != sizing.Generous.String() && now != sizing.Fits.String() {
			return fmt.Sprintf("%s is %s, and was %s", key, now, from.verdicts[key])
		}
	}
	return ""
}
