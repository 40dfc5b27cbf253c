package diagnose

import (
	"math"
	"math/rand/v2"
	"runtime/debug"
	"sync"
	"testing"

	"noonmark/internal/testkit"
)

// study runs so many cases of a seed, simulated some at a time, two at once.
func study(t testing.TB, seed uint64, cases, tests int) *tally {
	const batch = 40
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // many small circuits, short-lived
	program := testkit.Ngspice(t)
	var mu sync.Mutex
	out := &tally{by: map[Fault][3]int{}, drawn: map[Fault]int{}}
	work := make(chan int)
	var wg sync.WaitGroup
	for range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for first := range work {
				var drawn []*drawnCase
				var worlds []asked
				for n := first; n < min(cases, first+batch); n++ {
					d := drawCase(seed, n)
					drawn = append(drawn, d)
					worlds = append(worlds, d.asked)
				}
				for k, seen := range simulate(t, program, worlds, 100) {
					drawn[k].seen = seen
					out.one(t, &mu, seed, drawn[k], tests)
				}
			}
		}()
	}
	for n := 0; n < cases; n += batch {
		work <- n
	}
	close(work)
	wg.Wait()
	return out
}

// drawnCase is a case with its source of chance and its number.
type drawnCase struct {
	*truth
	asked
	r *rand.Rand
	n int
}

// drawCase draws a case: of twenty, twelve single faults, three healthy, two double, three not on the list.
func drawCase(seed uint64, n int) *drawnCase {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	c := newCase(r)
	kind := n % 20
	one := func() Fault {
		for {
			f := OpenCell + Fault(r.IntN(int(faults-OpenCell)))
			if kind >= 15 && f == WrongWiring {
				continue // two faults are put in as drawn
			}
			if c.inflict(r, f) {
				return f
			}
		}
	}
	switch {
	case kind < 12:
		c.fault = one()
	case kind < 15:
	case kind < 17:
		c.fault = one()
		c.second = one()
	default:
		c.unlisted(r)
	}
	return &drawnCase{truth: c, asked: asked{c.world, bypassDiode{1e-6 * math.Exp(r.NormFloat64()), 1 + 0.1*r.Float64(), 0.01 * r.Float64()}, 1e3}, r: r, n: n}
}
