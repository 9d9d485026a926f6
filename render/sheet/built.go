package sheet

import (
	"fmt"

	"ferrule/netlist/built"
	"ferrule/render/canvas"
	"ferrule/render/geom"
)

// AsBuilt returns how far the wires are. Where no file says so, all of them are planned.
func (s *Set) AsBuilt() *built.Status {
	if s.Built != nil {
		return s.Built
	}
	return built.None(&built.Harness{Netlist: s.Netlist, File: s.Netlist.Files[0].Name, Length: s.Cut().Length})
}

// builtTable shows how far the wires are, a bar for each stage, as the status file has it; nothing where there is none.
func (s *Set) builtTable() table {
	if s.Built == nil {
		return table{}
	}
	p := s.Built.Progress()
	t := table{title: "Wires so far, by " + s.Built.File.Name, heads: []string{"", ""}}
	for stage := built.Cut; stage <= built.Tested; stage++ {
		reached, of := p.Reached[stage], p.Of(stage)
		share := float64(reached) / float64(max(1, of))
		t.rows = append(t.rows, row{
			group: groupOf("progress", stage.String()),
			cells: []cell{sayBold(stage.String()), {{text: fmt.Sprintf("%d of %d", reached, of), share: &share}}},
		})
	}
	add := func(ref string, n int, label, meaning string) {
		if n > 0 {
			t.rows = append(t.rows, row{group: groupOf("progress", ref), cells: []cell{sayBold(label), say(counted(n, "wire") + meaning)}})
		}
	}
	add("older", p.Older, "older", " made before the netlist was changed: ferrule next says what to do")
	add("removed", p.Removed, "removed", " made and no longer in the netlist")
	add("supplied", p.Wires-p.Here, "supplied", ", supplied with devices: not cut and not crimped here")
	return t
}

// Measures of the bars.
const (
	barLength = 36 * geom.MM
	barHeight = 2500 * geom.Micrometre
)

// drawBar draws a bar that begins at a point, in the middle of its height, and is full to a share. One that is not quite full or not
// quite empty looks so.
func drawBar(c canvas.Canvas, at geom.Point, share float64) {
	pen := canvas.Stroke{Width: canvas.Width0p18, Color: canvas.Ink}
	frame := geom.Rect{Min: geom.Pt(at.X, at.Y-barHeight/2), Max: geom.Pt(at.X+barLength, at.Y+barHeight/2)}
	c.Rect(frame, pen, canvas.SolidFill(canvas.White))
	if share > 0 {
		full := geom.Length(share * float64(barLength))
		if share < 1 {
			full = min(max(full, barHeight/4), barLength-barHeight/4)
		}
		frame.Max.X = at.X + full
		c.Rect(frame, pen, canvas.SolidFill(canvas.Ink))
	}
}
