package numeric

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// W(e^x) solves w + ln w = x over the whole range.
func TestWExpResidual(t *testing.T) {
	worst := 0.0
	for x := -700.0; x <= 2000; x += 0.137 {
		w := WExp(x)
		r := math.Abs(w+math.Log(w)-x) / math.Max(1, math.Abs(x))
		worst = math.Max(worst, r)
	}
	if worst > 4e-16 {
		t.Errorf("residual %g, want at most 4e-16", worst)
	}
	for _, x := range []float64{-1e6, -745, 1e15, 1e300} {
		if w := WExp(x); !finite(w) || w < 0 {
			t.Errorf("WExp(%g) = %g", x, w)
		}
	}
	for x := -0.367879; x < 50; x += 0.00731 {
		w := LambertW(x)
		if r := math.Abs(w*math.Exp(w) - x); r > 1e-14*math.Max(1, math.Abs(x)) {
			t.Fatalf("W(%g) = %g, residual %g", x, w, r)
		}
	}
}

// The roots of cubics with a known root are found, by both methods where each must.
func TestRoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(-50, 50).Draw(t, "root")
		k := rapid.Float64Range(0.01, 100).Draw(t, "slope")
		f := func(x float64) float64 { return (x - r) * (k + (x-r)*(x-r)) }
		df := func(x float64) float64 { return k + 3*(x-r)*(x-r) }
		got, err := Brent(f, -60, 70, Limit{Steps: 200, Abs: 1e-12})
		if err != nil || math.Abs(got-r) > 1e-11 {
			t.Fatalf("Brent: got %g, %v, want %g", got, err, r)
		}
		got, err = Newton(f, df, 60, -60, 70, Limit{Steps: 200, Abs: 1e-12})
		if err != nil || math.Abs(got-r) > 1e-11 {
			t.Fatalf("Newton: got %g, %v, want %g", got, err, r)
		}
		x, y, err := Maximum(func(x float64) float64 { return k - (x-r)*(x-r) }, -60, 70, Limit{Steps: 200, Abs: 1e-6})
		if err != nil || math.Abs(x-r) > 1e-5 || math.Abs(y-k) > 1e-9 {
			t.Fatalf("Maximum: got %g at %g, %v, want %g at %g", y, x, err, k, r)
		}
	})
}

// What cannot be found is an error of its kind, not a number.
func TestNumericFaults(t *testing.T) {
	one := func(float64) float64 { return 1 }
	if _, err := Brent(one, 0, 1, fine); !errors.Is(err, ErrNoBracket) {
		t.Error(err)
	}
	if _, err := Brent(func(x float64) float64 { return x - 0.3 }, 0, 1, Limit{Steps: 1, Abs: 1e-15}); !errors.Is(err, ErrNoConvergence) {
		t.Error(err)
	}
	if _, err := Newton(one, func(float64) float64 { return 0 }, 0, -1, 1, fine); !errors.Is(err, ErrNotFinite) {
		t.Error(err)
	}
	if _, err := Newton(func(x float64) float64 { return x*x + 1 }, func(x float64) float64 { return 2 * x }, 0.5, -1, 1, Limit{Steps: 40, Abs: 1e-12}); err == nil {
		t.Error("a root of x² + 1")
	}
	if _, err := Brent(func(x float64) float64 { return math.Log(x) }, -1, 1, fine); !errors.Is(err, ErrNotFinite) {
		t.Error(err)
	}
	if _, err := Solve([][]float64{{1, 2}, {2, 4}}, []float64{1, 2}); !errors.Is(err, ErrSingular) {
		t.Error(err)
	}
	if _, err := Solve([][]float64{{math.NaN()}}, []float64{1}); !errors.Is(err, ErrNotFinite) {
		t.Error(err)
	}
	for name, f := range map[string]func(){
		"limit": func() { _, _ = Brent(one, 0, 1, Limit{}) }, "table": func() { Linear([]float64{1, 1}, []float64{0, 0}, 1) }, "quantile": func() { Quantile(nil, 0.5) },
		"W": func() { LambertW(-1) }, "WExp": func() { WExp(math.NaN()) }, "square": func() { _, _ = Solve([][]float64{{1, 2}}, []float64{1}) }, "start": func() { _, _ = Newton(one, one, 5, 0, 1, fine) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic on a caller's fault", name)
				}
			}()
			f()
		}()
	}
}

// The monotone curve passes its points, rises where they rise, and keeps a straight line; the table is
// RPN 14 of Fritsch & Carlson 1980, a classic for overshoot.
func TestMonotone(t *testing.T) {
	x := []float64{7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20}
	y := []float64{0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994}
	c := Monotone(x, y)
	last := -1.0
	for at := 7.0; at < 21; at += 0.001 {
		v := c.At(at)
		if v < last-1e-15 || v > 1 {
			t.Fatalf("at %g: %.12g after %.12g", at, v, last)
		}
		last = v
	}
	for i := range x {
		if math.Abs(c.At(x[i])-y[i]) > 1e-15 {
			t.Errorf("misses its point %g", x[i])
		}
	}
	line := Monotone([]float64{0, 1, 3, 7}, []float64{1, 3, 7, 15})
	if got := line.At(4.4); math.Abs(got-9.8) > 1e-13 {
		t.Errorf("a line gives %g, want 9.8", got)
	}
	z := [][]float64{{0, 2}, {1, 3}}
	if got := Bilinear([]float64{0, 1}, []float64{0, 1}, z, 0.25, 0.5); got != 1.25 {
		t.Errorf("bilinear %g, want 1.25", got)
	}
	if got := Bilinear([]float64{0, 1}, []float64{0, 1}, z, -4, 9); got != 2 {
		t.Errorf("beyond the corner %g, want 2", got)
	}
	if got := Linear([]float64{0, 1, 3}, []float64{0, 10, 50}, 2); got != 30 {
		t.Errorf("linear %g, want 30", got)
	}
}

// A system made from its solution gives it back; a quantile rises with its share.
func TestSolveAndQuantile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "order")
		a, want, b := make([][]float64, n), make([]float64, n), make([]float64, n)
		for i := range n {
			a[i] = rapid.SliceOfN(rapid.Float64Range(-1, 1), n, n).Draw(t, "row")
			a[i][i] += 7 // well conditioned
			want[i] = rapid.Float64Range(-10, 10).Draw(t, "x")
		}
		for i := range n {
			for j := range n {
				b[i] += a[i][j] * want[j]
			}
		}
		got, err := Solve(a, b)
		if err != nil {
			t.Fatal(err)
		}
		for i := range n {
			if math.Abs(got[i]-want[i]) > 1e-11 {
				t.Fatalf("got %v, want %v", got, want)
			}
		}
		s := slices.Sorted(slices.Values(want))
		p, q := rapid.Float64Range(0, 1).Draw(t, "p"), rapid.Float64Range(0, 1).Draw(t, "q")
		if p > q {
			p, q = q, p
		}
		if Quantile(s, p) > Quantile(s, q) || Quantile(s, 0) != s[0] || Quantile(s, 1) != s[n-1] {
			t.Fatalf("quantiles of %v", s)
		}
	})
}

func BenchmarkWExp(b *testing.B) {
	for i := range b.N {
		WExp(float64(i%200) - 100)
	}
}
