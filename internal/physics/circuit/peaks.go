package circuit

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// golden is the section of a golden-section search.
const golden = 0.6180339887498949

// parts is how finely the curve is looked at between two kinks.
const parts = 6

// work is the memory of a search for peaks.
type work struct {
	kinks, grid, power []float64
	found              []cell.Point
}

func newWork(cells int) work {
	n := 3*cells + 8
	return work{kinks: make([]float64, 0, n), grid: make([]float64, 0, parts*n), power: make([]float64, 0, parts*n), found: make([]cell.Point, 0, n)}
}

// findKinks fills in the currents at which some cells give no more and those at which a bypass diode
// takes over, rising, without near repeats.
func (l *line) findKinks(w *work) {
	k := append(w.kinks[:0], 0)
	for i := range l.elements {
		e := &l.elements[i]
		for c := range e.classes {
			k = append(k, e.classes[c].state.Short().Amperes())
		}
		for g := range e.groups {
			gr := &e.groups[g]
			if gr.last-gr.first < 2 {
				continue
			}
			if !math.IsInf(gr.drop, 1) {
				k = append(k, e.takeover(gr))
			}
			for c := gr.first; gr.perCell && c < gr.last; c++ {
				k = append(k, e.classes[c].state.CurrentAt(quantity.Voltage(-gr.cellDrop)).Amperes())
			}
		}
	}
	slices.Sort(k)
	top := k[len(k)-1]
	n := 1
	for _, x := range k[1:] {
		if x-k[n-1] > 1e-4*top {
			k[n] = x
			n++
		}
	}
	w.kinks = k[:n]
}

// takeover returns the current at which a group's cells have pulled it down to its diode's drop.
func (e *element) takeover(gr *group) float64 {
	low, high := 0.0, 0.0
	for c := gr.first; c < gr.last; c++ {
		high = math.Max(high, e.classes[c].state.Short().Amperes())
	}
	for range 25 {
		mid := (low + high) / 2
		v := 0.0
		for c := gr.first; c < gr.last; c++ {
			v += e.classes[c].state.VoltageAt(quantity.Current(mid)).Volts() * e.classes[c].count
		}
		if v > -gr.drop {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// peaks returns the local maxima of a string's power behind a further series resistance, by rising
// voltage, in w's memory. The curve is looked at six times between kinks and refined about each maximum
// to 1e-7 of the current.
func (l *line) peaks(series float64, w *work) []cell.Point {
	l.findKinks(w)
	g, p := w.grid[:0], w.power[:0]
	for i := 1; i < len(w.kinks); i++ {
		for k := range parts {
			g = append(g, w.kinks[i-1]+(w.kinks[i]-w.kinks[i-1])*float64(k)/parts)
		}
	}
	if len(w.kinks) < 2 || w.kinks[len(w.kinks)-1] <= 0 {
		return w.found[:0]
	}
	g = append(g, w.kinks[len(w.kinks)-1])
	for _, i := range g {
		p = append(p, i*(l.voltage(i)-i*series))
	}
	w.grid, w.power = g, p
	out := w.found[:0]
	for k := len(g) - 1; k > 0; k-- {
		after := math.Inf(-1)
		high := g[k] * (1 + 1e-3)
		if k+1 < len(g) {
			after, high = p[k+1], g[k+1]
		}
		if p[k] > 0 && p[k] >= p[k-1] && p[k] > after {
			i, most := l.climb(series, g[k-1], high)
			out = append(out, cell.Point{Voltage: quantity.Voltage(most / i), Current: quantity.Current(i)})
		}
	}
	return out
}

// climb returns the current between low and high at which the power is highest, and that power.
func (l *line) climb(series, low, high float64) (current, power float64) {
	at := func(i float64) float64 { return i * (l.voltage(i) - i*series) }
	a, b := low, high
	x, y := b-golden*(b-a), a+golden*(b-a)
	px, py := at(x), at(y)
	for range 60 {
		if b-a < 1e-7*high {
			break
		}
		if px > py {
			b, y, py = y, x, px
			x = b - golden*(b-a)
			px = at(x)
		} else {
			a, x, px = x, y, py
			y = a + golden*(b-a)
			py = at(y)
		}
	}
	if px > py {
		return x, px
	}
	return y, py
}

// highest returns the point of highest power, zero without one.
func highest(points []cell.Point) cell.Point {
	var best cell.Point
	for _, p := range points {
		if p.Power() > best.Power() {
			best = p
		}
	}
	return best
}
