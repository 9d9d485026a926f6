package render_test

import (
	"bytes"
	"encoding/xml"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/render"
	"ferrule/render/canvas/svg"
)

// A svgElement is an element of an SVG file with what is in it, as encoding/xml reads it.
type svgElement struct {
	XMLName  xml.Name
	Role     string       `xml:"role,attr"`
	ID       string       `xml:"id,attr"`
	Kind     string       `xml:"data-kind,attr"`
	Ref      string       `xml:"data-ref,attr"`
	Href     string       `xml:"href,attr"`
	Text     string       `xml:",chardata"`
	Children []svgElement `xml:",any"`
}

// each calls f for the element and everything below it.
func (e *svgElement) each(f func(*svgElement)) {
	f(e)
	for i := range e.Children {
		e.Children[i].each(f)
	}
}

// TestEverySVGSaysWhatItIs: who does not see a sheet is told what it is (SVG Accessibility API Mappings 1.0, W3C: the first
// title of the root is its name, its desc the description, and the role is that of one picture), and a script finds what a
// sheet shows by data-kind and data-ref.
func TestEverySVGSaysWhatItIs(t *testing.T) {
	for _, name := range []string{"first", "motorcycle", "boat"} {
		set := render.Set(example(t, name))
		for i, page := range render.Pages(set) {
			where := name + ", " + page.Name
			var file bytes.Buffer
			require.NoError(t, svg.Write(&file, page))
			var root svgElement
			require.NoError(t, xml.Unmarshal(file.Bytes(), &root), where)
			assert.Equal(t, "img", root.Role, where)
			require.GreaterOrEqual(t, len(root.Children), 2, where)
			assert.Equal(t, "title", root.Children[0].XMLName.Local, where)
			assert.Equal(t, set.Pages[i].Title, root.Children[0].Text, where)
			assert.Equal(t, "desc", root.Children[1].XMLName.Local, where)
			assert.Contains(t, root.Children[1].Text, page.Name, where)

			ids, shown := map[string]int{}, map[[2]string]bool{}
			root.each(func(e *svgElement) {
				if e.ID != "" {
					ids[e.ID]++
				}
				if e.Ref != "" {
					assert.NotEmpty(t, e.Kind, "%s: %s", where, e.Ref)
				}
				shown[[2]string{e.Kind, e.Ref}] = true
			})
			for id, times := range ids {
				assert.Equal(t, 1, times, "%s: the id %s", where, id)
			}
			for _, s := range set.Pages[i].Shows {
				if s.Kind == "wire" || s.Kind == "part" {
					assert.True(t, shown[[2]string{s.Kind, s.Ref}], "%s: %s %s", where, s.Kind, s.Ref)
				}
			}
		}
	}
}
