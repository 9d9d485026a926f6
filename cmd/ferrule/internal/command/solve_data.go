package command

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/circuit"
	"ferrule/netlist/model"
)

// solvedFrame is what stands around the states in JSON.
type solvedFrame struct {
	States  []*solvedObject `json:"states"`
	Derived *derivedObject  `json:"derived,omitempty"`
	Grounds []*groundObject `json:"grounds"`
	Missing []missingObject `json:"missing"`
	Assumed []solvedAssumed `json:"assumed"`
	Note    string          `json:"note"`
}

// solvedObject is one solved state. Pins, wires and fuses go by their designators.
type solvedObject struct {
	State        string                 `json:"state"`
	Title        string                 `json:"title"`
	Settled      bool                   `json:"settled"`
	Chattering   []string               `json:"chattering"`
	Racing       []string               `json:"racing"`
	ResidualAmps *float64               `json:"residual_amps"`
	Condition    *float64               `json:"condition"`
	Floating     []string               `json:"floating"`
	Pins         map[string]*float64    `json:"pins"`
	Wires        map[string]*wireObject `json:"wires"`
	Loads        []*loadObject          `json:"loads"`
	Fuses        map[string]*fuseObject `json:"fuses"`
	Contacts     []*contactObject       `json:"contacts"`
	Outputs      []*outputObject        `json:"outputs"`
	Sources      []*sourceObject        `json:"sources"`
	Leads        []*leadObject          `json:"generator_leads"`
	Notes        []string               `json:"notes"`
	Balance      map[string]*float64    `json:"balance"`
}

type wireObject struct {
	Amps          *float64 `json:"amps"`
	MeanAmps      *float64 `json:"mean_amps"`
	RMSAmps       *float64 `json:"rms_amps"`
	DropVolts     *float64 `json:"drop_volts"`
	PowerWatts    *float64 `json:"power_watts"`
	AmpacityAmps  *float64 `json:"ampacity_amps"`
	AmpacityShare *float64 `json:"ampacity_share"`
	LoadedWires   int      `json:"loaded_wires"`
	AmbientC      *float64 `json:"ambient_celsius"`
	ConductorC    *float64 `json:"conductor_celsius"`
	Brief         bool     `json:"brief"`
	Guessed       bool     `json:"guessed"`
	ContactVolts  *float64 `json:"contact_volts"` // of drop_volts, on estimated connections
	AmbientTaken  bool     `json:"ambient_assumed"`
}

type loadObject struct {
	Ref         string   `json:"ref"`
	Title       string   `json:"title"`
	Volts       *float64 `json:"volts"`
	Amps        *float64 `json:"amps"`
	MeanAmps    *float64 `json:"mean_amps"`
	PowerWatts  *float64 `json:"power_watts"`
	LoopVolts   *float64 `json:"loop_drop_volts"`
	OwnVolts    *float64 `json:"branch_drop_volts"`
	FeederVolts *float64 `json:"feeder_drop_volts"`
	InsideVolts *float64 `json:"inside_drop_volts"`
	Budget      string   `json:"budget"`
	TargetVolts *float64 `json:"target_volts"`
	LimitVolts  *float64 `json:"limit_volts"`
	Verdict     string   `json:"verdict"`
	Guessed     bool     `json:"guessed"`

	ContactVolts *float64 `json:"contact_volts"` // of loop_drop_volts, on estimated contacts and joints
	GuessedWire  bool     `json:"guessed_wire"`  // a wire of the loop is a guess
}

type fuseObject struct {
	Amps           *float64 `json:"amps"`
	MeanAmps       *float64 `json:"mean_amps"`
	RMSAmps        *float64 `json:"rms_amps"`
	RatingAmps     *float64 `json:"rating_amps"`
	RatingShare    *float64 `json:"rating_share"`
	ContinuousAmps *float64 `json:"continuous_amps"`
	DropVolts      *float64 `json:"drop_volts"`
	AmbientTaken   bool     `json:"ambient_assumed"`
}

type sourceObject struct {
	Ref       string   `json:"ref"`
	Terminal  string   `json:"terminal"`
	Volts     *float64 `json:"volts"`
	Amps      *float64 `json:"amps"`
	MeanAmps  *float64 `json:"mean_amps"`
	LimitAmps *float64 `json:"limit_amps"`
}

func solvedObjectOf(c *circuit.Circuit, r *circuit.Report) *solvedObject {
	s := r.Solution
	o := &solvedObject{State: s.State, Title: r.Title, Settled: s.Settled, Chattering: partNames(s.Cycle), Racing: partNames(s.Race),
		ResidualAmps: number(s.Residual), Condition: number(s.Cond), Floating: []string{}, Pins: map[string]*float64{},
		Wires: map[string]*wireObject{}, Loads: []*loadObject{}, Fuses: map[string]*fuseObject{}, Sources: []*sourceObject{}}
	for _, pin := range s.Floating() {
		o.Floating = append(o.Floating, c.Netlist.Pin(pin).String())
	}
	for i := range c.Netlist.Pins {
		if pin := &c.Netlist.Pins[i]; c.Graph.Reached(pin.ID) {
			o.Pins[pin.String()] = number(tidy(s.Volts[i]))
		}
	}
	for i := range r.Wires {
		w := &r.Wires[i]
		o.Wires[w.Wire.Name.Text] = &wireObject{number(tidy(s.Amps[w.Branch])), number(tidy(w.Mean)), number(tidy(w.RMS)), number(tidy(s.BranchVolts(w.Branch))), number(tidy(w.Watts)),
			number(w.Ampacity), number(tidy(w.Share())), w.Loaded, number(float64(w.Ambient)), number(float64(w.Celsius)), w.Brief, w.Guessed,
			number(tidy(w.Estimated)), !w.AmbientKnown}
	}
	for i := range r.Loads {
		o.Loads = append(o.Loads, loadObjectOf(&r.Loads[i]))
	}
	for i := range r.Fuses {
		f := &r.Fuses[i]
		o.Fuses[f.Part.Name.Text] = &fuseObject{number(tidy(f.Amps)), number(tidy(f.Mean)), number(tidy(f.RMS)), stated(f.Rating), number(tidy(f.Share())), stated(f.Continuous), number(tidy(f.Volts)), f.Continuous > 0 && !f.AmbientKnown}
	}
	for _, source := range r.Sources {
		b := &c.Branches[source.Branch]
		o.Sources = append(o.Sources, &sourceObject{b.Part.Name.Text, c.Netlist.Pin(b.A).String(), number(source.Volts), number(tidy(source.Amps)), number(tidy(source.Mean)), stated(source.Limit)})
	}
	o.Contacts, o.Outputs, o.Leads, o.Notes = contactObjects(c, r), outputObjects(r), leadObjects(c, r), append([]string{}, r.Notes...)
	o.Balance = balanceObject(&r.Balance)
	return o
}

func loadObjectOf(l *circuit.LoadReport) *loadObject {
	o := &loadObject{Ref: l.Ref, Title: l.Title, Volts: number(tidy(l.Drop.Volts)), Amps: number(tidy(l.Amps)), MeanAmps: number(tidy(l.Mean)), PowerWatts: number(tidy(l.Watts)),
		Budget: l.Budget.Class, TargetVolts: stated(float64(l.Budget.Target)), LimitVolts: stated(float64(l.Budget.Limit)), Verdict: l.Verdict.String(), Guessed: l.Guessed}
	if l.Fed {
		o.LoopVolts, o.OwnVolts = number(tidy(l.Drop.Loop)), number(tidy(l.Drop.Own))
		o.ContactVolts, o.GuessedWire = number(tidy(l.Drop.Estimated)), l.Drop.Guessed
		o.FeederVolts, o.InsideVolts = number(tidy(l.Drop.Feeder())), number(tidy(l.Drop.Inside))
	}
	return o
}

func balanceObject(b *circuit.Balance) map[string]*float64 {
	o := map[string]*float64{"demand_amps": number(tidy(b.Demand)), "battery_amps": number(tidy(b.Battery)), "generator_amps": number(tidy(b.Generator)), "other_sources_amps": number(tidy(b.Others)),
		"hours_to_half": number(b.Hours), "days_of_rest": number(b.Days)}
	if b.IdleKnown {
		o["idle_demand_amps"], o["idle_output_amps"], o["idle_spare_amps"] = number(b.IdleDemand), number(b.IdleOutput), number(b.IdleSpare)
		o["idle_hours_to_half"] = number(b.IdleHours)
	}
	return o
}

// tidy takes what is rounding for nothing: less than a nanoampere or nanovolt means nothing in a vehicle, and differs from
// machine to machine.
func tidy(v float64) float64 {
	if math.Abs(v) < 1e-9 {
		return 0
	}
	return v
}

// stated is a number that is absent when it is 0.
func stated(v float64) *float64 {
	if v == 0 {
		return nil
	}
	return number(v)
}

func partNames(parts []*model.Part) []string {
	names := []string{}
	for _, p := range parts {
		names = append(names, p.Name.Text)
	}
	return names
}

func joined(names []string) string { return strings.Join(names, ", ") }

// solveTable holds everything in one table: what a row is stands in its second column.
func solveTable(c *circuit.Circuit, reports []*circuit.Report, derived *circuit.Circumstances) *table {
	t := &table{columns: []string{"state", "what", "ref", "title", "volts", "amps", "mean_amps", "rms_amps", "watts", "loop_drop_volts", "branch_drop_volts", "limit_volts", "limit_amps", "share", "verdict", "celsius", "guessed"}}
	for _, r := range reports {
		s := r.Solution
		for i := range c.Netlist.Pins {
			if pin := &c.Netlist.Pins[i]; c.Graph.Reached(pin.ID) {
				t.add(s.State, "pin", pin.String(), pin.Does.Text, solvedDigits(s.Volts[i]))
			}
		}
		for i := range r.Loads {
			l := &r.Loads[i]
			t.add(s.State, "load", l.Ref, l.Title, solvedDigits(l.Drop.Volts), solvedDigits(l.Amps), solvedDigits(l.Mean), "", solvedDigits(l.Watts), solvedDigits(l.Drop.Loop), solvedDigits(l.Drop.Own), solvedDigits(float64(l.Budget.Limit)), "", "", l.Verdict.String(), "", fmt.Sprint(l.Guessed))
		}
		for i := range r.Fuses {
			f := &r.Fuses[i]
			t.add(s.State, "fuse", f.Part.Name.Text, f.Part.Title.Text, solvedDigits(f.Volts), solvedDigits(f.Amps), solvedDigits(f.Mean), solvedDigits(f.RMS), "", "", "", "", solvedDigits(f.Rating), solvedDigits(f.Share()))
		}
		for i := range r.Wires {
			w := &r.Wires[i]
			t.add(s.State, "wire", w.Wire.Name.Text, "", solvedDigits(s.BranchVolts(w.Branch)), solvedDigits(s.Amps[w.Branch]), solvedDigits(w.Mean), solvedDigits(w.RMS), solvedDigits(w.Watts), "", "", "", solvedDigits(w.Ampacity), solvedDigits(w.Share()), "", solvedDigits(float64(w.Celsius)), fmt.Sprint(w.Guessed))
		}
		for _, source := range r.Sources {
			b := &c.Branches[source.Branch]
			t.add(s.State, "source", c.Netlist.Pin(b.A).String(), b.Part.Title.Text, solvedDigits(source.Volts), solvedDigits(source.Amps), solvedDigits(source.Mean), "", "", "", "", "", solvedDigits(source.Limit))
		}
		switchingRows(t, c, r)
	}
	if derived != nil {
		derivedTableRows(t, derived)
	}
	return t
}

// switchingRows adds contacts, outputs and the leads of generators.
func switchingRows(t *table, c *circuit.Circuit, r *circuit.Report) {
	state := r.Solution.State
	for i := range r.Contacts {
		k := &r.Contacts[i]
		t.add(state, "contact", c.Netlist.Pin(k.Terminal).String(), k.Part.Title.Text, "", solvedDigits(k.Amps), solvedDigits(k.Mean), solvedDigits(k.RMS), "", "", "", "", absent(k.Rating), absent(k.Share()), contactVerdict(k))
	}
	for i := range r.Outputs {
		o := &r.Outputs[i]
		t.add(state, "output", o.Pin.String(), o.Pin.Does.Text, solvedDigits(o.Volts), solvedDigits(o.Amps), solvedDigits(o.Mean), "", "", "", "", "", absent(o.Limit), "", outputVerdict(o))
	}
	for i := range r.Leads {
		l := &r.Leads[i]
		t.add(state, "generator_lead", c.Netlist.Pin(l.From).String(), l.Part.Title.Text, "", solvedDigits(l.Amps), "", "", "", solvedDigits(l.Volts), "", solvedDigits(l.Limit), "", solvedDigits(l.Volts/l.Limit), l.Verdict.String())
	}
}

// derivedTableRows adds what comes nearer to its limit in circumstances beyond the states; the state names the circumstance.
func derivedTableRows(t *table, d *circuit.Circumstances) {
	for i := range d.Excesses {
		e := &d.Excesses[i]
		row := []string{e.State + ", " + e.Circumstance, "derived_" + e.What, e.Ref, e.Title, "", solvedDigits(e.Amps), "", "", "", "", "", "", solvedDigits(e.Limit), solvedDigits(e.Share), ""}
		if e.What == "consumer" {
			row[11], row[12] = row[12], ""
		}
		if e.Over() {
			row[14] = "above limit"
		}
		t.add(row...)
	}
}

// absent writes a number that is absent when it is 0.
func absent(v float64) string {
	if v == 0 {
		return ""
	}
	return solvedDigits(v)
}

// solvedDigits writes a number for a table, nothing for one that is not known.
func solvedDigits(v float64) string {
	n := number(tidy(v))
	if n == nil {
		return ""
	}
	return fmt.Sprint(*n)
}
