// Package prove says what is measured to prove a harness, as data: what must ring to what on the bench and what must not
// (Continuity), what must hold insulation (Insulation), in which order the fuses go in and what flows and stands where
// (FirstPower), and what is looked at when the engine first turns and when the work is handed over (Start, Commission).
//
// It takes a circuit, which carries the graph and the netlist, and gives plain records with ohms, volts and amperes in
// fields that say so. It may import netlist/circuit and what that imports; it draws and prints nothing.
//
// Computed values come from the circuit; what is no more than a habit of the trade says so in the record. A value that rests
// on a guess of the file, or on the estimated resistance of contacts for more than a tenth, is marked as such.
//
//	harness.go     what all proofs ask of the harness: what is unplugged, what is ground, what is supply
//	continuity.go  what must ring, and the ohms      insulation.go  what must not, under voltage
//	rig.go         the harness with some fuses in, some switches on and no controller: what is live
//	order.go       in which order fuses go in         power.go       what is measured at each of them
//	start.go       the first start                    commission.go  loaded drops, charging, sleep, warmth, bolts
package prove
