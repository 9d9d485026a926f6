package model

import (
	"maps"
	"strings"

	"ferrule/netlist/catalog"
	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/netlist/syntax"
)

// A Document is one file of a netlist with its tree.
type Document struct {
	File *source.File
	Root *syntax.Table
}

// sectionNames are the top level keys, in the order of the reference.
var sectionNames = []string{"include", "harness", "colors", "allowance", "system", "body", "zone", "place", "path", "net", "part", "connector",
	"splice", "panel", "terminal", "link", "wire", "cable", "state", "stock", "drawer", "reserve", "labels", "rules", "accept"}

// Build makes a netlist of documents, the root first; stock is the document of built-in stock definitions. What cannot be
// understood is reported and left out, so that the rest can still be checked and drawn.
func Build(stock Document, docs []Document) (*Netlist, diag.List) {
	n := &Netlist{
		owners: map[string]*Owner{}, bodies: map[string]*Body{}, zones: map[string]*Zone{}, places: map[string]*Place{},
		systems: map[string]*System{}, wires: map[string]*Wire{}, nets: map[string]*Net{},
		terminals: map[string]*Terminal{},
	}
	n.Harness.Volts, n.Harness.Insulation, n.Harness.Cable = 12, 105, "SAE"
	d := &decoder{net: n}
	a := assembler{decoder: d, builtin: stock.Root, stock: map[string]*Part{}, seen: map[string]source.Span{}}
	a.stockFrom(stock.Root)
	n.stocks = nil // the built-in ones are the reference's matter, not this file's
	for _, doc := range docs {
		n.Files = append(n.Files, doc.File)
	}
	for _, doc := range docs {
		a.stockFrom(doc.Root)
	}
	for _, doc := range docs {
		a.document(doc.Root)
	}
	if n.Colors.Ground == nil {
		n.Colors.Ground = []Name{{Text: "BK"}}
	}
	if n.Colors.Permanent == nil {
		n.Colors.Permanent = []Name{{Text: "RD"}}
	}
	d.terminals()
	d.resolve()
	d.diags.Sort()
	return n, d.diags
}

type assembler struct {
	*decoder
	builtin *syntax.Table // the built-in stock, which a project's own may hide
	stock   map[string]*Part
	seen    map[string]source.Span // "section name" of everything defined, for duplicates across files
}

func (a *assembler) document(root *syntax.Table) {
	for _, e := range root.Entries {
		a.section(e)
	}
}

// section hands one top level entry to its table of keys.
func (a *assembler) section(e *syntax.Entry) {
	n := a.net
	switch e.Key {
	case "include", "stock": // read by the loader and before everything else
	case "harness":
		single(a, e, harnessKeys, &n.Harness)
		n.Harness.Span = e.Value.Span
	case "colors":
		single(a, e, colorKeys, &n.Colors)
	case "allowance":
		single(a, e, allowanceKeys, &n.Allowance)
	case "system":
		each(a, e, systemKeys, func(s *System, name Name) { s.Name = name; n.Systems = append(n.Systems, s); n.systems[name.Text] = s })
	case "body":
		each(a, e, bodyKeys, func(b *Body, name Name) {
			b.Name, b.Pin = name, NoPin
			n.Bodies = append(n.Bodies, b)
			n.bodies[name.Text] = b
		})
	case "zone":
		each(a, e, zoneKeys, func(z *Zone, name Name) { z.Name = name; n.Zones = append(n.Zones, z); n.zones[name.Text] = z })
	case "place":
		each(a, e, placeKeys, func(p *Place, name Name) {
			p.Name, p.Index = name, len(n.Places)
			n.Places = append(n.Places, p)
			n.places[name.Text] = p
		})
	case "path":
		each(a, e, pathKeys, func(p *Path, name Name) { p.Name = name; n.Paths = append(n.Paths, p) })
	case "net":
		each(a, e, netKeys, func(t *Net, name Name) { t.Name = name; n.Nets = append(n.Nets, t); n.nets[name.Text] = t })
	case "drawer":
		a.drawer(e)
	case "labels":
		a.labels(e)
	case "reserve":
		single(a, e, reserveKeys, &n.Reserve)
	case "rules":
		a.rules(e)
	case "accept":
		a.accepts(e)
	default:
		a.terminalSection(e)
	}
}

// terminalSection hands on the sections of things that have or join terminals.
func (a *assembler) terminalSection(e *syntax.Entry) {
	n := a.net
	switch e.Key {
	case "part":
		a.parts(e)
	case "connector":
		each(a, e, connectorKeys, func(c *Connector, name Name) {
			if c.Name = name; a.own(&Owner{Name: name, Sort: ConnectorOwner, Connector: c}) {
				n.Connectors = append(n.Connectors, c)
			}
		})
	case "splice":
		each(a, e, spliceKeys, func(s *Splice, name Name) {
			if s.Name = name; a.own(&Owner{Name: name, Sort: SpliceOwner, Splice: s, OpenPins: true, Joined: true}) {
				n.Splices = append(n.Splices, s)
			}
		})
	case "panel":
		each(a, e, panelKeys, func(p *Panel, name Name) {
			if p.Name = name; a.own(&Owner{Name: name, Sort: PanelOwner, Panel: p}) {
				n.Panels = append(n.Panels, p)
			}
		})
	case "terminal":
		each(a, e, terminalKeys, func(t *Terminal, name Name) {
			t.Name = name
			n.Terminals = append(n.Terminals, t)
			n.terminals[name.Text] = t
		})
	case "link":
		each(a, e, linkKeys, func(l *Link, name Name) { l.Name = name; n.Links = append(n.Links, l) })
	case "wire":
		each(a, e, wireKeys, func(w *Wire, name Name) {
			w.Name, w.Index = name, len(n.Wires)
			n.Wires = append(n.Wires, w)
			n.wires[name.Text] = w
		})
	case "cable":
		each(a, e, cableKeys, func(c *Cable, name Name) { c.Name = name; n.Cables = append(n.Cables, c) })
	case "state":
		each(a, e, stateKeys, func(s *State, name Name) { s.Name = name; n.States = append(n.States, s) })
	default:
		diagnostic := a.diags.Errorf("unknown-key", e.KeySpan, "a netlist has no section %q", e.Key)
		if diagnostic.Help = meant(e.Key, sectionNames); diagnostic.Help == "" {
			diagnostic.Help = "the sections are: " + strings.Join(sectionNames, ", ")
		}
	}
}

// single decodes a section that stands once in a netlist.
func single[T any](a *assembler, e *syntax.Entry, keys *section[T], t *T) {
	if a.is(e.Value, syntax.TableValue, "["+e.Key+"]") && a.fresh(e.Key, "", e.KeySpan, "section "+e.Key) {
		keys.into(a.decoder, e.Value.Table, t)
	}
}

// each decodes a section of named objects: `[wire]` with a line each, or a `[part.NAME]` each.
func each[T any](a *assembler, e *syntax.Entry, keys *section[T], keep func(*T, Name)) {
	if !a.is(e.Value, syntax.TableValue, "["+e.Key+"]") {
		return
	}
	slab := make([]T, len(e.Value.Table.Entries))
	for i, item := range e.Value.Table.Entries {
		if !a.is(item.Value, syntax.TableValue, "{ ... }") || !a.fresh(e.Key, item.Key, item.KeySpan, e.Key+" "+item.Key) {
			continue
		}
		keys.into(a.decoder, item.Value.Table, &slab[i])
		if w, ok := any(&slab[i]).(*Wire); ok {
			w.Span = item.Span
		}
		keep(&slab[i], Name{item.Key, item.KeySpan})
	}
}

// fresh reports whether the name is new in its section; a repeat is an error that shows the first.
func (a *assembler) fresh(section, name string, span source.Span, what string) bool {
	key := section + "\x00" + name
	if first, again := a.seen[key]; again {
		a.duplicate(span, what, first)
		return false
	}
	a.seen[key] = span
	return true
}

func (a *assembler) duplicate(span source.Span, what string, first source.Span) {
	diagnostic := a.diags.Errorf("duplicate-name", span, "%s is already defined", what)
	diagnostic.Help = "give one of the two another name, or remove one"
	diagnostic.Related = []diag.Related{{Span: first, Message: "defined here first"}}
}

// own registers an owner of terminals; parts, connectors, splices and panels share one set of designators.
func (a *assembler) own(o *Owner) bool {
	if first := a.net.owners[o.Name.Text]; first != nil {
		a.duplicate(o.Name.Span, o.Name.Text, first.Name.Span)
		return false
	}
	if strings.Contains(o.Name.Text, ":") {
		a.diags.Errorf("bad-value", o.Name.Span, "a designator cannot hold a colon").Help = "a colon parts the designator from the terminal: K1:30"
		return false
	}
	o.netlist = a.net
	a.net.owners[o.Name.Text] = o
	a.net.Owners = append(a.net.Owners, o)
	switch o.Sort {
	case PartOwner:
		o.Part.Owner = o
	case ConnectorOwner:
		o.Connector.Owner = o
	case SpliceOwner:
		o.Splice.Owner = o
	case PanelOwner:
		o.Panel.Owner = o
	}
	return true
}

// stockFrom reads the `[stock.NAME]` definitions of a document; a project's own hides a built-in one of the same name.
func (a *assembler) stockFrom(root *syntax.Table) {
	e := root.Get("stock")
	if e == nil || !a.is(e.Value, syntax.TableValue, "[stock.NAME]") {
		return
	}
	for _, item := range e.Value.Table.Entries {
		if !a.is(item.Value, syntax.TableValue, "{ ... }") {
			continue
		}
		if root != a.builtin && !a.fresh("stock", item.Key, item.KeySpan, "stock definition "+item.Key) {
			continue
		}
		p := &Part{Name: Name{item.Key, item.KeySpan}}
		partKeys.into(a.decoder, item.Value.Table, p)
		if p.StockName.IsSet() {
			a.diags.Errorf("bad-value", p.StockName.Span, "a stock definition cannot start from another").Help = "write its kind and values out"
			continue
		}
		a.kindOf(p)
		a.foreignKeys(p, item.Value.Table)
		a.stock[item.Key] = p
		a.net.stocks = append(a.net.stocks, p)
	}
}

// parts decodes `[part.NAME]`: a part begins as a copy of its stock definition and writes its own keys over it.
func (a *assembler) parts(e *syntax.Entry) {
	if !a.is(e.Value, syntax.TableValue, "[part.NAME]") {
		return
	}
	for _, item := range e.Value.Table.Entries {
		if !a.is(item.Value, syntax.TableValue, "{ ... }") || !a.fresh("part", item.Key, item.KeySpan, "part "+item.Key) {
			continue
		}
		p := a.stocked(item.Value.Table.Get("stock"))
		p.Name = Name{item.Key, item.KeySpan}
		partKeys.into(a.decoder, item.Value.Table, p)
		if a.own(&Owner{Name: p.Name, Sort: PartOwner, Part: p}) {
			a.kindOf(p)
			a.kindKeys(p, item.Value.Table)
			a.net.Parts = append(a.net.Parts, p)
		}
	}
}

// stocked returns a fresh part that starts from the named stock definition, if there is one.
func (a *assembler) stocked(e *syntax.Entry) *Part {
	if e == nil || e.Value.Kind != syntax.String {
		return &Part{}
	}
	s := a.stock[e.Value.Str]
	if s == nil {
		names := make([]string, 0, len(a.stock))
		for name := range a.stock {
			names = append(names, name)
		}
		diagnostic := a.diags.Errorf("unknown-name", e.Value.Span, "there is no stock definition %q", e.Value.Str)
		diagnostic.Help = meant(e.Value.Str, names)
		return &Part{}
	}
	p := *s
	p.written.given = maps.Clone(s.written.given)
	return &p
}

// kindOf finds the part's kind; an unknown one is reported and stands in as a device.
func (a *assembler) kindOf(p *Part) {
	kinds := catalog.Builtin()
	p.Kind = kinds.Kind(p.KindName.Text)
	if p.Kind != nil {
		return
	}
	p.Kind = kinds.Kind("device")
	switch {
	case p.KindName.IsSet():
		diagnostic := a.diags.Errorf("unknown-name", p.KindName.Span, "there is no kind %q", p.KindName.Text)
		if diagnostic.Help = meant(p.KindName.Text, kinds.Names()); diagnostic.Help == "" {
			diagnostic.Help = "the kinds are: " + strings.Join(kinds.Names(), ", ")
		}
	case !p.StockName.IsSet():
		a.diags.Errorf("missing-key", p.Name.Span, "%s does not say what kind of part it is", p.Name.Text).Help = `add kind = "lamp", "relay", ... or "device" for anything else`
	}
}

// kindKeys reports keys that do not go with the part's kind, and says which values the kind cannot do without.
func (a *assembler) kindKeys(p *Part, table *syntax.Table) {
	a.foreignKeys(p, table)
	if p.Kind.Name != p.KindName.Text {
		return
	}
	for _, key := range p.Kind.Need {
		if p.Value(key) == nil && !(key == "load" && p.written.given["loads"]) {
			a.diags = append(a.diags, diag.Diagnostic{
				Rule: "missing-value", Severity: diag.Warning, Span: p.Name.Span, Refs: []string{p.Name.Text},
				Message: p.Name.Text + " has no " + key + ", which a " + p.Kind.Name + " needs",
				Help:    "add " + key + " = ..., or what follows from it cannot be computed or checked",
			})
		}
	}
}

// foreignKeys reports keys that do not go with the part's kind.
func (a *assembler) foreignKeys(p *Part, table *syntax.Table) {
	if p.Kind.Name != p.KindName.Text { // the kind is missing or unknown, which is reported; what would go with it, nobody knows
		return
	}
	for _, e := range table.Entries {
		i, known := partKeys.index[e.Key]
		if known && partKeys.fields[i].byKind && !p.Kind.Takes(e.Key) {
			diagnostic := a.diags.Errorf("unknown-key", e.KeySpan, "%s has no %q", withArticle(p.Kind.Name), e.Key)
			if diagnostic.Help = meant(e.Key, p.Kind.Keys); diagnostic.Help == "" {
				diagnostic.Help = "it has: " + strings.Join(p.Kind.Keys, ", ")
			}
		}
	}
}

// rules reads `[rules]`: for each rule a severity, or a table with `severity` and the rule's own settings.
func (a *assembler) rules(e *syntax.Entry) {
	a.table(e.Value, `color-clash = "warning"`, func(r *syntax.Entry) {
		if !a.fresh("rules", r.Key, r.KeySpan, "rule "+r.Key) {
			return
		}
		s := RuleSeverity{Rule: Name{r.Key, r.KeySpan}}
		if r.Value.Kind != syntax.TableValue {
			s.Severity = a.severity(r.Value)
		} else {
			a.settings(r.Value.Table, &s)
		}
		a.net.Severities = append(a.net.Severities, s)
	})
}

func (a *assembler) settings(table *syntax.Table, s *RuleSeverity) {
	for _, e := range table.Entries {
		if e.Key == "severity" {
			s.Severity = a.severity(e.Value)
		} else if value := a.text(e.Value, `"0.5 V"`); value.IsSet() {
			s.Settings = append(s.Settings, RuleSetting{Key: Name{e.Key, e.KeySpan}, Value: value})
		}
	}
}

func (a *assembler) severity(v *syntax.Value) Name {
	return a.word(v, "error", "warning", "note", "off")
}

// accepts reads the `[[accept]]` tables.
func (a *assembler) accepts(e *syntax.Entry) {
	if !a.is(e.Value, syntax.Array, "[[accept]]") {
		return
	}
	for _, item := range e.Value.Items {
		if a.is(item, syntax.TableValue, "[[accept]]") {
			accept := &Accept{Span: item.Span}
			acceptKeys.into(a.decoder, item.Table, accept)
			a.net.Accepts = append(a.net.Accepts, accept)
		}
	}
}
