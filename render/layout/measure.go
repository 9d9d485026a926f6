package layout

import (
	"cmp"
	"slices"

	"ferrule/netlist/model"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Measures of a diagram. Lettering after ISO 3098: 5 mm for the designators of devices, which are read from a distance,
// 3.5 mm for splices and bars, 2.5 mm for the rest.
const (
	Pitch        = 7500 * geom.Micrometre // from column to column
	TrackPitch   = 2500 * geom.Micrometre // from run to run in a channel
	RefHeight    = 5 * geom.MM
	JointHeight  = 3500 * geom.Micrometre
	TextHeight   = 2500 * geom.Micrometre
	LinePitch    = 4 * geom.MM
	SymbolHeight = 11 * geom.MM
	SymbolHalf   = 5 * geom.MM // half the width of a symbol in line
	SideGap      = 1500 * geom.Micrometre

	titleWidth = 25 * geom.MM // at which a title beside a symbol is wrapped
	titleLines = 3
	valueWidth = 34 * geom.MM // at which a line of values is wrapped
	alsoWidth  = 34 * geom.MM
	refWidth   = 45 * geom.MM // the most of a designator
	gatherStep = 1500 * geom.Micrometre
	// PictureWidth and PictureHeight are the room of the symbol in a box.
	PictureWidth  = 10 * geom.MM
	PictureHeight = 9 * geom.MM
	boxMargin     = 1500 * geom.Micrometre
	nameWidth     = 34 * geom.MM // at which the lettering of a terminal in a box is wrapped
	NameLines     = 2            // to at most so many lines
	forkHeight    = 3 * geom.MM  // of the bar where several wires leave one terminal of a symbol
	MarkLength    = 29 * geom.MM // lettering of a mark
	MarkArrow     = 4 * geom.MM
	labelGap      = 1200 * geom.Micrometre
	RailPitch     = 5 * geom.MM
	railMargin    = 20 * geom.MM // left of the first column: the names of the rails
	indexHeight   = 30 * geom.MM
	trackRow      = 4500 * geom.Micrometre
)

// TitleLines wraps the title of a node for the place that it has; a very long one is shortened.
func TitleLines(title string, width geom.Length) []string {
	if title == "" {
		return nil
	}
	lines := font.Wrap(font.Regular, TextHeight, title, width)
	if len(lines) > titleLines {
		lines = lines[:titleLines]
		lines[titleLines-1] = font.Fit(font.Regular, TextHeight, lines[titleLines-1]+" …", width)
	}
	return lines
}

// write puts the lines that stand beside a node below its designator in their order: what it is, where its other half or
// its other appearances are, what its values are. It returns the width of the widest.
func (n *Node) write(width geom.Length) geom.Length {
	lines := TitleLines(n.Title, width)
	if n.Also > 0 {
		kept := AlsoText(n.Also, nil)
		n.AlsoLines = len(kept)
		n.PartnerLine = len(lines)
		lines = append(lines, kept...)
	}
	if n.Partner != "" {
		n.PartnerLine = len(lines)
		lines = append(lines, PartnerText(n.Partner, "sheet 88, tr. 88"))
	}
	for _, line := range n.Lines {
		wrap := max(width, valueWidth)
		lines = append(lines, font.Wrap(font.Regular, TextHeight, font.Fit(font.Regular, TextHeight, line, 3*wrap), wrap)...)
	}
	n.Lines, n.Title = lines, ""
	widest := font.Width(font.Bold, n.RefHeight(), n.RefText())
	for _, l := range lines {
		widest = max(widest, font.Width(font.Regular, TextHeight, l))
	}
	return widest
}

// AlsoText words on which other sheets a bar is shown, in lines. Without the sheets it gives the widest text of so many.
func AlsoText(count int, sheets []string) []string {
	text := "also on sheet "
	if count > 1 {
		text = "also on sheets "
	}
	for i := range count {
		name := "888"
		if sheets != nil {
			name = sheets[i]
		}
		if i > 0 {
			text += ", "
		}
		text += name
	}
	return font.Wrap(font.Regular, TextHeight, text, alsoWidth)
}

// RefText is the designator as lettered: a very long one is shortened.
func (n *Node) RefText() string { return font.Fit(font.Bold, n.RefHeight(), n.Ref, refWidth) }

// markDepth is the length of a mark's lettering, at most MarkLength.
func (n *Node) markDepth() geom.Length {
	ref := n.Ref
	if n.Other.Drawn {
		ref = n.Other.Wire.Name.Text + " to " + n.Ref
	}
	longest := max(font.Width(font.Bold, TextHeight, ref), font.Width(font.Regular, TextHeight, "sheet 888, tr. 88"))
	if n.Other.Others > 0 || n.Other.Screen != nil {
		return MarkLength
	}
	return min(MarkLength, longest+geom.MM)
}

// MarkPitch is from line to line of a mark.
const MarkPitch = 3500 * geom.Micrometre

// MarkLines words the places to which a bar or rail goes on, "5 tr. 4", in lines. Without the places it gives the widest
// text of so many.
func MarkLines(count int, places []string) []string {
	line := "sheet"
	if count > 1 {
		line = "sheets"
	}
	var lines []string
	for i := range count {
		place := "88 tr. 88"
		if places != nil {
			place = places[i]
		}
		if i < count-1 {
			place += ","
		}
		if font.Width(font.Regular, TextHeight, line+" "+place) > MarkLength-geom.MM {
			lines = append(lines, line)
			line = place
			continue
		}
		line += " " + place
	}
	return append(lines, line)
}

// PartnerText words where the other half of a relay is drawn.
func PartnerText(partner, place string) string { return partner + ": " + place }

// RefHeight is the height of the designator: smaller for cavities and terminals than for devices, which are what one
// looks for, and in between for bars and splices, which are many.
func (n *Node) RefHeight() geom.Length {
	switch {
	case n.Symbol == "cavity" || n.Symbol == "terminal":
		return TextHeight
	case n.Form == Joint:
		return JointHeight
	}
	return RefHeight
}

func columnsFor(width geom.Length) int { return int((width + Pitch - 1) / Pitch) }

// size gives a node its width in columns, its height, and its ports their columns.
func (n *Node) size(netlist *model.Netlist) {
	switch n.Form {
	case Inline, Loose:
		widest := n.write(titleWidth)
		columns, lettering := n.widest()
		n.width = max(2, columns, columnsFor(lettering+widest+SideGap))
		body := max(n.SymbolHeight(), n.RefHeight()+geom.Length(len(n.Lines))*LinePitch+2*geom.MM)
		if n.Case {
			body = max(body, n.SymbolHeight()+caseDepth)
		}
		n.height = n.margin(true) + body + n.margin(false)
	case Joint:
		n.sizeJoint()
	case Box:
		n.sizeBox(netlist)
	case Ground:
		n.width = max(2, columnsFor(font.Width(font.Regular, TextHeight, n.Ref)+2*SideGap))
		n.height = 11 * geom.MM
	case Mark:
		if n.Other.Others > 0 {
			n.Other.Lines = len(MarkLines(n.Other.Others, nil))
		}
		lines := max(1, n.Other.Lines)
		n.width, n.height = columnsFor(Pitch/2+3*geom.MM+geom.Length(lines-1)*MarkPitch), MarkArrow+n.markDepth()
	}
}

// SymbolHeight is the length of a symbol in line with its leads.
func (n *Node) SymbolHeight() geom.Length {
	if n.Symbol == "cavity" || n.Symbol == "terminal" {
		return 8 * geom.MM
	}
	return SymbolHeight
}

// sizeJoint makes a bar with a column for every port; the lettering stands to the right of it.
func (n *Node) sizeJoint() {
	span := max(1, len(n.Top), len(n.Bottom))
	widest := n.write(titleWidth)
	n.width = span + columnsFor(widest+SideGap)
	n.height = max(6*geom.MM, n.RefHeight()+geom.Length(len(n.Lines))*LinePitch+2*geom.MM)
	center(n.Top, span)
	center(n.Bottom, span)
}

func center(ports []*Port, span int) {
	for i, p := range ports {
		p.offset = (span-len(ports))/2 + i
	}
}

// sizeBox makes room for the ports' lettering at head and foot, and for the device's own in between.
func (n *Node) sizeBox(netlist *model.Netlist) {
	widest := n.write(2 * titleWidth)
	if n.Pictured() {
		widest = max(widest, PictureWidth+font.Width(font.Bold, RefHeight, n.RefText()))
	}
	span := max(2, len(n.Top), len(n.Bottom)-n.returns, columnsFor(widest+2*SideGap))
	for _, side := range []struct {
		ports []*Port
		depth *geom.Length
	}{{n.Top, &n.headDepth}, {n.Bottom, &n.footDepth}} {
		for _, p := range side.ports {
			if does := netlist.Pin(p.Pin).Does.Text; does != "" && n.Symbol == "module" {
				p.Name += "  " + does
			}
			p.Lines = nameLines(p.Name)
			if p.back {
				continue
			}
			for _, line := range p.Lines {
				*side.depth = max(*side.depth, font.Width(font.Regular, TextHeight, line)+2*boxMargin)
			}
		}
	}
	n.width = n.returns + span + 1 // a column between boxes
	n.height = n.gathering(true) + n.headDepth + n.footDepth + n.RefDepth() + geom.Length(len(n.Lines))*LinePitch + 2*boxMargin + LinePitch/2 + n.gathering(false)
	n.spreadBox()
}

// Pictured reports whether a box shows the symbol of what is in it, small, beside the designator.
func (n *Node) Pictured() bool { return n.Form == Box && inline[n.Symbol] }

// RefDepth is the height of the line of a box in which its designator stands.
func (n *Node) RefDepth() geom.Length {
	if n.Pictured() {
		return PictureHeight
	}
	return RefHeight
}

// gathering is the room above or below a box for the bars that bring the wires of one terminal together and for the
// leads that go round it.
func (n *Node) gathering(top bool) geom.Length {
	depth := geom.Length(0)
	ports := n.side(top)
	for i, p := range ports {
		if slices.ContainsFunc(ports[:i], func(q *Port) bool { return q.Pin == p.Pin && q.back == p.back }) && !p.back {
			depth = gatherStep + gatherStep/2
		}
	}
	if top && n.returns > 0 {
		depth = gatherStep*geom.Length(1+n.returns) + gatherStep/2
	}
	return depth
}

// sortBox orders the ports of a box by place, those of one terminal together, and the leads that go round it first.
func (n *Node) sortBox(place func(*Port, bool) float64) {
	for _, top := range [...]bool{true, false} {
		ports := n.side(top)
		sum, count := map[model.PinID]float64{}, map[model.PinID]float64{}
		for _, p := range ports {
			sum[p.Pin] += place(p, top)
			count[p.Pin]++
		}
		mean := func(p *Port) float64 { return sum[p.Pin] / count[p.Pin] }
		back := func(p *Port) int {
			if p.back {
				return 0
			}
			return 1
		}
		slices.SortStableFunc(ports, func(p, q *Port) int {
			return cmp.Or(cmp.Compare(back(p), back(q)), cmp.Compare(mean(p), mean(q)), cmp.Compare(p.Pin, q.Pin), cmp.Compare(place(p, top), place(q, top)))
		})
	}
	n.spreadBox()
}

// spreadBox gives the ports of a box their columns.
func (n *Node) spreadBox() {
	span := n.width - n.returns - 1
	for _, top := range [...]bool{true, false} {
		var own []*Port
		for i, p := range n.side(top) {
			p.second = false
			if p.back {
				p.offset = i
				continue
			}
			p.second = len(own) > 0 && own[len(own)-1].Pin == p.Pin
			own = append(own, p)
		}
		center(own, span)
		for _, p := range own {
			p.offset += n.returns
		}
	}
}

// leadBox draws the bars that bring the wires of one terminal together and the leads that go round the box.
func (n *Node) leadBox() {
	n.Leads, n.Dots = nil, nil
	column := func(p *Port) geom.Length { return n.Cell.Min.X + Pitch/2 + geom.Length(p.offset)*Pitch }
	for _, top := range [...]bool{true, false} {
		bar := n.Body.Min.Y - gatherStep
		if !top {
			bar = n.Body.Max.Y + gatherStep
		}
		ports := n.side(top)
		for i, p := range ports {
			if p.second {
				from, to := geom.Pt(column(ports[i-1]), bar), geom.Pt(column(p), bar)
				n.Leads = append(n.Leads, geom.Polyline{from, to})
				n.Dots = append(n.Dots, from, to)
			}
		}
	}
	for i, p := range n.Bottom {
		if !p.back {
			continue
		}
		first := n.Top[slices.IndexFunc(n.Top, func(q *Port) bool { return q.Pin == p.Pin })]
		y := n.Body.Min.Y - gatherStep*geom.Length(1+n.returns-i)
		from := geom.Pt(column(first), y)
		n.Leads = append(n.Leads, geom.Polyline{from, geom.Pt(column(p), y), geom.Pt(column(p), n.Body.Max.Y)})
		n.Dots = append(n.Dots, from)
	}
}

// nameLines wraps the lettering of a terminal; what is longer still is shortened, and stands in full on the pin-out.
func nameLines(name string) []string {
	lines := font.Wrap(font.Regular, TextHeight, name, nameWidth)
	if len(lines) > NameLines {
		lines = lines[:NameLines]
		lines[NameLines-1] = font.Fit(font.Regular, TextHeight, lines[NameLines-1]+" …", nameWidth)
	}
	return lines
}
