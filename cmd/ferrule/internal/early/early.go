// Package early runs a command that draws nothing at once, and ends the process with its exit code.
//
// It is the one place where an initialisation does the work of the program. The reason is time: the library that orders
// the columns of schematics starts its engine (WebAssembly) when its package is initialised, which is before main and
// cannot be put off. That takes some 70 of the 115 milliseconds of a check of the pickup, and a check draws nothing.
//
// How it comes first: Go takes, of the packages whose imports are all initialised, the one whose path sorts first.
// "ferrule/..." sorts before "github.com/goccy/...", so this package goes first as soon as what it imports is ready. That
// holds as long as everything below it, too, is either needed by the engine itself or sorts before something that the
// engine has to wait for; an import that does not would make this package come after the engine, and the commands would
// still be right but slow. So what this package imports may not import the drawing side, net/url or net/netip. A test
// looks through all imports for such a package, and another starts the built program and looks whether the engine was started.
//
// What guards it: only package main of Ferrule imports it, the folder being internal to that; the process ends only when
// its first argument is the name of a command that draws nothing, so not in a test program, whose arguments are flags;
// everything else (no command, one that does not exist, one that draws) goes through main. Both ways call the same
// function, which gets arguments, streams and environment as values.
package early

import (
	"os"

	"ferrule/cmd/ferrule/internal/command"
	"ferrule/cmd/ferrule/internal/heap"
)

func init() {
	if args := os.Args[1:]; command.IsText(args) {
		if command.ReadsHarness(args) {
			heap.Prepare(os.Getenv)
		}
		os.Exit(command.Run(args, os.Stdin, os.Stdout, os.Stderr, os.Getenv, nil))
	}
}
