package command

import (
	"fmt"
	"slices"

	"ferrule/netlist/circuit/study"
	"ferrule/netlist/model"
)

var traceCommand = &command{
	name: "trace", takes: "FILE PIN [PIN]", least: 1, most: 3,
	title: "the chain from the source over a terminal to ground, hop by hop",
	doc: `Shows each wire with its size, colour and length, each cavity, fuse, contact and consumer on the way from the source to a
terminal and on to ground, with the volts (against battery minus) and amperes of a state; with two terminals, the way
between them. Without --state the first state counts in which the terminal is live and carries current.

Exit code: 0 done, 1 no way leads there, 2 unusable input.`,
	flags:   []*option{flagState, flagStudyFormat},
	example: []string{"ferrule trace truck.toml M1:1", "ferrule trace truck.toml M1:1 F3:2 --state run"},
}

func init() { traceCommand.run = runTrace }

func runTrace(inv *invocation) (int, error) {
	if len(inv.files) < 2 {
		return exitUnusable, &usageError{"ferrule trace needs a terminal", "write it behind the file: ferrule trace truck.toml M1:1"}
	}
	h, s, state, err := inv.studiedIn()
	if err != nil {
		return exitUnusable, err
	}
	var pins []model.PinID
	for _, name := range inv.files[1:] {
		pin, err := h.pin(name)
		if err != nil {
			return exitUnusable, err
		}
		pins = append(pins, pin)
	}
	var chains []study.Chain
	if len(pins) == 1 {
		chains = s.Trace(pins[0], state)
	} else {
		chains = s.Between(pins[0], pins[1], state)
	}
	code := exitClean
	if len(chains) == 0 {
		code = exitFindings
	}
	if inv.value(flagStudyFormat) != "text" {
		return code, inv.printData(chainTable(chains, false), chainObjects(chains), s)
	}
	if len(chains) == 0 {
		fmt.Fprintln(inv.out, "no way leads there, not even over open contacts")
	}
	for i := range chains {
		fmt.Fprintf(inv.out, "From %s to %s, in state %s\n", chains[i].From, chains[i].To, chains[i].State)
		chainTable(chains[i:i+1], true).print(inv.out)
		fmt.Fprintln(inv.out)
	}
	if slices.ContainsFunc(chains, func(c study.Chain) bool { return c.Against }) {
		fmt.Fprintln(inv.out, "positive ground: the live pole is the minus, so current flows from the body towards it, against these chains")
	}
	inv.printFoot(s)
	return code, nil
}

// pin finds a terminal, or says what was probably meant.
func (h *harness) pin(name string) (model.PinID, error) {
	if pin, ok := h.netlist.FindPin(name); ok {
		return pin, nil
	}
	var known []string
	for i := range h.netlist.Pins {
		known = append(known, h.netlist.Pins[i].String())
	}
	return model.NoPin, unknownWord("terminal", name, known, "write it as DESIGNATOR:PIN, such as K1:30")
}

// studiedIn reads the harness for a study, and which of its states is asked for; empty for all.
func (inv *invocation) studiedIn() (*harness, *study.Study, string, error) {
	h, s, err := inv.studied()
	if err != nil {
		return nil, nil, "", err
	}
	state, err := inv.stateOf(s)
	return h, s, state, err
}

// stateOf returns the state that was asked for, "" for none.
func (inv *invocation) stateOf(s *study.Study) (string, error) {
	state := inv.value(flagState)
	if state != "" && !slices.Contains(s.StateNames(), state) {
		return "", unknownWord("state", state, s.StateNames(), "the file declares its states as [state.NAME]")
	}
	return state, nil
}

func chainTable(chains []study.Chain, text bool) *table {
	t := &table{columns: []string{"chain", "state", "over", "amps", "terminal", "volts", "net"}}
	if text {
		t.columns = t.columns[2:]
	}
	for i := range chains {
		c := &chains[i]
		for _, step := range c.Steps {
			over := step.Over
			if step.Open {
				over += " (open)"
			}
			row := []string{over, amps(step.Amps, step.Assumed), step.Pin, volts(step.Volts, false), step.Net}
			if !text {
				row = []string{c.Title, c.State, over, plain(step.Amps), step.Pin, plain(step.Volts), step.Net}
			}
			t.add(row...)
		}
	}
	return t
}

type chainObject struct {
	Title   string       `json:"title"`
	From    string       `json:"from"`
	To      string       `json:"to"`
	Against bool         `json:"current_flows_against_it"`
	State   string       `json:"state"`
	Settled bool         `json:"settled"`
	Steps   []stepObject `json:"steps"`
}

type stepObject struct {
	Over    string   `json:"over,omitempty"`
	Wire    string   `json:"wire,omitempty"`
	Open    bool     `json:"open,omitempty"`
	Amps    *float64 `json:"amps"`
	Pin     string   `json:"terminal"`
	Net     string   `json:"net,omitempty"`
	Volts   *float64 `json:"volts"`
	Assumed bool     `json:"assumed"`
}

func chainObjects(chains []study.Chain) []chainObject {
	out := make([]chainObject, 0, len(chains))
	for i := range chains {
		c := &chains[i]
		o := chainObject{Title: c.Title, From: c.From, To: c.To, Against: c.Against, State: c.State, Settled: c.Settled, Steps: []stepObject{}}
		for _, step := range c.Steps {
			o.Steps = append(o.Steps, stepObject{step.Over, step.Wire, step.Open, number(step.Amps), step.Pin, step.Net, number(step.Volts), step.Assumed})
		}
		out = append(out, o)
	}
	return out
}
