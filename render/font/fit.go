package font

import (
	"strings"

	"ferrule/render/geom"
)

// ellipsis ends a text that was shortened. It is one character, so that a mark of three dots that somebody wrote on
// purpose can be told from it.
const ellipsis = "…"

// Fit returns the drawable text if it is no wider than maxWidth, else its longest beginning that fits together with "…"
// at its end. Where not even "…" fits, the result is empty.
func Fit(face Face, height geom.Length, text string, maxWidth geom.Length) string {
	text = Drawable(text)
	if Width(face, height, text) <= maxWidth {
		return text
	}
	runes := []rune(text)
	count := longestPrefix(face, height, runes, ellipsis, maxWidth)
	short := strings.TrimRight(string(runes[:count]), " ") + ellipsis
	if Width(face, height, short) > maxWidth {
		return ""
	}
	return short
}

// longestPrefix returns how many of the runes fit into maxWidth with the ending behind them.
func longestPrefix(face Face, height geom.Length, runes []rune, ending string, maxWidth geom.Length) int {
	m := metricsOf(face)
	advance := m.advance(ending)
	for i, r := range runes {
		advance += m.glyphs[r].advance
		if m.width(height, advance) > maxWidth {
			return i
		}
	}
	return len(runes)
}

// Wrap breaks the text into lines no wider than width. It breaks at spaces and at the line breaks that the text has; a
// word wider than a line is broken behind its last hyphen or stroke on the line (see Joints) or, where it has none
// there, wherever the line is full. A line holds at least one character, even where the width
// is too small for it. A text of nothing but spaces gives no lines; an empty line between two others is kept.
func Wrap(face Face, height geom.Length, text string, width geom.Length) []string {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	if strings.TrimSpace(Drawable(text)) == "" {
		return nil
	}
	var lines []string
	for paragraph := range strings.SplitSeq(strings.Trim(text, "\n"), "\n") {
		lines = append(lines, wrapParagraph(face, height, paragraph, width)...)
	}
	return lines
}

func wrapParagraph(face Face, height geom.Length, paragraph string, width geom.Length) []string {
	m := metricsOf(face)
	var lines []string
	line, advance := "", int64(0)
	for _, word := range strings.Fields(Drawable(paragraph)) {
		// The line's advance is carried along: measuring it anew for each word would take the square of its length.
		joined := m.advance(" "+word) + advance
		if line != "" && m.width(height, joined) <= width {
			line, advance = line+" "+word, joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		var full []string
		full, line = breakWord(face, height, word, width)
		lines, advance = append(lines, full...), m.advance(line)
	}
	return append(lines, line)
}

// breakWord cuts a word into full lines and the piece that begins the next one.
func breakWord(face Face, height geom.Length, word string, width geom.Length) (full []string, rest string) {
	runes := []rune(word)
	for {
		count := longestPrefix(face, height, runes, "", width)
		if count == len(runes) || len(runes) == 1 {
			return full, string(runes)
		}
		if joint := lastJoint(runes, count); joint > 0 {
			count = joint
		}
		count = max(count, 1)
		full = append(full, string(runes[:count]))
		runes = runes[count:]
	}
}

// joints are the characters behind which a word may go on in the next line.
const joints = "-/_"

// lastJoint returns how many of the first count runes stand up to their last joint; 0 where they have none.
func lastJoint(runes []rune, count int) int {
	for i := min(count, len(runes)-1); i > 0; i-- {
		if strings.ContainsRune(joints, runes[i-1]) {
			return i
		}
	}
	return 0
}

// Joints cuts a word into the pieces that Wrap keeps whole as long as a line has room for each of them:
// "ALL-ROUND-LIGHT" into "ALL-", "ROUND-" and "LIGHT".
func Joints(word string) []string {
	runes := []rune(word)
	var pieces []string
	begin := 0
	for i := 1; i < len(runes); i++ {
		if strings.ContainsRune(joints, runes[i-1]) && !strings.ContainsRune(joints, runes[i]) {
			pieces = append(pieces, string(runes[begin:i]))
			begin = i
		}
	}
	return append(pieces, string(runes[begin:]))
}
