package sparse

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Change is one difference between a Variant and its Factor: made by SetBranch or
// Bridge.
type Change struct {
	branch  int32 // -1: a new branch
	a, b    int32 // nodes of the new branch
	siemens float64
}

// SetBranch gives a branch of the pattern another conductance; 0 opens it.
func SetBranch(branch int32, siemens float64) Change {
	return Change{branch: branch, siemens: siemens}
}

// Bridge adds a conductance between two nodes, whether or not the pattern joins
// them: a short circuit, say.
func Bridge(a, b int32, siemens float64) Change {
	return Change{branch: -1, a: a, b: b, siemens: siemens}
}

const (
	// maxRank is the number of changes above which factorising anew costs less than
	// the dense matrix of the changes.
	maxRank = 32
	// singularShare is how much of a pivot of that matrix may cancel. At 1e-6 a solution
	// still has ten digits, which the refinement step makes sixteen.
	singularShare = 1e-6
	// residualLimit is the relative residual above which an updated solution is not believed.
	residualLimit = 1e-11
)

// Variant is a Factor with changes. It shares the factor's memory, is void after the
// factor's Refactor, and belongs to one goroutine.
type Variant struct {
	base     *Factor
	born     int // base.refactored when the variant was made
	changes  []Change
	bridges  int
	network  network
	steps    []step
	dense    dense
	scratch  []float64
	currents []float64
	full     *Factor // factorised anew, when the update would not have been accurate

	condition float64 // 0 until asked for
}

// step is a change as the matrix sees it: positions and additional conductance.
type step struct {
	a, b  int32
	delta float64
}

// errVoid is returned by a Variant whose factor went on to another state.
var errVoid = errors.New("the factor was factorised again after this variant was made: make the variant anew")

// With prepares the network with changes for solving, without factorising anew
// unless the changes cut something off (Refactored tells). It fails with an
// *InputError on a branch or node that does not exist, on a branch changed
// twice, and on a conductance that Factor would refuse.
func (f *Factor) With(changes []Change) (*Variant, error) {
	if err := f.checkChanges(changes); err != nil {
		return nil, err
	}
	v := &Variant{base: f, born: f.refactored, changes: slices.Clone(changes)}
	v.apply()
	if len(v.steps) > maxRank || v.touchesFloating() || !v.prepareDense() {
		return v, v.refactor()
	}
	v.scratch = make([]float64, len(f.inverse))
	v.currents = make([]float64, len(v.steps))
	return v, nil
}

func (f *Factor) checkChanges(changes []Change) error {
	seen := make(map[int32]bool, len(changes))
	nodes := int32(len(f.pattern.node))
	for i, c := range changes {
		if err := checkSiemens("changed conductance", []float64{c.siemens}); err != nil {
			return err
		}
		problem := ""
		switch {
		case c.branch >= 0 && int(c.branch) >= len(f.siemens):
			problem = fmt.Sprintf("branch %d does not exist, there are %d", c.branch, len(f.siemens))
		case c.branch >= 0 && seen[c.branch]:
			problem = fmt.Sprintf("branch %d is changed twice", c.branch)
		case c.branch < -1:
			problem = fmt.Sprintf("branch %d does not exist", c.branch)
		case c.branch < 0 && (c.a < 0 || c.b < 0 || c.a >= nodes || c.b >= nodes):
			problem = fmt.Sprintf("bridges nodes %d and %d, but the nodes are 0 to %d", c.a, c.b, nodes-1)
		}
		if problem != "" {
			return &InputError{"change", i, c.siemens, problem}
		}
		if c.branch >= 0 {
			seen[c.branch] = true
		}
	}
	return nil
}

// apply derives the changed network and the steps from the changes.
func (v *Variant) apply() {
	p := v.base.pattern
	n := network{factor: v.base, from: p.from, to: p.to, substitute: v.substitute}
	// Clipped, so that appending never writes behind the pattern's own slices.
	n.from, n.to = slices.Clip(n.from), slices.Clip(n.to)
	n.siemens = slices.Clone(v.base.siemens)
	for _, c := range v.changes {
		s := step{delta: c.siemens}
		if c.branch >= 0 {
			s = step{p.from[c.branch], p.to[c.branch], c.siemens - v.base.siemens[c.branch]}
			n.siemens[c.branch] = c.siemens
		} else {
			s.a, s.b = p.place[c.a], p.place[c.b]
			v.bridges++
			n.from, n.to = append(n.from, s.a), append(n.to, s.b)
			n.siemens = append(n.siemens, c.siemens)
		}
		if s.delta != 0 && s.a != s.b && !(v.base.held[s.a] && v.base.held[s.b]) {
			v.steps = append(v.steps, s)
		}
	}
	v.network = n
}

func (v *Variant) touchesFloating() bool {
	return slices.ContainsFunc(v.steps, func(s step) bool { return v.base.floats(s.a) || v.base.floats(s.b) })
}

// prepareDense factorises I + delta UᵀA⁻¹U, where column j of U is +1 at one end of
// change j and -1 at the other. It reports false where that is nearly singular.
func (v *Variant) prepareDense() bool {
	k := len(v.steps)
	v.dense = newDense(k)
	path := v.path()
	x := make([]float64, len(v.base.inverse))
	for j, s := range v.steps {
		x[s.a]++
		x[s.b]--
		v.base.substituteAlong(x, path)
		for i, t := range v.steps {
			v.dense.at[i*k+j] = t.delta * (x[t.a] - x[t.b])
		}
		for _, at := range path {
			x[at] = 0
		}
	}
	for i := range k {
		own := v.dense.at[i*k+i]
		v.dense.at[i*k+i] = 1 + own
		// A change of conductance may be of any size; the scale makes pivots comparable.
		v.dense.scaleRow(i, 1/(1+math.Abs(own)))
	}
	return v.dense.factor(singularShare)
}

// path lists the ends of the changes and all their ancestors in the elimination
// tree, ascending. A solve for currents at those ends touches nothing else on
// the way forward, and needs nothing else on the way back.
func (v *Variant) path() []int32 {
	p := v.base.pattern
	var path []int32
	seen := make([]bool, len(p.node))
	for _, s := range v.steps {
		for _, k := range [2]int32{s.a, s.b} {
			for ; k >= 0 && !seen[k]; k = p.parent(k) {
				seen[k] = true
				path = append(path, k)
			}
		}
	}
	slices.Sort(path)
	return path
}

// substituteAlong is substitute restricted to positions that contain, with each, all its ancestors.
func (f *Factor) substituteAlong(x []float64, path []int32) {
	p := f.pattern
	for _, k := range path {
		for a := p.start[k]; a < p.start[k+1]; a++ {
			x[p.rows[a]] += f.ratio[a] * x[k]
		}
	}
	for i := len(path) - 1; i >= 0; i-- {
		k := path[i]
		volts := x[k] * f.inverse[k]
		for a := p.start[k]; a < p.start[k+1]; a++ {
			volts += f.ratio[a] * x[p.rows[a]]
		}
		x[k] = volts
	}
}

// substitute is Factor.substitute for the changed matrix: A⁻¹x, less the potentials
// of the currents that the changes carry, so found that they fit the result.
func (v *Variant) substitute(x []float64) {
	v.base.substitute(x)
	if len(v.steps) == 0 {
		return
	}
	for i, s := range v.steps {
		v.currents[i] = s.delta * (x[s.a] - x[s.b])
	}
	v.dense.solve(v.currents)
	clear(v.scratch)
	for i, s := range v.steps {
		v.scratch[s.a] += v.currents[i]
		v.scratch[s.b] -= v.currents[i]
	}
	v.base.substitute(v.scratch)
	for k, volts := range v.scratch {
		x[k] -= volts
	}
}

// refactor factorises the changed network, on a pattern of its own if it has more branches.
func (v *Variant) refactor() error {
	p := v.base.pattern
	if v.bridges > 0 {
		branches := slices.Clone(p.branches)
		for _, c := range v.changes {
			if c.branch < 0 {
				branches = append(branches, Branch{c.a, c.b})
			}
		}
		var err error
		if p, err = Analyze(len(p.node), branches); err != nil {
			return fmt.Errorf("changed network: %w", err)
		}
	}
	state := State{Siemens: v.network.siemens, Held: make([]bool, len(p.node)), Shunt: make([]float64, len(p.node))}
	for k, node := range v.base.pattern.node {
		state.Held[node], state.Shunt[node] = v.base.held[k], v.base.shunt[k]
	}
	full, err := p.Factor(state)
	if err != nil {
		return fmt.Errorf("changed network: %w", err)
	}
	v.full = full
	return nil
}

// Refactored tells whether the changed network was factorised anew.
func (v *Variant) Refactored() bool { return v.full != nil }

// Floating lists the islands of the changed network, as Factor.Floating does.
func (v *Variant) Floating() [][]int32 { return v.valid().Floating() }

// valid is the factor whose islands are those of the changed network: changes that
// cut off or reconnect an island are always factorised anew.
func (v *Variant) valid() *Factor {
	if v.full != nil {
		return v.full
	}
	return v.base
}

// Condition is the condition number of the changed network, see Factor.Condition.
func (v *Variant) Condition() float64 {
	if v.full != nil {
		return v.full.Condition()
	}
	if v.condition == 0 {
		v.condition = v.measureCondition()
	}
	return v.condition
}

func (v *Variant) measureCondition() float64 {
	f := v.base
	rowSum := slices.Clone(f.rowSum)
	for _, s := range v.steps {
		twice := 2.0
		if f.held[s.a] || f.held[s.b] {
			twice = 1
		}
		rowSum[s.a] += twice * s.delta
		rowSum[s.b] += twice * s.delta
	}
	return f.matrixNorm(rowSum) * f.measureInverse(make([]float64, len(rowSum)), v.substitute)
}

// Solve is Factor.Solve for the changed network. A solution whose residual shows
// that the update lost accuracy is discarded and the network factorised anew.
func (v *Variant) Solve(dst *Solution, src Sources) error {
	if v.born != v.base.refactored {
		return errVoid
	}
	if err := v.base.pattern.checkSources(src); err != nil {
		return err
	}
	if v.full == nil {
		v.network.solve(dst, src)
		if !(dst.ResidualRelative <= residualLimit) {
			if err := v.refactor(); err != nil {
				return err
			}
		}
	}
	if v.full != nil {
		v.full.network().solve(dst, src)
	}
	dst.Condition = v.Condition()
	own := len(v.base.siemens)
	dst.Bridges = append(dst.Bridges[:0], dst.Amperes[own:]...)
	dst.Amperes = dst.Amperes[:own]
	return nil
}
