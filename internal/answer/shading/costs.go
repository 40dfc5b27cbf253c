package shading

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// ErrNoTrip says that a build has no stay to place the vehicle in.
var ErrNoTrip = errors.New("the trip has no stay")

// Options say what to compute.
type Options struct {
	Day      time.Time // a clear day, by its date at the place of the trip then; zero: none
	Mends    bool      // look for mends
	YearOnly bool      // leave out the trip; mends are judged on fewer days
	Seed     uint64
	Progress func(done, total int)
}

// Loss is what leaving a thing out would give, over the spans computed.
type Loss struct{ Day, Trip, Year quantity.Energy }

// Cost is what a thing costs.
type Cost struct {
	Name    string
	Caster  forecast.Caster
	Hours   Hours
	Loss    Loss
	Modules []Loss // by module of the build: at its own terminals
}

// Hours are those in which the sun, under a clear sky, throws a thing's shadow on a hundredth of a cell at
// least.
type Hours struct{ Day, Trip, Year float64 }

// Module is what a module gets and loses, all things together.
type Module struct {
	Name  string
	Loss  Loss
	Cells []quantity.Ratio // light over the year of each cell, in series order, of an unshaded one's
}

// Answer is what shade costs a build.
type Answer struct {
	Offered   Loss // what is offered at the battery as it stands
	Obstacles []Cost
	Together  Loss
	Modules   []Module
	Mends     []Mend
	Where     string // place of the year
	DayPlace  string
	TripDays  int
	Assumed   []string
}

// span is a build over the days it is computed for.
type span struct {
	build *build.Build
	every int
	clear bool
	scale float64 // of what was computed to the whole span
}

// yearStep and tripDays bound the work: a year is computed on every seventh day, a trip on 45 days at most.
const (
	yearStep = 7
	tripDays = 45
)

// Costs computes what each thing on the roof of b costs. It fails with ctx's error when stopped, and as
// forecast.Run.
func Costs(ctx context.Context, b *build.Build, o Options) (*Answer, error) {
	spans, a, err := spansOf(b, o)
	if err != nil {
		return nil, err
	}
	casters := Casters(b)
	var jobs []job
	for s := range spans {
		jobs = append(jobs, job{span: s, leave: -1}, job{span: s, leave: len(casters)})
		for c := range casters {
			jobs = append(jobs, job{span: s, leave: c})
		}
	}
	if err := runAll(ctx, jobs, spans, casters, o); err != nil {
		return nil, err
	}
	a.Modules = make([]Module, len(b.Modules))
	for m := range b.Modules {
		a.Modules[m].Name = b.Modules[m].Name
	}
	for _, c := range casters {
		a.Obstacles = append(a.Obstacles, Cost{Name: nameOf(b, c), Caster: c, Modules: make([]Loss, len(b.Modules))})
	}
	for s := range spans {
		a.take(s, spans, jobs, len(casters))
		for c, h := range forecast.ShadowHours(spans[s].build, casters, spans[s].every) {
			*a.Obstacles[c].Hours.at(s) = h * spans[s].scale
		}
	}
	if !o.Mends {
		return a, nil
	}
	if o.YearOnly {
		j, ok := forecast.NewJudge(b, o.Seed, quickEvery)
		if !ok {
			return nil, ErrNoTrip
		}
		a.Mends, err = mends(ctx, b, a, coarsely, func(c *build.Build) (quantity.Energy, error) { return j.Year(c) })
		return a, err
	}
	whole := spans[year]
	a.Mends, err = mends(ctx, b, a, finely, func(c *build.Build) (quantity.Energy, error) {
		changed := *c
		changed.Trip.Legs = whole.build.Trip.Legs
		r, err := forecast.Run(ctx, &changed, forecast.Options{Years: 1, Seed: o.Seed, Workers: 1, Every: whole.every})
		if err != nil {
			return 0, err
		}
		return quantity.Energy(r.Offered.Joules() * whole.scale), nil
	})
	return a, err
}

// The spans, in their order.
const (
	day = iota
	trip
	year
)

func (l *Loss) at(span int) *quantity.Energy {
	return [...]*quantity.Energy{&l.Day, &l.Trip, &l.Year}[span]
}

func (h *Hours) at(span int) *float64 { return [...]*float64{&h.Day, &h.Trip, &h.Year}[span] }

// take books the runs of a span.
func (a *Answer) take(s int, spans []span, jobs []job, casters int) {
	if spans[s].build == nil {
		return
	}
	find := func(leave int) *forecast.Answer {
		for i := range jobs {
			if jobs[i].span == s && jobs[i].leave == leave {
				return jobs[i].answer
			}
		}
		panic("shading: a run is missing")
	}
	k := spans[s].scale
	base, none := find(-1), find(casters)
	scaled := func(x, y quantity.Energy) quantity.Energy { return quantity.Energy((x.Joules() - y.Joules()) * k) }
	*a.Offered.at(s) = scaled(base.Offered, 0)
	*a.Together.at(s) = scaled(none.Offered, base.Offered)
	for m := range a.Modules {
		*a.Modules[m].Loss.at(s) = scaled(none.Modules[m].Energy, base.Modules[m].Energy)
		if s == year {
			a.Modules[m].Cells = base.Modules[m].Cells
		}
	}
	for c := range a.Obstacles {
		without := find(c)
		*a.Obstacles[c].Loss.at(s) = scaled(without.Offered, base.Offered)
		for m := range a.Modules {
			*a.Obstacles[c].Modules[m].at(s) = scaled(without.Modules[m].Energy, base.Modules[m].Energy)
		}
	}
}

// Casters returns what can shade modules in a posture of the trip: obstacles that stand there, and surfaces
// that stand higher than one with modules, or are raised.
func Casters(b *build.Build) []forecast.Caster {
	postures := map[int]bool{}
	for i := range b.Trip.Legs {
		postures[b.Trip.Legs[i].Posture] = true
	}
	var out []forecast.Caster
	for i := range b.Obstacles {
		for p := range postures {
			if forecast.Stands(&b.Obstacles[i], p) {
				out = append(out, forecast.Caster{Index: i})
				break
			}
		}
	}
	for s := range b.Surfaces {
		if rises(b, s, postures) {
			out = append(out, forecast.Caster{Surface: true, Index: s})
		}
	}
	return out
}

// rises reports whether a surface stands over another that holds modules, at rest or raised.
func rises(b *build.Build, s int, postures map[int]bool) bool {
	for m := range b.Modules {
		other := b.Modules[m].Surface
		if other == s {
			continue
		}
		if b.Surfaces[s].Height > b.Surfaces[other].Height {
			return true
		}
		for p := range postures {
			for _, t := range b.Postures[p].Tilts {
				if t.Surface == s && t.Angle > 0 {
					return true
				}
			}
		}
	}
	return false
}

func nameOf(b *build.Build, c forecast.Caster) string {
	if c.Surface {
		return b.Surfaces[c.Index].Name
	}
	return b.Obstacles[c.Index].Name
}

// assumed is what every answer takes for granted.
var assumed = []string{"every surface is solid down to the ground, so that a higher one shades a lower",
	"a bypass diode drops 0.5 V when it conducts (0.3 to 0.6 V warm, from memory); reverse breakdown by technology, from memory"}

// spansOf makes the builds of day, trip and year.
func spansOf(b *build.Build, o Options) ([]span, *Answer, error) {
	stay := forecast.LongestStay(b)
	if stay < 0 {
		return nil, nil, ErrNoTrip
	}
	spans := make([]span, 3)
	a := &Answer{Assumed: slices.Clone(assumed)}
	first, last := b.Trip.Legs[0].From, b.Trip.Legs[len(b.Trip.Legs)-1].Until
	a.TripDays = max(1, int(last.Sub(first).Hours()/24+0.5))
	every := (a.TripDays + tripDays - 1) / tripDays
	if !o.YearOnly {
		spans[trip] = span{build: b, every: every, scale: scaleOf(a.TripDays, every)}
	}
	if every > 1 && !o.YearOnly {
		a.Assumed = append(a.Assumed, fmt.Sprintf("trip: every %s day computed", ordinal(every)))
	}

	l := &b.Trip.Legs[stay]
	a.Where = l.Place.Name
	whole, _ := forecast.LikeYear(b)
	spans[year] = span{build: &whole, every: yearStep, scale: scaleOf(365, yearStep)}
	a.Assumed = append(a.Assumed, fmt.Sprintf("year: at %s, %s, as in the longest stay of the trip; every %s day computed, in one year's weather", place(l.Place), b.Postures[l.Posture].Name, ordinal(yearStep)))

	if !o.Day.IsZero() {
		on := legOn(b, o.Day)
		if on < 0 {
			on = stay
		}
		d := b.Trip.Legs[on]
		y, m, n := o.Day.Date()
		d.Drive, d.WeatherFile = false, ""
		d.From = time.Date(y, m, n, 0, 0, 0, 0, d.Place.Zone)
		d.Until = d.From.AddDate(0, 0, 1)
		one := *b
		one.Trip.Legs = []build.Leg{d}
		spans[day] = span{build: &one, clear: true, scale: 1}
		a.DayPlace = place(d.Place)
		if d.HeadingFree {
			a.Assumed = append(a.Assumed, "day: the heading is free and drawn by lot; give the stay a heading for another")
		}
	}
	return spans, a, nil
}

func place(p build.Place) string {
	if p.Name != "" {
		return p.Name
	}
	return fmt.Sprintf("%.2f, %.2f", p.Latitude.Degrees(), p.Longitude.Degrees())
}

func ordinal(n int) string {
	switch {
	case n%10 == 1 && n%100 != 11:
		return fmt.Sprintf("%dst", n)
	case n%10 == 2 && n%100 != 12:
		return fmt.Sprintf("%dnd", n)
	case n%10 == 3 && n%100 != 13:
		return fmt.Sprintf("%drd", n)
	}
	return fmt.Sprintf("%dth", n)
}

// scaleOf returns what to multiply the energy of every so many of days by.
func scaleOf(days, every int) float64 {
	every = max(1, every)
	return float64(days) / float64((days+every-1)/every)
}

// legOn returns the leg at noon of a date, -1 when the trip has none then.
func legOn(b *build.Build, date time.Time) int {
	y, m, d := date.Date()
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		noon := time.Date(y, m, d, 12, 0, 0, 0, l.Place.Zone)
		if !noon.Before(l.From) && noon.Before(l.Until) {
			return i
		}
	}
	return -1
}

// job is a run of a span with a thing left out: -1 none, the number of things all.
type job struct {
	span, leave int
	answer      *forecast.Answer
}

// runAll runs the jobs, as many at once as there are cores.
func runAll(ctx context.Context, jobs []job, spans []span, casters []forecast.Caster, o Options) error {
	var mu sync.Mutex
	done := 0
	return forecast.Each(ctx, len(jobs), func(i int) error {
		j := &jobs[i]
		err := error(nil)
		if s := spans[j.span]; s.build != nil {
			var omit []forecast.Caster
			switch {
			case j.leave == len(casters):
				omit = casters
			case j.leave >= 0:
				omit = casters[j.leave : j.leave+1]
			}
			j.answer, err = forecast.Run(ctx, s.build, forecast.Options{Years: 1, Seed: o.Seed, Workers: 1, Every: s.every, Clear: s.clear, Omit: omit, Modules: true})
		}
		mu.Lock()
		defer mu.Unlock()
		if done++; o.Progress != nil {
			o.Progress(done, len(jobs))
		}
		return err
	})
}
