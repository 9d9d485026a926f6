package command

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// oneMistake has one mistake of the text, on its third line.
const oneMistake = `[part]
G1 = { kind = "battery", capacity = "60 Ah", spare = true }
F1 = { kind = "fuse", rating = "15 A", family = "blade", colour = "blue", spare = true }
`

// TestJSONFields holds the output against the fields that other programs rely on.
func TestJSONFields(t *testing.T) {
	code, out, _ := runInside(strings.NewReader(oneMistake), "check", "--format", "json", "-")
	assert.Equal(t, exitFindings, code)
	var report struct {
		Findings []map[string]any `json:"findings"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &report), out)
	require.Len(t, report.Findings, 1)
	finding := report.Findings[0]
	assert.Equal(t, "unknown-key", finding["rule"])
	assert.Equal(t, "error", finding["severity"])
	assert.Contains(t, finding["message"], "colour")
	assert.Equal(t, "standard input", finding["file"])
	assert.InDelta(t, 3, finding["line"], 0)
	assert.InDelta(t, strings.Index(strings.Split(oneMistake, "\n")[2], "colour")+1, finding["column"], 0)
	assert.InDelta(t, 3, finding["end_line"], 0)
	assert.InDelta(t, finding["column"].(float64)+float64(len("colour")), finding["end_column"], 0)
	assert.IsType(t, []any{}, finding["refs"])
}

// TestFormatDoesNotChangeTheCode runs every format at every threshold.
func TestFormatDoesNotChangeTheCode(t *testing.T) {
	for _, format := range flagFindingsFormat.choices {
		for _, threshold := range flagAtLeast.choices {
			for text, want := range map[string]int{oneMistake: exitFindings, strings.ReplaceAll(oneMistake, ` colour = "blue",`, ""): exitClean} {
				code, out, _ := runInside(strings.NewReader(text), "check", "--format", format, "--at-least", threshold, "-")
				assert.Equal(t, want, code, "%s at %s", format, threshold)
				again, same, _ := runInside(strings.NewReader(text), "check", "--format="+format, "--at-least="+threshold, "-")
				assert.Equal(t, want, again)
				assert.Equal(t, out, same, "%s at %s must give the same bytes twice", format, threshold)
			}
		}
	}
}
