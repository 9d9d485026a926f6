package model

import (
	"fmt"
	"strings"

	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
	"ferrule/netlist/unit"
)

// A LabelStock is what labels are printed on: a continuous tape, or a sheet of labels. Exactly one of Tape and Paper is given.
type LabelStock struct {
	Name          Name
	Tape, Longest Quantity // width of the tape, and the longest label that is cut from it
	Paper         Name     // one of the names of LabelPapers
	Columns, Rows Count
	Size, Pitch   Outline  // of a label, and from one label to the next; the pitch is the size when left out
	Left, Top     Quantity // from the edge of the paper to the first label; in the middle when left out
	Text          Name     // the largest lettering: "8 pt"
}

// A LabelPaper is a paper that sheets of labels come on, in m.
type LabelPaper struct {
	Name          string
	Width, Height float64
}

// LabelPapers are the papers of label sheets: ISO 216 A4 and ANSI/ASME Y14.1 A, which is Letter.
var LabelPapers = []LabelPaper{{"A4", 0.210, 0.297}, {"Letter", 0.2159, 0.2794}}

// LeastLabel is the smallest label that holds anything: two lines of 6 pt, and a designator along them (common practice).
var LeastLabel = unit.Outline{Width: 0.012, Height: 0.006}

// widestTape is the widest that is taken for a tape, in m; printers for more print on paper.
const widestTape = 0.110

// mostLabels is how many columns or rows a sheet can have.
const mostLabels = 100

var labelKeys = newSection("labels",
	quantityField("tape", "the width of a continuous tape or sleeve; the label runs along it", func(l *LabelStock) *Quantity { return &l.Tape }, unit.Length),
	quantityField("longest", "the longest label that is cut from the tape; 60 mm when left out", func(l *LabelStock) *Quantity { return &l.Longest }, unit.Length),
	wordField("paper", "the paper of a sheet of labels", func(l *LabelStock) *Name { return &l.Paper }, LabelPapers[0].Name, LabelPapers[1].Name),
	labelCount("columns", "4", "labels beside one another", mostLabels, func(l *LabelStock) *Count { return &l.Columns }),
	labelCount("rows", "16", "labels below one another", mostLabels, func(l *LabelStock) *Count { return &l.Rows }),
	outlineField("size", `"45 x 16 mm"`, "width and height of one label", func(l *LabelStock) *Outline { return &l.Size }),
	outlineField("pitch", `"48.5 x 16.9 mm"`, "from one label to the next, across and down; the size when left out", func(l *LabelStock) *Outline { return &l.Pitch }),
	allowanceField("left", "from the edge of the paper to the first label; in the middle when left out", func(l *LabelStock) *Quantity { return &l.Left }, unit.Length),
	allowanceField("top", "likewise from the upper edge", func(l *LabelStock) *Quantity { return &l.Top }, unit.Length),
	wordField("text", "the largest lettering; 8 pt when left out, 6 pt is always the least", func(l *LabelStock) *Name { return &l.Text }, "8 pt", "7 pt", "6 pt"),
)

// labelCount is a whole number from 1 to most.
func labelCount[T any](key, example, doc string, most int64, at func(*T) *Count) field[T] {
	return field[T]{key: key, form: example, doc: doc, set: func(d *decoder, t *T, v *syntax.Value) {
		if !d.is(v, syntax.Integer, example) {
			return
		}
		if v.Int < 1 || v.Int > most {
			d.diags.Errorf("out-of-range", v.Span, "%s is 1 to %d, not %d", key, most, v.Int)
			return
		}
		*at(t) = Count{int(v.Int), v.Span}
	}}
}

// paperOf is the paper of a sheet of labels.
func (l *LabelStock) paperOf() LabelPaper {
	for _, p := range LabelPapers {
		if p.Name == l.Paper.Text {
			return p
		}
	}
	return LabelPaper{}
}

// settle holds the numbers of a label stock against each other and fills in what is left out. It reports whether labels can
// be printed on it.
func (d *decoder) settle(l *LabelStock) bool {
	if l.Tape.IsSet() == l.Paper.IsSet() {
		d.diags.Errorf("bad-value", l.Name.Span, "labels %s is neither a tape nor a sheet, or both", l.Name.Text).Help =
			`write tape = "12 mm", or paper = "A4" with columns, rows and size`
		return false
	}
	if l.Tape.IsSet() {
		return d.settleTape(l)
	}
	return d.settleSheet(l)
}

func (d *decoder) settleTape(l *LabelStock) bool {
	for _, k := range []struct {
		key  string
		set  bool
		span source.Span
	}{
		{"columns", l.Columns.IsSet(), l.Columns.Span}, {"rows", l.Rows.IsSet(), l.Rows.Span}, {"size", l.Size.IsSet(), l.Size.Span}, {"pitch", l.Pitch.IsSet(), l.Pitch.Span},
		{"left", l.Left.IsSet(), l.Left.Span}, {"top", l.Top.IsSet(), l.Top.Span},
	} {
		if k.set {
			d.diags.Errorf("bad-value", k.span, "%s is of a sheet of labels, and labels %s is a tape", k.key, l.Name.Text).Help =
				`leave it out, or write paper = "A4" in place of the tape`
			return false
		}
	}
	if l.Tape.Value > widestTape {
		d.diags.Errorf("out-of-range", l.Tape.Span, "a tape for labels is not %s wide: %s at the most", millimetres(l.Tape.Value), millimetres(widestTape)).Help =
			"look for a slip of the pen or the wrong unit"
		return false
	}
	if l.Tape.Value < LeastLabel.Height {
		d.diags.Errorf("out-of-range", l.Tape.Span, "a tape of %s does not hold a label: two lines of 6 pt need %s", millimetres(l.Tape.Value), millimetres(LeastLabel.Height)).Help =
			"take a wider tape"
		return false
	}
	if l.Longest.IsSet() && l.Longest.Value < LeastLabel.Width {
		d.diags.Errorf("out-of-range", l.Longest.Span, "a label of %s holds no designator: %s at the least", millimetres(l.Longest.Value), millimetres(LeastLabel.Width))
		return false
	}
	return true
}

func (d *decoder) settleSheet(l *LabelStock) bool {
	if l.Longest.IsSet() {
		d.diags.Errorf("bad-value", l.Longest.Span, "longest is of a tape, and labels %s is a sheet", l.Name.Text).Help = "leave it out: size says how long a label is"
		return false
	}
	for _, need := range []struct {
		given bool
		key   string
	}{{l.Columns.IsSet(), "columns = 4"}, {l.Rows.IsSet(), "rows = 16"}, {l.Size.IsSet(), `size = "45 x 16 mm"`}} {
		if !need.given {
			d.diags.Errorf("bad-value", l.Name.Span, "labels %s does not say enough of its sheet", l.Name.Text).Help = "add " + need.key
			return false
		}
	}
	if l.Size.Width < LeastLabel.Width || l.Size.Height < LeastLabel.Height {
		d.diags.Errorf("out-of-range", l.Size.Span, "%s does not hold a label: two lines of 6 pt and a designator need %s", l.Size.Outline, LeastLabel).Help =
			"take a sheet with larger labels"
		return false
	}
	if !l.Pitch.IsSet() {
		l.Pitch = l.Size
	}
	if l.Pitch.Width < l.Size.Width-fits || l.Pitch.Height < l.Size.Height-fits {
		d.diags.Errorf("out-of-range", l.Pitch.Span, "the labels overlap: each is %s, and the next begins after %s", l.Size.Outline, l.Pitch.Outline).Help =
			"the pitch goes from the edge of one label to the same edge of the next"
		return false
	}
	paper := l.paperOf()
	return d.along(l, "columns", "wide", l.Columns, l.Size.Width, l.Pitch.Width, paper.Width, &l.Left) &&
		d.along(l, "rows", "high", l.Rows, l.Size.Height, l.Pitch.Height, paper.Height, &l.Top)
}

// fits is what rounding may take, in m.
const fits = 1e-6

// along holds the labels of one direction against the paper, and puts them in its middle where no margin is stated.
func (d *decoder) along(l *LabelStock, what, measure string, count Count, size, pitch, paper float64, margin *Quantity) bool {
	taken := float64(count.Number-1)*pitch + size
	span := count.Span
	if !margin.IsSet() {
		*margin = Quantity{Value: max(0, (paper-taken)/2), Dim: unit.Length}
	} else if taken <= paper {
		span = margin.Span
	}
	if taken+margin.Value <= paper+fits {
		return true
	}
	d.diags.Errorf("out-of-range", span, "%d %s of labels with their margin end at %s, and %s is %s %s", count.Number, what, millimetres(taken+margin.Value),
		l.Paper.Text, millimetres(paper), measure).Help = "measure the sheet again: margin, size, and from label to label"
	return false
}

func millimetres(m float64) string { return fmt.Sprintf("%.4g mm", m*1000) }

// labels reads `[labels]` and keeps what can be printed on.
func (a *assembler) labels(e *syntax.Entry) {
	said := len(a.diags)
	each(a, e, labelKeys, func(l *LabelStock, name Name) {
		wrong := len(a.diags) > said // a key of this table is wrong: what follows from that is not said too
		if l.Name = name; !wrong && a.fileName(name) && a.settle(l) {
			a.net.Labels = append(a.net.Labels, l)
		}
		said = len(a.diags)
	})
}

// fileName reports whether a name can be part of the name of a file on every system.
func (a *assembler) fileName(name Name) bool {
	const letters = "abcdefghijklmnopqrstuvwxyz0123456789-_"
	low := strings.ToLower(name.Text)
	if low == "" || len(low) > 40 || strings.Trim(low, letters) != "" {
		a.diags.Errorf("bad-value", name.Span, "%q names a file: it is made of letters a to z, digits, - and _", name.Text)
		return false
	}
	return a.fresh("labels file", low, name.Span, "labels "+low)
}
