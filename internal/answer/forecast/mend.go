package forecast

import (
	"math"

	"noonmark/internal/physics/circuit"
)

// mend looks at the moments of a day between whose stations much changes, and solves those that the stations do
// not say.
func (r *runner) mend(c *chart, day int) {
	near := len(c.near) / 2
	for k := range r.tape.days[day].count {
		i := r.tape.days[day].first + k
		m := &r.tape.moments[i]
		if c.row[i] < 0 || m.idle || m.sin <= lowestStation {
			continue
		}
		for h := range c.headings(m.leg) {
			for u := range r.plant.units {
				if c.plain[u][m.leg] != nil || !c.changing(u, i, h, near, limits[r.plant.limitsOf(u)].changes*c.high[day]/m.sin) {
					continue
				}
				if !r.said(c, u, i, h, near) {
					own := make([]array, len(c.near))
					for n := range own {
						like := &c.arrays[u][int(c.spots[i].at[0])+h*len(c.near)+n]
						own[n].warm, own[n].dim = like.warm, like.dim
						r.reactAt(u, station{i, h, n}, c, &own[n], true)
					}
					c.own[(int(c.row[i])+h)*len(c.arrays)+u] = own
				}
			}
		}
	}
}

// limits are, for a controller that finds the highest peak and for others, the change between stations from which
// on a moment between them is looked at; and how far it may then be off what they say. Both are of what the
// modules would give in the day's highest sun.
var limits = [2]struct{ changes, unsaid float64 }{{0.015, 0.0075}, {0.01, 0.005}}

// limitsOf returns the number of a unit's limits.
func (p *plant) limitsOf(unit int) int {
	if habit(p.units[unit].charger) == circuit.Global {
		return 0
	}
	return 1
}

// changing reports whether the stations about moment i differ, or its shadows from theirs.
func (c *chart) changing(unit, i, heading, near int, changes float64) bool {
	s := &c.spots[i]
	low, high := 2.0, 0.0
	least, most := float32(2), float32(0)
	for n := range s.at {
		if s.day == 0 && n > 1 || s.later == 0 && n%2 == 1 {
			continue
		}
		a := &c.arrays[unit][int(s.at[n])+heading*len(c.near)+near]
		v := float64(a.grid[a.after[brightAnchor]][reUsual])
		low, high = min(low, v), max(high, v)
		hard := c.hard[(int(c.row[c.marks[s.at[n]].moment])+heading)*len(c.arrays)+unit]
		least, most = min(least, hard), max(most, hard)
	}
	hard := c.hard[(int(c.row[i])+heading)*len(c.arrays)+unit]
	return high-low > changes || hard < least-hardEnough || hard > most+hardEnough
}

// said reports whether the stations about moment i say what it is.
func (r *runner) said(c *chart, unit, i, heading, near int) bool {
	kind := r.plant.limitsOf(unit)
	unsaid := limits[kind].unsaid * c.high[c.day[i]] / r.tape.moments[i].sin
	for _, place := range [...][]int{{brightAnchor}, anchors[:]}[kind] {
		r.solvers[unit].Forget()
		r.sunOn(c, station{i, heading, near}, place, 1)
		is := r.reaction(unit, c)
		var re, warm, dim reaction
		c.read(unit, &r.tape.moments[i], heading, near, 0, float64(place), &re, &warm, &dim)
		re.add(&warm, float64(is[reWarm]-re[reWarm]))
		for _, k := range [...]int{reWithin, reUsual, reFull} {
			if math.Abs(float64(is[k]-re[k])) > unsaid {
				return false
			}
		}
	}
	return true
}
