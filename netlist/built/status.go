package built

import (
	"path"
	"slices"
	"strings"

	"ferrule/netlist/model"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// A Stage says how far a wire is. The later ones include the earlier.
type Stage uint8

// The stages in the order of the work.
const (
	Planned   Stage = iota // nothing of it exists
	Cut                    // the piece is cut from its reel
	Crimped                // both ends have what they need to go into their cavities or onto their studs
	Installed              // it is on the vehicle, both ends in place
	Tested                 // it has been measured in place
)

var stageWords = [...]string{"planned", "cut", "crimped", "installed", "tested"}

// String returns the word that the file and the commands use.
func (s Stage) String() string { return stageWords[min(int(s), len(stageWords)-1)] }

// Stages returns the words for the stages, in the order of the work.
func Stages() []string { return slices.Clone(stageWords[:]) }

// ParseStage reads the word for a stage.
func ParseStage(word string) (Stage, bool) {
	i := slices.Index(stageWords[:], word)
	return Stage(max(i, 0)), i >= 0
}

// Made is what a piece of wire is: as the netlist has it now, or as it had it when the piece was marked. What is not stated
// is empty, or zero.
type Made struct {
	Size     unit.Size
	Color    string // as the netlist writes it: "OG/BK"
	From, To string // terminals: "X2:9"
	Length   unit.Metre
}

// A Record is the line of one wire in a status file.
type Record struct {
	Name     model.Name // the wire
	Stage    Stage
	StageAt  source.Span // of the word for the stage
	Revision model.Name  // of the netlist when the stage was marked
	Made     Made        // nothing for a planned wire
}

// A Harness is what a status file is held against.
type Harness struct {
	Netlist *model.Netlist
	File    string                               // the netlist's root file, without a folder: "truck.toml"
	Length  func(*model.Wire) (unit.Metre, bool) // how long a wire is to be; false where nobody knows
}

// FileName returns the name of the status file of a netlist: "truck.built.toml" for "truck.toml".
func FileName(netlist string) string {
	return strings.TrimSuffix(netlist, path.Ext(netlist)) + suffix
}

const suffix = ".built.toml"

// IsFileName reports whether a name is that of a status file.
func IsFileName(name string) bool { return strings.HasSuffix(strings.ToLower(name), suffix) }

// Of returns what a wire is to be.
func (h *Harness) Of(w *model.Wire) Made {
	m := Made{Size: w.Size, Color: w.Color.String(), From: h.end(w.From), To: h.end(w.To)}
	if m.Color == "" {
		m.Color = w.ColorText.Text
	}
	if h.Length != nil {
		if length, ok := h.Length(w); ok {
			m.Length = rounded(length)
		}
	}
	return m
}

func (h *Harness) end(ref model.PinRef) string {
	if !ref.IsSet() || ref.ID == model.NoPin {
		return ref.Text
	}
	return h.Netlist.Pin(ref.ID).String()
}

// A Status is a status file held against its harness. It has no file as long as nothing has been marked.
type Status struct {
	Harness *Harness
	File    *source.File // nil for none
	Records []*Record    // those that can be understood, in the order of the file

	byName map[string]*Record
}

// Record returns the line of a wire, or nil.
func (s *Status) Record(wire string) *Record { return s.byName[wire] }

// Stage returns how far a wire is.
func (s *Status) Stage(w *model.Wire) Stage {
	if r := s.byName[w.Name.Text]; r != nil {
		return r.Stage
	}
	return Planned
}

// Progress counts how far a harness is.
type Progress struct {
	Wires   int    // of the netlist
	Here    int    // those of them that are cut here; the others come with their devices
	Reached [5]int // by stage: wires that are there or beyond. Cut and Crimped count those that are cut here
	Older   int    // made pieces that the netlist has otherwise by now
	Removed int    // made pieces that the netlist has no more
}

// Of returns how many wires a stage is about.
func (p *Progress) Of(stage Stage) int {
	if stage == Cut || stage == Crimped {
		return p.Here
	}
	return p.Wires
}

// Progress counts.
func (s *Status) Progress() Progress {
	p := Progress{Older: len(s.Older()), Removed: len(s.Removed())}
	for _, w := range s.Harness.Netlist.Wires {
		p.Wires++
		if !w.Supplied.On {
			p.Here++
		}
		for stage := Planned; stage <= s.Stage(w); stage++ {
			if !w.Supplied.On || stage != Cut && stage != Crimped {
				p.Reached[stage]++
			}
		}
	}
	return p
}

// Next returns the stage that a wire has to reach next; false when it is tested. A wire that comes with its device is neither
// cut nor crimped.
func (s *Status) Next(w *model.Wire) (Stage, bool) {
	at := s.Stage(w)
	if at == Tested {
		return Tested, false
	}
	if w.Supplied.On {
		return max(at+1, Installed), true
	}
	return at + 1, true
}

// Removed returns the lines of made pieces that the netlist has no wire for any more, in natural order.
func (s *Status) Removed() []*Record {
	var gone []*Record
	for _, r := range s.Records {
		if r.Stage > Planned && s.Harness.Netlist.Wire(r.Name.Text) == nil {
			gone = append(gone, r)
		}
	}
	slices.SortFunc(gone, func(a, b *Record) int { return model.CompareNatural(a.Name.Text, b.Name.Text) })
	return gone
}
