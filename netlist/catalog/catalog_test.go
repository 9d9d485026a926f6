package catalog

import (
	"encoding/csv"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryKindIsWhole(t *testing.T) {
	c := Builtin()
	require.NotEmpty(t, c.Kinds)
	assert.Len(t, c.Names(), len(c.Kinds))
	letters := letterCodes(t)
	for _, k := range c.Kinds {
		t.Run(k.Name, func(t *testing.T) {
			assert.Same(t, k, c.Kind(k.Name))
			assert.NotEmpty(t, k.Title)
			assert.NotEmpty(t, k.Symbol)
			assert.Contains(t, letters, k.Letter, "class letter of IEC 81346-2 (testdata/reference/letter-codes-iec81346.csv)")
			var names []string
			for _, p := range k.Pins {
				assert.NotContains(t, names, p.Name, "a terminal twice")
				names = append(names, p.Name)
				if p.Role != NoRole {
					assert.Contains(t, Roles, p.Role, p.Name)
				}
			}
			if k.Case {
				names = append(names, "case")
			}
			for what, pairs := range map[string][][]string{
				"protects": k.Protects, "closed": k.Closed, "open": k.Open, "coil": k.Coil, "diodes": k.Diodes, "loads": k.Loads, "sources": k.Sources,
			} {
				for _, pair := range pairs {
					assert.Len(t, pair, 2, what)
					for _, name := range pair {
						assert.Contains(t, names, name, "%s names a terminal that the kind has not", what)
					}
				}
			}
			for _, key := range k.Need {
				assert.True(t, k.Takes(key), "it needs %q and does not take it", key)
			}
		})
	}
	assert.Nil(t, c.Kind("no such kind"))
}

// letterCodes reads the class letters from the sourced table.
func letterCodes(t *testing.T) []string {
	t.Helper()
	file, err := os.Open("../../testdata/reference/letter-codes-iec81346.csv")
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	column := slices.IndexFunc(rows[0], func(name string) bool { return name == "letter" || name == "code" || name == "class_letter" })
	require.GreaterOrEqual(t, column, 0, "columns: %v", rows[0])
	var letters []string
	for _, row := range rows[1:] {
		letters = append(letters, row[column])
	}
	return letters
}

// TestRelayTerminals holds the relays to DIN 72552 and ISO 7588: coil 85 and 86, contact 30 to 87, at rest 30 to 87a.
func TestRelayTerminals(t *testing.T) {
	k := Builtin().Kind("changeover relay")
	require.NotNil(t, k)
	assert.Equal(t, [][]string{{"86", "85"}}, k.Coil)
	assert.Equal(t, [][]string{{"30", "87"}}, k.Open)
	assert.Equal(t, [][]string{{"30", "87a"}}, k.Closed)
}

func TestRolesAreListedOnce(t *testing.T) {
	for i, r := range Roles {
		assert.NotEqual(t, NoRole, r)
		assert.Equal(t, i, slices.Index(Roles, r))
	}
}

func TestUnknownKeysInTheCatalogueAreRefused(t *testing.T) {
	_, err := read("[kind.x]\npns = []\n")
	assert.ErrorContains(t, err, "unknown key kind.x.pns")
	_, err = read("[kind.x\n")
	assert.Error(t, err)
}
