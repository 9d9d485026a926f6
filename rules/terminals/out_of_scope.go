package terminals

import (
	"ferrule/rules"
	"regexp"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/source"
)

var _ = rules.Register(&rules.Rule{
	Name: "out-of-scope", Severity: diag.Error, Harm: rules.Burns, Since: "0.2", Stops: true,
	Title: "a circuit that must not be in this harness",
	Doc: `Airbags and belt tensioners fire when a meter or a test lamp touches their wires; a mistake in the wiring of anti-lock brakes, of an
electric steering lock or of high voltage kills. These circuits are not to be probed, spliced or carried in a harness that is made with this program,
and no rule here looks at what they need. The rule fires for parts and loads whose function says so, and for parts, connectors, terminals, nets
and wires whose title or note does; and for sources above 60 V.

Take the circuit out of the netlist and leave the vehicle's own wiring untouched; that work belongs to licensed practice. No acceptance covers
this finding, [rules] cannot switch it off, and as long as it stands no sheet and no list is written. Words that
mean something else are known: the steering lock of a key switch, absolute pressure, the high voltage of an ignition coil. Where another word is taken
wrongly, choose another title. Silent are terminals that are marked unused.`,
	Sources: []string{"common practice; 60 V DC is the limit of voltage class A in ISO 6469-3 (from memory)"},
	Bad: `[part]
A1 = { kind = "module", spare = true, title = "Airbag control unit" }
`,
	Good: `[part]
A1 = { kind = "module", spare = true, title = "Engine control unit" }
`,
	Run: func(p *rules.Pass) {
		s := &scope{Pass: p, harmless: map[string]bool{}}
		for _, part := range p.Netlist.Parts {
			s.part(part)
		}
		for _, c := range p.Netlist.Connectors {
			s.words(c.Name.Text, c.Title, c.Note)
			s.terminals(c.Owner)
		}
		for _, n := range p.Netlist.Nets {
			s.words(n.Name.Text, n.Title, n.Name)
		}
		for _, w := range p.Netlist.Wires {
			s.words(w.Name.Text, w.Note, w.Net)
		}
	},
})

// forbidden are the functions that are out of scope.
var forbidden = map[string]string{
	"airbag": "airbags", "anti-lock brakes": "anti-lock brakes", "steering lock": "an electric steering lock", "high voltage": "high voltage",
}

// telling are the words that give such a circuit away. Abbreviations count in capitals alone, as words of their own.
var telling = []struct {
	words *regexp.Regexp
	means string
}{
	{regexp.MustCompile(`(?i)\bair[- ]?bags?\b|\bpre-?tensioners?\b|\bbelt tensioners?\b|\bsquibs?\b`), "airbags"},
	{regexp.MustCompile(`\bSRS\b`), "airbags"},
	{regexp.MustCompile(`(?i)\banti-?lock\b|\bstability control\b`), "anti-lock brakes"},
	{regexp.MustCompile(`\b(ABS|ESC|ESP)\b`), "anti-lock brakes"},
	{regexp.MustCompile(`(?i)\bsteering (column )?lock\b`), "an electric steering lock"},
	{regexp.MustCompile(`(?i)\bhigh[- ]voltage\b|\btraction battery\b`), "high voltage"},
	{regexp.MustCompile(`\bHV\b`), "high voltage"},
}

// scope is one run of the rule.
type scope struct {
	*rules.Pass
	harmless map[string]bool // texts without any stem; the names of nets come again and again
}

func (s *scope) part(part *model.Part) {
	name := part.Name.Text
	if means := forbidden[part.Function.Text]; means != "" {
		s.stop(part.Function.Span, name, means)
		return
	}
	for _, l := range part.Inside.Loads {
		if means := forbidden[l.Function.Text]; means != "" {
			s.stop(l.Function.Span, name, means)
			return
		}
	}
	if v := part.Value("regulated"); v != nil && v.Quantity.Value > mostVolts {
		s.stop(v.Quantity.Span, name, "high voltage")
		return
	}
	switch part.Kind.Name {
	case "ignition coil": // its secondary is of high voltage and no wiring of a harness
	case "switch", "momentary switch": // a key switch blocks the steering wheel by a bolt
		if part.Function.Text != "key" && !keyed.MatchString(part.Title.Text) {
			s.words(name, part.Title, part.Note)
		}
	default:
		s.words(name, part.Title, part.Note)
	}
	s.terminals(part.Owner)
}

// keyed recognises a key switch by its title.
var keyed = regexp.MustCompile(`(?i)\bkey\b|\bignition\b`)

// mostVolts is the direct voltage above which a circuit is of high voltage: ISO 6469-3, voltage class B (from memory).
const mostVolts = 60

func (s *scope) terminals(o *model.Owner) {
	for _, id := range o.Pins {
		if pin := s.Netlist.Pin(id); !pin.OnPurpose() {
			s.words(pin.String(), pin.Does, pin.Net)
		}
	}
}

// words reports the first of some texts that gives a circuit away. Each place is told once.
func (s *scope) words(ref string, texts ...model.Name) {
	for _, text := range texts {
		if s.harmless[text.Text] {
			continue
		}
		if !suspect(text.Text) {
			s.harmless[text.Text] = true
			continue
		}
		for _, t := range telling {
			if t.words.MatchString(text.Text) {
				s.stop(text.Span, ref, t.means)
				return
			}
		}
	}
}

// stems are parts of the telling words. Expressions that ignore case are slow, and nearly no text has even a stem.
var stems = []string{"bag", "tension", "squib", "srs", "lock", "stability", "abs", "esc", "esp", "voltage", "traction", "hv"}

func suspect(text string) bool {
	lower := strings.ToLower(text)
	for _, stem := range stems {
		if strings.Contains(lower, stem) {
			return true
		}
	}
	return false
}

// stop reports a circuit that is out of scope.
func (s *scope) stop(span source.Span, ref, means string) {
	have := "has"
	if strings.HasSuffix(means, "s") {
		have = "have"
	}
	d := s.Report(span, []string{ref}, "%s belongs to %s, which %s no place in this harness", ref, means, have)
	d.Help = "take the circuit out of the netlist and leave the vehicle's own wiring untouched: that work belongs to licensed practice"
}
