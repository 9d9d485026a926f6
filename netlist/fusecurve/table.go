package fusecurve

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/unit"
)

// timeCurrentText is the columns of testdata/reference/fuse-time-current.csv that this package reads; a test holds it against the
// original.
//
//go:embed tables/fuse-time-current.csv
var timeCurrentText string

// A row is one limit of the table: at a share of the rating, for the ratings from least to most.
type row struct {
	fuseType    string
	least, most unit.Ampere
	share       float64
	min, max    unit.Second // 0 where the standard gives none
	verified    bool
}

// timeCurrent reads the embedded table once. It is part of the program, so a fault in it is a fault of ours.
var timeCurrent = sync.OnceValue(func() []row {
	records, err := csv.NewReader(strings.NewReader(timeCurrentText)).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("embedded fuse table: %v", err))
	}
	var rows []row
	for _, r := range records[1:] {
		// The row of rating "any" is the envelope of every type, 1800 s at 135 %, and not the limit of one; it is left out.
		if r[1] == "any" {
			continue
		}
		next := row{fuseType: r[0], share: number(r[2]) / 100, min: unit.Second(number(r[3])), max: unit.Second(number(r[4])), verified: r[5] == "verified"}
		next.least, next.most = ratings(r[1])
		rows = append(rows, next)
	}
	return rows
})

// ratings reads "1-30", "10" or "up to 30".
func ratings(text string) (least, most unit.Ampere) {
	text = strings.Replace(text, "up to ", "1-", 1)
	from, to, isRange := strings.Cut(text, "-")
	if !isRange {
		to = from
	}
	return unit.Ampere(number(from)), unit.Ampere(number(to))
}

// number reads a cell; an empty one is 0.
func number(cell string) float64 {
	if cell == "" {
		return 0
	}
	value, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		panic(fmt.Sprintf("embedded fuse table: %v", err))
	}
	return value
}
