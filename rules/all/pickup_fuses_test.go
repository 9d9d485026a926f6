package all_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/diag"
)

// ofRules keeps the findings of the named rules: what else a mistake brings about is the matter of other tests.
func ofRules(found diag.List, names ...string) diag.List {
	var out diag.List
	for _, d := range found {
		for _, name := range names {
			if d.Rule == name {
				out = append(out, d)
			}
		}
	}
	return out
}

// TestPickupFuses makes the mistakes with fuses that builders make (common practice) and looks at rule, words and numbers.
func TestPickupFuses(t *testing.T) {
	const f8 = `title = "Actuators, pump and fan coils", system = "injection-ignition", in = "P", rating = "10 A"`
	const f12 = `F12 = { kind = "fuse",`
	cases := []struct {
		name  string
		edits []edit
		rule  string
		words string   // that the finding points at
		refs  []string // the first is the main one
		says  []string // parts of the message and the help
		bad   diag.Severity
	}{
		{
			// 20 AWG at 85 C: 17 A x sqrt(40/95) = 11.0 A; 18 AWG: 25 A x 0.649 = 16.2 A (33 CFR 183.425 Table 5).
			name:  "F8 of 20 A",
			edits: []edit{{"power.toml", f8, strings.Replace(f8, "10 A", "20 A", 1)}},
			rule:  "fuse-above-wire", words: `"20 A"`, refs: []string{"F8", "14c", "15a", "14a"}, bad: diag.Error,
			says: []string{"F8 20 A feeds 14c-14f, 15a and 15b of 20 AWG, which carry 11 A at 85 C in engine-bay", "14a and 14b of 18 AWG, which carry 16.2 A", "largest fuse 10 A", `rating = "10 A"`},
		},
		{
			// Two lamps of 55 W take 9.4 A; a 10 A blade at 85 C carries 0.75 x 0.892 x 10 = 6.69 A for hours.
			name:  "right low beam from the left one's fuse",
			edits: []edit{{"lights.toml", `from = "F12:2"`, `from = "F11:2"`}, {"power.toml", f12, `F12 = { spare = true, kind = "fuse",`}},
			rule:  "lamps-share-fuse", words: "F11", refs: []string{"F11", "HLL", "HLR"}, bad: diag.Warning,
			says: []string{"both low beams on one fuse", "F11 10 A", "HLL", "HLR"},
		},
		{
			name:  "right low beam from the left one's fuse",
			edits: []edit{{"lights.toml", `from = "F12:2"`, `from = "F11:2"`}, {"power.toml", f12, `F12 = { spare = true, kind = "fuse",`}},
			rule:  "fuse-overloaded", words: `"10 A"`, refs: []string{"F11", "HLL", "HLR"}, bad: diag.Warning,
			says: []string{"F11 10 A carries 9.", "state night-rain", "at 85 C it may carry 6.69 A", `rating = "15 A"`},
		},
		{
			// 1.25 times the 100 A of the alternator are 125 A.
			name:  "alternator fuse of 100 A",
			edits: []edit{{"power.toml", `rating = "125 A"`, `rating = "100 A"`}},
			rule:  "generator-fuse", words: `"100 A"`, refs: []string{"MF1", "ALT1"}, bad: diag.Warning,
			says: []string{"delivers 100 A", "125 A or more"},
		},
		{
			// ISO 8820-3: a blade at 200 % may open in 0.15 s.
			name:  "fan 1 on 20 A",
			edits: []edit{{"power.toml", `F9  = { kind = "fuse", title = "Fan 1",                         system = "fuel-cooling",       in = "P", rating = "30 A"`, `F9  = { kind = "fuse", title = "Fan 1",                         system = "fuel-cooling",       in = "P", rating = "20 A"`}},
			rule:  "inrush-opens-fuse", words: `"20 A"`, refs: []string{"F9", "M2"}, bad: diag.Warning,
			says: []string{"40", "for 0.8 s when M2 starts", "may open in 0.1", `rating = "30 A"`},
		},
		{
			name:  "wiper motor without its cut-out",
			edits: []edit{{"body.toml", "cut-out = true\n", ""}},
			rule:  "stall-holds-fuse", words: `"18 A"`, refs: []string{"M4", "F36"}, bad: diag.Warning,
			says: []string{"18 A while it is blocked", "1.2 times the rating of F36 15 A"},
		},
		{
			name:  "main fuse of the bay box as small as a fan's",
			edits: []edit{{"power.toml", `in = "MFB1", rating = "100 A", family = "bolt-in"`, `in = "MFB1", rating = "40 A", family = "blade"`}},
			rule:  "fuses-not-selective", words: `"40 A"`, refs: []string{"MF2", "F9", "F10", "F16"}, bad: diag.Warning,
			says: []string{"F9 30 A, F10 30 A and F16 30 A", "can open MF2 40 A", "at least 60 A"},
		},
	}
	for _, c := range tried(cases) {
		t.Run(c.name+": "+c.rule, func(t *testing.T) {
			found := ofRules(pickup(t, c.edits...), c.rule)
			require.Len(t, found, 1)
			d := found[0]
			assert.Equal(t, c.words, d.Span.Text(), d.Message)
			assert.Equal(t, c.bad, d.Severity, d.Message)
			assert.Equal(t, c.refs[0], d.Refs[0], d.Message)
			for _, ref := range c.refs {
				assert.Contains(t, d.Refs, ref, d.Message)
			}
			for _, text := range c.says {
				assert.Contains(t, d.Message+" | "+d.Help, text)
			}
		})
	}
}

// TestPickupFusesAreInOrder: as it stands, the pickup has no warning of the fuse rules but the one that it accepts.
func TestPickupFusesAreInOrder(t *testing.T) {
	assert.Empty(t, ofRules(pickup(t), "fuse-above-wire", "fuse-overloaded", "inrush-opens-fuse", "stall-holds-fuse", "short-not-cleared",
		"fuses-not-selective", "essential-shares-fuse", "lamps-share-fuse", "generator-fuse", "fed-by-two-fuses", "self-resetting-breaker", "rating-not-made", "unfused-feed"))
}
