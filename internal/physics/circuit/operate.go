package circuit

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// Habit is what a controller does with a curve of several peaks.
type Habit int

const (
	Global  Habit = iota // finds the highest
	Nearest              // climbs from the open voltage and stays on the first
	Fixed                // a switch: sits at Window.At
)

// Window is where a controller can work an array, at its terminals.
type Window struct {
	Lowest, Highest quantity.Voltage // Highest 0: no limit
	MaxCurrent      quantity.Current // 0: no limit
	MaxPower        quantity.Power   // 0: no limit
	Habit           Habit
	At              quantity.Voltage // for Fixed
}

// Best returns the point of highest power at the terminals.
func (s *Solver) Best() cell.Point { return s.remember(s.best(0)) }

func (s *Solver) remember(p cell.Point) cell.Point {
	s.last, s.lastI = p.Voltage.Volts(), p.Current.Amperes()
	return p
}

// best returns the best point at or above a voltage.
func (s *Solver) best(lowest float64) cell.Point {
	if s.same() {
		st, n, m := s.uniform()
		p := st.Best()
		if v := n * p.Voltage.Volts(); v >= lowest {
			return cell.Point{Voltage: quantity.Voltage(v), Current: quantity.Current(m * p.Current.Amperes())}
		}
		return s.at(lowest)
	}
	best := s.at(lowest)
	if lowest <= 0 {
		best = cell.Point{}
	}
	for _, p := range s.peaks() {
		if p.Voltage.Volts() >= lowest && p.Power() > best.Power() {
			best = p
		}
	}
	return best
}

// at returns the point at a voltage, zero when the array does not reach it.
func (s *Solver) at(v float64) cell.Point {
	if v >= s.Open().Volts() {
		return cell.Point{}
	}
	return cell.Point{Voltage: quantity.Voltage(v), Current: s.CurrentAt(quantity.Voltage(v))}
}

// Operate returns where a controller with window w works the array: its peak by habit, not below the
// lowest voltage, then moved up the curve until current and power are within their limits. Zero when
// the array stays under the window, or its open voltage over it.
func (s *Solver) Operate(w Window) cell.Point {
	open := s.Open()
	if w.Highest > 0 && open > w.Highest || open <= w.Lowest {
		return s.remember(cell.Point{})
	}
	var p cell.Point
	switch w.Habit {
	case Fixed:
		p = s.at(math.Max(w.At.Volts(), w.Lowest.Volts()))
	case Nearest:
		if s.same() {
			p = s.best(w.Lowest.Volts())
			break
		}
		for _, q := range s.peaks() {
			if q.Voltage > p.Voltage {
				p = q
			}
		}
		if p.Voltage < w.Lowest {
			p = s.at(w.Lowest.Volts())
		}
	default:
		p = s.best(w.Lowest.Volts())
	}
	if w.MaxCurrent > 0 && p.Current > w.MaxCurrent {
		p = cell.Point{Voltage: quantity.Voltage(s.voltageAt(w.MaxCurrent.Amperes())), Current: w.MaxCurrent}
	}
	if w.MaxPower > 0 && p.Power() > w.MaxPower {
		low, high := 0.0, p.Current.Amperes()
		for range 60 {
			m := (low + high) / 2
			if m*s.voltageAt(m) < w.MaxPower.Watts() {
				low = m
			} else {
				high = m
			}
		}
		p = cell.Point{Voltage: quantity.Voltage(s.voltageAt(low)), Current: quantity.Current(low)}
	}
	return s.remember(p)
}

// StringCurrent returns a string's current at the point last returned by Best or Operate.
func (s *Solver) StringCurrent(k int) quantity.Current {
	if s.lastI == 0 {
		return 0
	}
	if len(s.lines) == 1 {
		return quantity.Current(s.lastI)
	}
	if s.same() {
		return quantity.Current(s.lastI / float64(len(s.lines)))
	}
	return quantity.Current(s.lines[k].current(s.last + s.lastI*s.series))
}

// Peaks returns the local maxima of power, by rising voltage. Uniform arrays have one.
func (s *Solver) Peaks() []cell.Point { return slices.Clone(s.peaks()) }

// peaks is Peaks in the solver's own memory, good until its next call.
func (s *Solver) peaks() []cell.Point {
	if s.same() {
		st, n, m := s.uniform()
		p := st.Best()
		if p.Current <= 0 {
			return nil
		}
		return append(s.work.found[:0], cell.Point{Voltage: quantity.Voltage(n * p.Voltage.Volts()), Current: quantity.Current(m * p.Current.Amperes())})
	}
	if len(s.lines) == 1 {
		return s.lines[0].peaks(s.series, &s.work)
	}
	return s.parallelPeaks()
}

// scan is the number of voltages a parallel array's curve is searched at.
const scan = 96

// parallelPeaks scans the voltage and refines around each local maximum.
func (s *Solver) parallelPeaks() []cell.Point {
	open := s.Open().Volts()
	out := s.work.found[:0]
	power := func(v float64) float64 { return v * s.CurrentAt(quantity.Voltage(v)).Amperes() }
	a, b := 0.0, power(open/scan)
	for k := 2; k <= scan; k++ {
		c := 0.0
		if k < scan {
			c = power(open * float64(k) / scan)
		}
		if b > a && b >= c {
			low, high := open*float64(k-2)/scan, open*float64(k)/scan
			for range 40 {
				x, y := high-golden*(high-low), low+golden*(high-low)
				if power(x) > power(y) {
					high = y
				} else {
					low = x
				}
			}
			v := (low + high) / 2
			out = append(out, cell.Point{Voltage: quantity.Voltage(v), Current: s.CurrentAt(quantity.Voltage(v))})
		}
		a, b = b, c
	}
	return out
}

// Curve returns n points of the curve from 0 V to the open voltage. It panics below 2.
func (s *Solver) Curve(n int) []cell.Point {
	if n < 2 {
		panic("circuit: a curve of at least two points wanted")
	}
	open := s.Open().Volts()
	out := make([]cell.Point, n)
	for k := range out {
		v := quantity.Voltage(open * float64(k) / float64(n-1))
		out[k] = cell.Point{Voltage: v, Current: s.CurrentAt(v)}
	}
	out[n-1].Current = 0
	return out
}
