package bands

import (
	"math"
	"math/rand/v2"
)

// design is the rows of a study of variance: rows of A and of B, n each, and for each of d inputs the rows of A
// with that input taken from B. A row is d places in 0..1, ends excluded.
type design struct {
	n, d int
	a, b [][]float64
}

// newDesign lays out n rows of each set for d inputs: each column of each set has one place in every n-th of 0..1, in
// an order of its own (Latin hypercube sampling; McKay, Beckman & Conover 1979, Technometrics 21:239).
func newDesign(n, d int, seed uint64) design {
	random := rand.New(rand.NewPCG(seed, 0x5a17e111))
	s := design{n: n, d: d}
	set := func() [][]float64 {
		rows := make([][]float64, n)
		for j := range rows {
			rows[j] = make([]float64, d)
		}
		for i := range d {
			for j, place := range random.Perm(n) {
				rows[j][i] = math.Min(1-1e-12, math.Max(1e-12, (float64(place)+random.Float64())/float64(n)))
			}
		}
		return rows
	}
	s.a, s.b = set(), set()
	return s
}

// rows returns how many rows the design has: A, B, then A with each input from B.
func (s *design) rows() int { return s.n * (s.d + 2) }

// row says which set row k takes each input from: its place among the n, and for each input whether B's.
func (s *design) row(k int) (j int, fromB func(input int) bool) {
	j = k % s.n
	switch block := k / s.n; block {
	case 0:
		return j, func(int) bool { return false }
	case 1:
		return j, func(int) bool { return true }
	default:
		return j, func(i int) bool { return i == block-2 }
	}
}

// at returns the places of row k.
func (s *design) at(k int, into []float64) {
	j, fromB := s.row(k)
	for i := range into {
		into[i] = s.a[j][i]
		if fromB(i) {
			into[i] = s.b[j][i]
		}
	}
}

// Share is what part of a figure's variance a doubt makes.
type Share struct {
	First      float64 // alone
	FirstError float64 // standard error of it, by resampling
	Total      float64 // alone and with others
	TotalError float64
}

// resamples is how many times the rows are drawn again for the standard errors.
const resamples = 60

// shares returns the variance shares of each input from f, the outcomes of the design's rows: first order by
// Saltelli's estimator, total by Jansen's, and the variance. All are zero where f does not vary.
//
// Over n rows the standard error of a share of 0.1 is about 0.45/√n of either, of 0.5 about 1/√n; it is given with
// each. Source: Saltelli et al. 2010, Comput. Phys. Commun. 181:259, table 2, (b) and (f); Jansen 1999, Comput. Phys. Commun.
// 117:35. From memory; held against a function whose shares are known.
func (s *design) shares(f []float64, seed uint64) (out []Share, variance float64) {
	if len(f) != s.rows() {
		panic("bands: outcomes do not fit the design")
	}
	mean := 0.0
	for _, y := range f[:2*s.n] {
		mean += y / float64(2*s.n)
	}
	all := make([]int, s.n)
	for j := range all {
		all[j] = j
	}
	out = make([]Share, s.d)
	estimate := func(rows []int, into []float64) float64 {
		m := float64(len(rows))
		v, center := 0.0, 0.0
		for _, j := range rows {
			center += (f[j] + f[s.n+j]) / (2 * m)
		}
		for _, j := range rows {
			a, b := f[j]-center, f[s.n+j]-center
			v += (a*a + b*b) / (2 * m)
		}
		for i := range s.d {
			first, total := 0.0, 0.0
			for _, j := range rows {
				a, b, ab := f[j]-center, f[s.n+j]-center, f[(2+i)*s.n+j]-center
				first += b * (ab - a) / m
				total += (a - ab) * (a - ab) / (2 * m)
			}
			into[2*i], into[2*i+1] = 0, 0
			if v > 0 {
				into[2*i], into[2*i+1] = first/v, total/v
			}
		}
		return v
	}
	base := make([]float64, 2*s.d)
	variance = estimate(all, base)
	// A figure that moves by no more than rounding does not vary.
	if variance <= 1e-24*mean*mean {
		return out, 0
	}
	random := rand.New(rand.NewPCG(seed, 0xb007))
	sum, square, again := make([]float64, 2*s.d), make([]float64, 2*s.d), make([]float64, 2*s.d)
	rows := make([]int, s.n)
	for range resamples {
		for j := range rows {
			rows[j] = random.IntN(s.n)
		}
		estimate(rows, again)
		for k, x := range again {
			sum[k] += x / resamples
			square[k] += x * x / resamples
		}
	}
	spread := func(k int) float64 { return math.Sqrt(math.Max(0, square[k]-sum[k]*sum[k])) }
	for i := range out {
		out[i] = Share{First: held(base[2*i]), FirstError: spread(2 * i), Total: held(base[2*i+1]), TotalError: spread(2*i + 1)}
	}
	return out, variance
}

// held keeps a share's estimate within 0..1, where shares are.
func held(x float64) float64 { return math.Max(0, math.Min(1, x)) }
