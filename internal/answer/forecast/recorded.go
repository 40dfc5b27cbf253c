package forecast

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sky"
)

// record turns the hours of a weather file into the steps of leg i. Within an hour the beam on the
// level and the diffuse light follow the sine of the sun's elevation, and the hour's energy is kept;
// air and wind are the hour's. A beam that would exceed nine tenths of the light beyond the
// atmosphere, at a low sun, is moved to the diffuse light.
func (c *course) record(t *tape, i int, f Hourly) {
	first := -1
	for _, d := range t.days {
		for k := range d.count {
			at := d.first + k
			if t.moments[at].leg != int32(i) {
				continue
			}
			if first < 0 {
				first = at
				c.firstStep[i] = at
			}
			when := d.date.Add(time.Duration(k)*step + step/2)
			c.recorded[i] = append(c.recorded[i], recordedStep(t, &t.moments[at], at, when, f))
		}
	}
}

// stepsPerHour is the number of steps in an hour.
const stepsPerHour = int(time.Hour / step)

func recordedStep(t *tape, m *moment, at int, when time.Time, f Hourly) now {
	zone := f.ZoneOffset()
	global, _, diffuse, air, wind := f.Hour(when)
	n := now{air: air, wind: wind}
	if m.sin <= 0 || global <= 0 {
		return n
	}
	// The hour's steps on the tape; at the tape's ends, those that are there.
	start := at - int(when.UTC().Add(zone).Sub(when.UTC().Add(zone).Truncate(time.Hour))/step)
	sum, count := 0.0, 0
	for k := max(0, start); k < min(start+stepsPerHour, len(t.sins)); k++ {
		sum += t.sins[k]
		count++
	}
	if sum <= 0 {
		return n
	}
	w := m.sin * float64(count) / sum
	d := math.Min(diffuse.WattsPerSquareMetre(), global.WattsPerSquareMetre()) * w
	level := global.WattsPerSquareMetre()*w - d
	beam := level / m.sin
	if most := 0.9 * m.beyond; beam > most {
		d += level - most*m.sin
		beam = most
	}
	n.clear = clearLike(m, level/(level+d))
	n.light = sky.Light{Global: quantity.Irradiance(beam*m.sin + d), Beam: quantity.Irradiance(beam), Diffuse: quantity.Irradiance(d)}
	return n
}

// clearLike returns the clearness at which the split of the climate's light has the given share of beam: what a
// chart is read by.
func clearLike(m *moment, share float64) float64 {
	low, high := 0.2, 0.8
	for range 24 {
		mid := (low + high) / 2
		l := m.instant.Split(quantity.Irradiance(mid * m.beyond * m.sin))
		if l.Beam.WattsPerSquareMetre()*m.sin < share*l.Global.WattsPerSquareMetre() {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
