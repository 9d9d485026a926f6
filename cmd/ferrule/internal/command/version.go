package command

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

func runVersion(inv *invocation) (int, error) {
	fmt.Fprintf(inv.out, "ferrule %s %s %s/%s\n", version(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return exitClean, nil
}

// version is what the Go toolchain has put into the program: the module's version, or "development" for a build from a
// checkout that carries none.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "development"
}
