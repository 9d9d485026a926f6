package bundle

import "math/bits"

// A generator gives the same numbers for the same seed in every version of Go, since what it gives decides the packing. It is
// SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014.
type generator uint64

func (g *generator) next() uint64 {
	*g += 0x9e3779b97f4a7c15
	z := uint64(*g)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// Float64 is at least 0 and below 1.
func (g *generator) Float64() float64 { return float64(g.next()>>11) / (1 << 53) }

// IntN is at least 0 and below n. It favours small numbers by no more than n in 2^64.
func (g *generator) IntN(n int) int {
	high, _ := bits.Mul64(g.next(), uint64(n))
	return int(high)
}
