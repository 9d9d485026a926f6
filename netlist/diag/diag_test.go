package diag

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/source"
)

var (
	fileA = source.NewFile("a.toml", []byte("0123456789"))
	fileB = source.NewFile("b.toml", []byte("0123456789"))
)

func TestSeverity(t *testing.T) {
	for word, want := range map[string]Severity{"note": Note, "warning": Warning, "error": Error} {
		got, ok := ParseSeverity(word)
		assert.True(t, ok)
		assert.Equal(t, want, got)
		assert.Equal(t, word, want.String())
	}
	for _, word := range []string{"invalid", "", "Error", "fatal"} {
		_, ok := ParseSeverity(word)
		assert.False(t, ok, word)
	}
	assert.Equal(t, "invalid", Severity(0).String(), "a severity that was forgotten shows")
	assert.Less(t, Warning, Error)
}

func TestErrorf(t *testing.T) {
	var l List
	d := l.Errorf("rule", fileA.Span(1, 2), "%d %% of %s", 3, "x")
	d.Help = "do this"
	require.Len(t, l, 1)
	assert.Equal(t, Diagnostic{Rule: "rule", Severity: Error, Span: fileA.Span(1, 2), Message: "3 % of x", Help: "do this"}, l[0])
}

// TestSort sorts every rotation of a list, so that the order cannot come from the order of arrival.
func TestSort(t *testing.T) {
	ordered := List{
		{Rule: "z", Severity: Note, Message: "nowhere"},
		{Rule: "z", Severity: Error, Span: fileA.Span(0, 1), Message: "m"},
		{Rule: "a", Severity: Warning, Span: fileA.Span(0, 1), Message: "m"},
		{Rule: "b", Severity: Warning, Span: fileA.Span(0, 1), Message: "a"},
		{Rule: "b", Severity: Warning, Span: fileA.Span(0, 1), Message: "b"},
		{Rule: "a", Severity: Error, Span: fileA.Span(0, 2), Message: "longer"},
		{Rule: "a", Severity: Error, Span: fileA.Span(7, 8), Message: "later"},
		{Rule: "a", Severity: Error, Span: fileB.Span(0, 1), Message: "other file"},
	}
	for shift := range ordered {
		l := append(append(List{}, ordered[shift:]...), ordered[:shift]...)
		l = append(l, l...) // every one twice: repeats are dropped
		l.Sort()
		assert.Equal(t, ordered, l, "rotated by %d", shift)
	}
}

func TestSortRepeats(t *testing.T) {
	l := List{
		{Rule: "a", Severity: Warning, Span: fileA.Span(0, 1), Message: "m"},
		{Rule: "a", Severity: Error, Span: fileA.Span(0, 1), Message: "m"},
		{Rule: "a", Severity: Error, Span: fileA.Span(0, 1), Message: "m"},
	}
	l.Sort()
	require.Len(t, l, 2, "the same finding with another severity is no repeat")
	assert.Equal(t, []Severity{Error, Warning}, []Severity{l[0].Severity, l[1].Severity})
	var empty List
	empty.Sort()
	assert.Empty(t, empty)
}

func TestCounts(t *testing.T) {
	l := List{{Severity: Note}, {Severity: Warning}, {Severity: Error}, {Severity: Warning}}
	assert.True(t, l.HasErrors())
	assert.Equal(t, []int{1, 2, 1}, []int{l.Count(Note), l.Count(Warning), l.Count(Error)})
	assert.Len(t, l.AtLeast(Note), 4)
	assert.Equal(t, List{{Severity: Warning}, {Severity: Error}, {Severity: Warning}}, l.AtLeast(Warning), "in their order")
	assert.Len(t, l.AtLeast(Error), 1)
	assert.False(t, l[:2].HasErrors())
	assert.Empty(t, List(nil).AtLeast(Note))
}

func TestNearest(t *testing.T) {
	for _, c := range []struct {
		word       string
		candidates []string
		want       string
	}{
		{"colour", []string{"color", "from", "to"}, "color"},
		{"form", []string{"to", "from"}, "from"}, // neighbours swapped count once
		{"SIZE", []string{"size"}, "size"},
		{"lenght", []string{"length", "light"}, "length"},
		{"rating", []string{"polarity", "title"}, ""},
		{"x", nil, ""},
		{"K1", []string{"K1"}, ""}, // the word itself is no advice
		{"K1", []string{"K3", "K2"}, "K2"},
		{"K1", []string{"K2", "K3"}, "K2"},
		{"farbe", []string{"färbe"}, "färbe"},
		{"connectors", []string{"connector", "connect"}, "connector"},
		{"", []string{"a"}, "a"},
		{"abcdefghi", []string{"abcxyzghi"}, "abcxyzghi"}, // three changes, the most that a long word may have
		{"abcdefghi", []string{"abwxyzghi"}, ""},
	} {
		got, ok := Nearest(c.word, c.candidates)
		assert.Equal(t, c.want != "", ok, c.word)
		if ok {
			assert.Equal(t, c.want, got, c.word)
		}
	}
}

// TestEditDistance has distances that are easy to count by hand; "kitten" and "sitting" is the textbook pair, and "ca"
// and "abc" the one that tells optimal string alignment (3) from the unrestricted distance (2).
func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"", "abc", 3}, {"abc", "", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"ca", "abc", 3}, {"µm", "mm", 1}} {
		assert.Equal(t, c.want, editDistance(c.a, c.b, 10), "%s %s", c.a, c.b)
		assert.Equal(t, c.want, editDistance(c.b, c.a, 10), "%s %s", c.b, c.a)
	}
	assert.Greater(t, editDistance("a", "abcdefgh", 2), 2)
}
