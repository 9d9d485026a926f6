package sparse

import "math"

// dense is a small square matrix in rows, factorised by Gaussian elimination with
// partial pivoting.
type dense struct {
	size  int
	at    []float64
	scale []float64 // what each row was multiplied by
	row   []int     // order of the rows after pivoting
	swap  []float64
}

func newDense(size int) dense {
	return dense{size, make([]float64, size*size), make([]float64, size), make([]int, size), make([]float64, size)}
}

func (d *dense) scaleRow(i int, by float64) {
	d.scale[i] = by
	for j := range d.size {
		d.at[i*d.size+j] *= by
	}
}

// factor reports false as soon as no pivot of at least the given magnitude is left.
func (d *dense) factor(least float64) bool {
	n := d.size
	for i := range d.row {
		d.row[i] = i
	}
	for c := range n {
		best := c
		for i := c + 1; i < n; i++ {
			if math.Abs(d.at[d.row[i]*n+c]) > math.Abs(d.at[d.row[best]*n+c]) {
				best = i
			}
		}
		d.row[c], d.row[best] = d.row[best], d.row[c]
		top := d.at[d.row[c]*n : d.row[c]*n+n]
		if !(math.Abs(top[c]) >= least) {
			return false
		}
		for _, r := range d.row[c+1:] {
			under := d.at[r*n : r*n+n]
			under[c] /= top[c]
			for j := c + 1; j < n; j++ {
				under[j] -= under[c] * top[j]
			}
		}
	}
	return true
}

// solve replaces the right-hand side by the solution.
func (d *dense) solve(x []float64) {
	n := d.size
	for c, r := range d.row {
		sum := x[r] * d.scale[r]
		for j := range c {
			sum -= d.at[r*n+j] * d.swap[j]
		}
		d.swap[c] = sum
	}
	for c := n - 1; c >= 0; c-- {
		r := d.row[c]
		for j := c + 1; j < n; j++ {
			d.swap[c] -= d.at[r*n+j] * d.swap[j]
		}
		d.swap[c] /= d.at[r*n+c]
	}
	copy(x, d.swap)
}
