package sheet

import (
	"fmt"

	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A TitleBlock is what the title block says. A field without a text is drawn empty, for a pen: the program knows no
// dates and no people. The fields are those of ISO 7200 and, for a sheet that is carried to the vehicle, the content
// hash of the source, the count of findings and the revision that the car was really built to.
type TitleBlock struct {
	Vehicle  string // the title of the harness
	Title    string // what this sheet shows
	Document string // the identification number of the set
	Kind     string // the document type, "Circuit diagram"
	Revision string // the revision of the source
	Hash     string // the content hash of the source, shortened to what a person compares
	Scale    string // empty for "Not to scale"
	Findings string // see FindingsText
	Owner    string // the legal owner
	Date     string // of issue, as the source states it
	Drawn    string // the creator
	Approved string
	Sheet    int    // counted from 1
	Sheets   int    // how many the set has; 0 where that is not known
	Caution  string // what somebody who works from the sheet must not miss; empty for none
}

// FindingsText words the count of findings for the title block: "2 errors / 1 warning / 0 accepted".
func FindingsText(errors, warnings, accepted int) string {
	return fmt.Sprintf("%s / %s / %d accepted", counted(errors, "error"), counted(warnings, "warning"), accepted)
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Measures of the title block. The width is that of ISO 7200 (testdata/reference/sheet-rules.csv); the rest is ours. Two
// rows of tall fields have a label above the text, two rows of low ones have it beside the text.
const (
	titleWidth     = 180 * geom.MM
	titleHeight    = 2*tallRow + 2*lowRow
	lowTitleHeight = lowFirstRow + 2*lowRow // of a page that goes on from another one
	tallRow        = 12500 * geom.Micrometre
	lowRow         = 6 * geom.MM
	lowFirstRow    = 7500 * geom.Micrometre // of a low block, with the title in 3.5 mm
	leastFoot      = 60 * geom.MM           // a narrower space beside the block is of no use, and the block takes it
	cautionHeight  = 17 * geom.MM           // three lines on narrow paper; beside the block of wide paper there is more room
	longCaution    = 27 * geom.MM           // five lines
	padding        = 1200 * geom.Micrometre
)

// A field is one box of the title block. Its span is its share of the block's width, in hundred-and-eightieths.
type field struct {
	ref, label, text string
	height           geom.Length // the lettering to start from; a long text gets a smaller one before it is cut
	face             font.Face
	span             geom.Length
}

// lowRows returns the boxes of the low block of a page that goes on from another one. It keeps all that ISO 7200 asks for (owner,
// document number, date, sheet, title, who drew and approved it, type) and what tells one print from another; the scale stands
// on the first page.
func (t TitleBlock) lowRows() [][]field {
	return [][]field{
		{
			{"title", "Title", t.Title, font.Height3p5, font.Bold, 80},
			{"sheet", "Sheet", t.sheetText(), font.Height2p5, font.Bold, 36},
			{"as-built", "Valid for as-built revision", "", font.Height2p5, font.Regular, 64},
		},
		{
			{"vehicle", "Vehicle", t.Vehicle, font.Height2p5, font.Regular, 52},
			{"revision", "Revision", t.Revision, font.Height2p5, font.Bold, 22},
			{"hash", "Source hash", t.Hash, font.Height2p5, font.Mono, 46},
			{"findings", "", t.Findings, font.Height2p5, font.Regular, 60},
		},
		{
			{"kind", "Type", t.Kind, font.Height2p5, font.Regular, 30},
			{"document", "Document no.", t.Document, font.Height2p5, font.Regular, 36},
			{"owner", "Owner", t.Owner, font.Height2p5, font.Regular, 30},
			{"drawn", "Drawn", t.Drawn, font.Height2p5, font.Regular, 28},
			{"approved", "Approved", t.Approved, font.Height2p5, font.Regular, 30},
			{"date", "Date", t.Date, font.Height2p5, font.Regular, 26},
		},
	}
}

// rows returns the boxes of the block from top to bottom: tall, tall, low, low.
func (t TitleBlock) rows() [][]field {
	return [][]field{
		{
			{"vehicle", "Vehicle", t.Vehicle, font.Height3p5, font.Regular, 90},
			{"document", "Document no.", t.Document, font.Height3p5, font.Regular, 45},
			{"hash", "Source hash", t.Hash, font.Height2p5, font.Mono, 45},
		},
		{
			{"title", "Title", t.Title, font.Height5, font.Bold, 90},
			{"sheet", "Sheet", t.sheetText(), font.Height3p5, font.Regular, 25},
			{"revision", "Revision", t.Revision, font.Height3p5, font.Bold, 20},
			{"scale", "Scale", t.scaleText(), font.Height2p5, font.Regular, 45},
		},
		{
			{"as-built", "Valid for as-built revision", "", font.Height2p5, font.Regular, 72},
			{"findings", "Findings", t.Findings, font.Height2p5, font.Regular, 108},
		},
		{
			{"kind", "Type", t.Kind, font.Height2p5, font.Regular, 42},
			{"owner", "Owner", t.Owner, font.Height2p5, font.Regular, 38},
			{"drawn", "Drawn", t.Drawn, font.Height2p5, font.Regular, 34},
			{"approved", "Approved", t.Approved, font.Height2p5, font.Regular, 36},
			{"date", "Date", t.Date, font.Height2p5, font.Regular, 30},
		},
	}
}

func (t TitleBlock) sheetText() string {
	switch {
	case t.Sheet == 0:
		return ""
	case t.Sheets == 0:
		return fmt.Sprint(t.Sheet)
	}
	return fmt.Sprintf("%d of %d", t.Sheet, t.Sheets)
}

func (t TitleBlock) scaleText() string {
	if t.Scale == "" {
		return "Not to scale"
	}
	return t.Scale
}

func drawTitleBlock(c canvas.Canvas, p Paper, t TitleBlock) {
	block := p.titleBlock()
	canvas.InGroup(c, canvas.Group{Kind: "title-block", Title: t.Title}, func() {
		c.Rect(block, canvas.Stroke{Width: frameLine, Color: canvas.Ink}, canvas.Fill{})
		top := block.Min.Y
		rows := t.rows()
		if p.Low {
			rows = t.lowRows()
		}
		for i, row := range rows {
			height := tallRow
			switch {
			case p.Low && i == 0:
				height = lowFirstRow
			case p.Low || i >= 2:
				height = lowRow
			}
			drawRow(c, geom.RectAt(geom.Pt(block.Min.X, top), block.Width(), height), row)
			top += height
		}
	})
	drawCaution(c, p, t.Caution)
}

// drawRow draws the fields of a row side by side. The last one ends where the row ends, whatever the shares round to.
func drawRow(c canvas.Canvas, row geom.Rect, fields []field) {
	taken := geom.Length(0)
	for i, f := range fields {
		left := row.Min.X + share(row.Width(), taken)
		taken += f.span
		box := geom.Rect{Min: geom.Pt(left, row.Min.Y), Max: geom.Pt(row.Min.X+share(row.Width(), taken), row.Max.Y)}
		if i == len(fields)-1 {
			box.Max.X = row.Max.X
		}
		canvas.InGroup(c, canvas.Group{Kind: "field", Ref: f.ref}, func() { drawField(c, box, f) })
	}
}

func share(width, span geom.Length) geom.Length {
	return geom.Length(int64(width) * int64(span) / int64(titleWidth/geom.MM))
}

func drawField(c canvas.Canvas, box geom.Rect, f field) {
	c.Rect(box, canvas.Stroke{Width: canvas.Width0p25, Color: canvas.Ink}, canvas.Fill{})
	if box.Height() < tallRow {
		// One line, label and text on the same baseline, capitals in the middle of the box.
		baseline := box.Max.Y - (box.Height()-font.MinHeight)/2
		start := drawLabel(c, geom.Pt(box.Min.X+padding, baseline), f.label)
		drawValue(c, geom.Pt(start+padding, baseline), box.Max.X-padding, f)
		return
	}
	drawLabel(c, geom.Pt(box.Min.X+padding, box.Min.Y+padding+font.MinHeight), f.label)
	drawValue(c, geom.Pt(box.Min.X+padding, box.Max.Y-padding-padding/2), box.Max.X-padding, f)
}

// drawLabel letters what a field holds and returns where the label ends.
func drawLabel(c canvas.Canvas, at geom.Point, label string) geom.Length {
	text := canvas.Text{At: at, Face: font.Regular, Height: font.MinHeight, String: label, Color: canvas.Faint}
	c.Text(text)
	return at.X + text.Width()
}

// drawValue letters the text of a field between at and right.
func drawValue(c canvas.Canvas, at geom.Point, right geom.Length, f field) {
	height := fittingHeight(f.face, f.height, f.text, right-at.X)
	c.Text(canvas.Text{
		At: at, Face: f.face, Height: height, String: font.Fit(f.face, height, f.text, right-at.X), Color: canvas.Ink,
	})
}

// fittingHeight steps down the heights of ISO 3098 until the text fits, and stops at the least.
func fittingHeight(face font.Face, height geom.Length, text string, width geom.Length) geom.Length {
	for _, h := range []geom.Length{font.Height5, font.Height3p5} {
		if h <= height && font.Width(face, h, text) <= width {
			return h
		}
	}
	return font.MinHeight
}

// cautionInset keeps the lettering of the caution off its box.
func (p Paper) cautionInset() geom.Length {
	if p.Low {
		return 1500 * geom.Micrometre
	}
	return 2 * geom.MM
}

// cautionLines returns the lines of the caution as they stand on the paper, and how many there is room for.
func (p Paper) cautionLines(caution string) (lines []string, room int) {
	inside := p.caution().Inset(p.cautionInset())
	lines = font.Wrap(font.Bold, font.MinHeight, caution, inside.Width())
	room = 1 + int((inside.Height()-font.MinHeight)/font.LinePitch(font.MinHeight))
	return lines, room
}

// CautionFits reports whether the paper has room for the whole caution. Tests of sheets hold their cautions against it:
// Frame shortens one that is too long, and a warning must not be shortened.
func (p Paper) CautionFits(caution string) bool {
	lines, room := p.cautionLines(caution)
	return len(lines) <= room
}

func drawCaution(c canvas.Canvas, p Paper, caution string) {
	lines, room := p.cautionLines(caution)
	if len(lines) == 0 {
		return
	}
	inside := p.caution().Inset(p.cautionInset())
	if len(lines) > room {
		lines = lines[:room]
		lines[room-1] = font.Fit(font.Bold, font.MinHeight, lines[room-1]+" …", inside.Width())
	}
	canvas.InGroup(c, canvas.Group{Kind: "caution"}, func() {
		c.Rect(p.caution(), canvas.Stroke{Width: canvas.Width0p5, Color: canvas.Ink}, canvas.Fill{})
		baseline := inside.Min.Y + font.MinHeight
		for _, line := range lines {
			c.Text(canvas.Text{
				At: geom.Pt(inside.Min.X, baseline), Face: font.Bold, Height: font.MinHeight, String: line, Color: canvas.Ink,
			})
			baseline += font.LinePitch(font.MinHeight)
		}
	})
}
