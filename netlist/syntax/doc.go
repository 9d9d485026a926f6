// Package syntax reads the text of a netlist into a tree in which every key and every value keeps its place.
//
// It takes a source.File and gives a Table and the list of mistakes in the text; it knows TOML and nothing of wiring.
// It imports netlist/source and netlist/diag, and is the only package of the project that imports a TOML parser.
//
// How a text flows through (Parse, parse.go):
//
//   - A quick scan (depth.go) looks for absurd nesting, because the decoder below recurses without a limit.
//   - The reader (read.go) takes one expression after the other from an event parser that knows places, works out the
//     places that parser does not give (lists, inline tables, headers), and hangs the values into the tree. What TOML
//     says about a key given twice is checked there too (table.go).
//   - Where the event parser stops, explain.go says in plain words what is wrong and extent.go finds the line at which
//     reading can go on, so that one mistake costs one diagnostic and the healthy rest is in the tree.
//   - At the same time an independent decoder, the project's authority on what TOML is, decodes the same text. What it
//     refuses is never accepted, even where the reader saw nothing wrong.
//
// The language accepted is TOML 1.0 with the relaxations of TOML 1.1 (an inline table may run over several lines and
// end in a comma, \e and \xHH in strings, times without seconds), since the authority accepts them.
package syntax
