package grounds

import (
	"fmt"

	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/study"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "thin-ground", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Title: "the way back is thinner than the way out, and the fuse does not protect it",
	Doc: `In the vehicle the same current flows back as flows out. Where the ground wire is the thinner one, a short inside the device
makes it the fuse: it glows before the fuse in the feed has had enough. The rule looks at the wires that are the only way to
ground of one or several consumers, adds their areas, and holds the sum against the thickest feed of those consumers; and at the
ground cables of a battery against its thickest feed and the largest fuse. It fires where the ground has less metal and does not
carry what the fuse ahead of the feed lets pass for good.

Make the ground wire as thick as the feed. A thinner ground that bears the rating of the fuse by itself stays silent, and so do
grounds of sensors, of coils and of modules that only signal. Areas within 3 % count as equal, since names of sizes differ by that.`,
	Sources: []string{
		"common practice: the ground of a group has at least the metal of its largest feed",
		"33 CFR 183.425 Table 5 for what a wire carries (testdata/reference/ampacity-33cfr183.csv)",
	},
	Bad: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "30 A" }
M1 = { kind = "motor", load = "14 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "6 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "10 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "G1:1", size = "18 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "0.3 m" }
`,
	Good: `[body.body]
[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "30 A" }
M1 = { kind = "motor", load = "14 A" }
G1 = { kind = "ground point", body = "body" }
[wire]
W1 = { from = "BAT1:+", to = "F1:1", size = "6 AWG", length = "0.1 m" }
W2 = { from = "F1:2", to = "M1:1", size = "10 AWG", length = "1 m" }
W3 = { from = "M1:2", to = "G1:1", size = "10 AWG", length = "1 m" }
W4 = { from = "BAT1:-", to = "G1:2", size = "6 AWG", length = "0.3 m" }
`,
	Run: func(p *rules.Pass) {
		t := &thin{Pass: p}
		r := newReturns(p)
		consumers := r.consumers()
		for _, root := range r.order {
			t.piece(r.landings[root], consumers[root])
		}
		cables := p.Circuit().GroundCables()
		for i := range cables {
			t.battery(&cables[i])
		}
	},
})

// sameArea is the share of the feed's metal from which a ground counts as equally thick.
const sameArea = 0.97

// thin is one run of the rule.
type thin struct {
	*rules.Pass
	branches map[*model.Wire]*circuit.Branch
	devices  map[*model.Wire]*model.Part // the fuse ahead of a wire
}

// piece holds the landings of one piece against the thickest feed of its consumers.
func (t *thin) piece(all []landing, consumers []consumer) {
	area, thinnest := 0.0, (*model.Wire)(nil)
	for _, land := range all {
		w := land.edge.Wire
		if w == nil || !w.Size.IsSet() {
			return // a bar, a mated cavity, or a wire whose size no-data asks for
		}
		area += t.area(w)
		if thinnest == nil || t.area(w) < t.area(thinnest) {
			thinnest = w
		}
	}
	feed, of := t.thickest(consumers)
	if thinnest == nil || feed == nil || area >= sameArea*t.area(feed) {
		return
	}
	bears, fuse := t.bears(all), t.fuseOf(feed)
	rating := 0.0
	if fuse != nil {
		if v := fuse.Value("rating"); v != nil {
			rating = v.Quantity.Value
		}
	}
	if rating > 0 && bears >= rating {
		return
	}
	refs := []string{thinnest.Name.Text, of.Name.Text, feed.Name.Text}
	message := fmt.Sprintf("ground wire %s %s is thinner than feed %s %s of %s", thinnest.Name.Text, thinnest.Size, feed.Name.Text, feed.Size, of.Name.Text)
	if rating > 0 {
		refs = append(refs, fuse.Name.Text)
		message += fmt.Sprintf(", and bears %.1f A where fuse %s lets %s pass", bears, fuse.Name.Text, unit.Ampere(rating))
	}
	d := t.Report(thinnest.SizeSpan, refs, "%s", message)
	d.Help = fmt.Sprintf("make it %s too", feed.Size)
	d.Fixes = t.Resize(thinnest, feed.Size)
	d.Related = []diag.Related{{Span: feed.SizeSpan, Message: "feed " + feed.Name.Text + " is " + feed.Size.String()}}
}

// thickest returns the thickest feed of the consumers, and whose it is. Sensors have no feed that could burn anything.
func (t *thin) thickest(consumers []consumer) (feed *model.Wire, of *model.Part) {
	for _, c := range consumers {
		if rules.IsSensor(c.part) {
			continue
		}
		for _, w := range t.Graph.WiresAt(c.feed) {
			if w.Size.IsSet() && (feed == nil || t.area(w) > t.area(feed)) {
				feed, of = w, c.part
			}
		}
	}
	return feed, of
}

func (t *thin) area(w *model.Wire) float64 {
	area, _ := conductor.AreaMM2(w.Size, t.Netlist.Harness.Cable)
	return area
}

// bears is what the landings carry together, each alone in its place, in ampere.
func (t *thin) bears(all []landing) float64 {
	if t.branches == nil {
		t.branches = map[*model.Wire]*circuit.Branch{}
		c := t.Circuit()
		for i := range c.Branches {
			if b := &c.Branches[i]; b.Wire != nil {
				t.branches[b.Wire] = b
			}
		}
	}
	sum := 0.0
	for _, land := range all {
		if b := t.branches[land.edge.Wire]; b != nil {
			base, _ := conductor.AmpacityOf(b.Wire.Size, b.Insulation(), b.Metal())
			sum += float64(conductor.Derate(base, b.Insulation(), b.Ambient()))
		}
	}
	return sum
}

// fuseOf returns the protection ahead of a wire, or nil.
func (t *thin) fuseOf(w *model.Wire) *model.Part {
	if t.devices == nil {
		t.devices = map[*model.Wire]*model.Part{}
		for _, s := range t.Shorts() {
			if s.Verdict != study.Limited && s.Device != nil {
				t.devices[s.Wire] = s.Device
			}
		}
	}
	return t.devices[w]
}

// battery reports ground cables of a battery that are thinner than its feed or than its largest fuse asks for.
func (t *thin) battery(g *circuit.GroundReport) {
	why := g.Thin()
	if why == "" {
		return
	}
	w := g.Cables[0]
	for _, other := range g.Cables {
		if !other.Size.IsSet() {
			return
		}
		if other.Size.AreaMM2() < w.Size.AreaMM2() {
			w = other
		}
	}
	refs := []string{w.Name.Text, g.Battery.Name.Text}
	what := "ground cable " + w.Name.Text + " of " + g.Battery.Name.Text + " is " + w.Size.String()
	if len(g.Cables) > 1 {
		what = fmt.Sprintf("the %d ground cables of %s together have %.1f mm2", len(g.Cables), g.Battery.Name.Text, g.Area)
	}
	d := t.Report(w.SizeSpan, refs, "%s: %s", what, why)
	d.Help = "make it as thick as the thickest feed from the other post"
}
