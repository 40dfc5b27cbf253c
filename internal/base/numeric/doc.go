// Package numeric holds the few numerical methods the models need: roots, a maximum, interpolation,
// a small linear system, quantiles, and Lambert's W of an exponential. It works on float64 only.
//
// Every loop has a limit; a method that does not reach its tolerance within it returns an error that
// wraps ErrNoConvergence. NaN and infinity never leave a function without an error.
//
// It leaves out fits of several parameters, differential equations and large systems.
package numeric

import "errors"

// What can go wrong with good arguments.
var (
	ErrNoBracket     = errors.New("no change of sign in the interval")
	ErrNoConvergence = errors.New("no convergence within the limit of steps")
	ErrNotFinite     = errors.New("a value is not finite")
	ErrSingular      = errors.New("the system has no single solution")
)

// Limit says when an iteration ends: at Abs + Rel·|x| from the solution, or in error after Steps.
type Limit struct {
	Steps    int
	Abs, Rel float64
}

// check panics on a limit that ends nothing.
func (l Limit) check() {
	if l.Steps < 1 || !(l.Abs >= 0) || !(l.Rel >= 0) || l.Abs+l.Rel == 0 {
		panic("numeric: limit without steps or tolerance")
	}
}
