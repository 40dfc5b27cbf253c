package diagnose

import (
	"fmt"
	"math"
	"sync"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

// tally is what came of the cases.
type tally struct {
	listed, first, third int
	healthy, accused     int
	unlisted, none       int
	double, either       int
	drawn                map[Fault]int // cases of one fault or none, as drawn
	given                []givenCause
	slowest              time.Duration
	failed               int
	by                   map[Fault][3]int
	notes                []string
}

// one has one case diagnosed, and counts what came of it.
func (o *tally) one(t testing.TB, mu *sync.Mutex, seed uint64, d *drawnCase, tests int) {
	c, r, n, kind := d.truth, d.r, d.n, d.n%20
	mu.Lock()
	defer mu.Unlock()
	if c.seen == nil {
		o.failed++
		o.notes = append(o.notes, fmt.Sprintf("case %d, %v: not simulated", n, c.fault))
		return
	}
	if c.start > 30 {
		c.start = c.seen.arrayOpen - c.battery + 0.2 + 2*r.Float64()
	}
	c.works()
	begin := time.Now()
	mu.Unlock()
	a, readings, err := c.follow(r, tests)
	mu.Lock()
	if d := time.Since(begin); d > o.slowest {
		o.slowest = d
	}
	if err != nil {
		t.Errorf("seed %d, case %d: %v", seed, n, err)
		return
	}
	if kind < 15 || kind > 16 {
		o.drawn[c.fault]++
		for _, x := range a.Causes {
			o.given = append(o.given, givenCause{x.Probability.Float(), c.is(x, c.fault), c.fault})
		}
	}
	rank := 99
	for k, x := range a.Causes {
		if c.is(x, c.fault) {
			rank = k
			break
		}
	}
	switch {
	case kind < 12:
		o.listed++
		x := o.by[c.fault]
		x[0]++
		if rank == 0 {
			o.first++
			x[1]++
		}
		if rank < 3 {
			o.third++
			x[2]++
		}
		o.by[c.fault] = x
		if rank > 0 {
			o.notes = append(o.notes, fmt.Sprintf("case %d, %s %dx%d, %v at %q: rank %d, first %v at %q %.2f, fit %.3g, %v, %d readings %s", n, c.build.Types[0].Name, len(c.build.Strings), len(c.build.Strings[0].Modules), c.fault, c.where, rank, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, len(readings), odd(a, readings)))
		}
	case kind < 15:
		o.healthy++
		if a.Causes[0].Fault != Healthy || a.Verdict == NoneFits {
			o.accused++
			o.notes = append(o.notes, fmt.Sprintf("case %d, %s healthy: accused of %v at %q %.2f, fit %.3g, %v %s", n, c.build.Types[0].Name, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, odd(a, readings)))
		}
	case kind < 17:
		o.double++
		if a.Causes[0].Fault == c.fault || a.Causes[0].Fault == c.second {
			o.either++
		}
	default:
		o.unlisted++
		if a.Verdict == NoneFits {
			o.none++
		} else {
			o.notes = append(o.notes, fmt.Sprintf("case %d, not on the list: first %v at %q %.2f, fit %.3g, %v %s", n, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, odd(a, readings)))
		}
	}
}

// givenCause is a cause as an answer gave it, in a case of a fault.
type givenCause struct {
	said  float64
	true  bool
	fault Fault
}

// calibration counts how often causes were true by the probability they were given. The cases are drawn
// evenly over the faults; each counts as often as its fault's prior says.
func (o *tally) calibration() []Calibration {
	out := Calibrated()
	for k := range out {
		b := &out[k]
		sum, squares, said, right := 0.0, 0.0, 0.0, 0.0
		for _, g := range o.given {
			if g.said < b.From.Float() || g.said >= b.To.Float() && b.To < 1 {
				continue
			}
			w := causes[g.fault].prior / float64(o.drawn[g.fault])
			sum, squares, said = sum+w, squares+w*w, said+w*g.said
			if g.true {
				right += w
			}
		}
		if sum > 0 {
			b.Said, b.True, b.Causes = quantity.Ratio(said/sum), quantity.Ratio(right/sum), sum*sum/squares
		}
	}
	return out
}

// report prints the rates and the calibration.
func (o *tally) report(t testing.TB) {
	t.Helper()
	pc := func(a, b int) float64 { return 100 * float64(a) / math.Max(1, float64(b)) }
	t.Logf("listed single faults %d: first %.1f %%, in the first three %.1f %%", o.listed, pc(o.first, o.listed), pc(o.third, o.listed))
	t.Logf("healthy %d: accused %.1f %%", o.healthy, pc(o.accused, o.healthy))
	t.Logf("not on the list %d: none of these fits %.1f %%", o.unlisted, pc(o.none, o.unlisted))
	t.Logf("double faults %d: one of the two first %.1f %%", o.double, pc(o.either, o.double))
	for f := range faults {
		if x := o.by[f]; x[0] > 0 {
			t.Logf("  %-50s %3d: first %3d, third %3d", f, x[0], x[1], x[2])
		}
	}
	for _, b := range o.calibration() {
		t.Logf("  causes given %.0f to %.0f %%, mean %.1f %%: true %.1f %% of %.0f", b.From.Percent(), b.To.Percent(), b.Said.Percent(), b.True.Percent(), b.Causes)
	}
	t.Logf("slowest diagnosis with all its tests %v; %d not simulated", o.slowest, o.failed)
}

// odd lists the readings that the first cause does not explain, and the last ones.
func odd(a *Answer, readings []Reading) string {
	out := ""
	for _, p := range a.Causes[0].Predicted {
		if r := readings[p.Reading]; math.Abs(p.Distance) > 2.5 {
			out += fmt.Sprintf(" [%v %s %.4g said %.4g]", r.Kind, r.At, r.Value, p.Value)
		}
	}
	for _, r := range readings[max(0, len(readings)-6):] {
		out += fmt.Sprintf(" (%v %s %.4g)", r.Kind, r.At, r.Value)
	}
	return out
}
