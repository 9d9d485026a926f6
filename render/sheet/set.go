package sheet

import (
	"cmp"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"ferrule/netlist/built"
	"ferrule/netlist/bundle"
	"ferrule/netlist/buy"
	"ferrule/netlist/cut"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/netlist/model"
	"ferrule/netlist/panelspace"
	"ferrule/netlist/route"
	"ferrule/render/canvas"
	"ferrule/render/font"
)

// A Set is a harness on its way to paper: what the sheets are drawn from, and the pages in their order.
//
// Sheets are made in two steps, because the cover lists all sheets and a wire that goes on elsewhere names the sheet
// where it does: first every kind of sheet plans its pages, then, with all numbers known, the pages are drawn.
type Set struct {
	Graph    *graph.Graph
	Netlist  *model.Netlist
	Routes   *route.Routes
	Findings diag.List
	Accepted []Accepted
	Built    *built.Status // how far the wires are; nil where no file says so
	Hash     string        // short content hash of the netlist's text
	Paper    Paper         // what wall sheets and diagrams are on; the zero Paper leaves the choice to the sheets
	Pages    []*Page

	systems map[*model.Wire]*model.System // of SystemTitle
	solved  func() *Solved                // of Solved
	fits    func() []bundle.Fit           // of Fits
	spaces  func() []panelspace.Space     // of Spaces
	bought  func() *buy.List              // of Buy
	crimps  func() []*buy.CrimpLine       // of CrimpLog
	fuses   []int                         // of fuseSide, by terminal
	cut     *cut.Plan                     // of Cut
	cutOnce sync.Once
	proofs  *Proofs // of Proofs

	where map[string][]int // "kind\x00ref" of what pages show -> their indices in Pages, ascending
}

// Accepted is a finding that somebody has looked at, with the reason.
type Accepted struct {
	Finding diag.Diagnostic
	Because string
}

// A Page is one planned sheet of paper.
type Page struct {
	Name    string // unique in the set: "schematic-fuel-1"; files and links use it
	Title   string
	Paper   Paper
	Caution string              // printed in the title block where hands meet hazard
	Shows   []Shown             // the things on it that other sheets may refer to
	Draw    func(canvas.Canvas) // draws within Paper.Area(); the set adds the frame
	Number  int                 // from 1, once all pages are planned
	doc     string              // what sheets of its kind are for
}

// Shown is a thing that a page shows: a kind as in the data-kind of drawings ("wire", "connector", "part") and a designator.
type Shown struct{ Kind, Ref string }

// A Maker is one kind of sheet: it plans the pages of that kind.
type Maker struct {
	Name  string // the word for --sheet
	Title string
	Doc   string // what the sheet is for, a sentence or two, for the documents
	Order int    // its place in the set
	Plan  func(s *Set) []*Page
}

var makers []*Maker

// register adds a kind of sheet; the files of the sheets call it once each.
func register(m *Maker) *Maker {
	makers = append(makers, m)
	return m
}

// Makers returns the kinds of sheets in the order of a set.
func Makers() []*Maker {
	sorted := slices.Clone(makers)
	slices.SortFunc(sorted, func(a, b *Maker) int { return cmp.Compare(a.Order, b.Order) })
	return sorted
}

// Plan makes the pages of all kinds of sheets and numbers them.
func (s *Set) Plan() {
	s.Pages, s.where = nil, map[string][]int{}
	sorted := Makers()
	for _, m := range sorted[1:] {
		s.Pages = append(s.Pages, m.pages(s)...)
	}
	// The cover stands first and lists the others, so it is planned last.
	s.Pages = append(sorted[0].pages(s), s.Pages...)
	for i, p := range s.Pages {
		p.Number = i + 1
		for _, shown := range p.Shows {
			key := shown.Kind + "\x00" + shown.Ref
			s.where[key] = append(s.where[key], i)
		}
	}
}

// pages plans the pages of a kind and notes what the kind is for.
func (m *Maker) pages(s *Set) []*Page {
	pages := m.Plan(s)
	for _, p := range pages {
		p.doc = m.Doc
	}
	return pages
}

// PageOf returns the first page that shows the thing, or nil. It can be asked once all pages are planned: while drawing.
func (s *Set) PageOf(kind, ref string) *Page {
	if pages := s.where[kind+"\x00"+ref]; len(pages) > 0 {
		return s.Pages[pages[0]]
	}
	return nil
}

// undrawnNote stands on a sheet that has names in characters that the lettering lacks.
const undrawnNote = string(utf8.RuneError) + " stands for a character that the lettering lacks: see the netlist."

// undrawable reports whether a text has a character that the lettering lacks.
func undrawable(text string) bool { return strings.ContainsRune(font.Drawable(text), utf8.RuneError) }

// Render draws a planned page with its frame.
func (s *Set) Render(p *Page) *canvas.Page {
	r, body, h := canvas.NewRecorder(p.Name, p.Title, p.Paper.Size()), canvas.NewRecorder(p.Name, p.Title, p.Paper.Size()), &s.Netlist.Harness
	if p.Paper.Permille == 0 {
		p.Draw(body)
	} else {
		p.Draw(canvas.Enlarged(body, p.Paper.Permille))
	}
	caution := p.Caution
	if longer := strings.TrimSpace(caution + " " + undrawnNote); (body.Page().Undrawn() || undrawable(h.Vehicle.Text+h.Title.Text+p.Title)) && p.Paper.CautionFits(longer) {
		caution = longer
	}
	Frame(r, p.Paper, TitleBlock{
		Vehicle: cmp.Or(h.Vehicle.Text, h.Title.Text), Title: p.Title, Revision: h.Revision.Text, Owner: h.Owner.Text, Hash: s.Hash,
		Findings: s.findingsLine(), Sheet: p.Number, Sheets: len(s.Pages), Caution: caution,
	})
	page := r.Page()
	page.About = p.doc
	page.Ops = append(page.Ops, body.Page().Ops...)
	return page
}

// findingsLine is the count of findings that every title block carries.
func (s *Set) findingsLine() string {
	return FindingsText(s.Findings.Count(diag.Error), s.Findings.Count(diag.Warning), len(s.Accepted))
}
