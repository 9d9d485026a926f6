package circuit

import (
	"slices"
	"sync"

	"ferrule/netlist/graph"
	"ferrule/netlist/model"
)

// memo keeps the solutions of states as they stand. The report, the sizing and the studies of a check all begin with them.
type memo struct {
	mu     sync.Mutex
	solved map[memoKey]func() *Solution
}

// memoKey is a state with those circumstances that can be compared.
type memoKey struct {
	state        *model.State
	idle, mean   bool
	engine       Engine
	charge       float64
	batteryVolts float64
	overTime     bool // a solution for means over time (SolveMean)
}

// keyOf returns the key of a solution that may be kept: one without anything that is put in, taken out or was before.
func keyOf(cond *graph.Condition, o *Options) (memoKey, bool) {
	plain := o.Full == nil && o.warm == nil && o.BatteryCelsius == nil && o.Open == nil && o.Extra == nil && o.Positions == nil && o.Turning == nil && o.From == nil
	return memoKey{state: cond.State, idle: o.Idle, mean: o.Mean, engine: o.Engine, charge: o.Charge, batteryVolts: o.BatteryVolts}, plain
}

// kept returns the solution of a key, worked out by the first who asks; others who ask meanwhile wait for it. Nobody may
// change it.
func (c *Circuit) kept(key memoKey, solve func() *Solution) *Solution {
	c.memo.mu.Lock()
	once := c.memo.solved[key]
	if once == nil {
		if c.memo.solved == nil {
			c.memo.solved = map[memoKey]func() *Solution{}
		}
		once = sync.OnceValue(solve)
		c.memo.solved[key] = once
	}
	c.memo.mu.Unlock()
	return once()
}

// clone copies a solution whose currents and voltages are to be changed.
func (s *Solution) clone() *Solution {
	c := *s
	c.Volts, c.Amps, c.across, c.Extra = slices.Clone(s.Volts), slices.Clone(s.Amps), slices.Clone(s.across), slices.Clone(s.Extra)
	return &c
}
