package heap

import (
	"bytes"
	"os"
	"syscall"
	"unsafe"
)

// hasLargePages reports whether the system gives large pages to who asks: "always [madvise] never", with the setting in
// brackets (Linux, Documentation/admin-guide/mm/transhuge.rst).
func hasLargePages() bool {
	setting, err := os.ReadFile("/sys/kernel/mm/transparent_hugepage/enabled")
	return err == nil && !bytes.Contains(setting, []byte("[never]"))
}

// growth is the least by which the heap of Go grows. The piece that it has begun with lies before the room, for the most part
// untouched.
const growth = 4 << 20

// askLargePages asks for large pages under some memory and a growth before it. It is a wish: what the system makes of it does
// not matter, nor whether all of that is memory. The address is a number here, so nothing keeps the memory alive.
func askLargePages(memory []byte) {
	at := uintptr(unsafe.Pointer(unsafe.SliceData(memory)))
	_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, at, uintptr(len(memory)), syscall.MADV_HUGEPAGE)
	_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, at-growth, growth, syscall.MADV_HUGEPAGE)
}
