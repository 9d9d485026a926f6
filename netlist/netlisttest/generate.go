// Package netlisttest makes harnesses for tests and benchmarks; nothing but tests imports it.
//
// It gives text, so that reading is part of what is measured, and imports nothing of ours.
package netlisttest

import (
	"fmt"
	"strings"
)

// Harness writes the netlist of a made-up harness with exactly n wires, at least one group of 25. It is what a large
// vehicle looks like to the program: a battery and a main fuse box, distribution bars, and for each group a panel with
// fuses and a relay, a switch, lamps on a splice, a module with its sensors behind an in-line connector, and grounds.
// Every rule finds it in order. The same n gives the same text.
func Harness(n int) string {
	g := &generator{}
	groups := max(1, (n-trunkWires(1))/wiresPerGroup)
	for groups > 1 && groups*wiresPerGroup+trunkWires(groups) > n {
		groups--
	}
	g.head(groups)
	g.trunk(groups)
	for i := range groups {
		g.group(i)
	}
	g.fill(n - g.wires)
	g.states(groups)
	return g.text()
}

const (
	wiresPerGroup = 25
	groupsPerBar  = 25 // panels that one distribution bar feeds
)

// bars is the number of distribution bars that so many groups need.
func bars(groups int) int { return (groups + groupsPerBar - 1) / groupsPerBar }

// trunkWires is the number of wires from the battery to the distribution bars and to ground.
func trunkWires(groups int) int { return 2 + bars(groups) }

// A generator collects the sections of the netlist side by side; TOML wants each of them in one piece.
type generator struct {
	top, systems, panels, parts, connectors, links, splices, wire, cables, state strings.Builder
	wires                                                                        int
}

func (g *generator) text() string {
	var b strings.Builder
	for _, section := range []struct {
		header string
		text   *strings.Builder
	}{
		{"", &g.top}, {"[system]\n", &g.systems}, {"\n[panel]\n", &g.panels}, {"\n[part]\n", &g.parts}, {"\n[splice]\n", &g.splices}, {"\n", &g.connectors},
		{"\n[link]\n", &g.links}, {"\n[wire]\n", &g.wire}, {"\n[cable]\n", &g.cables}, {"\n", &g.state},
	} {
		b.WriteString(section.header)
		b.WriteString(section.text.String())
	}
	return b.String()
}

func (g *generator) part(format string, args ...any) { fmt.Fprintf(&g.parts, format+"\n", args...) }

func (g *generator) link(format string, args ...any) { fmt.Fprintf(&g.links, format+"\n", args...) }

// lead writes one wire; extra holds further keys, each with a comma before it.
func (g *generator) lead(from, to, size, color, extra string) {
	g.wires++
	fmt.Fprintf(&g.wire, "W%d = { from = %q, to = %q, size = %q, color = %q%s }\n", g.wires, from, to, size, color, extra)
}

func (g *generator) head(groups int) {
	fmt.Fprintf(&g.top, `# A made-up harness for measurements.
[harness]
title = "Made-up harness with %d groups"
revision = "A"
volts = 12
polarity = "negative-ground"
insulation = "125 C"
cable = "SAE"

[body.body]
title = "Body"

[zone.bay]
ambient = "85 C"
[zone.cabin]
ambient = "60 C"

[place]
battery = { title = "Battery", zone = "bay" }
panel   = { title = "Panels", zone = "cabin" }
dash    = { title = "Dash", zone = "cabin" }
front   = { title = "Front", zone = "bay" }

[path]
battery-panel = { between = ["battery", "panel"], length = "1.8 m", zone = "bay" }
panel-dash    = { between = ["panel", "dash"], length = "0.9 m", zone = "cabin" }
panel-front   = { between = ["panel", "front"], length = "2.2 m", zone = "bay" }

`, groups)
	g.systems.WriteString("supply = { title = \"Supply\" }\n")
}

// trunk is the battery with its main fuses, and the distribution bars that they feed.
func (g *generator) trunk(groups int) {
	g.panels.WriteString("MAIN = { title = \"Main fuses\", at = \"battery\", terminals = [\"IN\"] }\n")
	g.part(`BAT1 = { kind = "battery", title = "Battery", system = "supply", at = "battery", capacity = "60 Ah" }`)
	g.part(`GND0 = { kind = "ground point", title = "Battery ground", at = "battery", body = "body" }`)
	g.lead("BAT1:+", "MAIN:IN", "2 AWG", "RD", `, net = "BATTERY-PLUS", length = "0.15 m"`)
	g.lead("BAT1:-", "GND0:1", "2 AWG", "BK", `, length = "0.20 m"`)
	fuses := make([]string, bars(groups))
	for i := range fuses {
		fuses[i] = fmt.Sprintf("%q", fmt.Sprintf("MF%d:1", i))
		g.part(`MF%d = { kind = "fuse", title = "Distribution %d", system = "supply", in = "MAIN", rating = "100 A", family = "bolt-in" }`, i, i)
		g.part(`BAR%d = { kind = "bus bar", title = "Distribution bar %d", system = "supply", at = "panel" }`, i, i)
		g.lead(fmt.Sprintf("MF%d:2", i), fmt.Sprintf("BAR%d:IN", i), "4 AWG", "RD", "")
	}
	g.link(`MAIN-BUS = { joins = ["MAIN:IN", %s], in = "MAIN", title = "Main bus" }`, strings.Join(fuses, ", "))
}

// group is one panel with all that hangs on it: 25 wires.
func (g *generator) group(i int) {
	name := func(format string) string { return fmt.Sprintf(format, i) }
	system := fmt.Sprintf(`system = "group-%d"`, i)
	fmt.Fprintf(&g.systems, "group-%d = { title = \"Group %d\" }\n", i, i)
	fmt.Fprintf(&g.panels, "P%d = { title = \"Panel %d\", at = \"panel\", terminals = [\"IN\"] }\n", i, i)
	for _, f := range []struct{ letter, title string }{{"a", "Switch"}, {"b", "Lamps"}, {"c", "Module"}} {
		g.part(`F%d%s = { kind = "fuse", title = "%s %d", %s, in = "P%d", rating = "10 A", family = "blade" }`, i, f.letter, f.title, i, system, i)
	}
	g.link(`BUS%d = { joins = ["P%d:IN", "F%da:1", "F%db:1", "F%dc:1"], in = "P%d", title = "Bus of panel %d" }`, i, i, i, i, i, i, i)
	g.lead(fmt.Sprintf("BAR%d:P%d", i/groupsPerBar, i), name("P%d:IN"), "6 AWG", "RD", "")
	g.lampCircuit(i, name, system)
	g.moduleCircuit(i, name, system)
}

// lampCircuit is a switch that pulls a relay that feeds three lamps by way of an in-line connector and a splice.
func (g *generator) lampCircuit(i int, name func(string) string, system string) {
	g.part(`K%d = { stock = "mini-relay-40a-resistor", title = "Lamp relay %d", %s, in = "P%d" }`, i, i, system, i)
	g.part(`S%d = { kind = "switch", title = "Lamp switch %d", %s, at = "dash", positions = { off = [], on = ["1-2"] }, rest = "off" }`, i, i, system)
	g.part(`GND%da = { kind = "ground point", title = "Ground %d at the panel", at = "panel", body = "body" }`, i, i)
	g.part(`GND%db = { kind = "ground point", title = "Ground %d at the front", at = "front", body = "body" }`, i, i)
	fmt.Fprintf(&g.splices, "SP%d = { at = \"front\", title = \"Lamp feed %d\" }\n", i, i)
	g.lead(name("F%da:2"), name("S%d:1"), "16 AWG", "RD", "")
	g.lead(name("S%d:2"), name("K%d:86"), "16 AWG", "BU/WH", fmt.Sprintf(`, net = "SWITCHED-%d"`, i))
	g.lead(name("K%d:85"), name("GND%da:1"), "16 AWG", "BK", "")
	g.lead(name("F%db:2"), name("K%d:30"), "12 AWG", "RD/YE", `, length = "0.15 m"`)
	feed := fmt.Sprintf(`, net = "LAMP-FEED-%d"`, i)
	g.lead(name("K%d:87"), name("X%dA:1"), "14 AWG", "OG", feed)
	g.lead(name("X%dB:1"), name("SP%d:1"), "14 AWG", "OG", feed)
	for lamp := 1; lamp <= 3; lamp++ {
		g.part(`E%d-%d = { kind = "lamp", title = "Lamp %d of group %d", %s, at = "front", load = "21 W" }`, i, lamp, lamp, i, system)
		g.lead(name("SP%d:2"), fmt.Sprintf("E%d-%d:1", i, lamp), "16 AWG", "OG", `, length = "0.40 m"`)
		g.lead(fmt.Sprintf("E%d-%d:2", i, lamp), fmt.Sprintf("GND%db:%d", i, lamp), "16 AWG", "BK", `, length = "0.40 m"`)
	}
}

// moduleCircuit is a module with a sensor of three wires behind the in-line connector, an inductive sensor on a twisted
// pair, and a valve that it switches to ground.
func (g *generator) moduleCircuit(i int, name func(string) string, system string) {
	g.part(`A%d = { kind = "module", title = "Module %d", %s, at = "panel" }`, i, i, system)
	g.part(`B%d = { kind = "three-wire sensor", title = "Pressure %d", %s, at = "front" }`, i, i, system)
	g.part(`BI%d = { kind = "inductive sensor", title = "Speed %d", %s, at = "front" }`, i, i, system)
	g.part(`Y%d = { kind = "solenoid", title = "Valve %d", %s, at = "front", load = "12 W" }`, i, i, system)
	fmt.Fprintf(&g.connectors, `[connector.X%dA]
title = "In-line %d"
cavities = 4
at = "panel"
[connector.X%dB]
mates = "X%dA"
[connector.XM%d]
of = "A%d"
title = "Module %d"
cavities = 8
grid = ["1-4", "5-8"]
view = "wire side"
[connector.XM%d.pin]
1 = { does = "Supply", role = "supply", load = "0.2 A" }
2 = { does = "Ground", role = "ground" }
3 = { does = "5 V", role = "reference" }
4 = { does = "Pressure", role = "input" }
5 = { does = "Sensor ground", role = "return" }
6 = { does = "Valve", role = "sink", limit = "2 A" }
7 = { does = "Speed +", role = "input" }
8 = { does = "Speed -", role = "input" }
`, i, i, i, i, i, i, i, i)
	g.lead(name("F%dc:2"), name("XM%d:1"), "18 AWG", "RD/GN", "")
	g.lead(name("XM%d:2"), name("GND%da:2"), "18 AWG", "BK", "")
	for cavity, color := range []string{"GY", "WH", "BN"} {
		module, inline, sensor := fmt.Sprintf("XM%d:%d", i, cavity+3), fmt.Sprintf("X%dA:%d", i, cavity+2), fmt.Sprintf("B%d:%d", i, cavity+1)
		g.lead(module, inline, "22 AWG", color, `, length = "0.30 m"`)
		g.lead(fmt.Sprintf("X%dB:%d", i, cavity+2), sensor, "22 AWG", color, "")
	}
	g.lead(name("SP%d:2"), name("Y%d:1"), "18 AWG", "OG", `, length = "0.50 m"`)
	g.lead(name("Y%d:2"), name("XM%d:6"), "18 AWG", "GN", "")
	g.lead(name("BI%d:1"), name("XM%d:7"), "22 AWG", "VT", "")
	g.lead(name("BI%d:2"), name("XM%d:8"), "22 AWG", "YE", "")
	fmt.Fprintf(&g.cables, "CB%d = { kind = \"twisted pair\", wires = [\"W%d\", \"W%d\"] }\n", i, g.wires-1, g.wires)
}

// fill adds leads side by side from the first bar to a second one until the number of wires is right.
func (g *generator) fill(missing int) {
	if missing <= 0 {
		return
	}
	g.part(`BAR-FILL = { kind = "bus bar", title = "Second bar", system = "supply", at = "panel" }`)
	for i := range missing {
		g.lead(fmt.Sprintf("BAR0:FILL%d", i), fmt.Sprintf("BAR-FILL:%d", i), "6 AWG", "RD", `, length = "0.50 m"`)
	}
}

func (g *generator) states(groups int) {
	for _, position := range []string{"off", "on"} {
		fmt.Fprintf(&g.state, "[state.%s]\ntitle = \"All switches %s\"\nswitches = { ", position, position)
		for i := range groups {
			if i > 0 {
				g.state.WriteString(", ")
			}
			fmt.Fprintf(&g.state, "S%d = %q", i, position)
		}
		g.state.WriteString(" }\n")
	}
}
