package netlisttest

import (
	"fmt"
	"math/rand/v2"
	"strings"
)

// Varied writes the netlist of a small made-up harness of a shape that the seed chooses: how many systems, places, panels, relays,
// connectors of which sizes and views, how the places are joined, whether the ground is positive, with titles that are short, endless,
// of foreign letters, or missing. Circuits make sense: a fuse feeds a switch or a relay that feeds a lamp or motor that goes to ground, in
// part by way of in-line connectors and splices. The same seed gives the same text.
func Varied(seed uint64) string {
	v := &varied{generator: generator{}, Rand: rand.New(rand.NewPCG(seed, 5457)), shape: int(seed)}
	v.base()
	for i := range 1 + v.IntN(4) {
		v.circuit(i)
	}
	if v.shape%4 == 1 {
		v.controller()
	}
	if v.shape%10 == 3 {
		v.part(`LONE = { kind = "lamp", title = "Not wired yet", at = "p0", load = "5 W" }`)
	}
	if v.shape%5 != 4 {
		v.state.WriteString("[state.off]\n[state.on]\ntitle = \"All on\"\nswitches = { " + strings.Join(v.switched, ", ") + " }\n")
	}
	return v.text()
}

type varied struct {
	generator
	*rand.Rand
	shape    int
	places   int
	switched []string // positions of the switches in the state "on"
}

// title is a title or nothing, as a key with a comma before it.
func (v *varied) title(plain string) string {
	switch v.IntN(12) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf(`, title = "%s"`, strings.Repeat(plain+" with a long story, ", 6))
	case 2:
		return `, title = "` + "\u05de\u05e0\u05d5\u05e8\u05d4 \U0001F526" + `"`
	case 3:
		return fmt.Sprintf(`, title = "%s"`, "Überprüfungs"+strings.Repeat("vorrichtung", 5))
	}
	return fmt.Sprintf(`, title = %q`, plain)
}

// at is a place, as a key with a comma before it, or nothing.
func (v *varied) at() string {
	if v.IntN(8) == 0 {
		return ""
	}
	return fmt.Sprintf(`, at = "p%d"`, v.IntN(v.places))
}

func (v *varied) system() string {
	if systems := 1 + v.shape%4; v.IntN(7) > 0 {
		return fmt.Sprintf(`, system = "s%d"`, v.IntN(systems))
	}
	return ""
}

func (v *varied) color() string {
	return []string{"RD", "BK", "WH/BK", "GN/YE", "BU", "OG/BU", "VT/WH", "GY", "BN/RD", "PK/BK", "YE"}[v.IntN(11)]
}

func (v *varied) size() string {
	return []string{"20 AWG", "16 AWG", "1.5 mm2", "4 mm2", "8 AWG"}[v.IntN(5)]
}

// run writes a wire between two terminals, which may pass an in-line connector or a splice on its way.
func (v *varied) run(from, to string) {
	extra := ""
	if v.IntN(3) == 0 {
		extra = fmt.Sprintf(`, length = "%.1f m"`, 0.3+v.Float64()*3)
	}
	color := v.color()
	switch v.IntN(6) {
	case 0:
		name := fmt.Sprintf("XL%d", v.wires)
		fmt.Fprintf(&v.connectors, "[connector.%sA]\ncavities = %d%s\n[connector.%sB]\nmates = \"%sA\"\n", name, 1+v.IntN(6), strings.Replace(v.at(), ", ", "\n", 1), name, name)
		v.lead(from, name+"A:1", v.size(), color, extra)
		v.lead(name+"B:1", to, v.size(), color, "")
	case 1:
		name := fmt.Sprintf("SP%d", v.wires)
		fmt.Fprintf(&v.splices, "%s = { %s }\n", name, strings.TrimPrefix(v.at(), ", "))
		v.lead(from, name+":1", v.size(), color, extra)
		v.lead(name+":2", to, v.size(), color, "")
	default:
		v.lead(from, to, v.size(), color, extra)
	}
}

// base is the harness with its places, its supply and its ground.
func (v *varied) base() {
	polarity := "negative-ground"
	if v.shape%9 == 8 {
		polarity = "positive-ground"
	}
	fmt.Fprintf(&v.top, "[harness]\ntitle = \"Made-up harness %d\"\nvolts = %d\npolarity = %q\n[body.frame]\n[zone.z0]\nambient = \"60 C\"\n[place]\n", v.shape, 12+12*(v.shape%2), polarity)
	v.places = 1 + v.IntN(7)
	for i := range v.places {
		fmt.Fprintf(&v.top, "p%d = { zone = \"z0\"%s }\n", i, v.title(fmt.Sprintf("Place %d", i)))
	}
	if v.places > 1 {
		v.top.WriteString("[path]\n")
	}
	for i := 1; i < v.places; i++ {
		cover := []string{"", `, cover = "split loom"`, `, cover = "tape"`}[v.IntN(3)]
		fmt.Fprintf(&v.top, "w%d = { between = [\"p%d\", \"p%d\"], length = \"%.1f m\"%s }\n", i, v.IntN(i), i, 0.2+v.Float64()*2, cover)
	}
	for i := range 1 + v.shape%4 {
		fmt.Fprintf(&v.systems, "s%d = { %s }\n", i, strings.TrimPrefix(v.title(fmt.Sprintf("System %d", i)), ", "))
	}
	v.panels.WriteString("P = { title = \"Fuse box\", at = \"p0\", terminals = [\"IN\"] }\n")
	v.part(`BAT1 = { kind = "battery"%s%s, capacity = "60 Ah" }`, v.title("Battery"), v.at())
	v.part(`GND1 = { kind = "ground point"%s%s, body = "frame" }`, v.title("Ground"), v.at())
	live, ground := "BAT1:+", "BAT1:-"
	if polarity == "positive-ground" {
		live, ground = ground, live
	}
	v.run(live, "P:IN")
	v.run(ground, "GND1:1")
}

// circuit is a fuse with what it feeds, by a switch or by a relay.
func (v *varied) circuit(i int) {
	fuse, load, s := fmt.Sprintf("F%d", i), fmt.Sprintf("E%d", i), fmt.Sprintf("S%d", i)
	kind := []string{"lamp", "motor", "horn", "heater"}[v.IntN(4)]
	v.part(`%s = { kind = "fuse"%s%s, in = "P", rating = "%d A" }`, fuse, v.title("Circuit"), v.system(), 5+5*v.IntN(3))
	v.part(`%s = { kind = %q%s%s%s, load = "%d W" }`, load, kind, v.title("Consumer"), v.system(), v.at(), 5+v.IntN(80))
	v.part(`%s = { kind = "switch"%s%s%s, positions = { off = [], on = ["1-2"] }, rest = "off" }`, s, v.title("Switch"), v.system(), v.at())
	v.switched = append(v.switched, s+` = "on"`)
	rail := []string{"", `, rail = "30"`, `, rail = "15"`}[v.IntN(3)]
	v.link(`L%d = { joins = ["P:IN", "%s:1"], in = "P"%s }`, i, fuse, rail)
	switch v.IntN(3) {
	case 0:
		v.part(`K%d = { kind = "relay"%s%s, in = "P" }`, i, v.title("Relay"), v.system())
		v.run(fuse+":2", fmt.Sprintf("K%d:30", i))
		v.run(fmt.Sprintf("K%d:87", i), load+":1")
		v.run(fuse+":2", s+":1")
		v.run(s+":2", fmt.Sprintf("K%d:86", i))
		v.run(fmt.Sprintf("K%d:85", i), fmt.Sprintf("GND1:k%d", i))
	case 1:
		v.run(fuse+":2", load+":1") // switched to ground
		v.run(load+":2", s+":1")
		v.run(s+":2", fmt.Sprintf("GND1:s%d", i))
		return
	default:
		v.run(fuse+":2", s+":1")
		v.run(s+":2", load+":1")
	}
	v.run(load+":2", fmt.Sprintf("GND1:e%d", i))
}

// controller is a module with a connector of any size, and a few sensors on it.
func (v *varied) controller() {
	cavities := []int{1, 2, 6, 24, 121}[v.IntN(5)]
	v.part(`A1 = { kind = "module"%s%s%s }`, v.title("Controller"), v.system(), v.at())
	fmt.Fprintf(&v.connectors, "[connector.XA]\nof = \"A1\"\ncavities = %d\n", cavities)
	if rows := []int{1, 2, 3}[v.IntN(3)]; cavities%rows == 0 && v.IntN(2) == 0 {
		v.connectors.WriteString("view = \"wire side\"\nlatch = \"top\"\ngrid = [")
		for r := range rows {
			fmt.Fprintf(&v.connectors, "\"%d-%d\", ", r*cavities/rows+1, (r+1)*cavities/rows)
		}
		v.connectors.WriteString("]\n")
	}
	for i := 0; i < min(cavities, 4); i++ {
		sensor := fmt.Sprintf("B%d", i)
		v.part(`%s = { kind = "inductive sensor"%s%s%s }`, sensor, v.title("Sensor"), v.system(), v.at())
		v.run(sensor+":1", fmt.Sprintf("XA:%d", i+1))
		v.run(sensor+":2", fmt.Sprintf("GND1:b%d", i))
	}
}
