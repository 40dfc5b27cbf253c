package forecast

import (
	"context"
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/shade"
)

// A chart is what the trip's arrays make of light, solved beforehand, so that many weather years need not
// solve the circuit at every step. Light, shadows, warmth, charger, battery and loads stay those of every
// step; only what the array gives of what its cells could is read: by the share of direct light, all of
// it, the modules' warmth and the battery's volts, between stations on the sun's way, or of the moment
// itself where the stations were found not to say it. What that costs is said in docs/method.md.
type chart struct {
	free           []bool     // by leg: the vehicle stands any way, and a station is solved for each heading
	plain          [][]*array // by unit and leg: all cells in one light, wherever the sun stands; nil: by station
	row            []int32    // by moment: the first of its rows of beam, -1 where nothing shades
	banks          int
	beam           []float32     // by row and bank: share of direct light the roof's things leave
	hard           []float32     // by row and unit: weakest
	later          []float32     // by row and unit: how far it is to the later stations by that
	spots          []spot        // by moment: between which stations it lies
	marks          []station     // by number
	arrays         [][]array     // by unit and station
	own            [][]array     // by row and unit: the moment's own, where its stations do not say it
	warmth         []*warmth     // by bank
	near           []float64     // factors of the surroundings, rising
	day            []int         // by moment
	known          map[int]int32 // by moment: its first station
	legs           map[int][]int // by leg: the days on which its stations lie
	high           []float64     // by day: the most of the sine of the sun's elevation
	months         []climate.Month
	buses          [3]quantity.Voltage // the battery's, empty, usual and full
	bright, dimmer float64             // of the light, what dirt and weaker modules leave where arrays are solved; and how much less of it shows what light changes
}

// station is a moment, a heading and a factor of the surroundings at which arrays are solved.
type station struct{ moment, heading, near int }

// spot is the four stations about a moment, for the first heading and surroundings: of the day before it and the
// day after, each of them earlier and later; and how much of the day after, and of the later hour.
type spot struct {
	at         [4]int32
	day, later float64
}

const (
	stationSteps = 4 // steps from station to station
	stationDays  = 5 // days, at most
)

// lowestStation is the least sine of the sun's elevation of a station: lower suns give next to nothing.
const lowestStation = 0.01

// chartYears is the least number of years for which a chart is made.
const chartYears = 4

// chartOf lays out the chart of the trip and solves it on all workers; nil where solving each step of the
// years is less work. It stops with ctx.
func chartOf(ctx context.Context, p *plant, t *tape, c *course, varied []vary, o Options) (*chart, error) {
	if o.Full || o.Modules || o.Years < chartYears && !o.Chart {
		return nil, nil
	}
	ch := &chart{months: c.months, banks: len(p.banks), known: map[int]int32{}, day: make([]int, len(t.moments)),
		spots: make([]spot, len(t.moments)), row: make([]int32, len(t.moments)), near: nearOf(varied), buses: p.busesOf()}
	ch.bright, ch.dimmer = brightOf(p, len(t.days), varied)
	if steps := ch.lay(p, t); !o.Chart && len(ch.marks)*usualReactions > o.Years*steps {
		return nil, nil
	}
	for i := range p.banks {
		ch.warmth = append(ch.warmth, warmthOf(&p.banks[i]))
	}
	views := p.views()
	work := func(tasks []func(r *runner)) error {
		return share(ctx, o.Workers, len(tasks), func() func(k int) bool {
			r := newRunner(p, t, views)
			r.reset(variations(nil, 1)[0])
			r.lag = 24 * time.Hour // settled
			return func(k int) bool {
				tasks[k](r)
				return true
			}
		})
	}
	var tasks []func(r *runner)
	for d := range t.days {
		tasks = append(tasks, func(r *runner) { ch.shadowDay(r, d) })
	}
	if err := work(tasks); err != nil {
		return nil, err
	}
	tasks = nil
	for d := range t.days {
		tasks = append(tasks, func(r *runner) { ch.place(r, d) })
	}
	ch.arrays = make([][]array, len(p.units))
	for u := range p.units {
		ch.arrays[u] = make([]array, len(ch.marks))
		for l, plain := range ch.plain[u] {
			if plain != nil && len(ch.legs[l]) > 0 {
				tasks = append(tasks, func(r *runner) { r.reactPlain(u, l, ch, plain) })
			}
		}
		for k := range ch.marks {
			if ch.plain[u][t.moments[ch.marks[k].moment].leg] == nil {
				tasks = append(tasks, func(r *runner) { r.reactAt(u, ch.marks[k], ch, &ch.arrays[u][k], false) })
			}
		}
	}
	if err := work(tasks); err != nil {
		return nil, err
	}
	tasks = nil
	for d := range t.days {
		tasks = append(tasks, func(r *runner) { r.mend(ch, d) })
	}
	return ch, work(tasks)
}

// nearOf returns the factors of the surroundings at which arrays are solved: the one, or the ends and the quarters.
func nearOf(varied []vary) []float64 {
	least, most := math.Inf(1), 0.0
	for i := range varied {
		least, most = min(least, varied[i].surroundings), max(most, varied[i].surroundings)
	}
	if most-least < 1e-9 {
		return []float64{least}
	}
	return []float64{least, (3*least + most) / 4, (least + most) / 2, (least + 3*most) / 4, most}
}

// brightOf returns about what dirt and weaker modules leave of the light, in the middle of the least and the most
// that they do, and how far that is off, of it.
func brightOf(p *plant, days int, varied []vary) (bright, dimmer float64) {
	s := &p.build.Trip.Soiling
	least, most := math.Inf(1), 0.0
	for i := range varied {
		for _, n := range [...]float64{0, float64(days)} {
			dirt := min(s.Cap.Float(), s.Start.Float()+s.PerDay.Float()*n)
			left := (1 - min(mostDirt, dirt*varied[i].soiling)) * varied[i].power
			least, most = min(least, left), max(most, left)
		}
	}
	bright = max(0.1, (least+most)/2)
	return bright, max(0.05, (most-least)/2/bright)
}

// lay finds the stations, and returns the trip's steps in daylight that are solved without a chart.
func (c *chart) lay(p *plant, t *tape) int {
	legs := p.build.Trip.Legs
	c.free = make([]bool, len(legs))
	plain := make([]bool, len(legs)) // for every unit
	for l := range legs {
		c.free[l] = legs[l].HeadingFree && !legs[l].Drive
		plain[l] = true
	}
	c.plain = make([][]*array, len(p.units))
	for u := range p.units {
		c.plain[u] = make([]*array, len(legs))
		for l := range legs {
			if p.oneLight(u, legs[l].Posture) {
				c.plain[u][l] = new(array)
			} else {
				plain[l] = false
			}
		}
	}
	c.legs = map[int][]int{}
	c.high = make([]float64, len(t.days))
	for d := range t.days {
		for k := range t.days[d].count {
			i := t.days[d].first + k
			c.day[i] = d
			m := &t.moments[i]
			c.high[d] = max(c.high[d], m.sin)
			list := c.legs[int(m.leg)]
			if len(list) == 0 || list[len(list)-1] != d {
				c.legs[int(m.leg)] = append(list, d)
			}
		}
	}
	for l := range legs {
		if !legs[l].Drive {
			c.legs[l] = thin(c.legs[l])
		}
	}
	steps, rows := 0, int32(0)
	for i := range t.moments {
		m := &t.moments[i]
		c.row[i] = -1
		if m.sin <= 0 {
			continue
		}
		if p.roofs[legs[m.leg].Posture].shades {
			c.row[i] = rows
			rows += int32(c.headings(m.leg))
		}
		if !plain[m.leg] && !m.idle {
			steps++
			c.spots[i] = c.spotOf(t, i)
		}
	}
	c.own = make([][]array, int(rows)*len(p.units))
	c.beam, c.hard, c.later = make([]float32, int(rows)*len(p.banks)), make([]float32, int(rows)*len(p.units)), make([]float32, int(rows)*len(p.units))
	return steps
}

// headings returns for how many headings a leg is laid out.
func (c *chart) headings(leg int32) int {
	if c.free[leg] {
		return headings
	}
	return 1
}

// oneLight reports whether nothing in a posture gives a unit's cells lights that differ.
func (p *plant) oneLight(unit, posture int) bool {
	slots := p.units[unit].slots
	for k := range slots {
		if p.banks[slots[k].bank].surface != p.banks[slots[0].bank].surface {
			return false
		}
	}
	return !p.roofs[posture].shades
}

// thin returns the first two, the last two of a leg's days, and enough between.
func thin(days []int) []int {
	n := len(days)
	if n <= 4 {
		return days
	}
	out := []int{days[0]}
	gaps := (n - 3 + stationDays - 1) / stationDays
	for k := range gaps + 1 {
		out = append(out, days[1+(n-3)*k/gaps])
	}
	return append(out, days[n-1])
}

// spotOf returns the stations about moment i, made where they are new.
func (c *chart) spotOf(t *tape, i int) spot {
	m := &t.moments[i]
	days, d := c.legs[int(m.leg)], c.day[i]
	k := 0
	for k < len(days)-1 && days[k+1] <= d {
		k++
	}
	near := [2]int{days[k], days[min(k+1, len(days)-1)]}
	share := 0.0
	if near[1] > near[0] {
		share = max(0, float64(d-near[0])/float64(near[1]-near[0]))
	}
	out := spot{day: share}
	var found [4]bool
	for side, day := range near {
		at, ok := c.matching(t, day, m)
		if !ok {
			continue
		}
		from := math.Floor(at/stationSteps+1e-9) * stationSteps
		later := max(0, (at-from)/stationSteps)
		out.later += later * [2]float64{1 - share, share}[side]
		for end := range 2 {
			if k := 2*side + end; (side == 0 || share > 0) && (end == 0 || later > 0) {
				out.at[k], found[k] = c.stationAt(t, day, int(from)+end*stationSteps, m.leg)
			}
		}
	}
	for k, mirror := range [8]int{1, 0, 3, 2, 2, 3, 0, 1} { // what is missing is taken from beside it
		if k %= 4; !found[k] && found[mirror] {
			out.at[k], found[k] = out.at[mirror], true
		}
	}
	for k := range out.at {
		if !found[k] {
			out.at[k] = c.found(i, m.leg)
		}
	}
	return out
}

// matching returns at which step of a day, with its fraction, the sun stands in its hour as in m.
func (c *chart) matching(t *tape, day int, m *moment) (float64, bool) {
	span := t.days[day]
	for k := range span.count {
		q := &t.moments[span.first+(k+span.count/2)%span.count]
		if q.leg == m.leg && q.sin > lowestStation {
			off := math.Mod((m.solar-q.solar).Hours()+36, 24) - 12
			return float64((k+span.count/2)%span.count) + off*float64(stepsPerHour), true
		}
	}
	return 0, false
}

// stationAt returns the number of the station at a day's step, and whether there is one for a leg.
func (c *chart) stationAt(t *tape, day, k int, leg int32) (int32, bool) {
	span := t.days[day]
	if k < 0 || k >= span.count {
		return 0, false
	}
	if q := &t.moments[span.first+k]; q.leg != leg || q.sin <= lowestStation {
		return 0, false
	}
	return c.found(span.first+k, leg), true
}

// found returns the number of the station at a moment, made when it is new.
func (c *chart) found(i int, leg int32) int32 {
	n, ok := c.known[i]
	if !ok {
		n = int32(len(c.marks))
		c.known[i] = n
		for h := range c.headings(leg) {
			for near := range c.near {
				c.marks = append(c.marks, station{i, h, near})
			}
		}
	}
	return n
}

// shadowDay notes what shadows leave of the direct light on each bank through a day, for every heading.
func (c *chart) shadowDay(r *runner, day int) {
	span := r.tape.days[day]
	for k := range span.count {
		i := span.first + k
		if c.row[i] < 0 {
			continue
		}
		m := &r.tape.moments[i]
		for h := range c.headings(m.leg) {
			r.heading = h
			r.castAt(m)
			for b := range r.plant.banks {
				beam, _ := r.reaching(&r.plant.banks[b])
				c.beam[(int(c.row[i])+h)*len(r.plant.banks)+b] = float32(beam)
			}
			for u := range r.plant.units {
				c.hard[(int(c.row[i])+h)*len(r.plant.units)+u] = float32(r.weakest(u))
			}
		}
	}
}

// beamAt returns the share of direct light on a bank that the roof's things leave.
func (c *chart) beamAt(m *moment, heading, bank int) float64 {
	row := int(c.row[m.at])
	if c.free[m.leg] {
		row += heading
	}
	return float64(c.beam[row*c.banks+bank])
}

// weakest returns the mean of the weakest cell's direct light in each group of a unit's cells: what a shadow on
// one cell of a group does to the rest.
func (r *runner) weakest(unit int) float64 {
	if r.shadows.even {
		return 1
	}
	sum, groups := 0.0, 0
	for k := range r.plant.units[unit].slots {
		at := &r.plant.units[unit].slots[k]
		first, roof := r.shadows.roof.first[at.index], r.shadows.roof
		least := 0.0
		for n := first; n < first+r.plant.banks[at.bank].cells; n++ {
			if n == first || roof.group[n] != roof.group[n-1] {
				sum += least
				groups++
				least = r.shadows.beam[n]
			}
			least = min(least, r.shadows.beam[n])
		}
		sum += least
	}
	return sum / float64(groups)
}

// place finds how far the moments of a day are on the way from their earlier to their later stations: as far as
// the shadows are, where they change between, and as the time is otherwise.
func (c *chart) place(r *runner, day int) {
	units := len(r.plant.units)
	for k := range r.tape.days[day].count {
		i := r.tape.days[day].first + k
		if c.row[i] < 0 || r.tape.moments[i].idle {
			continue
		}
		s, n := &c.spots[i], c.headings(r.tape.moments[i].leg)
		for h := range n {
			for u := range units {
				hard := func(k int) float64 {
					row := int(c.row[c.marks[s.at[k]].moment]) + h
					return float64(c.hard[row*units+u])
				}
				early := (1-s.day)*hard(0) + s.day*hard(2)
				late := (1-s.day)*hard(1) + s.day*hard(3)
				at := (int(c.row[i])+h)*units + u
				c.later[at] = float32(s.later)
				if math.Abs(late-early) > hardEnough {
					c.later[at] = float32(max(0, min(1, (float64(c.hard[at])-early)/(late-early))))
				}
			}
		}
	}
}

// hardEnough is the change of weakest between stations from which it counts.
const hardEnough = 0.02

// castAt finds the shadows of a moment.
func (r *runner) castAt(m *moment) {
	leg := &r.plant.build.Trip.Legs[m.leg]
	heading := r.views[0][m.leg][r.heading].heading
	if leg.Drive {
		heading = quantity.Angle(m.course)
	}
	r.shadows.cast(r.plant.roofs[leg.Posture], shade.SunFrom(m.sun.Azimuth, m.sun.Elevation(), heading))
}
