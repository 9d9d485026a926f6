package syntax

import (
	"testing"

	"github.com/pelletier/go-toml/v2/unstable"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ferrule/netlist/source"
)

// explainCases has a text for every way of going wrong: the wording of the parser from which it is told (so that a new
// version of the parser with other words shows here), the diagnostic, and its advice.
var explainCases = []struct{ text, parser, want, help string }{
	// quotes
	{"size = \"14 AWG\nb = 1\n", "basic strings cannot have new lines", `1:8 "\"14 AWG" the closing quote " is missing`, `end the text with " on the same line`},
	{"size = \"14 AWG", "unterminated basic string", `1:8 "\"14 AWG" the closing quote " is missing`, `end the text with " on the same line`},
	{"size = '14 AWG\n", "literal strings cannot have new lines", `1:8 "'14 AWG" the closing quote ' is missing`, `end the text with ' on the same line`},
	{"size = '14 AWG", "unterminated literal string", `1:8 "'14 AWG" the closing quote ' is missing`, `end the text with ' on the same line`},
	{"\"a = 1\n", "basic strings cannot have new lines", `1:1 "\"a = 1" the closing quote " is missing`, `end the text with " on the same line`},
	{"[\"a]\n", "basic strings cannot have new lines", `1:2 "\"a]" the closing quote " is missing`, `end the text with " on the same line`},
	{"notes = \"\"\"abc\n", `multiline basic string not terminated by """`, `1:9 "\"\"\"" the closing """ is missing`, `end the text with """; a text of one line needs only one "`},
	{"notes = '''abc\n", "multiline literal string not terminated by '''", `1:9 "'''" the closing ''' is missing`, `end the text with '''; a text of one line needs only one '`},
	{"a = '''x''''''\n", "too many quotes", `1:9 "''''''" there are too many quotes in a row`, "three quotes end a text of several lines"},
	{"a = \"\"\"x\"\"\"\"\"\"\n", "too many quotes", `1:9 "\"\"\"\"\"\"" there are too many quotes in a row`, "three quotes end a text of several lines"},
	{"W = { from = \"F1:2, to = \"X1:1\" }\n", "expected ',' or '}'", `1:14 "\"F1:2, to = \"" a quote is missing: this text runs into the next one`, "end the text with a quote where it should end"},
	{"a = \"a 3/8\" ring\"\n", "expected newline", `1:13 "ring\"" something follows after the value is complete`, "write one value a line, and a comment behind #"},
	{"a = \"a 3\"8\"\n", "expected newline", `1:9 "\"" the text ends at this quote`, `to have a quote within the text, write \" or put the text in single quotes: '...'`},
	{"a = “x”\n", "at start of value", `1:5 "“" the quote “ is not the plain quote "`, `type the straight quote: "x"`},
	{"\"\"\"a\"\"\" = 1\n", "expected '=' after key", `1:1 "\"\"\"" a name cannot stand in three quotes`, "put the name in single or double quotes, on one line"},
	// escapes
	{"p = \"C:\\dir\"\n", "invalid escape character", `1:8 "\\d" a backslash in double quotes begins a special character, and \d is none`, `write the backslash twice: \\, or put the text in single quotes: '...'`},
	{"p = \"\"\"C:\\ dir\"\"\"\n", "invalid escape character", `1:10 "\\ " a backslash in double quotes begins a special character, and \  is none`, `write the backslash twice: \\, or put the text in single quotes: '...'`},
	{"p = \"\\u12\"\n", "invalid hexadecimal digit", `1:6 "\\u12\"" \u needs the number of a character behind it, such as \u00B5`, `type the character itself, or write the backslash twice: \\`},
	{"p = \"\\U12", "unicode escape sequence is too short", `1:6 "\\U" \U needs the number of a character behind it, such as \U000000B5`, `type the character itself, or write the backslash twice: \\`},
	{"p = \"\\uD800\"\n", "not a valid unicode code point", `1:6 "\\u" \u needs the number of a character behind it, such as \u00B5`, `type the character itself, or write the backslash twice: \\`},
	// = and names
	{"size \"14 AWG\" # c\n", "expected '=' after key", `1:6 "\"" the = after size is missing`, `write size = "14 AWG"`},
	{"size 14\n", "expected '=' after key", `1:6 "1" the = after size is missing`, "write size = 14"},
	{"size\n", "expected '=' after key", `1:1 "size" after size the = and the value are missing`, "write size = and the value"},
	{"a", "expected '=' after key", `1:1 "a" after a the = and the value are missing`, "write a = and the value"},
	{"W1 = { from, to = 1 }\n", "expected '=' after key", `1:8 "from" after from the = and the value are missing`, "write from = and the value"},
	{"W1: \"x\"\n", "expected '=' after key", `1:3 ":" between W1 and its value stands = and not :`, "write W1 = ..."},
	{"fuel pump = 1\n", "expected '=' after key", `1:1 "fuel pump" a name with a blank in it needs quotes`, `write "fuel pump" = ..., or join the words with -`},
	{"a@b = 1\n", "expected '=' after key", `1:2 "@" @ cannot stand in a name without quotes`, `put the name in quotes: "..." = ...`},
	{"= 1\n", "at start of key", `1:1 "=" the name before = is missing`, "write the name of the value before it"},
	{"a.b. = 1\n", "at start of key", `1:4 "." a name is missing behind this dot`, "remove the dot or write the name"},
	{".b = 1\n", "at start of key", `1:1 "." a name is missing before this dot`, "remove the dot or write the name"},
	{"ü = 1\n", "at start of key", `1:1 "ü" ü cannot stand in a name without quotes`, `put the name in quotes: "..." = ...`},
	{"// c\n", "at start of key", `1:1 "/" / does not begin a comment`, "begin comments with #"},
	{"; c\n", "at start of key", `1:1 ";" ; does not begin a comment and ends nothing`, "begin comments with #"},
	{"{ a = 1 }\n", "at start of key", `1:1 "{" before { a name and = are missing`, "write NAME = {"},
	// values
	{"size =\n", "at start of value", `1:6 "=" the value after size = is missing`, `write the value behind it, text in quotes: size = "..."`},
	{"size =", "expected value, not end of input", `1:6 "=" the value after size = is missing`, `write the value behind it, text in quotes: size = "..."`},
	{"size = # x\n", "at start of value", `1:6 "=" the value after size = is missing`, `write the value behind it, text in quotes: size = "..."`},
	{"a = { b = , c = 1}\n", "at start of value", `1:9 "=" the value after b = is missing`, `write the value behind it, text in quotes: b = "..."`},
	{"size = 14 AWG\n", "expected newline", `1:8 "14 AWG" 14 AWG is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"size = 14 AWG # thin\n", "expected newline", `1:8 "14 AWG" 14 AWG is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"size = 14AWG\n", "strings must be quoted", `1:8 "14AWG" 14AWG is not a number, and text needs quotes`, `put the value in quotes: "14AWG"`},
	{"from = F1:2\n", "at start of value", `1:8 "F1:2" F1:2 is not a number, and text needs quotes`, `put the value in quotes: "F1:2"`},
	{"color = two\n", "expected keyword", `1:9 "two" two is not a number, and text needs quotes`, `put the value in quotes: "two"`},
	{"size = 14 AWG\"\n", "expected newline", `1:8 "14 AWG\"" 14 AWG" is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"W1 = { size = 14 AWG, color = \"RD\" }\n", "expected ',' or '}'", `1:15 "14 AWG" 14 AWG is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"W1 = { size = 14 AWG color = \"RD\" }\n", "expected ',' or '}'", `1:15 "14 AWG" 14 AWG is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"a = [14 AWG, 2]\n", "expected ',' or ']'", `1:6 "14 AWG" 14 AWG is not a number, and text needs quotes`, `put the value in quotes: "14 AWG"`},
	{"a = [W1, W2]\n", "at start of value", `1:6 "W1" W1 is not a number, and text needs quotes`, `put the value in quotes: "W1"`},
	{"on = True\n", "at start of value", `1:6 "True" True must be written in small letters`, "write true"},
	{"x = .5\n", "at start of value", `1:5 ".5" the number .5 needs a digit before and after its point`, "write it such as 0.5 or 5.0"},
	{"x = 5.\n", "decimal point must be followed", `1:5 "5." the number 5. needs a digit before and after its point`, "write it such as 0.5 or 5.0"},
	{"x = 007\n", "integers cannot have leading zeroes", `1:5 "007" the number 007 begins with a needless 0`, `write it without the 0, or, if it is a name, put the value in quotes: "007"`},
	{"x = -V\n", "expected digit", `1:5 "-V" -V is not a number, and text needs quotes`, `put the value in quotes: "-V"`},
	{"x = -in\n", `expected "inf"`, `1:5 "-in" -in is not a number, and text needs quotes`, `put the value in quotes: "-in"`},
	{"x = 1__0\n", "digit between underscores", `1:5 "1__0" 1__0 is not a number, and text needs quotes`, `put the value in quotes: "1__0"`},
	{"x = 1e\n", "exponent must contain", `1:5 "1e" 1e is not a number, and text needs quotes`, `put the value in quotes: "1e"`},
	{"x = 0x\n", "radix prefix must be followed", `1:5 "0x" 0x is not a number, and text needs quotes`, `put the value in quotes: "0x"`},
	{"x = +0x1\n", "sign is not allowed", `1:5 "+0x1" +0x1 is not a number, and text needs quotes`, `put the value in quotes: "+0x1"`},
	{"x = 99999999999999999999\n", "", `1:5 "99999999999999999999" the number 99999999999999999999 is too large`, `write a smaller one or, if it is a name, put the value in quotes: "99999999999999999999"`},
	{"x = 1e999\n", "", `1:5 "1e999" the number 1e999 is too large`, `write a smaller one or, if it is a name, put the value in quotes: "1e999"`},
	{"x = 2024-02-30\n", "", `1:5 "2024-02-30" 2024-02-30 looks like a date or a time, but there is no such date or time`, `put the value in quotes: "2024-02-30"`},
	{"x = 12:99:00\n", "", `1:5 "12:99:00" 12:99:00 looks like a date or a time, but there is no such date or time`, `put the value in quotes: "12:99:00"`},
	{"a == 1\n", "at start of value", `1:4 "=" there is one = too many`, "write NAME = VALUE"},
	{"a = 1 b = 2\n", "expected newline", `1:7 "b" b must stand on a line of its own`, "press Enter before it"},
	// commas and brackets
	{"W1 = { from = \"F1:2\" to = \"X1:1\" }\n", "expected ',' or '}'", `1:22 "to" a comma is missing before to`, `write a comma after "F1:2"`},
	{"W1 = { size = 14 color = \"RD\" }\n", "expected ',' or '}'", `1:18 "color" a comma is missing before color`, "write a comma after 14"},
	{"a = [\"x\" \"y\"]\n", "expected ',' or ']'", `1:10 "\"y\"" a comma is missing between the items of this list`, `write a comma after "x"`},
	{"a = [1 2]\n", "expected ',' or ']'", `1:8 "2" a comma is missing between the items of this list`, "write a comma after 1"},
	{"a = [\n  \"x\"\n  \"y\"\n]\n", "expected ',' or ']'", `3:3 "\"y\"" a comma is missing between the items of this list`, `write a comma after "x"`},
	{"a = [1,,2]\n", "expected value but got", `1:8 "," there is a comma with nothing before it`, "remove the comma, or write what is missing before it"},
	{"a = { , b = 1}\n", "unexpected comma", `1:7 "," there is a comma with nothing before it`, "remove the comma, or write what is missing before it"},
	{"a = 1,\n", "expected newline", `1:6 "," there is a comma behind the value`, "remove it; a comma stands only between values within [ ] or { }"},
	{"a = [1, 2", "array is incomplete", `1:5 "[" the bracket [ is not closed`, "close the list with ]"},
	{"a = [1, 2\nb = 3\n", "expected ',' or ']'", `1:5 "[" the bracket [ is not closed`, "close the list with ]"},
	{"a = [1, [2, 3\n", "array is incomplete", `1:9 "[" the bracket [ is not closed`, "close the list with ]"},
	{"W1 = { from = \"a\"", "inline table is incomplete", `1:6 "{" the bracket { is not closed`, "close it with } at the end of the line; a new line alone does not end what stands in { }"},
	{"W1 = { from = \"a\"\nW2 = { from = \"b\" }\n", "expected ',' or '}'", `1:6 "{" the bracket { is not closed`, "close it with } at the end of the line; a new line alone does not end what stands in { }"},
	{"W1 = { from = \"a\",\n[part.K1]\n", "at start of key", `1:6 "{" the bracket { is not closed`, "close it with } at the end of the line; a new line alone does not end what stands in { }"},
	{"a = 1]\n", "expected newline", `1:6 "]" this ] closes a bracket that was not opened`, "remove it, or open the bracket where it belongs"},
	{"}\n", "at start of key", `1:1 "}" this } closes a bracket that was not opened`, "remove it, or open the bracket where it belongs"},
	{"a = { b = 1 ]\n", "expected ',' or '}'", `1:13 "]" this ] does not match the { that is open`, "close { with } and [ with ]"},
	{"a = [ 1 }\n", "expected ',' or ']'", `1:9 "}" this } does not match the [ that is open`, "close { with } and [ with ]"},
	// headers
	{"[part.K1\nx=1\n", "expected ']' to close table name", `1:1 "[part.K1" the closing bracket ] of this header is missing`, "write ] after the name"},
	{"[[accept]\nx=1\n", "expected ']]' to close array table name", `1:1 "[[accept]" a header that begins with [[ must end with ]]`, "write ]] at the end"},
	{"[fuel pump]\n", "expected ']' to close table name", `1:2 "fuel pump" a name with a blank in it needs quotes`, `put the name in quotes, such as [part."fuel pump"], or join its words with -`},
	{"[part.ü]\n", "at start of key", `1:7 "ü" ü cannot stand in a name without quotes`, `put the name in quotes, such as [part."fuel pump"]`},
	{"[part.K@1]\n", "expected ']' to close table name", `1:8 "@" @ cannot stand in a name without quotes`, `put the name in quotes, such as [part."fuel pump"]`},
	{"[]\n", "at start of key", `1:1 "[]" the name in this header is missing or not complete`, "write a name, such as [part.K1]"},
	{"[", "expected key but reached end of input", `1:1 "[" this header is not complete`, "write the name and the closing bracket, such as [part.K1]"},
	{"[a] b\n", "expected newline", `1:5 "b" nothing may follow a header on its line`, "write this on a line of its own"},
	// characters
	{"a = 1\r b=2\n", "expected newline", `1:6 "\r" there is half a line end here (a carriage return without a line feed)`, "press Enter here again, or save the file with ordinary line ends"},
	{"# c\r b=2\n", "carriage returns are not allowed", `1:4 "\r" there is half a line end here (a carriage return without a line feed)`, "press Enter here again, or save the file with ordinary line ends"},
	{"a = '''\r b'''\n", "carriage returns must be followed", `1:8 "\r" there is half a line end here (a carriage return without a line feed)`, "press Enter here again, or save the file with ordinary line ends"},
	{"a = \"\x01\"\n", "control characters", `1:6 "\x01" there is an invisible control character here (0x01)`, "delete it and type the text again"},
	{"a = \"\xff\"\n", "invalid UTF-8", `1:6 "\xff" the byte 0xFF is not UTF-8 text`, "save the file with the encoding UTF-8, or type the character again"},
	{"# \xff\nb=1\n", "invalid UTF-8", `1:3 "\xff" the byte 0xFF is not UTF-8 text`, "save the file with the encoding UTF-8, or type the character again"},
	{"a\x00=\x001\x00", "", `1:1 "a" the file is not plain UTF-8 text; it looks like UTF-16`, "save it again from the editor with the encoding UTF-8"},
}

func TestExplain(t *testing.T) {
	for _, c := range explainCases {
		t.Run(c.text, func(t *testing.T) {
			_, list := Parse(source.NewFile("a.toml", []byte(c.text)))
			require.Equal(t, []string{c.want}, seenAll(list))
			assert.Equal(t, c.help, list[0].Help)
			assert.Equal(t, "syntax", list[0].Rule)
			assert.NoError(t, holdAgainstDecoders(c.text))
			if c.parser != "" {
				assert.ErrorContains(t, parserError(c.text), c.parser)
			}
		})
	}
}

func parserError(text string) error {
	var p unstable.Parser
	p.Reset([]byte(text))
	for p.NextExpression() {
	}
	return p.Error()
}
