package unit_test

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/unit"
)

// exact is for values whose conversion is exact up to binary rounding.
const exact = 1e-12

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  unit.Dimension
		want float64
	}{
		{"12 V", unit.Voltage, 12}, {"500 mV", unit.Voltage, 0.5}, {"15 A", unit.Current, 15}, {"20mA", unit.Current, 0.02}, {"5 µA", unit.Current, 5e-6},
		{"85 ohm", unit.Resistance, 85}, {"8 mohm", unit.Resistance, 0.008}, {"2.2 kohm", unit.Resistance, 2200}, {"1 Mohm", unit.Resistance, 1e6}, {"47 Ω", unit.Resistance, 47},
		{"55 W", unit.Power, 55}, {"0.06 kW", unit.Power, 60}, {"1.2 m", unit.Length, 1.2}, {"450 mm", unit.Length, 0.45},
		{"48 in", unit.Length, 1.2192}, {"2 ft", unit.Length, 0.6096}, // the inch is 25.4 mm exactly (yard and pound agreement, 1959)
		{"0.2 s", unit.Time, 0.2}, {"20 ms", unit.Time, 0.02}, {"10 min", unit.Time, 600}, {"2 h", unit.Time, 7200},
		{"105 C", unit.Temperature, 105}, {"221 F", unit.Temperature, 105}, {"32 °F", unit.Temperature, 0}, {"-40 F", unit.Temperature, -40}, // F = C x 9/5 + 32
		{"60 Ah", unit.Charge, 60}, {"470 uF", unit.Capacitance, 470e-6}, {"3 %", unit.Share, 0.03}, {"1e3 ohm", unit.Resistance, 1000}, {" 5  A ", unit.Current, 5},
	} {
		got, dim, err := unit.Parse(c.text, c.dim)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.dim, dim, c.text)
		assert.InDelta(t, c.want, got, exact*max(1, c.want), c.text)
	}
}

func TestParseTellsWhatIsWrong(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"15", `has no unit: write for example "15 A"`}, {"15 X", "no unit that is known"}, {"15 W", "is a power; here stands a current"},
		{"A", "is not a quantity"}, {"", "is not a quantity"}, {"NaN A", "is not a quantity"}, {"Inf A", "is not a quantity"}, {"0x10 A", "no unit that is known"},
		{"1e400 A", "is not a quantity"}, {"1,5 A", "has a comma for its decimals"}, {"--5 A", "is not a quantity"},
	} {
		_, _, err := unit.Parse(c.text, unit.Current)
		require.Error(t, err, c.text)
		assert.Contains(t, err.Error(), c.says, c.text)
	}
}

// TestEveryDimensionHasItsWords: messages name each dimension and show a quantity of it that is one.
func TestEveryDimensionHasItsWords(t *testing.T) {
	for d := unit.Voltage; d <= unit.Share; d++ {
		assert.NotEmpty(t, d.String())
		assert.NotEmpty(t, d.Units(), d)
		assert.True(t, slices.IsSorted(d.Units()), d)
		_, got, err := unit.Parse(strings.Trim(d.Example(), `"`), d)
		require.NoError(t, err)
		assert.Equal(t, d, got)
	}
}

func TestPrinting(t *testing.T) {
	for want, got := range map[string]string{
		"12.5 A": unit.Ampere(12.5).String(), "20 mA": unit.Ampere(0.02).String(), "0.1 A": unit.Ampere(0.1).String(), "0 A": unit.Ampere(0).String(),
		"450 mm": unit.Metre(0.45).String(), "1.20 m": unit.Metre(1.2).String(), "8 mohm": unit.Ohm(0.008).String(), "2.2 kohm": unit.Ohm(2200).String(), "85 ohm": unit.Ohm(85).String(),
		"12 V": unit.Volt(12).String(), "55 W": unit.Watt(55).String(), "-40 C": unit.Celsius(-40).String(), "1230": unit.Format(1234.5 - 4.5), "0.000123": unit.Format(0.000123),
	} {
		assert.Equal(t, want, got)
	}
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"15 A", "221 F", "-1e5 mohm", "3 %", "e5 V", "+.5 m", "°"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for d := unit.Voltage; d <= unit.Share; d++ {
			if v, got, err := unit.Parse(text, d); err == nil && (got != d || v != v) {
				t.Errorf("%q is %v of %v", text, v, got)
			}
		}
	})
}

func TestSizes(t *testing.T) {
	for _, c := range []struct{ text, prints, short string }{
		{"14 AWG", "14 AWG", "14"}, {"14AWG", "14 AWG", "14"}, {"1/0 AWG", "1/0 AWG", "1/0"}, {"4/0 AWG", "4/0 AWG", "4/0"}, {"2.5 mm2", "2.5 mm2", "2.5mm²"}, {"0.75 mm²", "0.75 mm2", "0.75mm²"},
	} {
		size, err := unit.ParseSize(c.text)
		require.NoError(t, err, c.text)
		assert.True(t, size.IsSet())
		assert.Equal(t, c.prints, size.String())
		assert.Equal(t, c.short, size.Short())
		again, err := unit.ParseSize(size.String())
		require.NoError(t, err)
		assert.Equal(t, size, again)
	}
	for _, text := range []string{"14", "", "AWG", "0 AWG", "31 AWG", "5/0 AWG", "0/0 AWG", "-2 AWG", "0.01 mm2", "500 mm2", "NaN mm2", "14 swg", "x mm2"} {
		_, err := unit.ParseSize(text)
		assert.Error(t, err, text)
	}
	assert.False(t, unit.Size{}.IsSet())
	assert.Empty(t, unit.Size{}.String())
}

// TestAreasAreThoseOfTheStandard compares the computed areas with ASTM B258 as tabled (testdata/reference/awg.csv).
func TestAreasAreThoseOfTheStandard(t *testing.T) {
	rows := table(t, "../../testdata/reference/awg.csv")
	count := 0
	for _, row := range rows {
		size, err := unit.ParseSize(row["awg"] + " AWG")
		if err != nil {
			continue // sizes that vehicle cable is not made in
		}
		want, err := strconv.ParseFloat(row["area_mm2"], 64)
		require.NoError(t, err)
		count++
		assert.InEpsilon(t, want, size.AreaMM2(), 0.005, row["awg"]) // the table gives three digits
	}
	assert.Greater(t, count, 20)
}

// TestColorsAreThoseOfTheStandard compares the letters with IEC 60757 (testdata/reference/colour-codes-iec60757.csv).
func TestColorsAreThoseOfTheStandard(t *testing.T) {
	rows := table(t, "../../testdata/reference/colour-codes-iec60757.csv")
	require.Len(t, unit.ColorLetters, len(rows))
	for i, row := range rows {
		assert.Equal(t, row["code"], unit.ColorLetters[i].Letters)
	}
}

func TestColors(t *testing.T) {
	for _, text := range []string{"RD", "OG/BK", "GNYE", "GNYE/WH"} {
		c, err := unit.ParseColor(text)
		require.NoError(t, err)
		assert.True(t, c.IsSet())
		assert.Equal(t, text, c.String())
	}
	for _, text := range []string{"", "RED", "rd", "RD/", "/BK", "RD/BK/WH", "RD-BK"} {
		c, err := unit.ParseColor(text)
		assert.Error(t, err, text)
		assert.False(t, c.IsSet(), text)
	}
}

// table reads a CSV file into rows by column name.
func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	file, err := os.Open(path)
	require.NoError(t, err)
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = record[i]
		}
		rows = append(rows, row)
	}
	return rows
}
