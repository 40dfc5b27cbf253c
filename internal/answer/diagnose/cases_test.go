package diagnose

import (
	"math"
	"math/rand/v2"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// truth is a synthetic case: an array with cells of its own, what is wrong with it, and what a meter reads.
type truth struct {
	build  *build.Build
	world  world
	fault  Fault  // listed single fault, or Healthy; NoneOfThese: not on the list
	where  string // module or string name, empty: of the whole array
	second Fault  // of a double fault
	light  float64
	warm   float64
	given  Options

	// Beside the circuit.
	battery, batteryWarm float64
	hold                 float64 // share of the best current the charger takes; 1: all
	stopped              bool
	start                float64 // V over the battery the charger wants
	track                float64 // V the charger sits at; 0: the best
	loss                 float64 // of the charger's output
	inputFuse, outFuse   bool
	frame                []float64
	chassis              float64
	box, spot            []float64
	diode                int // module whose bypass diode conducts; -1: none
	shadow, dirt         []bool
	ampGain, voltGain    float64
	ampDead, voltOver    bool
	mistaken             bool
	clamp                float64 // A added by the clamp
	seen                 *seenBy
	at                   int // point of the sweep it works at; -1: stands open
}

// draw is the generator's own module: one diode with an ideality of its own, met to the label's open volts
// and short-circuit current within their tolerance, with the series resistance its power asks for.
func draw(r *rand.Rand, t *build.ModuleType) (one lump) {
	ns := float64(t.Cells.Count())
	n := 1.05 + 0.3*r.Float64()
	if t.Technology == build.CIGSFoil {
		n = 1.35 + 0.4*r.Float64()
	}
	voc, isc := t.Voc.Volts()/ns*(1+0.006*r.NormFloat64()), t.Isc.Amperes()*(1+0.008*r.NormFloat64())
	a := n * vt25
	g := isc / (voc * (40 + 200*r.Float64()))
	i0 := (isc - g*voc) / math.Expm1(voc/a)
	want := t.Pmax.Watts() / ns * (0.988 + 0.01*r.NormFloat64())
	low, high := 0.0, 0.5*voc/isc
	for range 40 {
		rs := (low + high) / 2
		best := 0.0
		for k := range 200 {
			u := voc * float64(k) / 200 // of the junction
			i := isc - i0*math.Expm1(u/a) - g*u
			best = math.Max(best, i*(u-i*rs))
		}
		if best > want {
			low = rs
		} else {
			high = rs
		}
	}
	return lump{n: 1, il: isc, i0: i0, rs: low, g: g, a: a, vb: 10 + 8*r.Float64()}
}

// brought takes a cell to a light and temperature: open volts and current by the label's coefficients.
func brought(l lump, t *build.ModuleType, light, celsius float64) lump {
	x := (celsius + 273.15) / 298.15
	voc := l.a * math.Log1p(l.il/l.i0) * (1 + t.VocCoefficient.PerKelvin()*(celsius-25))
	l.a *= x
	full := l.il * (1 + t.IscCoefficient.PerKelvin()*(celsius-25))
	l.i0 = full / math.Expm1(voc/l.a)
	l.il = full * light / 1000
	return l
}

// newCase draws a healthy array and the conditions.
func newCase(r *rand.Rand) *truth {
	shapes := [][3]int{{0, 2, 2}, {0, 2, 1}, {0, 1, 2}, {0, 4, 1}, {1, 2, 1}, {1, 2, 2}, {1, 1, 3}, {2, 2, 1}, {2, 1, 2}, {2, 2, 2}, {2, 3, 1}, {3, 2, 1}, {3, 2, 2}, {3, 1, 4}}
	sh := shapes[r.IntN(len(shapes))]
	c := &truth{build: arrayOf(sh[0], sh[1], sh[2]), fault: Healthy, second: Healthy, light: 600 + 450*r.Float64(), warm: 28 + 36*r.Float64(),
		battery: 12.9 + 0.8*r.Float64(), batteryWarm: 8 + 24*r.Float64(), hold: 1, start: 3, ampGain: 1, voltGain: 1, diode: -1, loss: 1, chassis: math.Inf(1)}
	t := &c.build.Types[0]
	c.given = Options{Light: quantity.Irradiance(c.light * (1 + 0.025*r.NormFloat64())), Cells: quantity.Celsius(c.warm + 2.5*r.NormFloat64())}
	ch := &c.build.Chargers[0]
	c.world.common = ohms(ch.InputCable)
	for _, s := range ch.Strings {
		st := &c.build.Strings[s]
		w := row{cable: ohms(st.Cable), joints: make([]float64, len(st.Modules)+1)}
		for j := range w.joints {
			w.joints[j] = 0.0005 + 0.001*r.Float64()
		}
		for range st.Modules {
			cell := brought(draw(r, t), t, c.light, c.warm)
			groups := t.Cells.GroupSizes()
			diode := len(groups) > 0 || t.Cells.DiodePerCell
			if len(groups) == 0 {
				groups = []int{t.Cells.Count()}
			}
			var p panel
			for _, n := range groups {
				l := cell
				l.n = n
				p.bundles = append(p.bundles, bundle{lumps: []lump{l}, diode: diode, each: t.Cells.DiodePerCell})
			}
			w.panels = append(w.panels, p)
		}
		c.world.rows = append(c.world.rows, w)
	}
	n := len(c.build.Modules)
	c.frame, c.box, c.spot = make([]float64, n), make([]float64, n), make([]float64, n)
	c.shadow, c.dirt = make([]bool, n), make([]bool, n)
	for k := range n {
		c.frame[k] = math.Inf(1)
		if r.IntN(3) == 0 {
			c.frame[k] = 3e6 * math.Exp(2*r.Float64())
		}
		c.box[k], c.spot[k] = 1.5*r.NormFloat64(), 1.5*r.NormFloat64()
		c.shadow[k], c.dirt[k] = r.Float64() < 0.02, r.Float64() < 0.05
	}
	return c
}

// module returns the panel of a module of the build.
func (c *truth) panel(module int) *panel {
	for k, s := range c.build.Chargers[0].Strings {
		for i, m := range c.build.Strings[s].Modules {
			if m == module {
				return &c.world.rows[k].panels[i]
			}
		}
	}
	panic("no such module")
}

// split takes n cells off the front of a bundle's first lump.
func split(b *bundle, n int) *lump {
	l := b.lumps[0]
	rest := l
	l.n, rest.n = n, l.n-n
	b.lumps = append([]lump{l}, b.lumps[1:]...)
	if rest.n > 0 {
		b.lumps = append([]lump{l, rest}, b.lumps[1:]...)
	}
	return &b.lumps[0]
}

// logBetween draws evenly in the logarithm.
func logBetween(r *rand.Rand, low, high float64) float64 {
	return low * math.Exp(r.Float64()*math.Log(high/low))
}

// inflict puts a listed fault in; false where this array cannot have it.
func (c *truth) inflict(r *rand.Rand, f Fault) bool {
	t := &c.build.Types[0]
	module := r.IntN(len(c.build.Modules))
	p := c.panel(module)
	c.where = c.build.Modules[module].Name
	line := r.IntN(len(c.world.rows))
	stringName := c.build.Strings[line].Name
	knee := t.Vmp.Volts() / t.Imp.Amperes()
	b := &p.bundles[r.IntN(len(p.bundles))]
	part := float64(b.lumps[0].n) / float64(t.Cells.Count())
	series := len(c.world.rows[0].panels)
	switch f {
	case Healthy:
		c.where = ""
	case OpenCell:
		if !b.diode {
			p.open = true
			break
		}
		if b.each {
			split(b, 1).cut = true
		} else {
			b.lumps[0].cut = true
		}
		c.diode = module
	case BurntBusbar:
		b.lumps[0].more = logBetween(r, 0.25, 8) * part * knee
		c.spot[module] = 12 + 30*r.Float64()
	case ShortedDiode:
		if len(p.bundles) < 2 {
			return false
		}
		b.short = true
	case OpenDiode:
		if !b.diode || b.each {
			return false
		}
		b.diode = false
	case ShortedModule:
		p.dead = true
	case ShuntedCells:
		b.lumps[0].leak = logBetween(r, 0.1, 2) / (part * knee)
		c.spot[module] = 3 + 12*r.Float64()
	case CrackedCell:
		share := 0.2 + 0.6*r.Float64()
		l := split(b, 1)
		l.il *= share
		c.spot[module] = 7 + 18*r.Float64()
	case Moisture:
		c.frame[module] = logBetween(r, 1e3, 2e5)
		leak := 0.05 * r.Float64() / knee
		for k := range p.bundles {
			p.bundles[k].lumps[0].leak = leak * float64(t.Cells.Count()) / float64(p.bundles[k].lumps[0].n)
		}
	case Shade:
		share := 0.05 + 0.7*r.Float64()
		n := 1 + r.IntN(b.lumps[0].n)
		if b.each {
			n = 1 + r.IntN(14)
		}
		split(b, n).il *= share
		c.shadow[module] = r.Float64() < 0.93
		c.spot[module] = 15 * r.Float64()
	case Dirt:
		share := 0.6 + 0.32*r.Float64()
		if all := r.IntN(2) == 0; all {
			c.where = ""
			for k := range c.build.Modules {
				c.dim(k, share)
				c.dirt[k] = r.Float64() < 0.93
			}
			break
		}
		c.dim(module, share)
		c.dirt[module] = r.Float64() < 0.93
	case JointResistance, HalfConnector:
		c.where = stringName
		j := r.IntN(len(c.world.rows[line].joints))
		ohms := logBetween(r, 0.05, 1) * knee * float64(series)
		if f == HalfConnector {
			ohms = logBetween(r, 2, 50) * knee * float64(series)
			if r.IntN(2) == 0 {
				ohms = 1e8
			}
		}
		c.world.rows[line].joints[j] = ohms
	case ReversedModule:
		switch {
		case series > 1:
			p.turned = true
		case len(c.world.rows) > 1:
			c.where = stringName
			c.world.rows[line].turned = true
		default:
			return false
		}
	case WrongWiring:
		c.where = ""
		switch {
		case series > 1:
			var rows []row
			for _, w := range c.world.rows {
				for _, q := range w.panels {
					rows = append(rows, row{panels: []panel{q}, joints: []float64{0.001, 0.001}, cable: w.cable})
				}
			}
			c.world.rows = rows
		default:
			one := c.world.rows[0]
			for _, w := range c.world.rows[1:] {
				one.panels = append(one.panels, w.panels...)
				one.joints = append(one.joints, 0.001)
			}
			c.world.rows = []row{one}
		}
	case WindowNotMet:
		if c.where = ""; series > 1 || t.Voc > 25*quantity.Volt {
			return false
		}
		c.start = 50
	case BatteryFull:
		c.where = ""
		c.battery = 13.9 + 0.6*r.Float64()
		c.hold = 0.03 + 0.75*r.Float64()
	case BatteryCold:
		c.where = ""
		c.batteryWarm = -8 + 8*r.Float64()
		c.stopped = true
	case InputFuseBlown:
		c.where = ""
		c.inputFuse, c.world.cut = true, true
	case BatteryFuseBlown:
		c.where = ""
		c.outFuse, c.stopped = true, true
	case ChassisFault:
		c.where = ""
		c.world.leak = logBetween(r, 0.05, 20)
		c.chassis = c.world.leak
	case MeterFuse:
		c.where = ""
		c.ampDead, c.mistaken = true, true
	case MeterRange:
		c.where = ""
		c.mistaken = true
		switch r.IntN(4) {
		case 0:
			c.voltOver = true
		case 1:
			c.voltGain = 0.1
		case 2:
			c.ampGain = 0.1
		default:
			c.ampGain = 10
		}
	case LabelWrong:
		c.where = ""
		share := 0.68 + 0.22*r.Float64()
		for k := range c.build.Modules {
			c.dim(k, share)
		}
	default:
		return false
	}
	return true
}

// dim takes light from a whole module.
func (c *truth) dim(module int, share float64) {
	p := c.panel(module)
	for k := range p.bundles {
		for i := range p.bundles[k].lumps {
			p.bundles[k].lumps[i].il *= share
		}
	}
}

// unlisted puts something in that is not on the list.
func (c *truth) unlisted(r *rand.Rand) {
	c.fault = NoneOfThese
	module := r.IntN(len(c.build.Modules))
	p := c.panel(module)
	each := func(p *panel, f func(*lump)) {
		for k := range p.bundles {
			for i := range p.bundles[k].lumps {
				f(&p.bundles[k].lumps[i])
			}
		}
	}
	switch r.IntN(7) {
	case 0: // a module of another make: fewer cells, more current
		each(p, func(l *lump) { l.il *= 1.13; l.n -= max(1, l.n/8) })
	case 1: // the charger does not track: it sits just over the battery
		c.track = c.battery + 1.2
	case 2: // a voltmeter out of calibration
		c.voltGain = 1 + 0.08*float64(2*r.IntN(2)-1)
	case 3: // all cells recombine more: open volts of all modules down, currents as they were
		for k := range c.build.Modules {
			each(c.panel(k), func(l *lump) { l.i0 *= 8 })
		}
	case 4: // the clamp was not zeroed
		c.clamp = 1.1 + r.Float64()
	case 5: // a charger that gives back half of what it takes
		c.loss = 0.45 + 0.2*r.Float64()
	case 6: // one module works hot, loose from the roof: 30 K
		each(p, func(l *lump) { l.i0 *= math.Exp(0.0023 * 30 / (l.a / (1.2 * (c.warm + 273.15) / 298.15))) })
	}
}
