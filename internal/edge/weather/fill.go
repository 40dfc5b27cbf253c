package weather

import (
	"fmt"
	"math"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

const (
	// mostGaps is the share of a year's hours that may lack the light or the air temperature.
	mostGaps = 0.2
	// bridge is the longest gap, hours, that a straight line fills.
	bridge = 6
	// defaultWind is the wind where a file has none, m/s: mean of over 2000 stations.
	// Source: FAO Irrigation and Drainage Paper 56 (1998), chapter 3, "Missing wind speed data".
	defaultWind = 2
)

// enough reports whether light and air temperature are there for most of the year.
func enough(l *lines, v *[kinds][]float64) bool {
	ok := true
	var light, warmth int
	for at := range v[global] {
		if math.IsNaN(v[global][at]) && (math.IsNaN(v[beam][at]) || math.IsNaN(v[diffuse][at])) {
			light++
		}
		if math.IsNaN(v[air][at]) {
			warmth++
		}
	}
	for _, g := range []struct {
		name string
		gaps int
	}{{columns[global].name, light}, {columns[air].name, warmth}} {
		if float64(g.gaps) > mostGaps*yearHours {
			l.fatal(0, "", fmt.Sprintf("a year of %s: %d of %d hours lack it, and at most %d can be filled", g.name, g.gaps, yearHours, int(mostGaps*yearHours)))
			ok = false
		}
	}
	return ok
}

// fill replaces every NaN, and says how many and how.
func (s *Series) fill(v *[kinds][]float64) {
	s.light(v)
	s.whole(v)
	for _, k := range []kind{air, dew, wind, pressure} {
		lines, days := bridged(v[k]), 0
		days = nearestDay(v[k])
		s.Filled += lines + days
		if lines > 0 {
			s.note("%s: %d hours filled by a straight line over gaps of at most %d h", columns[k].name, lines, bridge)
		}
		if days > 0 {
			s.note("%s: %d hours filled by the same hour of the nearest day", columns[k].name, days)
		}
	}
}

// whole fills what a file lacks from end to end.
func (s *Series) whole(v *[kinds][]float64) {
	none := func(k kind) bool {
		for _, x := range v[k] {
			if !math.IsNaN(x) {
				return false
			}
		}
		return true
	}
	set := func(k kind, x func(at int) float64, how string) {
		for at := range v[k] {
			v[k][at] = x(at)
		}
		s.Filled += yearHours
		s.note("%s: none in the file; %s", columns[k].name, how)
	}
	if none(wind) {
		set(wind, func(int) float64 { return defaultWind }, "2 m/s set, the mean of stations (FAO Paper 56)")
	}
	if none(pressure) {
		p := sun.PressureAt(s.Elevation).Pascals()
		set(pressure, func(int) float64 { return p }, "the standard atmosphere's at this height")
	}
	if none(dew) {
		bridged(v[air]) // again below for nothing: it is full then
		nearestDay(v[air])
		var low [365]float64
		for d := range low {
			low[d] = math.Inf(1)
			for _, x := range v[air][24*d : 24*d+24] {
				low[d] = math.Min(low[d], x)
			}
		}
		set(dew, func(at int) float64 { return low[at/24] }, "the day's lowest air temperature set (FAO Paper 56, eq. 48)")
	}
}

// light fills global, beam and diffuse from each other, then from other days.
func (s *Series) light(v *[kinds][]float64) {
	var closed, split, dark, copied, alone int
	for at := range v[global] {
		g, b, d := v[global][at], v[beam][at], v[diffuse][at]
		if !math.IsNaN(g) && !math.IsNaN(b) && !math.IsNaN(d) {
			continue
		}
		up, beyond := s.sine(at)
		switch {
		case up <= 0 && (math.IsNaN(g) || g == 0): // night
			for _, k := range []kind{global, beam, diffuse} {
				if math.IsNaN(v[k][at]) {
					v[k][at] = 0
					dark++
				}
			}
		case math.IsNaN(g) && !math.IsNaN(b) && !math.IsNaN(d):
			v[global][at] = math.Min(d+b*up, columns[global].most)
			closed++
		case math.IsNaN(g): // left to other days, all three together
			v[global][at], v[beam][at], v[diffuse][at] = math.NaN(), math.NaN(), math.NaN()
			alone++
		case !math.IsNaN(b):
			v[diffuse][at] = math.Max(0, g-b*up)
			closed++
		case !math.IsNaN(d) && up > 0.05:
			v[beam][at] = math.Min(math.Max(0, g-d)/up, beyond)
			closed++
		default:
			l := sky.Split(quantity.Irradiance(g), quantity.Irradiance(beyond), quantity.Angle(math.Acos(math.Min(1, math.Max(0, up)))))
			if math.IsNaN(d) {
				v[diffuse][at] = l.Diffuse.WattsPerSquareMetre()
			}
			v[beam][at] = l.Beam.WattsPerSquareMetre()
			split++
		}
	}
	if alone > 0 {
		for _, k := range []kind{global, beam, diffuse} {
			copied += nearestDay(v[k])
		}
	}
	s.Filled += closed + split + dark + copied
	var how []string
	for _, p := range []struct {
		n   int
		how string
	}{
		{closed, "worked out from the other two"}, {split, "hours of global split by the hourly correlation of Erbs"},
		{dark, "set to 0 at night"}, {copied, "taken from the same hour of the nearest day"},
	} {
		if p.n > 0 {
			how = append(how, fmt.Sprintf("%d %s", p.n, p.how))
		}
	}
	if how != nil {
		s.note("irradiance, missing values: %s", strings.Join(how, ", "))
	}
}

// sine returns the mean over an hour of the sine of the sun's elevation, below 0 counted as 0, and
// the irradiance facing the sun beyond the atmosphere, W/m². The year is 2001: others differ by up to
// a day's course of the sun.
func (s *Series) sine(at int) (up, beyond float64) {
	const parts = 6
	m, d, h := dateOf(at)
	start := time.Date(2001, m, d, h, 0, 0, 0, time.UTC).Add(-s.offset)
	site := sun.Site{Latitude: s.Latitude, Longitude: s.Longitude, Elevation: s.Elevation}
	for k := range parts {
		p := sun.At(start.Add(time.Hour*time.Duration(2*k+1)/(2*parts)), site)
		up += math.Max(0, math.Sin(p.Elevation().Radians())) / parts
		beyond = sun.ExtraterrestrialNormal(p).WattsPerSquareMetre()
	}
	return up, beyond
}

// bridged fills the gaps of at most bridge hours by straight lines, the year taken as a ring, and
// returns how many hours.
func bridged(v []float64) int {
	n, filled := len(v), 0
	start := 0
	for start < n && math.IsNaN(v[start]) {
		start++
	}
	if start == n {
		return 0
	}
	for i := start; i < start+n; {
		if !math.IsNaN(v[i%n]) {
			i++
			continue
		}
		end := i
		for math.IsNaN(v[end%n]) {
			end++
		}
		if gap := end - i; gap <= bridge {
			a, b := v[(i-1+n)%n], v[end%n]
			for k := range gap {
				v[(i+k)%n] = a + (b-a)*float64(k+1)/float64(gap+1)
			}
			filled += gap
		}
		i = end
	}
	return filled
}

// nearestDay fills each gap with the same hour of the nearest day that has it, the earlier of two,
// and returns how many hours. An hour that no day has stays 0.
func nearestDay(v []float64) int {
	n, filled := len(v), 0
	var old []float64
	for at := range v {
		if !math.IsNaN(v[at]) {
			continue
		}
		if old == nil {
			old = append([]float64(nil), v...)
		}
		v[at] = 0
		for d := 24; d <= n/2+24; d += 24 {
			if x := old[(at-d%n+n)%n]; !math.IsNaN(x) {
				v[at] = x
				break
			}
			if x := old[(at+d)%n]; !math.IsNaN(x) {
				v[at] = x
				break
			}
		}
		filled++
	}
	return filled
}
