package rules

import (
	"math"
	"strconv"
)

// mostDigits is how many figures Apart writes at most: what two numbers have in common beyond that is one number to a mechanic.
const mostDigits = 6

// Apart writes a value and the limit that it is held against, both in SI: as the room writes its numbers, or, where that would round
// both to the same words, with as many figures as part them ("1.03 A", "1 A"). Without it a finding would say that 1.0 A is more than 1.0 A.
func Apart(value, limit float64, symbol string, write func(float64) string) (string, string) {
	a, b := write(value), write(limit)
	for digits := 3; a == b && value != limit && digits <= mostDigits; digits++ {
		a, b = figures(value, digits)+" "+symbol, figures(limit, digits)+" "+symbol
	}
	return a, b
}

// figures writes a number with so many significant figures, without exponent and without zeros that say nothing.
func figures(value float64, digits int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(value, 'g', digits, 64), 64)
	if err != nil || math.IsInf(value, 0) || math.IsNaN(value) {
		return strconv.FormatFloat(value, 'g', digits, 64)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
