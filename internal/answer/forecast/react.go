package forecast

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/heat"
)

// An array is solved at places 0 to places of a sky's clearness, or of the light on modules that are all in one
// light: at every fourth of them, and at halves between where halves come out otherwise than the ends say.
const places = 32

// clearOf and lightOf return what stands at a place: a clearness of the sky, and a light on the modules, W/m².
func clearOf(place int) float64 { return leastClear + (1-leastClear)*float64(place)/places }
func lightOf(place int) float64 {
	x := float64(place) / places
	return leastLight + (mostLight-leastLight)*x*x
}

const leastClear, leastLight, mostLight = 0.05, 10.0, 1200.0

// clearPlace and lightPlace return the place, with its fraction.
func clearPlace(clear float64) float64 { return (clear - leastClear) / (1 - leastClear) * places }
func lightPlace(light float64) float64 {
	return math.Sqrt(max(0, light-leastLight)/(mostLight-leastLight)) * places
}

// bent is how far off the half of a stretch may be left to its ends, in what a charger takes, of what the modules
// would give in the day's highest sun.
const bent = 0.003

// anchors are the places at which an array is solved warmer by so many K, and in less light, to see what that
// changes.
var anchors = [3]int{places / 4, places / 2, brightAnchor}

const warmer, brightAnchor = 10.0, 3 * places / 4

// anchorOf returns the number of the anchor next to a place.
func anchorOf(place float64) int {
	return max(0, min(len(anchors)-1, int(place*4/places-0.5)))
}

// usualReactions is about how often the circuit is solved for a station, with the moments up to the next.
const usualReactions = 30

// array is a unit's reactions at a station, or in one light.
type array struct {
	grid      []reaction             // rising by place
	after     [places]uint8          // by place: the last of grid that is not after it
	place     []uint8                // of each of grid
	warm, dim [len(anchors)]reaction // of each kelvin, and of each part more of one over the light, by anchor
}

// reaction is what becomes of what the modules of a unit would give, each bank in its mean light and as warm as
// it is: all powers but cool are over that.
type reaction [reParts]float32

// The parts of a reaction.
const (
	reCool = iota // the cells' own bests at 25 °C, over the modules'
	reSum         // and as warm as they are
	reTop         // at the highest point of the array, its cables' loss in it
	reBypass
	reWithin // at the charger's window with an empty, a usual and a full battery, the loss in it
	reUsual
	reFull
	reVolts // there, with the usual one
	reOhms  // of the cables, for the charger's current
	reOpen  // open volts
	reWarm  // the modules', °C
	reParts
)

// add adds a share of b. It is written out: a loop takes half as long again in the years.
func (a *reaction) add(b *reaction, w float64) {
	f := float32(w)
	a[0] += f * b[0]
	a[1] += f * b[1]
	a[2] += f * b[2]
	a[3] += f * b[3]
	a[4] += f * b[4]
	a[5] += f * b[5]
	a[6] += f * b[6]
	a[7] += f * b[7]
	a[8] += f * b[8]
	a[9] += f * b[9]
	a[10] += f * b[10]
}

// read adds a share of the array's reaction at a place, and of what warmth and light change in it.
func (a *array) read(out, warm, dim *reaction, share, place float64) {
	p := max(0, min(places-1e-9, place))
	k, anchor := int(a.after[int(p)]), anchorOf(p)
	from, to := float64(a.place[k]), float64(a.place[k+1])
	x := (p - from) / (to - from)
	out.add(&a.grid[k], share*(1-x))
	out.add(&a.grid[k+1], share*x)
	warm.add(&a.warm[anchor], share)
	if dim != nil {
		dim.add(&a.dim[anchor], share)
	}
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

// busesOf returns the volts of the battery at its lowest charge, about three quarters full, and full.
func (p *plant) busesOf() (out [3]quantity.Voltage) {
	for k, charged := range [3]float64{p.build.Battery.LowestCharge.Float(), 0.75, 1} {
		out[k] = p.battery.Voltage(charge.State{Charge: quantity.Energy(charged * p.battery.Capacity().Joules()), Cell: quantity.Celsius(25)}, 0)
	}
	return out
}

// usualBus is the number of the usual one of them.
const usualBus = 1

// atWindow is how near the lowest volts of a charger an array counts as held there, V.
const atWindow = 0.05

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
	l := &r.plant.build.Trip.Legs[leg]
	r.shadows.roof = r.plant.roofs[l.Posture]
	month := c.months[c.legs[leg][0]]
	r.layOut(unit, c, out, false, 1, func(place int, scale float64) {
		light := lightOf(place)
		for i := range r.plant.banks {
			r.useful[i] = light * scale
			r.module[i] = r.plant.banks[i].plate.Steady(quantity.Irradiance(light), dayAir(month), heat.RoofAirSpeed(month.Wind, r.speeds[leg]))
		}
	})
}

// reactAt solves a unit at a station; moved as for layOut.
func (r *runner) reactAt(unit int, at station, c *chart, out *array, moved bool) {
	m := &r.tape.moments[at.moment]
	r.layOut(unit, c, out, moved, m.sin/c.high[c.day[at.moment]], func(place int, scale float64) { r.sunOn(c, at, place, scale) })
}

// sunOn puts the light and warmth of a place on a station's modules, all of the light or a share of it.
func (r *runner) sunOn(c *chart, at station, place int, scale float64) {
	m := &r.tape.moments[at.moment]
	month := c.months[c.day[at.moment]]
	r.heading, r.dirt = at.heading, 0
	r.vary = vary{power: c.bright * scale, surroundings: c.near[at.near], soiling: 1, loads: 1, capacity: 1}
	w := now{air: dayAir(month), wind: month.Wind, light: m.instant.Split(quantity.Irradiance(clearOf(place) * m.beyond * m.sin))}
	var o outcome
	r.sunlight(m, w, r.speeds[m.leg], &o)
}

// layOut solves a unit at the places, which set puts on the modules, all of the light or a share of it; what
// warmth and light change it finds too, unless that is moved there from elsewhere. What is off counts by weight.
func (r *runner) layOut(unit int, c *chart, out *array, moved bool, weight float64, set func(place int, scale float64)) {
	r.solvers[unit].Forget()
	var all [places + 1]reaction
	var known [places + 1]bool
	solve := func(k int) {
		set(k, 1)
		all[k], known[k] = r.reaction(unit, c), true
	}
	solve(0)
	plain := r.plain(unit)
	for k := places / 4; k <= places; k += places / 4 {
		solve(k)
		if moved || k == places || plain && k != places/2 {
			continue
		}
		n := anchorOf(float64(k))
		for i := range r.module {
			r.module[i] = r.module[i].Add(warmer * quantity.OneKelvin)
		}
		out.warm[n] = change(r.reaction(unit, c), all[k], warmer)
		set(k, 1-c.dimmer)
		out.dim[n] = change(r.reaction(unit, c), all[k], 1/(1-c.dimmer)-1)
	}
	if plain && !moved {
		out.warm[0], out.dim[0], out.warm[2], out.dim[2] = out.warm[1], out.dim[1], out.warm[1], out.dim[1]
	}
	half(&all, &known, 0, places/2, weight, solve)
	half(&all, &known, places/2, places, weight, solve)
	for k := range all {
		if known[k] {
			out.grid, out.place = append(out.grid, all[k]), append(out.place, uint8(k))
		}
		if k < places {
			out.after[k] = uint8(len(out.grid) - 1)
		}
	}
}

// plain reports whether no direct light is kept off any cell of a unit's, all of one surface.
func (r *runner) plain(unit int) bool {
	slots := r.plant.units[unit].slots
	for k := range slots {
		if r.plant.banks[slots[k].bank].surface != r.plant.banks[slots[0].bank].surface {
			return false
		}
	}
	return r.shadows.even && r.shadows.roof.shades
}

// half looks at the half of a stretch, which is known where it is wide, and where the ends do not say it
// at the halves of its halves.
func half(all *[places + 1]reaction, known *[places + 1]bool, from, to int, weight float64, solve func(k int)) {
	at := (from + to) / 2
	if at == from {
		return
	}
	if !known[at] {
		solve(at)
	}
	for _, k := range [...]int{reTop, reWithin, reUsual, reFull} {
		if off := all[at][k] - (all[from][k]+all[to][k])/2; math.Abs(float64(off))*weight*clearOf(at) > bent {
			half(all, known, from, at, weight, solve)
			half(all, known, at, to, weight, solve)
			return
		}
	}
}

// change returns what each unit of by changed.
func change(now, before reaction, by float64) reaction {
	now.add(&before, -1)
	var per reaction
	per.add(&now, 1/by)
	return per
}

// reaction solves a unit in the light and warmth set.
func (r *runner) reaction(i int, c *chart) (out reaction) {
	u, s, g := &r.plant.units[i], r.solvers[i], r.giftOf(c, i)
	if !(g.own > 0) {
		return reaction{reCool: 1, reSum: 1, reTop: 1, reWarm: float32(g.warm)}
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
	best := s.Best()
	topLoss, bypass := r.cableLoss(i, best.Current.Amperes()), s.Bypassed().Watts()
	out = reaction{
		reCool: float32(cool / g.cold), reSum: float32(s.SumOfCells().Watts() / g.own), reOpen: float32(s.Open().Volts()), reWarm: float32(g.warm),
		reTop: float32((best.Power().Watts() + topLoss) / g.own), reBypass: float32(bypass / g.own),
	}
	within, loss := best, topLoss
	for k := range c.buses {
		w := circuit.Window{Lowest: lowest(u.charger, c.buses[k]), Habit: habit(u.charger), At: c.buses[k]}
		switch {
		case w.Habit == circuit.Global && best.Voltage >= w.Lowest:
			within, loss = best, topLoss
		case k > 0 && w.Habit == circuit.Nearest && within.Voltage > w.Lowest: // the same peak
		default:
			within = s.Operate(w)
			loss = r.cableLoss(i, within.Current.Amperes())
		}
		out[reWithin+k] = float32((within.Power().Watts() + loss) / g.own)
		if k == usualBus {
			out[reVolts] = float32(best.Voltage.Volts())
			if amps := within.Current.Amperes(); amps > 0 {
				out[reVolts], out[reOhms] = float32(within.Voltage.Volts()), float32(loss/(amps*amps))
			}
		}
	}
	return out
}

// read gives what stands at a place for a unit at a moment and heading, x of the way from surroundings k to the
// next: of the moment itself, or from between its stations.
func (c *chart) read(unit int, m *moment, heading, k int, x, place float64, re, warm, dim *reaction) {
	h := int32(0)
	if c.free[m.leg] {
		h = int32(heading)
	}
	s := &c.spots[m.at]
	later := s.later
	if row := c.row[m.at]; row >= 0 {
		n := int(row+h)*len(c.arrays) + unit
		if own := c.own[n]; own != nil {
			own[k].read(re, warm, dim, 1-x, place)
			if x > 0 {
				own[k+1].read(re, warm, dim, x, place)
			}
			return
		}
		later = float64(c.later[n])
	}
	h *= int32(len(c.near))
	for n, w := range [4]float64{(1 - s.day) * (1 - later), (1 - s.day) * later, s.day * (1 - later), s.day * later} {
		if w > 0 {
			a := c.arrays[unit][int(s.at[n]+h)+k:]
			a[0].read(re, warm, dim, w*(1-x), place)
			if x > 0 {
				a[1].read(re, warm, dim, w*x, place)
			}
		}
	}
}

// charted is convert by the chart.
func (r *runner) charted(i int, m *moment, clear float64, drive bool, road quantity.Speed, o *outcome) float64 {
	u, c, g := &r.plant.units[i], r.chart, r.giftOf(r.chart, i)
	if !(g.light > 0) || g.label <= 0 {
		r.running[i] = false
		return 0
	}
	var re, warm, dim reaction
	if plain := c.plain[i][m.leg]; plain != nil {
		plain.read(&re, &warm, nil, 1, lightPlace(g.light/g.area))
	} else {
		k, x := 0, 0.0
		if len(c.near) > 1 {
			k, x = between(c.near, r.vary.surroundings)
		}
		c.read(i, m, r.heading, k, x, clearPlace(clear), &re, &warm, &dim)
		re.add(&dim, c.bright/max(0.01, (1-min(mostDirt, r.dirt*r.vary.soiling))*r.vary.power)-1)
	}
	re.add(&warm, g.warm-float64(re[reWarm]))
	part := func(k int) float64 { return float64(re[k]) }
	cool, sum, top, bypass := part(reCool)*g.cold, part(reSum)*g.own, part(reTop)*g.own, part(reBypass)*g.own
	o.account[LowLight] += (g.label - cool) * seconds
	o.account[CellHeat] += (cool*r.tamper[LowLight] - sum) * seconds
	o.account[Bypass] += bypass * seconds
	o.account[Mismatch] += (sum - top - bypass) * seconds
	top *= r.tamper[Mismatch]

	bus := r.store.Voltage(r.battery, 0)
	r.running[i] = quantity.Voltage(part(reOpen)) <= u.charger.InputMax && u.control.Running(r.running[i], quantity.Voltage(part(reOpen)), bus)
	if !r.running[i] {
		o.account[VoltageWindow] += top * seconds
		return 0
	}
	k, x := 0, bus.Volts()
	if x > c.buses[usualBus].Volts() {
		k = usualBus
	}
	x = max(0, min(1, (x-c.buses[k].Volts())/max(0.01, c.buses[k+1].Volts()-c.buses[k].Volts())))
	mid := max(0, min((part(reWithin+k)*(1-x)+part(reWithin+k+1)*x)*g.own, top))
	o.account[VoltageWindow] += (top - mid) * seconds
	volts := part(reVolts)
	if least := lowest(u.charger, bus).Volts(); volts < max(least, lowest(u.charger, c.buses[usualBus]).Volts()+atWindow) {
		volts = least
	}
	amps := mid / volts
	loss := min(mid, amps*amps*part(reOhms))
	p := mid
	if over := max(amps/u.charger.InputCurrent.Amperes(), (mid-loss)/u.charger.InputPower.Watts()); over > 1 {
		p = (mid-loss)/over + loss/(over*over)
		loss /= over * over
	}
	o.account[InputLimit] += (mid - p) * seconds
	return r.deliver(i, p, loss, drive, road, o)
}
