package bands

import (
	"math"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// ishigami is the function of Ishigami & Homma, three inputs uniform from -π to π, a = 7, b = 0.1.
func ishigami(u []float64) float64 {
	x := func(i int) float64 { return math.Pi * (2*u[i] - 1) }
	return math.Sin(x(0)) + 7*math.Pow(math.Sin(x(1)), 2) + 0.1*math.Pow(x(2), 4)*math.Sin(x(0))
}

// outcomes runs a function over a design.
func outcomes(s *design, f func([]float64) float64) []float64 {
	out, u := make([]float64, s.rows()), make([]float64, s.d)
	for k := range out {
		s.at(k, u)
		out[k] = f(u)
	}
	return out
}

// Source: T. Ishigami & T. Homma 1990, the function's variance in closed form: V = a²/8 + bπ⁴/5 + b²π⁸/18 + 1/2.
func TestIshigami(t *testing.T) {
	src := cite.Source{Title: "Ishigami & Homma 1990, ISUMA", Where: "closed form of the variance and its parts, a = 7, b = 0.1"}
	const a, b = 7, 0.1
	v1 := 0.5 * math.Pow(1+b*math.Pow(math.Pi, 4)/5, 2)
	v2 := a * a / 8.0
	v13 := 8 * b * b * math.Pow(math.Pi, 8) / 225
	v := v1 + v2 + v13
	s := newDesign(1<<16, 3, 1)
	got, variance := s.shares(outcomes(&s, ishigami), 1)
	testkit.Published(t, variance, testkit.Check{What: "variance of the Ishigami function", Source: src, Want: v, Tol: 0.1, Why: "65536 rows"})
	for i, want := range [][2]float64{{v1 / v, (v1 + v13) / v}, {v2 / v, v2 / v}, {0, v13 / v}} {
		testkit.Published(t, got[i].First, testkit.Check{What: "first-order share of an input of the Ishigami function", Source: src, Want: want[0], Tol: 0.01, Why: "65536 rows"})
		testkit.Published(t, got[i].Total, testkit.Check{What: "total share of an input of the Ishigami function", Source: src, Want: want[1], Tol: 0.01, Why: "65536 rows"})
	}
}
