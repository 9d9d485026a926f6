// Package conductor knows the numbers of a single conductor: how much metal a size has, what it resists cold and hot, what
// current it may carry and how warm it then is, and how much short-circuit energy it survives.
//
// It takes a size as it is bought (unit.Size), the harness's word for which copper a size means, a metal and temperatures,
// and gives plain numbers, each with its Source. It knows nothing of wires, circuits or files, and imports only netlist/unit.
//
// Which number is used where:
//
//   - The area of a size named by AWG is that of ASTM B258 for "AWG" cable and the smaller one of SAE vehicle cable
//     otherwise; a metric size has its nominal area.
//   - The resistance of AWG sizes is area times the practice value for stranded cable; that of metric sizes is the maximum
//     of IEC 60228 class 5, which lies above the vehicle standard's and is therefore the safe one for a voltage drop.
//   - The ampacity is that of 33 CFR 183.425 table 5, at 30 C, in free air or a small bundle. Derate takes it to another
//     ambient, BundleFactor to a bundle. The bundle factor belongs to the continuous load; in the check of a fuse against
//     its wire a single wire is at fault, and there it is left out.
//   - The short-circuit energy is the adiabatic form of IEC 60949, for 0.1 s to 5 s.
//
// The tables are embedded copies of the columns needed from testdata/reference; every row keeps its status and source.
//
// Every function gives a finite number for every input. A size that is not set, or is not made (30 AWG to 4/0 AWG, 0.05 mm2
// to 300 mm2 are), gives 0 and a Source that is not set: a caller asks for that before it divides. A temperature outside -200 C
// to 1083 C is held at that end and one that is not a number counts as 1083 C, the melting point of copper.
package conductor
