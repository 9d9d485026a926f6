// Package svg writes a recorded page as one SVG 1.1 file.
//
// It takes a page (canvas.Page) and gives a file that stands on its own: no style sheet, font or picture is fetched.
// Lengths are millimetres, text is real text, and every group carries what it shows (data-kind, data-ref and a title),
// so that a sheet can be searched, read aloud and linked from a page. A viewer that lacks the Go faces letters it in its
// own sans-serif, whose widths differ a little; the PDF is the measure of what is printed. The package knows nothing of
// wires.
package svg

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"ferrule/render/canvas"
)

// Write writes the page. Links are to ids (see ID): they work within the page, and where a document holds several sheets,
// between them. The only error is one of w.
func Write(w io.Writer, page *canvas.Page) error {
	out := bufio.NewWriter(w)
	d := &drawing{out: out, named: map[string]bool{page.Name: true}}
	d.begin(page)
	page.Replay(d)
	d.print("</svg>\n")
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing the SVG of sheet %s: %w", page.Name, err)
	}
	return nil
}

func (d *drawing) begin(p *canvas.Page) {
	d.print(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	d.print(`<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" version="1.1"`)
	d.print(` id="%s" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" fill="none" stroke-linejoin="round">`+"\n",
		ID(p.Name), p.Size.X, p.Size.Y, p.Size.X, p.Size.Y)
	d.print("<title>%s</title>\n", escape(titleOf(p)))
	about := strings.TrimSpace(p.About + fmt.Sprintf(" Sheet %s, %s mm by %s mm at full size, measured in millimetres.", p.Name, p.Size.X, p.Size.Y))
	d.print("<desc>%s</desc>\n", escape(about))
	// A sheet is white paper, also in a viewer with a dark background.
	d.print(`<rect width="%s" height="%s" fill="#ffffff"/>`+"\n", p.Size.X, p.Size.Y)
}

func titleOf(p *canvas.Page) string {
	if p.Title == "" {
		return p.Name
	}
	return p.Title
}

// ID returns the id under which a page or an anchor is found in the SVG: a letter, then the name with every byte that an
// XML name cannot hold written as "_" and two hexadecimal digits. Different names have different ids.
func ID(name string) string {
	var id strings.Builder
	id.WriteByte('s')
	for i := range len(name) {
		switch b := name[i]; {
		case b >= 'a' && b <= 'z', b >= 'A' && b <= 'Z', b >= '0' && b <= '9', b == '-', b == '.':
			id.WriteByte(b)
		default:
			fmt.Fprintf(&id, "_%02x", b)
		}
	}
	return id.String()
}
