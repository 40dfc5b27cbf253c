package choose

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// ErrNoStay says that a trip of drives alone places the vehicle nowhere.
var ErrNoStay = errors.New("the trip has no stay")

// Options say what to search.
type Options struct {
	Types    []int           // of the build's module types; empty: those its modules are of
	Most     int             // modules; below 1: four
	Gap      quantity.Length // to edges, things and other modules; 0: 20 mm
	Grid     quantity.Length // step of places; 0: 50 mm
	Judged   int             // layouts and wirings at most; below 1: 2000
	Shown    int             // candidates computed through the year; below 1: 8
	Seed     uint64
	Progress func(done, total int, best string) // done reaches total; total falls when the search ends by itself
}

func (o Options) filled(b *build.Build) Options {
	if len(o.Types) == 0 {
		for i := range b.Modules {
			if !slices.Contains(o.Types, b.Modules[i].Type) {
				o.Types = append(o.Types, b.Modules[i].Type)
			}
		}
	}
	if o.Most < 1 {
		o.Most = 4
	}
	if o.Gap <= 0 {
		o.Gap = 20 * quantity.Millimetre
	}
	if o.Grid <= 0 {
		o.Grid = 50 * quantity.Millimetre
	}
	if o.Judged < 1 {
		o.Judged = 2000
	}
	if o.Shown < 1 {
		o.Shown = 8
	}
	return o
}

// Candidate is a layout with its wiring.
type Candidate struct {
	Build  *build.Build
	What   string // "2 × foil-95, in series"
	Type   int
	Count  int
	Wiring string
	Energy quantity.Energy // offered at the battery in a year
	Judged quantity.Energy // the same by the judge
	Power  quantity.Power  // on the labels
	Mass   quantity.Mass
	Money  *float64 // of the modules; nil: no price
	Front  bool     // none other gives more for no more money and mass
	set    []spot
}

// Arrangement is the outcome of a search.
type Arrangement struct {
	Now        Candidate   // the build as it stands
	Candidates []Candidate // by falling energy, those of the front among them
	Judged     int
	Allowed    int             // might have been judged; more than Judged: nothing new was found
	Forbidden  int             // left out for the controller's limits
	Bound      quantity.Energy // no layout of so many modules of a type gives more
	BoundOf    string
	Why        string
	Assumed    []string
}

// Gap returns how far the best stands under the bound, as a share of it.
func (a *Arrangement) Gap() float64 {
	if len(a.Candidates) == 0 || a.Bound <= 0 {
		return 0
	}
	return 1 - a.Candidates[0].Judged.Joules()/a.Bound.Joules()
}

// Ended says how a search ended that judged less than it might have; empty for one that spent all.
func (a *Arrangement) Ended() string {
	if a.Judged >= a.Allowed {
		return ""
	}
	return fmt.Sprintf("The search ended by itself at %d of the %d it might have judged: it met nothing new near the best.", a.Judged, a.Allowed)
}

// judgeEvery is the days between those a layout is judged on; the best fineShare of them, fineLeast at the least,
// are judged again as often as fullEvery.
const judgeEvery, fineShare, fineLeast = 30, 0.02, 16

// Arrange searches layouts and wirings of b. The answer is the same for any number of cores. It fails with
// ctx's error when stopped.
func Arrange(ctx context.Context, b *build.Build, o Options) (*Arrangement, error) {
	a, _, err := arrange(ctx, b, o)
	return a, err
}

// arrange is Arrange, with all candidates by falling energy.
func arrange(ctx context.Context, b *build.Build, o Options) (*Arrangement, []Candidate, error) {
	if len(b.Surfaces) == 0 || len(b.Chargers) == 0 || len(b.Strings) == 0 {
		return nil, nil, errors.New("choose: a build without surfaces, strings or chargers")
	}
	o = o.filled(b)
	j, ok := forecast.NewJudge(b, o.Seed, judgeEvery)
	if !ok {
		return nil, nil, ErrNoStay
	}
	fine, _ := forecast.NewJudge(b, o.Seed, fullEvery)
	a := &Arrangement{Allowed: o.Judged}
	var all []Candidate
	var fields []field
	low := check.ExtremesOf(b).Low
	suns := forecast.SunsOf(b)
	budget := o.Judged / max(1, len(o.Types))
	for _, t := range o.Types {
		spots := spotsOf(ctx, b, t, o, suns)
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		fields = append(fields, field{t, spots})
		random := rand.New(rand.NewPCG(o.Seed, uint64(t)))
		list := layouts(b, t, spots, o, budget, random)
		for _, l := range list {
			for _, c := range wirings(b, t, l) {
				if forbidden(c.Build, low) {
					a.Forbidden++
					continue
				}
				all = append(all, c)
			}
		}
		if err := a.bound(fine, b, t, spots, o); err != nil {
			return nil, nil, err
		}
	}
	if len(all) > o.Judged {
		all = all[:o.Judged]
	}
	p := &progress{total: o.Judged, tell: o.Progress}
	if err := judgeAll(ctx, j, all, p); err != nil {
		return nil, nil, err
	}
	all, err := wander(ctx, b, j, all, fields, low, o, p)
	if err != nil {
		return nil, nil, err
	}
	p.end()
	a.Judged = len(all)
	all = slices.DeleteFunc(all, func(c Candidate) bool { return c.Judged <= 0 })
	if err := again(ctx, fine, all); err != nil {
		return nil, nil, err
	}
	if err := a.show(ctx, b, all, o); err != nil {
		return nil, nil, err
	}
	a.Assumed = append(a.Assumed, fmt.Sprintf("judged on hours of %d days of a year like the longest stay, in one year's weather, the best again on %d; shown ones at every step of those", 365/judgeEvery, 365/fullEvery),
		fmt.Sprintf("%v to edges, things and other modules; places every %v", o.Gap, o.Grid), "one type a layout, all on the first controller")
	return a, all, nil
}

// wirings returns a layout in series, in parallel and, of four or more in even number, in pairs.
func wirings(b *build.Build, t int, set []spot) []Candidate {
	kinds := []int{len(set)}
	if len(set) > 1 {
		kinds = append(kinds, 1)
	}
	if len(set) >= 4 && len(set)%2 == 0 {
		kinds = append(kinds, 2)
	}
	var out []Candidate
	for _, series := range kinds {
		c := *b
		c.Modules, c.Strings, c.Chargers = nil, nil, slices.Clone(b.Chargers[:1])
		attachment := b.Modules[0]
		for i, p := range set {
			m := build.Module{Name: fmt.Sprintf("%s %d", b.Types[t].Name, i+1), Type: t, Surface: p.surface, X: p.x, Y: p.y, Turn: p.turn, Attachment: attachment.Attachment, Gap: attachment.Gap}
			c.Modules = append(c.Modules, m)
		}
		c.Chargers[0].Strings = nil
		cable := b.Strings[b.Chargers[0].Strings[0]]
		for i := 0; i < len(set); i += series {
			s := build.String{Name: fmt.Sprintf("string %d", len(c.Strings)+1), Cable: cable.Cable}
			for k := i; k < i+series; k++ {
				s.Modules = append(s.Modules, k)
			}
			c.Chargers[0].Strings = append(c.Chargers[0].Strings, len(c.Strings))
			c.Strings = append(c.Strings, s)
		}
		wiring := "in series"
		switch {
		case len(set) == 1:
			wiring = "alone"
		case series == 1:
			wiring = "in parallel"
		case series < len(set):
			wiring = "pairs in series, the pairs in parallel"
		}
		cand := Candidate{Build: &c, Type: t, Count: len(set), set: set, Wiring: wiring, What: fmt.Sprintf("%d × %s, %s", len(set), b.Types[t].Name, wiring)}
		cand.weigh()
		out = append(out, cand)
	}
	return out
}

// weigh fills in power, mass and money.
func (c *Candidate) weigh() {
	money, priced := 0.0, true
	for i := range c.Build.Modules {
		t := &c.Build.Types[c.Build.Modules[i].Type]
		c.Power += t.Pmax
		c.Mass += t.Mass
		if t.Price != nil {
			money += *t.Price
		} else {
			priced = false
		}
	}
	if priced {
		c.Money = &money
	}
}

// hotRise is how far over 25 °C a cell is taken for its lowest working volts: 70 °C, which roofs without a
// gap reach in hot summers. Source: limit of IEC TS 63126 for the 98th percentile, vehicle notes section 4.
const hotRise = 45 // K

// forbidden reports whether the array's cold volts or short-circuit amperes are over what the first
// controller stands, or its hot working volts under what it starts at.
func forbidden(b *build.Build, low quantity.Temperature) bool {
	ch := &b.Chargers[0]
	amps := 0.0
	for _, s := range ch.Strings {
		open, hot, short := 0.0, 0.0, math.Inf(1)
		for _, m := range b.Strings[s].Modules {
			t := &b.Types[b.Modules[m].Type]
			k := t.VocCoefficient.PerKelvin()
			open += t.Voc.Volts() * (1 + k*(low.Celsius()-25))
			hot += t.Vmp.Volts() * (1 + k*hotRise)
			short = math.Min(short, t.Isc.Amperes())
		}
		if open > ch.InputMax.Volts() || hot < max(ch.InputMin, b.Battery.Voltage+ch.RunMargin).Volts() {
			return true
		}
		amps += short
	}
	return ch.ShortCircuitMax > 0 && 1.25*amps > ch.ShortCircuitMax.Amperes()
}

// progress counts what is judged and tells of the best so far.
type progress struct {
	mu          sync.Mutex
	done, total int
	energy      quantity.Energy
	best        string
	tell        func(done, total int, best string)
}

func (p *progress) note(c *Candidate) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if c.Judged > p.energy || p.done == 0 {
		p.energy, p.best = c.Judged, c.What
	}
	if p.done++; p.done%50 == 0 || p.done == p.total {
		p.say()
	}
}

// end tells that no more is judged, where not all was that might have been.
func (p *progress) end() {
	if p.done > 0 && p.done < p.total {
		p.total = p.done
		p.say()
	}
}

func (p *progress) say() {
	if p.tell != nil {
		p.tell(p.done, p.total, fmt.Sprintf("%s, %.0f kWh", p.best, p.energy.WattHours()/1000))
	}
}

// judgeAll judges the candidates on all cores.
func judgeAll(ctx context.Context, j *forecast.Judge, all []Candidate, p *progress) error {
	return forecast.Each(ctx, len(all), func(i int) (err error) {
		all[i].Judged, err = j.Year(all[i].Build)
		p.note(&all[i])
		return err
	})
}

// again judges the best of a list on more days and hours, brings the rest to the same measure, and sorts by
// falling energy.
func again(ctx context.Context, fine *forecast.Judge, all []Candidate) error {
	falling := func(x, y Candidate) int { return cmp.Compare(y.Judged, x.Judged) }
	slices.SortStableFunc(all, falling)
	n := min(len(all), max(fineLeast, int(fineShare*float64(len(all)))))
	before, after := 0.0, 0.0
	for i := range n {
		before += all[i].Judged.Joules()
	}
	if err := judgeAll(ctx, fine, all[:n], &progress{}); err != nil {
		return err
	}
	for i := range n {
		after += all[i].Judged.Joules()
	}
	for i := n; i < len(all); i++ {
		all[i].Judged = quantity.Energy(all[i].Judged.Joules() * after / before)
	}
	slices.SortStableFunc(all, falling)
	return nil
}

// bound raises the bound by what modules of a type would give, each in the brightest place of all, as if the
// others were not there and each had a controller that loses nothing to volts.
func (a *Arrangement) bound(j *forecast.Judge, b *build.Build, t int, spots []spot, o Options) error {
	if len(spots) == 0 {
		return nil
	}
	c := wirings(b, t, spots[:1])[0]
	ch := &c.Build.Chargers[0]
	ch.InputMin, ch.RunMargin, ch.StartMargin, ch.InputMax = 0, 0, 0, 1000*quantity.Volt
	c.Build.Battery.Voltage = 1 * quantity.Volt // under any working point
	ch.InputCurrent, ch.InputPower, ch.OutputCurrent = 1000*quantity.Ampere, 10000*quantity.Watt, 1000*quantity.Ampere
	ch.FixedLoss, ch.Tracking, ch.BatteryCable = 0, build.GlobalPeak, build.Run{}
	best, err := j.Year(c.Build)
	if err != nil {
		return err
	}
	area := b.Types[t].Length.Metres() * b.Types[t].Width.Metres()
	room := 0.0
	for s := range b.Surfaces {
		room += math.Abs(build.Plan(b.Surfaces[s].Outline).Area())
	}
	n := min(o.Most, int(room/area))
	if e := quantity.Energy(float64(n) * best.Joules()); e > a.Bound {
		a.Bound, a.BoundOf = e, fmt.Sprintf("%d × %s, each in the best place, alone, on a controller of its own", n, b.Types[t].Name)
	}
	return nil
}

// front marks the candidates that none other beats in energy at no more money and mass.
func front(list []Candidate) {
	for i := range list {
		c := &list[i]
		c.Front = !slices.ContainsFunc(list, func(d Candidate) bool {
			cheaper := c.Money == nil || d.Money != nil && *d.Money <= *c.Money
			return d.Energy >= c.Energy && d.Mass <= c.Mass && cheaper && (d.Energy > c.Energy || d.Mass < c.Mass || c.Money != nil && d.Money != nil && *d.Money < *c.Money)
		})
	}
}

// show computes the best layouts of each kind through the year, and the build as it stands.
func (a *Arrangement) show(ctx context.Context, b *build.Build, all []Candidate, o Options) error {
	now := Candidate{Build: b, What: "as it stands", Count: len(b.Modules)}
	now.weigh()
	var picked []Candidate
	seen := map[string]int{}
	for _, c := range all {
		if seen[c.What] == 0 && len(picked) < 4*o.Shown {
			seen[c.What]++
			picked = append(picked, c)
		}
	}
	if len(picked) > o.Shown { // the best, and what is on the front by the judge
		for i := range picked {
			picked[i].Energy = picked[i].Judged
		}
		front(picked)
		slices.SortStableFunc(picked, func(x, y Candidate) int {
			if x.Front != y.Front {
				if x.Front {
					return -1
				}
				return 1
			}
			return cmp.Compare(y.Judged, x.Judged)
		})
		picked = picked[:o.Shown]
	}
	list := append([]Candidate{now}, picked...)
	err := forecast.Each(ctx, len(list), func(i int) (err error) {
		list[i].Energy, err = Year(ctx, list[i].Build, o.Seed)
		return err
	})
	if err != nil {
		return err
	}
	a.Now, a.Candidates = list[0], list[1:]
	front(a.Candidates)
	slices.SortStableFunc(a.Candidates, func(x, y Candidate) int { return cmp.Compare(y.Energy, x.Energy) })
	a.Why = why(a)
	return nil
}

// fullEvery is the days between those a candidate that is shown is computed on.
const fullEvery = 7

// Year returns what a build offers at the battery in a year like its longest stay, by the full computation.
func Year(ctx context.Context, b *build.Build, seed uint64) (quantity.Energy, error) {
	whole, ok := forecast.LikeYear(b)
	if !ok {
		return 0, ErrNoStay
	}
	a, err := forecast.Run(ctx, &whole, forecast.Options{Years: 1, Seed: seed, Workers: 1, Every: fullEvery})
	if err != nil {
		return 0, err
	}
	days := (365 + fullEvery - 1) / fullEvery
	return quantity.Energy(a.Offered.Joules() * 365 / float64(days)), nil
}

// why says what the best has over the next and over the build as it stands.
func why(a *Arrangement) string {
	if len(a.Candidates) == 0 {
		return "No layout of these types fits the roof and the controller."
	}
	best := a.Candidates[0]
	text := fmt.Sprintf("%s gives %.0f kWh a year at the battery", best.What, best.Energy.WattHours()/1000)
	if a.Now.Energy > 0 {
		text += fmt.Sprintf(", %+.0f kWh against the build as it stands", (best.Energy-a.Now.Energy).WattHours()/1000)
	}
	if len(a.Candidates) > 1 {
		next := a.Candidates[1]
		text += fmt.Sprintf("; the runner-up, %s, gives %.0f kWh less", next.What, (best.Energy-next.Energy).WattHours()/1000)
		switch {
		case next.Power < best.Power:
			text += fmt.Sprintf(": %.0f W less on the labels", (best.Power - next.Power).Watts())
		case next.Wiring != best.Wiring:
			text += fmt.Sprintf(": the same watts wired %s", next.Wiring)
		case next.Mass > best.Mass:
			text += fmt.Sprintf(", and weighs %.1f kg more", (next.Mass - best.Mass).Kilograms())
		}
	}
	return text + "."
}
