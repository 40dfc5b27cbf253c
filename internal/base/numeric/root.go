package numeric

import (
	"fmt"
	"math"
)

// epsilon is the distance from 1 to the next float64.
const epsilon = 0x1p-52

func finite(x ...float64) bool {
	for _, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// Brent returns a root of f between a and b, where f must change sign; else ErrNoBracket. It panics
// on ends that are not finite. The result is within the limit's tolerance of a change of sign.
// Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), ch. 4, procedure zero.
func Brent(f func(float64) float64, a, b float64, l Limit) (float64, error) {
	l.check()
	if !finite(a, b) {
		panic("numeric: interval not finite")
	}
	fa, fb := f(a), f(b)
	if !finite(fa, fb) {
		return 0, fmt.Errorf("f(%g) = %g, f(%g) = %g: %w", a, fa, b, fb, ErrNotFinite)
	}
	if fa == 0 {
		return a, nil
	}
	if fb == 0 {
		return b, nil
	}
	if (fa > 0) == (fb > 0) {
		return 0, fmt.Errorf("f(%g) = %g, f(%g) = %g: %w", a, fa, b, fb, ErrNoBracket)
	}
	c, fc := a, fa
	d, e := b-a, b-a // the last step and the one before
	for range l.Steps {
		if (fb > 0) == (fc > 0) {
			c, fc, d, e = a, fa, b-a, b-a
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		tol := 2*epsilon*math.Abs(b) + 0.5*(l.Abs+l.Rel*math.Abs(b))
		m := 0.5 * (c - b)
		if fb == 0 || math.Abs(m) <= tol {
			return b, nil
		}
		if math.Abs(e) < tol || math.Abs(fa) <= math.Abs(fb) {
			d, e = m, m
		} else {
			s := fb / fa
			p, q := 2*m*s, 1-s // secant
			if a != c {        // inverse quadratic
				u, r := fa/fc, fb/fc
				p, q = s*(2*m*u*(u-r)-(b-a)*(r-1)), (u-1)*(r-1)*(s-1)
			}
			if p > 0 {
				q = -q
			}
			p = math.Abs(p)
			if 2*p < math.Min(3*m*q-math.Abs(tol*q), math.Abs(e*q)) {
				e, d = d, p/q
			} else {
				d, e = m, m
			}
		}
		a, fa = b, fb
		if math.Abs(d) > tol {
			b += d
		} else {
			b += math.Copysign(tol, m)
		}
		fb = f(b)
		if !finite(fb) {
			return 0, fmt.Errorf("f(%g) = %g: %w", b, fb, ErrNotFinite)
		}
	}
	return 0, fmt.Errorf("near %g: %w", b, ErrNoConvergence)
}

// Newton returns a root of f, whose derivative is df, from the start x inside [low, high]. A step that
// would leave the interval goes halfway to the bound it would cross. The result is where a step is
// within the limit's tolerance; ErrNoConvergence after its steps. It panics on a start outside.
func Newton(f, df func(float64) float64, x, low, high float64, l Limit) (float64, error) {
	l.check()
	if !(low <= x && x <= high) || !finite(low, high) {
		panic("numeric: start outside its bounds")
	}
	for range l.Steps {
		y, slope := f(x), df(x)
		if y == 0 {
			return x, nil
		}
		next := x - y/slope
		if !finite(y, slope, next) {
			return 0, fmt.Errorf("f(%g) = %g, slope %g: %w", x, y, slope, ErrNotFinite)
		}
		if next < low {
			next = 0.5 * (x + low)
		}
		if next > high {
			next = 0.5 * (x + high)
		}
		step := math.Abs(next - x)
		x = next
		if step <= l.Abs+l.Rel*math.Abs(x) {
			return x, nil
		}
	}
	return 0, fmt.Errorf("near %g: %w", x, ErrNoConvergence)
}

// golden is the smaller part of the golden section, (3-√5)/2.
const golden = 0.3819660112501051

// Maximum returns the place and height of a maximum of f between a and b: the highest one where f has
// a single peak, else some peak. A peak is flat, so no tolerance below about 1e-8 of x is reached.
// Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), ch. 5, procedure localmin.
func Maximum(f func(float64) float64, a, b float64, l Limit) (x, y float64, err error) {
	l.check()
	if !finite(a, b) || !(a < b) {
		panic("numeric: interval empty or not finite")
	}
	x = a + golden*(b-a)
	v, w := x, x
	y = f(x)
	fv, fw := y, y
	var d, e float64
	for range l.Steps {
		m := 0.5 * (a + b)
		tol := 1e-9*math.Abs(x) + 0.25*(l.Abs+l.Rel*math.Abs(x))
		if math.Abs(x-m) <= 2*tol-0.5*(b-a) {
			return x, y, nil
		}
		var p, q, r float64
		if math.Abs(e) > tol { // a parabola through x, v and w
			r = (x - w) * (y - fv)
			q = (x - v) * (y - fw)
			p = (x-v)*q - (x-w)*r
			q = 2 * (q - r)
			if q > 0 {
				p = -p
			}
			q = math.Abs(q)
			r, e = e, d
		}
		if math.Abs(p) < math.Abs(0.5*q*r) && p > q*(a-x) && p < q*(b-x) {
			d = p / q
			if u := x + d; u-a < 2*tol || b-u < 2*tol {
				d = math.Copysign(tol, m-x)
			}
		} else {
			e = b - x
			if x >= m {
				e = a - x
			}
			d = golden * e
		}
		u := x + d
		if math.Abs(d) < tol {
			u = x + math.Copysign(tol, d)
		}
		fu := f(u)
		if !finite(fu) {
			return 0, 0, fmt.Errorf("f(%g) = %g: %w", u, fu, ErrNotFinite)
		}
		if fu >= y {
			if u < x {
				b = x
			} else {
				a = x
			}
			v, fv, w, fw, x, y = w, fw, x, y, u, fu
			continue
		}
		if u < x {
			a = u
		} else {
			b = u
		}
		if fu >= fw || w == x {
			v, fv, w, fw = w, fw, u, fu
		} else if fu >= fv || v == x || v == w {
			v, fv = u, fu
		}
	}
	return 0, 0, fmt.Errorf("near %g: %w", x, ErrNoConvergence)
}
