package pdf_test

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
)

// A file is a PDF taken apart as far as these tests need: the objects by number, found through the cross-reference table
// (ISO 32000-1, 7.5.4, from memory), so that a table with a wrong offset fails every test.
type file struct {
	objects map[int]object
	catalog string
}

// An object is the text of its dictionary and, inflated, its stream.
type object struct {
	dict   string
	stream []byte
}

var (
	startxref = regexp.MustCompile(`startxref\n(\d+)\n%%EOF\s*$`)
	xrefEntry = regexp.MustCompile(`(?m)^(\d{10}) \d{5} n `)
	rootEntry = regexp.MustCompile(`/Root (\d+) 0 R`)
	length    = regexp.MustCompile(`/Length (\d+)`)
)

func read(t *testing.T, data []byte) file {
	t.Helper()
	require.True(t, bytes.HasPrefix(data, []byte("%PDF-1.")))
	start := startxref.FindSubmatch(data)
	require.NotNil(t, start, "a PDF ends with startxref and an offset")
	table := string(data[number(t, string(start[1])):])
	require.True(t, strings.HasPrefix(table, "xref\n"))
	f := file{objects: map[int]object{}}
	for i, entry := range xrefEntry.FindAllStringSubmatch(table, -1) {
		offset := number(t, entry[1])
		head := fmt.Sprintf("%d 0 obj\n", i+1)
		require.True(t, bytes.HasPrefix(data[offset:], []byte(head)), "object %d is where the table says", i+1)
		f.objects[i+1] = readObject(t, data[offset+len(head):])
	}
	root := rootEntry.FindStringSubmatch(table)
	require.NotNil(t, root)
	f.catalog = f.objects[number(t, root[1])].dict
	return f
}

func readObject(t *testing.T, data []byte) object {
	t.Helper()
	end := bytes.Index(data, []byte("endobj"))
	streamAt := bytes.Index(data, []byte("stream\n"))
	if streamAt < 0 || streamAt > end {
		return object{dict: string(data[:end])}
	}
	o := object{dict: string(data[:streamAt])}
	size := length.FindStringSubmatch(o.dict)
	require.NotNil(t, size)
	body := data[streamAt+len("stream\n"):]
	o.stream = body[:number(t, size[1])]
	require.True(t, bytes.HasPrefix(body[len(o.stream):], []byte("\nendstream")), "the stream is as long as it says")
	if strings.Contains(o.dict, "/FlateDecode") {
		inflate, err := zlib.NewReader(bytes.NewReader(o.stream))
		require.NoError(t, err)
		o.stream, err = io.ReadAll(inflate)
		require.NoError(t, err)
	}
	return o
}

func number(t *testing.T, digits string) int {
	t.Helper()
	n, err := strconv.Atoi(digits)
	require.NoError(t, err)
	return n
}

// ref follows "/Key 12 0 R" in a dictionary.
func (f file) ref(t *testing.T, dict, key string) object {
	t.Helper()
	match := regexp.MustCompile(key + ` \[?(\d+) 0 R`).FindStringSubmatch(dict)
	require.NotNil(t, match, "%s in %s", key, dict)
	return f.objects[number(t, match[1])]
}

// kids returns the numbers of the page objects in order.
func (f file) kids(t *testing.T) []int {
	t.Helper()
	list := regexp.MustCompile(`/Kids \[([0-9 R]*)\]`).FindStringSubmatch(f.ref(t, f.catalog, "/Pages").dict)
	require.NotNil(t, list)
	var kids []int
	for _, match := range regexp.MustCompile(`(\d+) 0 R`).FindAllStringSubmatch(list[1], -1) {
		kids = append(kids, number(t, match[1]))
	}
	return kids
}

// content returns the drawing operators of a page.
func (f file) content(t *testing.T, page int) string {
	t.Helper()
	return string(f.ref(t, f.objects[page].dict, "/Contents").stream)
}

// links returns the dictionaries of a page's links.
func (f file) links(t *testing.T, page int) string {
	t.Helper()
	list := regexp.MustCompile(`/Annots \[([0-9 R]*)\]`).FindStringSubmatch(f.objects[page].dict)
	require.NotNil(t, list, "the links of a page are references to objects")
	text := ""
	for _, match := range regexp.MustCompile(`(\d+) 0 R`).FindAllStringSubmatch(list[1], -1) {
		text += f.objects[number(t, match[1])].dict
	}
	return text
}

// textOf returns the strings that a page shows, decoded as the fonts' code is: two bytes for a character.
func (f file) textOf(t *testing.T, page int) []string {
	t.Helper()
	var texts []string
	for _, shown := range regexp.MustCompile(`(?s)\(((?:[^\\()]|\\.)*)\) Tj`).FindAllStringSubmatch(f.content(t, page), -1) {
		texts = append(texts, utf16BE(t, unescaped(shown[1])))
	}
	return texts
}

func unescaped(s string) string {
	return regexp.MustCompile(`(?s)\\.`).ReplaceAllStringFunc(s, func(pair string) string {
		if pair == `\r` {
			return "\r"
		}
		return pair[1:]
	})
}

func utf16BE(t *testing.T, s string) string {
	t.Helper()
	require.Zero(t, len(s)%2)
	units := make([]uint16, 0, len(s)/2)
	for i := 0; i < len(s); i += 2 {
		units = append(units, uint16(s[i])<<8|uint16(s[i+1]))
	}
	return strings.TrimPrefix(string(utf16.Decode(units)), "\ufeff")
}

// advances reads the /W array of a CID font (ISO 32000-1, 9.7.4.3, from memory): by character, in thousandths of the em.
func advances(t *testing.T, dict string) map[int]int {
	t.Helper()
	list := regexp.MustCompile(`(?s)/W \[(.*) \]\n/CIDToGIDMap`).FindStringSubmatch(dict)
	require.NotNil(t, list, dict)
	words := strings.Fields(strings.NewReplacer("[", " [ ", "]", " ] ").Replace(list[1]))
	widths := map[int]int{}
	for i := 0; i < len(words); {
		first := number(t, words[i])
		if words[i+1] != "[" {
			for c := first; c <= number(t, words[i+1]); c++ {
				widths[c] = number(t, words[i+2])
			}
			i += 3
			continue
		}
		for i += 2; words[i] != "]"; i++ {
			widths[first] = number(t, words[i])
			first++
		}
		i++
	}
	return widths
}
