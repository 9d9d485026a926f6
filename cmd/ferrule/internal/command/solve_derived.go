package command

import (
	"fmt"

	"ferrule/netlist/circuit"
)

// derivedRows is how many lines the text shows of what derived circumstances bring beyond its limit.
const derivedRows = 20

// printDerived shows what passes a limit in a circumstance that no state describes.
func (inv *invocation) printDerived(d *circuit.Circumstances) {
	fmt.Fprintf(inv.out, "Beyond the states: each of them with every switch in turn in every other position, the engine turning or standing, each motor\nthat generates turned by others: %d circumstances\n", d.Count)
	for _, name := range d.Restless {
		fmt.Fprintf(inv.out, "  came to no rest and is left out: %s\n", name)
	}
	t := &table{columns: []string{"  passes its limit", "", "", "amps", "limit", "share", "in the states", "in"}}
	over := 0
	for i := range d.Excesses {
		e := &d.Excesses[i]
		if !e.Over() {
			continue
		}
		if over++; over > derivedRows {
			continue
		}
		limit := amps(e.Limit, false)
		if e.What == "consumer" {
			limit = volts(e.Limit, false) + " loop"
		}
		t.add("  "+e.What, e.Ref, clipped(e.Title, 36), amps(e.Amps, false), limit, percent(e.Share), percent(e.Declared), e.State+", "+e.Circumstance)
	}
	if over == 0 {
		fmt.Fprintln(inv.out, "  nothing passes a limit there that does not do so, or hardly less, in a state")
	} else {
		t.print(inv.out)
	}
	if over > derivedRows {
		fmt.Fprintf(inv.out, "  and %d more\n", over-derivedRows)
	}
	if less := len(d.Excesses) - over; less > 0 {
		fmt.Fprintf(inv.out, "  %d more come nearer to their limits than in any state (--format json lists them)\n", less)
	}
	fmt.Fprintln(inv.out)
}

// derivedObject is what derived circumstances show, as other programs read it.
type derivedObject struct {
	Count     int             `json:"circumstances"`
	Nearer    []*excessObject `json:"nearer_to_limits"`
	Unsettled []string        `json:"unsettled"`
}

type excessObject struct {
	What          string   `json:"what"`
	Ref           string   `json:"ref"`
	Title         string   `json:"title,omitempty"`
	State         string   `json:"state"`
	Circumstance  string   `json:"circumstance"`
	Amps          *float64 `json:"amps"`
	LimitAmps     *float64 `json:"limit_amps"`
	LimitVolts    *float64 `json:"limit_volts"`
	Share         *float64 `json:"share"`
	DeclaredShare *float64 `json:"share_in_states"`
	Brief         bool     `json:"brief"`
}

func derivedObjectOf(d *circuit.Circumstances) *derivedObject {
	if d == nil {
		return nil
	}
	out := &derivedObject{Count: d.Count, Nearer: []*excessObject{}, Unsettled: append([]string{}, d.Restless...)}
	for i := range d.Excesses {
		e := &d.Excesses[i]
		o := &excessObject{What: e.What, Ref: e.Ref, Title: e.Title, State: e.State, Circumstance: e.Circumstance, Amps: number(tidy(e.Amps)),
			Share: number(tidy(e.Share)), DeclaredShare: number(tidy(e.Declared)), Brief: e.Brief}
		if o.LimitAmps = number(e.Limit); e.What == "consumer" {
			o.LimitAmps, o.LimitVolts = nil, number(e.Limit)
		}
		out.Nearer = append(out.Nearer, o)
	}
	return out
}

// passesLimit reports whether a derived circumstance brings something beyond its limit.
func passesLimit(d *circuit.Circumstances) bool {
	if d == nil {
		return false
	}
	for i := range d.Excesses {
		if d.Excesses[i].Over() {
			return true
		}
	}
	return false
}
