package sheet

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"ferrule/netlist/built"
	"ferrule/netlist/cut"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

var _ = register(&Maker{
	Name: "cut", Title: "Cut list", Order: 410,
	Doc: "Every wire that is cut, in the order in which a bench works: by size, then colour, longest first, with its length, what goes on both " +
		"ends, its labels, what is gone from the reel, and boxes to tick. Then the reels, what is cut together, double crimps and splices.",
	Plan: planCut,
})

const cutCaution = "Lengths are computed: measure on the vehicle before you cut. Label first, then the terminal. Pull every crimp. " +
	"Ventilate when shrinking or soldering; no flame or hot air near fuel or battery. Local codes and licensed practice govern."

// Cut works out when somebody first asks, and once, what is cut for the harness.
func (s *Set) Cut() *cut.Plan {
	s.cutOnce.Do(func() { s.cut = cut.New(s.Netlist, s.Routes) })
	return s.cut
}

func planCut(s *Set) []*Page {
	plan := s.Cut()
	if len(plan.Pieces) == 0 {
		return nil
	}
	paper := s.bench().sheaf(cutCaution)
	half := columnsOf(paper.area(0), 2)[0].Width()
	parts := flow{gap: blockGap, boxAt: paper.boxes(1)}.place(layAll(paper.width(), s.cutTable(), s.groupTable(), s.crimpTable(), s.legTable(), s.fittingTable())...)
	parts = append(parts, paper.columns(parts, 2, blockGap, layAll(half, s.reelTable())...)...)
	pages := s.tablePages("cut", "Cut list", cutTotal(plan), cutCaution, paper, parts)
	for i, page := range pages {
		for _, p := range onPage(parts, i) {
			for _, r := range p.rows {
				if r.row.group.Kind == "wire" {
					page.Shows = append(page.Shows, Shown{r.row.group.Kind, r.row.group.Ref})
				}
			}
		}
	}
	return pages
}

// layAll lays out the tables that have rows.
func layAll(width geom.Length, tables ...table) []*laidTable {
	var laid []*laidTable
	for _, t := range tables {
		if len(t.rows) > 0 {
			laid = append(laid, t.lay(width))
		}
	}
	return laid
}

// cutTotal words how many pieces there are and how long they are together.
func cutTotal(plan *cut.Plan) string {
	total, unknown := unit.Metre(0), 0
	for _, r := range plan.Reels {
		total += r.Cut
		unknown += r.Unknown
	}
	text := fmt.Sprintf("%s, %s m from %s", counted(len(plan.Pieces), "piece"), metres(total), counted(len(plan.Reels), "reel"))
	if unknown > 0 {
		text += fmt.Sprintf(", %d to be measured", unknown)
	}
	return text
}

// metres writes a length to the centimetre, as on a reel.
func metres(m unit.Metre) string { return strconv.FormatFloat(float64(m), 'f', 2, 64) }

// MillimetreText writes a length in whole millimetres, upwards, as one is set on a cutting bench.
func MillimetreText(m unit.Metre) string { return strconv.Itoa(int(math.Ceil(float64(m)*1000 - 1e-6))) }

// shortSample is the drawn core where columns are narrow.
const shortSample = 6 * geom.MM

// cutTable has two lines for a piece, the upper for its end A and the lower for its end B, each with boxes to tick. What is looked for
// at arm's length, the number and the length, is large.
func (s *Set) cutTable() table {
	plan := s.Cut()
	t := table{ruled: true, heads: []string{
		"Wire,\nin", "Size,\ncolour", "Cut,\nmm", "Label:\nend A, end B", "Terminal", "Seal;\nstrip", "L", "C", "P", "Reel,\nm",
	}}
	for _, note := range s.cutNotes(plan) {
		t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	}
	for _, r := range plan.Reels {
		for i, piece := range r.Pieces {
			t.rows = append(t.rows, s.pieceRow(piece, i == 0, i == len(r.Pieces)-1))
		}
	}
	return t
}

// cutNotes say how the list is to be read.
func (s *Set) cutNotes(plan *cut.Plan) []string {
	notes := []string{
		"Cut length: the way over the paths and " + plan.Allowances.String() + ". A written length is cut as it stands. `ferrule list FILE lengths` shows the sum of each.",
		"Two lines a wire: end A, end B. Label: the number of the wire and, below it, this end → the other end; within 25 mm of the end, before the terminal goes on. " +
			"Strip, mm: as stated; where none is, by the sheet of the terminal or barrel. Seal: the insulation that it takes, in mm. Boxes: cut; L labelled, C crimped, P pulled. " +
			"Reel: the metres gone after this piece; the last of a reel in bold. Below the number of a wire stands the pair or cable that it is in.",
	}
	if s.Built != nil {
		notes = append(notes, "A crossed box: done, by "+s.Built.File.Name+".")
	}
	for _, piece := range plan.Pieces {
		if piece.Guessed {
			return append(notes, "~ rests on a length that the netlist calls a guess.")
		}
	}
	return notes
}

func (s *Set) pieceRow(p *cut.Piece, first, last bool) row {
	r := row{group: canvas.Group{Kind: "wire", Ref: p.Wire.Name.Text}, ruled: first}
	stage := s.AsBuilt().Stage(p.Wire)
	length := piece{text: "measure", bold: true, mark: boxOf(stage >= built.Cut)}
	if p.Known {
		length.text, length.large = MillimetreText(p.Length)+guessMark(p.Guessed), true
	}
	running := piece{text: metres(p.Running), bold: last}
	if !p.Leads() {
		length, running = piece{text: "with " + p.Group.Lead().Wire.Name.Text}, piece{}
	}
	a, b := &p.Ends[0], &p.Ends[1]
	crimped := boxOf(stage >= built.Crimped)
	open := cell{{mark: boxMark}, {mark: boxMark}}
	r.cells = []cell{
		wireCell(p),
		{{text: sizeText(p.Wire)}, {text: cmp.Or(ColorText(p.Wire), "not stated"), color: p.Wire.Color, sample: shortSample}},
		{length},
		{s.labelPiece(a), s.labelPiece(b)},
		{{text: endCrimp(a)}, {text: endCrimp(b)}},
		{{text: preparation(a)}, {text: preparation(b)}},
		open, {{mark: crimped}, {mark: crimped}}, open,
		{running},
	}
	return r
}

func (s *Set) labelPiece(e *cut.End) piece {
	p := piece{text: e.Label}
	if e.Pin != model.NoPin {
		o := s.Netlist.Pin(e.Pin).Owner
		p.link = Shown{o.Sort.String(), o.Name.Text}
	}
	return p
}

// endCrimp words in short what goes on an end: the name of the terminal, which a table explains, or the barrel.
func endCrimp(e *cut.End) string {
	text := EndTerminal(e)
	switch {
	case e.Terminal != nil:
		text = e.Terminal.Name.Text + guessMark(e.Terminal.KnownFrom.Text == "guess")
	case e.Splice != nil:
		text = "splice" // its barrel stands in the table of splices
	}
	if len(e.Shares) > 0 {
		text += " + " + wireWords(e.Shares)
	}
	return text
}

// preparation is the seal that goes over an end and how much insulation comes off, both in mm: "1.4-2.4; 5".
func preparation(e *cut.End) string {
	var texts []string
	switch e.Seal {
	case cut.TerminalSeal:
		texts = append(texts, strings.TrimSuffix(strings.TrimSuffix(sealText(e.Terminal), "~"), " mm"))
	case cut.SealNotStated:
		texts = append(texts, "seal?")
	}
	if e.Strip > 0 {
		texts = append(texts, MillimetreText(e.Strip))
	}
	return strings.Join(texts, "; ")
}

// EndTerminal words what is crimped on an end: the title of the terminal, the barrel of a splice, or "not stated".
func EndTerminal(e *cut.End) string {
	switch {
	case e.Splice != nil && e.Splice.Barrel.IsSet():
		return "splice, barrel " + e.Splice.Barrel.String()
	case e.Splice != nil:
		return "splice, barrel not stated"
	case e.Terminal != nil:
		return cmp.Or(e.Terminal.Title.Text, e.Terminal.Name.Text)
	}
	return "not stated"
}

// EndSeal words the seal of an end: the insulation that it takes, "not stated" where there must be one, or nothing.
func EndSeal(e *cut.End) string {
	switch e.Seal {
	case cut.TerminalSeal:
		return sealText(e.Terminal)
	case cut.SealNotStated:
		return "not stated"
	}
	return ""
}

func wireWords(wires []*model.Wire) string {
	names := make([]string, len(wires))
	for i, w := range wires {
		names[i] = w.Name.Text
	}
	return strings.Join(names, ", ")
}

// wireCell is the number of a wire and, below it, the pair or cable that it is in.
func wireCell(p *cut.Piece) cell {
	c := cell{{text: p.Wire.Name.Text, bold: true, large: true}}
	if p.Group != nil {
		c = append(c, piece{text: p.Group.Cable.Name.Text})
	}
	return c
}

// reelTable lists the reels, those of one size and one sort of wire under a line that names both.
func (s *Set) reelTable() table {
	plan := s.Cut()
	t := table{title: "Reels", heads: []string{"Reel", "Colour", "Cuts", "Cut, m", "Buy, m", ""}}
	var sorts []string
	of := map[string][]*cut.Reel{}
	for _, r := range plan.Reels {
		sort := reelSort(r)
		if of[sort] == nil {
			sorts = append(sorts, sort)
		}
		of[sort] = append(of[sort], r)
	}
	for _, sort := range sorts {
		t.rows = append(t.rows, row{span: true, shaded: true, keep: true, cells: []cell{sayBold(sort)}})
		for _, r := range of[sort] {
			t.rows = append(t.rows, reelRow(r))
		}
	}
	note := fmt.Sprintf("Buy: with %s of reserve. Box: in hand. The class of the netlist where the wire states none.", shareText(plan.Allowances.Reserve))
	if len(plan.Supplied) > 0 {
		note += " Supplied, not cut: " + wireWords(plan.Supplied) + "."
	}
	t.rows = append(t.rows, row{span: true, cells: []cell{say(note)}})
	return t
}

// reelSort is the size of a reel and what its wire is like.
func reelSort(r *cut.Reel) string {
	size := "size not stated"
	if r.Size.IsSet() {
		size = r.Size.String()
	}
	if r.Cable != "" {
		size = "cables"
	}
	return size + ": " + WireText(r)
}

func shareText(share float64) string { return unit.Format(math.Round(share*1000)/10) + " %" }

// WireText words what a reel holds beside size and colour: "125 C, copper, 19 strands".
func WireText(r *cut.Reel) string {
	text := r.Insulation.String() + ", " + r.Metal
	if r.Strands > 0 {
		return text + fmt.Sprintf(", %d strands", r.Strands)
	}
	return text + ", strands not stated"
}

func reelRow(r *cut.Reel) row {
	color := cell{{text: cmp.Or(r.ColorText, "not stated"), color: r.Color, sample: shortSample}}
	if r.Cable != "" {
		color = say(r.Cable + ": " + CoresText(r))
	}
	cuts := strconv.Itoa(r.Cuts)
	if r.Unknown > 0 {
		cuts += fmt.Sprintf(", %d to be measured", r.Unknown)
	}
	return row{group: canvas.Group{Kind: "reel", Ref: strconv.Itoa(r.Number)}, cells: []cell{
		sayBold(strconv.Itoa(r.Number)), color, say(cuts), sayBold(metres(r.Cut) + guessMark(r.Guessed)), say(metres(r.Buy)), {{mark: boxMark}},
	}}
}

// fittingTable explains the terminals of the list and counts the ends that they go on.
func (s *Set) fittingTable() table {
	t := table{title: "Terminals", heads: []string{"Name", "Terminal", "Strip", "Ends"}}
	count, bare := map[*model.Terminal]int{}, 0
	for _, p := range s.Cut().Pieces {
		for i := range p.Ends {
			switch e := &p.Ends[i]; {
			case e.Terminal != nil:
				count[e.Terminal]++
			case e.Splice == nil:
				bare++
			}
		}
	}
	for _, terminal := range s.Netlist.Terminals {
		if count[terminal] == 0 {
			continue
		}
		strip := "by its sheet"
		if terminal.Strip.IsSet() {
			strip = millimetres(terminal.Strip)
		}
		text := cmp.Or(terminalText(terminal), "not described")
		if seal := sealText(terminal); seal != "" {
			text += ", seal " + seal
		}
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "terminal", Ref: terminal.Name.Text}, cells: []cell{
			sayBold(terminal.Name.Text), say(text), say(strip), say(strconv.Itoa(count[terminal])),
		}})
	}
	if bare > 0 {
		t.rows = append(t.rows, row{cells: []cell{say("not stated"), say("see what the part is: a ring, a tab, a plug of its own"), say("by its sheet"), say(strconv.Itoa(bare))}})
	}
	return t
}

// CoresText words the cores of a cable in a jacket: "22 AWG GN, 22 AWG YE".
func CoresText(r *cut.Reel) string {
	texts := make([]string, len(r.Cores))
	for i, c := range r.Cores {
		size := "size not stated"
		if c.Size.IsSet() {
			size = c.Size.String()
		}
		texts[i] = strings.TrimSpace(size + " " + c.ColorText)
	}
	return strings.Join(texts, ", ")
}

func (s *Set) groupTable() table {
	t := table{title: "Cut together", heads: []string{"Name", "Kind", "For", "Wires", "Cut, mm", "Screen", "Twisted"}}
	for _, g := range s.Cut().Groups {
		t.rows = append(t.rows, groupRow(g))
	}
	if len(t.rows) > 0 {
		t.rows = append(t.rows, row{span: true, cells: []cell{say("All wires of one name are cut to one length, the longest. A twisted pair: one turn in 20 to 30 mm, " +
			"untwisted for 50 mm at most at a terminal. A screen is tied at one end and insulated at the other (common practice).")}})
	}
	return t
}

func groupRow(g *cut.Group) row {
	var wires []*model.Wire
	for _, p := range g.Pieces {
		wires = append(wires, p.Wire)
	}
	length := "measure"
	if g.Longest != nil {
		length = MillimetreText(g.Longest.Length) + guessMark(g.Longest.Guessed)
	}
	twisted := cell{}
	if g.Twisted {
		twisted = cell{{mark: boxMark}}
	}
	return row{group: canvas.Group{Kind: "cable", Ref: g.Cable.Name.Text}, cells: []cell{
		sayBold(g.Cable.Name.Text), say(g.Cable.Kind.Text), say(g.Cable.Title.Text), say(wireWords(wires)), sayBold(length),
		say(strings.TrimPrefix(screenText(g.Cable), ", ")), twisted,
	}}
}

func (s *Set) crimpTable() table {
	t := table{title: "Double crimps", heads: []string{"Terminal of", "Wires", "Sizes", "mm² together", "What goes on", "As written", "Crimped"}}
	for _, c := range s.Cut().Crimps {
		var sizes []string
		for _, w := range c.Wires {
			sizes = append(sizes, sizeText(w))
		}
		meant := "not written: see the findings"
		if c.Meant {
			meant = "double-crimp"
		}
		t.rows = append(t.rows, row{group: canvas.Group{Kind: "crimp", Ref: c.Ref}, cells: []cell{
			sayBold(c.Ref), say(wireWords(c.Wires)), say(strings.Join(sizes, ", ")), say(areaText(c.AreaMM2) + lacking(c.Unsized)),
			say(EndTerminal(&cut.End{Terminal: c.Terminal})), say(meant), {{mark: boxMark}},
		}})
	}
	return t
}

// lacking says how many sizes a sum of areas lacks.
func lacking(unsized int) string {
	if unsized == 0 {
		return ""
	}
	return fmt.Sprintf(" and %d not stated", unsized)
}

func (s *Set) legTable() table {
	t := table{title: "Splices", heads: []string{"Leg", "Lies towards", "Size", "Colour", "Cut, mm", "mm²", "C", "P"}}
	for _, sp := range s.Cut().Splices {
		t.rows = append(t.rows, s.legRows(sp)...)
	}
	return t
}

func (s *Set) legRows(sp *cut.Splice) []row {
	about := []string{splicePlace(sp.Splice)}
	barrel := "barrel not stated"
	if sp.Splice.Barrel.IsSet() {
		barrel = "barrel " + sp.Splice.Barrel.String()
	}
	about = append(about, barrel, "conductors "+areaText(sp.AreaMM2)+" mm²"+lacking(sp.Unsized))
	if sp.Splice.Sealed.On {
		about = append(about, "sealed sleeve")
	}
	name := strings.TrimSpace(sp.Splice.Name.Text + " " + sp.Splice.Title.Text)
	rows := []row{{
		span: true, shaded: true, keep: true, cells: []cell{sayBold(name + ": " + strings.Join(about, ", "))},
		group: canvas.Group{Kind: "splice", Ref: sp.Splice.Name.Text},
	}}
	for i, l := range sp.Legs {
		r := s.legRow(sp, l)
		r.keep = i < len(sp.Legs)-1 && len(sp.Legs) <= longStud
		rows = append(rows, r)
	}
	return rows
}

func (s *Set) legRow(sp *cut.Splice, l cut.Leg) row {
	length, marks := "supplied", cell{}
	if p := s.Cut().Piece(l.Wire); p != nil {
		length, marks = "measure", cell{{mark: boxMark}}
		if p.Known {
			length = MillimetreText(p.Length) + guessMark(p.Guessed)
		}
	}
	return row{group: canvas.Group{Kind: "leg", Ref: sp.Splice.Name.Text + " " + l.Wire.Name.Text}, cells: []cell{
		sayBold(l.Wire.Name.Text), say(SideText(l.Side)), say(sizeText(l.Wire)),
		{{text: cmp.Or(ColorText(l.Wire), "not stated"), color: l.Wire.Color, sample: shortSample}}, say(length), say(s.wireAreaText(l.Wire)), marks, marks,
	}}
}

// SideText words into which path a leg leaves the place of its splice.
func SideText(side cut.Side) string {
	switch {
	case !side.Known:
		return "side not known"
	case side.Path == nil:
		return "stays here"
	}
	return fmt.Sprintf("%s, path %s", cmp.Or(side.Toward.Title.Text, side.Toward.Name.Text), side.Path.Name.Text)
}
