package forecast

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/climate"
)

// Hourly is a weather file: the means of the hour that holds t, hours beginning on the hour of its zone.
type Hourly interface {
	ZoneOffset() time.Duration
	Hour(t time.Time) (global, beam, diffuse quantity.Irradiance, air quantity.Temperature, wind quantity.Speed)
}

// Options say how to run. The zero value runs one year on all cores.
type Options struct {
	Years    int                      // weather years; below 1: 1
	Seed     uint64                   // of the years' weather
	Vary     func(year int) Variation // what a year has otherwise; called in order of year, before any is computed; nil: AsBuilt
	Workers  int                      // below 1: one for each core
	Files    map[string]Hourly        // by the leg's WeatherFile
	Clear    bool                     // a cloudless sky all through; air and wind by the climate
	Every    int                      // compute each so many days only, the first and so on; below 2: all
	Omit     []Caster                 // what casts no shadow
	Modules  bool                     // say what each module gets and gives; solves the circuit at every step
	Full     bool                     // solve the circuit at every step however many years: no chart
	Chart    bool                     // a chart however few years
	Cells    bool                     // say what the trip does to the battery's cells
	Progress func(done, total int)
}

// course is what all years share beside the tape.
type course struct {
	months    []climate.Month // by day, at the day's place
	errors    []float64       // relative standard deviation of the climatology, by day
	recorded  [][]now         // by leg: the weather file's steps; nil: the climate
	firstStep []int           // by leg: the tape index of its first recorded step
	clear     bool
	every     int
	modules   bool
	cells     bool
}

// Run takes b through its trip.
//
// The answer is the same for any number of workers. It fails with ctx's error when stopped, and when
// a module's label fits no cell or a leg names a weather file that Options does not hold.
func Run(ctx context.Context, b *build.Build, o Options) (*Answer, error) {
	p, err := assemble(b, o.Omit...)
	if err != nil {
		return nil, err
	}
	t := lay(b)
	if len(t.days) == 0 {
		return nil, fmt.Errorf("forecast: the trip has no days")
	}
	c, err := plot(b, t, o.Files)
	if err != nil {
		return nil, err
	}
	c.clear, c.every, c.modules, c.cells = o.Clear, o.Every, o.Modules, o.Cells
	varied := variations(o.Vary, max(1, o.Years))
	ch, err := chartOf(ctx, p, t, c, varied, o)
	if err != nil {
		return nil, err
	}
	years, err := runYears(ctx, p, t, c, ch, varied, o)
	if err != nil {
		return nil, err
	}
	return sum(p, t, c, years, o.Seed), nil
}

// runYears computes the years on the workers. Years are numbered and each is its own seed, so who computes which is
// of no consequence.
func runYears(ctx context.Context, p *plant, t *tape, c *course, ch *chart, varied []vary, o Options) ([]yearResult, error) {
	want, views := len(varied), p.views()
	results := make([]yearResult, want)
	var finished atomic.Int64
	err := share(ctx, o.Workers, want, func() func(k int) bool {
		r := newRunner(p, t, views)
		r.chart = ch
		return func(k int) bool {
			results[k] = r.run(c, o.Seed, varied[k])
			if n := finished.Add(1); o.Progress != nil {
				o.Progress(int(n), want)
			}
			return true
		}
	})
	return results, err
}

// plot prepares the climate of each day and the steps of weather files.
func plot(b *build.Build, t *tape, files map[string]Hourly) (*course, error) {
	c := &course{recorded: make([][]now, len(b.Trip.Legs)), firstStep: make([]int, len(b.Trip.Legs))}
	for d, site := range t.sites {
		at := climate.At(site.Latitude, site.Longitude, site.Elevation)
		day := float64(t.days[d].date.YearDay())
		c.months = append(c.months, at.Interpolated(day))
		c.errors = append(c.errors, at.RadiationError(day).Float())
	}
	for i := range b.Trip.Legs {
		name := b.Trip.Legs[i].WeatherFile
		if name == "" {
			continue
		}
		f := files[name]
		if f == nil {
			return nil, fmt.Errorf("forecast: trip leg %d: weather file %q was not read", i+1, name)
		}
		c.record(t, i, f)
	}
	return c, nil
}

// sum gathers the years into the answer.
func sum(p *plant, t *tape, c *course, years []yearResult, seed uint64) *Answer {
	n := len(years)
	share := 1 / float64(n)
	a := &Answer{Years: n, Seed: seed, Nights: max(1, len(t.days)-1)}
	var mean account
	var harvest, lowest, short []float64
	for y := range years {
		mean.add(&years[y].account, share)
		lowest = append(lowest, years[y].lowest)
		total, nights := 0.0, 0
		days := make([]quantity.Energy, len(t.days))
		var sum dayResult
		for d := range years[y].days {
			day := &years[y].days[d]
			sum.offered += day.offered
			days[d] = quantity.Energy(day.offered)
			sum.demand += day.demand
			sum.unmet += day.unmet
			total += day.harvest
			if day.short() {
				nights++
			}
		}
		a.Offered += quantity.Energy(sum.offered * share)
		a.ByYear = append(a.ByYear, Year{Harvest: quantity.Energy(total), Offered: quantity.Energy(sum.offered), Demand: quantity.Energy(sum.demand),
			Unmet: quantity.Energy(sum.unmet), NightsShort: nights, Lowest: quantity.Ratio(years[y].lowest), Days: days})
		harvest = append(harvest, total/3600)
		short = append(short, float64(nights))
		a.WorstResidual = max(a.WorstResidual, quantity.Ratio(years[y].worst))
	}
	for i := range mean {
		a.Ledger = append(a.Ledger, Entry{Item: Item(i), Energy: quantity.Energy(mean[i])})
	}
	a.Residual = quantity.Energy(mean.residual())
	a.HarvestBand, a.LowestBand = bandOf(harvest), bandOf(lowest)
	// Nights short is a harm: P90 of it is the number not exceeded in 90 % of years.
	b := bandOf(short)
	a.NightsShort = Band{P90: b.P10, P50: b.P50, P10: b.P90}
	for _, e := range c.errors {
		a.ClimateError = max(a.ClimateError, quantity.Ratio(e))
	}
	for d := range t.days {
		a.Days = append(a.Days, sumDay(p.build, t, years, d))
		a.Harvest += a.Days[d].Harvest
		a.Demand += a.Days[d].Demand
		a.Unmet += a.Days[d].Unmet
		a.Unused += a.Days[d].Unused
	}
	a.WorstRun = worstRun(a.Days)
	if c.modules {
		a.Modules = modulesOf(p.build, years)
	}
	if c.cells {
		a.Cells = cellsOf(years)
	}
	return a
}

// shortNight is the least unmet energy that makes a night short: a lamp for a quarter of an hour.
const shortNight = 1 * quantity.WattHour

func (d *dayResult) short() bool { return d.night > shortNight.Joules() }

// sumDay gathers day d of the years.
func sumDay(b *build.Build, t *tape, years []yearResult, d int) Day {
	span := t.days[d]
	day := Day{Date: span.date, Place: t.sites[d].Name}
	for k := range span.count {
		if m := &t.moments[span.first+k]; !m.idle && b.Trip.Legs[m.leg].Drive {
			day.Moves = true
		}
	}
	share := 1 / float64(len(years))
	var harvest, lowest []float64
	var sum dayResult
	short := 0.0
	for y := range years {
		r := &years[y].days[d]
		sum.harvest += r.harvest * share
		sum.demand += r.demand * share
		sum.unmet += r.unmet * share
		sum.unused += r.unused * share
		sum.offered += r.offered * share
		sum.alternator += r.alternator * share
		sum.plane += r.plane * share
		sum.night += r.night * share
		sum.warmest += r.warmest * share
		sum.low += r.low * share
		sum.high += r.high * share
		if r.short() {
			short += share
		}
		harvest = append(harvest, r.harvest/3600)
		lowest = append(lowest, r.lowest)
	}
	day.Harvest, day.Demand, day.Unmet = quantity.Energy(sum.harvest), quantity.Energy(sum.demand), quantity.Energy(sum.unmet)
	day.Offered = quantity.Energy(sum.offered)
	day.Unused, day.Alternator = quantity.Energy(sum.unused), quantity.Energy(sum.alternator)
	day.PlaneIrradiation = quantity.Irradiation(sum.plane)
	day.WarmestModule, day.AirLow, day.AirHigh = quantity.Celsius(sum.warmest), quantity.Celsius(sum.low), quantity.Celsius(sum.high)
	day.HarvestBand = bandOf(harvest)
	low := bandOf(lowest)
	day.Lowest, day.LowestP90 = quantity.Ratio(low.P50), quantity.Ratio(low.P90)
	day.ShortShare = quantity.Ratio(short)
	if short > 0 {
		day.ShortBy = quantity.Energy(sum.night / short)
	}
	return day
}

// worstRun returns the run of days with the largest shortfall in a row.
func worstRun(days []Day) WorstRun {
	var worst WorstRun
	sum, from := 0.0, 0
	for i, d := range days {
		miss := d.Demand.Joules() - d.Harvest.Joules() - d.Alternator.Joules()
		if sum <= 0 {
			sum, from = 0, i
		}
		sum += miss
		if sum > worst.Shortfall.Joules() {
			worst = WorstRun{First: days[from].Date, Last: d.Date, Shortfall: quantity.Energy(sum)}
		}
	}
	return worst
}
