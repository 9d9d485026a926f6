package syntax

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"
	gotoml "github.com/pelletier/go-toml/v2"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
)

// holdAgainstDecoders reads a text and holds the result against decoders from outside the project: everything that must
// be true of any text whatever. It returns the first thing that is not.
func holdAgainstDecoders(text string) error {
	f := source.NewFile("fuzz.toml", []byte(text))
	tree, list := Parse(f)
	for _, d := range list {
		if strings.HasPrefix(d.Message, "this line could not be read") {
			return fmt.Errorf("a panic was caught: %s", d.Message) // the last resort of readFrom must not hide our own bugs
		}
		if d.Span.File != f || d.Message == "" || d.Help == "" || d.Rule != ruleSyntax && d.Rule != ruleDuplicate {
			return fmt.Errorf("incomplete diagnostic %+v", d)
		}
		if both := d.Message + d.Help; strings.ContainsAny(both, "\n\r") || !utf8.ValidString(both) || len(both) > 1000 {
			return fmt.Errorf("a message is not one line of print: %q, %q", d.Message, d.Help)
		}
	}
	if err := holdTable(tree); err != nil {
		return err
	}
	if tooDeep(text) >= 0 {
		if len(list) == 0 {
			return fmt.Errorf("nesting beyond the decoder's limit is not reported")
		}
		return nil
	}
	var want map[string]any
	_, refused := decode(text, &want)
	switch {
	case len(list) == 0 && refused != nil:
		return fmt.Errorf("accepted, but BurntSushi/toml says: %w", refused)
	case len(list) == 0:
		return sameTable(tree, want)
	case refused == nil && !looseInDecoder(text, list):
		return fmt.Errorf("refused, but BurntSushi/toml accepts it: %s", list[0].Message)
	}
	return nil
}

// decode is the oracle's decoding, with its own panics as errors.
func decode(text string, into *map[string]any) (_ toml.MetaData, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v", p)
		}
	}()
	return toml.Decode(text, into)
}

// looseInDecoder reports whether a text that BurntSushi/toml accepts may be refused all the same: a second decoder that
// is independent of it in this (go-toml's own decoder, which checks repeats with a tracker that Parse does not use)
// refuses it too, or it nests deeper than Parse goes, or it has the mark of UTF-16, which BurntSushi/toml skips.
func looseInDecoder(text string, list diag.List) bool {
	var ignored map[string]any
	return gotoml.Unmarshal([]byte(strings.TrimPrefix(text, utf8BOM)), &ignored) != nil ||
		strings.Contains(list[0].Message, "nested more than") ||
		strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff")
}

// holdTable checks that every place in a tree holds what the tree says stands there.
func holdTable(t *Table) error {
	seen := map[string]bool{}
	for _, e := range t.Entries {
		if seen[e.Key] {
			return fmt.Errorf("key %q stands twice in a table", e.Key)
		}
		seen[e.Key] = true
		if t.Get(e.Key) != e {
			return fmt.Errorf("Get(%q) does not find the entry", e.Key)
		}
		var key map[string]any
		if _, err := toml.Decode(e.KeySpan.Text()+" = 1", &key); err != nil || key[e.Key] == nil {
			return fmt.Errorf("key %q has the place of %q", e.Key, e.KeySpan.Text())
		}
		if !within(e.KeySpan, e.Span) {
			return fmt.Errorf("key %q lies outside its entry %q", e.Key, e.Span.Text())
		}
		if !within(e.Value.Span, e.Span) {
			return fmt.Errorf("value %q lies outside its entry %q", e.Value.Span.Text(), e.Span.Text())
		}
		if err := holdValue(e.Value); err != nil {
			return err
		}
	}
	return nil
}

func within(inner, outer source.Span) bool {
	return inner.File == outer.File && inner.File != nil && inner.Start >= outer.Start && inner.End <= outer.End && inner.Start < inner.End
}

func holdValue(v *Value) error {
	text := v.Span.Text()
	switch v.Kind {
	case Array:
		if v.open && !strings.HasPrefix(text, "[[") || text[0] != '[' || text[len(text)-1] != ']' {
			return fmt.Errorf("list has the place of %q", text)
		}
		for _, item := range v.Items {
			if !v.open && !within(item.Span, v.Span) {
				return fmt.Errorf("item %q lies outside its list %q", item.Span.Text(), text)
			}
			if err := holdValue(item); err != nil {
				return err
			}
		}
		return nil
	case TableValue:
		if v.Table.origin == byBraces && (text[0] != '{' || text[len(text)-1] != '}') {
			return fmt.Errorf("inline table has the place of %q", text)
		}
		if v.Table.origin == byHeader && (text[0] != '[' || text[len(text)-1] != ']') {
			return fmt.Errorf("header has the place of %q", text)
		}
		return holdTable(v.Table)
	}
	var again map[string]any
	if _, err := toml.Decode("x = "+text, &again); err != nil {
		return fmt.Errorf("%s has the place of %q: %w", v.Kind, text, err)
	}
	return sameValue(v, again["x"])
}

// sameTable compares a tree with the oracle's map.
func sameTable(t *Table, want map[string]any) error {
	if len(t.Entries) != len(want) {
		return fmt.Errorf("%d keys at %q, want %d", len(t.Entries), t.Span.Text(), len(want))
	}
	for _, e := range t.Entries {
		w, ok := want[e.Key]
		if !ok {
			return fmt.Errorf("key %q is not in the decoder's table", e.Key)
		}
		if err := sameValue(e.Value, w); err != nil {
			return fmt.Errorf("%s: %w", e.Key, err)
		}
	}
	return nil
}

func sameValue(v *Value, want any) error {
	same := false
	switch w := want.(type) {
	case string:
		same = v.Kind == String && v.Str == w
	case int64:
		same = v.Kind == Integer && v.Int == w
	case float64: // exactly: both read the same decimal digits, so both must give the same bits
		same = v.Kind == Float && (v.Float == w || math.IsNaN(v.Float) && math.IsNaN(w))
	case bool:
		same = v.Kind == Bool && v.Bool == w
	case time.Time:
		same = v.Kind == Datetime && v.Str == v.Span.Text()
	case map[string]any:
		if v.Kind == TableValue {
			return sameTable(v.Table, w)
		}
	case []map[string]any:
		return sameItems(v, len(w), func(i int) any { return w[i] })
	case []any:
		return sameItems(v, len(w), func(i int) any { return w[i] })
	}
	if !same {
		return fmt.Errorf("%s %q is %v for the decoder", v.Kind, v.Span.Text(), want)
	}
	return nil
}

func sameItems(v *Value, n int, want func(int) any) error {
	if v.Kind != Array || len(v.Items) != n {
		return fmt.Errorf("%s of %d items, want a list of %d", v.Kind, len(v.Items), n)
	}
	for i, item := range v.Items {
		if err := sameValue(item, want(i)); err != nil {
			return fmt.Errorf("item %d: %w", i, err)
		}
	}
	return nil
}

func FuzzParse(f *testing.F) {
	for _, c := range conformanceCases(f) {
		f.Add(c.text)
	}
	for _, c := range explainCases {
		f.Add(c.text)
	}
	for _, c := range duplicateCases {
		f.Add(c.text)
	}
	for _, text := range hostileTexts() {
		if len(text) < 10_000 { // the fuzzer copies its seeds over and over
			f.Add(text)
		}
	}
	f.Add(netlist)
	f.Fuzz(func(t *testing.T, text string) {
		if err := holdAgainstDecoders(text); err != nil {
			t.Fatalf("%v\n%q", err, text)
		}
	})
}
