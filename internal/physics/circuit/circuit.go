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
	Groups       []int // cells of each bypass group in series order; empty: no bypass diode
	DiodePerCell bool
	Drop         quantity.Voltage // of a conducting bypass diode; 0: DefaultDrop
}

// DefaultDrop is the drop of a bypass diode, a warm Schottky one. Source: 0.3 to 0.6 V, from memory.
const DefaultDrop = 0.5 * quantity.Volt

// String is modules in series.
type String struct {
	Modules []Module
	Series  quantity.Resistance // of its own cable, out and back
}

// Circuit is strings in parallel.
type Circuit struct {
	Strings []String
	Series  quantity.Resistance // of the common cable, out and back
}

// class is cells in series that have the same light and temperature.
type class struct {
	state cell.State // of one cell
	count float64
}

// group is cells behind one bypass path.
type group struct {
	first, last int     // classes
	drop        float64 // of its diode; +Inf: none over the group
	cellDrop    float64 // of a cell's own diode
	perCell     bool
}

// element is a module in the solver.
type element struct {
	params  cell.Params // of one cell
	whole   cell.Params // of the chain
	cells   int
	classes []class
	groups  []group
	layout  []int   // cells in each group
	drop    float64 // of the diode over a group; +Inf: none
	one     float64 // of a diode over a cell
	perCell bool
	even    bool // one light over the module
	light   float64
	temp    quantity.Temperature
	best    cell.Point
	known   bool // best belongs to light and temp
}

// line is a string in the solver.
type line struct {
	elements []element
	series   float64
}

// Solver holds a circuit and its light. It allocates nothing after NewSolver, unless SetCells brings
// more different lights than before. It is for one goroutine.
type Solver struct {
	lines  []line
	series float64
	work   work
	last   float64 // terminal voltage of the last point returned by Best or Operate
	lastI  float64
}

// NewSolver returns a solver of c, dark. It panics on a module without cells or with groups that do not
// add up to its cells.
func NewSolver(c Circuit) *Solver {
	s := &Solver{series: c.Series.Ohms()}
	most := 0
	for _, st := range c.Strings {
		l := line{series: st.Series.Ohms()}
		for _, m := range st.Modules {
			l.elements = append(l.elements, newElement(m))
			most += m.Cells
		}
		s.lines = append(s.lines, l)
	}
	s.work = newWork(most)
	return s
}

func newElement(m Module) element {
	if m.Cells < 1 || m.Params.Cells != m.Cells {
		panic("circuit: module without cells")
	}
	e := element{params: perCell(m.Params), whole: m.Params, cells: m.Cells, perCell: m.DiodePerCell, drop: m.Drop.Volts()}
	if e.drop <= 0 {
		e.drop = DefaultDrop.Volts()
	}
	e.one = e.drop
	e.layout = append(e.layout, m.Groups...)
	sum := 0
	for _, n := range e.layout {
		sum += n
	}
	if len(e.layout) == 0 {
		e.layout = []int{m.Cells}
		e.drop = math.Inf(1)
	} else if sum != m.Cells {
		panic("circuit: bypass groups do not cover the cells")
	}
	e.classes = make([]class, 0, m.Cells)
	e.groups = make([]group, 0, len(e.layout))
	e.setEven(0, quantity.Celsius(25))
	return e
}

// perCell returns the parameters of one cell of a chain of equal ones.
func perCell(p cell.Params) cell.Params {
	n := float64(p.Cells)
	p.A, p.Rs, p.G, p.Cells = p.A/n, p.Rs/n, p.G*n, 1
	return p
}

// setEven puts the same light on all cells.
func (e *element) setEven(light float64, t quantity.Temperature) {
	if e.even && e.light == light && e.temp == t && len(e.groups) > 0 {
		return
	}
	st := e.params.At(quantity.Irradiance(light), t)
	e.classes, e.groups = e.classes[:0], e.groups[:0]
	for _, n := range e.layout {
		e.classes = append(e.classes, class{st, float64(n)})
		e.groups = append(e.groups, group{first: len(e.classes) - 1, last: len(e.classes), drop: e.drop, cellDrop: e.one, perCell: e.perCell})
	}
	e.even, e.light, e.temp, e.known = true, light, t, false
}

// SetModule puts one light and temperature on a module.
func (s *Solver) SetModule(str, module int, light quantity.Irradiance, t quantity.Temperature) {
	s.lines[str].elements[module].setEven(math.Max(0, light.WattsPerSquareMetre()), t)
}

// SetCells puts a light on each cell of a module, in series order. It panics when light has another
// length than the module has cells.
func (s *Solver) SetCells(str, module int, light []quantity.Irradiance, t quantity.Temperature) {
	e := &s.lines[str].elements[module]
	if len(light) != e.cells {
		panic("circuit: one light for each cell wanted")
	}
	e.classes, e.groups = e.classes[:0], e.groups[:0]
	k := 0
	for _, n := range e.layout {
		first := len(e.classes)
	cells:
		for _, g := range light[k : k+n] {
			st := e.params.At(g, t)
			for c := first; c < len(e.classes); c++ {
				if e.classes[c].state == st {
					e.classes[c].count++
					continue cells
				}
			}
			e.classes = append(e.classes, class{st, 1})
		}
		e.groups = append(e.groups, group{first: first, last: len(e.classes), drop: e.drop, cellDrop: e.one, perCell: e.perCell})
		k += n
	}
	e.even, e.known = false, false
}

// voltage returns the module's voltage at current i.
func (e *element) voltage(i float64) float64 {
	sum := 0.0
	for g := range e.groups {
		gr := &e.groups[g]
		v := 0.0
		for c := gr.first; c < gr.last; c++ {
			u := e.classes[c].state.VoltageAt(quantity.Current(i)).Volts()
			if gr.perCell {
				u = math.Max(u, -gr.cellDrop)
			}
			v += u * e.classes[c].count
		}
		sum += math.Max(v, -gr.drop)
	}
	return sum
}

// short returns the largest current any class of cells gives.
func (e *element) short() float64 {
	m := 0.0
	for c := range e.classes {
		m = math.Max(m, e.classes[c].state.Short().Amperes())
	}
	return m
}

// ownBest returns a module's own best point, kept until its light changes.
func (l *line) ownBest(i int, w *work) cell.Point {
	e := &l.elements[i]
	if !e.known {
		if e.even {
			st := e.whole.At(quantity.Irradiance(e.light), e.temp)
			e.best = st.Best()
		} else {
			one := line{elements: l.elements[i : i+1]}
			e.best = highest(one.peaks(0, w))
		}
		e.known = true
	}
	return e.best
}

// voltage returns the string's voltage at current i, its cable taken off.
func (l *line) voltage(i float64) float64 {
	v := -i * l.series
	for k := range l.elements {
		v += l.elements[k].voltage(i)
	}
	return v
}

// current returns the string's current at voltage v: negative where v is above its open voltage.
func (l *line) current(v float64) float64 {
	high := 0.0
	for k := range l.elements {
		high = math.Max(high, l.elements[k].short())
	}
	low := 0.0
	if l.voltage(0) < v {
		low, high = -1e-6, 0
		for l.voltage(low) < v && low > -1e3 {
			low, high = low*4, low
		}
	} else {
		for step := 1e-3; l.voltage(high) > v && step < 1e6; step *= 4 {
			high += step
		}
	}
	a, b := l.voltage(low)-v, l.voltage(high)-v
	for n := range 80 {
		if high-low < 1e-11*(1+math.Abs(high)) {
			break
		}
		m := (low + high) / 2
		if n%3 != 2 && a != b { // false position twice, then a bisection
			m = low + (high-low)*a/(a-b)
			m = math.Min(math.Max(m, low+1e-3*(high-low)), high-1e-3*(high-low))
		}
		f := l.voltage(m) - v
		if f > 0 {
			low, a = m, f
		} else {
			high, b = m, f
		}
	}
	return (low + high) / 2
}

// same reports whether all modules of all strings are in even light and equal, and the strings of one
// length: the array is then a multiple of one module.
func (s *Solver) same() bool {
	first := &s.lines[0].elements[0]
	for k := range s.lines {
		l := &s.lines[k]
		if len(l.elements) != len(s.lines[0].elements) || l.series != s.lines[0].series {
			return false
		}
		for i := range l.elements {
			e := &l.elements[i]
			if !e.even || e.light != first.light || e.temp != first.temp || e.whole != first.whole {
				return false
			}
		}
	}
	return true
}

// uniform returns the state of one module carrying its share of all cables, and how many modules stand
// in series and strings in parallel.
func (s *Solver) uniform() (st cell.State, series, parallel float64) {
	first := &s.lines[0].elements[0]
	series, parallel = float64(len(s.lines[0].elements)), float64(len(s.lines))
	st = first.whole.At(quantity.Irradiance(first.light), first.temp)
	return st.WithSeries(quantity.Resistance((s.lines[0].series + s.series*parallel) / series)), series, parallel
}

// Open returns the array's open-circuit voltage.
func (s *Solver) Open() quantity.Voltage {
	if s.same() {
		st, n, _ := s.uniform()
		return quantity.Voltage(n * st.Open().Volts())
	}
	if len(s.lines) == 1 {
		return quantity.Voltage(math.Max(0, s.lines[0].voltage(0)))
	}
	low, high := 0.0, 0.0
	for k := range s.lines {
		high = math.Max(high, s.lines[k].voltage(0))
	}
	for range 60 {
		m := (low + high) / 2
		if s.sum(m) > 0 {
			low = m
		} else {
			high = m
		}
	}
	return quantity.Voltage((low + high) / 2)
}

// sum returns the strings' currents at the junction of strings and common cable.
func (s *Solver) sum(v float64) float64 {
	i := 0.0
	for k := range s.lines {
		i += s.lines[k].current(v)
	}
	return i
}

// Short returns the array's short-circuit current.
func (s *Solver) Short() quantity.Current { return s.CurrentAt(0) }

// CurrentAt returns the array's current at its terminals' voltage; not below zero.
func (s *Solver) CurrentAt(v quantity.Voltage) quantity.Current {
	if s.same() {
		st, n, m := s.uniform()
		return quantity.Current(math.Max(0, m*st.CurrentAt(quantity.Voltage(v.Volts()/n)).Amperes()))
	}
	if len(s.lines) == 1 {
		l := line{elements: s.lines[0].elements, series: s.lines[0].series + s.series}
		return quantity.Current(math.Max(0, l.current(v.Volts())))
	}
	u := v.Volts()
	low, high := 0.0, math.Max(0, s.sum(u))
	if s.series <= 0 {
		return quantity.Current(high)
	}
	for range 60 {
		m := (low + high) / 2
		if s.sum(u+m*s.series) > m {
			low = m
		} else {
			high = m
		}
	}
	return quantity.Current((low + high) / 2)
}

// voltageAt returns the terminals' voltage at a current of the array.
func (s *Solver) voltageAt(i float64) float64 {
	if s.same() {
		st, n, m := s.uniform()
		return n * st.VoltageAt(quantity.Current(i/m)).Volts()
	}
	if len(s.lines) == 1 {
		return s.lines[0].voltage(i) - i*s.series
	}
	low, high := 0.0, s.Open().Volts()
	for range 60 {
		m := (low + high) / 2
		if s.CurrentAt(quantity.Voltage(m)).Amperes() > i {
			low = m
		} else {
			high = m
		}
	}
	return (low + high) / 2
}

// SumOfBest returns the modules' own best powers added up: what each would give alone.
func (s *Solver) SumOfBest() quantity.Power {
	sum := 0.0
	for k := range s.lines {
		for i := range s.lines[k].elements {
			e := &s.lines[k].elements[i]
			if i > 0 {
				if p := &s.lines[k].elements[i-1]; e.even && p.even && p.known && !e.known && p.light == e.light && p.temp == e.temp && p.whole == e.whole {
					e.best, e.known = p.best, true
				}
			}
			sum += s.lines[k].ownBest(i, &s.work).Power().Watts()
		}
	}
	return quantity.Power(sum)
}
