// Package netlist reads a harness: the text of its files in, the resolved model and everything that is wrong with it out.
//
// The phases stand on this one screen, in the order in which they run. Each gives what it could make of its input and a
// list of diagnostics, so that one run reports every mistake:
//
//	text        netlist/source    files and places in them
//	tree        netlist/syntax    keys and values with their places
//	model       netlist/model     parts, connectors, wires; names resolved; netlist/catalog brings the kinds
//	graph       netlist/graph     terminals joined by conductors, nets, paths
//
// It reads through the fs.FS that it is given and touches no file of its own accord.
package netlist

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"
	"sync"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

// builtinStock is the tree of the stock definitions that come with the program; their text is checked by a test.
var builtinStock = sync.OnceValue(func() model.Document {
	file := source.NewFile("built-in stock", []byte(catalog.StockText()))
	root, diags := syntax.Parse(file)
	if len(diags) > 0 {
		panic(fmt.Sprintf("built-in stock: %v", diags[0].Message))
	}
	return model.Document{File: file, Root: root}
})

// Load reads the root file and all that it includes from files and builds the netlist. The error is for files that
// cannot be read at all; everything wrong within them is in the list, in the order of the file.
func Load(files fs.FS, root string) (*model.Netlist, diag.List, error) {
	prepare()
	l := &loader{files: files, folder: path.Dir(root), state: map[string]readState{}, ahead: map[string]func() parsed{}}
	text, err := fs.ReadFile(files, root)
	if err != nil {
		return nil, nil, fmt.Errorf("reading the netlist: %w", err)
	}
	name := path.Clean(root)
	l.read(name, parse(name, text))
	n, diags := model.Build(builtinStock(), l.docs)
	diags = append(l.diags, diags...)
	diags.Sort()
	return n, diags, nil
}

// Parse builds the netlist of a single text, such as standard input or an example in a document; it can include nothing.
func Parse(name string, text []byte) (*model.Netlist, diag.List) {
	prepare()
	l := &loader{state: map[string]readState{}}
	l.read(name, parse(name, text))
	n, diags := model.Build(builtinStock(), l.docs)
	diags = append(l.diags, diags...)
	diags.Sort()
	return n, diags
}

// prepare begins with what every netlist needs, beside the reading of its text.
func prepare() {
	go beside(func() { catalog.Builtin() })
	go beside(func() { builtinStock() })
}

// beside does work whose result is asked for later. A panic here would end the process past everybody who could say what
// happened; who asks for the result gets it again.
func beside(work func()) {
	defer func() { _ = recover() }()
	work()
}

// parsed is a text that has been read as TOML.
type parsed struct {
	model.Document
	diags diag.List
}

// parse returns the function that parses a text, once.
func parse(name string, text []byte) func() parsed {
	return sync.OnceValue(func() parsed {
		file := source.NewFile(name, text)
		root, diags := syntax.Parse(file)
		return parsed{model.Document{File: file, Root: root}, diags}
	})
}

// readState says how far a file has been read; a file that is met again while it is open includes itself.
type readState uint8

const (
	notRead readState = iota
	reading
	done
)

type loader struct {
	files  fs.FS // nil when there is nothing to include from
	folder string
	state  map[string]readState
	ahead  map[string]func() parsed // included files that are parsed side by side until their turn comes
	docs   []model.Document
	diags  diag.List
}

func (l *loader) read(name string, parse func() parsed) {
	l.state[name] = reading
	p := parse()
	l.diags = append(l.diags, p.diags...)
	l.docs = append(l.docs, p.Document)
	if e := p.Root.Get("include"); e != nil {
		l.includes(path.Dir(name), e.Value)
	}
	l.state[name] = done
}

func (l *loader) includes(from string, v *syntax.Value) {
	if v.Kind != syntax.Array {
		l.diags.Errorf("wrong-type", v.Span, "include is a list of files").Help = `write include = ["lights.toml"]`
		return
	}
	l.parseAhead(from, v.Items)
	for _, item := range v.Items {
		if item.Kind != syntax.String {
			l.diags.Errorf("wrong-type", item.Span, "an included file is a text in quotes").Help = `write include = ["lights.toml"]`
			continue
		}
		l.include(from, item)
	}
}

// parseAhead begins to parse the files of a list side by side. What cannot be read is left to include, which says so.
func (l *loader) parseAhead(from string, items []*syntax.Value) {
	for _, item := range items {
		name := path.Join(from, item.Str)
		if item.Kind != syntax.String || l.files == nil || l.state[name] != notRead || l.ahead[name] != nil || l.outside(item.Str, name) {
			continue
		}
		if text, err := fs.ReadFile(l.files, name); err == nil {
			p := parse(name, text)
			l.ahead[name] = p
			go beside(func() { p() })
		}
	}
}

// outside reports whether a path, and the name that it leads to, are not in the folder of the root file.
func (l *loader) outside(written, name string) bool {
	return path.IsAbs(written) || strings.Contains(written, `\`) || strings.Contains(written, ":") || !inside(l.folder, name)
}

// include reads one more file. The path is relative to the file that includes it and must stay in the root's folder, so
// that a netlist from somebody else cannot make the program read what is not part of it.
func (l *loader) include(from string, v *syntax.Value) {
	name := path.Join(from, v.Str)
	switch {
	case l.files == nil:
		l.diags.Errorf("include", v.Span, "a text without a folder cannot include %q", v.Str).Help = "give the file's name to the command instead of standard input"
		return
	case l.outside(v.Str, name):
		l.diags.Errorf("include", v.Span, "%q lies outside the folder of the netlist", v.Str).Help = "move the file into the folder of the root file and give its path from there, with /"
		return
	case l.state[name] == reading:
		l.diags.Errorf("include", v.Span, "%q includes itself, directly or through others", v.Str).Help = "remove one of the includes in the circle"
		return
	case l.state[name] == done:
		l.diags.Errorf("include", v.Span, "%q is included already", v.Str).Help = "remove one of the two"
		return
	}
	if ahead := l.ahead[name]; ahead != nil {
		l.read(name, ahead)
		return
	}
	text, err := fs.ReadFile(l.files, name)
	if err != nil {
		reason := "it cannot be read"
		if errors.Is(err, fs.ErrNotExist) {
			reason = "there is no such file"
		}
		d := l.diags.Errorf("include", v.Span, "cannot include %q: %s", v.Str, reason)
		if near, ok := l.nearestFile(path.Dir(name), path.Base(name)); ok {
			d.Help = fmt.Sprintf("did you mean %q?", near)
		}
		return
	}
	l.read(name, parse(name, text))
}

func inside(folder, name string) bool {
	return name != ".." && !strings.HasPrefix(name, "../") && (folder == "." || strings.HasPrefix(name, folder+"/"))
}

func (l *loader) nearestFile(folder, name string) (string, bool) {
	entries, err := fs.ReadDir(l.files, folder)
	if err != nil {
		return "", false
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return diag.Nearest(name, names)
}
