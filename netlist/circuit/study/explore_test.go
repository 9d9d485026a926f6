package study

import (
	"fmt"
	"os"
	"testing"
	"time"

	"ferrule/netlist"
	"ferrule/netlist/graph"
	"ferrule/netlist/route"
)

func TestExplore(t *testing.T) {
	n, _, err := netlist.Load(os.DirFS("../../../examples/pickup"), "pickup.toml")
	if err != nil {
		n, _, err = netlist.Load(os.DirFS("/work/main/examples/pickup"), "pickup.toml")
	}
	if err != nil {
		t.Fatal(err)
	}
	t0 := time.Now()
	s := New(graph.New(n), route.New(n))
	fmt.Println("new", time.Since(t0), len(s.elements), len(s.rails))
	t0 = time.Now()
	r := s.Sneaks()
	fmt.Println("sneaks", time.Since(t0), r.Cases, r.Skipped, r.Solved, len(r.Found), len(r.Unquiet), r.Unquiet)
	for _, f := range r.Found {
		fmt.Println(f.Severity, f.Text, len(f.States), f.States[0])
		for i, e := range f.Effects {
			if i > 5 {
				fmt.Println("     more", len(f.Effects)-i)
				break
			}
			fmt.Printf("     %s %s %.2f V %.3f A %.0f%% [%s] %s\n", e.What, e.How, e.Volts, e.Amps, e.Share*100, e.State, e.Severity)
		}
	}
	fmt.Println("SERIES")
	for _, e := range r.Series {
		fmt.Printf("     %s %s %.2f V %.3f A %.0f%% [%s] %s\n", e.What, e.How, e.Volts, e.Amps, e.Share*100, e.State, e.Severity)
	}
}
