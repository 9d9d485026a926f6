package command

import (
	"ferrule/netlist/built"
	"ferrule/netlist/diag"
	"ferrule/netlist/graph"
	"ferrule/rules"
)

// A Drawing is what the commands that draw need of the drawing side. It is handed in, because whatever imports the drawing
// side pays for the start of the layout engine before its first line runs.
type Drawing struct {
	Build  func(Drawn) ([]File, error)                                   // every file of the set of sheets
	Sheets func(Drawn) []Sheet                                           // in the order of the set
	Draw   func(in Drawn, sheet, format string) (data []byte, err error) // one sheet; format is "svg" or "pdf"

	Lists     func(Drawn) []List                                           // in their order, with their rows counted
	ListNames func() []string                                              // in their order
	List      func(in Drawn, name, format string) (data []byte, err error) // one list; format is "text", "csv" or "json"
}

// A Drawn is the harness to be drawn.
type Drawn struct {
	Graph    *graph.Graph
	Findings diag.List // what stands, in the order of the file
	Accepted []rules.Accepted
	Built    *built.Status // how far the wires are; nil where no file says so
	Program  string        // name and version of the program
	Gray     bool          // for a printer without colour
	Tile     string        // the small paper that large sheets are cut for; empty for none
	Paper    string        // what wall sheets and diagrams are on; empty for what each needs
	Say      func(string)  // is told what a person should know of the sheets
}

// A File is one file to be written.
type File struct {
	Name string // without a folder
	Data []byte
}

// A Sheet is one sheet of the set.
type Sheet struct {
	Name   string // for the flag --sheet
	Title  string
	Number int // from 1
}

// A List is one list of the harness.
type List struct {
	Name  string // the argument of the command
	Title string
	Rows  int
}
