package command

import (
	"encoding/json"
	"slices"

	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

var solveCommand = &command{
	name: "solve", takes: "FILE", least: 1, most: 1,
	title: "what flows where, in every state of the file",
	doc: `Solves the harness as a network in each of its states. Shows every consumer with its volts and amperes and what it loses on
the way against its budget, every fuse and wire with its share of what it may carry, and whether battery and generator
keep up; contacts of relays and switches against their rating, outputs of modules against their limit, the leads of
generators and the ground cables of batteries. Worst first. Volts in json and csv are against the minus of the battery,
amperes of wires from their first end to their second. A number with ~ rests on a guess or an assumption.

With --derived, each state is solved again with every switch in turn in every other position, the engine turning or
standing, and each motor that generates turned by others; what passes its limit only there is listed.

Json holds a list of states, also of one that was asked for with --state. Each has state, pins (volts), wires (amps,
drop_volts, power_watts ...), loads, fuses, contacts, outputs, sources and balance. Wires and fuses go by their name.

Exit code: 0 solved, 1 solved and something passes its limit (the loop of a consumer, a contact, an output, the lead of a
generator, the ground of a battery), relays chatter or something had to be left out, 2 unusable input.`,
	flags:   []*option{flagState, flagDerived, flagSolveFormat},
	example: []string{"ferrule solve truck.toml", "ferrule solve truck.toml --state run", "ferrule solve truck.toml --format json"},
}

var flagSolveFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "json", "csv"}, initial: "text",
	doc: "how the result is written: text is for people and shows the worst, json and csv hold everything"}

var flagDerived = &option{name: "derived", doc: "look at the circumstances beyond the states too: switches, engine and motors, one changed at a time"}

func init() { solveCommand.run = runSolve }

func runSolve(inv *invocation) (int, error) {
	h, err := inv.load(inv.files[0])
	if err != nil {
		return exitUnusable, err
	}
	h.nameAsGiven()
	if h.unruled {
		return exitUnusable, &inputError{h.name + ": part of the text cannot be read, so nothing can be said of its circuits", "run `ferrule check " + h.name + "` and repair the text first"}
	}
	conditions, err := inv.conditionsOf(h)
	if err != nil {
		return exitUnusable, err
	}
	c := circuit.New(h.graph, route.New(h.netlist))
	reports := make([]*circuit.Report, len(conditions))
	code := codeOfCircuit(c)
	if inv.tellRefused(h) {
		code = exitFindings
	}
	for i, cond := range conditions {
		reports[i] = c.Report(cond, circuit.Options{})
		if reports[i].Solution.Err != nil {
			return exitUnusable, reports[i].Solution.Err
		}
		code = max(code, codeOfReport(reports[i]))
	}
	var derived *circuit.Circumstances
	if _, wanted := inv.values[flagDerived]; wanted {
		if derived = c.Circumstances(conditions, reports); passesLimit(derived) {
			code = exitFindings
		}
	}
	switch inv.value(flagSolveFormat) {
	case "json":
		err = inv.solveJSON(c, reports, derived)
	case "csv":
		err = solveTable(c, reports, derived).csv(inv.out)
	default:
		inv.solveText(c, reports, derived)
	}
	return code, err
}

// codeOfCircuit is the exit code for what no state changes.
func codeOfCircuit(c *circuit.Circuit) int {
	grounds := c.GroundCables()
	if len(c.Missing) > 0 || slices.ContainsFunc(grounds, func(g circuit.GroundReport) bool { return g.Thin() != "" }) {
		return exitFindings
	}
	return exitClean
}

func codeOfReport(r *circuit.Report) int {
	over := !r.Solution.Settled ||
		slices.ContainsFunc(r.Loads, func(l circuit.LoadReport) bool { return l.Verdict == circuit.AboveLimit }) ||
		slices.ContainsFunc(r.Contacts, func(k circuit.ContactReport) bool { return k.Over() }) ||
		slices.ContainsFunc(r.Outputs, func(o circuit.OutputReport) bool { return o.Over() }) ||
		slices.ContainsFunc(r.Leads, func(l circuit.LeadReport) bool { return l.Verdict == circuit.AboveLimit })
	if over {
		return exitFindings
	}
	return exitClean
}

// conditionsOf returns the states that were asked for.
func (inv *invocation) conditionsOf(h *harness) ([]*graph.Condition, error) {
	all := h.graph.Conditions()
	name, given := inv.values[flagState]
	if !given {
		return all, nil
	}
	var names []string
	for _, c := range all {
		if c.Name() == name {
			return []*graph.Condition{c}, nil
		}
		names = append(names, c.Name())
	}
	return nil, unknownWord("state", name, names, "the file has: "+joined(names))
}

func (inv *invocation) solveJSON(c *circuit.Circuit, reports []*circuit.Report, derived *circuit.Circumstances) error {
	frame := solvedFrame{States: []*solvedObject{}, Missing: missingObjects(c), Assumed: assumedObjects(c), Grounds: groundObjects(c), Derived: derivedObjectOf(derived), Note: aidsNote}
	for _, r := range reports {
		frame.States = append(frame.States, solvedObjectOf(c, r))
	}
	encoder := json.NewEncoder(inv.out)
	encoder.SetIndent("", "  ")
	encoder.SetEscapeHTML(false)
	return encoder.Encode(&frame)
}

func missingObjects(c *circuit.Circuit) []missingObject {
	out := []missingObject{}
	for _, m := range c.Missing {
		o := missingObject{Ref: m.Ref, What: m.What, Add: m.Add}
		if f := m.At.Span.File; f != nil {
			o.File, o.Line = f.Name, m.At.Span.Begin().Line
		}
		out = append(out, o)
	}
	return out
}
