package bands

import (
	"context"
	"fmt"
	"math"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Options say how to run. The zero value takes the usual number of rows.
type Options struct {
	Rows      int // of each set, 8 to 4096; 0: UsualRows
	YearDraws int // runs of a whole year; 0: none
	Seed      uint64
	Workers   int // below 1: one for each core
	Files     map[string]forecast.Hourly
	Progress  func(done, total int)
}

// UsualRows is how many rows make shares that are known to about 0.05.
const UsualRows = 160

// Runs returns how many times the trip is run for a number of rows, and so what it costs.
func Runs(b *build.Build, rows int) int { return rows * (len(open(Doubts(b))) + 2) }

// Input is a doubt with its shares of a figure's variance.
type Input struct {
	Key, Name string
	Share
}

// Answer is how sure a trip is.
type Answer struct {
	Rows, Runs int
	Seed       uint64
	Doubts     []Doubt
	Draws      int           // the band's own: rows of both sets
	Harvest    forecast.Band // of the trip, Wh: P90 is reached or exceeded in 90 %
	PerDay     forecast.Band // the same, of a day
	Offered    forecast.Band // at the battery, taken or not: what the roof can do whatever is used, Wh
	Year       *forecast.Band
	YearDraws  int
	Nights     forecast.Band  // short; P90 is not passed in 90 %
	Short      quantity.Ratio // share of the draws in which a night or more runs short
	Energy     []Input        // shares of the harvest's variance, largest total first
	OfferedBy  []Input        // of the offered energy's
	NightsBy   []Input        // of the nights', nil where they hardly vary
	Best       *Observation   // that would shrink the band most; nil: none shrinks it by a twentieth
	Others     []Observation  // the rest, best first
	Notes      []string
}

// leastVaried is the least share of draws whose nights short differ from the commonest number, for shares of their
// variance to mean anything.
const leastVaried = 0.10

// open returns the doubts that have a spread, the weather always.
func open(list []Doubt) []Doubt {
	var out []Doubt
	for _, d := range list {
		if d.Key == Weather || d.deviation() > 1e-9 {
			out = append(out, d)
		}
	}
	return out
}

// Run draws what is not known of b and takes it through the trip. The answer is the same for any number of workers.
// It fails as forecast.Run does, and panics on a number of rows outside 8 to 4096.
func Run(ctx context.Context, b *build.Build, o Options) (*Answer, error) {
	if o.Rows == 0 {
		o.Rows = UsualRows
	}
	if o.Rows < 8 || o.Rows > 4096 || o.YearDraws < 0 {
		panic("bands: rows outside 8 to 4096")
	}
	doubts := Doubts(b)
	inputs := open(doubts)
	s := newDesign(o.Rows, len(inputs), o.Seed)
	run := forecast.Options{Years: s.rows(), Seed: o.Seed, Workers: o.Workers, Files: o.Files, Progress: o.Progress,
		Vary: func(k int) forecast.Variation { return variation(&s, doubts, inputs, k) }}
	f, err := forecast.Run(ctx, b, run)
	if err != nil {
		return nil, err
	}
	a := &Answer{Rows: o.Rows, Runs: s.rows(), Seed: o.Seed, Doubts: doubts, Draws: 2 * o.Rows}
	harvest, offered, nights := make([]float64, s.rows()), make([]float64, s.rows()), make([]float64, s.rows())
	for k, y := range f.ByYear {
		harvest[k], offered[k], nights[k] = y.Harvest.WattHours(), y.Offered.WattHours(), float64(y.NightsShort)
	}
	a.Harvest = bandOf(harvest[:a.Draws])
	a.Offered = bandOf(offered[:a.Draws])
	n := float64(len(f.Days))
	a.PerDay = forecast.Band{P90: a.Harvest.P90 / n, P50: a.Harvest.P50 / n, P10: a.Harvest.P10 / n}
	harm := bandOf(nights[:a.Draws])
	a.Nights = forecast.Band{P90: harm.P10, P50: harm.P50, P10: harm.P90}
	for _, x := range nights[:a.Draws] {
		if x > 0 {
			a.Short += quantity.Ratio(1 / float64(a.Draws))
		}
	}
	climate := a.shares(&s, inputs, harvest, offered, nights, f.ClimateError.Float())
	a.observe(b, inputs, climate)
	if o.YearDraws > 0 {
		if err := a.year(ctx, b, doubts, inputs, o); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// variation returns what row k of a design has otherwise.
func variation(s *design, doubts, inputs []Doubt, k int) forecast.Variation {
	j, fromB := s.row(k)
	u := make([]float64, s.d)
	s.at(k, u)
	v := forecast.AsBuilt(j)
	factor := map[string]float64{}
	for i := range doubts {
		if d := &doubts[i]; d.draw != nil {
			factor[d.Key] = d.draw(0.5) // a doubt without spread still has its mean
		}
	}
	for i := range inputs {
		switch d := &inputs[i]; {
		case d.Key == Weather && fromB(i):
			v.Weather = s.n + j
		case d.Key != Weather:
			factor[d.Key] = d.draw(u[i])
		}
	}
	v.Power = quantity.Ratio(math.Min(10, factor[Label]*factor[Ageing]*factor[Heat]))
	v.Soiling, v.Surroundings = quantity.Ratio(factor[Soiling]), quantity.Ratio(factor[Surroundings])
	v.Loads, v.Capacity = quantity.Ratio(factor[Loads]), quantity.Ratio(factor[Battery])
	return v
}

// bandOf returns the band of values, which it leaves in order as they are.
func bandOf(values []float64) forecast.Band {
	sorted := slices.Sorted(slices.Values(values))
	return forecast.Band{P90: numeric.Quantile(sorted, 0.1), P50: numeric.Quantile(sorted, 0.5), P10: numeric.Quantile(sorted, 0.9)}
}

// climate is the built-in climate's own error: its relative standard deviation, and its part of the weather's share
// of a variance.
type climate struct{ error, part float64 }

// shares fills in the variance shares and returns what the climate's own error, of relative standard deviation e, is
// of the weather's: as much as it makes of what is offered.
func (a *Answer) shares(s *design, inputs []Doubt, harvest, offered, nights []float64, e float64) climate {
	a.Energy, _ = list(s, inputs, harvest, a.Seed)
	own, mean := climate{error: e}, 0.0
	for _, x := range offered[:a.Draws] {
		mean += x / float64(a.Draws)
	}
	var variance float64
	a.OfferedBy, variance = list(s, inputs, offered, a.Seed)
	for _, x := range a.OfferedBy {
		if v := x.First * variance; x.Key == Weather && v > 0 {
			own.part = math.Min(1, e*e*mean*mean/v)
		}
	}
	count := map[float64]int{}
	most := 0
	for _, x := range nights[:a.Draws] {
		count[x]++
		most = max(most, count[x])
	}
	if varied := 1 - float64(most)/float64(a.Draws); varied >= leastVaried {
		a.NightsBy, _ = list(s, inputs, nights, a.Seed)
		return own
	}
	a.Notes = append(a.Notes, fmt.Sprintf("nights short hardly vary: the same number in %s of the draws; what makes them is not told", percent(float64(most)/float64(a.Draws))))
	return own
}

// list returns the inputs with their shares, the largest total first.
func list(s *design, inputs []Doubt, f []float64, seed uint64) ([]Input, float64) {
	shares, variance := s.shares(f, seed)
	out := make([]Input, len(inputs))
	for i := range inputs {
		out[i] = Input{Key: inputs[i].Key, Name: inputs[i].Name, Share: shares[i]}
	}
	slices.SortStableFunc(out, func(x, y Input) int {
		switch {
		case x.Total > y.Total:
			return -1
		case x.Total < y.Total:
			return 1
		}
		return 0
	})
	return out, variance
}

// Dominant returns the inputs that make most of a figure's variance: the first, and those whose total share is not
// told apart from it by two standard errors.
func Dominant(by []Input) []Input {
	if len(by) == 0 || by[0].Total <= 0 {
		return nil
	}
	n := 1
	for n < len(by) && by[0].Total-by[n].Total < 2*math.Hypot(by[0].TotalError, by[n].TotalError) {
		n++
	}
	return by[:n]
}

// judged is how many days apart a judge looks at a year for what shadows leave of it.
const judged = 14

// year runs a year of the longest stay, without shares. What shadows on the roof leave of a year is one factor on
// the modules' power, from a judge that looks at some of its days: within 3 % of the year's energy, for a tenth of
// the work.
func (a *Answer) year(ctx context.Context, b *build.Build, doubts, inputs []Doubt, o Options) error {
	whole, ok := forecast.LikeYear(b)
	if !ok {
		a.Notes = append(a.Notes, "the trip has no stay: no year is told")
		return nil
	}
	left, err := unshaded(b, o.Seed)
	if err != nil {
		return err
	}
	half := (o.YearDraws + 1) / 2
	s := newDesign(half, len(inputs), o.Seed+1)
	f, err := forecast.Run(ctx, &whole, forecast.Options{Years: 2 * half, Seed: o.Seed, Workers: o.Workers, Progress: o.Progress, Omit: casters(b),
		Vary: func(k int) forecast.Variation {
			v := variation(&s, doubts, inputs, k)
			v.Power = quantity.Ratio(v.Power.Float() * left)
			return v
		}})
	if err != nil {
		return err
	}
	var harvest []float64
	for _, y := range f.ByYear {
		harvest = append(harvest, y.Harvest.WattHours())
	}
	band := bandOf(harvest)
	a.Year, a.YearDraws = &band, len(harvest)
	return nil
}

// casters returns all that can cast a shadow on the roof.
func casters(b *build.Build) []forecast.Caster {
	var out []forecast.Caster
	for i := range b.Obstacles {
		out = append(out, forecast.Caster{Index: i})
	}
	for i := range b.Surfaces {
		out = append(out, forecast.Caster{Surface: true, Index: i})
	}
	return out
}

// unshaded returns what the roof's shadows leave of a year's energy, by a judge; 1 where nothing stands on it.
func unshaded(b *build.Build, seed uint64) (float64, error) {
	j, ok := forecast.NewJudge(b, seed, judged)
	if !ok || len(b.Obstacles)+len(b.Surfaces) < 2 {
		return 1, nil
	}
	with, err := j.Year(b)
	if err != nil {
		return 1, err
	}
	without, err := j.Year(b, casters(b)...)
	if err != nil || without <= 0 {
		return 1, err
	}
	return math.Min(1, with.Joules()/without.Joules()), nil
}
