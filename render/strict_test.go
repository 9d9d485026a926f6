package render_test

import (
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render"
	"ferrule/render/canvas"
	"ferrule/render/sheet"
)

// strictly is how files are read in these tests: by the letter of ISO 32000, without a network and without a settings file.
func strictly() *model.Configuration {
	api.DisableConfigDir()
	conf := model.NewDefaultConfiguration()
	conf.ValidationMode = model.ValidationStrict
	conf.Offline = true
	return conf
}

// A read is a PDF as a reader that is not ours understands it (pdfcpu).
type read struct {
	*model.Context
	outline []pdfcpu.Bookmark
}

func strictRead(t *testing.T, data []byte, where string) read {
	t.Helper()
	require.NoError(t, api.Validate(bytes.NewReader(data), strictly()), where)
	ctx, err := api.ReadValidateAndOptimize(bytes.NewReader(data), strictly())
	require.NoError(t, err, where)
	outline, err := pdfcpu.Bookmarks(ctx)
	require.NoError(t, err, where)
	return read{ctx, outline}
}

// TestAStrictReaderAgrees holds every file that a build writes, whole, in pieces and in grey, against the letter of the format:
// the outline names every page in its order and leads to it, every link leads to the page that it names, the source is attached
// byte for byte, fonts are embedded and say what their characters are, and a second run gives the same bytes.
func TestAStrictReaderAgrees(t *testing.T) {
	for _, test := range []struct {
		example string
		print   render.Print
	}{
		{"pickup", render.Print{}}, {"first", render.Print{}}, {"first", render.Print{Gray: true}},
		{"motorcycle", render.Print{Tile: "a4"}}, {"first", render.Print{Tile: "letter", Gray: true}}, {"first", render.Print{Paper: "ansi-c"}},
	} {
		in := example(t, test.example)
		in.Print = test.print
		files, err := render.Build(in)
		require.NoError(t, err)
		again, err := render.Build(in)
		require.NoError(t, err)
		for i, f := range files {
			where := test.example + " " + test.print.Tile + " " + f.Name
			assert.True(t, bytes.Equal(f.Data, again[i].Data), "%s: two runs differ", where)
			if !strings.HasSuffix(f.Name, ".pdf") {
				continue
			}
			r := strictRead(t, f.Data, where)
			r.carriesTheSource(t, in, where)
			r.fontsAreEmbedded(t, where)
			for i, b := range r.outline {
				assert.Equal(t, i+1, b.PageFrom, "%s: %s", where, b.Title)
			}
			assert.Len(t, r.outline, r.PageCount, where)
			if f.Name == render.WallName && test.print.Tile == "" {
				r.isTheSet(t, in, where)
			}
		}
	}
}

// isTheSet holds outline, sizes and links against the planned set.
func (r read) isTheSet(t *testing.T, in render.Input, where string) {
	t.Helper()
	set := render.Set(in)
	require.Equal(t, len(set.Pages), r.PageCount, where)
	dims, err := r.PageDims()
	require.NoError(t, err, where)
	links := 0
	for i, page := range set.Pages {
		assert.Equal(t, page.Title, r.outline[i].Title, where)
		assert.InDelta(t, page.Paper.Width.Mm()*72/25.4, dims[i].Width, 0.01, "%s %s, points", where, page.Name)
		assert.InDelta(t, page.Paper.Height.Mm()*72/25.4, dims[i].Height, 0.01, "%s %s, points", where, page.Name)
		got := r.linksOf(t, i+1, where)
		assert.Equal(t, targetsOn(set, page), got, "%s %s: pages that links lead to", where, page.Name)
		links += len(got)
	}
	assert.Greater(t, links, 5*len(set.Pages), where)
}

// targetsOn returns the numbers of the pages to which the links of a page lead, in the order in which they are drawn.
func targetsOn(set *sheet.Set, page *sheet.Page) []int {
	var numbers []int
	for _, o := range set.Render(page).Ops {
		if o.Kind != canvas.OpLink {
			continue
		}
		if i := slices.IndexFunc(set.Pages, func(p *sheet.Page) bool { return p.Name == o.Target }); i >= 0 {
			numbers = append(numbers, i+1)
		}
	}
	return numbers
}

// linksOf returns the numbers of the pages to which the links of a page lead.
func (r read) linksOf(t *testing.T, page int, where string) []int {
	t.Helper()
	d, _, _, err := r.PageDict(page, false)
	require.NoError(t, err, where)
	annotations, err := r.DereferenceArray(d["Annots"])
	require.NoError(t, err, where)
	var numbers []int
	for _, a := range annotations {
		link, err := r.DereferenceDict(a)
		require.NoError(t, err, where)
		destination, err := r.DereferenceArray(link["Dest"])
		require.NoError(t, err, where)
		to, ok := destination[0].(types.IndirectRef)
		require.True(t, ok, where)
		number, err := r.PageNumber(to.ObjectNumber.Value())
		require.NoError(t, err, where)
		numbers = append(numbers, number)
	}
	return numbers
}

func (r read) carriesTheSource(t *testing.T, in render.Input, where string) {
	t.Helper()
	attached, err := r.ListAttachments()
	require.NoError(t, err, where)
	require.Len(t, attached, len(in.Graph.Netlist.Files), where)
	for i, f := range in.Graph.Netlist.Files {
		assert.Equal(t, f.Name, attached[i].FileName, where)
		whole, err := r.ExtractAttachment(attached[i])
		require.NoError(t, err, where)
		data, err := io.ReadAll(whole)
		require.NoError(t, err, where)
		assert.Equal(t, string(f.Text), string(data), "%s: %s", where, f.Name)
	}
}

// fontsAreEmbedded also asks for the map from the characters' codes to Unicode, by which a reader finds and copies text.
func (r read) fontsAreEmbedded(t *testing.T, where string) {
	t.Helper()
	fonts := 0
	for _, entry := range r.Table {
		d, ok := entry.Object.(types.Dict)
		if !ok || entry.Free || d.Type() == nil || *d.Type() != "Font" {
			continue
		}
		fonts++
		if d.Subtype() != nil && *d.Subtype() == "Type0" {
			assert.Contains(t, d, "ToUnicode", where)
			continue
		}
		descriptor, err := r.DereferenceDict(d["FontDescriptor"])
		require.NoError(t, err, where)
		assert.Contains(t, descriptor, "FontFile2", where)
	}
	assert.GreaterOrEqual(t, fonts, 2, where)
}
