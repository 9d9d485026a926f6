package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ferrule/netlist/unit"
	"ferrule/rules"
)

func TestApartTellsNumbersFromTheirLimits(t *testing.T) {
	amperes := func(a float64) string { return unit.Ampere(a).String() }
	for _, c := range []struct {
		value, limit float64
		has, may     string
	}{
		{14, 12, "14 A", "12 A"},                // as the room writes them
		{1.0031, 1, "1.003 A", "1 A"},           // 1 A and 1 A to three figures
		{100.26, 100, "100.3 A", "100 A"},       // no zeros that say nothing
		{5, 5, "5 A", "5 A"},                    // the same number stays the same
		{1.00000001, 1, "1 A", "1 A"},           // beyond what anybody reads
		{0.050049, 0.05, "0.05005 A", "0.05 A"}, // in amperes, though both are small
	} {
		has, may := rules.Apart(c.value, c.limit, "A", amperes)
		assert.Equal(t, c.has, has)
		assert.Equal(t, c.may, may)
	}
}
