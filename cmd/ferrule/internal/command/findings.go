package command

import (
	"ferrule/netlist/diag"
	"ferrule/rules"
	"ferrule/rules/report"
)

// printFindings writes findings to standard output in the format that was asked for.
func (inv *invocation) printFindings(findings diag.List) error {
	switch inv.value(flagFindingsFormat) {
	case "lines":
		return report.Lines(inv.out, findings)
	case "json":
		return report.JSON(inv.out, findings)
	case "sarif":
		return report.SARIF(inv.out, findings, rules.All())
	}
	return report.Text(inv.out, findings, report.Options{Color: inv.colored()})
}

// printMistakes writes findings to standard error, for a command that could not do its work because of them.
func (inv *invocation) printMistakes(findings diag.List) error {
	return report.Text(inv.err, findings, report.Options{})
}

// summaryOf counts findings in words: "2 errors, 1 warning", or "clean".
func summaryOf(findings diag.List) string {
	if len(findings) == 0 {
		return "clean"
	}
	return report.Summary(findings)
}
