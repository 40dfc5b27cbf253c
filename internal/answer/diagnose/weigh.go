package diagnose

import (
	"math"

	"noonmark/internal/base/quantity"
)

// forecastOf is what a node says of a reading: the value, its standard spread beside meter and model; or,
// for what is seen, the probability of a yes.
type forecastOf struct {
	value, spread float64
	over          bool
	yes           float64
}

// side is the chain's string and module or joint, for readings beside the circuit.
func (n *node) at(c *chain, k key) bool {
	return k.unit == c.unit && k.line == c.line && k.index == c.index
}

// predict returns what a node says of a key. What the circuit does not say, ohms of fuses, frames and chassis,
// warmth and what eyes see, is our own estimate with its spread.
func (n *node) predict(c *chain, k key) forecastOf {
	core := n.core
	own := c.unit == k.unit
	if v, ok := core.electric(k); ok {
		return n.mistake(k, forecastOf{value: v, spread: core.vague(k, v, c.fault == ReversedModule)})
	}
	p := core.plant
	f := forecastOf{}
	switch k.kind {
	case JointDrop:
		core.work()
		if core.drawn != nil {
			core = core.sound
			core.work()
		}
		r := 0.001
		if own && n.joint > 0 && n.at(c, k) {
			r += n.joint
		}
		f.value = core.lines[k.line] * r
	case BatteryVoltage:
		rest, full, spread := batteryVolts(&p.build.Battery)
		f.value, f.spread = rest, spread
		switch {
		case n.full:
			f.value, f.spread = full, 0.75*spread
		case n.cold:
			f.spread = 1.5 * spread
		}
		return n.mistake(k, f)
	case BatteryWarmth:
		f.value, f.spread = 19, 8
		if n.cold {
			f.value, f.spread = -2, 4
		}
	case InputFuse:
		f.value = fuseOhms(own && n.inputOut)
	case BatteryFuse:
		f.value = fuseOhms(own && n.outputOut)
	case FrameResistance:
		f.value, f.spread = overOhms/2, 1
		if own && n.frame > 0 && n.at(c, k) {
			f.value, f.spread = n.frame, 0.5
		}
	case ChassisResistance:
		f.value, f.spread = overOhms/2, 1
		if own && n.chassis > 0 {
			f.value = n.chassis
		} else if n.frame > 0 {
			f.value, f.spread = n.frame, 1.5
		}
	case BoxWarmer:
		f.value, f.spread = 0, 2
		if own && n.diode && n.at(c, k) {
			core.work()
			f.value, f.spread = 4*core.lines[k.line], 3 // 0.5 V over 8 K/W, our own estimate
		} else if own && n.shadow && n.at(c, k) {
			f.value, f.spread = 5, 6
		}
	case SpotWarmer:
		f.value, f.spread = 0, 2
		if own && n.spot > 0 && n.at(c, k) {
			f.value, f.spread = n.spot, 0.5*n.spot
		}
	case SeenShadow:
		f.yes = 0.03
		if own && n.shadow && n.at(c, k) {
			f.yes = 0.95
		}
	case SeenDirt:
		f.yes = 0.06
		if own && n.dirt && (c.index < 0 || n.at(c, k)) {
			f.yes = 0.95
		}
	case MeterRight:
		f.yes = 0.98
		if n.mistaken {
			f.yes = 0.03
		}
	}
	return f
}

// vague returns the standard spread of readings that the circuit tells only roughly: how cells pass current
// backwards, and what stands over a module while strings drive one another; our own estimate.
func (c *core) vague(k key, v float64, turned bool) float64 {
	label := &c.plant.build.Types[c.plant.build.Modules[c.plant.lines[0][0]].Type]
	working := k.kind == WorkVoltage || k.kind == WorkCurrent || k.kind == StringCurrent || k.kind == BatteryCurrent || k.kind == ModuleVoltage
	switch {
	case working && c.edge: // the charger may start or not
		if facts[k.kind].unit == "V" {
			return 0.4 * label.Voc.Volts()
		}
		return 0.5 * label.Isc.Amperes() * float64(len(c.plant.lines))
	case k.kind == CoveredShort || k.kind == StringCovered:
		if math.Abs(v) < 0.7*label.Isc.Amperes()*c.plant.light/1000 { // what leaks backwards through covered cells
			return 0.3*math.Abs(v) + 0.1
		}
	case k.kind == ModuleVoltage && c.amps == 0 && len(c.plan.lines) > 1 && c.alter != altersNone && c.base != nil:
		return 0.6 * label.Voc.Volts()
	case k.kind == StringCurrent && c.amps == 0 && (c.lines[k.line] < 0 || turned):
		return 0.1*math.Abs(c.lines[k.line]) + 0.08*label.Isc.Amperes()
	case turned && (k.kind == StringShort || k.kind == ArrayShort):
		return 0.08 * label.Isc.Amperes()
	}
	return 0
}

// fuseOhms is what an ohmmeter shows over a fuse.
func fuseOhms(blown bool) float64 {
	if blown {
		return overOhms
	}
	return 0.1
}

// mistake changes what the hand meter shows where it is at fault.
func (n *node) mistake(k key, f forecastOf) forecastOf {
	if !n.mistaken {
		return f
	}
	switch facts[k.kind].direct {
	case 'A':
		f.value *= n.amps
	case 'V':
		f.over = n.over
		if !n.over {
			f.value *= n.volts
		}
	}
	return f
}

// sample is a reading made ready to weigh.
type sample struct {
	key    key
	value  float64 // logarithm for ohms
	over   bool
	unsure float64
	scale  float64 // of what a wrong reading may be
	light  float64 // how the value follows the light, d ln value / d ln light
	warm   float64 // and the cells' temperature, d ln value / dT, 1/K
}

// slip is how often a reading is wrong altogether: our own estimate.
const slip = 0.004

// fit is how a node stands to the readings.
type fit struct {
	log    float64    // evidence
	shift  [3]float64 // of ln light, temperature and size
	spread [3]float64 // standard, of the same after the readings
	chi    float64    // sum of squares, over the standard uncertainties
	worst  float64
}

// nuisance is what is known of light and temperature.
type nuisance struct {
	light, warm float64 // standard, of the logarithm and of K
	offset      float64 // of the logarithm of the light given over that computed at
}

// weigh returns the evidence of readings for a node, with slopes by size given at each, and a probability
// of a slip. Light, temperature and size are integrated out about their best by the curvature there.
func weigh(s []sample, f []forecastOf, slope []float64, width float64, nu nuisance, slip float64) fit {
	var r fit
	prior := [3]float64{1 / sq(nu.light), 1 / sq(nu.warm), 1 / sq(math.Max(width, 1e-3))}
	center := [3]float64{nu.offset, 0, 0}
	w := make([]float64, len(s))
	sigma := make([]float64, len(s))
	for j := range s {
		w[j] = 1
		sigma[j] = math.Sqrt(sq(s[j].unsure) + sq(modelOf(&s[j], &f[j])) + sq(f[j].spread))
	}
	row := func(j int) [3]float64 {
		v := f[j].value
		return [3]float64{v * s[j].light, v * s[j].warm, slope[j]}
	}
	x := center
	var det float64
	var inverse [3]float64
	for step := range 6 {
		var a [3][3]float64
		var b [3]float64
		for k := range 3 {
			a[k][k] = prior[k]
			b[k] = prior[k] * center[k]
		}
		for j := range s {
			if s[j].key.kind.seen() || s[j].over || f[j].over {
				continue
			}
			h := row(j)
			res := s[j].value - expected(&s[j], &f[j])
			p := w[j] / sq(sigma[j])
			for k := range 3 {
				for l := range 3 {
					a[k][l] += p * h[k] * h[l]
				}
				b[k] += p * h[k] * res
			}
		}
		x, det, inverse = solve3(a, b)
		for k := range 3 { // the straight line holds only so far
			lim := [3]float64{0.5, 25, 1.5 * width}[k]
			x[k] = center[k] + math.Max(-lim, math.Min(lim, x[k]-center[k]))
		}
		if step == 5 {
			break
		}
		for j := range s {
			h := row(j)
			z := (s[j].value - expected(&s[j], &f[j]) - h[0]*x[0] - h[1]*x[1] - h[2]*x[2]) / sigma[j]
			in := (1 - slip) * math.Exp(-z*z/2) / (sigma[j] * math.Sqrt(2*math.Pi))
			w[j] = in / (in + slip/(1.5*s[j].scale))
		}
	}
	for k := range 3 {
		r.log -= sq(x[k]-center[k]) * prior[k] / 2
		r.log += math.Log(prior[k]) / 2
		r.spread[k] = math.Sqrt(inverse[k])
	}
	r.log -= math.Log(det) / 2
	r.shift = x
	for j := range s {
		l, z := likelihood(&s[j], &f[j], sigma[j], row(j), x, slip)
		r.log += l
		r.chi += math.Min(z*z, 60)
		r.worst = math.Max(r.worst, math.Abs(z))
	}
	return r
}

// likelihood returns the logarithm of one reading's density and its distance in standard uncertainties.
func likelihood(s *sample, f *forecastOf, sigma float64, h, x [3]float64, slip float64) (log, z float64) {
	broad := slip / (1.5 * s.scale)
	switch {
	case s.key.kind.seen():
		p := f.yes
		if s.value == 0 {
			p = 1 - p
		}
		if slip > 0.1 {
			p = (1-slip)*p + slip/2
		}
		return math.Log(math.Max(p, 0.01)), 0
	case s.over || f.over:
		if s.over == f.over {
			return math.Log(1 - slip), 0
		}
		return math.Log(slip / 4), 4
	}
	z = (s.value - expected(s, f) - h[0]*x[0] - h[1]*x[1] - h[2]*x[2]) / sigma
	return math.Log((1-slip)*math.Exp(-z*z/2)/(sigma*math.Sqrt(2*math.Pi)) + broad), z
}

// expected returns the value as it is weighed.
func expected(s *sample, f *forecastOf) float64 {
	if s.key.kind.ohmic() {
		return math.Log(math.Max(f.value, 1e-3))
	}
	return f.value
}

func modelOf(s *sample, f *forecastOf) float64 {
	if s.key.kind.ohmic() {
		return s.key.kind.model(0)
	}
	v := math.Abs(f.value)
	switch s.key.kind {
	case ModuleOpen, StringOpen, ArrayOpen: // volts that cancel or are bypassed leave the errors of those that do not
		v = math.Max(v, 0.5*s.scale)
	}
	return s.key.kind.model(v)
}

func sq(x float64) float64 { return x * x }

// solve3 solves a symmetric positive system of three, and returns its determinant and the diagonal of its
// inverse.
func solve3(a [3][3]float64, b [3]float64) (x [3]float64, det float64, diagonal [3]float64) {
	minor := func(i, j int) float64 {
		r, c := [2]int{(i + 1) % 3, (i + 2) % 3}, [2]int{(j + 1) % 3, (j + 2) % 3}
		return a[r[0]][c[0]]*a[r[1]][c[1]] - a[r[0]][c[1]]*a[r[1]][c[0]]
	}
	for k := range 3 {
		det += a[0][k] * minor(0, k)
	}
	for i := range 3 {
		for k := range 3 {
			x[i] += minor(k, i) * b[k] / det
		}
		diagonal[i] = math.Max(0, minor(i, i)/det)
	}
	return x, det, diagonal
}

// tail returns the probability that a sum of n squares of standard normals is over chi. Source: Wilson &
// Hilferty 1931, cube-root form, from memory; within 0.01.
func tail(chi float64, n int) quantity.Ratio {
	if n < 1 {
		return 1
	}
	k := 2 / (9 * float64(n))
	z := (math.Cbrt(chi/float64(n)) - (1 - k)) / math.Sqrt(k)
	return quantity.Ratio(0.5 * math.Erfc(z/math.Sqrt2))
}
