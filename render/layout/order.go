package layout

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/goccy/go-graphviz"

	"ferrule/render/layout/wasmcache"
)

// The engine has been compiled by now, into a folder that wasmcache chose; the environment is put back.
func init() { wasmcache.Restore() }

// order finds the order of the nodes within each row. Graphviz's layered layout does what it is best at, few crossings;
// its coordinates serve as the order and no more. Ports are then sorted by where their edges come from.
func (b *builder) order(rows [][]*Node, steps []step) error {
	if slices.ContainsFunc(rows, func(row []*Node) bool { return len(row) > 1 }) { // else there is nothing to order
		if err := b.graphviz(rows, steps); err != nil {
			return err
		}
	}
	for _, row := range rows {
		slices.SortStableFunc(row, func(x, y *Node) int { return cmp.Compare(x.x, y.x) })
	}
	b.sortPorts(func(n *Node) float64 { return n.x })
	return nil
}

// sortPorts orders the ports of every node by the place of what is at the other end of their edges. A port's edge may
// pass rows; then the passing node next to it counts.
func (b *builder) sortPorts(place func(*Node) float64) {
	at := func(p *Port, top bool) float64 {
		if top {
			return place(p.Edge.above()) + p.Edge.Upper.nudge(p.Edge)
		}
		return place(p.Edge.beneath()) + p.Edge.Lower.nudge(p.Edge)
	}
	for _, n := range b.nodes {
		switch n.Form {
		case Inline, Loose:
			n.arrange(at)
		case Box:
			n.sortBox(at)
		default:
			for _, top := range [...]bool{true, false} {
				slices.SortStableFunc(n.side(top), func(p, q *Port) int { return cmp.Compare(at(p, top), at(q, top)) })
			}
			if n.Form == Joint {
				span := max(1, len(n.Top), len(n.Bottom))
				center(n.Top, span)
				center(n.Bottom, span)
			}
		}
	}
}

// nudge tells apart the ports of one node at the far ends of edges that do not pass a row, in the order in which they stand;
// it is too little to tell nodes apart.
func (p *Port) nudge(e *Edge) float64 {
	if p == nil || len(e.chain) > 0 {
		return 0
	}
	return float64(p.offset) / 1024
}

// above returns the node just above the edge's lower end; for a plain drop from a rail, the lower node itself.
func (e *Edge) above() *Node {
	switch {
	case len(e.chain) > 0:
		return e.chain[len(e.chain)-1]
	case e.Upper != nil:
		return e.Upper.node
	}
	return e.Lower.node
}

// beneath returns the node just below the edge's upper end.
func (e *Edge) beneath() *Node {
	if len(e.chain) > 0 {
		return e.chain[0]
	}
	return e.Lower.node
}

// Graphviz is one instance for the whole process; the lock keeps callers apart.
var engine struct {
	sync.Mutex
	*graphviz.Graphviz
}

// graphviz runs the layered layout and notes each node's x.
func (b *builder) graphviz(rows [][]*Node, steps []step) error {
	text := dot(rows, steps)
	plain, known := b.a.ordered[text]
	if !known {
		var err error
		if plain, err = runEngine(text); err != nil {
			return err
		}
		b.a.ordered[text] = plain
	}
	return b.readPlain(plain)
}

// runEngine lays out a graph in the engine's language and returns it in the engine's plain format. One call runs at a time.
func runEngine(text string) (string, error) {
	engine.Lock()
	defer engine.Unlock()
	ctx := context.Background()
	if engine.Graphviz == nil {
		gv, err := graphviz.New(ctx)
		if err != nil {
			return "", fmt.Errorf("starting the layout engine: %w", err)
		}
		engine.Graphviz = gv
	}
	parsed, err := graphviz.ParseBytes([]byte(text))
	if err != nil {
		return "", fmt.Errorf("handing the diagram to the layout engine: %w", err)
	}
	defer parsed.Close()
	var out bytes.Buffer
	if err := engine.Render(ctx, parsed, "plain", &out); err != nil {
		return "", fmt.Errorf("ordering the diagram: %w", err)
	}
	return out.String(), nil
}

// dot writes the rows as ranks; every edge spans one, because the passing nodes stand in it. Names are indices only, so
// no text of the netlist reaches the engine.
func dot(rows [][]*Node, steps []step) string {
	var w strings.Builder
	w.WriteString("digraph { ranksep=0.4; nodesep=0.1; node [shape=box,fixedsize=true,height=0.3];\n")
	for i, row := range rows {
		fmt.Fprintf(&w, "{ rank=same; r%d [width=0.1];", i)
		for _, n := range row {
			fmt.Fprintf(&w, " n%d [width=%.2f];", n.index, 0.3*float64(n.width))
		}
		w.WriteString(" }\n")
		if i > 0 {
			fmt.Fprintf(&w, "r%d -> r%d [weight=0];\n", i-1, i)
		}
	}
	for _, s := range steps {
		if s.upper == nil {
			continue
		}
		weight := 1
		if s.upper.Form == passing || s.lower.Form == passing {
			weight = 3
		}
		fmt.Fprintf(&w, "n%d -> n%d [weight=%d];\n", s.upper.index, s.lower.index, weight)
	}
	w.WriteString("}\n")
	return w.String()
}

// readPlain reads lines "node NAME X Y ..." of the plain format.
func (b *builder) readPlain(text string) error {
	for line := range strings.Lines(text) {
		fields := strings.Fields(line)
		if len(fields) < 4 || fields[0] != "node" || !strings.HasPrefix(fields[1], "n") {
			continue
		}
		index, err := strconv.Atoi(fields[1][1:])
		if err != nil || index >= len(b.nodes) {
			return fmt.Errorf("ordering the diagram: unexpected node %q", fields[1])
		}
		x, err := strconv.ParseFloat(fields[2], 64)
		if err != nil {
			return fmt.Errorf("ordering the diagram: unexpected place %q", fields[2])
		}
		b.nodes[index].x = x
	}
	return nil
}
