package canvas

import "ferrule/render/geom"

// Proportions of a wire: the dark edge each side and the tracer, in hundredths of the core's width, and the beat of the
// tracer in widths.
const (
	edgePercent   = 20
	tracerPercent = 45
	haloPercent   = 75
	tracerOn      = 4
	tracerOff     = 3
)

// leastEdge keeps the edges of thin cores visible on a coarse printer: a white wire is nothing but its edges.
const leastEdge = 200 * geom.Micrometre

// closeLuma is the difference in lightness below which a tracer would vanish in its base on a grey print. A quarter of
// the scale: our choice, judged on a grey rendering on a screen, not yet on a printed sheet.
const closeLuma = 64

// WireLine draws a wire: a core in its base colour between thin dark edges, and along its middle a dashed tracer. The
// colours are IEC 60757 letters; tracer is empty for a plain core. Where base and tracer are about equally light, the
// tracer gets a border of the opposite lightness, so that it still reads in black and white. Letters that are empty or
// unknown draw one thin line instead of a core: a guess must not look like a white or a black wire.
func WireLine(c Canvas, line geom.Polyline, base, tracer string, width geom.Length) {
	if base == "GNYE" && tracer == "" {
		tracer = "YE"
	}
	core, known := CoreColor(base)
	if !known {
		c.Line(line, Stroke{Width: min(width, Width0p25), Color: Ink})
		return
	}
	c.Line(line, Stroke{Width: width + 2*max(percent(width, edgePercent), leastEdge), Color: Ink})
	c.Line(line, Stroke{Width: width, Color: core})
	if second, ok := CoreColor(tracer); ok {
		drawTracer(c, line, core, second, width)
	}
}

func drawTracer(c Canvas, line geom.Polyline, core, second Color, width geom.Length) {
	beat := []geom.Length{tracerOn * width, tracerOff * width}
	if difference := core.Luma() - second.Luma(); -closeLuma < difference && difference < closeLuma {
		c.Line(line, Stroke{Width: percent(width, haloPercent), Color: contrasting(core), Dash: beat})
	}
	c.Line(line, Stroke{Width: percent(width, tracerPercent), Color: second, Dash: beat})
}

// contrasting returns white for a dark colour and the dark ink for a light one.
func contrasting(c Color) Color {
	if c.Luma() < 128 {
		return White
	}
	return Ink
}

func percent(l geom.Length, hundredths geom.Length) geom.Length { return l * hundredths / 100 }
