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
	s.last = p
	return p
}

// best returns the best point at or above a voltage.
func (s *Solver) best(lowest float64) cell.Point {
	var best cell.Point
	switch {
	case len(s.lines) == 0:
	case s.same():
		for _, p := range s.peaks() {
			if p.Voltage.Volts() >= lowest {
				best = p
			}
		}
	case len(s.lines) == 1:
		best = s.lines[0].best(s.series, lowest, &s.work)
	default:
		best = s.bestParallel(lowest)
	}
	if lowest > 0 && !(s.same() && best.Voltage > 0) {
		if p := s.at(lowest); p.Power() > best.Power() {
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
// lowest voltage, moved up the curve until current and power are within their limits. One that finds the
// highest peak finds the highest within its current. Zero when the array stays under the window, or its
// open voltage over it.
func (s *Solver) Operate(w Window) cell.Point {
	open := s.Open()
	if w.Highest > 0 && open > w.Highest || open <= w.Lowest {
		return s.remember(cell.Point{})
	}
	lowest := math.Max(0, w.Lowest.Volts())
	var p cell.Point
	switch w.Habit {
	case Fixed:
		p = s.at(math.Max(w.At.Volts(), lowest))
	case Nearest:
		for _, q := range s.peaks() {
			if q.Voltage > p.Voltage {
				p = q
			}
		}
		if p.Voltage.Volts() < lowest {
			p = s.at(lowest)
		}
	default:
		p = s.best(lowest)
	}
	if w.MaxCurrent > 0 && p.Current > w.MaxCurrent {
		p = cell.Point{Voltage: quantity.Voltage(s.voltageAt(w.MaxCurrent.Amperes())), Current: w.MaxCurrent}
		if w.Habit == Global && !s.same() {
			for _, q := range s.peaks() {
				if q.Voltage > p.Voltage && q.Power() > p.Power() {
					p = q
				}
			}
		}
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

// StringCurrent returns a string's current at the point last returned by Best or Operate, negative where
// other strings drive it backwards. Strings without modules do not count.
func (s *Solver) StringCurrent(k int) quantity.Current {
	i := s.last.Current.Amperes()
	switch {
	case i == 0:
		return 0
	case len(s.lines) == 1:
		return quantity.Current(i)
	case s.same():
		return quantity.Current(i / float64(len(s.lines)))
	}
	c, _ := s.lines[k].current(s.last.Voltage.Volts() + i*s.series)
	return quantity.Current(c)
}

// StringVoltage returns a string's voltage at a current of its own, its cable and blocking diode taken off:
// below zero where its bypass diodes conduct. It panics where the string has no modules.
func (s *Solver) StringVoltage(str int, i quantity.Current) quantity.Voltage {
	l := &s.lines[str]
	l.refresh()
	v, _ := l.at(i.Amperes())
	return quantity.Voltage(v)
}

// ModulePower returns what a module gives at the point last returned by Best or Operate, negative where it
// takes power.
func (s *Solver) ModulePower(str, module int) quantity.Power {
	l := &s.lines[str]
	l.refresh()
	i := s.StringCurrent(str).Amperes()
	v, _ := l.elements[module].at(i)
	return quantity.Power(v * i)
}

// SumOfCells returns the cells' own best powers added up: what each would give alone.
func (s *Solver) SumOfCells() quantity.Power {
	sum := 0.0
	for k := range s.lines {
		l := &s.lines[k]
		for i := range l.elements {
			e := &l.elements[i]
			if e.even {
				sum += s.ownBest(l, i)
				continue
			}
			e.findBests()
			for c := range e.classes {
				sum += e.classes[c].count * e.classes[c].best
			}
		}
	}
	return quantity.Power(sum)
}

// findBests finds the best power of a cell of each class, once for each light.
func (e *element) findBests() {
	if e.bests {
		return
	}
	e.bests = true
	for c := range e.classes {
		cl := &e.classes[c]
		cl.best = -1
		for d := range c {
			if e.classes[d].light == cl.light {
				cl.best = e.classes[d].best
				break
			}
		}
		if cl.best < 0 {
			cl.best = cl.state.Best().Power().Watts()
		}
	}
}

// Bypassed returns what cells with a conducting bypass diode would give alone, and the power that their
// groups take instead, at the point last returned by Best or Operate. The rest of what SumOfCells has over
// that point is mismatch: cells held to the current of others.
func (s *Solver) Bypassed() quantity.Power {
	if s.same() {
		return 0
	}
	sum := 0.0
	for k := range s.lines {
		l := &s.lines[k]
		l.refresh()
		i := s.StringCurrent(k).Amperes()
		for m := range l.elements {
			e := &l.elements[m]
			if e.reversed {
				continue
			}
			for g := range e.groups {
				sum += e.bypassed(&e.groups[g], i) * e.groups[g].times
			}
		}
	}
	return quantity.Power(sum)
}

// bypassed is Bypassed of one group at the string's current.
func (e *element) bypassed(gr *group, i float64) float64 {
	whole := i >= gr.take
	if !whole && !e.perCell {
		return 0
	}
	sum := 0.0
	for c := gr.first; c < gr.last; c++ {
		cl := &e.classes[c]
		if !whole && i < cl.take {
			continue
		}
		best := cl.best
		if e.even || !e.bests {
			best = cl.state.Best().Power().Watts()
		}
		sum += cl.count * best
		if !whole {
			v, _ := e.sharedCell(cl, i)
			sum -= cl.count * v * i
		}
	}
	if whole {
		v, _ := e.shared(gr, i)
		sum -= v * i
	}
	return sum
}

// CellPower appends to out the power of each cell of a module, in series order, at the point last
// returned by Best or Operate: negative where the cell is driven backwards and turns power into heat.
func (s *Solver) CellPower(str, module int, out []quantity.Power) []quantity.Power {
	s.lines[str].refresh()
	i := s.StringCurrent(str).Amperes()
	e := &s.lines[str].elements[module]
	if e.reversed {
		i = -i
	}
	k := 0
	for n, cells := range e.layout {
		gr := e.groupOf(n)
		c := e.cellsCurrent(gr, i)
		for range cells {
			cl := &e.classes[gr.first]
			if !e.even {
				cl = &e.classes[e.of[k]]
			}
			a := e.cellCurrent(cl, c)
			v, _ := e.across(cl, a)
			out = append(out, quantity.Power(v*a))
			k++
		}
	}
	return out
}

// groupOf returns the group of a place in the layout.
func (e *element) groupOf(n int) *group {
	if !e.even {
		return &e.groups[n]
	}
	for g := range e.groups {
		if e.classes[e.groups[g].first].count == float64(e.layout[n]) {
			return &e.groups[g]
		}
	}
	panic("circuit: group without classes")
}

// Peaks returns the local maxima of power, by rising voltage. Uniform arrays have one, dark ones none.
func (s *Solver) Peaks() []cell.Point { return slices.Clone(s.peaks()) }

// peaks is Peaks in the solver's own memory, good until its next call.
func (s *Solver) peaks() []cell.Point {
	switch {
	case len(s.lines) == 0:
		return nil
	case s.same():
		st, n, m := s.uniform()
		p := st.Best()
		if p.Current <= 0 {
			return nil
		}
		return append(s.work.found[:0], cell.Point{Voltage: quantity.Voltage(n * p.Voltage.Volts()), Current: quantity.Current(m * p.Current.Amperes())})
	case len(s.lines) == 1:
		return s.lines[0].peaks(s.series, &s.work)
	}
	return s.parallelPeaks()
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
