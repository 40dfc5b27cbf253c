package diagnose

import (
	"fmt"
	"math"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/testkit"
)

// labels are invented: glass of two and three groups, flexible without a diode, foil with a diode per cell.
func labels() []build.ModuleType {
	return []build.ModuleType{
		{Name: "flex", Technology: build.FlexibleMono, Pmax: 112 * quantity.Watt, Voc: 22.5 * quantity.Volt, Isc: 6.4 * quantity.Ampere, Vmp: 18.7 * quantity.Volt, Imp: 5.99 * quantity.Ampere,
			PmaxCoefficient: -0.38 * quantity.PercentPerKelvin, VocCoefficient: -0.30 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 93 * quantity.Percent,
			Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 2}},
		{Name: "foil", Technology: build.CIGSFoil, Pmax: 95 * quantity.Watt, Voc: 29.1 * quantity.Volt, Isc: 4.72 * quantity.Ampere, Vmp: 22.5 * quantity.Volt, Imp: 4.22 * quantity.Ampere,
			PmaxCoefficient: -0.36 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin, IscCoefficient: 0.01 * quantity.PercentPerKelvin, LowLight: 93 * quantity.Percent,
			Cells: build.CellGrid{Rows: 2, Columns: 21, DiodePerCell: true}},
		{Name: "glass", Technology: build.MonoPERC, Pmax: 175 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 9.15 * quantity.Ampere, Vmp: 20.2 * quantity.Volt, Imp: 8.66 * quantity.Ampere,
			PmaxCoefficient: -0.35 * quantity.PercentPerKelvin, VocCoefficient: -0.28 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 97 * quantity.Percent,
			Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 3}},
		{Name: "bare", Technology: build.FlexibleMono, Pmax: 60 * quantity.Watt, Voc: 22.3 * quantity.Volt, Isc: 3.5 * quantity.Ampere, Vmp: 18.5 * quantity.Volt, Imp: 3.243 * quantity.Ampere,
			PmaxCoefficient: -0.38 * quantity.PercentPerKelvin, VocCoefficient: -0.30 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 93 * quantity.Percent,
			Cells: build.CellGrid{Rows: 4, Columns: 9}},
	}
}

// arrayOf is a build of equal modules: so many in series, so many strings.
func arrayOf(label, series, parallel int) *build.Build {
	wire := func(metres, mm2 float64) build.Run {
		return build.Run{Length: quantity.Length(metres), Area: quantity.Area(mm2) * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	}
	b := &build.Build{Types: []build.ModuleType{labels()[label]}, Battery: build.Battery{Name: "house", Chemistry: build.LFP, Voltage: 12.8 * quantity.Volt, Energy: 1280 * quantity.WattHour}}
	c := build.Charger{Name: "roof", InputMax: 150 * quantity.Volt, StartMargin: 3 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 60 * quantity.Ampere,
		OutputCurrent: 100 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: wire(3, 6)}
	for p := range parallel {
		s := build.String{Name: string(rune('s' + p)), Cable: wire(1, 4)}
		for range series {
			s.Modules = append(s.Modules, len(b.Modules))
			b.Modules = append(b.Modules, build.Module{Name: string(rune('A' + len(b.Modules)))})
		}
		c.Strings = append(c.Strings, p)
		b.Strings = append(b.Strings, s)
	}
	b.Chargers = []build.Charger{c}
	return b
}

// panelOf writes a module's own parameters as a panel, at the light and temperature of the plant.
func panelOf(m circuit.Module, light, celsius float64) panel {
	st := cellAt(m, light, celsius)
	var p panel
	groups := m.Groups
	if len(groups) == 0 {
		groups = []int{m.Cells}
	}
	for _, n := range groups {
		l := st
		l.n = n
		p.bundles = append(p.bundles, bundle{lumps: []lump{l}, diode: bypassed(m), each: m.DiodePerCell})
	}
	return p
}

// cellAt is one cell of a module by the equations of De Soto, Klein & Beckman 2006, written out here once
// more for the netlist.
func cellAt(m circuit.Module, light, celsius float64) lump {
	p, n := m.Params, float64(m.Cells)
	t := celsius + 273.15
	x, g := t/298.15, light/1000
	return lump{il: g * (p.IL + p.IscSlope*(t-298.15)), i0: p.I0 * x * x * x * math.Exp(p.Gap/(vt25/298.15)*(1/298.15-1/t)), rs: p.Rs / n * math.Max(0.2, 1+p.RsSlope*(t-298.15)),
		g: p.G * n * math.Pow(g, p.Shunt), low: p.G * n, a: p.A / n * x, factor: p.Avalanche.Factor, vb: -p.Avalanche.Breakdown, m: p.Avalanche.Exponent}
}

// dim puts a share of the light on n cells of a panel, from its first.
func (p *panel) dim(m circuit.Module, n int, share, light, celsius float64) {
	poor := cellAt(m, light*share, celsius)
	for k := range p.bundles {
		b := &p.bundles[k]
		whole := b.lumps[0]
		take := min(n, whole.n)
		if take == 0 {
			return
		}
		n -= take
		poor.n = take
		whole.n -= take
		b.lumps = []lump{poor}
		if whole.n > 0 {
			b.lumps = append(b.lumps, whole)
		}
	}
}

// worldOf writes a build as a world.
func worldOf(p *plant, light, celsius float64) world {
	w := world{common: p.healthy.series}
	for k, l := range p.lines {
		r := row{cable: p.healthy.lines[k].series, joints: make([]float64, len(l)+1)}
		for _, m := range l {
			r.panels = append(r.panels, panelOf(p.types[m], light, celsius))
		}
		w.rows = append(w.rows, r)
	}
	return w
}

// breakIt builds a fault of the netlist's own into a world; size is as the hypothesis counts it. False: the
// fault is not one of the circuit.
func breakIt(w *world, p *plant, c *chain, size, light, celsius float64) bool {
	var m circuit.Module
	var pn *panel
	if c.line >= 0 && c.index >= 0 && c.fault != JointResistance && c.fault != HalfConnector {
		m, pn = p.types[p.lines[c.line][c.index]], &w.rows[c.line].panels[c.index]
	}
	first := func() *lump { // the first group, or the first cell where each has its diode
		b := &pn.bundles[0]
		if m.DiodePerCell {
			l := b.lumps[0]
			rest := l
			l.n, rest.n = 1, l.n-1
			b.lumps = []lump{l, rest}
		}
		return &b.lumps[0]
	}
	t := &p.build.Types[0]
	knee := t.Vmp.Volts() / t.Imp.Amperes()
	switch c.fault {
	case OpenCell:
		if bypassed(m) {
			first().cut = true
		} else {
			pn.open = true
		}
	case BurntBusbar:
		pn.bundles[0].lumps[0].more = math.Exp(size)
	case OpenDiode:
		if m.DiodePerCell {
			l := first()
			one := bundle{lumps: []lump{*l}}
			pn.bundles[0].lumps = pn.bundles[0].lumps[1:]
			pn.bundles = append([]bundle{one}, pn.bundles...)
		} else {
			pn.bundles[0].diode = false
		}
	case ShortedModule:
		pn.dead = true
	case ShuntedCells:
		l := &pn.bundles[0].lumps[0]
		part := float64(l.n) / float64(m.Cells)
		leak := math.Exp(size) / (part * knee) * float64(l.n)
		l.g, l.low = l.g+leak, l.g+leak
	case Moisture:
		each := math.Min(0.1, 200/math.Exp(size)) / knee * float64(m.Cells)
		for k := range pn.bundles {
			l := &pn.bundles[k].lumps[0]
			l.g, l.low = l.g+each, l.g+each
		}
	case CrackedCell:
		pn.dim(m, 1, size, light, celsius)
	case Dirt:
		if pn != nil {
			pn.dim(m, m.Cells, size, light, celsius)
			return true
		}
		fallthrough
	case LabelWrong:
		for k := range w.rows {
			for i := range w.rows[k].panels {
				w.rows[k].panels[i].dim(p.types[p.lines[k][i]], 1<<20, size, light, celsius)
			}
		}
	case JointResistance, HalfConnector:
		w.rows[c.line].joints[c.index] += math.Exp(size)
	case ReversedModule:
		switch {
		case pn != nil:
			pn.turned = true
		case len(w.rows) == 1:
			return false // the whole array: the sign alone
		default:
			w.rows[c.line].turned = true
		}
	case InputFuseBlown:
		w.cut = true
	case ChassisFault:
		w.leak = math.Exp(size)
	case Healthy, BatteryFull, BatteryCold, BatteryFuseBlown, WindowNotMet:
	default:
		return false
	}
	return true
}

// Every fault of the circuit reads what a circuit simulator finds on a netlist of the same fault: open
// volts, short-circuit amperes and the working point within 0.2 % of the healthy value.
//
// Source: ngspice, run on netlists written by this test.
func TestFaultsAgainstNgspice(t *testing.T) {
	program := testkit.Ngspice(t)
	const light, celsius = 900.0, 48.0
	var cases []brokenCase
	var worlds []asked
	for _, shape := range [][3]int{{0, 2, 2}, {1, 2, 1}, {2, 1, 2}, {3, 2, 1}} {
		b := arrayOf(shape[0], shape[1], shape[2])
		p, err := newPlant(b, 0, Options{Light: light * quantity.WattPerSquareMetre, Cells: quantity.Celsius(celsius), Battery: 13.2 * quantity.Volt})
		if err != nil {
			t.Fatal(err)
		}
		sound := newCore(p, p.healthy)
		for _, c := range hypotheses(p, 0, sound, 1) {
			sizes := []int{len(c.nodes) / 2}
			if len(c.nodes) > 3 && shape[0] == 0 {
				sizes = append(sizes, 1)
			}
			for _, n := range sizes {
				nd := c.nodes[n]
				w := worldOf(p, light, celsius)
				ok := breakIt(&w, p, &c, nd.size, light, celsius)
				if c.fault == ShortedDiode {
					short(&w, &c, nd.text)
					ok = true
				}
				if c.fault == Shade {
					shadeAs(&w, p, &c, nd, light, celsius)
					ok = true
				}
				if !ok || otherBreakdown(p, &c, nd) || (c.line > 0 || c.index > 0) && c.fault != JointResistance {
					continue // places are alike
				}
				cases = append(cases, brokenCase{p, sound, c, nd})
				worlds = append(worlds, asked{w, bypassDiode{1e-6, 1.02 * (celsius + 273.15) / 298.15, 0.002}, sound.arrayOpen()})
			}
		}
	}
	worst := 0.0
	for k, s := range simulate(t, program, worlds, 200) {
		if s == nil {
			t.Errorf("%v %s %s: not simulated", cases[k].chain.fault, cases[k].chain.where, cases[k].node.text)
			continue
		}
		worst = math.Max(worst, cases[k].against(t, s))
	}
	if len(cases) < 60 {
		t.Errorf("only %d faults compared", len(cases))
	}
	t.Logf("%d faults of four arrays: worst %.4f %% of the healthy reading", len(cases), 100*worst)
}

// otherBreakdown reports whether a node is of cells that break down elsewhere than the label's technology.
func otherBreakdown(p *plant, c *chain, nd node) bool {
	if c.line < 0 || c.index < 0 || c.index >= len(p.lines[c.line]) {
		return false
	}
	for _, pc := range nd.core.plan.lines[c.line].modules[c.index].pieces {
		if pc.circuit.Params.Avalanche != p.types[p.lines[c.line][c.index]].Params.Avalanche {
			return true
		}
	}
	return false
}

// brokenCase is a fault of one size beside what it is held against.
type brokenCase struct {
	plant *plant
	sound *core
	chain chain
	node  node
}

// against compares a fault's readings with the simulator's, and returns the farthest, of the healthy value.
func (c *brokenCase) against(t *testing.T, s *seenBy) (worst float64) {
	p, nd, sound := c.plant, c.node, c.sound
	what := fmt.Sprintf("%s, %v at %q, %s", p.build.Types[0].Name, c.chain.fault, c.chain.where, nd.text)
	compare := func(k key, want float64) {
		got, _ := nd.core.electric(k)
		whole := k
		if k.kind == CoveredShort {
			whole.kind = ModuleShort // what leaks through covered cells is next to nothing
		}
		if k.kind == StringCovered {
			whole.kind = StringShort
		}
		full, _ := sound.electric(whole)
		off := math.Abs(got-want) / math.Abs(full)
		worst = math.Max(worst, off)
		if !(off <= 0.002) {
			t.Errorf("%s: %v got %.5f, ngspice %.5f, healthy %.5f", what, k.kind, got, want, full)
		}
	}
	for l := range p.lines {
		for m := range p.lines[l] {
			compare(key{ModuleOpen, 0, l, m}, s.moduleOpen[l][m])
			compare(key{ModuleShort, 0, l, m}, s.moduleShort[l][m])
			compare(key{CoveredShort, 0, l, m}, s.covered[l][m])
		}
		compare(key{StringOpen, 0, l, -1}, s.stringOpen[l])
		compare(key{StringShort, 0, l, -1}, s.stringShort[l])
		compare(key{StringCovered, 0, l, -1}, s.stringCovered[l])
	}
	compare(key{ArrayOpen, 0, -1, -1}, s.arrayOpen)
	if nd.core.plan.leak == 0 { // else the current shares itself between meter and leak
		compare(key{ArrayShort, 0, -1, -1}, s.arrayShort)
	}
	if nd.core.plan.control != tracking {
		return worst
	}
	// The best power, as the volts at a flat top are not to be compared.
	best := 0.0
	for k := range s.v {
		if low := p.window.Lowest.Volts(); k > 0 && s.v[k-1] < low && s.v[k] >= low {
			best = math.Max(best, low*(s.i[k]+(s.i[k-1]-s.i[k])*(s.v[k]-low)/(s.v[k]-s.v[k-1])))
		}
		if s.v[k] >= p.window.Lowest.Volts() {
			best = math.Max(best, top(s.v, s.i, k))
		}
	}
	if nd.core.arrayOpen() < p.start {
		best = 0
	}
	nd.core.work()
	full := newCore(p, p.healthy)
	full.work()
	if off := math.Abs(nd.core.volts*nd.core.amps-best) / (full.volts * full.amps); !(off <= 0.002) {
		t.Errorf("%s: best %.4f W, ngspice %.4f W", what, nd.core.volts*nd.core.amps, best)
	}
	return worst
}

// short shorts as many groups as a hypothesis says.
func short(w *world, c *chain, text string) {
	n := int(text[0] - '0')
	for k := range n {
		w.rows[c.line].panels[c.index].bundles[k].short = true
	}
}

// shadeAs dims as many cells as a hypothesis says.
func shadeAs(w *world, p *plant, c *chain, nd node, light, celsius float64) {
	n := 0
	for _, x := range nd.core.plan.lines[c.line].modules[c.index].pieces[0].cells {
		if x < 1 {
			n++
		}
	}
	w.rows[c.line].panels[c.index].dim(p.types[p.lines[c.line][c.index]], n, nd.size, light, celsius)
}

// top is the power at a point of a sweep, or of the parabola through it and its neighbours.
func top(v, i []float64, k int) float64 {
	p := v[k] * i[k]
	if k == 0 || k+1 == len(v) {
		return p
	}
	a, b := v[k-1]*i[k-1], v[k+1]*i[k+1]
	if bend := 2*p - a - b; p >= a && p >= b && bend > 0 {
		return p + sq(b-a)/(8*bend)
	}
	return p
}
