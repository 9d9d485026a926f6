// Package heap sets the memory of a process up that reads one harness and ends.
//
// Such a process is young: what it allocates lies in memory that the system has not given it yet, and that the system gives
// page by page, at the first touch, zeroed, each through a fault. The check of the pickup allocates some 30 MB; with the
// settings that suit a long life the collector runs nine times over it, and the faults and the collector together take
// longer than the rules. So Prepare
//
//   - asks the system for large pages (2 MB in place of 4 KB) where the heap is going to be, and
//   - lets the first collection come at some 40 MB, and all later ones as in every program of Go.
//
// A harness that fits is checked without a collection; one of a hundred thousand wires does not notice. DEVELOPERS.md has the
// numbers. Nothing is set where the user has set the collector by GOGC or GOMEMLIMIT, nor where the system has no large pages
// to give: more memory between two collections would then cost more faults than the collections.
//
// It imports the standard library alone, and of that nothing that would be initialised after the layout engine (see early).
package heap

import (
	"runtime"
	"runtime/debug"
)

const (
	// room is how much of the heap to come is asked to lie on large pages: the pickup, with the memory of the run-time system.
	room = 40 << 20

	// firstPercent has the first collection wait for some 40 MB: it comes between 70 and 100 % of the heap that the
	// percentage allows, which is at least 4 MB for 100 %.
	firstPercent = 1200

	// usualPercent is what Go collects by unless somebody says otherwise.
	usualPercent = 100
)

// Prepare sets the heap up. It is to be called once and early, since memory that is in use already stays as it is. The
// environment is that of the process.
func Prepare(getenv func(string) string) {
	if getenv("GOGC") != "" || getenv("GOMEMLIMIT") != "" || !hasLargePages() {
		return
	}
	// Go offers no way to say where its heap will grow. But what is allocated and given back is taken again first, from the
	// lowest address on: so the room is allocated, marked before anything has touched it, and collected.
	debug.SetGCPercent(-1)
	askLargePages(make([]byte, room))
	runtime.GC()
	debug.SetGCPercent(firstPercent)
	collectAsUsual(new(sentinel))
}

// A sentinel is garbage at once, so that the next collection says so. It holds a pointer: what holds none may share its
// memory with something that lives on.
type sentinel struct{ _ *sentinel }

// collectAsUsual waits for a collection, and from then on has the collector work as in every program.
func collectAsUsual(s *sentinel) {
	runtime.AddCleanup(s, func(percent int) { debug.SetGCPercent(percent) }, usualPercent)
}
