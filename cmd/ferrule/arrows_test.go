package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// arrows says which packages of ours a package may import directly; every one of them is listed. DEVELOPERS.md draws the
// same map. A package may also import what those import: where the text below says graph, model is meant too.
var arrows = map[string][]string{
	"netlist/source":      {},
	"netlist/unit":        {},
	"netlist/diag":        {"netlist/source"},
	"netlist/syntax":      {"netlist/diag"},
	"netlist/catalog":     {"netlist/unit"},
	"netlist/model":       {"netlist/syntax", "netlist/catalog"},
	"netlist/graph":       {"netlist/model"},
	"netlist/route":       {"netlist/model", "netlist/unit"},
	"netlist/bundle":      {"netlist/route", "netlist/conductor"},
	"netlist/buy":         {"netlist/bundle", "netlist/cut", "netlist/fusecurve"},
	"netlist/cut":         {"netlist/route", "netlist/conductor"},
	"netlist/panelspace":  {"netlist/bundle"},
	"netlist/netlisttest": {},
	"netlist/conductor":   {"netlist/unit"},
	"netlist/fusecurve":   {"netlist/unit"},
	"netlist/edit":        {"netlist/syntax"},
	"netlist/built":       {"netlist/model", "netlist/edit"},

	"netlist/circuit":        {"netlist/graph", "netlist/route", "netlist/conductor", "netlist/fusecurve", "netlist/circuit/sparse"},
	"netlist/circuit/sparse": {},
	"netlist/circuit/study":  {"netlist/circuit"},
	"netlist/circuit/sizing": {"netlist/circuit", "netlist/edit", "netlist"},
	"netlist/prove":          {"netlist/circuit"},

	"netlist": {"netlist/graph"},

	"rules":           {"netlist/circuit/study", "netlist/circuit/sizing", "netlist/panelspace"},
	"rules/nets":      {"rules"},
	"rules/terminals": {"rules"},
	"rules/fuses":     {"rules"},
	"rules/wires":     {"rules"},
	"rules/routing":   {"rules"},
	"rules/grounds":   {"rules"},
	"rules/signals":   {"rules"},
	"rules/reach":     {"rules"},
	"rules/switching": {"rules/reach"},
	"rules/operation": {"rules/reach"},
	"rules/bench":     {"rules", "netlist/buy"},
	"rules/all": {"rules/nets", "rules/terminals", "rules/fuses", "rules/wires", "rules/routing", "rules/grounds", "rules/signals",
		"rules/switching", "rules/operation", "rules/bench"},
	"rules/report":    {"rules"},
	"rules/rulestest": {"netlist", "rules"},

	"render/geom":             {},
	"render/font":             {"render/geom"},
	"render/canvas":           {"render/font"},
	"render/canvas/pdf":       {"render/canvas"},
	"render/canvas/svg":       {"render/canvas"},
	"render/symbol":           {"render/canvas"},
	"render/layout/wasmcache": {},
	"render/layout":           {"netlist/graph", "render/symbol", "render/layout/wasmcache"},
	"render/sheet":            {"render/layout", "netlist/built", "netlist/bundle", "netlist/buy", "netlist/cut", "netlist/panelspace", "netlist/prove", "netlist/circuit/study", "netlist/circuit/sizing"},
	"render/label":            {"render/sheet"},
	"render/list":             {"render/label"},
	"render/tile":             {"render/canvas"},
	"render":                  {"render/tile", "render/label", "render/list", "render/sheet", "render/canvas/pdf", "render/canvas/svg"},

	"cmd/ferrule/internal/command": {"netlist", "netlist/edit", "netlist/built", "netlist/cut", "rules/all", "rules/report"},
	"cmd/ferrule/internal/heap":    {},
	"cmd/ferrule/internal/early":   {"cmd/ferrule/internal/command", "cmd/ferrule/internal/heap"},
	"cmd/ferrule":                  {"cmd/ferrule/internal/early", "render"},
}

// testsOnly are the packages that nothing but tests may import.
var testsOnly = []string{"netlist/netlisttest", "rules/rulestest"}

// keepers names, for each library that one package keeps to itself, the packages that may import it.
var keepers = map[string][]string{
	"github.com/jung-kurt/gofpdf":    {"render/canvas/pdf"},
	"github.com/goccy/go-graphviz":   {"render/layout"},
	"github.com/pelletier/go-toml":   {"netlist/syntax"},
	"github.com/BurntSushi/toml":     {"netlist/syntax", "netlist/catalog"},
	"golang.org/x/image/font/gofont": {"render/font"},
	"golang.org/x/image":             {"render/font"},
}

// testLibraries are for tests alone.
var testLibraries = []string{"github.com/stretchr/testify", "github.com/rogpeppe/go-internal", "github.com/santhosh-tekuri/jsonschema"}

const ours = "ferrule/"

// A listed package is what `go list -json` says about one.
type listed struct {
	ImportPath                         string
	GoFiles                            []string // without tests
	Imports, TestImports, XTestImports []string
}

func listPackages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,GoFiles,Imports,TestImports,XTestImports", "./...")
	cmd.Dir = "../.."
	out, err := cmd.Output()
	require.NoError(t, err)
	var packages []listed
	for decoder := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p listed
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			return packages
		}
		require.NoError(t, err)
		if len(p.GoFiles) == 0 {
			continue // a folder with nothing but tests is no room
		}
		p.ImportPath = room(p.ImportPath)
		packages = append(packages, p)
	}
}

// room is the path of one of our packages without the module's name.
func room(path string) string { return strings.TrimPrefix(path, ours) }

// allowed reports whether from may import to: along one arrow, or along several.
func allowed(from, to string) bool {
	for _, next := range arrows[from] {
		if next == to || allowed(next, to) {
			return true
		}
	}
	return false
}

// TestArrows fails on an import that leads the wrong way, and on a package that the map does not have.
func TestArrows(t *testing.T) {
	packages := listPackages(t)
	require.Greater(t, len(packages), 10)
	for _, p := range packages {
		if _, known := arrows[p.ImportPath]; !known {
			t.Errorf("%s is not on the map: add it to arrows in this test and to DEVELOPERS.md", p.ImportPath)
			continue
		}
		for _, to := range p.Imports {
			if !strings.HasPrefix(to, ours) && to != "ferrule" {
				continue
			}
			assert.True(t, allowed(p.ImportPath, room(to)), "%s may not import %s", p.ImportPath, room(to))
			assert.NotContains(t, testsOnly, room(to), "%s imports a package that is for tests only", p.ImportPath)
		}
		for _, to := range slices.Concat(p.Imports, p.TestImports, p.XTestImports) {
			assert.NotEqual(t, "cmd/ferrule", room(to), "%s imports the command", p.ImportPath)
		}
	}
}

// TestMapHasNoCircleAndNoGhost holds the map itself against the tree: every room exists, and rules and render do not
// meet.
func TestMapHasNoCircleAndNoGhost(t *testing.T) {
	var found []string
	for _, p := range listPackages(t) {
		found = append(found, p.ImportPath)
	}
	for from, next := range arrows {
		assert.Contains(t, found, from, "the map has a package that does not exist")
		for _, to := range next {
			assert.Contains(t, arrows, to)
			assert.False(t, to == from || allowed(to, from), "%s and %s import each other", from, to)
		}
	}
	assert.False(t, allowed("rules", "render") || allowed("render", "rules"), "findings reach a sheet as data")
	assert.False(t, allowed("cmd/ferrule/internal/command", "render"), "a command that draws nothing must not pay for the layout engine")
}

// TestLibrariesStayWhereTheyBelong fails when a library is imported by a package that does not keep it.
func TestLibrariesStayWhereTheyBelong(t *testing.T) {
	used := map[string]bool{}
	for _, p := range listPackages(t) {
		for _, to := range p.Imports {
			for _, library := range testLibraries {
				isTestSupport := slices.Contains(testsOnly, p.ImportPath)
				assert.False(t, within(to, library) && !isTestSupport, "%s imports %s, which is for tests", p.ImportPath, to)
			}
			if library := keptLibrary(to); library != "" {
				used[library] = true
				assert.Contains(t, keepers[library], p.ImportPath, "%s may not import %s", p.ImportPath, to)
			}
		}
	}
	for library := range keepers {
		if library != "golang.org/x/image" { // stands for the rest of the module
			assert.True(t, used[library], "nothing imports %s any more: take it off the list", library)
		}
	}
}

// TestWorldIsReadAboveTheLine: below cmd/ nothing reads the clock, the environment, the working directory or real files.
// The one exception says in its package comment why.
func TestWorldIsReadAboveTheLine(t *testing.T) {
	forbidden := []string{"os", "os/exec", "os/user", "syscall", "net", "net/http", "math/rand", "math/rand/v2", "io/ioutil", "os/signal", "crypto/rand"}
	for _, p := range listPackages(t) {
		if strings.HasPrefix(p.ImportPath, "cmd/") || p.ImportPath == "render/layout/wasmcache" || slices.Contains(testsOnly, p.ImportPath) {
			continue
		}
		for _, to := range p.Imports {
			assert.NotContains(t, forbidden, to, "%s", p.ImportPath)
		}
	}
}

// keptLibrary returns the most particular library of keepers that an import belongs to, or "".
func keptLibrary(path string) string {
	best := ""
	for library := range keepers {
		if within(path, library) && len(library) > len(best) {
			best = library
		}
	}
	return best
}

func within(path, library string) bool {
	return path == library || strings.HasPrefix(path, library+"/")
}
