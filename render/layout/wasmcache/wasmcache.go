// Package wasmcache keeps the compiled form of the layout engine where nobody else can write.
//
// The layout library runs its engine as WebAssembly. When its package is initialised it compiles the engine to native
// code and keeps that in a folder of a fixed name under the temporary directory. On a machine with several users the
// first to come owns that folder, and what lies in it is executed by everybody who comes later. So the folder has to be
// another one before the library's package is initialised, which is before main and before any function can be called.
//
// Go initialises packages that are ready in the order of their import paths, and this one sorts before the library and
// needs nothing that the library does not need too: it always comes first (the test proves it on a built program). It
// must not come too early either: a command that draws nothing runs and ends before the library is initialised, and has
// no use for a folder of the engine. So this package waits for net, which the library needs as well and for which the
// program makes sure that such a command does not wait (TestEarlyIsInitialisedBeforeTheEngine). Its
// initialisation points TMPDIR at a folder of the user's own cache that only the user can enter; Restore, which the
// importing package calls from its own initialisation, puts the variable back. Where no such folder can be had, TMPDIR
// points at a place where nothing can be created: the library then compiles in memory, which is slower and just as safe.
//
// A package that imports the library writes:
//
//	import "ferrule/render/layout/wasmcache"
//
//	func init() { wasmcache.Restore() }
//
// This is the one package below cmd/ that reads and sets the environment and touches real files, because the library
// leaves no other way. It imports the standard library only, and of that only what the layout library imports as well.
package wasmcache

import (
	_ "net" // only so that this package is initialised late: see above
	"os"
)

const tempVariable = "TMPDIR"

// nowhere lies below something that is no directory, so that nothing can be created in it.
const nowhere = "/dev/null/ferrule"

// restore puts the variable back; it is nil once it has been put back, or when it was never changed.
var restore = redirect()

// redirect points TMPDIR at the private folder and returns what undoes that; nil where the platform needs none of it.
func redirect() func() {
	if !shared {
		return nil
	}
	before, was := os.LookupEnv(tempVariable)
	folder, err := privateFolder(os.UserCacheDir)
	if err != nil {
		folder = nowhere
	}
	if os.Setenv(tempVariable, folder) != nil {
		return nil
	}
	return func() {
		if was {
			os.Setenv(tempVariable, before)
		} else {
			os.Unsetenv(tempVariable)
		}
	}
}

// Restore puts the temporary directory back to what the user has set. A second call does nothing.
func Restore() {
	if restore != nil {
		restore()
		restore = nil
	}
}
