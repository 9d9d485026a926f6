// Package render makes what a person takes to the vehicle out of a checked harness: the set of sheets and the lists.
//
// It takes a graph with its findings and gives files as bytes: wall.pdf with all sheets, single sheets as SVG or PDF, and
// lists as CSV. It writes nothing to the disk. It may import netlist and its sub-packages, and the packages below
// render; findings come as data, so that it needs no rule.
//
//	render/geom     lengths, points, rectangles          render/canvas      drawing calls, recorded pages
//	render/font     lettering and its measures           render/canvas/pdf  pages as PDF
//	render/sheet    one kind of sheet a file             render/canvas/svg  a page as SVG
//	render/list     one list a file                      render/tile        large pages in pieces
package render

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"slices"
	"strings"

	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/canvas/pdf"
	"ferrule/render/canvas/svg"
	"ferrule/render/list"
	"ferrule/render/sheet"
	"ferrule/render/tile"
)

// Input is what sheets and lists are made from.
type Input struct {
	Graph    *graph.Graph
	Findings diag.List        // what stands, in the order to print
	Accepted []sheet.Accepted // what somebody has looked at
	Built    *built.Status    // how far the wires are; nil where no file says so
	Program  string           // name and version of the program, for the properties of the PDF; may be empty
	Print    Print
	Say      func(string) // is told what a person should know of the sheets besides what is on them; may be nil
}

// Print says how the sheets are to come out of a printer. The zero value prints in colour, each sheet whole.
type Print struct {
	Gray  bool   // every colour by its brightness
	Tile  string // "a4" or "letter": larger sheets in overlapping pieces on that paper; empty for whole sheets
	Paper string // what wall sheets and diagrams are on, one of PaperWords; empty leaves the choice to the sheets
}

// TilePapers are the words for Print.Tile.
func TilePapers() []string { return []string{"a4", "letter"} }

// A File is a name and its content.
type File struct {
	Name string
	Data []byte
}

// SheetInfo names one sheet of a set.
type SheetInfo struct {
	Name   string // for Draw
	Title  string
	Number int // from 1; 0 for what is in a file of its own
}

// WallName is the file that holds all sheets.
const WallName = "wall.pdf"

// PaperWords are the words for Print.Paper.
func PaperWords() []string { return sheet.PaperWords() }

// Set plans the sheets of a harness.
func Set(in Input) *sheet.Set {
	s := unplanned(in)
	s.Paper, _ = sheet.PaperByName(in.Print.Paper)
	s.Plan()
	return s
}

// unplanned is the set without its pages, which cost more than all the rest: enough for lists.
func unplanned(in Input) *sheet.Set {
	n := in.Graph.Netlist
	return &sheet.Set{
		Graph: in.Graph, Netlist: n, Routes: route.New(n), Findings: in.Findings, Accepted: in.Accepted, Built: in.Built, Hash: Hash(n),
	}
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

// Sheets lists the sheets of a harness, and behind them what is in files of its own.
func Sheets(in Input) []SheetInfo {
	var infos []SheetInfo
	s := Set(in)
	for _, p := range s.Pages {
		infos = append(infos, SheetInfo{Name: p.Name, Title: p.Title, Number: p.Number})
	}
	return append(append(infos, labelInfos(s)...), cardInfos(s)...)
}

// setFor plans the sheets, unless the paper that is asked for is none.
func setFor(in Input) (*sheet.Set, error) {
	if _, ok := sheet.PaperByName(in.Print.Paper); !ok && in.Print.Paper != "" {
		return nil, fmt.Errorf("there is no paper %q; it can be: %s", in.Print.Paper, strings.Join(PaperWords(), ", "))
	}
	return Set(in), nil
}

// tell says which sheets are on larger paper than was asked for, and where characters could not be drawn.
func (in Input) tell(planned []*sheet.Page, drawn []*canvas.Page) {
	if in.Say == nil {
		return
	}
	wanted, ok := sheet.PaperByName(in.Print.Paper)
	var larger, undrawn []string
	for i, p := range planned {
		if ok && p.Paper.Exceeds(wanted) {
			larger = append(larger, p.Name+" ("+p.Paper.Name+")")
		}
		if drawn[i].Undrawn() {
			undrawn = append(undrawn, p.Name)
		}
	}
	if len(larger) > 0 {
		in.Say(fmt.Sprintf("%s on larger paper than %s, which they need: %s", countedSheets(len(larger)), wanted.Name, shortList(larger)))
	}
	if len(undrawn) > 0 {
		in.Say(fmt.Sprintf("the lettering has no sign for some characters of names; \uFFFD stands for them on %s: %s", strings.TrimSuffix(strings.TrimSuffix(countedSheets(len(undrawn)), " is"), " are"), shortList(undrawn)))
	}
}

func countedSheets(n int) string {
	if n == 1 {
		return "1 sheet is"
	}
	return fmt.Sprintf("%d sheets are", n)
}

// shortList names the first few of many.
func shortList(names []string) string {
	const most = 6
	if len(names) > most {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
	}
	return strings.Join(names, ", ")
}

// Build makes the whole set: wall.pdf and the lists. The same input gives the same bytes. The error is one of the PDF.
func Build(in Input) ([]File, error) {
	s, err := setFor(in)
	if err != nil {
		return nil, err
	}
	pages := Pages(s)
	in.tell(s.Pages, pages)
	var out bytes.Buffer
	if err := writePDF(&out, in, pages); err != nil {
		return nil, fmt.Errorf("making %s: %w", WallName, err)
	}
	files := []File{{WallName, out.Bytes()}}
	for _, l := range list.Lists() {
		files = append(files, File{l.Name + ".csv", l.CSV(s)})
	}
	labels, err := labelFiles(in, s)
	if err != nil {
		return nil, err
	}
	cards, err := cardFiles(in, s)
	return append(append(files, labels...), cards...), err
}

// ListInfo names one list of a harness.
type ListInfo struct {
	Name  string // for List
	Title string
	Rows  int
}

// Lists names all lists in their order and counts their rows.
func Lists(in Input) []ListInfo {
	s := unplanned(in)
	var infos []ListInfo
	for _, l := range list.Lists() {
		infos = append(infos, ListInfo{Name: l.Name, Title: l.Title, Rows: len(l.Rows(s))})
	}
	return infos
}

// ListNames are the words for List, in the order of the lists.
func ListNames() []string {
	var names []string
	for _, l := range list.Lists() {
		names = append(names, l.Name)
	}
	return names
}

// List makes one list as "text", "csv" or "json". Errors: no such list; an unknown format.
func List(in Input, name, format string) ([]byte, error) {
	l := list.ByName(name)
	if l == nil {
		return nil, fmt.Errorf("there is no list %q; there are: %s", name, strings.Join(ListNames(), ", "))
	}
	return l.Write(unplanned(in), format)
}

// docOf is what the PDF says about itself. It carries the netlist that it was made from: whoever finds the print and has
// the file has the source.
func docOf(in Input) pdf.Doc {
	n := in.Graph.Netlist
	h := &n.Harness
	doc := pdf.Doc{
		Title: cmp.Or(h.Title.Text, "Harness"), Subject: strings.TrimSpace(h.Vehicle.Text + " revision " + h.Revision.Text + ", source " + Hash(n)),
		Creator: in.Program, Author: h.Owner.Text,
	}
	for _, f := range n.Files {
		doc.Attached = append(doc.Attached, pdf.Attached{Name: f.Name, Data: f.Text, Says: "netlist, source " + Hash(n)})
	}
	if in.Built != nil && in.Built.File != nil {
		doc.Attached = append(doc.Attached, pdf.Attached{Name: in.Built.File.Name, Data: in.Built.File.Text, Says: "as-built status of the netlist"})
	}
	return doc
}

// writePDF writes pages as the printer is to get them.
func writePDF(w io.Writer, in Input, pages []*canvas.Page) error {
	if in.Print.Gray {
		for i, p := range pages {
			pages[i] = canvas.Gray(p)
		}
	}
	if in.Print.Tile == "" {
		return pdf.Write(w, docOf(in), pages)
	}
	paper, ok := sheet.PaperByName(in.Print.Tile)
	if !ok || !slices.Contains(TilePapers(), in.Print.Tile) {
		return fmt.Errorf("sheets cannot be cut for %q; it can be: %s", in.Print.Tile, strings.Join(TilePapers(), ", "))
	}
	var parts []pdf.Part
	for _, p := range pages {
		for _, t := range tile.Cut(p, paper.Size()) {
			parts = append(parts, pdf.Part{Page: t.Page, Window: t.Window, Over: t.Marks})
		}
	}
	return pdf.WriteParts(w, docOf(in), parts)
}

// Draw makes one sheet as "svg" or "pdf". The name is that of a sheet (Sheets); as PDF it may be the word for a kind of
// sheets too ("pinout"), which gives all of that kind. Errors: no such sheet, with the nearest name; a kind of several
// sheets as SVG, which holds one; an unknown format.
func Draw(in Input, name, format string) ([]byte, error) {
	if format != "svg" && format != "pdf" {
		return nil, fmt.Errorf("there is no format %q; write svg or pdf", format)
	}
	if data, is, err := drawLabels(in, unplanned(in), name, format); is {
		return data, err
	}
	s, err := setFor(in)
	if err != nil {
		return nil, err
	}
	if data, is, err := drawCards(in, s, name, format); is {
		return data, err
	}
	chosen, err := choose(s, name)
	if err != nil {
		return nil, err
	}
	if format == "svg" && len(chosen) > 1 {
		return nil, fmt.Errorf("%q is %d sheets and an SVG holds one; name one of them, such as %q, or ask for pdf", name, len(chosen), chosen[0].Name)
	}
	pages := make([]*canvas.Page, len(chosen))
	for i, p := range chosen {
		pages[i] = s.Render(p)
	}
	in.tell(chosen, pages)
	var out bytes.Buffer
	if format == "pdf" {
		if err := writePDF(&out, in, pages); err != nil {
			return nil, fmt.Errorf("drawing %s: %w", name, err)
		}
		return out.Bytes(), nil
	}
	page := pages[0]
	if in.Print.Gray {
		page = canvas.Gray(page)
	}
	if err := svg.Write(&out, page); err != nil {
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
