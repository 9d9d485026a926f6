// Command ferrule compiles the wiring of a vehicle, written as a TOML netlist, into checks and printable sheets.
//
// It is put together from three rooms; only this one knows both the commands and the drawing side.
//
//	main.go           the process: arguments, streams and environment go in, an exit code comes out
//	drawing.go        hands the drawing side to the commands
//	internal/command  the table of commands and flags, and a file for each command
//	internal/early    runs a command that draws nothing before the layout engine is started
package main
