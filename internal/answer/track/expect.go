package track

import (
	"context"
	"math"
	"sort"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// Setting is where and how the build stood while it was logged.
type Setting struct {
	Build   *build.Build
	Place   build.Place
	Posture int
	Heading *quantity.Angle // of the front; nil: any
	Years   int             // of usual weather; below 1: 12
}

// recorded is logged light as a weather file, by the hour of Greenwich.
type recorded struct {
	site   sun.Site
	global map[int64]float64 // W/m², by hours since 1970
	air    map[int64]float64 // °C
	place  build.Place
}

func (r *recorded) ZoneOffset() time.Duration { return 0 }

// Hour returns the means of an hour: what was not logged is dark, and its air as usual.
func (r *recorded) Hour(t time.Time) (global, beam, diffuse quantity.Irradiance, air quantity.Temperature, wind quantity.Speed) {
	h := t.Unix() / 3600
	middle := time.Unix(h*3600+1800, 0).UTC()
	if c, ok := r.air[h]; ok {
		air = quantity.Celsius(c)
	} else {
		air = bench.UsualAir(r.place, middle)
	}
	g := quantity.Irradiance(r.global[h])
	pos := sun.At(middle, r.site)
	l := sky.Split(g, sun.ExtraterrestrialNormal(pos), pos.Zenith)
	return l.Global, l.Beam, l.Diffuse, air, 2 * quantity.MetrePerSecond
}

// recordOf lays the logged light out by hours.
func recordOf(l *Log, p build.Place) *recorded {
	r := &recorded{site: sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}, global: map[int64]float64{}, air: map[int64]float64{}, place: p}
	n, m := map[int64]float64{}, map[int64]float64{}
	for i := range l.Points {
		h := l.Points[i].Time.Unix() / 3600
		if g := l.Points[i].Light; g != nil {
			r.global[h] += math.Max(0, g.WattsPerSquareMetre())
			n[h]++
		}
		if a := l.Points[i].Air; a != nil {
			r.air[h] += a.Celsius()
			m[h]++
		}
	}
	for h := range r.global {
		r.global[h] /= n[h]
	}
	for h := range r.air {
		r.air[h] /= m[h]
	}
	return r
}

// stay returns the build standing at the place through the log's days, with a battery that takes all.
func (s *Setting) stay(l *Log, file string) *build.Build {
	b := *s.Build
	leg := build.Leg{From: l.Days[0].Date, Until: l.Days[len(l.Days)-1].Date.AddDate(0, 0, 1), Place: s.Place, Posture: s.Posture, HeadingFree: s.Heading == nil, WeatherFile: file}
	if s.Heading != nil {
		leg.Heading = *s.Heading
	}
	b.Trip.Legs = []build.Leg{leg}
	b.Battery.Energy = quantity.Energy(1000 * b.Battery.Energy.Joules())
	b.Battery.MaxChargeCurrent = 1e6 * quantity.Ampere
	b.Battery.HighestCharge, b.Battery.StartCharge = 1, 50*quantity.Percent
	return &b
}

// input is what the chargers take of the array for what they give, by their efficiencies.
func input(b *build.Build) float64 {
	sum, n := 0.0, 0.0
	for i := range b.Chargers {
		if e := b.Chargers[i].Efficiency.Float(); len(b.Chargers[i].Strings) > 0 && e > 0.5 {
			sum, n = sum+1/e, n+1
		}
	}
	if n == 0 {
		return 1
	}
	return sum / n
}

// expect fills in what each day should have given.
func (l *Log) expect(ctx context.Context, s *Setting) (usualSpread float64, err error) {
	years := s.Years
	if years < 1 {
		years = 12
	}
	by := func(b *build.Build, o forecast.Options) (map[int64]*forecast.Day, *forecast.Answer, error) {
		a, err := forecast.Run(ctx, b, o)
		if err != nil {
			return nil, nil, err
		}
		out := map[int64]*forecast.Day{}
		for i := range a.Days {
			out[l.midnight(a.Days[i].Date.Add(12*time.Hour)).Unix()] = &a.Days[i]
		}
		return out, a, nil
	}
	k := input(s.Build)
	if l.light && l.Step <= time.Hour {
		days, _, err := by(s.stay(l, "log"), forecast.Options{Years: 1, Files: map[string]forecast.Hourly{"log": recordOf(l, s.Place)}})
		if err != nil {
			return 0, err
		}
		for i := range l.Days {
			d := &l.Days[i]
			if f := days[d.Date.Unix()]; f != nil && f.Offered > 0 {
				d.set(f.Offered.Joules()*k, loggedUnsure, Logged)
			}
		}
	}
	clear, _, err := by(s.stay(l, ""), forecast.Options{Years: 1, Clear: true})
	if err != nil {
		return 0, err
	}
	usual, a, err := by(s.stay(l, ""), forecast.Options{Years: years})
	if err != nil {
		return 0, err
	}
	spreads := []float64{}
	for i := range l.Days {
		d := &l.Days[i]
		f, c := usual[d.Date.Unix()], clear[d.Date.Unix()]
		if f == nil || c == nil {
			continue
		}
		d.clear = c.Offered.Joules() * k
		band := f.HarvestBand
		if d.Basis == Unknown && band.P50 > 0 {
			mean := f.Harvest.Joules() * k
			d.Expected, d.Basis = quantity.Energy(mean), Usual
			// The band of 80 of 100 days widened to 95, as of a normal distribution; the climate's own error in it.
			w := mean / math.Max(1, f.Harvest.WattHours()) * 1.53
			low, high := (f.Harvest.WattHours()-band.P90)*w, (band.P10-f.Harvest.WattHours())*w
			e := 2 * a.ClimateError.Float() * mean
			d.Low, d.High = quantity.Energy(math.Max(0, mean-math.Hypot(low, e))), quantity.Energy(mean+math.Hypot(high, e))
			spreads = append(spreads, (band.P10-band.P90)/2.56/math.Max(1, band.P50))
		}
	}
	if len(spreads) > 0 {
		sort.Float64s(spreads)
		usualSpread = numeric.Quantile(spreads, 0.5) // of one day, relative
	}
	return usualSpread, nil
}

// loggedUnsure and clearUnsure are the relative standard uncertainty of a day's expectation by logged light
// (a meter of ±5 %, the model 4 %, the label 1.5 %) and by a clear sky (haze 3 % beside): our own estimate.
const loggedUnsure, clearUnsure = 0.052, 0.055

// set sets what a day should have given, with its band.
func (d *Day) set(joules, unsure float64, basis Basis) {
	d.Expected, d.Basis = quantity.Energy(joules), basis
	d.Low, d.High = quantity.Energy(joules*(1-2*unsure)), quantity.Energy(joules*(1+2*unsure))
}

// form is the form of a day: what a sound array would give at an instant under a clear sky, or in the light
// logged, of an unknown whole.
type form struct {
	site   sun.Site
	place  build.Place
	planes []shape.Facing
	watts  []float64 // of the label, by plane
}

// shapeOf returns the form of the build's days.
func shapeOf(s *Setting) form {
	f := form{site: sun.Site{Latitude: s.Place.Latitude, Longitude: s.Place.Longitude, Elevation: s.Place.Elevation}, place: s.Place}
	heading := quantity.Angle(0)
	if s.Heading != nil {
		heading = *s.Heading
	}
	for _, m := range s.Build.Modules {
		facing := forecast.FacingOf(s.Build, m.Surface, s.Posture, heading)
		if s.Heading == nil {
			facing = shape.Facing{} // of any heading: the level stands for their mean
		}
		w := s.Build.Types[m.Type].Pmax.Watts()
		known := false
		for k := range f.planes {
			if f.planes[k] == facing {
				f.watts[k] += w
				known = true
			}
		}
		if !known {
			f.planes, f.watts = append(f.planes, facing), append(f.watts, w)
		}
	}
	return f
}

// at returns the label's watts in the light of an instant, cells at 30 K over 20 °C in full light. Light below
// zero is a clear sky's.
func (f *form) at(t time.Time, light float64) float64 {
	pos := sun.At(t, f.site)
	seen := pos.Apparent(sun.PressureAt(f.place.Elevation), quantity.Celsius(15))
	if seen.Elevation() <= 0 {
		return 0
	}
	beyond := sun.ExtraterrestrialNormal(pos)
	l := sky.ClearSky(seen.Zenith, beyond, sky.DefaultAtmosphere(f.place.Elevation, sky.Ordinary))
	if light >= 0 {
		l = sky.Split(quantity.Irradiance(light), beyond, seen.Zenith)
	}
	sum := 0.0
	for k, p := range f.planes {
		g := sky.Transpose(l, seen, p, beyond, 20*quantity.Percent).Total().WattsPerSquareMetre() / 1000
		sum += f.watts[k] * g * (1 - 0.0035*(30*g-5))
	}
	return math.Max(0, sum)
}
