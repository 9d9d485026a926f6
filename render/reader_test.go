package render_test

import (
	"bytes"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render"
)

// TestAnotherReaderAgrees holds the whole set against a PDF reader that is not ours (Poppler): pages, properties, sizes, the
// source attached byte for byte, fonts inside, text that can be searched, an outline with every sheet, and links.
func TestAnotherReaderAgrees(t *testing.T) {
	for _, tool := range []string{"pdfinfo", "pdfdetach", "pdftotext", "pdffonts", "pdftohtml"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip("needs Poppler's " + tool)
		}
	}
	in := example(t, "motorcycle")
	files, err := render.Build(in)
	require.NoError(t, err)
	folder := t.TempDir()
	wall := filepath.Join(folder, render.WallName)
	require.NoError(t, os.WriteFile(wall, files[0].Data, 0o600))
	read := func(name string, args ...string) string {
		var out, complaints bytes.Buffer
		cmd := exec.Command(name, args...)
		cmd.Stdout, cmd.Stderr = &out, &complaints
		require.NoError(t, cmd.Run(), complaints.String())
		assert.Empty(t, complaints.String(), name)
		return out.String()
	}
	sheets := slices.DeleteFunc(render.Sheets(in), func(s render.SheetInfo) bool { return s.Number == 0 }) // those are in files of their own
	info := read("pdfinfo", wall)
	assert.Contains(t, info, "Pages:           "+strconv.Itoa(len(sheets)))
	assert.Contains(t, info, in.Graph.Netlist.Harness.Title.Text)
	assert.Contains(t, info, "source "+render.Hash(in.Graph.Netlist))

	for i, f := range in.Graph.Netlist.Files {
		saved := filepath.Join(folder, "attached")
		read("pdfdetach", "-save", strconv.Itoa(i+1), "-o", saved, wall)
		data, err := os.ReadFile(saved)
		require.NoError(t, err)
		assert.Equal(t, string(f.Text), string(data), f.Name)
	}
	for _, line := range strings.Split(strings.TrimSpace(read("pdffonts", wall)), "\n")[2:] {
		columns := strings.Fields(line)
		assert.Equal(t, []string{"yes", "yes"}, []string{columns[len(columns)-5], columns[len(columns)-3]}, "embedded, with a map to Unicode: "+line)
	}
	pages := strings.Split(read("pdftotext", "-layout", wall, "-"), "\f")
	outline := read("pdftohtml", "-xml", "-i", "-stdout", wall)
	_, rest, _ := strings.Cut(outline, "<outline>")
	for i, s := range sheets {
		assert.Contains(t, strings.Join(strings.Fields(pages[i]), " "), strconv.Itoa(s.Number)+" of "+strconv.Itoa(len(sheets)), s.Name)
		title := html.EscapeString(s.Title) + "</item>\n"
		at := strings.Index(rest, title)
		if assert.GreaterOrEqual(t, at, 0, "not in the outline, in the order of the set: "+s.Title) {
			rest = rest[at+len(title):]
		}
	}
	assert.Greater(t, strings.Count(outline, "<a href="), 5*len(sheets), "links to other sheets")
}
