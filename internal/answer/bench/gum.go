package bench

import (
	"math"
	"sort"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
)

// Part is one contribution to an uncertainty.
type Part struct {
	Name     string
	Standard quantity.Ratio // standard uncertainty it makes in the result, in the result's unit or relative
	Freedom  float64        // degrees of freedom; 0: infinitely many
}

// Budget is a combined uncertainty with its parts, largest first.
type Budget struct {
	Parts    []Part
	Standard quantity.Ratio
	Freedom  float64 // effective; 0: infinitely many
	Coverage float64 // k
	Expanded quantity.Ratio
}

// Combine returns the budget of independent parts at a level of confidence between 0.5 and 0.9999: root
// of the sum of squares, effective degrees of freedom by Welch and Satterthwaite, cut to a whole number
// (a hundredth short counts),
// and Student's factor for them. It panics outside the range and for a part below zero or not finite.
// Source: JCGM 100:2008 (GUM), eq. 11a and G.2b, G.4.1.
func Combine(parts []Part, level quantity.Ratio) Budget {
	b := Budget{Parts: append([]Part(nil), parts...)}
	sum, fourth := 0.0, 0.0
	for _, p := range parts {
		u := p.Standard.Float()
		if !(u >= 0) || math.IsInf(u, 0) {
			panic("bench: a part of a budget is no uncertainty")
		}
		sum += u * u
		if p.Freedom > 0 {
			fourth += u * u * u * u / p.Freedom
		}
	}
	b.Standard = quantity.Ratio(math.Sqrt(sum))
	if fourth > 0 {
		b.Freedom = math.Max(1, math.Floor(sum*sum/fourth+0.01))
	}
	b.Coverage = Coverage(level, b.Freedom)
	b.Expanded = quantity.Ratio(b.Coverage * b.Standard.Float())
	sort.SliceStable(b.Parts, func(i, j int) bool { return b.Parts[i].Standard > b.Parts[j].Standard })
	return b
}

// Without returns the budget if a part were not there, at 95 %.
func (b *Budget) Without(name string) Budget {
	var rest []Part
	for _, p := range b.Parts {
		if p.Name != name {
			rest = append(rest, p)
		}
	}
	return Combine(rest, level95)
}

// level95 is the level of confidence of all our intervals.
const level95 = 0.95

// Bound returns the standard uncertainty of a value known to lie within ± a, all within alike. Source:
// JCGM 100:2008, eq. 7.
func Bound(a quantity.Ratio) quantity.Ratio {
	return quantity.Ratio(math.Abs(a.Float()) / math.Sqrt(3))
}

// Coverage returns the factor that widens a standard uncertainty of so many degrees of freedom, 0 for
// infinitely many, to an interval of a level of confidence between 0.5 and 0.9999: Student's t, two-sided.
// Degrees of freedom are cut to a whole number of 1 or more. Within 1e-6. It panics outside. Source:
// Abramowitz & Stegun, Handbook of Mathematical Functions (1964), 26.7.3 and 26.7.4.
func Coverage(level quantity.Ratio, freedom float64) float64 {
	p := level.Float()
	if !(p >= 0.5 && p <= 0.9999) || !(freedom >= 0) {
		panic("bench: no such coverage")
	}
	n := int(math.Min(freedom, 2000))
	if freedom > 0 && n < 1 {
		n = 1
	}
	within := func(t float64) float64 {
		if freedom == 0 || n >= 2000 {
			return math.Erf(t/math.Sqrt2) - p
		}
		return student(t, n) - p
	}
	t, err := numeric.Brent(within, 0, 1e4, numeric.Limit{Steps: 200, Abs: 1e-8})
	if err != nil {
		panic("bench: coverage: " + err.Error())
	}
	return t
}

// student returns the probability that Student's t of n degrees of freedom lies within ± t.
func student(t float64, n int) float64 {
	theta := math.Atan(t / math.Sqrt(float64(n)))
	c, s := math.Cos(theta), math.Sin(theta)
	if n%2 == 1 {
		sum, term := 0.0, c
		for k := 3; k <= n; k += 2 {
			sum += term
			term *= c * c * float64(k-1) / float64(k)
		}
		return 2 / math.Pi * (theta + s*sum)
	}
	sum, term := 0.0, 1.0
	for k := 2; k <= n; k += 2 {
		sum += term
		term *= c * c * float64(k-1) / float64(k)
	}
	return s * sum
}

// Verdict is what a reading proves.
type Verdict int

const (
	CannotTell Verdict = iota
	Pass
	Fail
)

// String returns the verdict as printed.
func (v Verdict) String() string { return [...]string{"cannot tell", "pass", "fail"}[v] }

// Guarded returns the verdict on a ratio of known expanded uncertainty against the least that is wanted:
// fail only where even the upper end lies below the limit, pass only where even the lower end lies above.
// Source: guard bands after JCGM 106:2012, clause 8.3.
func Guarded(ratio, expanded, limit quantity.Ratio) Verdict {
	switch {
	case ratio+expanded < limit:
		return Fail
	case ratio-expanded > limit:
		return Pass
	}
	return CannotTell
}
