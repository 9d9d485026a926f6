package layout

import (
	"ferrule/netlist/model"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// Measures of a diagram. Lettering after ISO 3098: 3.5 mm for designators, 2.5 mm for the rest.
const (
	Pitch        = 7500 * geom.Micrometre // from column to column
	TrackPitch   = 2500 * geom.Micrometre // from run to run in a channel
	RefHeight    = 3500 * geom.Micrometre
	TextHeight   = 2500 * geom.Micrometre
	LinePitch    = 4 * geom.MM
	SymbolHeight = 11 * geom.MM
	SymbolHalf   = 5 * geom.MM // half the width of a symbol in line
	SideGap      = 1500 * geom.Micrometre

	titleWidth  = 25 * geom.MM // at which a title beside a symbol is wrapped
	titleLines  = 3
	boxMargin   = 1500 * geom.Micrometre
	nameWidth   = 34 * geom.MM // at which the lettering of a terminal in a box is wrapped
	NameLines   = 2            // to at most so many lines
	forkHeight  = 3 * geom.MM  // of the bar where several wires leave one terminal of a symbol
	MarkLength  = 29 * geom.MM // lettering of a mark
	MarkArrow   = 4 * geom.MM
	labelGap    = 1200 * geom.Micrometre
	RailPitch   = 5 * geom.MM
	railMargin  = 16 * geom.MM // left of the first column: the names of the rails
	indexHeight = 30 * geom.MM
	trackRow    = 5 * geom.MM
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

// sideText returns the lines that stand beside a node below its designator, and the width of the widest.
func (n *Node) sideText(width geom.Length) ([]string, geom.Length) {
	var lines []string
	if n.Partner != "" {
		lines = append(lines, PartnerText(n.Partner, "sheet 88, tr. 88"))
	}
	lines = append(lines, n.Lines...)
	lines = append(lines, TitleLines(n.Title, width)...)
	widest := font.Width(font.Bold, n.refHeight(), n.Ref)
	for _, l := range lines {
		widest = max(widest, font.Width(font.Regular, TextHeight, l))
	}
	return lines, widest
}

// PartnerText words where the other half of a relay is drawn.
func PartnerText(partner, place string) string { return partner + ": " + place }

// refHeight is smaller for cavities and terminals than for devices, which are what one looks for.
func (n *Node) refHeight() geom.Length {
	if n.Symbol == "cavity" || n.Symbol == "terminal" {
		return TextHeight
	}
	return RefHeight
}

func columnsFor(width geom.Length) int { return int((width + Pitch - 1) / Pitch) }

// size gives a node its width in columns, its height, and its ports their columns.
func (n *Node) size(netlist *model.Netlist) {
	switch n.Form {
	case Inline, Loose:
		lines, widest := n.sideText(titleWidth)
		n.Lines, n.Title = lines, ""
		n.width = max(2, columnsFor(Pitch/2+SymbolHalf+widest+SideGap), len(n.Top), len(n.Bottom))
		n.height = n.headFork() + max(n.symbolHeight(), n.refHeight()+geom.Length(len(lines))*LinePitch+2*geom.MM) + n.footFork()
		center(n.Top, len(n.Top))
		center(n.Bottom, len(n.Bottom))
	case Joint:
		n.sizeJoint()
	case Box:
		n.sizeBox(netlist)
	case Ground:
		n.width = max(2, columnsFor(font.Width(font.Regular, TextHeight, n.Ref)+2*SideGap))
		n.height = 11 * geom.MM
	case Mark:
		n.width, n.height = 1, MarkArrow+MarkLength
	}
}

// headFork and footFork are the room that a symbol in line needs where several wires meet at one of its terminals.
func (n *Node) headFork() geom.Length { return fork(n.Top) }
func (n *Node) footFork() geom.Length { return fork(n.Bottom) }

func fork(ports []*Port) geom.Length {
	if len(ports) > 1 {
		return forkHeight
	}
	return 0
}

func (n *Node) symbolHeight() geom.Length {
	if n.Symbol == "cavity" || n.Symbol == "terminal" {
		return 8 * geom.MM
	}
	return SymbolHeight
}

// sizeJoint makes a bar with a column for every port; the lettering stands to the right of it.
func (n *Node) sizeJoint() {
	span := max(1, len(n.Top), len(n.Bottom))
	lines, widest := n.sideText(titleWidth)
	n.Lines, n.Title = lines, ""
	n.width = span + columnsFor(widest+SideGap)
	n.height = max(6*geom.MM, n.refHeight()+geom.Length(len(lines))*LinePitch+2*geom.MM)
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
	_, widest := n.sideText(2 * titleWidth)
	if n.Partner != "" {
		n.Lines = append([]string{""}, n.Lines...)
	}
	span := max(2, len(n.Top), len(n.Bottom), columnsFor(widest+2*SideGap))
	n.Lines = append(append([]string(nil), n.Lines...), TitleLines(n.Title, geom.Length(span)*Pitch-2*SideGap)...)
	n.Title = ""
	for _, side := range []struct {
		ports []*Port
		depth *geom.Length
	}{{n.Top, &n.headDepth}, {n.Bottom, &n.footDepth}} {
		for _, p := range side.ports {
			if does := netlist.Pin(p.Pin).Does.Text; does != "" && n.Symbol == "module" {
				p.Name += "  " + does
			}
			p.Lines = nameLines(p.Name)
			for _, line := range p.Lines {
				*side.depth = max(*side.depth, font.Width(font.Regular, TextHeight, line)+2*boxMargin)
			}
		}
		center(side.ports, span)
	}
	n.width = span + 1 // a column between boxes
	n.height = n.headDepth + n.footDepth + RefHeight + geom.Length(len(n.Lines))*LinePitch + 2*boxMargin + LinePitch/2
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
