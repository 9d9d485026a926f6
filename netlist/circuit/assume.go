package circuit

import (
	"math"

	"ferrule/netlist/model"
	"ferrule/netlist/unit"
)

// Numbers that stand in where a netlist states none. Estimates are marked so: they are starting values of the trade and
// from no standard. A part can state its own.
const (
	mateOhms      = 0.004  // a mated pair of small terminals; estimate
	bladeOhms     = 0.0025 // a mated 6.3 mm blade; estimate
	ringOhms      = 0.0005 // a ring on a stud; estimate
	heavyRingOhms = 0.0001 // a ring of a cable from 12 mm2 up on its stud: half of what practice allows, 50 mV a joint at 200 A
	heavyBoltOhms = 0.0002 // a starter or alternator in its flange, a stud that takes such a cable; estimate from the same limit
	boltedOhms    = 0.001  // a stud in its metal, and the metal to the next stud; estimate 0.5 to 2 mohm
	spliceOhms    = 0.0003 // a crimped splice, each leg; estimate
	linkOhms      = 0.0002 // a bus bar from terminal to terminal; estimate
	commonOhms    = 0.002  // joined pins inside a device; estimate
	contactOhms   = 0.006  // a relay contact with its base; estimate
	switchOhms    = 0.010  // a hand switch; estimate
	insideOhms    = 0.0002 // a contact inside a generator, whose regulator holds the volts behind it; estimate
	driverOhms    = 0.15   // a low-side or high-side output that is on; estimate
	referenceOhms = 0.5    // a 5 V sensor supply; estimate
	diodeVolts    = 0.7    // a silicon diode that conducts
	diodeOhms     = 0.05
	converterOhms = 0.01  // how far a converter gives way under load; estimate
	otherOhms     = 0.5   // a source of which nothing is known; estimate
	generatorOhms = 0.005 // how far a regulated generator gives way under load; estimate
)

// Voltages for a nominal 12 V; other systems scale with their nominal voltage.
const (
	chargedVolts  = 12.65 // open-circuit, full lead-acid battery at 25 C; common practice
	regulated     = 14.2  // what a generator holds when the file does not say; common practice
	nominalVolts  = 12.0  // at which watts are stated
	runningVolts  = 13.5  // at which currents are stated: a vehicle that charges; the test voltage of UN Regulation 37, from memory
	pullInVolts   = 8.0   // relay, cold coil; ISO 7588 practice (testdata/reference/relay-iso7588.csv)
	dropOutVolts  = 2.0   // within 1 to 3.5 V; common practice
	poweredVolts  = 6.0   // below which a controller drives nothing; common practice
	referenceVolt = 5.0
	crankPosts    = 10.0 // at the posts of a battery that turns a starter: 9.5 to 10 V; job practice
	crankingVolts = 9.0  // at a starter, for which its current is stated: the posts less a loop at its limit; job practice
	solenoidVolts = 6.4  // at terminal 50, from which a starter's motor runs; estimate, below the 8 V that it needs to pull in
)

// Numbers of the iteration that stand for nothing in the vehicle.
const (
	leakSiemens = 1e-6 // keeps the terminals of a source together that is at its limit or blocks
	reverseAmps = 1e-6 // less current the wrong way than that is rounding
)

// coilTemperatureCoefficient is that of copper, per kelvin at 20 C; the voltages of relays are stated for coilReference, in C.
const (
	coilTemperatureCoefficient = 0.00393
	coilReference              = 23
)

// batteryDoubling is how many kelvin colder a lead-acid battery has twice its inner resistance. Estimate.
const batteryDoubling = 45

// RestVolts is the open-circuit voltage of a 12 V lead-acid battery after hours of rest, at a share of its charge from 0 to
// 1: 12.65 V full, 12.24 V half, 11.89 V empty, and straight lines between. Common practice.
func RestVolts(share float64) float64 {
	table := [...]float64{11.89, 12.06, 12.24, 12.45, 12.65}
	at := min(max(share, 0), 1) * float64(len(table)-1)
	i := min(int(at), len(table)-2)
	return table[i] + (table[i+1]-table[i])*(at-float64(i))
}

// converterShare is the part of the power taken that a converter gives: 85 to 95 % at half of its load and up; estimate.
const converterShare = 0.9

// filamentExponent: the current of an incandescent lamp grows with about the 0.55th power of its voltage. Common practice
// of lamp engineering; the light grows with the 3.4th.
const filamentExponent = 0.55

// batteryOhmsAt60Ah is the inner resistance of a warm charged starter battery of 60 Ah; others go by their capacity.
// Estimate.
const batteryOhmsAt60Ah = 0.008

// chargeOhms stands for how a nearly full battery takes charge: some 3 A at 0.8 V above its rest voltage. Estimate.
const chargeOhms = 0.25

// roomCelsius stands in for zones that state no ambient temperature.
const roomCelsius unit.Celsius = 40

// scale turns a 12 V number into one of the harness's nominal voltage.
func (c *Circuit) scale(volts float64) float64 { return volts * c.Netlist.Harness.Volts / 12 }

// Assumption is a number that the file does not state and that the solution rests on.
type Assumption struct {
	Part  *model.Part
	What  string // "inner resistance"
	Taken string // "8 mohm"
}

// Missing is a number without which something cannot be solved; the rest is solved without it.
type Missing struct {
	Ref  string
	At   model.Name
	What string // what is missing
	Add  string // what to write
}

func (c *Circuit) assume(p *model.Part, what, taken string) {
	c.Assumptions = append(c.Assumptions, Assumption{p, what, taken})
}

// heavyMM2 is the area from which a cable is made for a starter or a main feed: 6 AWG and up.
const heavyMM2 = 12

// zoneCelsius is the ambient temperature of a place; false when its zone states none.
func zoneCelsius(p *model.Place) (unit.Celsius, bool) {
	if p == nil || p.Zone == nil || !p.Zone.Ambient.IsSet() {
		return roomCelsius, false
	}
	return unit.Celsius(p.Zone.Ambient.Value), true
}

func batteryOhms(capacity float64) float64 { return batteryOhmsAt60Ah * 60 / math.Max(capacity, 1) }
