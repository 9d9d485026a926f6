package sheet

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"sync"

	"ferrule/netlist/panelspace"
)

var _ = register(&Maker{
	Name: "space", Title: "Panel space", Order: 315,
	Doc: "For every panel what sits in it and what feeds it: the area of modules and wires against its inside, how full that is, the hole of " +
		"each bundle that enters, and what is spare.",
	Plan: planSpace,
})

const spaceCaution = "Areas are estimates from the front, of usual sizes where the netlist states none: lay the parts out on a board of the same size " +
	"before the box is bought. Battery off, grounded pole first, before a panel is opened."

// Spaces returns what every panel has to hold, worked out when the first asks, and once.
func (s *Set) Spaces() []panelspace.Space {
	if s.spaces == nil {
		s.spaces = sync.OnceValue(func() []panelspace.Space { return panelspace.Of(s.Netlist, s.Routes) })
	}
	return s.spaces()
}

func planSpace(s *Set) []*Page {
	var tables []table
	spaces := s.Spaces()
	for i := range spaces {
		if spaces[i].Seated() > 0 || len(spaces[i].Entries) > 0 {
			tables = append(tables, spaceTables(&spaces[i])...)
		}
	}
	paper, parts := s.compact(spaceCaution, tables...)
	if len(parts) == 0 {
		return nil
	}
	return s.tablePages("space", "Panel space", "what has to go in, and by which holes", spaceCaution, paper, parts)
}

// spaceTables are the sum, the entries and the modules of one panel.
func spaceTables(s *panelspace.Space) []table {
	name := strings.TrimSpace(s.Panel.Name.Text + " " + s.Panel.Title.Text)
	facts := table{title: name + ": " + fillWords(s), heads: []string{"", ""}}
	add := func(label, text string) {
		facts.rows = append(facts.rows, row{cells: []cell{sayBold(label), say(text)}, group: groupOf("panel-space", s.Panel.Name.Text)})
	}
	if s.Panel.Inside.IsSet() {
		add("Inside", s.Panel.Inside.String()+", "+squareCM(s.InsideMM2))
	} else {
		add("Inside", `not stated: add inside = "200 x 120 mm" to the panel`)
	}
	add("Modules", fmt.Sprintf("%d of %s", len(s.Modules), squareCM(s.ModuleMM2)))
	add("Wires", squareCM(s.WireMM2)+when(s.Unsized > 0, fmt.Sprintf(" or more: %d without size", s.Unsized)))
	width, height := s.LeastInside()
	add("Least inside", fmt.Sprintf("%.0f x %.0f mm, filled to %.0f %%", width, height, 100*panelspace.Full))
	if len(s.Unmeasured) > 0 {
		var names []string
		for _, p := range s.Unmeasured {
			names = append(names, p.Name.Text)
		}
		add("Not counted", strings.Join(names, ", ")+`: size not stated, and none is usual; add size = "60 x 40 mm"`)
	}
	add("Spare", spaceSpare(s))
	return []table{facts, entryTable(s, name), moduleTable(s, name)}
}

func fillWords(s *panelspace.Space) string {
	switch fill := s.Fill(); {
	case fill == 0:
		return "how full is not known"
	case fill > 1:
		return fmt.Sprintf("%.0f %% filled, more than there is", math.Round(100*fill))
	case fill > panelspace.Full:
		return fmt.Sprintf("%.0f %% filled, %.0f %% at most", math.Round(100*fill), 100*panelspace.Full)
	default:
		return fmt.Sprintf("%.0f %% filled", math.Round(100*fill))
	}
}

func squareCM(mm2 float64) string { return fmt.Sprintf("%.1f cm²", mm2/100) }

func spaceSpare(s *panelspace.Space) string {
	var words []string
	for _, p := range s.Spare {
		text := p.Name.Text
		if v := p.Value("rating"); v != nil && v.Quantity.IsSet() {
			text += " " + fmt.Sprintf("%g A", v.Quantity.Value)
		}
		words = append(words, strings.TrimSpace(text+" "+p.Kind.Name))
	}
	text := "no spare fuse or relay"
	if len(words) > 0 {
		text = strings.Join(words, ", ")
	}
	if s.Empty >= 0 {
		return fmt.Sprintf("%s; %d of %d positions empty", text, s.Empty, s.Positions)
	}
	return text + "; number of positions not stated"
}

func entryTable(s *panelspace.Space, name string) table {
	t := table{title: name + ", entries", heads: []string{"By way of", "Wires", "Ø, mm", "Hole from, mm"}}
	for i := range s.Entries {
		e := &s.Entries[i]
		way := "a way that is not known"
		switch {
		case e.Path != nil:
			way = "path " + e.Path.Name.Text
		case e.Known:
			way = "from beside, the same place"
		}
		thick, hole := "not known", "not known"
		if e.ThickMM > 0 {
			thick, hole = fmt.Sprintf("%.1f", e.ThickMM), fmt.Sprintf("%.1f", math.Ceil(e.HoleMM*2-1e-9)/2)
		}
		var names []string
		for _, w := range e.Wires {
			names = append(names, w.Name.Text)
		}
		t.rows = append(t.rows, row{cells: []cell{
			say(way), {{text: fmt.Sprint(len(e.Wires)), bold: true}, {text: strings.Join(names, " ")}}, say(thick), say(hole),
		}})
	}
	return t
}

// moduleTable lists the modules, equal ones together.
func moduleTable(s *panelspace.Space, name string) table {
	t := table{title: name + ", modules", heads: []string{"Modules", "Size, mm", "Each, cm²", "Known from"}}
	type group struct {
		module panelspace.Module
		names  []string
	}
	var groups []*group
	for _, m := range s.Modules {
		var at *group
		for _, g := range groups {
			if g.module.WidthMM == m.WidthMM && g.module.HeightMM == m.HeightMM && g.module.Source == m.Source {
				at = g
			}
		}
		if at == nil {
			at = &group{module: m}
			groups = append(groups, at)
		}
		at.names = append(at.names, m.Name)
	}
	for _, g := range groups {
		t.rows = append(t.rows, row{cells: []cell{
			{{text: fmt.Sprint(len(g.names)), bold: true}, {text: strings.Join(g.names, " ")}},
			say(tenths(g.module.WidthMM) + " x " + tenths(g.module.HeightMM)),
			say(fmt.Sprintf("%.1f", g.module.AreaMM2()/100)),
			say(cmp.Or(g.module.Source, "stated")),
		}})
	}
	return t
}
