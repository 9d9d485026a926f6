// Package render makes what a person takes to the vehicle out of a checked harness: the set of sheets and the lists.
//
// It takes a graph with its findings and gives files as bytes: wall.pdf with all sheets, single sheets as SVG or PDF, and
// lists as CSV. It writes nothing to the disk. It may import netlist and its sub-packages, and the packages below
// render; findings come as data, so that it needs no rule.
//
//	render/geom     lengths, points, rectangles          render/canvas      drawing calls, recorded pages
//	render/font     lettering and its measures           render/canvas/pdf  pages as PDF
//	render/sheet    one kind of sheet a file             render/canvas/svg  a page as SVG
package render

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/canvas/pdf"
	"ferrule/render/canvas/svg"
	"ferrule/render/sheet"
)

// Input is what sheets and lists are made from.
type Input struct {
	Graph    *graph.Graph
	Findings diag.List        // what stands, in the order to print
	Accepted []sheet.Accepted // what somebody has looked at
	Program  string           // name and version of the program, for the properties of the PDF; may be empty
}

// A File is a name and its content.
type File struct {
	Name string
	Data []byte
}

// SheetInfo names one sheet of a set.
type SheetInfo struct {
	Name   string // for Draw
	Title  string
	Number int // from 1
}

// WallName is the file that holds all sheets.
const WallName = "wall.pdf"

// Set plans the sheets of a harness.
func Set(in Input) *sheet.Set {
	n := in.Graph.Netlist
	s := &sheet.Set{
		Graph: in.Graph, Netlist: n, Routes: route.New(n), Findings: in.Findings, Accepted: in.Accepted, Hash: Hash(n),
	}
	s.Plan()
	return s
}

// Hash returns the first eight hexadecimal digits of the SHA-256 over the netlist's files, names and texts, in the order
// in which they are included: enough to see whether a print and a file belong together.
func Hash(n *model.Netlist) string {
	h := sha256.New()
	for _, f := range n.Files {
		fmt.Fprintf(h, "%d %s %d ", len(f.Name), f.Name, len(f.Text)) // lengths first, so that no two sets of files run together
		h.Write(f.Text)
	}
	return hex.EncodeToString(h.Sum(nil))[:8]
}

// Pages draws all sheets of a planned set, in order.
func Pages(s *sheet.Set) []*canvas.Page {
	pages := make([]*canvas.Page, len(s.Pages))
	for i, p := range s.Pages {
		pages[i] = s.Render(p)
	}
	return pages
}

// Sheets lists the sheets of a harness.
func Sheets(in Input) []SheetInfo {
	var infos []SheetInfo
	for _, p := range Set(in).Pages {
		infos = append(infos, SheetInfo{Name: p.Name, Title: p.Title, Number: p.Number})
	}
	return infos
}

// Build makes the whole set: wall.pdf and the lists. The same input gives the same bytes. The error is one of the PDF.
func Build(in Input) ([]File, error) {
	s := Set(in)
	var out bytes.Buffer
	if err := pdf.Write(&out, docOf(in), Pages(s)); err != nil {
		return nil, fmt.Errorf("making %s: %w", WallName, err)
	}
	files := []File{{WallName, out.Bytes()}}
	for _, l := range lists {
		files = append(files, File{l.name, l.csv(s)})
	}
	return files, nil
}

func docOf(in Input) pdf.Doc {
	h := &in.Graph.Netlist.Harness
	return pdf.Doc{
		Title: cmp.Or(h.Title.Text, "Harness"), Subject: strings.TrimSpace(h.Vehicle.Text + " revision " + h.Revision.Text), Creator: in.Program,
	}
}

// Draw makes one sheet as "svg" or "pdf". The name is that of a sheet (Sheets); as PDF it may be the word for a kind of
// sheets too ("pinout"), which gives all of that kind. Errors: no such sheet, with the nearest name; a kind of several
// sheets as SVG, which holds one; an unknown format.
func Draw(in Input, name, format string) ([]byte, error) {
	if format != "svg" && format != "pdf" {
		return nil, fmt.Errorf("there is no format %q; write svg or pdf", format)
	}
	s := Set(in)
	chosen, err := choose(s, name)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if format == "pdf" {
		pages := make([]*canvas.Page, len(chosen))
		for i, p := range chosen {
			pages[i] = s.Render(p)
		}
		if err := pdf.Write(&out, docOf(in), pages); err != nil {
			return nil, fmt.Errorf("drawing %s: %w", name, err)
		}
		return out.Bytes(), nil
	}
	if len(chosen) > 1 {
		return nil, fmt.Errorf("%q is %d sheets and an SVG holds one; name one of them, such as %q, or ask for pdf", name, len(chosen), chosen[0].Name)
	}
	if err := svg.Write(&out, s.Render(chosen[0])); err != nil {
		return nil, fmt.Errorf("drawing %s: %w", name, err)
	}
	return out.Bytes(), nil
}

// choose returns the sheets that a name means: the sheet of that name, alone, unless it is the word for a kind.
func choose(s *sheet.Set, name string) ([]*sheet.Page, error) {
	for _, m := range sheet.Makers() {
		if m.Name == name {
			if pages := pagesOfKind(s, m.Name); len(pages) > 0 {
				return pages, nil
			}
			return nil, fmt.Errorf("this harness has no sheets of the kind %q", name)
		}
	}
	var names []string
	for _, p := range s.Pages {
		if p.Name == name {
			return []*sheet.Page{p}, nil
		}
		names = append(names, p.Name)
	}
	if near, ok := diag.Nearest(name, names); ok {
		return nil, fmt.Errorf("there is no sheet %q; did you mean %q?", name, near)
	}
	return nil, fmt.Errorf("there is no sheet %q; --sheet ? lists the sheets", name)
}

// pagesOfKind returns the pages of a maker: their names are its word, alone or with more behind "-" or ".".
func pagesOfKind(s *sheet.Set, kind string) []*sheet.Page {
	var pages []*sheet.Page
	for _, p := range s.Pages {
		rest, ok := strings.CutPrefix(p.Name, kind)
		if ok && (rest == "" || rest[0] == '-' || rest[0] == '.') {
			pages = append(pages, p)
		}
	}
	return pages
}
