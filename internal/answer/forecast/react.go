package forecast

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/heat"
)

// points is how many lights an array is solved for.
const points = 8

// clears are the clearnesses of the sky at which a station is solved: close together where the sun comes out.
var clears = [points]float64{0.05, 0.2, 0.32, 0.44, 0.55, 0.66, 0.8, 1}

// lights are the lights on the modules, W/m², at which an array all in one light is solved.
var lights = [points]float64{10, 40, 100, 200, 350, 550, 850, 1200}

// warmer is how much the modules are warmed to see what that changes, K, at the point hotPoint.
const warmer, hotPoint = 20.0, 6

// reactionsOf is how often the circuit is solved at a station.
const reactionsOf = points + 1

// array is a unit's reactions at a station, by clears, or all in one light, by lights.
type array struct {
	grid  [points]reaction
	slope reaction // of each kelvin
}

// reaction is what becomes of what the modules of a unit would give, each bank in its mean light and as warm as
// it is: all powers but cool are over that.
type reaction struct {
	cool   float64 // the cells' own bests at 25 °C, over the modules'
	sum    float64 // and as warm as they are
	top    float64 // at the highest point of the array, its cables' loss in it
	bypass float64
	within float64 // at the charger's window, the loss in it
	volts  float64 // there
	ohms   float64 // of the cables, for the charger's current
	open   float64 // open volts
	warm   float64 // the modules', °C
}

func (a *reaction) add(b *reaction, w float64) {
	a.cool += w * b.cool
	a.sum += w * b.sum
	a.top += w * b.top
	a.bypass += w * b.bypass
	a.within += w * b.within
	a.volts += w * b.volts
	a.ohms += w * b.ohms
	a.open += w * b.open
	a.warm += w * b.warm
}

// read adds a share of the array's reaction, x of the way from point k to the next.
func (a *array) read(out, slope *reaction, share float64, k int, x float64) {
	out.add(&a.grid[k], share*(1-x))
	out.add(&a.grid[k+1], share*x)
	slope.add(&a.slope, share)
}

// between returns the point of v in a rising list and how far it is on the way to the next, 0 to 1.
func between(list []float64, v float64) (k int, x float64) {
	for k < len(list)-2 && v > list[k+1] {
		k++
	}
	return k, max(0, min(1, (v-list[k])/(list[k+1]-list[k])))
}

// dayAir returns the usual air by day of a month.
func dayAir(m climate.Month) quantity.Temperature {
	return quantity.Celsius((m.MeanLow.Celsius() + 2*m.MeanHigh.Celsius()) / 3)
}

// usualVolts is the battery's, about three quarters full.
func (p *plant) usualVolts() quantity.Voltage {
	return p.battery.Voltage(charge.State{Charge: quantity.Energy(0.75 * p.battery.Capacity().Joules()), Cell: quantity.Celsius(25)}, 0)
}

// warmth is what a bank's modules give in light and warmth over what they give in it at 25 °C.
type warmth [warmLights][warmSteps]float64

// warmLights places span the light as bank.cool does; warmSteps are warmBy K apart from warmFrom °C.
const (
	warmLights, warmSteps = 16, 19
	warmFrom, warmBy      = -60.0, 10.0
)

func warmthOf(b *bank) *warmth {
	out := new(warmth)
	for k := range out {
		g := quantity.Irradiance(coolFrom * math.Pow(coolTo/coolFrom, float64(k)/(warmLights-1)))
		st := b.params.At(g, quantity.Celsius(25))
		cold := st.Best().Power().Watts()
		for n := range out[k] {
			st := b.params.At(g, quantity.Celsius(warmFrom+warmBy*float64(n)))
			out[k][n] = st.Best().Power().Watts() / cold
		}
	}
	return out
}

// at returns the factor at a place of coolPlace and a temperature in °C.
func (h *warmth) at(place, celsius float64) float64 {
	x := min(warmLights-1.000001, place*(warmLights-1)/coolPlaces)
	y := max(0, min(warmSteps-1.000001, (celsius-warmFrom)/warmBy))
	k, n := int(x), int(y)
	x, y = x-float64(k), y-float64(n)
	return (1-x)*((1-y)*h[k][n]+y*h[k][n+1]) + x*((1-y)*h[k+1][n]+y*h[k+1][n+1])
}

// gift is what a unit's modules have and would give.
type gift struct {
	light float64 // on them, shadows left out: W
	label float64 // at the label's efficiency, W
	cold  float64 // at 25 °C, W
	own   float64 // as warm as they are, W
	warm  float64 // the mean, °C
	area  float64
}

// giftOf returns that of a unit in the light and warmth set.
func (r *runner) giftOf(c *chart, unit int) (g gift) {
	count := 0.0
	for _, part := range r.plant.units[unit].parts {
		b, full, useful := &r.plant.banks[part.bank], &r.light[part.bank], r.useful[part.bank]
		a, warm := b.area*part.count, r.module[part.bank].Celsius()
		g.light += a * (full.direct + full.sky + full.ground)
		g.area += a
		g.label += useful / 1000 * b.kind.Pmax.Watts() * part.count
		if useful > 0 {
			place := coolPlace(useful)
			cold := b.coolIn(place, useful) * part.count
			g.cold += cold
			g.own += cold * c.warmth[part.bank].at(place, warm)
		}
		g.warm += warm * part.count
		count += part.count
	}
	g.warm /= count
	return g
}

// reactPlain solves a unit whose cells are all in one light.
func (r *runner) reactPlain(unit, leg int, c *chart, out *array) {
	r.solvers[unit].Forget()
	l := &r.plant.build.Trip.Legs[leg]
	r.shadows.roof = r.plant.roofs[l.Posture]
	month := c.months[c.legs[leg][0]]
	for k, light := range lights {
		for i := range r.plant.banks {
			r.useful[i] = light
			r.module[i] = r.plant.banks[i].plate.Steady(quantity.Irradiance(light), dayAir(month), heat.RoofAirSpeed(month.Wind, r.speeds[leg]))
		}
		r.reacts(unit, k, c, out)
	}
}

// reactAt solves a unit at a station.
func (r *runner) reactAt(unit int, at station, c *chart, out *array) {
	m := &r.tape.moments[at.moment]
	r.solvers[unit].Forget()
	r.heading, r.dirt, r.vary.surroundings = at.heading, 0, c.near[at.near]
	month := c.months[c.day[at.moment]]
	for k, clear := range clears {
		w := now{air: dayAir(month), wind: month.Wind, light: m.instant.Split(quantity.Irradiance(clear * m.beyond * m.sin))}
		var o outcome
		r.sunlight(m, w, r.speeds[m.leg], &o)
		r.reacts(unit, k, c, out)
	}
}

// reacts solves a unit in the light and warmth set, as point k; at hotPoint also warmer.
func (r *runner) reacts(unit, k int, c *chart, out *array) {
	out.grid[k] = r.reaction(unit, c)
	if k != hotPoint {
		return
	}
	for i := range r.module {
		r.module[i] = r.module[i].Add(warmer * quantity.OneKelvin)
	}
	out.slope = r.reaction(unit, c)
	out.slope.add(&out.grid[k], -1)
	var per reaction
	per.add(&out.slope, 1/warmer)
	out.slope = per
}

// reaction solves a unit in the light and warmth set.
func (r *runner) reaction(i int, c *chart) reaction {
	u, s, g := &r.plant.units[i], r.solvers[i], r.giftOf(c, i)
	if !(g.own > 0) {
		return reaction{cool: 1, sum: 1, top: 1, warm: g.warm}
	}
	cool := 0.0
	for k := range u.slots {
		at := &u.slots[k]
		if r.shadows.roof.shades {
			_, watts := r.shine(s, at)
			cool += watts
		} else {
			s.SetModule(at.text, at.module, quantity.Irradiance(r.useful[at.bank]), r.module[at.bank])
			cool += r.plant.banks[at.bank].coolAt(r.useful[at.bank])
		}
	}
	bus, best := r.plant.usualVolts(), s.Best()
	topLoss, bypass := r.cableLoss(i, best.Current.Amperes()), s.Bypassed().Watts()
	within := best
	if w := (circuit.Window{Lowest: lowest(u.charger, bus), Habit: habit(u.charger), At: bus}); best.Voltage < w.Lowest || w.Habit != circuit.Global {
		within = s.Operate(w)
	}
	out := reaction{
		cool: cool / g.cold, sum: s.SumOfCells().Watts() / g.own, open: s.Open().Volts(), warm: g.warm,
		top: (best.Power().Watts() + topLoss) / g.own, bypass: bypass / g.own, volts: best.Voltage.Volts(),
	}
	if amps := within.Current.Amperes(); amps > 0 {
		loss := r.cableLoss(i, amps)
		out.within, out.volts, out.ohms = (within.Power().Watts()+loss)/g.own, within.Voltage.Volts(), loss/(amps*amps)
	}
	return out
}

// charted is convert by the chart.
func (r *runner) charted(i int, m *moment, clear float64, drive bool, road quantity.Speed, o *outcome) float64 {
	u, c, g := &r.plant.units[i], r.chart, r.giftOf(r.chart, i)
	if !(g.light > 0) || g.label <= 0 {
		r.running[i] = false
		return 0
	}
	var re, slope reaction
	if plain := c.plain[i][m.leg]; plain != nil {
		k, x := between(lights[:], g.light/g.area)
		plain.read(&re, &slope, 1, k, x)
	} else {
		h, k, x := int32(0), 0, 0.0
		if c.free[m.leg] {
			h = int32(r.heading * len(c.near))
		}
		if len(c.near) > 1 {
			k, x = between(c.near, r.vary.surroundings)
		}
		l, y := between(clears[:], clear)
		s := &c.spots[m.at]
		later := s.later
		if row := int(c.row[m.at]); row >= 0 {
			if c.free[m.leg] {
				row += r.heading
			}
			later = float64(c.later[row*len(c.arrays)+i])
		}
		for n, w := range [4]float64{(1 - s.day) * (1 - later), (1 - s.day) * later, s.day * (1 - later), s.day * later} {
			if w > 0 {
				a := c.arrays[i][int(s.at[n]+h)+k:]
				a[0].read(&re, &slope, w*(1-x), l, y)
				if x > 0 {
					a[1].read(&re, &slope, w*x, l, y)
				}
			}
		}
	}
	re.add(&slope, g.warm-re.warm)
	cool, sum, top, bypass := re.cool*g.cold, re.sum*g.own, re.top*g.own, re.bypass*g.own
	o.account[LowLight] += (g.label - cool) * seconds
	o.account[CellHeat] += (cool*r.tamper[LowLight] - sum) * seconds
	o.account[Bypass] += bypass * seconds
	o.account[Mismatch] += (sum - top - bypass) * seconds
	top *= r.tamper[Mismatch]

	bus := r.store.Voltage(r.battery, 0)
	r.running[i] = quantity.Voltage(re.open) <= u.charger.InputMax && u.control.Running(r.running[i], quantity.Voltage(re.open), bus)
	if !r.running[i] {
		o.account[VoltageWindow] += top * seconds
		return 0
	}
	mid := max(0, min(re.within*g.own, top))
	if u.charger.Tracking == build.NoTracking { // at the battery's volts, not at the usual ones
		mid = min(mid*lowest(u.charger, bus).Volts()/lowest(u.charger, r.plant.usualVolts()).Volts(), top)
	}
	o.account[VoltageWindow] += (top - mid) * seconds
	amps := mid / max(re.volts, lowest(u.charger, bus).Volts())
	loss := min(mid, amps*amps*re.ohms)
	p := mid
	if over := max(amps/u.charger.InputCurrent.Amperes(), (mid-loss)/u.charger.InputPower.Watts()); over > 1 {
		p = (mid-loss)/over + loss/(over*over)
		loss /= over * over
	}
	o.account[InputLimit] += (mid - p) * seconds
	return r.deliver(i, p, loss, drive, road, o)
}
