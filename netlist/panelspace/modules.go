package panelspace

import (
	_ "embed"
	"encoding/csv"
	"strconv"
	"strings"
	"sync"
)

//go:embed modules.csv
var modulesCSV string

// A moduleRow is a row of the table of usual sizes.
type moduleRow struct {
	kind, family, stock string
	module              Module
}

// moduleRows reads the table, which a test holds to be whole.
var moduleRows = sync.OnceValue(func() []moduleRow {
	records, err := csv.NewReader(strings.NewReader(modulesCSV)).ReadAll()
	if err != nil {
		panic("the table of module sizes: " + err.Error()) // it is part of the program
	}
	var rows []moduleRow
	for _, r := range records[1:] {
		width, _ := strconv.ParseFloat(r[3], 64)
		height, _ := strconv.ParseFloat(r[4], 64)
		rows = append(rows, moduleRow{r[0], r[1], r[2], Module{WidthMM: width, HeightMM: height, Source: r[5]}})
	}
	return rows
})

// UsualModule finds the usual size for a kind, a family and a stock definition: the row that knows most of them. Its area is 0
// where the kind has none.
func UsualModule(kind, family, stock string) Module {
	var best Module
	most := -1
	for _, r := range moduleRows() {
		if r.kind != kind || r.family != "" && r.family != family || r.stock != "" && r.stock != stock {
			continue
		}
		score := 0
		if r.family != "" {
			score++
		}
		if r.stock != "" {
			score++
		}
		if score > most {
			best, most = r.module, score
		}
	}
	return best
}
