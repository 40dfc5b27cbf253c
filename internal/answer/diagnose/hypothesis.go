package diagnose

import (
	"fmt"
	"math"

	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/circuit"
)

// node is a fault of one size.
type node struct {
	core *core
	size float64 // in the chain's own even steps
	text string  // the size in words
	extra
}

// extra is what a fault does beside the circuit.
type extra struct {
	joint     float64 // Ω over the joint at
	frame     float64 // Ω from the module to its frame; 0: as sound
	chassis   float64 // Ω
	inputOut  bool    // fuse of the array
	outputOut bool    // fuse at the battery
	full      bool
	cold      bool
	amps      float64 // direct amperes read times this, where set
	volts     float64
	mistaken  bool // amps or volts is set
	over      bool // volts read over the range
	spot      float64
	diode     bool // the box is warmed by a bypass diode that carries the current
	shadow    bool
	dirt      bool
}

// chain is a fault at a place, its size in even steps.
type chain struct {
	fault Fault
	unit  int
	line  int // -1: none
	index int // module, or joint; -1: none
	where string
	prior float64
	nodes []node
}

// maker makes the hypotheses of a charger.
type maker struct {
	*plant
	unit  int
	sound *core
	out   []chain
}

// steps returns n even places between two, and the words of each.
func steps(low, high float64, n int) []float64 {
	out := make([]float64, n)
	for k := range out {
		out[k] = low + (high-low)*float64(k)/float64(max(1, n-1))
	}
	return out
}

// add puts a chain to the list; make gives the node of a size.
func (m *maker) add(f Fault, line, index int, where string, prior float64, sizes []float64, build func(x float64) node) {
	c := chain{fault: f, unit: m.unit, line: line, index: index, where: where, prior: prior}
	for _, x := range sizes {
		n := build(x)
		n.size = x
		if n.core == nil {
			n.core = m.sound
		}
		c.nodes = append(c.nodes, n)
	}
	m.out = append(m.out, c)
}

// with returns the core of the healthy plan with one module changed.
func (m *maker) with(line, index int, change func(*made)) *core {
	q := m.copied()
	change(&q.lines[line].modules[index])
	return m.altered(q, altersModule, line, index)
}

// altered returns the core of a plan that differs from the healthy one in one place only.
func (m *maker) altered(q plan, a alter, line, index int) *core {
	c := newCore(m.plant, q)
	c.base, c.alter, c.line, c.index = m.sound, a, line, index
	return c
}

// hypotheses returns the chains of one charger's array; share is its part of all modules.
func hypotheses(p *plant, unit int, sound *core, share float64) []chain {
	m := &maker{plant: p, unit: unit, sound: sound}
	count := 0
	for _, l := range p.lines {
		count += len(l)
	}
	for k, l := range p.lines {
		for i := range l {
			m.module(k, i, share/float64(count))
		}
		m.line(k, share/float64(len(p.lines)))
	}
	m.array(share)
	return m.out
}

func (m *maker) prior(f Fault, share float64) float64 { return causes[f].prior * share }

// module adds the faults of one module.
func (m *maker) module(line, index int, share float64) {
	mod := m.lines[line][index]
	whole := m.types[mod]
	name := "module " + m.build.Modules[mod].Name
	first, rest := firstGroup(whole)
	add := func(f Fault, share float64, sizes []float64, build func(x float64) node) {
		m.add(f, line, index, name, m.prior(f, share), sizes, build)
	}
	set := func(pieces ...piece) *core {
		return m.with(line, index, func(x *made) { x.pieces = pieces })
	}
	add(OpenCell, share, []float64{0}, func(float64) node {
		if !bypassed(whole) {
			return node{core: m.with(line, index, func(x *made) { x.open = true }), text: "nothing passes"}
		}
		d := first
		return node{core: set(around(piece{circuit: d, dead: true}, rest)...), text: fmt.Sprintf("%d of %d cells out", first.Cells, whole.Cells), extra: extra{diode: true}}
	})
	// A burn in a bar and a leak take a whole group; where each cell has its diode, the module.
	near, beyond := first, rest
	if whole.DiodePerCell {
		near, beyond = whole, circuit.Module{}
	}
	part := float64(near.Cells) / float64(whole.Cells)
	knee := m.knee(mod) // Ω, the module's working volts over its working amperes
	add(BurntBusbar, share, steps(math.Log(0.08*part*knee), math.Log(15*part*knee), 7), func(x float64) node {
		g := near
		g.Params.Rs += math.Exp(x) / math.Max(0.2, 1+g.Params.RsSlope*(m.warm.Celsius()-25)) // a burn does not follow the cells' own slope
		return node{core: set(around(piece{circuit: g, share: 1}, beyond)...), text: ohmText(math.Exp(x)), extra: extra{spot: 20}}
	})
	if n := groupsOf(whole); n > 1 {
		for k := 1; k < n; k++ {
			left := cells(whole.Groups[k:])
			add(ShortedDiode, share/float64(n-1), []float64{0}, func(float64) node {
				return node{core: set(piece{circuit: cut(whole, left, whole.Groups[k:]), share: 1}), text: fmt.Sprintf("%d of %d groups lost", k, n)}
			})
		}
	}
	if bypassed(whole) {
		add(OpenDiode, share, []float64{0}, func(float64) node {
			g := first
			g.Groups, g.DiodePerCell = nil, false
			return node{core: set(around(piece{circuit: g, share: 1}, rest)...)}
		})
	}
	add(ShortedModule, share, []float64{0}, func(float64) node { return node{core: set()} })
	add(ShuntedCells, share, steps(math.Log(0.06), math.Log(4), 6), func(x float64) node {
		leak := math.Exp(x) / (part * knee) // S; size 1 takes the working current
		return node{core: set(around(piece{circuit: leaking(near, leak, m.plant.light/1000), share: 1}, beyond)...), text: ohmText(1/leak) + " over them", extra: extra{spot: 8}}
	})
	m.shaded(line, index, share, name, whole, first, rest)
	add(Moisture, share, steps(math.Log(1e3), math.Log(3e5), 4), func(x float64) node {
		frame := math.Exp(x)
		leak := math.Min(0.1, 200/frame) / knee
		return node{core: set(piece{circuit: leaking(whole, leak, m.plant.light/1000), share: 1}), text: ohmText(frame) + " to the frame", extra: extra{frame: frame}}
	})
	if len(m.lines[line]) > 1 {
		add(ReversedModule, share, []float64{0}, func(float64) node {
			return node{core: m.with(line, index, func(x *made) { x.reversed = true })}
		})
	}
}

// shaded adds what takes light from a module: shade, a crack and dirt.
func (m *maker) shaded(line, index int, share float64, name string, whole, first, rest circuit.Module) {
	light := func(n int, x float64, whole circuit.Module) *core {
		cells := make([]float64, whole.Cells)
		for k := range cells {
			cells[k] = 1
		}
		for k := range n {
			cells[k] = x
		}
		return m.with(line, index, func(md *made) { md.pieces = []piece{{circuit: whole, share: 1, cells: cells}} })
	}
	sizes := []int{1, first.Cells}
	if whole.DiodePerCell {
		sizes = []int{1, max(2, whole.Cells/8), max(3, whole.Cells/3)}
	} else if len(whole.Groups) > 1 {
		sizes = append(sizes, whole.Groups[0]+1) // cells of two groups
	}
	kinds := breakdowns(whole)
	for _, n := range sizes {
		kinds := kinds
		if n > 1 {
			kinds = kinds[:1]
		}
		for _, kind := range kinds {
			m.add(Shade, line, index, name, m.prior(Shade, share)/float64(len(sizes)*len(kinds)), steps(0.05, 0.95, 7), func(x float64) node {
				return node{core: light(n, x, kind), text: fmt.Sprintf("%d cells at %.0f %% light", n, 100*x), extra: extra{shadow: true, spot: 15 * (1 - x)}}
			})
		}
	}
	for _, kind := range kinds {
		m.add(CrackedCell, line, index, name, m.prior(CrackedCell, share)/float64(len(kinds)), steps(0.15, 0.95, 6), func(x float64) node {
			return node{core: light(1, x, kind), text: fmt.Sprintf("%.0f %% of a cell lost", 100*(1-x)), extra: extra{spot: 8 + 15*(1-x)}}
		})
	}
	m.add(Dirt, line, index, name, m.prior(Dirt, share)*0.4, steps(0.5, 0.95, 7), func(x float64) node {
		return node{core: m.with(line, index, func(md *made) { md.pieces = []piece{{circuit: whole, share: x}} }), text: fmt.Sprintf("%.0f %% of the light lost", 100*(1-x)), extra: extra{dirt: true}}
	})
}

// breakdowns returns a module as it is, and where no diode keeps a weak cell from the others' volts, with
// cells that break down earlier and later too: cells of one make differ so (10 to 20 V, from memory).
func breakdowns(whole circuit.Module) []circuit.Module {
	out := []circuit.Module{whole}
	if bypassed(whole) {
		return out
	}
	for _, x := range []float64{0.7, 1.25} {
		m := whole
		m.Params.Avalanche.Breakdown *= x
		m.Backward = cell.NewBackward(m.Params.Avalanche)
		out = append(out, m)
	}
	return out
}

func cells(groups []int) int {
	n := 0
	for _, g := range groups {
		n += g
	}
	return n
}

// line adds the faults of one string.
func (m *maker) line(line int, share float64) {
	name := m.build.Strings[m.charger.Strings[line]].Name
	modules := m.lines[line]
	knee := 0.0
	for _, mod := range modules {
		knee += m.knee(mod)
	}
	joints := len(modules) + 1
	chainOf := func(f Fault, sizes []float64) {
		shared := make([]*core, len(sizes))
		for k, x := range sizes {
			q := m.copied()
			q.lines[line].series += math.Exp(x)
			shared[k] = m.altered(q, altersString, line, -1)
		}
		for j := range joints {
			m.add(f, line, j, m.jointName(line, j), m.prior(f, share)/float64(joints), sizes, func(x float64) node {
				k := 0
				for sizes[k] != x {
					k++
				}
				return node{core: shared[k], text: ohmText(math.Exp(x)), extra: extra{joint: math.Exp(x)}}
			})
		}
	}
	chainOf(JointResistance, steps(math.Log(0.02*knee), math.Log(1.2*knee), 9))
	chainOf(HalfConnector, append(steps(math.Log(1.6*knee), math.Log(60*knee), 6), math.Log(1e7)))
	q := m.copied()
	if len(m.lines) == 1 {
		q.back = true
	} else {
		for k := range q.lines[line].modules {
			q.lines[line].modules[k].reversed = true
		}
	}
	c := newCore(m.plant, q)
	m.add(ReversedModule, line, -1, "string "+name, m.prior(ReversedModule, share)*0.5/float64(len(m.lines)), []float64{0}, func(float64) node { return node{core: c} })
}

// knee returns the working volts of a module over its working amperes, Ω.
func (m *maker) knee(module int) float64 {
	t := &m.build.Types[m.build.Modules[module].Type]
	return t.Vmp.Volts() / t.Imp.Amperes()
}

// jointName names a joint of a string.
func (m *maker) jointName(line, j int) string {
	name, modules := m.build.Strings[m.charger.Strings[line]].Name, m.lines[line]
	switch {
	case j == 0:
		return fmt.Sprintf("string %s, plus plug of %s", name, m.build.Modules[modules[0]].Name)
	case j == len(modules):
		return fmt.Sprintf("string %s, minus plug of %s", name, m.build.Modules[modules[j-1]].Name)
	}
	return fmt.Sprintf("string %s, between %s and %s", name, m.build.Modules[modules[j-1]].Name, m.build.Modules[modules[j]].Name)
}

// array adds the faults of array, charger, battery and meter.
func (m *maker) array(share float64) {
	name := "charger " + m.charger.Name
	add := func(f Fault, where string, prior float64, sizes []float64, build func(x float64) node) {
		m.add(f, -1, -1, where, prior, sizes, build)
	}
	add(Healthy, "", m.prior(Healthy, share), []float64{0}, func(float64) node { return node{} })
	add(Dirt, "array of "+m.charger.Name, m.prior(Dirt, share)*0.6, steps(0.5, 0.95, 10), func(x float64) node {
		return node{core: newCore(m.plant, m.everywhere(x)), text: fmt.Sprintf("%.0f %% of the light lost", 100*(1-x)), extra: extra{dirt: true}}
	})
	add(LabelWrong, "modules of "+m.charger.Name, m.prior(LabelWrong, share), steps(0.65, 0.94, 7), func(x float64) node {
		return node{core: newCore(m.plant, m.everywhere(x)), text: fmt.Sprintf("%.0f %% of the label", 100*x)}
	})
	hold := func(c control, part float64) *core {
		q := m.copied()
		q.control, q.part = c, part
		return m.altered(q, altersNone, -1, -1)
	}
	idle := hold(stopped, 0)
	if open := m.sound.arrayOpen(); open < m.start+8 {
		add(WindowNotMet, name, m.prior(WindowNotMet, share), []float64{0}, func(float64) node { return node{core: idle} })
	}
	add(BatteryFull, "battery", m.prior(BatteryFull, share), steps(math.Log(0.003), math.Log(0.95), 10), func(x float64) node {
		return node{core: hold(throttled, math.Exp(x)), text: fmt.Sprintf("held to %.0f %%", 100*math.Exp(x)), extra: extra{full: true}}
	})
	add(BatteryCold, "battery", m.prior(BatteryCold, share), []float64{0}, func(float64) node { return node{core: idle, extra: extra{cold: true}} })
	q := m.copied()
	q.open = true
	off := m.altered(q, altersNone, -1, -1)
	add(InputFuseBlown, "input of "+m.charger.Name, m.prior(InputFuseBlown, share), []float64{0}, func(float64) node { return node{core: off, extra: extra{inputOut: true}} })
	add(BatteryFuseBlown, "output of "+m.charger.Name, m.prior(BatteryFuseBlown, share), []float64{0}, func(float64) node { return node{core: idle, extra: extra{outputOut: true}} })
	add(ChassisFault, "array of "+m.charger.Name, m.prior(ChassisFault, share), steps(math.Log(0.04), math.Log(50), 18), func(x float64) node {
		q := m.copied()
		q.leak = math.Exp(x)
		return node{core: m.altered(q, altersNone, -1, -1), text: ohmText(math.Exp(x)), extra: extra{chassis: math.Exp(x)}}
	})
	add(MeterFuse, "meter", m.prior(MeterFuse, share), []float64{0}, func(float64) node { return node{extra: extra{mistaken: true, amps: 0, volts: 1}} })
	for _, x := range []extra{{amps: 1, volts: 0.1}, {amps: 1, volts: 10}, {amps: 1, over: true}, {amps: 0.1, volts: 1}, {amps: 10, volts: 1}, {amps: 0.001, volts: 1}} {
		x.mistaken = true
		add(MeterRange, "meter", m.prior(MeterRange, share)/6, []float64{0}, func(float64) node { return node{extra: x} })
	}
	m.wiring(share)
}

// everywhere returns the healthy plan with a share of the light on all modules.
func (m *maker) everywhere(x float64) plan {
	q := m.copied()
	for k := range q.lines {
		for i := range q.lines[k].modules {
			q.lines[k].modules[i] = made{pieces: []piece{{circuit: m.types[m.lines[k][i]], share: x}}}
		}
	}
	return q
}

// wiring adds series taken for parallel and the other way round.
func (m *maker) wiring(share float64) {
	add := func(q plan, drawn [][]int, text string) {
		c := newCore(m.plant, q)
		c.drawn, c.sound = drawn, m.sound
		m.add(WrongWiring, -1, -1, "array of "+m.charger.Name, m.prior(WrongWiring, share)/2, []float64{0}, func(float64) node { return node{core: c, text: text} })
	}
	if len(m.lines) > 1 {
		q := m.copied()
		one := text{series: q.lines[0].series, blocking: q.lines[0].blocking}
		drawn := make([][]int, len(q.lines))
		for k := range q.lines {
			one.modules = append(one.modules, q.lines[k].modules...)
			drawn[k] = []int{0}
		}
		q.lines = []text{one}
		add(q, drawn, "all modules in one string")
	}
	if len(m.lines[0]) > 1 {
		q := m.copied()
		var lines []text
		drawn := make([][]int, len(q.lines))
		for k := range q.lines {
			for i := range q.lines[k].modules {
				drawn[k] = append(drawn[k], len(lines))
				lines = append(lines, text{modules: q.lines[k].modules[i : i+1], series: q.lines[k].series})
			}
		}
		q.lines = lines
		add(q, drawn, "all modules in parallel")
	}
}

// ohmText prints a resistance for people.
func ohmText(r float64) string {
	switch {
	case r >= 1e6:
		return "open"
	case r >= 1000:
		return fmt.Sprintf("%.3g kΩ", r/1000)
	case r >= 1:
		return fmt.Sprintf("%.3g Ω", r)
	}
	return fmt.Sprintf("%.3g mΩ", r*1000)
}

// rest and full volts of a battery, and their standard spread: our own estimate from handbook C1 and C4, a
// bank at work in the sun, not at rest.
func batteryVolts(b *build.Battery) (rest, full, spread float64) {
	n := b.Voltage.Volts()
	if b.Chemistry == build.AGM {
		return 1.07 * n, 1.19 * n, 0.03 * n
	}
	return 1.035 * n, 1.11 * n, 0.02 * n
}
