package circuit

import (
	"math"

	"ferrule/netlist/conductor"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// setValues sets the conductance and own current of every branch from the voltages of the last round.
func (r *run) setValues() {
	for i := range r.c.Branches {
		r.siemens[i], r.own[i] = 0, 0
		if !r.out[i] {
			r.setValue(i, &r.c.Branches[i])
		}
	}
}

func (r *run) setValue(i int, b *Branch) {
	switch b.law {
	case fixed:
		r.siemens[i] = 1 / b.Ohms
	case wired:
		r.siemens[i] = 1 / r.warm[i]
	case switching:
		if b.relay >= 0 && r.relays[b.relay] == (b.Edge.Kind == graph.Open) || r.closed[i] {
			r.siemens[i] = 1 / b.Ohms
		}
	case winding:
		r.siemens[i] = 1 / b.coilOhms()
	case consumer:
		r.setConsumer(i, b)
	case oneWay:
		if r.modes[i] == carries {
			r.siemens[i], r.own[i] = 1/b.Ohms, -diodeVolts/b.Ohms
		}
	case driving:
		if (r.driven[b.Pin] && !b.Pulls || r.pulled[b.Pin] && b.Pulls) && r.outputs[b.module] {
			r.siemens[i] = 1 / b.Ohms
		}
	case supplying:
		r.setSource(i, b)
	}
}

// ohmsAt is the resistance of a wire with its connections while it carries a current.
func (b *Branch) ohmsAt(amps float64) float64 {
	if b.law != wired {
		return b.Ohms
	}
	return conductor.ResistanceAt(b.Ohms, b.celsiusAt(amps), b.metal) + b.ends
}

// celsiusAt is the temperature of a wire that carries a current for good.
func (b *Branch) celsiusAt(amps float64) unit.Celsius {
	return conductor.Temperature(b.ambient, b.class, unit.Ampere(math.Abs(amps)), b.capacity)
}

// coilOhms is the resistance of a winding at its ambient temperature.
func (b *Branch) coilOhms() float64 {
	return b.Ohms * (1 + coilTemperatureCoefficient*(float64(b.ambient)-20))
}

// setConsumer sets a load: off while a starter's solenoid or a charging generator keeps it so, a source behind its winding
// while it is a motor that others turn.
func (r *run) setConsumer(i int, b *Branch) {
	switch {
	case b.control >= 0 && math.Abs(r.volts[b.control]) < r.c.scale(solenoidVolts):
		return
	case b.excites && r.charging:
		return
	case b.use == converting:
		r.setConverter(i, b)
		return
	}
	share := 1.0
	if r.o.Mean && (r.o.Full == nil || !r.o.Full(b)) {
		share = b.duty
		if warm, slow := r.o.warm[b]; slow {
			share = warm
		}
	}
	if r.turned(b) {
		r.setTurned(i, b, share)
		return
	}
	v := math.Abs(r.volts[i])
	g, slope := r.c.consumed(b, v)
	g, slope = g*share, slope*share
	if b.use == resisting || r.since < 2 {
		r.siemens[i] = g
		return
	}
	// Newton's method, once nothing jumps any more. A tangent of no conductance at all could leave a circuit afloat that is
	// driven by its own consumer; a twentieth of the chord cannot.
	slope = max(slope, g/20)
	r.siemens[i], r.own[i] = slope, (g-slope)*r.volts[i]
}

// setConverter sets the input of a converter to the power that its output gave in the last round, over its efficiency: as a
// conductance, which settles since what feeds it is much stiffer than it is.
func (r *run) setConverter(i int, b *Branch) {
	source := b.converts
	if source < 0 {
		return
	}
	power := -r.amps[source] * r.volts[source] / r.c.Branches[source].gives
	if v := math.Abs(r.volts[i]); r.fed(source) && power > 0 && v > 0 {
		r.siemens[i] = power / (v * v)
	}
}

// fed reports whether a converter has enough at its input to work.
func (r *run) fed(source int32) bool { return !r.starved[source] }

// turned reports whether a branch is a motor that others turn and that generates.
func (r *run) turned(b *Branch) bool {
	return r.o.Turning != nil && b.Edge != nil && generates(b.Part) > 0 && r.o.Turning(b.Part)
}

// generates is the voltage in volt that a motor makes when others turn it; 0 for what makes none.
func generates(p *model.Part) float64 {
	if v := p.Value("generates"); v != nil {
		return max(v.Quantity.Value, 0)
	}
	return 0
}

// setTurned sets a motor that others turn: what it generates, behind the resistance of its winding, and never more current than
// it takes when nothing turns it. That current never falls as the voltage rises and has a kink but no jump, so that there is
// one solution whatever feeds the motor. It is linearised where it stands: of a current whose slope only falls, Newton's steps
// end on one side of the kink.
func (r *run) setTurned(i int, b *Branch, share float64) {
	v, emf, winding := r.volts[i], generates(b.Part), r.c.windingSiemens(b)
	amps, slope := winding*(v-emf), winding
	r.modes[i] = carries
	if g, tangent := r.c.consumed(b, math.Abs(v)); v > emf && g*share*v < amps {
		amps, slope = g*share*v, max(tangent, g/20)*share
		r.modes[i] = rests
	}
	r.siemens[i], r.own[i] = slope, amps-slope*v
}

// consumed is what a load conducts at a voltage, and by how much its current grows for each further volt.
func (c *Circuit) consumed(b *Branch, volts float64) (siemens, slope float64) {
	switch b.use {
	case drawing:
		if volts > b.full {
			return b.spec.Run.Value / volts, 0
		}
		g := b.spec.Run.Value / b.full
		return g, g
	case glowing:
		// Below a twentieth of its voltage a filament is cold, and the law would have it conduct without end.
		v := max(volts, b.full/20)
		g := math.Pow(v/b.full, filamentExponent-1) / b.Ohms
		if volts < v {
			return g, g
		}
		return g, g * filamentExponent
	}
	return 1 / b.Ohms, 1 / b.Ohms
}

// windingSiemens is what a motor conducts that does not turn by its own force: its stall current says, else what it runs on.
func (c *Circuit) windingSiemens(b *Branch) float64 {
	if s := b.spec.Stall; s.IsSet() && s.Value > 0 {
		return s.Value / b.scaleAt(runningVolts)
	}
	g, _ := c.consumed(b, 0)
	return g
}

// setSource is the Norton equivalent of a source: from B to A it drives its voltage over its inner resistance.
func (r *run) setSource(i int, b *Branch) {
	volts, ohms := b.Volts, b.Ohms
	switch b.source {
	case batterySource:
		volts, ohms = r.battery(b)
		if r.volts[i] > volts {
			// A charged battery takes hardly any current back: what lifts its voltage is not its inner resistance.
			ohms = chargeOhms
		}
	case generatorSource, otherSource:
		switch {
		case b.converter() && r.starved[int32(i)], !b.converter() && !r.charging:
			return
		case r.modes[i] == carries:
			r.siemens[i], r.own[i] = leakSiemens, -r.limit(b)
			return
		case r.modes[i] == blocks:
			r.siemens[i] = leakSiemens
			return
		}
	case referenceSource:
		if !r.powered[b.module] {
			return
		}
		if r.modes[i] == carries {
			r.siemens[i], r.own[i] = leakSiemens, -b.Limit
			return
		}
	}
	r.siemens[i], r.own[i] = 1/ohms, -volts/ohms
}

// battery is the open-circuit voltage and inner resistance of a battery under the circumstances.
func (r *run) battery(b *Branch) (volts, ohms float64) {
	volts, ohms = b.Volts, b.Ohms
	if cranks(r.cond) {
		ohms = b.crankOhms
	}
	switch {
	case r.o.BatteryVolts > 0:
		volts = r.o.BatteryVolts
	case r.o.Charge > 0:
		volts *= RestVolts(r.o.Charge) / chargedVolts
	}
	if t := r.o.BatteryCelsius; t != nil {
		ohms *= math.Exp2((25 - float64(*t)) / batteryDoubling)
	}
	return volts, ohms
}

// limit is the most that a source delivers under the circumstances.
func (r *run) limit(b *Branch) float64 {
	if v := b.Part.Value("idle-output"); r.o.Idle && v != nil && v.Quantity.Value > 0 && b.source == generatorSource && b.mainOutput() {
		return v.Quantity.Value
	}
	return b.Limit
}

// elements moves what is not linear: diodes by the voltage across them, sources by the current that they deliver.
func (r *run) elements() bool {
	changed := false
	for i := range r.c.Branches {
		b := &r.c.Branches[i]
		next := r.modes[i]
		switch b.law {
		case oneWay:
			// A diode that conducts holds its own voltage: it goes off when its current turns round.
			if next == rests && r.volts[i] > diodeVolts {
				next = carries
			} else if next == carries && r.amps[i] < 0 {
				next = rests
			}
		case supplying:
			next = r.sourceMode(i, b)
		}
		if next != r.modes[i] {
			r.modes[i], changed = next, true
		}
	}
	return changed
}

// sourceMode is where a source stands that has a limit, and that takes no current back.
func (r *run) sourceMode(i int, b *Branch) mode {
	now := r.modes[i]
	if b.source == batterySource {
		return rests
	}
	limit, delivered := r.limit(b), -r.amps[i]
	switch {
	case now == rests && limit > 0 && delivered > limit*(1+1e-9):
		return carries
	case now == rests && b.source != referenceSource && delivered < -reverseAmps:
		return blocks
	case now == carries && r.volts[i] > b.Volts+atRest, now == blocks && r.volts[i] < b.Volts-atRest:
		return rests
	}
	return now
}
