package list

import (
	"cmp"
	"slices"
	"strconv"

	"ferrule/netlist/model"
	"ferrule/render/sheet"
)

func placeOf(o *model.Owner) string {
	if place := o.Place(); place != nil {
		return cmp.Or(place.Title.Text, place.Name.Text)
	}
	return ""
}

// byName sorts by designator in natural order; equals keep the order of the file.
func byName[T any](things []T, name func(T) string) []T {
	sorted := slices.Clone(things)
	slices.SortStableFunc(sorted, func(a, b T) int { return sheet.CompareNatural(name(a), name(b)) })
	return sorted
}

// plain writes a number with the digits that it needs.
func plain(value float64) string {
	return strconv.FormatFloat(value, 'f', -1, 64)
}

func yes(on bool) string {
	if on {
		return "yes"
	}
	return ""
}
