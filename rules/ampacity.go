package rules

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/unit"
)

// ampacityText is 33 CFR 183.425 Table 5: allowable amperage by AWG size and insulation temperature, in ambient air of 30 C.
//
//go:embed ampacity-33cfr183.csv
var ampacityText string

// An ampacityRow is one size of the table.
type ampacityRow struct {
	areaMM2 float64
	amperes unit.Ampere
}

// ampacityTable is the 105 C column, from the thinnest size to the thickest. The file is part of the program and checked
// by a test, hence the panic.
var ampacityTable = sync.OnceValue(func() []ampacityRow {
	records, err := csv.NewReader(strings.NewReader(ampacityText)).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("built-in ampacity table: %v", err))
	}
	awg, amperes := slices.Index(records[0], "awg"), slices.Index(records[0], "a_105c")
	var rows []ampacityRow
	for _, record := range records[1:] {
		size, err := unit.ParseSize(record[awg] + " AWG")
		value, err2 := strconv.ParseFloat(record[amperes], 64)
		if err != nil || err2 != nil {
			panic(fmt.Sprintf("built-in ampacity table: row %q", record))
		}
		rows = append(rows, ampacityRow{areaMM2: size.AreaMM2(), amperes: unit.Ampere(value)})
	}
	return rows
})

// areaTolerance lets a size that is in the table find its own row in spite of rounding; the steps of the table are 25 %.
const areaTolerance = 1 + 1e-9

// ampacityOf returns what a conductor carries: the row of its size, for sizes between rows the next smaller one. Sizes
// below the table get the share of its first row that their area is of that row's: the safe side, since thin wires carry
// more current for their area than thick ones.
func ampacityOf(size unit.Size) unit.Ampere {
	area, rows := size.AreaMM2(), ampacityTable()
	best := unit.Ampere(float64(rows[0].amperes) * min(1, area/rows[0].areaMM2))
	for _, row := range rows {
		if row.areaMM2 <= area*areaTolerance {
			best = row.amperes
		}
	}
	return best
}
