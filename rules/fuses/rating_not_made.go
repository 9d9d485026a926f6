package fuses

import (
	"fmt"
	"slices"

	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "rating-not-made", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Title: "a fuse of a rating that its form is not made in",
	Doc: `In the vehicle there is no such fuse to be had, so somebody puts in what fits: the next larger one. Or there is one from a dubious
source, above what the clips of the holder carry, and the holder melts before the fuse does. Blades end at 40 A, mini blades at 30 A.

Take a rating of the family, or another family with its holder. The message names the neighbours.

Silent are breakers and fusible links, fuses that state no family, and families of which there is no table here; those are
listed by no-data.`,
	Sources: []string{
		"ISO 8820-3 types C and F, DIN 72581-3 type E (testdata/reference/fuse-colours.csv, a reprint)",
		"ISO 8820-5, bolt-in: ratings from memory",
	},
	Bad: made("12 A"), Good: made("15 A"),
	Run: func(p *rules.Pass) {
		for _, part := range p.Netlist.Parts {
			rating, span := ratingOf(part)
			if part.Kind.Name != "fuse" || rating <= 0 {
				continue
			}
			v := part.Value("family")
			if v == nil || !v.Word.IsSet() {
				p.Lacks("family of the fuse", `add family = "blade", "mini blade", "high-current blade" or "bolt-in"`, part.Name.Span, part.Name.Text)
				continue
			}
			family, known := fusecurve.ParseFamily(v.Word.Text)
			if !known {
				p.Lacks("family with a table of ratings and times", `there are tables of "blade", "mini blade", "high-current blade" and "bolt-in"; look this one up in its sheet`, v.Word.Span, part.Name.Text)
				continue
			}
			ratings := fusecurve.StandardRatings(family)
			if slices.ContainsFunc(ratings, func(r unit.Ampere) bool { return abs(r-rating) <= 1e-6*rating }) {
				continue
			}
			below, above := neighbours(ratings, rating)
			d := p.Report(span, []string{part.Name.Text}, "%s: no %s fuse is made of %s; %s", part.Name.Text, family, rating, besides(below, above))
			switch {
			case below > 0 && above > 0:
				d.Help = fmt.Sprintf("write rating = %q, or %q if the wires behind bear it", below.String(), above.String())
			case below > 0:
				d.Help = fmt.Sprintf("take another family with its holder, such as %q, or write rating = %q", larger(family), below.String())
			default:
				d.Help = fmt.Sprintf("write rating = %q", above.String())
			}
			d.Fixes = append(p.Rerate(part, below, false), p.Rerate(part, above, false)...) // nobody knows which was meant
		}
	},
})

func made(rating string) string {
	return `[part]
F1 = { kind = "fuse", rating = "` + rating + `", family = "blade", spare = true }
`
}

func abs(a unit.Ampere) unit.Ampere {
	if a < 0 {
		return -a
	}
	return a
}

// neighbours are the ratings next to one that is not made; 0 where there is none on that side.
func neighbours(ratings []unit.Ampere, rating unit.Ampere) (below, above unit.Ampere) {
	for _, r := range ratings {
		if r < rating {
			below = r
		} else if above == 0 {
			above = r
		}
	}
	return below, above
}

// besides says which ratings there are.
func besides(below, above unit.Ampere) string {
	switch {
	case below == 0:
		return fmt.Sprintf("the smallest is %s", above)
	case above == 0:
		return fmt.Sprintf("the largest is %s", below)
	}
	return fmt.Sprintf("there are %s and %s", below, above)
}

// larger is the family that goes on where another ends.
func larger(family fusecurve.Family) string {
	if family == fusecurve.MiniBlade {
		return fusecurve.Blade.String()
	}
	if family == fusecurve.Blade {
		return fusecurve.HighCurrentBlade.String()
	}
	return fusecurve.BoltIn.String()
}
