package forecast

import (
	"math"
	"math/rand/v2"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/climate"
)

// washClearness is the day's clearness under which rain is taken to have washed the modules. Our
// own estimate: the climatology has no rain.
const washClearness = 0.20

// dayResult is a day of one year.
type dayResult struct {
	harvest, demand, unmet, unused, alternator float64 // J
	offered                                    float64 // J, at the battery
	night                                      float64 // J unmet from this noon to the next
	lowest                                     float64
	plane                                      float64 // J/m²
	warmest, low, high                         float64 // °C
}

// yearResult is one year of the trip.
type yearResult struct {
	account
	days   []dayResult
	lowest float64
	worst  float64 // largest relative residual of a step
	gain   *gain   // nil: not asked for
	cells  *cells  // nil: not asked for
}

// seasons is the weather of one year: the climate of each day's place, the year's own error of
// that climate, and the state that one day hands to the next.
type seasons struct {
	days                       *climate.Generator
	random                     *rand.Rand
	error                      float64 // standard normal draw of the climatology's error
	yesterday, today, tomorrow climate.Day
	sunrise                    time.Duration // solar
	profile                    []float64     // clearness by step of today
	site                       build.Place   // of today
}

// run takes the plant, varied by v, through the trip in the weather of v's year.
func (r *runner) run(c *course, seed uint64, v vary) yearResult {
	random := rand.New(rand.NewPCG(seed, uint64(v.weather)))
	w := seasons{days: climate.NewGenerator(random), random: random, error: random.NormFloat64()}
	res := yearResult{days: make([]dayResult, len(r.tape.days)), lowest: 1}
	r.reset(v)
	if c.modules {
		res.gain = newGain(r.plant.build)
	}
	if c.cells {
		res.cells = newCells()
	}
	r.gain, r.cells = res.gain, res.cells
	res.account[BatteryBefore] = r.battery.Charge.Joules()
	leg := int32(-1)
	for d := range r.tape.days {
		w.draw(c, r.tape, d)
		r.day(c, &w, d, &leg, &res)
	}
	res.account[BatteryAfter] = r.battery.Charge.Joules()
	return res
}

// reset puts the runner at the trip's first minute.
func (r *runner) reset(v vary) {
	b := r.plant.build
	r.vary, r.store = v, r.plant.battery
	r.store.Energy = quantity.Energy(r.store.Energy.Joules() * v.capacity)
	r.pace = r.store.Every(step)
	r.usable = r.store.Capacity().Joules()
	r.battery = charge.State{Charge: quantity.Energy(r.usable * b.Battery.StartCharge.Float()), Cell: quantity.Celsius(15)}
	r.dirt = b.Trip.Soiling.Start.Float()
	for i := range r.running {
		r.running[i] = false
		r.solvers[i].Forget()
	}
	for i := range r.module {
		r.module[i] = quantity.Celsius(15)
	}
}

// draw makes the weather of day d, one day ahead, so that the night between two days is one curve.
func (w *seasons) draw(c *course, t *tape, d int) {
	if d == 0 {
		w.tomorrow = w.next(c, 0)
		w.today = w.tomorrow
	}
	w.yesterday, w.today = w.today, w.tomorrow
	w.tomorrow = w.next(c, min(d+1, len(t.days)-1))
	w.sunrise, w.site = t.sunrise[d], t.sites[d]
	day := t.days[d]
	if cap(w.profile) < day.count {
		w.profile = make([]float64, day.count)
	}
	w.profile = w.profile[:day.count]
	w.days.Profile(w.today, t.sins[day.first:day.first+day.count], w.profile)
}

// next draws a day in the climate of day d, with the year's error of that climate: a log-normal
// factor of mean 1, the same draw all through the trip.
func (w *seasons) next(c *course, d int) climate.Day {
	month, e := c.months[d], c.errors[d]
	month.Clearness = quantity.Ratio(min(0.85, month.Clearness.Float()*math.Exp(w.error*e-e*e/2)))
	return w.days.Next(month)
}

// day runs the steps of day d.
func (r *runner) day(c *course, w *seasons, d int, leg *int32, res *yearResult) {
	t := r.tape
	span := t.days[d]
	out := &res.days[d]
	out.lowest, out.warmest, out.low, out.high = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	r.soil(w, d > 0)
	skipped := c.every > 1 && d%c.every != 0
	for k := range span.count {
		m := &t.moments[span.first+k]
		if m.idle || skipped {
			continue
		}
		if m.leg != *leg {
			*leg = m.leg
			r.arrive(w, m.leg)
		}
		n := c.weather(w, m, span.first+k, k)
		o := r.step(m, n)
		out.take(&o, k*2 >= span.count, n, r)
		if k*2 < span.count { // before noon: the night that began the day before
			res.days[max(0, d-1)].night += o.unmet
		}
		if rel := math.Abs(o.residual()) / max(1, o.account[Sunlight]+o.demand); rel > res.worst {
			res.worst = rel
		}
		o.account[BatteryBefore], o.account[BatteryAfter] = 0, 0
		res.account.add(&o.account, 1)
	}
	if r.cells != nil {
		r.cells.close(r)
	}
	if math.IsInf(out.lowest, 1) { // no step of this day belongs to the trip
		*out = dayResult{lowest: r.battery.Charge.Joules() / r.usable}
	}
	res.lowest = min(res.lowest, out.lowest)
}

// take books a step into the day.
func (d *dayResult) take(o *outcome, afternoon bool, n now, r *runner) {
	d.harvest += o.harvest
	d.demand += o.demand
	d.offered += o.offered
	d.unmet += o.unmet
	d.unused += o.account[BatteryFull] + o.account[BatteryCold]
	d.alternator += o.account[FromAlternator]
	d.plane += o.plane * seconds
	if afternoon {
		d.night += o.unmet
	}
	d.lowest = min(d.lowest, r.battery.Charge.Joules()/r.usable)
	d.low, d.high = min(d.low, n.air.Celsius()), max(d.high, n.air.Celsius())
	for i := range r.module {
		d.warmest = max(d.warmest, r.module[i].Celsius())
	}
}

// soil lets a day of dirt settle, or rain wash it off.
func (r *runner) soil(w *seasons, grow bool) {
	s := &r.plant.build.Trip.Soiling
	if grow {
		r.dirt = min(s.Cap.Float(), r.dirt+s.PerDay.Float())
	}
	if w.today.Clearness.Float() < washClearness {
		r.dirt = min(r.dirt, s.Floor.Float())
	}
}

// arrive begins a leg: the modules may be washed, and the vehicle stands as it happens to.
func (r *runner) arrive(w *seasons, leg int32) {
	l := &r.plant.build.Trip.Legs[leg]
	if l.Cleaned {
		r.dirt = min(r.dirt, r.plant.build.Trip.Soiling.Floor.Float())
	}
	r.heading = w.random.IntN(headings)
}

// weather returns the weather of step k of the day.
func (c *course) weather(w *seasons, m *moment, at, k int) now {
	if f := c.recorded[m.leg]; f != nil {
		return f[at-c.firstStep[m.leg]]
	}
	n := now{wind: w.today.Wind}
	n.air = climate.AirTemperature(climate.Days{Before: w.yesterday, Day: w.today, After: w.tomorrow}, w.sunrise, m.solar)
	if c.clear {
		n.light = clearAt(m, w.site, n.air).light
		return n
	}
	if m.sin > 0 {
		n.clear = w.profile[k]
		n.light = m.instant.Split(quantity.Irradiance(n.clear * m.beyond * m.sin))
	}
	return n
}
