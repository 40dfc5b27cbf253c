package numeric

import (
	"fmt"
	"math"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

var fine = Limit{Steps: 100, Abs: 1e-14}

// Source: Corless et al. 1996, On the Lambert W function; OEIS A030178 for W(1).
func TestPublishedLambert(t *testing.T) {
	src := cite.Source{Title: "Corless et al. 1996, Adv. Comput. Math. 5, 329-359", Where: "special values of W", Standing: cite.FromMemory}
	for _, c := range []struct{ x, want, tol float64 }{
		{1, 0.567143290409783873, 1e-15}, {math.E, 1, 1e-15}, {-math.Ln2 / 2, -math.Ln2, 1e-14}, {-1 / math.E, -1, 2e-8}, {2 * math.Log(2), math.Ln2, 1e-15}, {10, 1.7455280027406994, 5e-16},
	} {
		testkit.Published(t, LambertW(c.x), testkit.Check{What: fmt.Sprintf("W(%.6g)", c.x), Source: src, Want: c.want, Tol: c.tol})
	}
}

// Source: J. Wallis (1685), Newton's example x³ - 2x - 5 = 0, OEIS A007493; OEIS A003957 for cos x = x.
func TestPublishedRoots(t *testing.T) {
	x, err := Brent(func(x float64) float64 { return x*x*x - 2*x - 5 }, 2, 3, fine)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Published(t, x, testkit.Check{What: "root of x³ - 2x - 5, Brent", Source: cite.Source{Title: "OEIS A007493", Standing: cite.FromMemory}, Want: 2.0945514815423265, Tol: 2e-14, Why: "the solver's tolerance"})
	x, err = Newton(func(x float64) float64 { return math.Cos(x) - x }, func(x float64) float64 { return -math.Sin(x) - 1 }, 1, 0, 2, fine)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Published(t, x, testkit.Check{What: "root of cos x - x, Newton", Source: cite.Source{Title: "OEIS A003957", Standing: cite.FromMemory}, Want: 0.7390851332151607, Tol: 2e-14, Why: "the solver's tolerance"})
}

// Source: NIST Digital Library of Mathematical Functions, 5.4.20: the least value of the gamma function.
func TestPublishedMaximum(t *testing.T) {
	x, y, err := Maximum(func(x float64) float64 { return -math.Gamma(x) }, 0.5, 3, Limit{Steps: 100, Abs: 1e-8})
	if err != nil {
		t.Fatal(err)
	}
	src := cite.Source{Title: "NIST Digital Library of Mathematical Functions", Where: "5.4.20", Standing: cite.FromMemory}
	testkit.Published(t, x, testkit.Check{What: "place of the least value of gamma", Source: src, Want: 1.461632144968362, Tol: 1e-7, Why: "an extremum is flat"})
	testkit.Published(t, -y, testkit.Check{What: "least value of gamma", Source: src, Want: 0.885603194410889, Tol: 1e-14})
}

// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.2, twelve gage readings, the R rule.
func TestPublishedQuantile(t *testing.T) {
	x := []float64{95.0610, 95.0925, 95.1065, 95.1195, 95.1442, 95.1567, 95.1591, 95.1682, 95.1772, 95.1937, 95.1959, 95.1990}
	testkit.Published(t, Quantile(x, 0.9), testkit.Check{What: "90th percentile of twelve readings", Source: cite.Source{Title: "NIST/SEMATECH e-Handbook of Statistical Methods", Where: "7.2.6.2", Standing: cite.FromMemory}, Want: 95.1957, Tol: 5e-5})
}

// Source: N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed. (2002), section 28.1:
// the inverse of the Hilbert matrix of order 4 is whole.
func TestPublishedSolve(t *testing.T) {
	a := make([][]float64, 4)
	for i := range a {
		for j := range 4 {
			a[i] = append(a[i], 1/float64(i+j+1))
		}
	}
	x, err := Solve(a, []float64{1, 0, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []float64{16, -120, 240, -140} {
		testkit.Published(t, x[i], testkit.Check{What: fmt.Sprintf("inverse Hilbert matrix of order 4, entry %d,1", i+1), Source: cite.Source{Title: "Higham 2002, Accuracy and Stability of Numerical Algorithms", Where: "section 28.1", Standing: cite.FromMemory}, Want: want, Tol: 1e-10, Why: "condition 1.6e4"})
	}
}
