package conductor

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"ferrule/netlist/unit"
)

// tables are the columns of testdata/reference that this package reads; a test holds them against the originals.
//
//go:embed tables/*.csv
var tables embed.FS

// A row is one line of a table, by the name of its column.
type row map[string]string

// readTable reads an embedded table. The files are part of the program, so a fault in one is a fault of ours.
func readTable(name string) []row {
	file, err := tables.Open("tables/" + name)
	if err != nil {
		panic(fmt.Sprintf("embedded table %s: %v", name, err))
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		panic(fmt.Sprintf("embedded table %s: %v", name, err))
	}
	rows := make([]row, 0, len(records)-1)
	for _, record := range records[1:] {
		r := make(row, len(record))
		for i, column := range records[0] {
			r[column] = record[i]
		}
		rows = append(rows, r)
	}
	return rows
}

// number reads a cell; an empty one is 0.
func (r row) number(column string) float64 {
	if r[column] == "" {
		return 0
	}
	value, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Sprintf("embedded table: column %s: %v", column, err))
	}
	return value
}

// awg reads the size of a row whose column is named so: "14", "2/0".
func (r row) awg() int {
	size, err := unit.ParseSize(strings.TrimSpace(r["awg"]) + " AWG")
	if err != nil {
		panic(fmt.Sprintf("embedded table: %v", err))
	}
	number, _ := size.ByAWG()
	return number
}
