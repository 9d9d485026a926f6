// Command ferrule compiles the wiring of a vehicle, written as a TOML netlist, into checks and printable sheets.
//
// The command line is thin: a file for each command, which opens files, calls the packages below and prints. What a
// command is called, which flags it takes and what its help says stands in one table, commands.go with flags.go; the
// parser, `ferrule help` and the suggestions for misspelt words all read that table.
//
//	main.go      the process: arguments, streams and environment go in, an exit code comes out
//	run.go       from arguments to a command, and from an error to words and an exit code
//	harness.go   from the name of a file to a netlist, its graph and its findings
//	disk.go      files written whole or not at all
//	terminal.go  colour and terminals
//
// Data goes to standard output and talk to standard error. The exit code is 0 for success, 1 for findings, 2 for
// unusable input or usage and for what the machine refused.
package main
