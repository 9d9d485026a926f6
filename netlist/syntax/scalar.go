package syntax

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2/unstable"
)

// scalar works out the value of v.Str for everything but strings. It reports what is not a value and returns false.
func (r *reader) scalar(v *Value, kind unstable.Kind) bool {
	ok := false
	switch kind {
	case unstable.Bool:
		v.Kind, v.Bool, v.Str, ok = Bool, v.Str == "true", "", true
	case unstable.Integer:
		v.Kind = Integer
		v.Int, ok = wholeNumber(v.Str)
	case unstable.Float:
		v.Kind = Float
		v.Float, ok = number(v.Str)
	default:
		if v.Kind = Datetime; !isDatetime(v.Str) {
			r.fail(v.Span, short(v.Str)+" looks like a date or a time, but there is no such date or time", quoteHelp(short(v.Str)))
			return false
		}
		return true
	}
	if !ok {
		r.fail(v.Span, "the number "+short(v.Str)+" is too large", "write a smaller one or, if it is a name, "+quoteHelp(short(v.Str)))
	}
	return ok
}

// wholeNumber reads a TOML integer. The parser has checked its form, so only its size can be wrong.
func wholeNumber(text string) (int64, bool) {
	n, err := strconv.ParseInt(text, 0, 64)
	return n, err == nil
}

// number reads a TOML float. The parser has checked its form, so only its size can be wrong.
func number(text string) (float64, bool) {
	if strings.HasSuffix(text, "nan") {
		return math.NaN(), true
	}
	x, err := strconv.ParseFloat(strings.ReplaceAll(text, "_", ""), 64)
	return x, err == nil
}

// The forms of dates and times: TOML 1.0 (https://toml.io/en/v1.0.0), sections "Offset Date-Time" to "Local Time", and
// from TOML 1.1 the forms without seconds. Each stands for its fractions of a second too.
var datetimeForms = []string{
	"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04:05", "2006-01-02", "15:04:05",
	"2006-01-02T15:04Z07:00", "2006-01-02T15:04", "15:04",
}

var datetimeLetters = strings.NewReplacer("z", "Z", "t", "T", " ", "T")

// isDatetime reports whether the text is a date or time that exists.
func isDatetime(text string) bool {
	text = datetimeLetters.Replace(text)
	for _, form := range datetimeForms {
		if _, err := time.Parse(form, text); err == nil {
			return fullWidth(text, form) && zoneExists(text)
		}
	}
	return false
}

// fullWidth reports whether the separators stand where the form has them. Package time takes an hour of one digit, TOML
// does not.
func fullWidth(text, form string) bool {
	for i := 0; i < len(form) && form[i] != 'Z'; i++ {
		if (form[i] < '0' || form[i] > '9') && text[i] != form[i] {
			return false
		}
	}
	return true
}

var zone = regexp.MustCompile(`T.*[+-](\d\d):(\d\d)$`)

// zoneExists reports whether the offset from UTC, if there is one, is below 24 hours and its minutes below 60 (RFC 3339,
// section 5.6). Package time does not look.
func zoneExists(text string) bool {
	m := zone.FindStringSubmatch(text)
	return m == nil || m[1] < "24" && m[2] < "60"
}

// quoteHelp is the advice for a value that is meant as text.
func quoteHelp(text string) string { return `put the value in quotes: "` + text + `"` }
