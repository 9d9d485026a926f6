// Package label makes the labels of a harness: two for each wire in the order in which it is cut, flags for connectors,
// numbers for fuses and relays, and the names of studs for their rings.
//
// It takes a sheet.Set and gives texts (Of), and pages at true size for a continuous tape or for sheets of labels (Print),
// with a list of what did not fit. It may import render/sheet, render/canvas and what those may import. It writes nothing.
package label

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ferrule/netlist/conductor"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/render/sheet"
)

// A Kind is what a label is for.
type Kind uint8

// The kinds, in the order in which they are printed.
const (
	Wire Kind = iota + 1
	Connector
	Module // a fuse, a relay or what else sits in a panel
	Ring   // on a ground point or stud
)

// String is the word for a kind in lists.
func (k Kind) String() string {
	return [...]string{"", "wire", "connector", "fuse or relay", "ring"}[k]
}

// A Label is what stands on one label. The text is one of the first line and one of the second that have room together: the
// fuller ones come first, and all but the first of the first line leave something out.
type Label struct {
	Kind    Kind
	Ref     string  // the designator: "10a"
	End     string  // the terminal that it goes to: "X3P:1"; empty where there is no choice
	Title   string  // words behind the designator in the first line: the net, or the title
	Clause  string  // the title up to its first colon, where the whole of it has no room; empty for none
	Second  string  // the second line
	Short   string  // the second line where the full one has no room; empty for none
	RoundMM float64 // how far it is around what it goes on; 0 where that is not known
	Span    source.Span
}

// Of lists the labels of a harness in the order of the bench. Wires that come with a device are not cut and get none.
func Of(s *sheet.Set) []Label {
	labels := wireLabels(s)
	labels = append(labels, connectorLabels(s)...)
	labels = append(labels, moduleLabels(s)...)
	return append(labels, ringLabels(s)...)
}

// wireLabels makes two labels a piece, for its beginning and for its end.
func wireLabels(s *sheet.Set) []Label {
	var labels []Label
	for _, p := range s.Cut().Pieces {
		w := p.Wire
		net := s.NetOf(w)
		for i := range p.Ends {
			l := Label{Kind: Wire, Ref: w.Name.Text, End: p.Ends[i].Ref, Title: net, Second: p.Ends[i].Label, Span: w.Name.Span}
			if far := p.Ends[1-i].Ref; far != "" {
				l.Short = arrow + " " + far
			}
			if d, _ := conductor.OutsideDiameter(w.Size); d > 0 {
				l.RoundMM = pi * d
			}
			labels = append(labels, l)
		}
	}
	return labels
}

const (
	arrow = "→"
	pi    = 3.14159265358979
)

func connectorLabels(s *sheet.Set) []Label {
	var labels []Label
	for _, c := range sorted(s.Netlist.Connectors, func(c *model.Connector) string { return c.Name.Text }) {
		l := Label{Kind: Connector, Ref: c.Name.Text, Second: c.Title.Text, Span: c.Name.Span}
		if l.Second == "" && c.Part != nil {
			l.Second = strings.TrimSpace(c.Part.Name.Text + " " + c.Part.Title.Text)
		}
		if c.Mate != nil {
			l.Title = "mates " + c.Mate.Name.Text
		}
		labels = append(labels, l)
	}
	return labels
}

func moduleLabels(s *sheet.Set) []Label {
	var labels []Label
	for _, panel := range s.Netlist.Panels {
		for _, p := range sorted(s.Netlist.Parts, func(p *model.Part) string { return p.Name.Text }) {
			if p.Panel != panel {
				continue
			}
			l := Label{Kind: Module, Ref: p.Name.Text, Second: p.Title.Text, Span: p.Name.Span}
			if v := p.Value("rating"); v != nil && v.Quantity.IsSet() && len(p.Inside.Protects) > 0 {
				l.Title = fmt.Sprintf("%g A", v.Quantity.Value)
			}
			labels = append(labels, l)
		}
	}
	return labels
}

// ringLabels makes one label for each ring on a ground point or on a stud of a panel.
func ringLabels(s *sheet.Set) []Label {
	var labels []Label
	for _, o := range sorted(s.Netlist.Owners, func(o *model.Owner) string { return o.Name.Text }) {
		if o.Part == nil || o.Part.Kind.Name != "ground point" && o.Part.Kind.Name != "bus bar" {
			continue
		}
		for _, id := range o.Pins {
			for _, w := range s.WiresAt(id) {
				if w.Supplied.On {
					continue
				}
				l := Label{Kind: Ring, Ref: o.Name.Text, End: s.Netlist.Pin(id).String(), Title: o.Title(), Clause: clauseOf(o.Title()), Second: "wire " + w.Name.Text, Span: o.Name.Span}
				if d, _ := conductor.OutsideDiameter(w.Size); d > 0 {
					l.RoundMM = pi * d
				}
				labels = append(labels, l)
			}
		}
	}
	return labels
}

// clauseOf is the beginning of a title that has a colon: "Frame at the steering head" of "Frame at the steering head: lamps, bars".
func clauseOf(title string) string {
	clause, _, found := strings.Cut(title, ":")
	if !found {
		return ""
	}
	return strings.TrimSpace(clause)
}

func sorted[T any](things []T, name func(T) string) []T {
	out := slices.Clone(things)
	slices.SortStableFunc(out, func(a, b T) int { return cmp.Or(sheet.CompareNatural(name(a), name(b)), 0) })
	return out
}

// First is the whole first line.
func (l *Label) First() string { return strings.TrimSpace(l.Ref + " " + l.Title) }
