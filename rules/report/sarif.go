package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/source"
	"ferrule/rules"
)

// The types below are the part of SARIF 2.1.0 (OASIS Standard, 27 March 2020) that findings need. Section numbers are that
// standard's.

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool       sarifTool     `json:"tool"`
	ColumnKind string        `json:"columnKind"` // 3.14.17
	Results    []sarifResult `json:"results"`
}

type sarifTool struct {
	Driver sarifDriver `json:"driver"`
}

type sarifDriver struct {
	Name  string      `json:"name"`
	Rules []sarifRule `json:"rules"`
}

// sarifRule is a reportingDescriptor (3.49).
type sarifRule struct {
	ID            string      `json:"id"`
	Short         sarifText   `json:"shortDescription"`
	Full          sarifText   `json:"fullDescription"`
	Help          sarifText   `json:"help"`
	Configuration sarifConfig `json:"defaultConfiguration"`
	Properties    sarifTags   `json:"properties"`
}

// sarifTags is a property bag with tags (3.8.2): what the mistake does when it is left.
type sarifTags struct {
	Tags []string `json:"tags"`
}

type sarifText struct {
	Text string `json:"text"`
}

type sarifConfig struct {
	Level string `json:"level"`
}

// sarifResult is a result (3.27). A finding of the language itself has no rule in the list, so its index is left out.
type sarifResult struct {
	RuleID    string          `json:"ruleId"`
	RuleIndex *int            `json:"ruleIndex,omitempty"`
	Level     string          `json:"level"`
	Message   sarifText       `json:"message"`
	Locations []sarifLocation `json:"locations"`
	Related   []sarifLocation `json:"relatedLocations,omitempty"`
	Fixes     []sarifFix      `json:"fixes,omitempty"`
}

// sarifFix is a fix (3.55): changes of artifacts that belong together.
type sarifFix struct {
	Description sarifText     `json:"description"`
	Changes     []sarifChange `json:"artifactChanges"`
}

type sarifChange struct {
	Artifact     sarifArtifact      `json:"artifactLocation"`
	Replacements []sarifReplacement `json:"replacements"`
}

// sarifReplacement is a replacement (3.57). An insertion deletes an empty region.
type sarifReplacement struct {
	Deleted  sarifRegion `json:"deletedRegion"`
	Inserted *sarifText  `json:"insertedContent,omitempty"`
}

type sarifLocation struct {
	ID       int            `json:"id,omitempty"`
	Physical *sarifPhysical `json:"physicalLocation,omitempty"`
	Message  *sarifText     `json:"message,omitempty"`
}

type sarifPhysical struct {
	Artifact sarifArtifact `json:"artifactLocation"`
	Region   sarifRegion   `json:"region"`
}

type sarifArtifact struct {
	URI string `json:"uri"`
}

// sarifRegion is a region (3.30): lines and columns from 1, the end column just after the last character.
type sarifRegion struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn"`
	EndLine     int `json:"endLine"`
	EndColumn   int `json:"endColumn"`
}

const sarifSchema = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"

// SARIF writes the findings as a log of SARIF 2.1.0 with one run. The rules are described with their own documentation;
// columns count code points.
func SARIF(w io.Writer, list diag.List, all []*rules.Rule) error {
	run := sarifRun{Tool: sarifTool{sarifDriver{Name: "ferrule", Rules: make([]sarifRule, len(all))}}, ColumnKind: "unicodeCodePoints", Results: make([]sarifResult, len(list))}
	index := map[string]int{}
	for i, r := range all {
		index[r.Name] = i
		run.Tool.Driver.Rules[i] = describe(r)
	}
	for i, d := range list {
		run.Results[i] = result(d)
		if at, known := index[d.Rule]; known {
			run.Results[i].RuleIndex = &at
		}
	}
	return encode(w, sarifLog{Schema: sarifSchema, Version: "2.1.0", Runs: []sarifRun{run}})
}

func describe(r *rules.Rule) sarifRule {
	return sarifRule{
		ID: r.Name, Short: sarifText{r.Title}, Full: sarifText{strings.SplitN(r.Doc, "\n\n", 2)[0]},
		Help:          sarifText{r.Doc + "\n\nSources: " + strings.Join(r.Sources, "; ")},
		Configuration: sarifConfig{r.Severity.String()}, // the words are those of SARIF (3.50.3)
		Properties:    sarifTags{[]string{r.Harm.String()}},
	}
}

func result(d diag.Diagnostic) sarifResult {
	r := sarifResult{RuleID: d.Rule, Level: d.Severity.String(), Message: sarifText{d.Message}, Locations: []sarifLocation{}}
	if d.Help != "" {
		r.Message.Text += "; " + d.Help
	}
	if !d.Span.IsZero() {
		r.Locations = append(r.Locations, sarifLocation{Physical: physical(d.Span)})
	}
	for i, rel := range d.Related {
		location := sarifLocation{ID: i + 1, Message: &sarifText{rel.Message}}
		if !rel.Span.IsZero() {
			location.Physical = physical(rel.Span)
		}
		r.Related = append(r.Related, location)
	}
	for _, f := range d.Fixes {
		r.Fixes = append(r.Fixes, fix(f))
	}
	return r
}

// fix lists the changes file by file, in the order in which the edits first name them.
func fix(f diag.Fix) sarifFix {
	out := sarifFix{Description: sarifText{f.Title}}
	for _, e := range f.Edits {
		p := physical(e.Span)
		replacement := sarifReplacement{Deleted: p.Region}
		if e.New != "" {
			replacement.Inserted = &sarifText{e.New}
		}
		i := slices.IndexFunc(out.Changes, func(c sarifChange) bool { return c.Artifact == p.Artifact })
		if i < 0 {
			i = len(out.Changes)
			out.Changes = append(out.Changes, sarifChange{Artifact: p.Artifact})
		}
		out.Changes[i].Replacements = append(out.Changes[i].Replacements, replacement)
	}
	return out
}

// physical names the file relative to where the log is read (3.4.3), with what a URI cannot hold escaped.
func physical(s source.Span) *sarifPhysical {
	p := placeOf(s)
	return &sarifPhysical{
		Artifact: sarifArtifact{escaped(p.File)},
		Region:   sarifRegion{StartLine: p.Line, StartColumn: p.Column, EndLine: p.EndLine, EndColumn: p.EndColumn},
	}
}

// unescaped are the characters of a path that a URI holds as they are: the unreserved ones and those of the reserved ones
// that have no meaning of their own in a path (RFC 3986, 2.3 and 3.3). Those that may stand there but are also used to set
// a URI off from the text around it ("!'()*") are escaped.
const unescaped = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~$&+,/:;=@"

// escaped writes a path as a URI does, every other byte as % and two digits (RFC 3986, 2.1). The standard library has the
// same in net/url, but a package that imports that is initialised late: package early of the command says what this costs.
func escaped(path string) string {
	var b strings.Builder
	for i := range len(path) {
		if c := path[i]; strings.IndexByte(unescaped, c) >= 0 {
			b.WriteByte(c)
		} else {
			fmt.Fprintf(&b, "%%%02X", c)
		}
	}
	return b.String()
}
