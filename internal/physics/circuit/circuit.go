package circuit

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// Module is cells in series with their bypass paths.
type Module struct {
	Params       cell.Params
	Cells        int
	Groups       []int            // cells of each bypass group in series order; empty: no diode over groups
	DiodePerCell bool             // a diode over each cell, beside those of Groups
	Drop         quantity.Voltage // of a conducting bypass diode, fixed; 0: DefaultDrop
	Bypass       Diode            // the diode's own curve, in place of Drop
	Backward     *cell.Backward   // of Params.Avalanche, laid out once for many solvers; nil: by NewSolver
	Reversed     bool             // plugged in the wrong way round: its volts count against the string's
}

// Diode is the curve of a bypass diode, V = n kT/q ln(1 + I/Saturation) + I Series, at the temperature of
// its module. A zero Saturation means no curve: the fixed drop.
type Diode struct {
	Saturation quantity.Current
	Ideality   quantity.Ratio // n; 0: 1
	Series     quantity.Resistance
}

// DefaultDrop is the drop of a bypass diode, a warm Schottky one. Source: 0.3 to 0.6 V, from memory.
const DefaultDrop = 0.5 * quantity.Volt

// BlockingDrop is the drop of a string's blocking diode, taken as fixed. Source: as DefaultDrop.
const BlockingDrop = 0.5 * quantity.Volt

// String is modules in series.
type String struct {
	Modules  []Module
	Series   quantity.Resistance // of its own cable, out and back
	Blocking bool                // a diode that lets no current back into the string, at BlockingDrop
}

// Circuit is strings in parallel.
type Circuit struct {
	Strings []String
	Series  quantity.Resistance // of the common cable, out and back
}

// line is a string in the solver.
type line struct {
	elements []element
	series   float64
	drop     float64 // of its blocking diode
	blocking bool
	top      float64 // the most current any class of cells gives; fresh tells whether it holds
	open     float64
	fresh    bool
	ended    bool // end tells the volts at the most current
	end      float64
	guess    float64 // last current found
	at1, r1  float64 // the volts there and their fall; r1 0: not known
	share    float64 // last best current, of top
}

// Solver holds a circuit and its light. It allocates nothing after NewSolver, unless Peaks or Curve make
// their answer. It is for one goroutine.
type Solver struct {
	lines    []line
	kinds    []cell.Params    // different modules, chains whole
	backward []*cell.Backward // of each kind
	series   float64
	share    float64 // where the last best stood, of the open volts; strings in parallel
	work     work
	last     cell.Point // last returned by Best or Operate
	open     float64    // of strings in parallel; opened tells whether it belongs to the light
	opened   bool
}

// NewSolver returns a solver of c, dark. It panics on a module without cells, with cells other than its
// parameters have, or with groups that do not add up to them; a circuit without modules gives nothing.
func NewSolver(c Circuit) *Solver {
	s := &Solver{series: c.Series.Ohms()}
	kinks := 8
	for _, st := range c.Strings {
		if len(st.Modules) == 0 {
			continue
		}
		l := line{series: st.Series.Ohms(), blocking: st.Blocking}
		if st.Blocking {
			l.drop = BlockingDrop.Volts()
		}
		for _, m := range st.Modules {
			k := s.kind(&m)
			l.elements = append(l.elements, newElement(m, k, s.backward[k]))
			kinks += 2*m.Cells + len(m.Groups) + 1
		}
		s.lines = append(s.lines, l)
	}
	s.work = newWork(kinks, len(s.lines))
	return s
}

// Forget drops what the solver keeps of earlier answers to start the next one from: after it, answers are the
// same to the bit whatever was solved before.
func (s *Solver) Forget() {
	s.share = 0
	for k := range s.lines {
		s.lines[k].share, s.lines[k].guess, s.lines[k].r1 = 0, 0.9*s.lines[k].top, 0
	}
}

// kind returns the number of a module's parameters, new when none is equal. Its backward curve is laid out
// only where the module brings none.
func (s *Solver) kind(m *Module) int {
	for k := range s.kinds {
		if s.kinds[k] == m.Params {
			return k
		}
	}
	b := m.Backward
	if b == nil {
		b = cell.NewBackward(m.Params.Avalanche)
	}
	s.kinds = append(s.kinds, m.Params)
	s.backward = append(s.backward, b)
	return len(s.kinds) - 1
}

// SetModule puts one light and temperature on a module.
func (s *Solver) SetModule(str, module int, light quantity.Irradiance, t quantity.Temperature) {
	l := &s.lines[str]
	if l.elements[module].setEven(lightOf(light), t) {
		l.fresh, s.opened = false, false
	}
}

// SetCells puts a light on each cell of a module, in series order. It panics when light has another
// length than the module has cells.
func (s *Solver) SetCells(str, module int, light []quantity.Irradiance, t quantity.Temperature) {
	l := &s.lines[str]
	l.elements[module].setCells(light, t)
	l.fresh, s.opened = false, false
}

// lightOf returns the light, none where it is below zero or no number.
func lightOf(g quantity.Irradiance) float64 {
	x := g.WattsPerSquareMetre()
	if !(x > 0) {
		return 0
	}
	return x
}

// refresh brings what is known of the string's ends up to its light.
func (l *line) refresh() {
	if l.fresh {
		return
	}
	l.top = 0
	for k := range l.elements {
		l.elements[k].prepare()
		if !l.elements[k].reversed { // one the wrong way round is driven forwards, without a limit
			l.top = math.Max(l.top, l.elements[k].top)
		}
	}
	l.fresh = true
	v, _ := l.at(0)
	l.open, l.ended = v, false
	l.guess, l.r1 = 0.9*l.top, 0
}

// at returns the string's voltage at current i, cable and blocking diode taken off, and its fall with the
// current, -dV/dI.
func (l *line) at(i float64) (v, r float64) {
	v, r = -i*l.series-l.drop, l.series
	var u, q float64
	for k := range l.elements {
		e := &l.elements[k]
		if k == 0 || !e.alike(&l.elements[k-1]) {
			u, q = e.at(i)
		}
		v += u
		r += q
	}
	return v, r
}

// reach is how far over the brightest cells' current a string is followed, in multiples of it: behind
// its bypass diodes a string carries what others push through.
const reach = 1e3

// current returns the string's current at voltage v and its fall with the voltage, -dI/dV: negative where
// v is above its open voltage, unless it has a blocking diode. Newton in a bracket, along the slope of the last
// answer. Within 1e-12 of the current, 1e-6 at a kink.
func (l *line) current(v float64) (i, g float64) {
	l.refresh()
	if v >= l.open && l.blocking {
		return 0, 0
	}
	low, high := 0.0, l.top
	if v > l.open {
		low, high = -1e-3*(1+l.top), 0
		for k := 0; k < 40; k++ {
			if u, _ := l.at(low); u >= v {
				break
			}
			low, high = 4*low, low
		}
	} else if l.least() > v {
		// Behind bypass diodes.
		step := 0.1*l.top + 1e-6
		for high < reach*(1+l.top) {
			low, high = high, high+step
			step *= 4
			if u, _ := l.at(high); u <= v {
				break
			}
		}
	}
	i = l.guess
	if l.r1 > 0 {
		i += (l.at1 - v) / l.r1
	}
	if !(i > low && i < high) {
		i = (low + high) / 2
	}
	for range 100 {
		u, r := l.at(i)
		f := u - v
		if f > 0 {
			low = i
		} else {
			high = i
		}
		g = 1 / math.Max(r, 1e-9)
		n := i + f*g
		within := 1e-9 // what is left of a step of Newton's is its square
		if !(n > low && n < high) {
			n, within = (low+high)/2, 1e-12
		}
		done := math.Abs(n-i) <= within*(1e-3+math.Abs(n)) || high-low <= 1e-13*(1e-3+math.Abs(high))
		i = n
		if done {
			break
		}
	}
	l.guess, l.at1, l.r1 = i, v, 1/g
	return i, g
}

// least returns the string's volts at the most current any of its cells gives.
func (l *line) least() float64 {
	if !l.ended {
		l.end, _ = l.at(l.top)
		l.ended = true
	}
	return l.end
}

// alike reports whether two strings are equal and in equal even light.
func (l *line) alike(m *line) bool {
	if len(l.elements) != len(m.elements) || l.series != m.series || l.blocking != m.blocking {
		return false
	}
	for k := range l.elements {
		if !l.elements[k].alike(&m.elements[k]) {
			return false
		}
	}
	return true
}

// same reports whether all modules of all strings are in even light and equal, and the strings of one
// length without blocking diodes: the array is then a multiple of one module.
func (s *Solver) same() bool {
	if len(s.lines) == 0 {
		return false
	}
	l := &s.lines[0]
	if l.blocking || !l.elements[0].even || l.elements[0].reversed {
		return false
	}
	for k := 1; k < len(l.elements); k++ {
		if !l.elements[k].alike(&l.elements[k-1]) {
			return false
		}
	}
	for k := 1; k < len(s.lines); k++ {
		if !s.lines[k].alike(&s.lines[k-1]) {
			return false
		}
	}
	return true
}

// uniform returns the state of one module carrying its share of all cables, and how many modules stand
// in series and strings in parallel.
func (s *Solver) uniform() (st cell.State, series, parallel float64) {
	l := &s.lines[0]
	series, parallel = float64(len(l.elements)), float64(len(s.lines))
	return l.elements[0].chain().WithSeries(quantity.Resistance((l.series + s.series*parallel) / series)), series, parallel
}

// sum returns the strings' currents at the junction of strings and common cable, and their fall with the
// voltage.
func (s *Solver) sum(v float64) (i, g float64) {
	var a, b float64
	for k := range s.lines {
		if k == 0 || !s.lines[k].alike(&s.lines[k-1]) {
			a, b = s.lines[k].current(v)
		}
		i += a
		g += b
	}
	return i, g
}

// Open returns the array's open-circuit voltage, 0 in the dark.
func (s *Solver) Open() quantity.Voltage {
	switch {
	case len(s.lines) == 0:
		return 0
	case s.opened:
		return quantity.Voltage(s.open)
	case s.same():
		st, n, _ := s.uniform()
		return quantity.Voltage(n * st.Open().Volts())
	}
	s.open, s.opened = s.findOpen(), true
	return quantity.Voltage(s.open)
}

// findOpen is Open of strings that are not all alike.
func (s *Solver) findOpen() float64 {
	low, high := math.Inf(1), 0.0
	for k := range s.lines {
		s.lines[k].refresh()
		low, high = math.Min(low, math.Max(0, s.lines[k].open)), math.Max(high, s.lines[k].open)
	}
	if len(s.lines) == 1 || high-low <= 1e-12*high {
		return high
	}
	return s.junction(0, low, high)
}

// junction returns the voltage of the strings' junction, between two, at which the array carries i.
func (s *Solver) junction(i, low, high float64) float64 {
	v := (low + high) / 2
	for range 100 {
		c, g := s.sum(v)
		f := c - i
		if f > 0 {
			low = v
		} else {
			high = v
		}
		n := v + f/math.Max(g, 1e-12)
		within := 1e-9 // as line.current
		if !(n > low && n < high) {
			n, within = (low+high)/2, 1e-13
		}
		if math.Abs(n-v) <= within*(1+math.Abs(v)) {
			return n
		}
		v = n
	}
	return v
}

// Short returns the array's short-circuit current.
func (s *Solver) Short() quantity.Current { return s.CurrentAt(0) }

// CurrentAt returns the array's current at its terminals' voltage, not below zero. Below zero volts, where
// bypass diodes carry all there is, it is held at a thousand times the brightest cells'. It panics on a
// voltage that is not a number.
func (s *Solver) CurrentAt(v quantity.Voltage) quantity.Current {
	u := v.Volts()
	switch {
	case u != u:
		panic("circuit: a voltage that is not a number")
	case len(s.lines) == 0 || v >= s.Open():
		return 0
	case u >= 0 && s.same():
		st, n, m := s.uniform()
		return quantity.Current(math.Max(0, m*st.CurrentAt(quantity.Voltage(u/n)).Amperes()))
	}
	return quantity.Current(math.Max(0, s.atTerminals(u)))
}

// atTerminals returns the array's current at the terminals' voltage u.
func (s *Solver) atTerminals(u float64) float64 {
	if s.series <= 0 {
		i, _ := s.sum(u)
		return i
	}
	// The junction stands above the terminals by the common cable's drop.
	low, high := u, math.Max(u, s.Open().Volts())
	v, i := low, 0.0
	for range 100 {
		c, g := s.sum(v)
		i = c
		f := v - c*s.series - u
		if f < 0 {
			low = v
		} else {
			high = v
		}
		n := v - f/(1+g*s.series)
		if !(n >= low && n <= high) {
			n = (low + high) / 2
		}
		if math.Abs(n-v) <= 1e-13*(1+math.Abs(v)) {
			break
		}
		v = n
	}
	return i
}

// voltageAt returns the terminals' voltage at a current of the array that it reaches.
func (s *Solver) voltageAt(i float64) float64 {
	if s.same() {
		st, n, m := s.uniform()
		return n * st.VoltageAt(quantity.Current(i/m)).Volts()
	}
	if len(s.lines) == 1 {
		s.lines[0].refresh()
		v, _ := s.lines[0].at(i)
		return v - i*s.series
	}
	return s.junction(i, 0, s.Open().Volts()) - i*s.series
}

// SumOfBest returns the modules' own best powers added up: what each would give alone, without cable.
func (s *Solver) SumOfBest() quantity.Power {
	sum := 0.0
	for k := range s.lines {
		l := &s.lines[k]
		for i := range l.elements {
			e := &l.elements[i]
			if i > 0 && !e.known && l.elements[i-1].known && e.alike(&l.elements[i-1]) {
				e.best, e.known = l.elements[i-1].best, true
			}
			sum += s.ownBest(l, i)
		}
	}
	return quantity.Power(sum)
}

// ownBest returns the power of a module's own best point, kept until its light changes.
func (s *Solver) ownBest(l *line, i int) float64 {
	e := &l.elements[i]
	if !e.known {
		if e.even {
			st := e.chain()
			e.best = st.Best().Power().Watts()
		} else {
			one := line{elements: l.elements[i : i+1]}
			e.best = one.best(0, 0, &s.work).Power().Watts()
		}
		e.known = true
	}
	return e.best
}
