//go:build !linux

package heap

// hasLargePages says no: other systems than Linux have no large pages for the asking, or give them unasked.
func hasLargePages() bool { return false }

func askLargePages([]byte) {}
