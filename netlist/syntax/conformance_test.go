package syntax

import (
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/source"
)

// A conformanceCase is one text of the TOML project's own suite with its verdict.
type conformanceCase struct {
	name, text string
	valid      bool
}

// conformanceCases reads testdata/toml-test.txt, which names its source.
func conformanceCases(t testing.TB) []conformanceCase {
	data, err := os.ReadFile("testdata/toml-test.txt")
	require.NoError(t, err)
	var cases []conformanceCase
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.SplitN(strings.TrimSuffix(line, "\n"), " ", 3)
		text, err := strconv.Unquote(fields[2])
		require.NoError(t, err, line)
		cases = append(cases, conformanceCase{name: fields[1], text: text, valid: fields[0] == "valid"})
	}
	return cases
}

// TestConformance holds the verdict on every case of the suite against the suite's own, and the values against an
// independent decoder.
func TestConformance(t *testing.T) {
	cases := conformanceCases(t)
	require.Len(t, cases, 666)
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, list := Parse(source.NewFile(c.name, []byte(c.text)))
			if c.valid {
				assert.Empty(t, list, "%q", c.text)
			} else {
				assert.NotEmpty(t, list, "%q", c.text)
			}
			assert.NoError(t, holdAgainstDecoders(c.text), "%q", c.text)
		})
	}
}
