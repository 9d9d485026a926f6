package circuit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"ferrule/netlist/graph"
)

// An Excess is something that comes nearer to its limit, or beyond it, in a circumstance that no state of the file describes.
type Excess struct {
	What         string // "consumer", "fuse", "wire", "contact", "output"
	Ref, Title   string
	State        string
	Circumstance string  // "S10 in position head"
	Amps         float64 // that flow there
	Limit        float64 // ampere; of a consumer volts, of its loop
	Share        float64 // of the limit
	Declared     float64 // the largest share in a declared state
	Brief        bool    // of a wire: it feeds a starter, and the ampacity does not judge it
}

// Over reports whether the limit is passed.
func (e *Excess) Over() bool { return e.Share > 1+1e-9 && !e.Brief }

// Circumstances is what the derived circumstances of all states show.
type Circumstances struct {
	Count    int
	Excesses []Excess // worst first; each thing once, in its worst circumstance
	Restless []string // circumstances that did not come to rest: "running, S1 in position off"
}

// muchMore is by how much a share has to grow over what the declared states show to be worth a line; chosen here.
const muchMore = 1.05

// Circumstances solves every derived circumstance of every condition and keeps what comes nearer to its limit than the declared
// states bring it, or beyond the limit for the first time. declared are the reports of the conditions, in their order.
func (c *Circuit) Circumstances(conditions []*graph.Condition, declared []*Report) *Circumstances {
	parts := make([]Circumstances, len(conditions))
	var group sync.WaitGroup
	for i, cond := range conditions {
		group.Go(func() { parts[i] = c.circumstancesOf(cond, declared[i]) })
	}
	group.Wait()
	out := &Circumstances{}
	k := keeper{before: declaredShares(declared), at: map[limited]int{}}
	for _, p := range parts {
		out.Count, out.Restless = out.Count+p.Count, append(out.Restless, p.Restless...)
		for _, e := range p.Excesses {
			k.keep(e)
		}
	}
	out.Excesses = k.kept
	slices.SortStableFunc(out.Excesses, nearer)
	return out
}

// limited names something that has a limit.
type limited struct{ what, ref string }

// declaredShares is the largest share of its limit that each thing has in the declared states.
func declaredShares(declared []*Report) map[limited]float64 {
	before := map[limited]float64{}
	for _, r := range declared {
		for _, e := range r.shares() {
			k := limited{e.What, e.Ref}
			before[k] = max(before[k], e.Share)
		}
	}
	return before
}

// A keeper keeps each thing in its worst circumstance.
type keeper struct {
	before map[limited]float64
	at     map[limited]int // index in kept
	kept   []Excess
}

func (k *keeper) keep(e Excess) {
	name := limited{e.What, e.Ref}
	if e.Declared = k.before[name]; e.Share <= e.Declared*muchMore {
		return
	}
	old, known := k.at[name]
	switch {
	case !known:
		k.at[name] = len(k.kept)
		k.kept = append(k.kept, e)
	case e.Share > k.kept[old].Share*(1+1e-6):
		k.kept[old] = e
	}
}

// nearer orders by the share of the limit, with what carries for seconds only behind. Shares within a millionth count as equal, so that
// rounding decides no order.
func nearer(a, b Excess) int {
	switch {
	case a.Brief != b.Brief && a.Brief:
		return 1
	case a.Brief != b.Brief:
		return -1
	case math.Abs(a.Share-b.Share) <= 1e-6*max(a.Share, b.Share):
		return 0
	}
	return cmp.Compare(b.Share, a.Share)
}

// circumstancesOf looks at those of one state.
func (c *Circuit) circumstancesOf(cond *graph.Condition, declared *Report) Circumstances {
	var out Circumstances
	for _, d := range c.Derived(cond, Options{From: declared.Solution}) {
		out.Count++
		r := c.Report(cond, d.Options)
		if !r.Solution.Settled {
			out.Restless = append(out.Restless, fmt.Sprintf("%s, %s", cond.Name(), d.Title))
			continue
		}
		for _, e := range r.shares() {
			e.State, e.Circumstance = cond.Name(), d.Title
			out.Excesses = append(out.Excesses, e)
		}
	}
	return out
}

// leastShare of a limit is less than rounding leaves of it.
const leastShare = 1e-6

// shares lists everything of a report that has a limit, as a share of it.
func (r *Report) shares() []Excess {
	var out []Excess
	add := func(e Excess) {
		if e.Share = ratio(e.Share, e.Limit); e.Share > leastShare {
			out = append(out, e)
		}
	}
	c := r.Solution.Circuit
	for i := range r.Loads {
		if l := &r.Loads[i]; l.Verdict != NotJudged {
			add(Excess{What: "consumer", Ref: l.Ref, Title: l.Title, Amps: math.Abs(l.Amps), Limit: float64(l.Budget.Limit), Share: l.Drop.Loop})
		}
	}
	for i := range r.Fuses {
		f := &r.Fuses[i]
		add(Excess{What: "fuse", Ref: f.Part.Name.Text, Title: f.Part.Title.Text, Amps: f.RMS, Limit: f.Continuous, Share: f.RMS})
	}
	for i := range r.Wires {
		w := &r.Wires[i]
		add(Excess{What: "wire", Ref: w.Wire.Name.Text, Amps: w.RMS, Limit: w.Ampacity, Share: w.RMS, Brief: w.Brief})
	}
	for i := range r.Contacts {
		k := &r.Contacts[i]
		add(Excess{What: "contact", Ref: k.Part.Name.Text, Title: k.Part.Title.Text, Amps: k.RMS, Limit: k.Rating, Share: k.RMS})
	}
	for i := range r.Outputs {
		o := &r.Outputs[i]
		add(Excess{What: "output", Ref: c.Netlist.Pin(o.Pin.ID).String(), Title: o.Pin.Does.Text, Amps: o.Amps, Limit: o.Limit, Share: o.Amps})
	}
	return out
}
