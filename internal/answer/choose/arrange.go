package choose

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
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
	Progress func(done, total int, best string)
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
}

// Arrangement is the outcome of a search.
type Arrangement struct {
	Now        Candidate   // the build as it stands
	Candidates []Candidate // by falling energy, those of the front among them
	Judged     int
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

// judgeEvery is the days between those a layout is judged on.
const judgeEvery = 30

// Arrange searches layouts and wirings of b. The answer is the same for any number of cores. It fails with
// ctx's error when stopped.
func Arrange(ctx context.Context, b *build.Build, o Options) (*Arrangement, error) {
	if len(b.Surfaces) == 0 || len(b.Chargers) == 0 || len(b.Strings) == 0 {
		return nil, errors.New("choose: a build without surfaces, strings or chargers")
	}
	o = o.filled(b)
	j, ok := forecast.NewJudge(b, o.Seed, judgeEvery)
	if !ok {
		return nil, ErrNoStay
	}
	a := &Arrangement{}
	var all []Candidate
	low := check.ExtremesOf(b).Low
	suns := forecast.SunsOf(b)
	budget := o.Judged / max(1, len(o.Types))
	for _, t := range o.Types {
		spots := spotsOf(ctx, b, t, o, suns)
		if err := ctx.Err(); err != nil {
			return nil, err
		}
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
		a.bound(j, b, t, spots, o)
	}
	if len(all) > o.Judged {
		all = all[:o.Judged]
	}
	if err := judgeAll(ctx, j, all, o); err != nil {
		return nil, err
	}
	a.Judged = len(all)
	all = slices.DeleteFunc(all, func(c Candidate) bool { return c.Judged <= 0 })
	slices.SortStableFunc(all, func(x, y Candidate) int { return cmp.Compare(y.Judged, x.Judged) })
	if err := a.show(ctx, b, all, o); err != nil {
		return nil, err
	}
	a.Assumed = append(a.Assumed, fmt.Sprintf("judged on hours of %d days of a year like the longest stay, in one year's weather; shown ones on every seventh day", 365/judgeEvery),
		fmt.Sprintf("%v to edges, things and other modules; places every %v", o.Gap, o.Grid), "one type a layout, all on the first controller")
	return a, nil
}

// spot is a place for a module and how good it is.
type spot struct {
	surface int
	x, y    quantity.Length
	turn    quantity.Angle
	light   float64
}

// spotsOf returns the free places of a type on all surfaces, both turns, by falling light.
func spotsOf(ctx context.Context, b *build.Build, t int, o Options, suns forecast.Suns) []spot {
	empty := *b
	empty.Modules = nil
	var out []spot
	for s := range b.Surfaces {
		if len(b.Surfaces[s].Outline) < 3 {
			continue
		}
		box := build.Plan(b.Surfaces[s].Outline).Bounds()
		for _, turn := range []quantity.Angle{0, 90 * quantity.Degree} {
			if turn != 0 && b.Types[t].Length == b.Types[t].Width {
				continue
			}
			l, w := b.Types[t].Length.Metres(), b.Types[t].Width.Metres()
			if turn != 0 {
				l, w = w, l
			}
			for _, x := range steps(box.Low.X+o.Gap.Metres(), box.High.X-o.Gap.Metres()-l, o.Grid.Metres(), l+o.Gap.Metres()) {
				for _, y := range steps(box.Low.Y+o.Gap.Metres(), box.High.Y-o.Gap.Metres()-w, o.Grid.Metres(), w+o.Gap.Metres()) {
					if ctx.Err() != nil {
						return nil
					}
					one := empty
					one.Modules = []build.Module{{Name: "m", Type: t, Surface: s, X: quantity.Length(x), Y: quantity.Length(y), Turn: turn}}
					if one.Free(0, o.Gap-0.01*quantity.Millimetre) {
						out = append(out, spot{s, quantity.Length(x), quantity.Length(y), turn, 0})
					}
				}
			}
		}
	}
	var wg sync.WaitGroup
	cores := runtime.GOMAXPROCS(0)
	for w := range cores {
		wg.Add(1)
		go func() {
			defer wg.Done()
			one := empty
			for k := w; k < len(out) && ctx.Err() == nil; k += cores {
				p := &out[k]
				one.Modules = []build.Module{{Name: "m", Type: t, Surface: p.surface, X: p.x, Y: p.y, Turn: p.turn}}
				p.light = suns.Light(&one, 0)
			}
		}()
	}
	wg.Wait()
	slices.SortStableFunc(out, func(p, q spot) int { return cmp.Compare(q.light, p.light) })
	return out
}

// steps returns places from one end to the other, both ends among them, and those of modules packed side by
// side from either end.
func steps(from, to, step, pitch float64) []float64 {
	if to < from-1e-9 {
		return nil
	}
	to = math.Max(from, to)
	var out []float64
	for x := from; x < to; x += step {
		out = append(out, x)
	}
	for x := from + pitch; x < to; x += pitch {
		out = append(out, x)
	}
	for x := to; x > from; x -= pitch {
		out = append(out, x)
	}
	out = append(out, from)
	slices.Sort(out)
	return slices.CompactFunc(out, func(x, y float64) bool { return math.Abs(x-y) < 1e-6 })
}

// meets reports whether modules of a type at two spots stand nearer than a gap.
func meets(b *build.Build, t int, p, q spot, gap float64) bool {
	if p.surface != q.surface {
		return false
	}
	size := func(s spot) (l, w float64) {
		l, w = b.Types[t].Length.Metres(), b.Types[t].Width.Metres()
		if s.turn != 0 {
			l, w = w, l
		}
		return l, w
	}
	pl, pw := size(p)
	ql, qw := size(q)
	e := gap - 1e-6
	return p.x.Metres() < q.x.Metres()+ql+e && q.x.Metres() < p.x.Metres()+pl+e && p.y.Metres() < q.y.Metres()+qw+e && q.y.Metres() < p.y.Metres()+pw+e
}

// layouts returns sets of spots that stand clear of one another, from one module to the most, the brightest
// first: greedy from random orders of places, each then improved by moving single modules.
func layouts(b *build.Build, t int, spots []spot, o Options, budget int, random *rand.Rand) [][]spot {
	if len(spots) == 0 {
		return nil
	}
	type scored struct {
		set   []spot
		light float64
	}
	var out [][]spot
	each := max(4, budget/o.Most/2)
	for n := 1; n <= o.Most; n++ {
		found := map[string]scored{}
		for try := range 3 * each {
			set := greedy(b, t, spots, n, o, try, random)
			if len(set) < n {
				continue
			}
			if try%2 == 0 { // the others stay apart: the circuit may like them better
				improve(b, t, spots, set, o)
			}
			light := 0.0
			for _, p := range set {
				light += p.light
			}
			found[key(set)] = scored{set, light}
			if len(found) >= each {
				break
			}
		}
		var list []scored
		for _, s := range found {
			list = append(list, s)
		}
		slices.SortFunc(list, func(p, q scored) int {
			if p.light != q.light {
				return cmp.Compare(q.light, p.light)
			}
			return cmp.Compare(key(p.set), key(q.set))
		})
		for _, s := range list {
			out = append(out, s.set)
		}
		if len(list) == 0 {
			break
		}
	}
	return out
}

func key(set []spot) string {
	parts := make([]string, len(set))
	for i, p := range set {
		parts[i] = fmt.Sprintf("%d %.3f %.3f %.0f", p.surface, p.x.Metres(), p.y.Metres(), p.turn.Degrees())
	}
	slices.Sort(parts)
	return fmt.Sprint(parts)
}

// greedy takes the brightest places that stand clear: by their light alone at the first try, then, every other
// try, packed from one of the corners, for packed modules leave room for another, or with the light of each
// moved by some noise.
func greedy(b *build.Build, t int, spots []spot, n int, o Options, try int, random *rand.Rand) []spot {
	order := make([]int, len(spots))
	value := make([]float64, len(spots))
	corner := try%2 == 1
	noise := 0.0
	if try > 0 {
		noise = 0.02 * float64(1+try%8)
	}
	right, back := 1.0, 1.0
	if try/2%2 == 1 {
		right = -1
	}
	if try/4%2 == 1 {
		back = -1
	}
	for i := range spots {
		order[i] = i
		value[i] = spots[i].light * (1 + noise*random.NormFloat64())
		if corner {
			value[i] = 0.2*spots[i].light - back*spots[i].x.Metres() - right*spots[i].y.Metres()*0.01
			if try/8%2 == 1 {
				value[i] = 0.2*spots[i].light - right*spots[i].y.Metres() - back*spots[i].x.Metres()*0.01
			}
		}
	}
	slices.SortStableFunc(order, func(p, q int) int { return cmp.Compare(value[q], value[p]) })
	var set []spot
	for _, i := range order {
		clear := !slices.ContainsFunc(set, func(p spot) bool { return meets(b, t, p, spots[i], o.Gap.Metres()) })
		if clear {
			if set = append(set, spots[i]); len(set) == n {
				break
			}
		}
	}
	return set
}

// improve moves single modules to brighter free places until none gains.
func improve(b *build.Build, t int, spots []spot, set []spot, o Options) {
	for range 4 {
		moved := false
		for i := range set {
			for _, p := range spots {
				if p.light <= set[i].light+1e-9 {
					break
				}
				clear := true
				for k := range set {
					if k != i && meets(b, t, set[k], p, o.Gap.Metres()) {
						clear = false
						break
					}
				}
				if clear {
					set[i], moved = p, true
					break
				}
			}
		}
		if !moved {
			return
		}
	}
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
		cand := Candidate{Build: &c, Type: t, Count: len(set), Wiring: wiring, What: fmt.Sprintf("%d × %s, %s", len(set), b.Types[t].Name, wiring)}
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
			hot += t.Vmp.Volts() * (1 + k*45)
			short = math.Min(short, t.Isc.Amperes())
		}
		if open > ch.InputMax.Volts() || hot < max(ch.InputMin, b.Battery.Voltage+ch.RunMargin).Volts() {
			return true
		}
		amps += short
	}
	return ch.ShortCircuitMax > 0 && 1.25*amps > ch.ShortCircuitMax.Amperes()
}

// judgeAll judges the candidates on all cores.
func judgeAll(ctx context.Context, j *forecast.Judge, all []Candidate, o Options) error {
	var wg sync.WaitGroup
	var mu sync.Mutex
	var failed error
	next, done, best := 0, 0, -1
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			own := j.Fork()
			for {
				mu.Lock()
				i := next
				next++
				stop := failed != nil
				mu.Unlock()
				if i >= len(all) || stop || ctx.Err() != nil {
					return
				}
				e, err := own.Year(all[i].Build)
				mu.Lock()
				all[i].Judged = e
				if err != nil && failed == nil {
					failed = err
				}
				if done++; best < 0 || e > all[best].Judged {
					best = i
				}
				if o.Progress != nil && (done%50 == 0 || done == len(all)) {
					o.Progress(done, len(all), fmt.Sprintf("%s, %.0f kWh", all[best].What, all[best].Judged.WattHours()/1000))
				}
				mu.Unlock()
			}
		}()
	}
	wg.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	return failed
}

// bound raises the bound by what modules of a type would give, each in the brightest place of all, as if the
// others were not there and each had a controller that loses nothing to volts.
func (a *Arrangement) bound(j *forecast.Judge, b *build.Build, t int, spots []spot, o Options) {
	if len(spots) == 0 {
		return
	}
	c := wirings(b, t, spots[:1])[0]
	ch := &c.Build.Chargers[0]
	ch.InputMin, ch.RunMargin, ch.StartMargin, ch.InputMax = 0, 0, 0, 1000*quantity.Volt
	c.Build.Battery.Voltage = 1 * quantity.Volt // under any working point
	ch.InputCurrent, ch.InputPower, ch.OutputCurrent = 1000*quantity.Ampere, 10000*quantity.Watt, 1000*quantity.Ampere
	ch.FixedLoss, ch.Tracking, ch.BatteryCable = 0, build.GlobalPeak, build.Run{}
	best, err := j.Year(c.Build)
	if err != nil {
		return
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
	var wg sync.WaitGroup
	errs := make([]error, len(list))
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range list {
		wg.Add(1)
		go func() {
			defer wg.Done()
			slots <- struct{}{}
			defer func() { <-slots }()
			list[i].Energy, errs[i] = Year(ctx, list[i].Build, o.Seed)
		}()
	}
	wg.Wait()
	if err := errors.Join(errs...); err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
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
