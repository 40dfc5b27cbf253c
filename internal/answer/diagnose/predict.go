package diagnose

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/circuit"
)

// core is the circuit of a hypothesis, solved as far as it was asked.
type core struct {
	plant  *plant
	plan   plan
	sv     *circuit.Solver
	number []int
	worked bool
	edge   bool    // the open array stands so near the charger's start that it may work or not
	volts  float64 // at the charger's input, working
	amps   float64
	lines  []float64   // A of each string, working
	over   [][]float64 // V over each module of each string, working
	known  map[key]float64
	// Where strings are not wired as drawn: the lines that stand for each, and the core that has the modules.
	drawn [][]int
	sound *core
	// Where most stands as in the healthy array: its core, and what stands otherwise.
	base        *core
	alter       alter
	line, index int
	open        float64 // volts of the open array, once known
	has         bool
	short       float64 // amperes of the shorted array, once known
	shorted     bool
}

// alter is what a plan has otherwise than the healthy one.
type alter int

const (
	altersAll    alter = iota
	altersModule       // one module
	altersString       // a string's wire
	altersNone         // nothing of the strings: the common cable, what the charger does
)

// newCore returns a plan to be solved. A string that is nothing but wire is a leak over the array.
func newCore(p *plant, q plan) *core {
	for _, l := range q.lines {
		pieces := 0
		for _, m := range l.modules {
			pieces += len(m.pieces)
			if m.open {
				pieces++
			}
		}
		if pieces == 0 && !l.open && !l.blocking {
			r := math.Max(1e-3, l.series)
			if q.leak > 0 {
				r = q.leak * r / (q.leak + r)
			}
			q.leak = r
		}
	}
	return &core{plant: p, plan: q, known: map[key]float64{}}
}

// array returns the solver of the whole array.
func (c *core) array() *circuit.Solver {
	if c.sv == nil && c.base != nil && c.alter == altersNone {
		c.sv, c.number = c.base.array(), c.base.number
	}
	if c.sv == nil {
		c.sv, c.number = c.plant.solve(c.plan.lines, c.plan.series)
	}
	return c.sv
}

// sign is -1 where the array is the wrong way round.
func (c *core) sign() float64 {
	if c.plan.back {
		return -1
	}
	return 1
}

// currentAt returns what the array gives at the terminals' volts, its leak counted.
func (c *core) currentAt(v float64) float64 {
	i := c.array().CurrentAt(quantity.Voltage(v)).Amperes()
	if c.plan.leak > 0 {
		i -= v / c.plan.leak
	}
	return i
}

// arrayOpen returns the array's open volts, its leak counted.
func (c *core) arrayOpen() float64 {
	if !c.has {
		c.open, c.has = c.findOpen(), true
	}
	return c.open
}

func (c *core) findOpen() float64 {
	open := c.array().Open().Volts()
	if c.plan.leak <= 0 {
		return open
	}
	low, high := 0.0, open
	for range 50 {
		if m := (low + high) / 2; c.currentAt(m) > 0 {
			low = m
		} else {
			high = m
		}
	}
	return low
}

// work finds where the charger works the array.
func (c *core) work() {
	if c.worked {
		return
	}
	c.worked = true
	c.lines = make([]float64, len(c.plan.lines))
	if c.plan.open {
		return
	}
	open := c.arrayOpen()
	c.volts = open * c.sign()
	defer c.circulating(open)
	least := math.Max(c.plant.start, c.plant.window.Lowest.Volts())
	c.edge = !c.plan.back && c.plan.control != stopped && math.Abs(open-least) < 0.03*least+0.2
	if c.plan.back || c.plan.control == stopped || open < c.plant.start || open <= c.plant.window.Lowest.Volts() {
		return
	}
	sv := c.array()
	at := sv.Operate(c.plant.window)
	v, i := at.Voltage.Volts(), at.Current.Amperes()
	c.share()
	if c.plan.leak > 0 {
		v, i = c.bestLeaking(open)
	}
	if i <= 0 {
		return
	}
	part := 1.0
	if c.plan.control == throttled {
		part = c.plan.part
		low, high := v, open
		for range 40 {
			if m := (low + high) / 2; c.currentAt(m) > part*i {
				low = m
			} else {
				high = m
			}
		}
		v, i = low, part*i
	}
	c.volts, c.amps = v, i
	for k, n := range c.number {
		if n >= 0 {
			c.lines[k] = sv.StringCurrent(n).Amperes() * part
		}
	}
}

// share notes the volts over each module where the charger works the array.
func (c *core) share() {
	c.over = make([][]float64, len(c.plan.lines))
	for k, n := range c.number {
		if n < 0 {
			continue
		}
		i, piece := c.sv.StringCurrent(n).Amperes(), 0
		for m := range c.plan.lines[k].modules {
			sum := 0.0
			for range c.plan.lines[k].modules[m].pieces {
				sum += c.sv.ModulePower(n, piece).Watts()
				piece++
			}
			if i == 0 {
				sum, i = 0, 1
			}
			c.over[k] = append(c.over[k], sum/i)
		}
	}
}

// circulating finds the currents that strings drive through one another while the array gives none.
func (c *core) circulating(open float64) {
	if c.amps > 0 || len(c.plan.lines) < 2 {
		return
	}
	sum, sinks := 0.0, 0
	for k, n := range c.number {
		if n < 0 && len(c.plan.lines[k].modules) == 0 {
			continue
		}
		s, _ := c.plant.solve(c.plan.lines[k:k+1], 0)
		c.lines[k] = s.CurrentAt(quantity.Voltage(open)).Amperes()
		if sum += c.lines[k]; c.lines[k] < 1e-3 && !c.plan.lines[k].open {
			sinks++
		}
	}
	for k := range c.lines {
		if c.lines[k] < 1e-3 && !c.plan.lines[k].open && sinks > 0 {
			c.lines[k] = -sum / float64(sinks)
		}
	}
}

// bestLeaking returns the best point within the window of an array with a leak over its terminals.
func (c *core) bestLeaking(open float64) (v, i float64) {
	low := math.Max(0, c.plant.window.Lowest.Volts())
	best := 0.0
	for k := range 60 {
		u := low + (open-low)*float64(k)/60
		if a := c.currentAt(u); a*u > best {
			best, v, i = a*u, u, a
		}
	}
	if most := c.plant.window.MaxPower.Watts(); most > 0 && v*i > most {
		i = most / v
	}
	return v, i
}

// volt or ampere of the circuit at a key; ok is false where the circuit says nothing of it.
func (c *core) electric(k key) (value float64, ok bool) {
	switch k.kind {
	case ArrayOpen:
		if c.plan.open {
			return 0, true
		}
		return c.arrayOpen() * c.sign(), true
	case ArrayShort:
		if c.plan.open {
			return 0, true
		}
		if !c.shorted {
			c.short, c.shorted = c.array().Short().Amperes(), true
		}
		return c.short * c.sign(), true
	case WorkVoltage:
		c.work()
		return c.volts, true
	case WorkCurrent:
		c.work()
		return c.amps, true
	case BatteryCurrent:
		c.work()
		return c.volts * c.amps * c.plant.charger.Efficiency.Float() / c.plant.battery, true
	case StringCurrent:
		c.work()
		sum := 0.0
		for _, n := range c.standing(k.line) {
			sum += c.lines[n]
		}
		return sum, true
	}
	if v, ok := c.known[k]; ok {
		return v, true
	}
	if b := c.base; b != nil && c.unaltered(k) {
		return b.electric(k)
	}
	v, ok := c.part(k)
	if ok {
		c.known[k] = v
	}
	return v, ok
}

// unaltered reports whether a reading at rest is that of the healthy array.
func (c *core) unaltered(k key) bool {
	switch k.kind {
	case StringOpen, StringShort, StringCovered:
		return c.alter == altersNone && !c.plan.back || (c.alter == altersModule || c.alter == altersString) && k.line != c.line
	case ModuleOpen, ModuleShort, CoveredShort:
		return c.alter == altersNone || c.alter == altersString || c.alter == altersModule && (k.line != c.line || k.index != c.index)
	}
	return false
}

// part is electric of strings and modules.
func (c *core) part(k key) (float64, bool) {
	switch k.kind {
	case StringOpen, StringShort:
		var lines []text
		for _, n := range c.standing(k.line) {
			lines = append(lines, c.plan.lines[n])
		}
		return c.sign() * ends(lines, k.kind == StringOpen, c.plant), true
	case StringCovered:
		return c.sign() * c.coveredString(c.standing(k.line)), true
	case ModuleOpen, ModuleShort, CoveredShort, ModuleVoltage:
		if c.sound != nil {
			return c.sound.module(k), true
		}
		return c.module(k), true
	}
	return 0, false
}

// standing returns the lines that stand for a drawn string.
func (c *core) standing(line int) []int {
	if c.drawn != nil {
		return c.drawn[line]
	}
	return []int{line}
}

// ends returns open volts or short-circuit amperes of lines in parallel, below zero where most modules of
// the only one are the wrong way round.
func ends(lines []text, open bool, p *plant) float64 {
	sign := 1.0
	if len(lines) == 1 {
		l := lines[0]
		turned := 0
		for _, m := range l.modules {
			if m.reversed {
				turned++
			}
		}
		if 2*turned > len(l.modules) { // the other way round it is a string like any other
			sign = -1
			l.modules = append([]made(nil), l.modules...)
			for m := range l.modules {
				l.modules[m].reversed = !l.modules[m].reversed
			}
			lines = []text{l}
		}
	}
	s, _ := p.solve(lines, 0)
	if open {
		return sign * s.Open().Volts()
	}
	return sign * s.Short().Amperes()
}

// module returns a reading of one module.
func (c *core) module(k key) float64 {
	l := &c.plan.lines[k.line]
	m := l.modules[k.index]
	if m.open {
		return 0
	}
	if k.kind == ModuleVoltage {
		if c.work(); c.lines[k.line] > 0 {
			return c.across(k)
		}
		if c.plan.back {
			return 0
		}
	}
	turned := m.reversed
	m.reversed = false
	if k.kind == CoveredShort {
		return c.coveredShort(m)
	}
	s, _ := c.plant.solve([]text{{modules: []made{m}}}, 0)
	v := s.Short().Amperes()
	if k.kind == ModuleOpen || k.kind == ModuleVoltage {
		v = s.Open().Volts()
	}
	if turned && k.kind == ModuleVoltage {
		return -v
	}
	return v
}

// across returns a module's volts while its string works.
func (c *core) across(k key) float64 {
	if k.line >= len(c.over) || k.index >= len(c.over[k.line]) {
		return 0
	}
	return c.over[k.line][k.index]
}

// coveredString returns the least short-circuit current of lines in parallel with each bypass group of each
// module covered in turn.
func (c *core) coveredString(which []int) float64 {
	lines := make([]text, len(which))
	for n, w := range which {
		lines[n] = c.plan.lines[w]
	}
	least := ends(lines, false, c.plant)
	for n := range lines {
		whole := lines[n].modules
		for m := range whole {
			if m > 0 && alike(&whole[m], &whole[m-1]) {
				continue
			}
			for _, hidden := range coverings(whole[m]) {
				lines[n].modules = slices.Clone(whole)
				lines[n].modules[m] = hidden
				if i := ends(lines, false, c.plant); math.Abs(i) < math.Abs(least) {
					least = i
				}
			}
		}
		lines[n].modules = whole
	}
	return least
}

// alike reports whether two modules stand in the circuit as one type, whole and evenly lit.
func alike(a, b *made) bool {
	return a.open == b.open && a.reversed == b.reversed && len(a.pieces) == 1 && len(b.pieces) == 1 && a.pieces[0].cells == nil && b.pieces[0].cells == nil && a.pieces[0].share == b.pieces[0].share &&
		a.pieces[0].circuit.Params == b.pieces[0].circuit.Params && slices.Equal(a.pieces[0].circuit.Groups, b.pieces[0].circuit.Groups)
}

// coveredShort returns the least short-circuit current of a module with each bypass group covered in turn.
// A covered group of a sound diode is passed by the others' current; behind an open one it stops it. A
// single covered cell would tell less: the others' volts break it down backwards.
func (c *core) coveredShort(m made) float64 {
	least := math.Inf(1)
	for _, hidden := range coverings(m) {
		s, _ := c.plant.solve([]text{{modules: []made{hidden}}}, 0)
		least = math.Min(least, s.Short().Amperes())
	}
	if math.IsInf(least, 1) { // nothing but wire
		return 0
	}
	return least
}

// coverings returns a module with each bypass group covered in turn; of groups alike in light and size, one.
func coverings(m made) []made {
	var out []made
	for n := range m.pieces {
		pc := &m.pieces[n]
		groups := pc.circuit.Groups
		switch {
		case pc.circuit.DiodePerCell, pc.dead: // one cell is a group; an open group carries nothing, covered or not
			groups = []int{1}
		case len(groups) == 0:
			groups = []int{pc.circuit.Cells}
		}
		at := 0
		for g, cells := range groups {
			if pc.cells != nil || !slices.Contains(groups[:g], cells) {
				out = append(out, covered(m, n, at, at+cells))
			}
			at += cells
		}
	}
	return out
}

// cardboard is the light that comes under what covers cells.
const cardboard = 0.03

// covered returns a module with some cells of a piece covered.
func covered(m made, piece, from, to int) made {
	out := m
	out.pieces = slices.Clone(m.pieces)
	pc := &out.pieces[piece]
	if pc.dead {
		return out
	}
	cells := make([]float64, pc.circuit.Cells)
	for k := range cells {
		cells[k] = pc.share
		if pc.cells != nil {
			cells[k] = pc.cells[k]
		}
		if k >= from && k < to {
			cells[k] *= cardboard
		}
	}
	pc.cells = cells
	return out
}
