package sheet

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
	"ferrule/render/symbol"
)

// coverMaker is the maker of the cover, which has to know the pages of all others.
const coverMaker = "cover"

func init() {
	// Not a variable like the other makers: the plan of the cover asks for all makers, itself among them, and Go
	// forbids that circle in the initialisation of variables.
	register(&Maker{
		Name: coverMaker, Title: "Cover", Order: 0,
		Doc: "What the harness is, the cautions for working on it, the index of all sheets, the findings that stand and those that " +
			"somebody has accepted, the colours and marks in use, and counts. It goes on over further pages when the findings are many.",
		Plan: planCover,
	})
}

// planCover plans as many pages as the cover needs. The index lists the cover's own pages too: adding one can make the
// index longer, so the plan is repeated until the count holds. Counts only grow, so it ends.
func planCover(s *Set) []*Page {
	others := s.Pages // the cover is planned last, when all other pages are known
	pages := s.coverPages(1)
	for {
		parts := s.layCover(append(slices.Clone(pages), others...))
		count := pagesOf(parts)
		if count <= len(pages) {
			last := len(pages) - 1
			if on, short := onPage(parts, last), s.scopeLine(true); last > 0 && s.fitsBench(on) &&
				(!s.lacksCharacters(on) || s.bench().CautionFits(short+" "+undrawnNote)) {
				pages[last].Paper, pages[last].Caution = s.bench(), short // what is left needs no wall paper
			}
			return pages
		}
		pages = s.coverPages(count)
	}
}

// lacksCharacters reports whether a text in the parts or in the title block has a character that the lettering lacks, so that
// a note is due.
func (s *Set) lacksCharacters(parts []placed) bool {
	for _, p := range parts {
		for _, r := range p.rows {
			for _, lines := range r.cells {
				for _, l := range lines {
					if undrawable(l.text) {
						return true
					}
				}
			}
		}
	}
	return undrawable(s.Netlist.Harness.Vehicle.Text + s.Netlist.Harness.Title.Text)
}

func (s *Set) coverPages(count int) []*Page {
	// Laid out when the first page is drawn, because only then the set has all its pages.
	laid := sync.OnceValue(func() []placed { return s.layCover(s.Pages) })
	var pages []*Page
	for i := range count {
		page := &Page{
			Name: continuedName(coverMaker, i+1), Title: "Cover", Paper: s.wall(), Caution: s.scopeLine(!wide(s.wall())),
		}
		page.Draw = func(c canvas.Canvas) {
			s.drawCover(c, page.Paper.Area().Inset(sheetMargin), i, onPage(laid(), i))
		}
		if i > 0 {
			page.Title = fmt.Sprintf("Cover (%d of %d)", i+1, count)
		}
		pages = append(pages, page)
	}
	return pages
}

// coverHeader is the height of the band with the name of the harness on the first page.
const coverHeader = font.Height10 + font.Height5 + 9*geom.MM

// coverColumns is how many columns the cover has: three on the usual wall paper.
func coverColumns(area geom.Rect) int { return max(1, int(area.Width()/(115*geom.MM))) }

// layCover lays the blocks of the cover out over its pages, given all pages of the set.
func (s *Set) layCover(pages []*Page) []placed {
	area := s.wall().Area().Inset(sheetMargin)
	count := coverColumns(area)
	f := flow{gap: blockGap, boxAt: func(i int) box {
		page := i / count
		free := area
		free.Min.Y += headerRoom
		if page == 0 {
			free.Min.Y = area.Min.Y + coverHeader
		}
		return box{page, columnsOf(free, count)[i%count]}
	}}
	width := columnsOf(area, count)[0].Width()
	var blocks []*laidTable
	for _, t := range []table{
		s.factTable(), s.budgetTable().whole(), s.builtTable().whole(), progressTable().whole(), s.cautionTable(), indexTable(pages), s.findingTable(), s.acceptedTable(),
		symbolTable(pages), s.lineTable(pages).whole(), s.colorTable().whole(), s.markTable().whole(),
	} {
		blocks = append(blocks, t.lay(width))
	}
	return f.place(blocks...)
}

func (s *Set) drawCover(c canvas.Canvas, area geom.Rect, page int, parts []placed) {
	h := &s.Netlist.Harness
	if page == 0 {
		drawCoverHeader(c, area, cmp.Or(h.Title.Text, "Harness"), h.Vehicle.Text)
	} else {
		drawHeading(c, area, "Cover", h.Title.Text, true)
	}
	s.drawParts(c, parts)
}

func drawCoverHeader(c canvas.Canvas, area geom.Rect, title, vehicle string) {
	height := font.Height10
	for height > font.Height5 && font.Width(font.Bold, height, title) > area.Width() {
		height -= geom.MM
	}
	at := geom.Pt(area.Min.X, area.Min.Y+font.Height10)
	c.Text(canvas.Text{At: at, Face: font.Bold, Height: height, String: font.Fit(font.Bold, height, title, area.Width()), Color: canvas.Ink})
	at.Y += font.Height5 + 4*geom.MM
	height = fittingHeight(font.Regular, font.Height5, vehicle, area.Width())
	c.Text(canvas.Text{At: at, Face: font.Regular, Height: height, String: font.Fit(font.Regular, height, vehicle, area.Width()), Color: canvas.Ink})
}

func groupOf(kind, ref string) canvas.Group { return canvas.Group{Kind: kind, Ref: ref} }

// whole keeps a short table on one column of a page.
func (t table) whole() table {
	for i := range t.rows {
		t.rows[i].keep = true
	}
	return t
}

// factTable says what the harness is and how large. Title and vehicle stand here in full where the band above shortens
// them.
func (s *Set) factTable() table {
	h := &s.Netlist.Harness
	t := table{title: "This harness", heads: []string{"", ""}}
	add := func(label, value string) {
		if value != "" {
			t.rows = append(t.rows, row{cells: []cell{sayBold(label), say(value)}})
		}
	}
	width := s.wall().Area().Inset(sheetMargin).Width()
	if font.Width(font.Bold, font.Height5, h.Title.Text) > width {
		add("Title", h.Title.Text)
	}
	if font.Width(font.Regular, font.MinHeight, h.Vehicle.Text) > width {
		add("Vehicle", h.Vehicle.Text)
	}
	add("Owner", h.Owner.Text)
	add("Revision", cmp.Or(h.Revision.Text, "not stated"))
	polarity := "negative ground"
	if h.PositiveGround {
		polarity = "positive ground"
	}
	add("System", unit.Volt(h.Volts).String()+", "+polarity)
	add("Contents", s.contentsText())
	add("Wire", s.metresText())
	add("Findings", s.findingsLine())
	return t
}

func (s *Set) contentsText() string {
	n := s.Netlist
	supplied := 0
	for _, w := range n.Wires {
		if w.Supplied.On {
			supplied++
		}
	}
	return fmt.Sprintf("%s, %s, %s, %s (%d of them supplied with devices)", counted(len(n.Parts), "part"),
		counted(len(n.Connectors), "connector"), counted(len(n.Splices), "splice"), counted(len(n.Wires), "wire"), supplied)
}

// metresText adds the wires up. Those of unknown length are counted, not guessed.
func (s *Set) metresText() string {
	total, unknown := unit.Metre(0), 0
	for _, w := range s.Netlist.Wires {
		if length, ok := s.Routes.Length(w); ok {
			total += length
		} else {
			unknown++
		}
	}
	text := unit.Format(float64(total)) + " m"
	if unknown > 0 {
		text += fmt.Sprintf(", and %s of unknown length", counted(unknown, "wire"))
	}
	return text
}

// indexTable lists all sheets with links to them. Sheets that are one thing cut in pieces, "Cut list (3 of 33)", have one line
// together, or nobody would find the others among them; it leads to the first.
func indexTable(pages []*Page) table {
	t := table{title: "Index of sheets", heads: []string{"Sheet", "Title", "Paper"}}
	for i := 0; i < len(pages); {
		end := i + 1
		for end < len(pages) && wholeTitle(pages[end]) == wholeTitle(pages[i]) {
			end++
		}
		t.rows = append(t.rows, indexRow(pages[i:end], i+1))
		i = end
	}
	for i := range min(3, len(t.rows)-1) {
		t.rows[i].keep = true // no index that begins with one line at the foot
	}
	return t
}

// indexRow is the line of some sheets of one title, the first of which has the number.
func indexRow(pages []*Page, number int) row {
	first, numbers, title := pages[0], strconv.Itoa(number), pages[0].Title
	if len(pages) > 1 {
		numbers += "–" + strconv.Itoa(number+len(pages)-1)
		title = fmt.Sprintf("%s, %s", wholeTitle(first), counted(len(pages), "sheet"))
	}
	var papers []string
	for _, p := range pages {
		if !slices.Contains(papers, p.Paper.Name) {
			papers = append(papers, p.Paper.Name)
		}
	}
	return row{
		group: groupOf("index", first.Name),
		cells: []cell{{{text: numbers, bold: true, page: first.Name}}, {{text: title, page: first.Name}}, say(strings.Join(papers, ", "))},
	}
}

// pieceOf is what stands behind the title of a sheet that is one of several: " (3 of 33)".
var pieceOf = regexp.MustCompile(` \(\d+ of \d+\)$`)

// wholeTitle is the title of what a page is the whole or a piece of.
func wholeTitle(p *Page) string { return pieceOf.ReplaceAllString(p.Title, "") }

// findingTable lists what the check found, or says that it found nothing.
func (s *Set) findingTable() table {
	t := table{title: "Findings", heads: []string{"Severity", "What is wrong, and what to do: the worst first"}}
	for _, d := range ranked(s.Findings) {
		t.rows = append(t.rows, findingRow(&d, markOf(d.Severity), ""))
	}
	if len(t.rows) == 0 {
		t.heads = []string{""}
		t.rows = []row{{cells: []cell{say("The check found nothing that stands.")}}}
	}
	return t
}

// ranked puts errors before warnings before notes. Within one severity the order is that of the check, but what one rule has
// found stands together, where its first finding is; what is about numbers that the netlist lacks comes last.
func ranked(findings diag.List) diag.List {
	first := map[string]int{}
	for i, d := range findings {
		if _, seen := first[d.Rule]; !seen {
			first[d.Rule] = i
			if d.Rule == "rests-on-guess" || d.Rule == "no-data" {
				first[d.Rule] += len(findings)
			}
		}
	}
	sorted := slices.Clone(findings)
	slices.SortStableFunc(sorted, func(a, b diag.Diagnostic) int {
		return cmp.Or(cmp.Compare(b.Severity, a.Severity), cmp.Compare(first[a.Rule], first[b.Rule]))
	})
	return sorted
}

func (s *Set) acceptedTable() table {
	t := table{title: "Accepted findings", heads: []string{"Severity", "What was found, and why it may stay"}}
	for i := range s.Accepted {
		t.rows = append(t.rows, findingRow(&s.Accepted[i].Finding, acceptedMark, s.Accepted[i].Because))
	}
	return t
}

// findingRow sets a finding: the message, what to do, the reason for an acceptance, the rule and the place.
func findingRow(d *diag.Diagnostic, shape mark, because string) row {
	text := cell{{text: d.Message}}
	if because != "" {
		text = append(text, piece{text: "Accepted because: " + because})
	} else if d.Help != "" {
		text = append(text, piece{text: "Do: " + d.Help})
	}
	about := d.Rule
	if !d.Span.IsZero() {
		begin := d.Span.Begin()
		about += fmt.Sprintf(", %s:%d:%d", d.Span.File.Name, begin.Line, begin.Column)
	}
	text = append(text, piece{text: about, bold: true})
	return row{group: groupOf("finding", strings.Join(d.Refs, " ")), cells: []cell{{{text: d.Severity.String(), bold: true, mark: shape}}, text}}
}

// symbolTable is the legend of the symbols that the sheets show, two beside one another.
func symbolTable(pages []*Page) table {
	used := map[string]bool{}
	for _, p := range pages {
		for _, shown := range p.Shows {
			used[shown.Ref] = used[shown.Ref] || shown.Kind == "symbol"
		}
	}
	var cells []cell
	for _, name := range symbol.Names() {
		if used[name] {
			drawn := symbol.Find(name)
			cells = append(cells, cell{{text: drawn.Says, drawn: drawn}})
		}
	}
	t := table{title: "Symbols in use", heads: []string{"", ""}}
	for pair := range slices.Chunk(cells, 2) {
		t.rows = append(t.rows, row{cells: pair})
	}
	return t
}

// colorTable is the legend of the colour letters in use: those of IEC 60757, each with a drawn core.
func (s *Set) colorTable() table {
	t := table{title: "Colours in use (IEC 60757)", heads: []string{"Letters", "Colour"}}
	used := map[string]bool{}
	var tracer *model.Wire
	for _, w := range s.Netlist.Wires {
		used[w.Color.Base], used[w.Color.Tracer] = true, true
		if tracer == nil && w.Color.Tracer != "" {
			tracer = w
		}
	}
	for _, l := range unit.ColorLetters {
		if used[l.Letters] {
			t.rows = append(t.rows, row{cells: []cell{{{text: l.Letters, bold: true, color: unit.Color{Base: l.Letters}}}, say(l.Name)}})
		}
	}
	if tracer != nil {
		base, _ := unit.ColorName(tracer.Color.Base)
		second, _ := unit.ColorName(tracer.Color.Tracer)
		t.rows = append(t.rows, row{cells: []cell{
			{{text: tracer.Color.String(), bold: true, color: tracer.Color}},
			say("for example: base " + base + ", tracer " + second + ". The first letters are the base."),
		}})
	}
	return t
}

// markTable is the legend of the marks that the sheets use.
func (s *Set) markTable() table {
	t := table{title: "Marks in use", heads: []string{"Mark", "Meaning"}}
	add := func(used bool, c cell, meaning string) {
		if used {
			t.rows = append(t.rows, row{cells: []cell{c, say(meaning)}})
		}
	}
	shape := func(m mark, word string) cell { return cell{{text: word, bold: true, mark: m}} }
	add(s.Findings.Count(diag.Error) > 0, shape(errorMark, "error"), "to be repaired before power")
	add(s.Findings.Count(diag.Warning) > 0, shape(warningMark, "warning"), "to be looked at, and repaired or accepted")
	add(s.Findings.Count(diag.Note) > 0, shape(noteMark, "note"), "worth knowing")
	add(len(s.Accepted) > 0, shape(acceptedMark, "accepted"), "found, looked at and left, for the reason given")
	spare, unused, open, plug, supplied := s.marksInUse()
	add(spare || unused || open, sayBold("grey ground"), "no wire ends here")
	add(plug, sayBold("PLUG"), "empty cavity of a sealed housing: close it with a plug")
	add(spare, sayBold("spare"), "kept free for later, on purpose")
	add(unused, sayBold("not used"), "not needed in this vehicle, on purpose")
	add(open, sayBold("no wire"), "left empty; the netlist does not say why")
	add(supplied, sayBold("supplied"), "the wire comes with the device and is not cut")
	return t
}

// marksInUse says which words of the tables occur.
func (s *Set) marksInUse() (spare, unused, open, plug, supplied bool) {
	for i := range s.Netlist.Pins {
		if s.Netlist.Pins[i].Owner.Sort == model.BodyOwner {
			continue
		}
		words, needsPlug := strings.CutSuffix(s.Vacancy(model.PinID(i)), ": PLUG")
		plug = plug || needsPlug
		spare = spare || words == "spare"
		unused = unused || words == "not used"
		open = open || words == "no wire"
	}
	for _, w := range s.Netlist.Wires {
		supplied = supplied || w.Supplied.On
	}
	return spare, unused, open, plug, supplied
}
