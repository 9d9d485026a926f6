package sheet

import "ferrule/netlist/cut"

// Cut works out when somebody first asks, and once, what is cut for the harness.
func (s *Set) Cut() *cut.Plan {
	s.cutOnce.Do(func() { s.cut = cut.New(s.Netlist, s.Routes) })
	return s.cut
}
