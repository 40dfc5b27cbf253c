package forecast

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/shade"
)

// A Judge says what layouts and wirings of one build would give in a year, many a second: a few hours of
// some days of one weather year, the sun and the weather laid out once, shadows computed where they are
// asked for instead of from a table. Its years are for comparing; Run gives the one to state. Goroutines may
// share one.
type Judge struct {
	build  *build.Build // on a year of its longest stay
	tape   *tape
	picks  []pick
	hour   int     // steps apart it looks
	same   float64 // as a runner's
	fitted fits
}

// pick is a moment of the tape with its weather, heading and the seconds of the year it stands for.
type pick struct {
	moment  *moment
	now     now
	heading int
	stands  float64
	first   bool // of its day
	month   int
	ofMonth float64 // what of stands is a mean day of its month
}

// yearWeek is the length of the legs of a year that LikeYear makes: a free heading is drawn for each.
const yearWeek = 7

// LongestStay returns the index of the trip's longest stay, -1 without one.
func LongestStay(b *build.Build) int {
	best := -1
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		if !l.Drive && (best < 0 || l.Until.Sub(l.From) > b.Trip.Legs[best].Until.Sub(b.Trip.Legs[best].From)) {
			best = i
		}
	}
	return best
}

// LikeYear returns b on a year like its longest stay, from the first day of that year on, in legs of a week;
// false without a stay. The built-in climate takes the place of weather files.
func LikeYear(b *build.Build) (build.Build, bool) {
	k := LongestStay(b)
	if k < 0 {
		return *b, false
	}
	l := b.Trip.Legs[k]
	l.WeatherFile = ""
	start := time.Date(l.From.In(l.Place.Zone).Year(), 1, 1, 0, 0, 0, 0, l.Place.Zone)
	whole := *b
	whole.Trip.Legs = nil
	for d := 0; d < 365; d += yearWeek {
		leg := l
		leg.From, leg.Until = start.AddDate(0, 0, d), start.AddDate(0, 0, min(365, d+yearWeek))
		leg.Cleaned = leg.Cleaned || d%28 == 0
		whole.Trip.Legs = append(whole.Trip.Legs, leg)
	}
	return whole, true
}

// How many steps apart a judge looks: an hour where it sees a tenth of the days or more, and else two, from one
// day to the next an hour later or earlier.
const fineHour, coarseHour = 12, 24

// NewJudge returns a judge of b on every so many days of a year. It reports false for a trip
// without a stay.
func NewJudge(b *build.Build, seed uint64, every int) (*Judge, bool) {
	whole, ok := LikeYear(b)
	if !ok {
		return nil, false
	}
	j := &Judge{hour: coarseHour, same: judgeLight, build: &whole, tape: lay(&whole), fitted: fits{of: map[build.ModuleType]cell.Params{}}}
	c, err := plot(&whole, j.tape, nil)
	if err != nil {
		panic("forecast: " + err.Error()) // no weather file is named
	}
	if every <= 10 {
		j.hour, j.same = fineHour, sameLight
	}
	random := rand.New(rand.NewPCG(seed, 0))
	w := seasons{days: climate.NewGenerator(random), random: random, error: random.NormFloat64()} // as a run's first year
	leg, heading := int32(-1), 0
	every = max(1, every)
	days := 0
	var inMonth [12][]int
	for d := range j.tape.days {
		w.draw(c, j.tape, d)
		span := j.tape.days[d]
		if m := &j.tape.moments[span.first]; m.leg != leg {
			leg = m.leg
			heading = w.random.IntN(headings)
		}
		if d%every != 0 {
			continue
		}
		days++
		first := true
		from := j.hour / 2
		if j.hour == coarseHour {
			from = j.hour/4 + days%2*j.hour/2
		}
		for k := from; k < span.count; k += j.hour {
			m := &j.tape.moments[span.first+k]
			if m.sin <= 0 {
				continue
			}
			j.picks = append(j.picks, pick{moment: m, now: c.weather(&w, m, span.first+k, k), heading: heading, stands: float64(j.hour) * seconds, first: first, month: int(span.date.Month()) - 1})
			if in := &inMonth[span.date.Month()-1]; !slices.Contains(*in, d) {
				*in = append(*in, d)
			}
			first = false
		}
	}
	for i := range j.picks {
		j.picks[i].ofMonth = float64(max(1, days)) / 365 / float64(len(inMonth[j.picks[i].month]))
		j.picks[i].stands *= 365 / float64(max(1, days))
	}
	return j, true
}

// skyRings and skyBearings are how many rings and bearings a judge takes the sky in.
const skyRings, skyBearings = 6, 12

// skyOf returns the share of the sky's light left to each cell, by a coarse grid of directions of equal
// weight on a level plane.
func skyOf(c *shade.Caster, planes []shade.Vector, out, lit []float64) {
	whole := make([]float64, len(out))
	clear(out)
	for r := range skyRings {
		sin := math.Sqrt((float64(r) + 0.5) / skyRings)
		cos := math.Sqrt(1 - sin*sin)
		for k := range skyBearings {
			y, x := math.Sincos(2 * math.Pi * (float64(k) + 0.5*float64(r%2)) / skyBearings)
			sun := shade.Vector{X: cos * x, Y: cos * y, Z: sin}
			c.Lit(sun, lit)
			for i := range out {
				if w := planes[i].Dot(sun) / sin; w > 0 {
					out[i] += w * lit[i]
					whole[i] += w
				}
			}
		}
	}
	for i := range out {
		out[i] = math.Round(out[i]/max(whole[i], 1e-9)*skySteps) / skySteps
	}
}

// Year returns what the chargers of c would offer at the battery in a year: c is the judge's build with other
// modules, strings or chargers; what omit holds casts no shadow. It fails where a label fits no cell.
func (j *Judge) Year(c *build.Build, omit ...Caster) (quantity.Energy, error) {
	p, err := j.Profile(c, omit...)
	return p.Year, err
}

// Profile is a year by hour of the local clock and by month, as daily means.
type Profile struct {
	Year  quantity.Energy
	Hours [24]quantity.Energy // of a mean day
	Month [12]quantity.Energy // of a mean day of the month; 0 for months without a day judged
}

// Profile is Year by hour and month.
func (j *Judge) Profile(c *build.Build, omit ...Caster) (Profile, error) {
	var out Profile
	r, err := j.stand(c, omit)
	if err != nil {
		return out, err
	}
	sum := 0.0
	for i := range j.picks {
		k := &j.picks[i]
		var o outcome
		r.look(k, &o)
		for u := range r.plant.units {
			e := r.convert(u, false, 0, &o) * k.stands
			sum += e
			out.Hours[k.moment.hour] += quantity.Energy(e / 365)
			out.Month[k.month] += quantity.Energy(e * k.ofMonth)
		}
	}
	out.Year = quantity.Energy(sum)
	return out, nil
}

// stand returns a runner of the judge's build with the modules, strings and chargers of c, at the start of the
// year, whose shadows are computed where they are asked for.
func (j *Judge) stand(c *build.Build, omit []Caster) (*runner, error) {
	v := *c
	v.Trip = j.build.Trip
	p, err := j.assemble(&v)
	if err != nil {
		return nil, err
	}
	r := newRunner(p, j.tape, p.views())
	r.lag, r.same = time.Duration(j.hour)*step, j.same
	posture := v.Trip.Legs[0].Posture
	scene, first := SceneOf(&v, posture, omit)
	p.roofs = make([]*roof, len(v.Postures))
	top := newRoof(&v, posture, scene, first)
	p.roofs[posture] = top
	r.shadows.exact = shade.NewCaster(scene)
	if len(r.shadows.beam) < scene.Cells() {
		r.shadows.beam = make([]float64, scene.Cells())
	}
	skyOf(r.shadows.exact, top.plane, top.sky, make([]float64, scene.Cells()))
	r.reset(variations(nil, 1)[0])
	return r, nil
}

// look follows the light of a pick into the cells.
func (r *runner) look(k *pick, o *outcome) {
	r.heading = k.heading
	if k.first {
		for b := range r.module {
			r.module[b] = k.now.air
		}
	}
	r.sunlight(k.moment, k.now, 0, o)
}

// fits are the labels fitted so far, each once whoever met it first.
type fits struct {
	sync.Mutex
	of map[build.ModuleType]cell.Params
}

func (f *fits) fit(t build.ModuleType) (cell.Params, error) {
	f.Lock()
	defer f.Unlock()
	if params, ok := f.of[t]; ok {
		return params, nil
	}
	params, err := Fit(&t)
	if err == nil {
		f.of[t] = params
	}
	return params, err
}

// assemble makes a plant without tables, labels fitted once for each type.
func (j *Judge) assemble(b *build.Build) (*plant, error) {
	p := &plant{build: b}
	fitted := make([]cell.Params, len(b.Types))
	for i := range b.Types {
		key := b.Types[i]
		key.Price, key.MaxFuse = nil, nil
		params, err := j.fitted.fit(key)
		if err != nil {
			return nil, fmt.Errorf("types[%s]: %w", b.Types[i].Name, err)
		}
		fitted[i] = params
	}
	p.connect(fitted)
	return p, nil
}

// Suns are directions of the sun in the vehicle's frame over the year of the longest stay, all round where
// its heading is free, each with the beam it stands for.
type Suns struct {
	posture int
	sun     []shade.Vector
	weight  []float64
}

// SunsOf returns the directions for b. It panics without a stay.
func SunsOf(b *build.Build) Suns {
	l := &b.Trip.Legs[LongestStay(b)]
	s := Suns{posture: l.Posture}
	lat := l.Place.Latitude.Radians()
	turns := []float64{l.Heading.Radians()}
	if l.HeadingFree {
		turns = []float64{0, 1.6, 3.1, 4.7}
	}
	for _, declination := range []float64{-0.38, -0.2, 0, 0.2, 0.38} {
		for h := -6.0; h <= 6; h++ {
			w := h * math.Pi / 12
			sin := math.Sin(lat)*math.Sin(declination) + math.Cos(lat)*math.Cos(declination)*math.Cos(w)
			if sin < 0.1 {
				continue
			}
			azimuth := math.Atan2(-math.Cos(declination)*math.Sin(w), math.Cos(lat)*math.Sin(declination)-math.Sin(lat)*math.Cos(declination)*math.Cos(w))
			for _, heading := range turns {
				s.sun = append(s.sun, shade.SunFrom(quantity.Angle(azimuth), quantity.Angle(math.Asin(sin)), quantity.Angle(heading)))
				s.weight = append(s.weight, sin)
			}
		}
	}
	return s
}

// Light returns the beam on the weakest cells of a module's groups over the directions, of an unshaded
// one's: a quick measure of a place.
func (s Suns) Light(b *build.Build, m int) float64 {
	one := *b
	one.Modules = b.Modules[m : m+1]
	scene, _ := SceneOf(&one, s.posture, nil)
	c := shade.NewCaster(scene)
	cells := b.Cells(&b.Modules[m])
	lit, least := make([]float64, len(cells)), make([]float64, len(cells)+1)
	got, whole := 0.0, 0.0
	for k, sun := range s.sun {
		whole += s.weight[k]
		if !c.Lit(sun, lit) {
			got += s.weight[k]
			continue
		}
		groups := 0
		for i := range least {
			least[i] = 2
		}
		for i, x := range lit {
			g := cells[i].Group + 1
			if least[g] == 2 {
				groups++
			}
			least[g] = min(least[g], x)
		}
		sum := 0.0
		for _, x := range least {
			if x < 2 {
				sum += x
			}
		}
		got += s.weight[k] * sum / float64(groups)
	}
	return got / max(whole, 1e-9)
}
