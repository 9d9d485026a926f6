package operation

import (
	"ferrule/netlist/diag"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "long-after-run", Severity: diag.Warning, Harm: rules.Strands, Since: "0.2",
	Title: "a module stays awake long after the key is off",
	Doc: `A controller that holds its own main relay writes its memory and lets the idle valve settle: some seconds, then it lets go. One
that takes minutes looks like a fault to whoever waits for the click, is cut off with its memory open when the battery is
disconnected, and, where the fans run on with it, drains a battery that the engine has just been started from. The rule fires where
after-run of a part is longer than the setting allows.

Shorten it in the controller, or write down in an acceptance what it is for (fans that run on after a hot stop). A part that states no
after-run is silent: it may have none.`,
	Sources: []string{"common practice: an engine controller lets its main relay go within a minute"},
	Settings: []rules.Setting{{Key: "most", Dim: unit.Time, Default: 60,
		Doc: "how long a module may stay awake after the key is off (common practice)"}},
	Bad: `[part.A1]
kind = "module"
after-run = "300 s"
`,
	Good: `[part.A1]
kind = "module"
after-run = "20 s"
`,
	Run: func(p *rules.Pass) {
		most := p.Setting("most")
		lackAfterRun(p)
		for _, part := range p.Netlist.Parts {
			if run := part.AfterRun; run.IsSet() && run.Value > most && !part.Spare.On {
				d := p.Report(run.Span, []string{part.Name.Text}, "%s stays awake for %s after the key is off; %s at most",
					part.Name.Text, unit.Time.InUnit(run.Value), unit.Time.InUnit(most))
				d.Help = "shorten it in the module, or accept it with what it is for"
			}
		}
	},
})

// lackAfterRun names the controllers that hold a main relay and do not say for how long.
func lackAfterRun(p *rules.Pass) {
	outputs := mainOutputs(p)
	holds := map[*model.Part]bool{}
	for id := range outputs {
		holds[p.Netlist.Pin(id).Owner.Device()] = true
	}
	for _, part := range p.Netlist.Parts {
		if holds[part] && !part.AfterRun.IsSet() {
			p.Lacks("after-run of the controller", `add after-run = "10 s", how long it holds the main relay when the key is off`, part.Name.Span, part.Name.Text)
		}
	}
}
