package canvas

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"ferrule/render/geom"
)

// Dump prints the page as text, one op a line, indented by group: the format of golden files. Lengths are millimetres,
// strings are quoted as in Go. The only error is one of w.
func (p *Page) Dump(w io.Writer) error {
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "page %q %q %s x %s\n", p.Name, p.Title, p.Size.X, p.Size.Y)
	for _, o := range p.Ops {
		depth := len(o.Groups) + 1
		if o.Kind == OpBegin || o.Kind == OpEnd {
			depth--
		}
		fmt.Fprintf(out, "%s%s\n", strings.Repeat("  ", depth), o)
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("writing the page %s: %w", p.Name, err)
	}
	return nil
}

// String prints the op as one line of a golden file, without indentation.
func (o Op) String() string {
	switch o.Kind {
	case OpBegin:
		return fmt.Sprintf("group %s %q %q", wordOrQuoted(o.Group().Kind), o.Group().Ref, o.Group().Title)
	case OpEnd:
		return "end"
	case OpLine:
		return "line" + points(o.Points) + stroke(o.Stroke)
	case OpRect:
		return "rect " + o.Area.String() + stroke(o.Stroke) + fill(o.Fill)
	case OpCircle:
		return fmt.Sprintf("circle %s r %s", o.Points[0], o.Radius) + stroke(o.Stroke) + fill(o.Fill)
	case OpArc:
		return fmt.Sprintf("arc %s r %s from %d sweep %d", o.Points[0], o.Radius, o.From, o.Sweep) + stroke(o.Stroke)
	case OpPolygon:
		return "polygon" + points(o.Points) + stroke(o.Stroke) + fill(o.Fill)
	case OpText:
		return "text " + o.Text.describe()
	case OpLink:
		return fmt.Sprintf("link %s to %q", o.Area, o.Target)
	case OpAnchor:
		return fmt.Sprintf("anchor %q %s", o.Target, o.Points[0])
	default:
		return "nothing"
	}
}

// wordOrQuoted keeps the usual kinds, single words, free of quotes.
func wordOrQuoted(kind string) string {
	if kind != "" && strings.Trim(kind, "abcdefghijklmnopqrstuvwxyz0123456789-") == "" {
		return kind
	}
	return fmt.Sprintf("%q", kind)
}

func points(line geom.Polyline) string {
	var text strings.Builder
	for _, p := range line {
		text.WriteString(" " + p.String())
	}
	return text.String()
}

func stroke(s Stroke) string {
	if !s.Draws() {
		return ""
	}
	text := " stroke " + s.Width.String() + " " + s.Color.String()
	separator := " dash "
	for _, length := range s.Dash {
		text += separator + length.String()
		separator = ","
	}
	return text
}

func fill(f Fill) string {
	if !f.Solid {
		return ""
	}
	return " fill " + f.Color.String()
}

func (t Text) describe() string {
	text := fmt.Sprintf("%s %s %s %s %q", t.At, t.Face, t.Height, t.Anchor, t.String)
	if t.Upright() {
		text += " upright"
	}
	if t.Color != Black {
		text += " " + t.Color.String()
	}
	return text
}
