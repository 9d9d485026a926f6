package sheet

import (
	"cmp"
	"strconv"

	"ferrule/netlist/model"
)

// splicePlace says where a splice lies: its place, and how far from there along which path where the file says so.
func splicePlace(sp *model.Splice) string {
	if sp.Place == nil {
		return "place not stated"
	}
	at := "at: " + cmp.Or(sp.Place.Title.Text, sp.Place.Name.Text)
	if metres, ok := sp.Lies(); ok {
		at += ", " + millimetresFrom(metres) + " toward " + cmp.Or(sp.Toward.Title.Text, sp.Toward.Name.Text)
	}
	return at
}

func millimetresFrom(metres float64) string {
	return strconv.FormatFloat(metres*1000, 'f', 0, 64) + " mm"
}

// spliceLine is the line of the splice chart below the legs: the datum to measure from, or room for a pen.
func spliceLine(sp *model.Splice) string {
	metres, ok := sp.Lies()
	if !ok {
		return "Distance along the path, not stated in the netlist: ____________ mm from ________________"
	}
	return "Lies " + millimetresFrom(metres) + " from " + sp.Place.Name.Text + " along path " + sp.Along.Name.Text + ", toward " + sp.Toward.Name.Text
}
