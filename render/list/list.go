// Package list makes the lists of a harness: tables for a spreadsheet, a script or a terminal.
//
// It takes a sheet.Set and gives rows of cells, and those as CSV, JSON or text. A list is one file that registers itself;
// the writers, the command and the documents are made from its columns. It may import render/sheet and what that may
// import. It writes nothing to the disk.
//
// A list is made from what a set holds, not from its planned pages: it must give the same before and after Set.Plan.
package list

import (
	"cmp"
	"slices"

	"ferrule/render/sheet"
)

// A List is one table: its columns, and its rows in a stable order. A cell is empty where the netlist does not say.
type List struct {
	Name    string // lower case, without an ending: "wires"
	Title   string
	Doc     string // a row for each of what, without a point at the end, for help and documents
	Order   int    // its place among the lists
	Sheet   string // the word for --sheet of the sheets that print it, of wall.pdf or of a file of its own
	Columns []Column
	Rows    func(s *sheet.Set) [][]string // as many cells a row as there are columns
}

// A Column is one column of a list. Its name is lower case with the unit behind: "length_m", "rating_A".
type Column struct {
	Name   string
	Number bool // its cells are numbers with a point, or empty
}

var lists []*List

// register adds a list; the files of the lists call it once each.
func register(l *List) *List {
	lists = append(lists, l)
	return l
}

// Lists returns all lists in their order.
func Lists() []*List {
	sorted := slices.Clone(lists)
	slices.SortFunc(sorted, func(a, b *List) int { return cmp.Or(cmp.Compare(a.Order, b.Order), cmp.Compare(a.Name, b.Name)) })
	return sorted
}

// ByName returns the list of a name, or nil.
func ByName(name string) *List {
	for _, l := range lists {
		if l.Name == name {
			return l
		}
	}
	return nil
}

func text(name string) Column   { return Column{Name: name} }
func number(name string) Column { return Column{Name: name, Number: true} }
