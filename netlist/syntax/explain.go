package syntax

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"
)

// explain reports the mistake at which the parser stopped. The parser's own message is one for people who write
// parsers; which of its cases it was is read off its wording, and what was meant off the text around the place. The
// wordings are those of go-toml v2.4.3; TestExplain holds each of them.
func (r *reader) explain(start, place int, message string) {
	s := r.look(start, place)
	has := func(parts ...string) bool {
		for _, p := range parts {
			if strings.Contains(message, p) {
				return true
			}
		}
		return false
	}
	switch {
	case has("invalid UTF-8"):
		r.mistake(r.span(place, place+1), fmt.Sprintf("the byte 0x%02X is not UTF-8 text", r.text[place]), "save the file with the encoding UTF-8, or type the character again")
	case has("control characters", "arriage returns") || r.char(place) == "\r":
		r.controlCharacter(place)
	case has("unterminated", "cannot have new lines", "not terminated"):
		r.missingQuote(s)
	case has("too many quotes"):
		r.mistake(r.span(place, r.tokenEnd(place)), "there are too many quotes in a row", "three quotes end a text of several lines")
	case has("escape", "need a character after"):
		r.badEscape(place)
	case has("nested more"):
		r.mistake(r.span(place, place+1), fmt.Sprintf("this is nested more than %d levels deep", maxNesting), "a bracket too many, or a file that is not a netlist")
	case s.unclosedLine(r):
		r.unclosed(s)
	case has("is incomplete"):
		r.unclosed(s)
	case has("close table name", "array table name"):
		r.brokenHeader(start, s)
	case has("expected '='"):
		r.missingEquals(s)
	case has("start of key", "expected key but"):
		r.badKey(start, s)
	case has("unexpected comma", "expected value but got"):
		r.mistake(r.span(place, place+1), "there is a comma with nothing before it", "remove the comma, or write what is missing before it")
	case has("after inline table", "after array value", "expected newline"):
		r.trailing(s)
	default: // what cannot stand where a value is expected, and numbers that are not
		r.badValue(s)
	}
}

// controlCharacter reports a character that nobody can see.
func (r *reader) controlCharacter(place int) {
	c := r.text[min(place, len(r.text)-1)]
	what := fmt.Sprintf("there is an invisible control character here (0x%02X)", c)
	help := "delete it and type the text again"
	if c == '\r' {
		what, help = "there is half a line end here (a carriage return without a line feed)", "press Enter here again, or save the file with ordinary line ends"
	}
	r.mistake(r.span(place, place+1), what, help)
}

// missingQuote reports a text that begins with a quote and does not end with one.
func (r *reader) missingQuote(s spot) {
	at := s.last.start
	quote := r.text[at : at+1]
	if long := strings.Repeat(quote, 3); strings.HasPrefix(r.text[at:], long) {
		r.mistake(r.span(at, at+3), "the closing "+long+" is missing", "end the text with "+long+"; a text of one line needs only one "+quote)
		return
	}
	end := at + len(strings.TrimRight(r.rest(at), " \t"))
	r.mistake(r.span(at, end), "the closing quote "+quote+" is missing", "end the text with "+quote+" on the same line")
}

// badEscape reports a backslash that begins nothing known.
func (r *reader) badEscape(place int) {
	at := strings.LastIndexByte(r.text[:min(place+1, len(r.text))], '\\')
	if at < 0 {
		at = place
	}
	end := at + 1 + len(r.char(at+1))
	if end-at == 2 && strings.ContainsAny(r.text[at+1:end], "uUx") {
		r.mistake(r.span(at, max(end, place+1)), `\`+r.text[at+1:end]+" needs the number of a character behind it, such as "+map[string]string{"u": `\u00B5`, "U": `\U000000B5`, "x": `\xB5`}[r.text[at+1:end]],
			`type the character itself, or write the backslash twice: \\`)
		return
	}
	r.mistake(r.span(at, end), "a backslash in double quotes begins a special character, and "+strings.TrimRight(r.text[at:end], "\r\n")+" is none",
		`write the backslash twice: \\, or put the text in single quotes: '...'`)
}

// unclosedLine reports whether the innermost bracket was most likely meant to be closed on an earlier line: the place
// is on a later line, where something new seems to begin.
func (s *spot) unclosedLine(r *reader) bool {
	if len(s.open) == 0 {
		return false
	}
	from := s.open[len(s.open)-1]
	at := strings.LastIndexByte(r.text[:s.place], '\n') + 1
	return from.at < at && r.beginsNew(at, from.bracket, r.text[s.lastBefore(r, at)])
}

// lastBefore returns the offset of the last character before an offset that is not blank.
func (s *spot) lastBefore(r *reader, at int) int {
	return max(0, len(strings.TrimRight(r.text[:at], " \t\r\n"))-1)
}

// unclosed reports the innermost open bracket.
func (r *reader) unclosed(s spot) {
	if len(s.open) == 0 {
		r.badValue(s)
		return
	}
	o := s.open[len(s.open)-1]
	if o.bracket == '{' {
		r.mistake(r.span(o.at, o.at+1), "the bracket { is not closed", "close it with } at the end of the line; a new line alone does not end what stands in { }")
		return
	}
	r.mistake(r.span(o.at, o.at+1), "the bracket [ is not closed", "close the list with ]")
}

// brokenHeader reports a header whose bracket is not closed.
func (r *reader) brokenHeader(start int, s spot) {
	line := strings.TrimRight(r.rest(start), " \t")
	closing := "]"
	if strings.HasPrefix(line, "[[") {
		closing = "]]"
	}
	switch c := r.char(s.place); {
	case closing == "]]" && c == "]":
		r.mistake(r.span(start, s.place+1), "a header that begins with [[ must end with ]]", "write ]] at the end")
	case strings.Contains(line[min(s.place-start, len(line)):], "]") && s.last.end < s.place:
		r.mistake(r.span(s.last.start, r.tokenEnd(s.place)), "a name with a blank in it needs quotes", `put the name in quotes, such as [part."fuel pump"], or join its words with -`)
	case strings.Contains(line[min(s.place-start, len(line)):], "]"):
		r.mistake(r.span(s.place, s.place+len(c)), shown(c)+" cannot stand in a name without quotes", `put the name in quotes, such as [part."fuel pump"]`)
	default:
		r.mistake(r.span(start, start+len(line)), "the closing bracket "+closing+" of this header is missing", "write "+closing+" after the name")
	}
}

// missingEquals reports a key without =.
func (r *reader) missingEquals(s spot) {
	key := short(r.text[s.key.start:s.key.end])
	c := r.char(s.place)
	switch next := r.keyAfter(s.place); {
	case strings.HasPrefix(key, `"""`) || strings.HasPrefix(key, "'''"):
		r.mistake(r.span(s.key.start, s.key.start+3), "a name cannot stand in three quotes", "put the name in single or double quotes, on one line")
	case c == ":":
		r.mistake(r.span(s.place, s.place+1), "between "+key+" and its value stands = and not :", "write "+key+" = ...")
	case r.atLineEnd(s.place) || c == "}" || c == ",":
		r.mistake(r.span(s.key.start, s.key.end), "after "+key+" the = and the value are missing", "write "+key+" = and the value")
	case next != "":
		r.mistake(r.span(s.key.start, s.place+len(next)), "a name with a blank in it needs quotes", `write "`+short(r.text[s.key.start:s.place+len(next)])+`" = ..., or join the words with -`)
	case !strings.ContainsAny(c, `"'[{+-0123456789`) && s.key.end == s.place:
		r.mistake(r.span(s.place, s.place+len(c)), shown(c)+" cannot stand in a name without quotes", `put the name in quotes: "..." = ...`)
	default:
		r.mistake(r.span(s.place, s.place+max(1, len(c))), "the = after "+key+" is missing", "write "+key+" = "+short(strings.TrimRight(firstValue(r.rest(s.place)), " \t")))
	}
}

var plainKey = regexp.MustCompile(`^([A-Za-z0-9_.-]+)[ \t]*=`)

// keyAfter returns the plain key that stands at an offset with its = behind it, or "".
func (r *reader) keyAfter(at int) string {
	if m := plainKey.FindStringSubmatch(r.rest(min(at, len(r.text)))); m != nil {
		return m[1]
	}
	return ""
}

// firstValue cuts a text before the comma, bracket or comment that ends a value.
func firstValue(text string) string {
	if text != "" && (text[0] == '"' || text[0] == '\'') {
		return text[:stringEnd(text, 0)]
	}
	if n := strings.IndexAny(text, ",}]#"); n >= 0 {
		return text[:n]
	}
	return text
}

// badKey reports something that cannot stand where a name is expected.
func (r *reader) badKey(start int, s spot) {
	c := r.char(s.place)
	span := r.span(s.place, s.place+max(1, len(c)))
	header := r.text[start] == '[' && len(s.open) == 0
	switch {
	case c == "" || c == "\n":
		r.nameMissing(s, header)
	case header && c == "]":
		r.mistake(r.span(start, s.place+1), "the name in this header is missing or not complete", "write a name, such as [part.K1]")
	case (c == "=" || c == ".") && !s.last.none() && r.text[s.last.end-1] == '.':
		r.mistake(r.span(s.last.end-1, s.last.end), "a name is missing behind this dot", "remove the dot or write the name")
	case c == "=":
		r.mistake(span, "the name before = is missing", "write the name of the value before it")
	case c == "]" || c == "}":
		r.mistake(span, "this "+c+" closes a bracket that was not opened", "remove it, or open the bracket where it belongs")
	case c == ".":
		r.mistake(span, "a name is missing before this dot", "remove the dot or write the name")
	case c == "{" || c == "[":
		r.mistake(span, "before "+c+" a name and = are missing", "write NAME = "+c)
	case c == "/":
		r.mistake(span, "/ does not begin a comment", "begin comments with #")
	case c == ";":
		r.mistake(span, "; does not begin a comment and ends nothing", "begin comments with #")
	case header:
		r.mistake(span, shown(c)+" cannot stand in a name without quotes", `put the name in quotes, such as [part."fuel pump"]`)
	default:
		r.mistake(span, shown(c)+" cannot stand in a name without quotes", `put the name in quotes: "..." = ...`)
	}
}

// nameMissing reports a line that ends where a name should stand.
func (r *reader) nameMissing(s spot, header bool) {
	switch {
	case header:
		r.mistake(r.span(s.last.start, s.last.end), "this header is not complete", "write the name and the closing bracket, such as [part.K1]")
	case len(s.open) > 0:
		r.unclosed(s)
	default:
		r.mistake(r.span(s.last.start, s.last.end), "a name is missing at the end of this line", "write the name, = and the value")
	}
}

// trailing reports something between the end of a value and the end of the line, or the next comma or bracket.
func (r *reader) trailing(s spot) {
	c := r.char(s.place)
	span := r.span(s.place, s.place+max(1, len(c)))
	inBrackets := len(s.open) > 0
	switch before := r.text[max(s.last.end-1, 0)]; {
	case s.value < 0: // behind a header
		r.mistake(span, "nothing may follow a header on its line", "write this on a line of its own")
	case r.quoteSlipped(s):
		r.mistake(r.span(s.last.start, s.last.end), "a quote is missing: this text runs into the next one", "end the text with a quote where it should end")
	case (before == '"' || before == '\'') && s.last.end == s.place && !inBrackets && strings.HasSuffix(strings.TrimRight(r.rest(s.place), " \t"), string(before)):
		r.mistake(r.span(s.last.end-1, s.last.end), "the text ends at this quote", `to have a quote within the text, write \" or put the text in single quotes: '...'`)
	case inBrackets && (r.keyAfter(s.place) != "" || before == '"' || before == '\'' || before == '}' || before == ']' || strings.ContainsAny(c, `"'[{`) || r.twoNumbers(s)):
		r.missingComma(s)
	case (c == "]" || c == "}") && !inBrackets:
		r.mistake(span, "this "+c+" closes a bracket that was not opened", "remove it, or open the bracket where it belongs")
	case c == "]" || c == "}":
		o := s.open[len(s.open)-1]
		r.mistake(span, fmt.Sprintf("this %s does not match the %c that is open", c, o.bracket), "close { with } and [ with ]")
	case r.keyAfter(s.place) != "":
		r.mistake(r.span(s.place, s.place+len(r.keyAfter(s.place))), short(r.keyAfter(s.place))+" must stand on a line of its own", "press Enter before it")
	case c == ",":
		r.mistake(span, "there is a comma behind the value", "remove it; a comma stands only between values within [ ] or { }")
	case before == '"' || before == '\'' || before == '}' || before == ']':
		help := "write one value a line, and a comment behind #"
		r.mistake(r.span(s.place, s.place+len(strings.TrimRight(r.rest(s.place), " \t"))), "something follows after the value is complete", help)
	default:
		r.badValue(s)
	}
}

// quoteSlipped reports whether a text most likely swallowed the start of the next one: it ends at a quote that something
// touches, and holds a comma or = just before it.
func (r *reader) quoteSlipped(s spot) bool {
	text := r.text[s.last.start:s.last.end]
	if len(text) < 3 || text[0] != '"' && text[0] != '\'' || s.last.end != s.place || len(s.open) == 0 {
		return false
	}
	inner := strings.TrimRight(text[1:len(text)-1], " \t")
	return strings.HasSuffix(inner, "=") || strings.HasSuffix(inner, ",") || strings.HasSuffix(inner, "[")
}

// twoNumbers reports whether a plain value is followed by a blank and another number.
func (r *reader) twoNumbers(s spot) bool {
	c := r.char(s.place)
	return s.last.end < s.place && c >= "0" && c <= "9"
}

// missingComma reports two items without a comma between them.
func (r *reader) missingComma(s spot) {
	o := s.open[len(s.open)-1]
	where := "between the items of this list"
	if o.bracket == '{' {
		where = "before " + short(r.text[s.place:r.tokenEnd(s.place)])
	}
	r.mistake(r.span(s.place, r.tokenEnd(s.place)), "a comma is missing "+where, "write a comma after "+short(r.text[s.last.start:s.last.end]))
}

var nextPair = regexp.MustCompile(`[ \t]+[A-Za-z0-9_.-]+[ \t]*=`)

// badValue reports something that cannot stand where a value is expected: nothing at all, a word without quotes, or a
// number that is none.
func (r *reader) badValue(s spot) {
	at := s.value
	if at < 0 || at > s.place {
		at = s.place
	}
	text := strings.TrimRight(r.valueText(at, s), " \t")
	end := at + len(text)
	text = short(text)
	switch c := r.char(at); {
	case text == "" && c == "]" && s.within('{'), text == "" && c == "}" && s.within('['):
		r.mistake(r.span(at, at+1), fmt.Sprintf("this %s does not match the %c that is open", c, s.open[len(s.open)-1].bracket), "close { with } and [ with ]")
	case text == "":
		r.missingValue(s)
	case strings.HasPrefix(text, "=") || strings.HasPrefix(text, ":"):
		r.mistake(r.span(at, at+1), "there is one "+c+" too many", "write NAME = VALUE")
	case strings.ContainsAny(c, "“”„«»‘’`´"):
		r.mistake(r.span(at, at+len(c)), "the quote "+c+" is not the plain quote \"", `type the straight quote: "`+strings.Trim(text, "“”„«»‘’`´\"'")+`"`)
	case strings.EqualFold(text, "true") || strings.EqualFold(text, "false"):
		r.mistake(r.span(at, end), text+" must be written in small letters", "write "+strings.ToLower(text))
	case leadingZero.MatchString(text):
		r.mistake(r.span(at, end), "the number "+text+" begins with a needless 0", "write it without the 0, or, if it is a name, "+quoteHelp(text))
	case halfDecimal.MatchString(text):
		r.mistake(r.span(at, end), "the number "+text+" needs a digit before and after its point", "write it such as 0.5 or 5.0")
	default:
		bare := strings.Trim(text, `"'`)
		r.mistake(r.span(at, end), text+" is not a number, and text needs quotes", quoteHelp(strings.ReplaceAll(bare, `"`, `\"`)))
	}
}

var (
	leadingZero = regexp.MustCompile(`^[+-]?0[0-9_]+(\.[0-9]+)?$`)
	halfDecimal = regexp.MustCompile(`^[+-]?([0-9]+\.|\.[0-9]+)$`)
)

// valueText returns the plain text of a value that lacks its quotes: up to the comma or bracket that ends it in a list
// or inline table, otherwise up to the comment or the end of the line.
func (r *reader) valueText(at int, s spot) string {
	if at >= len(r.text) {
		return ""
	}
	text := r.rest(at)
	stops := "#"
	if s.within('{') {
		stops = ",}#"
		if m := nextPair.FindStringIndex(text); m != nil {
			text = text[:m[0]]
		}
	} else if s.within('[') {
		stops = ",]#"
	}
	if n := strings.IndexAny(text, stops); n >= 0 {
		text = text[:n]
	}
	if len(s.open) > 0 && (strings.HasPrefix(text, "]") || strings.HasPrefix(text, "}")) {
		return ""
	}
	return text
}

// missingValue reports a = with nothing behind it.
func (r *reader) missingValue(s spot) {
	name := "="
	if !s.key.none() {
		name = short(r.text[s.key.start:s.key.end]) + " ="
	}
	help := `write the value behind it, text in quotes: ` + name + ` "..."`
	r.mistake(r.span(s.last.start, s.last.end), "the value after "+name+" is missing", help)
}

// short cuts a piece of the file to what fits into a message.
func short(text string) string {
	const most = 60
	if len(text) <= most {
		return text
	}
	cut := most
	for cut > 0 && !utf8.RuneStart(text[cut]) {
		cut--
	}
	return text[:cut] + "…"
}

// shown writes a character for a message.
func shown(c string) string {
	if c == " " || c == "\t" || c == "" {
		return "a blank"
	}
	return c
}
