package grounds

import (
	"cmp"
	"fmt"
	"slices"

	"ferrule/netlist/catalog"
	"ferrule/netlist/circuit"
	"ferrule/netlist/circuit/sizing"
	"ferrule/netlist/circuit/study"
	"ferrule/netlist/conductor"
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "thin-ground", Severity: diag.Warning, Harm: rules.Burns, Since: "0.2",
	Late:  true,
	Title: "the way back is thinner than the way out, and the fuse does not protect it",
	Doc: `In the vehicle the same current flows back as flows out. Where the ground wire is the thinner one, a short inside the device
makes it the fuse: it glows before the fuse in the feed has had enough. The rule looks at the wires that are the only way to
ground of one or several consumers, adds their areas, and holds the sum against the thickest feed of those consumers; and at the
ground cables of a battery against its thickest feed and the largest fuse. It fires where the ground has less metal and does not
carry what the fuse ahead of the feed lets pass for good. Of the other wires on the ground side it takes those that stand in series
with a fuse or with a generator's lead, as the engine strap and a common return do: they have to bear what that lets pass too. Where
that fuse is too large for a feed that is no thicker, the fuse is the mistake, and fuse-above-wire says so.

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
		t := &thin{Pass: p, told: map[*model.Wire]bool{}}
		r := newReturns(p)
		consumers := r.consumers()
		for _, root := range r.order {
			t.piece(r.landings[root], consumers[root])
		}
		cables := p.Circuit().GroundCables()
		for i := range cables {
			t.battery(&cables[i])
		}
		for _, w := range p.Sizing().Wires {
			t.inSeries(w)
		}
	},
})

// sameArea is the share of the feed's metal from which a ground counts as equally thick.
const sameArea = 0.97

// thin is one run of the rule.
type thin struct {
	*rules.Pass
	told     map[*model.Wire]bool // that something is said of a wire
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
	if thinnest == nil {
		return
	}
	bears := t.bears(all)
	for _, f := range t.thicker(consumers, area) {
		if f.rating > 0 && bears >= f.rating {
			continue
		}
		t.thinner(f, thinnest, bears, len(all) == 1)
		return
	}
}

// A feed is what leads to a consumer, with the fuse ahead of it; rating is 0 where none is known.
type feed struct {
	wire   *model.Wire
	of     *model.Part
	fuse   *model.Part
	rating float64
}

// thinner reports a ground wire that is thinner than a feed; only is true where it is the only way to ground.
func (t *thin) thinner(f feed, thinnest *model.Wire, bears float64, only bool) {
	feed, of, fuse, rating := f.wire, f.of, f.fuse, f.rating
	t.told[thinnest] = true
	refs := []string{thinnest.Name.Text, of.Name.Text, feed.Name.Text}
	message := fmt.Sprintf("ground wire %s %s is thinner than feed %s %s of %s", thinnest.Name.Text, thinnest.Size, feed.Name.Text, feed.Size, of.Name.Text)
	if rating > 0 {
		refs = append(refs, fuse.Name.Text)
		message += fmt.Sprintf(", and bears %.1f A where fuse %s lets %s pass", bears, fuse.Name.Text, unit.Ampere(rating))
	}
	d := t.Report(thinnest.SizeSpan, refs, "%s", message)
	d.Help = fmt.Sprintf("make it %s too", feed.Size)
	d.Fixes = t.Resize(thinnest, t.Suited(thinnest, feed.Size))
	for i := range d.Fixes {
		d.Fixes[i].Safe = d.Fixes[i].Safe && only // of several, somebody has to say which
	}
	d.Related = []diag.Related{{Span: feed.SizeSpan, Message: "feed " + feed.Name.Text + " is " + feed.Size.String()}}
}

// thicker returns the feeds of the consumers that have more metal than an area, the thickest first. Sensors have no feed that
// could burn anything.
func (t *thin) thicker(consumers []consumer, area float64) []feed {
	var feeds []feed
	for _, c := range consumers {
		if rules.IsSensor(c.part) {
			continue
		}
		for _, w := range t.Graph.WiresAt(c.feed) {
			if !w.Size.IsSet() || area >= sameArea*t.area(w) {
				continue
			}
			f := feed{wire: w, of: c.part, fuse: t.fuseOf(w)}
			if f.fuse != nil {
				if v := f.fuse.Value("rating"); v != nil {
					f.rating = v.Quantity.Value
				}
			}
			feeds = append(feeds, f)
		}
	}
	slices.SortStableFunc(feeds, func(a, b feed) int { return cmp.Compare(t.area(b.wire), t.area(a.wire)) })
	return feeds
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
	for _, cable := range g.Cables {
		t.told[cable] = true
	}
	d := t.Report(w.SizeSpan, refs, "%s: %s", what, why)
	d.Help = "make it as thick as the thickest feed from the other post"
}

// inSeries reports a wire on the ground side that bears less than what stands in series with it lets pass.
func (t *thin) inSeries(w *sizing.Wire) {
	name := w.Wire.Name.Text
	if t.told[w.Wire] || !w.Wire.Size.IsSet() || !w.Wire.Wired() || !t.Grounded(w.Wire.From.ID) {
		return
	}
	for i := range w.Limits {
		l := &w.Limits[i]
		if l.Rule != sizing.Fused || l.Met || t.fuseIsWrong(w.Wire, l.Device) || t.ofSensors(w.Wire) {
			continue
		}
		d := t.Report(w.Wire.SizeSpan, []string{name}, "ground wire %s %s is too thin for what can flow in it: %s", name, w.Wire.Size, l.What)
		d.Help = "make it thicker: `ferrule size` says by how much"
		if l.Least.IsSet() {
			size := t.Suited(w.Wire, l.Least)
			d.Help = fmt.Sprintf("make it %s", size)
			d.Fixes = t.Resize(w.Wire, size)
		}
		return
	}
}

// fuseIsWrong reports whether a fuse is too large for a wire on its own side that has no more metal than the ground wire: then the
// fuse is the mistake, fuse-above-wire reports it, and the fuse that suits the feed suits the way back too.
func (t *thin) fuseIsWrong(ground *model.Wire, device *model.Part) bool {
	for _, f := range t.Sizing().Fuses {
		if f.Part == device {
			return f.LimitedBy != nil && f.Most < f.Rating && sameArea*t.area(f.LimitedBy) <= t.area(ground)
		}
	}
	return false
}

// ofSensors reports whether a wire belongs to a sensor ground. What a fuse feeds flows there only when it meets another ground, which
// is a finding of its own.
func (t *thin) ofSensors(w *model.Wire) bool {
	if t.ClassOf(w.Net) == "return" {
		return true
	}
	return slices.ContainsFunc(t.Graph.NetOf(w.From.ID).Pins, func(id model.PinID) bool {
		pin := t.Netlist.Pin(id)
		return pin.Role == catalog.Return || t.ClassOf(pin.Net) == "return"
	})
}
