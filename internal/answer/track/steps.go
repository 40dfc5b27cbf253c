package track

import (
	"math"
	"sort"
	"time"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// grid is the step that days are looked at in.
const grid = 10 * time.Minute

// slot is a step of a day.
type slot struct {
	at    time.Time
	form  float64 // what a sound array gives, of an unknown whole
	watts float64 // logged; NaN: nothing
	full  bool
}

// slots cuts a day into steps: power is the mean of the points in it, or between points near enough.
func (l *Log) slots(d *Day, f *form) []slot {
	var out []slot
	next := d.Date.AddDate(0, 0, 1)
	k := 0
	for t := d.Date; t.Before(next); t = t.Add(grid) {
		light, n, sum, lights := -1.0, 0, 0.0, 0
		full := false
		for ; k < len(d.points) && l.Points[d.points[k]].Time.Before(t.Add(grid)); k++ {
			p := &l.Points[d.points[k]]
			if p.Power != nil {
				sum += math.Max(0, p.Power.Watts())
				n++
			}
			if p.Light != nil {
				if lights == 0 {
					light = 0
				}
				light += math.Max(0, p.Light.WattsPerSquareMetre())
				lights++
			}
			full = full || p.full
		}
		if lights > 1 {
			light /= float64(lights)
		}
		s := slot{at: t, form: f.at(t.Add(grid/2), light), watts: math.NaN(), full: full}
		if n > 0 {
			s.watts = sum / float64(n)
		}
		out = append(out, s)
	}
	l.bridge(out)
	return out
}

// bridge fills steps between logged ones that are no farther apart than power is bridged.
func (l *Log) bridge(s []slot) {
	last := -1
	for i := range s {
		if math.IsNaN(s[i].watts) {
			continue
		}
		if n := i - last; last >= 0 && n > 1 && time.Duration(n)*grid <= max(l.longest(), grid)+grid {
			for j := last + 1; j < i; j++ {
				x := float64(j-last) / float64(n)
				s[j].watts = s[last].watts*(1-x) + s[i].watts*x
				s[j].full = s[last].full && s[i].full
			}
		}
		last = i
	}
}

// markFull marks the points at which the battery was full: by its state of charge, else by the volts at which
// its chemistry is held. Source: handbook C1, from memory.
func (l *Log) markFull(b *build.Battery) (known bool) {
	held := 1.09 * b.Voltage.Volts() // lithium iron phosphate and other lithium: 14.0 V of 12.8
	if b.Chemistry == build.AGM {
		held = 1.17 * b.Voltage.Volts() // 14.0 V of 12
	}
	for i := range l.Points {
		p := &l.Points[i]
		switch {
		case p.Charge != nil:
			known = true
			p.full = *p.Charge >= 98.5*quantity.Percent
		case p.Battery != nil:
			known = true
			p.full = p.Battery.Volts() >= held
		}
	}
	return known
}

// look fills in what the steps of each day show: cover, gaps, clear skies, full batteries and what they threw
// away.
func (l *Log) look(s *Setting) {
	f := shapeOf(s)
	l.markFull(&s.Build.Battery)
	l.Gaps = nil // now by the sun of the place
	for k := range l.Days {
		d := &l.Days[k]
		whole := d.clear
		if d.Basis == Logged {
			whole = d.Expected.Joules()
		}
		steps := l.slots(d, &f)
		l.cover(d, steps, whole)
		if whole > 0 && d.Covered >= 0.5 {
			d.sky(steps)
			d.throw(steps, whole)
		}
		if d.Clear && d.Basis != Logged {
			d.usual = [3]quantity.Energy{d.Expected, d.Low, d.High}
			d.set(d.clear, clearUnsure, ClearSky)
		}
		if d.Clear || d.Basis == Logged {
			d.free(steps, whole)
		}
	}
	l.overcast()
}

// overcast takes back days of a clear sky's form that lie far under the clear days before and after: evenly
// grey skies.
func (l *Log) overcast() {
	var clear []int
	for i := range l.Days {
		if d := &l.Days[i]; d.Clear && d.Basis == ClearSky && d.Free > 0 {
			clear = append(clear, i)
		}
	}
	near := func(list []int) float64 {
		best := 0.0
		for _, i := range list {
			best = math.Max(best, l.Days[i].Free.Float())
		}
		return best
	}
	var grey []int
	for n, i := range clear {
		before, after := near(clear[max(0, n-3):n]), near(clear[n+1:min(len(clear), n+4)])
		if x := l.Days[i].Free.Float(); before > 0 && after > 0 && x < 0.8*math.Min(before, after) {
			grey = append(grey, i)
		}
	}
	for _, i := range grey {
		d := &l.Days[i]
		d.Clear, d.Basis, d.Free = false, Usual, 0
		d.Expected, d.Low, d.High = d.usual[0], d.usual[1], d.usual[2]
	}
}

// free finds the ratio over the steps that were logged and had room in the battery, where they have 40 % of the
// day's light.
func (d *Day) free(steps []slot, whole float64) {
	all, form, got := 0.0, 0.0, 0.0
	for _, s := range steps {
		all += s.form
		if !s.full && !math.IsNaN(s.watts) && s.form > 0 {
			form += s.form
			got += s.watts * grid.Seconds()
		}
	}
	if all > 0 && form >= 0.4*all {
		d.Free = quantity.Ratio(got / (whole * form / all))
	}
}

// cover finds the share of the day that was logged, and the gaps by daylight.
func (l *Log) cover(d *Day, steps []slot, whole float64) {
	all, seen, open := 0.0, 0.0, -1
	for _, s := range steps {
		all += s.form
	}
	if all <= 0 {
		return
	}
	shut := func(end int) {
		if open < 0 {
			return
		}
		lost := 0.0
		for _, s := range steps[open:end] {
			lost += s.form
		}
		if lost > 0.01*all {
			g := Gap{From: steps[open].at, To: steps[end-1].at.Add(grid), Unknown: quantity.Energy(whole * lost / all)}
			l.Gaps = append(l.Gaps, g)
			d.Unknown += g.Unknown
		}
		open = -1
	}
	for i, s := range steps {
		switch {
		case s.form <= 0:
			shut(i)
		case math.IsNaN(s.watts):
			if open < 0 {
				open = i
			}
		default:
			shut(i)
			seen += s.form
		}
	}
	shut(len(steps))
	if !l.yield {
		d.Covered = quantity.Ratio(seen / all)
		return
	}
	d.Covered = 1
	if len(d.points) < 3 {
		d.Covered = quantity.Ratio(seen / all)
	}
}

// sky finds a clear sky by the day's form: power follows it at all steps but those with a full battery.
func (d *Day) sky(steps []slot) {
	var ratios []float64
	high := 0.0
	for _, s := range steps {
		high = math.Max(high, s.form)
	}
	for _, s := range steps {
		if !math.IsNaN(s.watts) && !s.full && s.form > 0.35*high {
			ratios = append(ratios, s.watts/s.form)
		}
	}
	if len(ratios) < 12 {
		return
	}
	sort.Float64s(ratios)
	low, middle, top := numeric.Quantile(ratios, 0.1), numeric.Quantile(ratios, 0.5), numeric.Quantile(ratios, 0.9)
	d.Clear = middle > 0 && low > 0.9*middle && top < 1.1*middle
}

// throw finds what was offered while the battery was full and not taken: by what the array gave of its form
// before it was full, that day.
func (d *Day) throw(steps []slot, whole float64) {
	var before []float64
	all := 0.0
	for _, s := range steps {
		all += s.form
		if !math.IsNaN(s.watts) && !s.full && s.form > 0 {
			before = append(before, s.watts/s.form)
		}
	}
	share := whole / (all * grid.Seconds()) // of the form, by the expectation
	unsure := 0.25
	if len(before) >= 6 {
		sort.Float64s(before)
		share = math.Min(numeric.Quantile(before, 0.7), 1.1*share)
		unsure = 0.15
	}
	thrown := 0.0
	for _, s := range steps {
		if !s.full || math.IsNaN(s.watts) || s.form <= 0 {
			continue
		}
		d.Full = true
		if lost := share*s.form - s.watts; lost > 0.08*share*s.form {
			thrown += lost * grid.Seconds()
		}
	}
	d.Thrown = quantity.Energy(thrown)
	offered := thrown
	for _, s := range steps {
		if s.full && !math.IsNaN(s.watts) {
			offered += s.watts * grid.Seconds()
		}
	}
	if d.Basis == Logged {
		unsure = 0.10
	}
	d.ULow, d.UHigh = quantity.Energy(math.Max(0, thrown-unsure*offered)), quantity.Energy(thrown+unsure*offered)
	if thrown == 0 {
		d.ULow, d.UHigh = 0, 0
	}
}
