package circuit

import (
	"math"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// An Estimate is a number of the trade that stands in for what no file states, and how often it does: the resistances of contacts
// and joints, and the ambient temperature where no zone states one.
type Estimate struct {
	What, Taken string // "splice, each leg", "0.3 mohm"
	Count       int
}

// estimate counts a resistance that is taken, and returns it.
func (c *Circuit) estimate(what string, ohms float64) float64 {
	c.estimateAs(what, unit.Ohm(ohms).String())
	return ohms
}

func (c *Circuit) estimateAs(what, taken string) {
	for i := range c.Estimates {
		if e := &c.Estimates[i]; e.What == what {
			e.Count++
			return
		}
	}
	c.Estimates = append(c.Estimates, Estimate{what, taken, 1})
}

// estimateAmbients counts the wires and fuses whose ambient is not stated.
func (c *Circuit) estimateAmbients() {
	for i := range c.Branches {
		switch b := &c.Branches[i]; {
		case b.ambientKnown:
		case b.law == wired:
			c.estimateAs("ambient of wires whose places and paths have no zone with a temperature", roomCelsius.String())
		case b.protects():
			c.estimateAs("ambient of fuses whose place has no zone with a temperature", roomCelsius.String())
		}
	}
}

// estimatedVolts is the part of the drop of a branch that rests on such an estimate: connections of wires, contacts and joints whose
// resistance the file does not state, or calls a guess.
func (s *Solution) estimatedVolts(branch int) float64 {
	return math.Abs(s.Amps[branch]) * s.Circuit.Branches[branch].estimated
}

// estimatedShare is the share of a number that may rest on estimates before the number is marked as resting on them; chosen here.
const estimatedShare = 0.1

// GuessedWire reports whether the length or another number of a wire branch is a guess of the file: its own, or that of a path
// that gives it its length.
func (b *Branch) GuessedWire() bool {
	if b.Wire == nil {
		return false
	}
	return b.Wire.KnownFrom.Text == "guess" || b.guessed
}

// AmbientKnown reports whether a zone states the ambient temperature of a wire or fuse branch.
func (b *Branch) AmbientKnown() bool { return b.ambientKnown }

// guessedPaths reports whether a wire takes its length from paths of which one is guessed.
func guessedPaths(w *model.Wire, paths []*model.Path) bool {
	if w.Length.IsSet() {
		return false
	}
	for _, p := range paths {
		if p.KnownFrom.Text == "guess" {
			return true
		}
	}
	return false
}
