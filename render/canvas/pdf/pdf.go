// Package pdf writes recorded pages as one PDF file.
//
// It takes pages (canvas.Page) and gives a file with each page at its own size, the faces embedded as subsets so that
// text can be searched and copied, an outline entry for each page, and links between the pages. The same pages give the
// same bytes: the file carries fixed dates, because a sheet is dated by the revision in its title block and not by the
// clock. It alone imports gofpdf, and knows nothing of wires.
package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/jung-kurt/gofpdf"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Doc is what the file says about itself.
type Doc struct {
	Title   string
	Subject string
	Creator string // the program
	Author  string // may be empty

	Attached []Attached // files that the PDF carries, in this order
}

// Attached is a file inside the PDF.
type Attached struct {
	Name string
	Data []byte
	Says string // what it is
}

// fixedDate stands where the format wants a date. It says nothing; a true one would make every run differ.
var fixedDate = time.Date(2000, time.January, 1, 0, 0, 0, 0, time.UTC)

// maxSide is the largest side of a page that readers must open: 14,400 units of 1/72 inch (ISO 32000-1, Annex C;
// from memory).
const maxSide = 5080 * geom.MM

// Write writes the pages, in order, as one PDF. Errors: no pages, a page without a usable size, two pages of one name,
// or a failing w. Links to pages or anchors that are not among the pages are left out.
func Write(w io.Writer, doc Doc, pages []*canvas.Page) error {
	parts := make([]Part, len(pages))
	for i, p := range pages {
		parts[i] = Part{Page: p, Window: p.Bounds()}
	}
	return WriteParts(w, doc, parts)
}

// A Part is a page of which only what lies in Window is seen. Over is drawn over it, anywhere on the paper; it may be nil.
type Part struct {
	Page   *canvas.Page
	Window geom.Rect
	Over   *canvas.Page
}

// WriteParts is Write for parts of pages.
func WriteParts(w io.Writer, doc Doc, parts []Part) error {
	var pages, drawn []*canvas.Page
	for _, p := range parts {
		pages, drawn = append(pages, p.Page), append(drawn, p.Page)
		if p.Over != nil {
			drawn = append(drawn, p.Over)
		}
	}
	if err := checkPages(pages); err != nil {
		return err
	}
	d := &drawing{out: newFile(doc, pages[0], drawn), targets: targetsIn(pages), links: map[string]int{}}
	for _, p := range parts {
		d.drawPart(p, pages[len(pages)-1].Size.Y)
	}
	var file bytes.Buffer
	if err := d.out.Output(&file); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	finished, err := finish(file.Bytes(), doc.Attached)
	if err != nil {
		return err
	}
	if _, err := w.Write(finished); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return nil
}

func checkPages(pages []*canvas.Page) error {
	if len(pages) == 0 {
		return errors.New("a PDF needs at least one page, and there is none to write")
	}
	seen := map[string]bool{}
	for i, p := range pages {
		if p.Size.X <= 0 || p.Size.Y <= 0 || p.Size.X > maxSide || p.Size.Y > maxSide {
			return fmt.Errorf("page %d (%s) is %s x %s mm; a side must be more than 0 and at most %s mm",
				i+1, p.Name, p.Size.X, p.Size.Y, maxSide)
		}
		if seen[p.Name] {
			return fmt.Errorf("two pages are named %q; links would not know which is meant", p.Name)
		}
		seen[p.Name] = true
	}
	return nil
}

// newFile starts the file: fixed dates, sorted tables, and those faces that the pages use.
func newFile(doc Doc, first *canvas.Page, pages []*canvas.Page) *gofpdf.Fpdf {
	out := gofpdf.NewCustom(&gofpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: sizeOf(first)})
	out.SetCompression(true)
	out.SetCatalogSort(true)
	out.SetCreationDate(fixedDate)
	out.SetModificationDate(fixedDate)
	out.SetMargins(0, 0, 0)
	out.SetAutoPageBreak(false, 0)
	// The writer encodes no character outside the basic plane, and an incomplete one makes it panic. What can be drawn
	// is safe.
	out.SetTitle(font.Drawable(doc.Title), true)
	out.SetCreator(font.Drawable(doc.Creator), true)
	out.SetProducer(font.Drawable(doc.Creator), true)
	if doc.Subject != "" {
		out.SetSubject(font.Drawable(doc.Subject), true)
	}
	if doc.Author != "" {
		out.SetAuthor(font.Drawable(doc.Author), true)
	}
	for _, face := range facesIn(pages) {
		// A copy of the font file each time (font.TTF), because the writer appends to slices of it while it cuts the
		// subset and would overwrite bytes that the whole program shares.
		out.AddUTF8FontFromBytes(face.String(), "", font.TTF(face))
	}
	return out
}

// facesIn returns the faces that the pages use, in the order of font.Faces. Regular is always among them: outline
// entries are encoded as Unicode only while a Unicode font is set.
func facesIn(pages []*canvas.Page) []font.Face {
	used := map[string]bool{font.Regular.String(): true}
	for _, p := range pages {
		for _, o := range p.Ops {
			if o.Kind == canvas.OpText && o.Text.Draws() {
				used[o.Text.Face.String()] = true
			}
		}
	}
	var faces []font.Face
	for _, face := range font.Faces() {
		if used[face.String()] {
			faces = append(faces, face)
		}
	}
	return faces
}

func sizeOf(p *canvas.Page) gofpdf.SizeType {
	return gofpdf.SizeType{Wd: p.Size.X.Mm(), Ht: p.Size.Y.Mm()}
}
