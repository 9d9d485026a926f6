package bench

import (
	"strconv"

	"ferrule/netlist/bundle"
	"ferrule/netlist/buy"
	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "idle-drawer", Severity: diag.Warning, Harm: rules.Annoys, Since: "0.2",
	Title: "something in the drawer that the buy list does not know",
	Doc: `What [drawer] says is in hand is taken off the buy list, by the text of the item. An entry that no item is called by takes nothing
off: what lies in the drawer is bought once more, or a wire has changed its size or colour since and the old reel is of no use any more.
The rule fires for an entry that matches no item, with the item that was probably meant, and for one that counts in pieces what is
bought by the metre, or the other way round.

Copy the name from the buy list, as ` + "`ferrule list FILE buy`" + ` prints it, or take the line out. Case and spaces do not count. Silent are
entries of which there is more in hand than the harness takes.`,
	Sources: []string{"common practice: a list of stock is kept by the names that one orders by"},
	Bad: `[part]
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
E1 = { kind = "lamp", load = "55 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "14 AWG", color = "RD" }
[drawer]
"fuse blade 16 A" = 4
`,
	Good: `[part]
F1 = { kind = "fuse", rating = "15 A", family = "blade" }
E1 = { kind = "lamp", load = "55 W", spare = true }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "14 AWG", color = "RD" }
[drawer]
"fuse blade 15 A" = 4
`,
	Run: func(p *rules.Pass) {
		if len(p.Netlist.Drawer) == 0 {
			return
		}
		in := buy.Input{Netlist: p.Netlist, Routes: p.Routes, Fits: []bundle.Fit{}}
		unused := buy.Of(in).Unused
		if len(unused) > 0 { // it may be for what covers the bundles, and those take long to pack
			in.Fits = nil
			unused = buy.Of(in).Unused
		}
		for _, u := range unused {
			idleEntry(p, u)
		}
	},
})

func idleEntry(p *rules.Pass, u buy.Unused) {
	span := u.Entry.Item.Span
	if u.WrongUnit {
		span = u.Entry.Span
	}
	d := p.Report(span, []string{u.Entry.Item.Text}, "%s", u.Why)
	d.Help = u.Help
	if !u.WrongUnit && u.Near != "" {
		d.Fixes = []diag.Fix{{Title: "call it " + u.Near, Edits: []source.Edit{{Span: span, New: strconv.Quote(u.Near)}}}}
	}
}
