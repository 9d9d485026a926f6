package command

import "ferrule/netlist/diag"

// runCheck reads every file that it can, so that one name that is misspelt does not hide the findings of the others.
func runCheck(inv *invocation) (int, error) {
	threshold, _ := diag.ParseSeverity(inv.value(flagAtLeast))
	var findings diag.List
	var harnesses []*harness
	code := exitClean
	for _, name := range inv.files {
		h, err := inv.load(name)
		if err != nil {
			code = inv.finish(code, err)
			continue
		}
		h.nameAsGiven()
		harnesses = append(harnesses, h)
		findings = append(findings, h.findings.AtLeast(threshold)...)
	}
	findings.Sort()
	if err := inv.printFindings(findings); err != nil {
		return code, err
	}
	if err := inv.out.Flush(); err != nil {
		return max(code, codeOf(findings)), err
	}
	for _, h := range harnesses {
		inv.say("%s", h.summary())
	}
	return max(code, codeOf(findings)), nil
}

func codeOf(findings diag.List) int {
	if len(findings) > 0 {
		return exitFindings
	}
	return exitClean
}
