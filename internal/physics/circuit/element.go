package circuit

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// class is cells in series that have the same light and temperature.
type class struct {
	state cell.State // of one cell
	light float64
	count float64
	short float64 // its light current: above it, the cell is driven backwards
	take  float64 // current at which a diode over one cell takes over; +Inf: none
	best  float64 // its own best power, where the element says so
}

// group is cells behind one bypass path, several times over where they are alike.
type group struct {
	first, last int // classes
	times       float64
	take        float64 // current at which the diode over the group takes over; +Inf: none
	open        float64 // volts at no current
	weakest     float64 // the least current any of its classes gives, beyond its own diode
}

// diode is a bypass diode at its module's temperature.
type diode struct {
	drop                 float64 // fixed
	is, nvt, rs          float64 // its curve, where is > 0
	saturation, ideality float64
}

// at returns the voltage over the conducting diode at current i, and its rise with the current.
func (d *diode) at(i float64) (v, r float64) {
	if d.is <= 0 {
		return d.drop, 0
	}
	return d.nvt*math.Log1p(i/d.is) + i*d.rs, d.nvt/(d.is+i) + d.rs
}

// starts returns the voltage at which the diode begins to take current.
func (d *diode) starts() float64 {
	if d.is > 0 {
		return 0
	}
	return d.drop
}

// element is a module in the solver.
type element struct {
	params   cell.Params // of one cell
	whole    cell.Params // of the chain
	kind     int
	cells    int
	classes  []class
	groups   []group
	layout   []int // cells in each group
	of       []int // class of each cell, when the light is uneven
	diode    diode
	grouped  bool // a diode over each group
	perCell  bool // a diode over each cell
	reversed bool
	backward *cell.Backward
	even     bool // one light over the module
	light    float64
	temp     quantity.Temperature
	best     float64 // own best power; known tells whether it belongs to the light
	known    bool
	top      float64 // the most current any class gives
	ready    bool    // classes, groups and top belong to the light
	bests    bool    // so do the classes' own bests
}

func newElement(m Module, kind int, backward *cell.Backward) element {
	if m.Cells < 1 || m.Params.Cells != m.Cells {
		panic("circuit: module without cells, or with others than its parameters")
	}
	e := element{params: perCell(m.Params), whole: m.Params, kind: kind, cells: m.Cells, perCell: m.DiodePerCell, reversed: m.Reversed, grouped: len(m.Groups) > 0}
	e.diode = diode{drop: m.Drop.Volts(), saturation: m.Bypass.Saturation.Amperes(), ideality: m.Bypass.Ideality.Float(), rs: m.Bypass.Series.Ohms()}
	if e.backward = m.Backward; e.backward == nil {
		e.backward = backward
	}
	if e.diode.drop <= 0 {
		e.diode.drop = DefaultDrop.Volts()
	}
	if e.diode.ideality <= 0 {
		e.diode.ideality = 1
	}
	e.layout = append(e.layout, m.Groups...)
	sum := 0
	for _, n := range e.layout {
		if n < 1 {
			panic("circuit: bypass group without cells")
		}
		sum += n
	}
	if !e.grouped {
		e.layout = []int{m.Cells}
	} else if sum != m.Cells {
		panic("circuit: bypass groups do not cover the cells")
	}
	e.classes = make([]class, 0, m.Cells)
	e.groups = make([]group, 0, len(e.layout))
	e.of = make([]int, m.Cells)
	e.setEven(0, quantity.Celsius(25))
	return e
}

// perCell returns the parameters of one cell of a chain of equal ones.
func perCell(p cell.Params) cell.Params {
	n := float64(p.Cells)
	p.A, p.Rs, p.G, p.Cells = p.A/n, p.Rs/n, p.G*n, 1
	return p
}

// chain returns the state of the whole module in even light.
func (e *element) chain() cell.State { return e.whole.At(quantity.Irradiance(e.light), e.temp) }

// alike reports whether two modules are equal and in equal even light.
func (e *element) alike(f *element) bool {
	return e.even && f.even && e.light == f.light && e.temp == f.temp && e.kind == f.kind && e.wired(f)
}

// wired reports whether two modules have the same bypass paths.
func (e *element) wired(f *element) bool {
	if e.grouped != f.grouped || e.perCell != f.perCell || e.reversed != f.reversed || e.diode != f.diode || len(e.layout) != len(f.layout) {
		return false
	}
	for k := range e.layout {
		if e.layout[k] != f.layout[k] {
			return false
		}
	}
	return true
}

// warm gives the diodes the temperature of the module, and the module its own.
func (e *element) warm(t quantity.Temperature) {
	e.temp, e.known, e.ready, e.bests = t, false, false, false
	// k/q, V/K, exact. Source: SI Brochure, 9th ed. (2019).
	const thermal = 1.380649e-23 / 1.602176634e-19
	e.diode.is = e.diode.saturation
	e.diode.nvt = e.diode.ideality * thermal * math.Max(1, t.Kelvin())
}

// setEven puts the same light on all cells, and reports whether that is a change.
func (e *element) setEven(light float64, t quantity.Temperature) bool {
	if e.even && e.light == light && e.temp == t {
		return false
	}
	e.warm(t)
	e.even, e.light = true, light
	return true
}

// prepare makes classes and groups of the light, unless they stand: an array in one light needs none.
func (e *element) prepare() {
	if e.ready {
		return
	}
	e.ready = true
	if !e.even {
		e.limits()
		return
	}
	st := e.params.At(quantity.Irradiance(e.light), e.temp)
	e.classes, e.groups = e.classes[:0], e.groups[:0]
next:
	for _, n := range e.layout {
		for k := range e.groups {
			if e.classes[e.groups[k].first].count == float64(n) {
				e.groups[k].times++
				continue next
			}
		}
		e.classes = append(e.classes, class{state: st, light: e.light, count: float64(n)})
		e.groups = append(e.groups, group{first: len(e.classes) - 1, last: len(e.classes), times: 1})
	}
	e.limits()
}

// setCells puts a light on each cell.
func (e *element) setCells(light []quantity.Irradiance, t quantity.Temperature) {
	if len(light) != e.cells {
		panic("circuit: one light for each cell wanted")
	}
	e.warm(t)
	e.even = false
	e.classes, e.groups = e.classes[:0], e.groups[:0]
	k := 0
	for _, n := range e.layout {
		first := len(e.classes)
	cells:
		for ; n > 0; n-- {
			g := lightOf(light[k])
			for c := first; c < len(e.classes); c++ {
				if e.classes[c].light == g {
					e.classes[c].count++
					e.of[k] = c
					k++
					continue cells
				}
			}
			e.of[k] = len(e.classes)
			k++
			e.classes = append(e.classes, class{state: e.stateOf(g, first), light: g, count: 1})
		}
		e.groups = append(e.groups, group{first: first, last: len(e.classes), times: 1})
	}
}

// stateOf returns the state of a cell in a light, from an earlier group's class where one has it.
func (e *element) stateOf(g float64, classes int) cell.State {
	for c := range classes {
		if e.classes[c].light == g {
			return e.classes[c].state
		}
	}
	return e.params.At(quantity.Irradiance(g), e.temp)
}

// limits finds the most current any class gives and where each diode takes over.
func (e *element) limits() {
	e.top = 0
	for c := range e.classes {
		cl := &e.classes[c]
		cl.short = cl.state.Light().Amperes()
		e.top = math.Max(e.top, cl.short)
		cl.take = math.Inf(1)
		if e.perCell {
			cl.take = cl.state.CurrentAt(quantity.Voltage(-e.diode.starts())).Amperes()
		}
	}
	for g := range e.groups {
		gr := &e.groups[g]
		gr.take, gr.open, gr.weakest = math.Inf(1), 0, math.Inf(1)
		for c := gr.first; c < gr.last; c++ {
			cl := &e.classes[c]
			gr.open += cl.count * cl.state.Open().Volts()
			gr.weakest = math.Min(gr.weakest, cl.short)
		}
		if e.grouped {
			gr.take = e.takeover(gr)
		}
	}
}

// takeover returns the current at which a group's cells have pulled it down to where its diode starts.
func (e *element) takeover(gr *group) float64 {
	want := -e.diode.starts()
	if gr.last-gr.first == 1 && !e.perCell {
		cl := &e.classes[gr.first]
		return cl.state.CurrentAt(quantity.Voltage(want / cl.count)).Amperes()
	}
	// The weakest cells hold the group back: the current is about theirs with the volts of the others
	// turned against them.
	low, high, weakest := 0.0, math.Inf(1), gr.first
	n := 0.0
	for c := gr.first; c < gr.last; c++ {
		cl := &e.classes[c]
		if cl.light < e.classes[weakest].light {
			weakest = c
		}
		n += cl.count
	}
	w := &e.classes[weakest]
	others := (n - w.count) * 0.9 * e.classes[gr.first].state.Open().Volts()
	i := w.state.CurrentAt(quantity.Voltage((want - others) / w.count)).Amperes()
	if !(i > 0) {
		i = w.short
	}
	for range 100 {
		v, r := e.cellsAt(gr, i)
		if v > want {
			low = i
		} else {
			high = i
		}
		n := i + (v-want)/math.Max(r, 1e-9)
		switch {
		case n > low && n < high:
		case math.IsInf(high, 1):
			n = 2*i + 1e-3
		default:
			n = (low + high) / 2
		}
		if math.Abs(n-i) <= 1e-9*(1e-3+i) {
			return n
		}
		i = n
	}
	return i
}

// at returns the module's voltage at the string's current i, and its fall with the current.
func (e *element) at(i float64) (v, r float64) {
	if e.reversed {
		v, r = e.forward(-i)
		return -v, r
	}
	return e.forward(i)
}

// forward is at of a module the right way round.
func (e *element) forward(i float64) (v, r float64) {
	for g := range e.groups {
		gr := &e.groups[g]
		var u, q float64
		if i < gr.take {
			u, q = e.cellsAt(gr, i)
		} else {
			u, q = e.shared(gr, i)
		}
		v += u * gr.times
		r += q * gr.times
	}
	return v, r
}

// cellsAt returns the voltage of a group's cells, with the diodes over single cells, at current i.
func (e *element) cellsAt(gr *group, i float64) (v, r float64) {
	for c := gr.first; c < gr.last; c++ {
		cl := &e.classes[c]
		var u, q float64
		if i < cl.take {
			a, b := cl.state.AcrossBy(e.backward, quantity.Current(i))
			u, q = a.Volts(), b.Ohms()
		} else {
			u, q = e.sharedCell(cl, i)
		}
		v += u * cl.count
		r += q * cl.count
	}
	return v, r
}

// shared returns the voltage of a group whose diode conducts, at current i.
func (e *element) shared(gr *group, i float64) (v, r float64) {
	if e.diode.is <= 0 {
		return -e.diode.drop, 0
	}
	through := e.split(i, gr.take, gr, nil)
	v, r = e.diode.at(i - through)
	_, q := e.cellsAt(gr, through)
	return -v, parallel(r, q)
}

// sharedCell returns the voltage of a cell whose diode conducts, at current i.
func (e *element) sharedCell(cl *class, i float64) (v, r float64) {
	if e.diode.is <= 0 {
		return -e.diode.drop, 0
	}
	through := e.split(i, cl.take, nil, cl)
	v, r = e.diode.at(i - through)
	_, q := e.across(cl, through)
	return -v, parallel(r, q)
}

func (e *element) across(cl *class, i float64) (v, r float64) {
	a, b := cl.state.AcrossBy(e.backward, quantity.Current(i))
	return a.Volts(), b.Ohms()
}

func parallel(a, b float64) float64 { return a * b / math.Max(a+b, 1e-12) }

// split returns how much of current i runs through the cells beside a diode with a curve, at least from:
// the volts of both add up to nothing. The cells are one of cl, or those of gr where cl is nil.
func (e *element) split(i, from float64, gr *group, cl *class) float64 {
	low, high := math.Min(from, i), i
	c := low
	for range 200 {
		var v, r float64
		if cl != nil {
			v, r = e.across(cl, c)
		} else {
			v, r = e.cellsAt(gr, c)
		}
		d, q := e.diode.at(i - c)
		f := v + d
		if f > 0 {
			low = c
		} else {
			high = c
		}
		n := c + f/math.Max(r+q, 1e-12)
		if !(n > low && n < high) {
			n = (low + high) / 2
		}
		if math.Abs(n-c) <= 1e-13*(1e-3+i) {
			return n
		}
		c = n
	}
	return c
}

// cellsCurrent returns the current through a group's cells when the module carries i.
func (e *element) cellsCurrent(gr *group, i float64) float64 {
	switch {
	case i < gr.take:
		return i
	case e.diode.is > 0:
		return e.split(i, gr.take, gr, nil)
	}
	return gr.take
}

// cellCurrent returns the current through a cell when its group's cells carry i.
func (e *element) cellCurrent(cl *class, i float64) float64 {
	switch {
	case i < cl.take:
		return i
	case e.diode.is > 0:
		return e.split(i, cl.take, nil, cl)
	}
	return cl.take
}
