package render_test

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/netlisttest"
	"ferrule/render"
	"ferrule/render/canvas/pdf"
	"ferrule/render/layout"
	"ferrule/render/sheet"
)

// BenchmarkStages measures the stages of drawing a set, for the pickup and for a made-up vehicle of 2,000 wires. "plan" contains
// "diagrams", "pages" draws what is planned, "pdf" writes what is drawn, "build" is all of it and the lists.
func BenchmarkStages(b *testing.B) {
	pickup := example(b, "pickup")
	n, _ := netlist.Parse("vehicle.toml", []byte(netlisttest.Harness(2000)))
	for name, in := range map[string]render.Input{"pickup": pickup, "2000 wires": {Graph: graph.New(n), Program: "Ferrule test"}} {
		planned := render.Set(in)
		pages := render.Pages(planned)
		for _, stage := range []struct {
			name string
			run  func() error
		}{
			{"diagrams", func() error {
				_, err := layout.Diagrams(in.Graph, sheet.DiagramRooms(sheet.ISO)...)
				return err
			}},
			{"plan", func() error { render.Set(in); return nil }},
			{"pages", func() error { render.Pages(planned); return nil }},
			{"pdf", func() error { return pdf.Write(io.Discard, pdf.Doc{Title: name}, pages) }},
			{"build", func() error { _, err := render.Build(in); return err }},
		} {
			b.Run(name+"/"+stage.name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					require.NoError(b, stage.run())
				}
			})
		}
	}
}
