// Package catalog holds the kinds of parts: which terminals a relay, a switch or a sensor brings along, and what joins
// what inside. The kinds are data (kinds.toml), and so are the named definitions that every project can use
// (stock.toml). It takes nothing and gives tables; it imports only a TOML decoder.
package catalog

import (
	_ "embed"
	"fmt"
	"slices"
	"sync"

	"github.com/BurntSushi/toml"
)

//go:embed kinds.toml
var kindsText string

//go:embed stock.toml
var stockText string

// StockText returns the text of the built-in stock definitions, in the netlist language.
func StockText() string { return stockText }

// A Role says what a terminal is for.
type Role string

// The roles. The zero value is a terminal of which nothing is said.
const (
	NoRole     Role = ""
	Supply     Role = "supply"      // takes battery voltage
	SupplyOut  Role = "supply-out"  // delivers it: battery plus, alternator B+
	Cranking   Role = "cranking"    // takes the cranking current: starter 30
	Ground     Role = "ground"      // power ground
	Return     Role = "return"      // sensor ground
	Reference  Role = "reference"   // sensor supply, 5 V as a rule
	Sink       Role = "sink"        // low-side output: joins to ground when on
	Driver     Role = "driver"      // high-side output: joins to supply when on
	HalfBridge Role = "half-bridge" // output that can join to supply or to ground
	Output     Role = "output"      // logic level output
	Input      Role = "input"       // takes a level and hardly any current
	Signal     Role = "signal"      // what a sensor says
	Bus        Role = "bus"         // one wire of a data bus
	Screen     Role = "screen"      // drain of a screened cable
	Load       Role = "load"        // one end of something that uses current
	Contact    Role = "contact"     // one side of a switching contact
	Coil       Role = "coil"        // one end of a winding that works contacts
	Passive    Role = "passive"     // fuse, resistor, diode
)

// Roles lists every role that a terminal can be given, in the order of the documents.
var Roles = []Role{Supply, Ground, Return, Reference, Sink, Driver, HalfBridge, Output, Input, Signal, Bus, Screen, Load, Contact, Coil, Passive, SupplyOut, Cranking}

// A Pin is one terminal that a kind brings along.
type Pin struct {
	Name     string `toml:"name"`
	Role     Role   `toml:"role"`
	Optional bool   `toml:"optional"`
}

// A Kind is what parts of one kind have in common. The string pairs name terminals.
type Kind struct {
	Name     string     `toml:"-"`
	Letter   string     `toml:"letter"` // class letter of IEC 81346-2 that designators of this kind begin with by habit
	Title    string     `toml:"title"`
	Symbol   string     `toml:"symbol"`
	Pins     []Pin      `toml:"pins"`
	OpenPins bool       `toml:"open-pins"` // takes any terminal name
	Joined   bool       `toml:"joined"`    // all terminals are one piece of metal
	Case     bool       `toml:"case"`      // the case is a terminal
	Protects [][]string `toml:"protects"`
	Closed   [][]string `toml:"closed"`
	Open     [][]string `toml:"open"`
	Coil     [][]string `toml:"coil"`
	Diodes   [][]string `toml:"diodes"`
	Loads    [][]string `toml:"loads"`
	Sources  [][]string `toml:"sources"`
	Keys     []string   `toml:"keys"` // keys of a part that make sense for this kind, beyond those that every part has
	Need     []string   `toml:"need"` // of these, the ones without which the part is not fully described
}

// Takes reports whether a part of this kind can have the key.
func (k *Kind) Takes(key string) bool { return slices.Contains(k.Keys, key) }

// A Catalog is the set of kinds in the order of the documents.
type Catalog struct {
	Kinds  []*Kind
	byName map[string]*Kind
}

// Kind returns the kind of a name, or nil.
func (c *Catalog) Kind(name string) *Kind { return c.byName[name] }

// Names returns the names of all kinds in the order of the documents.
func (c *Catalog) Names() []string {
	names := make([]string, len(c.Kinds))
	for i, k := range c.Kinds {
		names[i] = k.Name
	}
	return names
}

// Builtin returns the catalogue that is part of the program. The data is checked by the package's tests; a fault in it
// is a fault of the program, hence the panic.
var Builtin = sync.OnceValue(func() *Catalog {
	c, err := read(kindsText)
	if err != nil {
		panic(fmt.Sprintf("built-in catalogue of kinds: %v", err))
	}
	return c
})

// read decodes a catalogue and refuses keys that Kind does not have.
func read(text string) (*Catalog, error) {
	var file struct {
		Kind map[string]*Kind `toml:"kind"`
	}
	meta, err := toml.Decode(text, &file)
	if err != nil {
		return nil, fmt.Errorf("decoding kinds: %w", err)
	}
	if extra := meta.Undecoded(); len(extra) > 0 {
		return nil, fmt.Errorf("decoding kinds: unknown key %s", extra[0])
	}
	c := &Catalog{byName: file.Kind}
	for _, key := range meta.Keys() {
		if len(key) == 2 && key[0] == "kind" {
			k := file.Kind[key[1]]
			k.Name = key[1]
			c.Kinds = append(c.Kinds, k)
		}
	}
	return c, nil
}
