package label

import (
	"fmt"
	"strings"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A Printed is a stock full of labels: its pages, and what did not fit, in sentences that say where in the file it stands.
type Printed struct {
	Pages []*canvas.Page
	Short []string // texts that lost something
	Flags int      // how many are flags, since the label does not reach round
}

// mostStrip is how long a page of tape is at the most: printers and readers have trouble with longer ones.
const mostStrip = 1000 * geom.MM

// shortestLabel is the shortest that is cut from a tape, to hold on to.
const shortestLabel = 15 * geom.MM

// Print draws the labels on a stock, in their order.
func Print(labels []Label, stock Stock) Printed {
	var out Printed
	var texts []fitted
	for _, l := range labels {
		f := fitOn(l, stock)
		texts = append(texts, f)
		if f.lost != nothing {
			out.Short = append(out.Short, complaint(l, f, stock))
		}
		if f.blank > 0 {
			out.Flags++
		}
	}
	if stock.Tape() {
		out.Pages = strips(labels, texts, stock)
	} else {
		out.Pages = sheets(labels, texts, stock)
	}
	return out
}

// complaint is a line as the check prints one: where, what, and what to do.
func complaint(l Label, f fitted, stock Stock) string {
	what := map[lost]string{
		theTitle: "has no room for " + quoted(l.Title), theSecond: "has no room for " + quoted(strings.TrimSpace(l.Title)) + " and " + quoted(l.Second),
		theRef: "has no room even for " + quoted(l.Ref),
	}[f.lost]
	at := l.Span.Begin()
	where := fmt.Sprintf("%s:%d:%d", l.Span.File.Name, at.Line, at.Column)
	return fmt.Sprintf("%s: warning: the label of %s %s in 6 pt on %s: take a larger label, or a shorter name", where, strings.TrimSpace(l.Kind.String()+" "+l.Ref), what, describe(stock))
}

func quoted(text string) string { return fmt.Sprintf("%q", text) }

// Words says in short what a stock is: "tape of 12 mm", or how large its labels are.
func (s *Stock) Words() string {
	if s.Tape() {
		return "tape of " + mm(s.Size.Y)
	}
	return fmt.Sprintf("labels of %s x %s", mm(s.Size.X), mm(s.Size.Y))
}

func describe(s Stock) string {
	if s.Tape() {
		return s.Words() + ", " + mm(s.Size.X) + " long"
	}
	return s.Words()
}

func mm(l geom.Length) string { return fmt.Sprintf("%.4g mm", l.Mm()) }

// strips lays labels behind one another on tape, with a dashed line to cut at between two.
func strips(labels []Label, texts []fitted, stock Stock) []*canvas.Page {
	var pages []*canvas.Page
	for first := 0; first < len(labels); {
		length, last := geom.Length(0), first
		for last < len(labels) && (last == first || length+widthOf(texts[last]) <= mostStrip) {
			length += widthOf(texts[last])
			last++
		}
		r := canvas.NewRecorder(pageName(stock, len(pages)), fmt.Sprintf("Labels on tape of %s, %d to %d of %d", mm(stock.Size.Y), first+1, last, len(labels)), geom.Pt(length, stock.Size.Y))
		x := geom.Length(0)
		for i := first; i < last; i++ {
			if i > first {
				r.Line(geom.Polyline{{X: x, Y: edgeSpace / 2}, {X: x, Y: stock.Size.Y - edgeSpace/2}}, canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink, Dash: []geom.Length{geom.MM, geom.MM}})
			}
			draw(r, geom.RectAt(geom.Pt(x, 0), widthOf(texts[i]), stock.Size.Y), labels[i], texts[i])
			x += widthOf(texts[i])
		}
		pages, first = append(pages, r.Page()), last
	}
	return pages
}

// widthOf is how long a label on tape is.
func widthOf(f fitted) geom.Length {
	if f.blank > 0 {
		return 2*(f.width+2*endSpace) + f.blank
	}
	return max(shortestLabel, f.width+2*endSpace)
}

func pageName(stock Stock, number int) string {
	name := "labels"
	if stock.Name != "" {
		name += "-" + stock.Name
	}
	if number > 0 {
		name += fmt.Sprintf(".%d", number+1)
	}
	return name
}

// sheets lays labels row by row on sheets. Nothing but the labels is printed, so that nothing stands beside them.
func sheets(labels []Label, texts []fitted, stock Stock) []*canvas.Page {
	var pages []*canvas.Page
	each := stock.Columns * stock.Rows
	for first := 0; first < len(labels); first += each {
		last := min(first+each, len(labels))
		r := canvas.NewRecorder(pageName(stock, len(pages)), fmt.Sprintf("Labels %d to %d of %d", first+1, last, len(labels)), stock.Paper)
		for i := first; i < last; i++ {
			column, row := (i-first)%stock.Columns, (i-first)/stock.Columns
			at := geom.Pt(stock.Left+geom.Length(column)*stock.Pitch.X, stock.Top+geom.Length(row)*stock.Pitch.Y)
			draw(r, geom.RectAt(at, stock.Size.X, stock.Size.Y), labels[i], texts[i])
		}
		pages = append(pages, r.Page())
	}
	return pages
}

// draw letters one label: a wrapped one in the middle of the field, a flag in the middle of each of its halves.
func draw(c canvas.Canvas, field geom.Rect, l Label, f fitted) {
	canvas.InGroup(c, canvas.Group{Kind: "label", Ref: l.Ref, Title: l.End}, func() {
		if f.blank == 0 {
			letter(c, field, f)
			return
		}
		left, right := field, field
		left.Max.X = field.Min.X + (field.Width()-f.blank)/2
		right.Min.X = left.Max.X + f.blank
		letter(c, left, f)
		letter(c, right, f)
		for _, x := range []geom.Length{left.Max.X, right.Min.X} {
			fold(c, x, field)
		}
	})
}

// fold marks at both edges of a label where the part begins that lies round the wire.
func fold(c canvas.Canvas, x geom.Length, field geom.Rect) {
	pen := canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink}
	c.Line(geom.Polyline{{X: x, Y: field.Min.Y + edgeSpace/2}, {X: x, Y: field.Min.Y + edgeSpace/2 + foldMark}}, pen)
	c.Line(geom.Polyline{{X: x, Y: field.Max.Y - edgeSpace/2 - foldMark}, {X: x, Y: field.Max.Y - edgeSpace/2}}, pen)
}

const foldMark = geom.MM

// letter writes the lines of a text as often as there is room, in the middle of a field.
func letter(c canvas.Canvas, field geom.Rect, f fitted) {
	height, pitch := capHeight(f.points), linePitch(f.points)
	lines := f.repeats * f.lines()
	block := geom.Length(lines-1)*pitch + height
	y := field.Min.Y + (field.Height()-block)/2 + height
	x := field.Min.X + (field.Width()-f.width)/2
	for range f.repeats {
		c.Text(canvas.Text{At: geom.Pt(x, y), Face: font.Bold, Height: height, Color: canvas.Ink, String: f.ref})
		if f.title != "" {
			left := x + font.Width(font.Bold, height, f.ref) + gapOf(f.points)
			c.Text(canvas.Text{At: geom.Pt(left, y), Face: font.Regular, Height: height, Color: canvas.Ink, String: f.title})
		}
		if f.second != "" {
			y += pitch
			c.Text(canvas.Text{At: geom.Pt(x, y), Face: font.Regular, Height: height, Color: canvas.Ink, String: f.second})
		}
		y += pitch
	}
}
