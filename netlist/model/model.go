// Package model is the harness as it is written: parts, connectors, wires and the rest, with every name resolved and
// every field still knowing its place in the file.
//
// It takes syntax trees and gives a Netlist and a list of diagnostics; a broken file yields what could be read of it.
// It may import syntax (trees), catalog (kinds), unit (quantities), diag and source; it opens no file.
//
// How a value flows through: assemble.go merges the sections of all files, keys.go says which keys a section has and
// decodes them (the same tables make the language reference), pins.go gives every part and connector its terminals and
// insides, resolve.go turns designators into pointers.
package model

import (
	"slices"
	"strings"
	"unicode"

	"ferrule/netlist/catalog"
	"ferrule/netlist/source"
	"ferrule/netlist/unit"
)

// Name is a word or a text with its place. The zero Name is not given.
type Name struct {
	Text string
	Span source.Span
}

// IsSet reports whether the text was given.
func (n Name) IsSet() bool { return n.Text != "" }

// A Quantity is a number in SI with its place. It is given when its span is not zero.
type Quantity struct {
	Value float64
	Dim   unit.Dimension
	Span  source.Span
}

// IsSet reports whether the quantity was given.
func (q Quantity) IsSet() bool { return q.Dim != unit.None }

// An Outline is a width and a height with their place. It is given when it IsSet.
type Outline struct {
	unit.Outline
	Span source.Span
}

// Flag is true or false with its place.
type Flag struct {
	On   bool
	Span source.Span
}

// A Netlist is a whole harness.
type Netlist struct {
	Files      []*source.File
	Harness    Harness
	Colors     ColorPlan
	Allowance  Allowance
	Systems    []*System
	Bodies     []*Body
	Zones      []*Zone
	Places     []*Place
	Paths      []*Path
	Nets       []*Net
	Parts      []*Part
	Connectors []*Connector
	Splices    []*Splice
	Panels     []*Panel
	Terminals  []*Terminal
	Links      []*Link
	Wires      []*Wire
	Cables     []*Cable
	States     []*State
	Drawer     []*DrawerEntry
	Reserve    Reserve
	Severities []RuleSeverity
	Labels     []*LabelStock // what labels are printed on
	Accepts    []*Accept

	Pins   []Pin // indexed by PinID
	Owners []*Owner

	stocks  []*Part
	owners  map[string]*Owner
	bodies  map[string]*Body
	zones   map[string]*Zone
	places  map[string]*Place
	systems map[string]*System
	wires   map[string]*Wire
	nets    map[string]*Net

	terminals map[string]*Terminal
}

// Owner returns the part, connector, splice or panel of a designator, or nil.
func (n *Netlist) Owner(name string) *Owner { return n.owners[name] }

// Wire returns the wire of a designator, or nil.
func (n *Netlist) Wire(name string) *Wire { return n.wires[name] }

// Pin returns the terminal of an ID.
func (n *Netlist) Pin(id PinID) *Pin { return &n.Pins[id] }

// FindPin looks up "DESIGNATOR:PIN"; a designator alone finds the one terminal of a splice.
func (n *Netlist) FindPin(ref string) (PinID, bool) {
	owner, pin := splitRef(ref)
	o := n.owners[owner]
	if o == nil {
		return NoPin, false
	}
	return o.Pin(pin)
}

// Harness is the head of the netlist.
type Harness struct {
	Title, Revision, Vehicle, Owner Name
	Volts                           float64 // nominal: 6, 12, 24, 48
	PositiveGround                  bool
	Practice                        string       // "boat" where the smallest sizes of boats hold; else "road" or empty
	Insulation                      unit.Celsius // temperature class of wires that state none
	Cable                           string       // which copper a size means: SAE, AWG or metric
	Span                            source.Span
}

// ColorPlan names the base colours that are kept for one purpose.
type ColorPlan struct{ Ground, Permanent []Name }

// Allowance is what a piece of wire is cut longer than its way. What is not set has a default, which is the matter of
// netlist/cut.
type Allowance struct {
	Plain, Sealed, HingeOut Quantity // at an end
	Rock                    Quantity // at a path that bends
	Lay, Twist              Quantity // shares of the length
	Round                   Quantity // the step to which a length is rounded up
}

// A System is a group of circuits that share schematic sheets.
type System struct{ Name, Title Name }

// A Body is metal of the vehicle that carries current: engine, body, frame.
type Body struct {
	Name, Title Name
	Poor        Flag
	Pin         PinID // the metal itself, as a point of the network
}

// A Zone is a region with one climate.
type Zone struct {
	Name, Title Name
	Ambient     Quantity
	Wet, Vapor  Flag
}

// A Place is a point of the vehicle where things sit or branches part.
type Place struct {
	Name, Title, ZoneName, RemovedWith Name
	Hole, ServiceLoop                  Quantity
	Zone                               *Zone
	Index                              int
}

// A Path joins two places; wires run along paths.
type Path struct {
	Name, Title, Cover, KnownFrom, ZoneName Name
	Ends                                    [2]Name
	From, To                                *Place
	Length, CoverRating                     Quantity
	Exhaust, Moving, FuelLine               Quantity // least distances
	Flex                                    Flag
	Zone                                    *Zone
}

// A Net is what somebody says about a named net.
type Net struct {
	Name, Title, Class, BitRate Name
	AlwaysLive                  Flag
}

// OwnerKind says what sort of thing owns terminals.
type OwnerKind uint8

// The sorts of owners.
const (
	PartOwner OwnerKind = iota + 1
	ConnectorOwner
	SpliceOwner
	PanelOwner
	BodyOwner
)

var ownerWords = [...]string{"", "part", "connector", "splice", "panel", "body"}

// String names the sort of owner.
func (k OwnerKind) String() string { return ownerWords[k] }

// An Owner is anything that has terminals. Exactly one of the pointers is set.
type Owner struct {
	Name      Name
	Sort      OwnerKind
	Pins      []PinID
	OpenPins  bool // takes any terminal name
	Joined    bool // all terminals are one piece of metal
	Part      *Part
	Connector *Connector
	Splice    *Splice
	Panel     *Panel
	Body      *Body

	netlist *Netlist
	byName  map[string]PinID
}

// Pin returns the terminal of a name. An owner with one piece of metal answers to the empty name too.
func (o *Owner) Pin(name string) (PinID, bool) {
	if o.byName != nil {
		id, ok := o.byName[name]
		return id, ok
	}
	for _, id := range o.Pins {
		if o.netlist.Pins[id].Name == name {
			return id, true
		}
	}
	return NoPin, false
}

// Title returns the title of what owns the terminals, or an empty text.
func (o *Owner) Title() string {
	switch o.Sort {
	case PartOwner:
		return o.Part.Title.Text
	case ConnectorOwner:
		return o.Connector.Title.Text
	case SpliceOwner:
		return o.Splice.Title.Text
	case PanelOwner:
		return o.Panel.Title.Text
	}
	return o.Body.Title.Text
}

// Place returns where the owner is, or nil. A part in a panel is where the panel is; a plug is where its part is.
func (o *Owner) Place() *Place {
	switch o.Sort {
	case PartOwner:
		if o.Part.Place == nil && o.Part.Panel != nil {
			return o.Part.Panel.Place
		}
		return o.Part.Place
	case ConnectorOwner:
		if c := o.Connector; c.Place == nil && c.Part != nil {
			return c.Part.Owner.Place()
		} else if c.Place == nil && c.Mate != nil {
			return c.Mate.Place
		}
		return o.Connector.Place
	case SpliceOwner:
		return o.Splice.Place
	case PanelOwner:
		return o.Panel.Place
	}
	return nil
}

// Device returns the part that the terminals belong to: the part itself, or the part whose plug the connector is; nil
// for in-line connectors, splices, panels and bodies.
func (o *Owner) Device() *Part {
	if o.Sort == ConnectorOwner {
		return o.Connector.Part
	}
	return o.Part
}

// PinID numbers the terminals of a netlist from 0 without gaps.
type PinID int32

// NoPin is the ID of no terminal.
const NoPin PinID = -1

// A Pin is one terminal: of a part, a cavity of a connector, a side of a splice, a terminal of a panel.
type Pin struct {
	ID     PinID
	Owner  *Owner
	Name   string
	Span   source.Span // where it is declared; for terminals that the kind brings, the designator
	Role   catalog.Role
	Does   Name
	Net    Name
	Limit  Quantity
	Load   Quantity
	Clamp  Name
	Expect Name

	Resistance, LeastLoad, ClampVolts Quantity // of an output
	PullUp, Highest                   Quantity // of an input
	Drives, Cylinder, Side, Polarity  Name
	Pulsed, Parallel, OpenCollector   Flag
	TerminalName                      Name
	Terminal                          *Terminal // what is crimped on: as stated here, for the connector, the part, or the other half of a pair; nil when nothing is stated
	DoubleCrimp, Plugged              Flag

	Required Flag
	Unused   Flag
	Spare    Flag
	Optional bool // the kind says that it may stay unwired
	Declared bool // the file says something about it
}

// String writes the terminal as the language does: "K1:30"; a splice whose side is not named is written alone.
func (p *Pin) String() string {
	if p.Name == "" {
		return p.Owner.Name.Text
	}
	return p.Owner.Name.Text + ":" + p.Name
}

// OnPurpose reports whether the terminal is marked as left empty.
func (p *Pin) OnPurpose() bool { return p.Unused.On || p.Spare.On }

// A PinRef is a terminal as somebody wrote it. ID is NoPin when the name led nowhere (a diagnostic says so).
type PinRef struct {
	Text string
	Span source.Span
	ID   PinID
}

// IsSet reports whether the reference was written.
func (r PinRef) IsSet() bool { return !r.Span.IsZero() }

// A Part is a device of the vehicle.
type Part struct {
	Owner                                     *Owner
	Name, KindName, StockName, Title          Name
	SystemName, PlaceName, PanelName, BodyRef Name // system, at, in, case
	GroundBody                                Name // body of a ground point
	Note, KnownFrom                           Name
	Function, Side, TerminalName              Name
	NeededIn                                  []Name
	WorksFrom, AfterRun                       Quantity
	Spare, Supplied, Essential, WorksOff      Flag
	CutOut, IsolatedGrounds, Sealed           Flag
	IgnitionProtected, StaysPlugged           Flag
	Size                                      Outline // in its panel
	Values                                    []Value // values by kind: rating, load, ...
	Inside                                    Inside

	Kind   *catalog.Kind // never nil after resolving: "device" stands in for an unknown kind
	System *System
	Place  *Place
	Panel  *Panel
	Body   *Body // of `case` or, for a ground point, of `body`
	Plugs  []*Connector

	pinNames  []Name
	pinsGiven bool
	pinTable  []*pinEntry
	written   writtenInside
}

// A Value is one kind-specific value of a part: a quantity, a word or a load.
type Value struct {
	Key      string
	Quantity Quantity
	Word     Name
	Load     LoadSpec
}

// Value returns the value of a key, or nil.
func (p *Part) Value(key string) *Value {
	for i := range p.Values {
		if p.Values[i].Key == key {
			return &p.Values[i]
		}
	}
	return nil
}

// LoadSpec says how much something uses. Run is a power, a current or a resistance.
type LoadSpec struct {
	Run, Inrush, InrushTime, Stall, Duty, OnTime Quantity
	Span                                         source.Span
}

// Inside says what is joined to what within a part.
type Inside struct {
	Joins     [][]PinID
	Protects  []Pair
	Open      []Pair // contacts that join when the coil pulls or the button is pressed
	Closed    []Pair // contacts that part then
	Coils     []Pair
	Diodes    []Pair // A is the anode
	Resistors []Resistor
	Loads     []Load
	Sources   []Source
	Positions []Position
	Rest      int // index in Positions of the rest position
}

// A Pair is two terminals.
type Pair struct{ A, B PinID }

// A Resistor is a fixed resistance inside a part.
type Resistor struct {
	Pair
	Ohms Quantity
}

// A Load is something that uses current between two terminals.
type Load struct {
	Pair
	Spec     LoadSpec
	Title    Name
	Function Name   // of the load itself, or of its part
	Side     Name   // likewise
	WorksOff Flag   // likewise
	NeededIn []Name // states in which it must be supplied, beside those of the part
}

// A Source delivers current from terminal Plus, back to Minus. Limit is the current that it cannot exceed, if it has one.
type Source struct {
	Plus, Minus       PinID
	Limit             Quantity
	Volts, Resistance Quantity // that it holds, and its inner resistance; not set where the kind or another key says
	From              Pair     // of a converter: the terminals that it is fed at, plus first; NoPin for none
	Efficiency        Quantity // of a converter: the share of the power taken that it gives
}

// Converts reports whether the source is fed by others and gives nothing without them.
func (s *Source) Converts() bool { return s.From.A != s.From.B }

// A Position of a switch joins groups of terminals.
type Position struct {
	Name  Name
	Joins [][]PinID
}

// A Connector is a housing with cavities: a plug of a part, or one half of an in-line pair.
type Connector struct {
	Owner                            *Owner
	Name, Title, OfName, MateName    Name
	View, Latch, Contacts, PlaceName Name
	Shell                            Name // of the housing, "rectangular" or "round"; rectangular when not set
	Note, Family, Key, TerminalName  Name
	KnownFrom                        Name
	ContactResistance                Quantity // of one mated contact with its crimps
	Lock                             Name     // what holds its terminals besides their own lance, bought apart
	Sealed                           Flag
	ServiceLoop                      Quantity
	Rows                             [][]string // cavities as they lie in the housing, "" where there is none; nil when not stated
	Part                             *Part
	Mate                             *Connector
	Place                            *Place
	cavities, spare, plugged         []Name
	grid                             []Name
	cavityCount                      int
	cavitySpan, gridSpan             source.Span
	pinTable                         []*pinEntry
}

// A Splice joins wires for good.
type Splice struct {
	Owner                  *Owner
	Name, Title, PlaceName Name
	Barrel                 unit.Size // the largest sum of conductors that the barrel takes
	BarrelSpan             source.Span
	KnownFrom              Name
	ContactResistance      Quantity // of the crimp of one leg
	Sealed, Spare          Flag
	Place                  *Place
	TowardName             Name
	Toward                 *Place   // the place next to Place, into the path to which the splice is laid
	Along                  *Path    // that path; nil where the file does not say, or there is none
	Distance               Quantity // from Place along Along
}

// Lies says how far from its place along which path a splice lies; false where the file does not say.
func (s *Splice) Lies() (metres float64, ok bool) {
	if s.Along == nil || !s.Distance.IsSet() {
		return 0, false
	}
	return s.Distance.Value, true
}

// A Panel is a fuse box or a carrier: parts sit in it, and it has terminals of its own.
type Panel struct {
	Owner                  *Owner
	Name, Title, PlaceName Name
	Sealed                 Flag
	Place                  *Place
	Inside                 Outline   // the clear space
	Lid                    Outline   // of the card for the inside of the lid
	Rows                   [][]*Part // as seen with the lid open; nil for an empty position; empty when not stated
	Positions              int       // sockets for fuses and relays; 0 when not stated
	PositionsSpan          source.Span
	terminals, grid        []Name
}

// A Link is a bus bar or a factory jumper: a conductor that is not cut from a reel.
type Link struct {
	Name, Title, PanelName, Rail Name
	Joins                        []PinRef
	Panel                        *Panel
}

// A Wire is one piece of wire between two terminals.
type Wire struct {
	Name               Name
	From, To           PinRef
	Size               unit.Size
	SizeSpan           source.Span
	Color              unit.Color
	ColorText          Name // as written, also when it is no colour
	Net                Name
	Length             Quantity
	Insulation         Quantity
	SystemName         Name
	Note               Name
	KnownFrom          Name
	Metal              Name // "" is copper
	Strands            int  // 0 when not given
	Slack              Quantity
	Supplied, Sheathed Flag
	Span               source.Span // the whole line
	System             *System     // as written; nil when the wire leaves it to its ends
	Cable              *Cable
	Index              int
}

// Wired reports whether both ends of the wire are known.
func (w *Wire) Wired() bool { return w.From.ID != NoPin && w.To.ID != NoPin }

// A Cable is a group of wires that belong together: twisted, screened or in one jacket.
type Cable struct {
	Name, Title, Kind Name
	WireNames         []Name
	Screen            []PinRef
	Wires             []*Wire
}

// A State is a key position: where the switches stand and what the controller drives.
type State struct {
	Name, Title Name
	Switches    []Setting
	Driven      []PinRef
	Pulled      []PinRef // half bridges that join to ground
	Charging    Flag
	Engine      Name
}

// A Setting puts one switch in one position.
type Setting struct {
	PartName, PositionName Name
	Part                   *Part
	Position               int
}

// RuleSeverity is one line of [rules]: the severity of a rule, its settings, or both.
type RuleSeverity struct {
	Rule, Severity Name
	Settings       []RuleSetting
}

// A RuleSetting is a threshold that a harness sets for a rule. What it may be is the rule's matter.
type RuleSetting struct {
	Key   Name
	Value Name // as written
}

// A Terminal is what is crimped on a wire's end, as its data sheet describes it.
type Terminal struct {
	Name, Title, Plating, KnownFrom Name
	Wire                            [2]unit.Size // thinnest and thickest conductor
	WireSpan                        source.Span
	Seal                            [2]Quantity // thinnest and thickest insulation; not set where it takes no seal
	Rating, Strip                   Quantity
	ContactResistance               Quantity // of one mated contact with its crimp, or of a ring on its stud
}

// IsRing reports whether the terminal goes under a screw, by its name: several rings lie on one screw. Nil is none.
func (t *Terminal) IsRing() bool {
	if t == nil {
		return false
	}
	words := strings.FieldsFunc(strings.ToLower(t.Name.Text+" "+t.Title.Text), func(r rune) bool { return !unicode.IsLetter(r) })
	return slices.Contains(words, "ring") || slices.Contains(words, "lug")
}

// An Accept is a finding that somebody has looked at.
type Accept struct {
	Rule, At, Because, Until Name
	Span                     source.Span
}

// PinName returns the name of a terminal as the owner knows it: its own by name alone, those of plugs as "XA:1".
func (o *Owner) PinName(id PinID) string {
	if p := o.netlist.Pin(id); p.Owner != o {
		return p.String()
	}
	return o.netlist.Pin(id).Name
}
