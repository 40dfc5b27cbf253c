package circuit

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// slope returns the current at the strings' junction at voltage v, and how power at the terminals changes
// with v: I + dI/dV (V - 2 I R).
func (s *Solver) slope(v float64) (i, d float64) {
	i, g := s.sum(v)
	return i, i - g*(v-2*i*s.series)
}

// parallelGrid returns the volts of the junction at which any string has a kink, rising, from 0 to the open
// volts; nothing in the dark.
func (s *Solver) parallelGrid() []float64 {
	open := s.Open().Volts()
	if !(open > 0) {
		return nil
	}
	grid := append(s.work.grid[:0], 0, open)
	for n := range s.lines {
		l := &s.lines[n]
		if n > 0 && l.alike(&s.lines[n-1]) {
			continue
		}
		l.refresh()
		if l.open < open {
			grid = append(grid, math.Max(0, l.open))
		}
		s.work.kinks = thin(l.addKinks(append(s.work.kinks[:0], 0)), 1e-6)
		for _, i := range s.work.kinks {
			if v, _ := l.at(i); v > 0 && v < open {
				grid = append(grid, v)
			}
		}
	}
	grid = thin(grid, 1e-6)
	s.work.grid = grid
	return grid
}

// bestParallel is line.best for strings in parallel, over the volts of their junction: amperes fall with
// volts, so a stretch from a to b holds less than b times the amperes at a, and those are under what the
// strings that are not yet open can carry.
func (s *Solver) bestParallel(lowest float64) cell.Point {
	grid := s.parallelGrid()
	if len(grid) == 0 {
		return cell.Point{}
	}
	w := rise{solver: s, lowest: lowest}
	bounds := append(s.work.bounds[:0], 0)
	for n := 1; n < len(grid); n++ {
		carried := 0.0
		for k := range s.lines {
			if l := &s.lines[k]; l.open > grid[n-1] {
				carried += l.top
			}
		}
		bounds = append(bounds, grid[n]*carried)
	}
	s.work.bounds = bounds
	if s.share > 0 {
		v := s.share * grid[len(grid)-1]
		i, _ := w.look(v)
		under(bounds, grid, v, i)
	}
	for {
		at, most := 0, w.most*(1+1e-6)
		for n, b := range bounds {
			if b > most {
				at, most = n, b
			}
		}
		if at == 0 {
			s.share = w.at / grid[len(grid)-1]
			return w.best
		}
		bounds[at] = 0
		under(bounds, grid, grid[at-1], w.search(grid[at-1], grid[at]))
	}
}

// under lowers the bounds of the stretches above x, where the other of volts and amperes is y and falls, to what y
// allows.
func under(bounds, grid []float64, x, y float64) {
	for n := len(grid) - 1; n > 0 && grid[n-1] >= x; n-- {
		bounds[n] = math.Min(bounds[n], grid[n]*math.Max(0, y))
	}
}

// between are where the slope of power is looked at between two kinks of strings in parallel, few where it
// bends one way only. The last stands at a kink, where the slope may be that of its other side: the knee
// before it is looked at by itself.
var (
	between = [...]float64{0.25, 0.5, 0.75, 0.9, 1 - past, 1 - near}
	few     = [...]float64{0.5, 0.9, 1 - past, 1 - near}
)

// rise searches stretches of the junction's volts for the highest power.
type rise struct {
	solver   *Solver
	lowest   float64
	best     cell.Point
	most, at float64
}

// look returns the current at a voltage of the junction and the slope of power there, and keeps the point
// when it is the best.
func (w *rise) look(v float64) (i, d float64) {
	i, d = w.solver.slope(v)
	u := v - i*w.solver.series
	if p := u * i; p > w.most && u >= w.lowest {
		w.best, w.most, w.at = cell.Point{Voltage: quantity.Voltage(u), Current: quantity.Current(i)}, p, v
	}
	return i, d
}

// search looks for the peaks of a stretch and returns the amperes at its beginning.
func (w *rise) search(a, b float64) float64 {
	from := a + near*(b-a)
	first, slope := w.look(from)
	if b*first <= w.most*(1+1e-6) {
		return first
	}
	places := few[:]
	for k := range w.solver.lines {
		if l := &w.solver.lines[k]; l.backwards(math.Inf(1)) {
			places = between[:]
			break
		}
	}
	if slope <= 0 {
		from = a + past*(b-a)
		_, slope = w.look(from)
	}
	for _, share := range places {
		x := a + (b-a)*share
		i, d := w.look(x)
		if slope > 0 && d <= 0 {
			w.climb(from, x, slope, d)
		}
		if b*i <= w.most*(1+1e-6) {
			break
		}
		from, slope = x, d
	}
	return first
}

// climb goes to the peak between two voltages, from slopes of both signs.
func (w *rise) climb(a, b, da, db float64) {
	k := bracket{a, b, da, db, 0}
	for range 40 {
		v := k.next()
		i, d := w.look(v)
		if math.Abs(d) <= 1e-3*math.Abs(i) || k.b-k.a <= 1e-7*k.b {
			return
		}
		k.take(v, d)
	}
}

// parallelPeaks is peaks of strings in parallel: over the voltage of their junction, between the volts at
// which any of them has a kink.
func (s *Solver) parallelPeaks() []cell.Point {
	out := s.work.found[:0]
	grid := s.parallelGrid()
	if len(grid) == 0 {
		return out
	}
	open := grid[len(grid)-1]
	for n := 1; n < len(grid); n++ {
		a, b := grid[n-1], grid[n]
		if b > open {
			break
		}
		from := a + near*(b-a)
		_, slope := s.slope(from)
		for _, share := range between {
			x := a + (b-a)*share
			_, d := s.slope(x)
			if slope > 0 && d <= 0 {
				if q := s.peakBetween(from, x, slope, d); q.Power() > 0 {
					out = append(out, q)
				}
			}
			from, slope = x, d
		}
	}
	s.work.found = out[:0]
	return out
}

// peakBetween returns the peak between two voltages of the junction, at the terminals.
func (s *Solver) peakBetween(a, b, da, db float64) cell.Point {
	w := bracket{a, b, da, db, 0}
	i, v := 0.0, a
	for range 60 {
		v = w.next()
		var d float64
		i, d = s.slope(v)
		if math.Abs(d) <= 1e-7*math.Abs(i) || w.b-w.a <= 1e-9*w.b {
			break
		}
		w.take(v, d)
	}
	return cell.Point{Voltage: quantity.Voltage(v - i*s.series), Current: quantity.Current(i)}
}
