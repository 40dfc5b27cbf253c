package diagnose

import (
	"math"
	"math/rand/v2"
)

// works finds the point of the sweep at which the charger works the array.
func (c *truth) works() {
	c.at = -1
	ch := &c.build.Chargers[0]
	s := c.seen
	if c.stopped || s.arrayOpen < c.battery+c.start {
		return
	}
	if c.track > 0 {
		for k := range s.v {
			if s.v[k] >= c.track {
				c.at = k
				return
			}
		}
		return
	}
	best := 0.0
	for k := range s.v {
		if p := s.v[k] * s.i[k]; s.v[k] >= c.battery+ch.RunMargin.Volts() && p > best {
			best, c.at = p, k
		}
	}
	if c.at >= 0 && c.hold < 1 {
		most := s.i[c.at]
		for c.at+1 < len(s.i) && s.i[c.at] > c.hold*most {
			c.at++
		}
	}
}

// read returns what the meter shows of a key.
func (c *truth) read(r *rand.Rand, k key) Reading {
	s := c.seen
	out := Reading{Kind: k.kind}
	ch := &c.build.Chargers[0]
	module := -1
	if k.line >= 0 {
		st := &c.build.Strings[ch.Strings[k.line]]
		out.At = st.Name
		if facts[k.kind].at == ofModule {
			module = st.Modules[k.index]
			out.At = c.build.Modules[module].Name
		}
		out.Joint = max(0, k.index)
	}
	rows, panel := []int{k.line}, k.index
	if n := len(c.world.rows); n != len(ch.Strings) && k.line >= 0 { // wired otherwise than drawn
		series := len(c.build.Strings[0].Modules)
		if n == 1 {
			rows, panel = []int{0}, k.line
		} else {
			rows = nil
			for i := range series {
				rows = append(rows, k.line*series+i)
			}
			if panel >= 0 && k.kind != JointDrop {
				rows, panel = rows[panel:panel+1], 0
			}
		}
	}
	working := func(v func(at int) float64, open float64) float64 {
		if c.at < 0 {
			return open
		}
		return v(c.at)
	}
	sum := func(v func(row int) float64) float64 {
		t := 0.0
		for _, w := range rows {
			t += v(w)
		}
		return t
	}
	last := len(s.v) - 1
	v := 0.0
	switch k.kind {
	case ModuleOpen:
		v = s.moduleOpen[rows[0]][panel]
	case ModuleShort:
		v = s.moduleShort[rows[0]][panel]
	case CoveredShort:
		v = s.covered[rows[0]][panel]
	case StringCovered:
		all := sum(func(w int) float64 { return s.stringShort[w] })
		v = all
		for _, w := range rows {
			if i := all - s.stringShort[w] + s.stringCovered[w]; math.Abs(i) < math.Abs(v) {
				v = i
			}
		}
	case StringOpen:
		v = s.stringOpen[rows[0]]
	case StringShort:
		v = sum(func(w int) float64 { return s.stringShort[w] })
	case ArrayOpen:
		v = s.arrayOpen
	case ArrayShort:
		v = s.arrayShort
	case WorkVoltage:
		v = working(func(at int) float64 { return s.v[at] }, s.arrayOpen)
	case WorkCurrent:
		v = working(func(at int) float64 { return s.i[at] }, 0)
	case StringCurrent:
		v = working(func(at int) float64 { return sum(func(w int) float64 { return s.lines[w][at] }) }, sum(func(w int) float64 { return s.lines[w][last] }))
	case ModuleVoltage:
		v = working(func(at int) float64 { return s.over[rows[0]][panel][at] }, s.over[rows[0]][panel][last])
	case JointDrop:
		v = 0.002
		if len(c.world.rows) == len(ch.Strings) {
			v = working(func(at int) float64 { return s.joints[k.line][k.index][at] }, s.joints[k.line][k.index][last])
		}
	case BatteryVoltage:
		v = c.battery
	case BatteryCurrent:
		v = working(func(at int) float64 { return c.loss * s.v[at] * s.i[at] * (0.955 + 0.01*r.NormFloat64()) / c.battery }, 0)
	case BatteryWarmth:
		v = c.batteryWarm
	case InputFuse, BatteryFuse:
		v = 0.02 + 0.2*r.Float64()
		if k.kind == InputFuse && c.inputFuse || k.kind == BatteryFuse && c.outFuse {
			v = math.Inf(1)
		}
	case FrameResistance:
		v = c.frame[module]
	case ChassisResistance:
		v = c.chassis
		for _, f := range c.frame {
			v = math.Min(v, f)
		}
	case BoxWarmer:
		v = c.box[module]
		if c.diode == module {
			v += (6 + 4*r.Float64()) * 0.42 * working(func(at int) float64 { return s.lines[rows[0]][at] }, 0)
		}
	case SpotWarmer:
		v = c.spot[module]
	case SeenShadow:
		v = yes(c.shadow[module])
	case SeenDirt:
		v = yes(c.dirt[module])
	case MeterRight:
		v = yes(c.mistaken == (r.Float64() < 0.02))
	}
	return c.noise(r, k.kind, v, out)
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// noise is the meter: a gain error within its class, digits, and its own faults.
func (c *truth) noise(r *rand.Rand, k Kind, v float64, out Reading) Reading {
	flat := func() float64 { return 2*r.Float64() - 1 }
	switch facts[k].direct {
	case 'V':
		if v = v * c.voltGain; c.voltOver {
			out.Over = true
			return out
		}
	case 'A':
		if v *= c.ampGain; c.ampDead {
			v = 0
		}
	}
	switch k {
	case ModuleShort, CoveredShort, StringShort, StringCovered, ArrayShort:
		v = math.Round(100*(v*(1+0.015*flat())+0.03*flat()*yes(!c.ampDead))) / 100
	case WorkCurrent, StringCurrent, BatteryCurrent:
		v = math.Round(100*(v*(1+0.025*flat())+0.05*flat()+c.clamp)) / 100
	case BatteryWarmth, BoxWarmer, SpotWarmer:
		v = math.Round(v + 2*flat())
	case InputFuse, BatteryFuse, FrameResistance, ChassisResistance:
		if v > 4e7 {
			out.Over = true
			return out
		}
		v *= 1 + 0.05*flat()
	case SeenShadow, SeenDirt, MeterRight:
	case JointDrop:
		v = math.Round(1000*(v*(1+0.005*flat())+0.002*flat())) / 1000
	default:
		v = math.Round(100*(v*(1+0.005*flat())+0.02*flat())) / 100
	}
	out.Value = v
	return out
}
