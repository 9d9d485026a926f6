package study

import (
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"ferrule/netlist"
	"ferrule/netlist/circuit"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

func TestExplore(t *testing.T) {
	n, d, err := netlist.Load(os.DirFS("../../../examples/pickup"), "pickup.toml")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println(len(d), len(n.Pins), len(n.Parts), len(n.Connectors))
	g := graph.New(n)
	c := circuit.New(g, route.New(n))
	fmt.Println(len(c.Branches), len(c.Missing), len(c.Assumptions))
	for _, m := range c.Missing {
		fmt.Println(m.Ref, m.What, m.Add)
	}
	for _, cond := range g.Conditions() {
		t0 := time.Now()
		s := c.Solve(cond, circuit.Options{})
		fl := 0
		for _, v := range s.Volts {
			if math.IsNaN(v) {
				fl++
			}
		}
		fmt.Println(cond.Name(), time.Since(t0), s.Rounds, s.Settled, s.Cycle, s.Residual, fl, s.Err)
	}
}
