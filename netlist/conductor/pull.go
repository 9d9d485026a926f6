package conductor

import (
	"sync"

	"ferrule/netlist/unit"
)

// pullTable is the row title of the published table that crimps are held against.
const pullTable = "UL 486A-486B, copper"

// newtonsPerPound is exact: the international pound times standard gravity.
const newtonsPerPound = 4.4482216152605

// A pullRow is one row of the table: the nominal area of an AWG number and the least force.
type pullRow struct {
	awg              int
	areaMM2, newtons float64
}

// pullRows is the table from the thinnest wire to the thickest. In the row of 2/0 AWG the printed newtons and pounds-force do
// not agree (1235 N is 278 lbf, 300 lbf are printed); the larger of the two is taken there, and the printed newtons elsewhere.
var pullRows = sync.OnceValue(func() (rows []pullRow) {
	for _, r := range readTable("crimp-pull-force.csv") {
		if r["standard"] != pullTable {
			continue
		}
		size, err := unit.ParseSize(r["wire_awg"] + " AWG")
		if err != nil {
			panic("embedded table of pull forces: " + err.Error())
		}
		number, _ := size.ByAWG()
		newtons := r.number("min_pull_printed_n")
		if pounds := r.number("min_pull_printed_lbf") * newtonsPerPound; pounds > 1.01*newtons {
			newtons = pounds
		}
		rows = append(rows, pullRow{number, size.AreaMM2(), newtons})
	}
	return rows
})

// CrimpPull returns the least force in newtons that a crimp on a copper conductor of the size has to hold, by UL 486A-486B. That table
// has rows for AWG numbers, whatever copper a cable of that name holds. Between two rows, where metric sizes lie, the force is
// interpolated by the nominal area, and the source is then not verified. Outside the table there is none: 0 and a Source that is
// not set.
func CrimpPull(size unit.Size) (newtons float64, source Source) {
	rows := pullRows()
	if !isMade(size) {
		return 0, Source{}
	}
	area := size.AreaMM2()
	number, byAWG := size.ByAWG()
	for i, r := range rows {
		if byAWG && r.awg == number {
			return r.newtons, Source{"UL 486A-486B, least pull for copper, as reprinted", true}
		}
		if i > 0 && rows[i-1].areaMM2 < area && area < r.areaMM2 {
			share := (area - rows[i-1].areaMM2) / (r.areaMM2 - rows[i-1].areaMM2)
			return rows[i-1].newtons + share*(r.newtons-rows[i-1].newtons), Source{"UL 486A-486B, interpolated by area between two AWG rows", false}
		}
	}
	return 0, Source{}
}
