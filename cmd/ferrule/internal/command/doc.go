// Package command holds the commands of Ferrule: the one table of them and of their flags, and a file with the work of each.
//
// It takes the arguments, the streams and the environment of a process as values and gives an exit code. It may import
// everything that reads and judges a harness, and nothing that draws: the drawing side starts a layout engine when it is
// initialised, which takes longer than most commands, so what build and draw need of it is handed in as a Drawing. Package
// early says how the other commands get round that start, and which imports would spoil it; a test there watches over them.
//
// What a command is called, which flags it takes and what its help says stands in one table, commands.go with flags.go;
// the parser, `ferrule help` and the suggestions for misspelt words all read that table. A file for each command opens
// files, calls the packages below and prints.
//
//	run.go       from arguments to a command, and from an error to words and an exit code
//	harness.go   from the name of a file to a netlist, its graph and its findings
//	drawing.go   what is asked of the drawing side
//	disk.go      files written whole or not at all
//	terminal.go  colour and terminals
//
// Data goes to standard output and talk to standard error. The exit code is 0 for success, 1 for findings, 2 for
// unusable input or usage and for what the machine refused.
package command
