package command

import (
	"fmt"
	"strings"
)

// An option is one flag of a command. The parser and the help are made from it. Two commands may have flags of one name
// that take different values, as --format of check and of draw.
type option struct {
	name    string   // without its dashes
	letter  string   // the short form, or ""
	takes   string   // what stands for the value in the help; "" for a flag that is given or not, and has no value
	choices []string // the only values, when there are few
	initial string   // the value when it is not given
	doc     string
}

// The flags of all commands.
var (
	flagFindingsFormat = &option{name: "format", takes: "FORMAT", choices: []string{"text", "lines", "json", "sarif"}, initial: "text",
		doc: "how findings are written: text is for people, lines for grep and editors, json and sarif for other programs"}
	flagAtLeast = &option{name: "at-least", takes: "SEVERITY", choices: []string{"error", "warning", "note"}, initial: "warning",
		doc: "what is shown, and what makes the exit code 1"}
	flagOnly = &option{name: "only", takes: "RULES",
		doc: "run these rules alone; names with commas between"}
	flagExcept = &option{name: "except", takes: "RULES",
		doc: "run all rules but these"}
	flagInState = &option{name: "state", takes: "NAME",
		doc: "look at one state of the file alone"}
	flagFix   = &option{name: "fix", doc: "make the changes that are sure, then look again"}
	flagColor = &option{name: "color", takes: "WHEN", choices: []string{"auto", "always", "never"}, initial: "auto",
		doc: "whether text gets colour; auto heeds NO_COLOR, FORCE_COLOR and TERM=dumb, then asks whether it is a terminal"}
	flagFolder = &option{name: "out", letter: "o", takes: "DIR", initial: "out",
		doc: "the folder to write into; it is made when it is not there"}
	flagGray = &option{name: "gray", doc: "every colour by its brightness, for a printer without colour"}
	flagTile = &option{name: "tile", takes: "PAPER", choices: []string{"a4", "letter"},
		doc: "cut sheets that are larger into overlapping pieces for this paper, with marks"}
	flagPaper = &option{name: "paper", takes: "PAPER", choices: []string{"a4", "a3", "a2", "a1", "a0", "letter", "ansi-b", "ansi-c", "ansi-d", "ansi-e"},
		doc: "what wall sheets and diagrams are on: drawn larger where there is room, on the next larger paper where they do not fit; when left out, the smallest of ISO size"}
	flagSheet = &option{name: "sheet", takes: "NAME",
		doc: "the sheet to draw; ? lists the sheets of the harness with their titles"}
	flagDrawingFormat = &option{name: "format", takes: "FORMAT", choices: []string{"svg", "pdf"},
		doc: "what to draw; when left out, what the ending of FILE says, or svg"}
	flagDrawing = &option{name: "out", letter: "o", takes: "FILE",
		doc: "the file to write; standard output when left out"}
)

// spelling is how the flag stands in the help: "-o, --out DIR".
func (f *option) spelling() string {
	text := strings.TrimSpace("--" + f.name + " " + f.takes)
	if f.letter != "" {
		return "-" + f.letter + ", " + text
	}
	return text
}

// explanation is the doc with the choices and the default.
func (f *option) explanation() string {
	text := f.doc
	if len(f.choices) > 0 {
		text += "; one of " + strings.Join(f.choices, ", ")
	}
	if f.initial != "" {
		text += " (default " + f.initial + ")"
	}
	return text
}

// check returns an error when the flag cannot have the value.
func (f *option) check(value string) error {
	if len(f.choices) == 0 {
		if value == "" {
			return &usageError{fmt.Sprintf("--%s has an empty value", f.name), fmt.Sprintf("write --%s %s", f.name, f.takes)}
		}
		return nil
	}
	for _, c := range f.choices {
		if c == value {
			return nil
		}
	}
	return unknownWord("value of --"+f.name, value, f.choices, "it can be: "+strings.Join(f.choices, ", "))
}

// parse sorts the arguments of a command into flags and files. Flags may stand anywhere; after "--" everything is a
// file; "-" alone is standard input. It reports whether help was asked for.
func (inv *invocation) parse(args []string) (help bool, err error) {
	inv.values = map[*option]string{}
	for len(args) > 0 {
		arg := args[0]
		args = args[1:]
		switch {
		case arg == "-h" || arg == "--help":
			return true, nil
		case arg == "--":
			inv.files = append(inv.files, args...)
			args = nil
		case len(arg) < 2 || arg[0] != '-':
			inv.files = append(inv.files, arg)
		default:
			if args, err = inv.parseFlag(arg, args); err != nil {
				return false, err
			}
		}
	}
	return false, inv.command.checkFiles(inv.files)
}

// parseFlag reads "--name=value", "--name value" or "-o value" and returns the arguments after it.
func (inv *invocation) parseFlag(arg string, rest []string) ([]string, error) {
	spelling, value, joined := strings.Cut(arg, "=")
	f := inv.command.findFlag(spelling)
	if f == nil {
		return nil, inv.unknownFlag(spelling)
	}
	if _, given := inv.values[f]; given {
		return nil, &usageError{message: fmt.Sprintf("%s is given twice", spelling)}
	}
	if f.takes == "" {
		if joined {
			return nil, &usageError{fmt.Sprintf("%s takes no value", spelling), "write " + f.spelling()}
		}
		inv.values[f] = ""
		return rest, nil
	}
	if !joined {
		if len(rest) == 0 {
			return nil, &usageError{fmt.Sprintf("%s needs a value", spelling), "write " + f.spelling()}
		}
		value, rest = rest[0], rest[1:]
	}
	inv.values[f] = value
	return rest, f.check(value)
}

// unknownFlag names the flag that was probably meant, or else the flags that there are.
func (inv *invocation) unknownFlag(spelling string) error {
	var known []string
	for _, f := range inv.command.flags {
		known = append(known, "--"+f.name)
	}
	if len(known) == 0 {
		return &usageError{fmt.Sprintf("ferrule %s has no flag %s", inv.command.name, spelling), "it has no flags but -h"}
	}
	return &usageError{fmt.Sprintf("ferrule %s has no flag %s", inv.command.name, spelling), suggestion(spelling, known, "its flags are: "+strings.Join(known, ", "))}
}
