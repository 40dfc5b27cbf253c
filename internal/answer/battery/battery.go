// Package battery answers three questions of a bank: how large it must be, by the nights that run short; what heat
// and stored charge do to it over the years of ownership; and what cold mornings cost.
//
// All sizes run through the same weather years. Ageing is told as a band and for cases that differ in how the
// vehicle is kept, for one number would say too much: a camper's battery dies of heat and of sitting full, not of
// cycles. Chemistries without a formula get the trade's range of cycles and no figure for heat and charge.
//
// Left out: currents, which stay as built for every size; a battery that ages within the trip; what its
// electronics draw while it is stored.
package battery

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/climate"
)

// Options say how to run.
type Options struct {
	Years    int // weather years of each size; 0: 40
	Own      int // years of ownership; 0: 10
	Nights   int // of use a year; 0: those of the trip
	Seed     uint64
	Workers  int
	Files    map[string]forecast.Hourly
	Progress func(done, total int)
}

// Size is the battery so many times as large.
type Size struct {
	Factor  float64
	Aged    bool // what is left of the built one after the years of ownership, the middle of the band
	Energy  quantity.Energy
	Nights  forecast.Band   // short; P90 is not passed in 90 % of years
	Unmet   quantity.Energy // of the trip, mean
	Harvest quantity.Energy // of the trip, mean
	Lowest  quantity.Ratio  // charge, reached in 90 % of years
	Mass    quantity.Mass
	Price   *float64 // nil: the file has none
}

// Loss is the capacity lost after years.
type Loss struct {
	Years int
	charge.LossBand
}

// Case is a way of keeping the vehicle.
type Case struct {
	Name     string
	After    []Loss
	Standing quantity.Ratio // lost by standing alone, at the end, middle
	Cycling  quantity.Ratio
	ToFifth  [3]float64 // years until a fifth is gone: least, middle, most; held to Longest
}

// Answer is what is to be said of the battery.
type Answer struct {
	Sizes     []Size
	Years     int
	Seed      uint64
	Own       int
	Nights    int // of use a year
	MassGiven bool
	Cells     forecast.Cells
	Harvest   quantity.Energy // of the trip, for what cold costs of it
	Cases     []Case          // empty without a formula
	NoAgeing  string          // why
	Lives     []charge.CycleLife
	FullAYear float64 // equivalent full cycles
	Advice    []string
	Notes     []string
}

// factors are the sizes looked at.
var factors = []float64{0.5, 0.75, 1, 1.5, 2, 3}

// shownYears are years after which losses are shown beside the years of ownership.
var shownYears = []int{1, 5}

// Longest is how many years until a loss are told at most.
const Longest = 50

// Run answers for b. The answer is the same for any number of workers. It fails as forecast.Run does, and panics on
// options below zero, or over 100 years of ownership.
func Run(ctx context.Context, b *build.Build, o Options) (*Answer, error) {
	if o.Years < 0 || o.Own < 0 || o.Own > 100 || o.Nights < 0 || o.Nights > 366 {
		panic("battery: options out of range")
	}
	if o.Years == 0 {
		o.Years = 40
	}
	if o.Own == 0 {
		o.Own = 10
	}
	run := forecast.Options{Years: o.Years, Seed: o.Seed, Workers: o.Workers, Files: o.Files, Cells: true}
	now, err := forecast.Run(ctx, b, run)
	if err != nil {
		return nil, err
	}
	if o.Nights == 0 {
		o.Nights = min(365, now.Nights)
	}
	a := &Answer{Years: o.Years, Seed: o.Seed, Own: o.Own, Nights: o.Nights, MassGiven: b.Battery.Mass != nil, Cells: *now.Cells, Harvest: now.Harvest}
	a.age(b)
	if err := a.sizes(ctx, b, o, now); err != nil {
		return nil, err
	}
	a.advise(b)
	return a, nil
}

// sizes runs every size but the built one, which is known.
func (a *Answer) sizes(ctx context.Context, b *build.Build, o Options, now *forecast.Answer) error {
	list := slices.Clone(factors)
	aged := 0.0
	if len(a.Cases) > 0 {
		aged = 1 - a.Cases[0].After[len(a.Cases[0].After)-1].Middle.Float()
		if len(a.Cases) > 1 {
			aged = 1 - a.Cases[1].After[len(a.Cases[1].After)-1].Middle.Float()
		}
		aged = math.Max(0.05, aged)
		list = append(list, aged)
	}
	n := o.Years
	f, err := forecast.Run(ctx, b, forecast.Options{Years: len(list) * n, Seed: o.Seed, Workers: o.Workers, Files: o.Files, Progress: o.Progress,
		Vary: func(k int) forecast.Variation {
			v := forecast.AsBuilt(k % n)
			v.Capacity = quantity.Ratio(list[k/n])
			return v
		}})
	if err != nil {
		return err
	}
	for i, factor := range list {
		s := sizeOf(b, factor, f.ByYear[i*n:(i+1)*n])
		s.Aged = i >= len(factors)
		if s.Aged {
			s.Energy, s.Price = quantity.Energy(b.Battery.Energy.Joules()*factor), nil
			s.Mass = massOf(b, 1)
		}
		a.Sizes = append(a.Sizes, s)
	}
	return nil
}

// massOf returns the mass of the bank so many times as large.
func massOf(b *build.Build, factor float64) quantity.Mass {
	m := charge.MassOf(charge.Chemistry(b.Battery.Chemistry), b.Battery.Energy)
	if b.Battery.Mass != nil {
		m = *b.Battery.Mass
	}
	return quantity.Mass(m.Kilograms() * factor)
}

// sizeOf gathers a size's years.
func sizeOf(b *build.Build, factor float64, years []forecast.Year) Size {
	s := Size{Factor: factor, Energy: quantity.Energy(b.Battery.Energy.Joules() * factor), Mass: massOf(b, factor)}
	if b.Battery.Price != nil {
		p := *b.Battery.Price * factor
		s.Price = &p
	}
	var nights, lowest []float64
	share := 1 / float64(len(years))
	for _, y := range years {
		nights, lowest = append(nights, float64(y.NightsShort)), append(lowest, y.Lowest.Float())
		s.Unmet += quantity.Energy(y.Unmet.Joules() * share)
		s.Harvest += quantity.Energy(y.Harvest.Joules() * share)
	}
	slices.Sort(nights)
	slices.Sort(lowest)
	s.Nights = forecast.Band{P90: numeric.Quantile(nights, 0.9), P50: numeric.Quantile(nights, 0.5), P10: numeric.Quantile(nights, 0.1)}
	s.Lowest = quantity.Ratio(numeric.Quantile(lowest, 0.1))
	return s
}

// year is the span ageing is counted in.
const year = 365 * 24 * time.Hour

// age fills in the cases of ageing.
func (a *Answer) age(b *build.Build) {
	c, kind := &a.Cells, charge.Chemistry(b.Battery.Chemistry)
	a.Lives = charge.CycleLives(kind)
	if c.Hours <= 0 {
		a.NoAgeing = "the trip has no hours"
		return
	}
	times := float64(a.Nights) * 24 / c.Hours
	a.FullAYear = c.Full * times
	if _, err := c.Wear.Loss(kind); err != nil {
		a.NoAgeing = "heat and stored charge age it too, but no published formula for this chemistry is held here; by cycles alone see the range of the trade"
		return
	}
	add := func(name string, w charge.Wear) {
		k := Case{Name: name}
		for _, n := range append(slices.Clone(shownYears), a.Own) {
			if n > a.Own || len(k.After) > 0 && n <= k.After[len(k.After)-1].Years {
				continue
			}
			band, err := w.Times(float64(n)).Loss(kind)
			if err != nil {
				panic("battery: " + err.Error()) // it had one above
			}
			k.After = append(k.After, Loss{n, band})
		}
		end := w.Times(float64(a.Own))
		k.Standing, k.Cycling = end.Calendar(), end.Cycles()
		k.ToFifth = untilFifth(w, kind)
		a.Cases = append(a.Cases, k)
	}
	add("lived in all year, as on this trip", c.Wear.Times(year.Hours()/c.Hours))
	if a.Nights >= 365 {
		return
	}
	used, rest := c.Wear.Times(times), float64(365-a.Nights)/365
	at, name := keptAt(b)
	for _, s := range []struct {
		name   string
		charge quantity.Ratio
		warmer quantity.TempDiff
	}{{"full", b.Battery.HighestCharge, 0}, {"full, in a vehicle 8 K over the air", b.Battery.HighestCharge, 8 * quantity.OneKelvin}, {"at 50 %", 0.5 * quantity.One, 0}} {
		add(fmt.Sprintf("%d nights a year, else kept at %s %s", a.Nights, name, s.name), used.Plus(stored(at, s.charge, s.warmer).Times(rest)))
	}
}

// untilFifth returns the years until a fifth of the capacity is gone at a year's wear w, by the band's ends and
// middle. Both kinds of loss grow with the root of the years.
func untilFifth(w charge.Wear, kind charge.Chemistry) [3]float64 {
	band, err := w.Loss(kind)
	if err != nil {
		panic("battery: " + err.Error())
	}
	years := func(loss quantity.Ratio) float64 {
		if loss <= 0 {
			return Longest
		}
		x := 0.2 / loss.Float()
		return math.Min(Longest, x*x)
	}
	return [3]float64{years(band.High), years(band.Middle), years(band.Low)}
}

// keptAt returns where the vehicle stands when it is not used: at home, else at the trip's longest stay.
func keptAt(b *build.Build) (climate.Climate, string) {
	p := b.Home
	if p == nil {
		i := max(0, forecast.LongestStay(b))
		p = &b.Trip.Legs[i].Place
	}
	return climate.At(p.Latitude, p.Longitude, p.Elevation), p.Name
}

// stored returns a year's wear of a battery kept at a charge in the air of a place, or so much warmer: each month by
// eight moments of a day that swings between its mean low and high.
func stored(at climate.Climate, soc quantity.Ratio, warmer quantity.TempDiff) charge.Wear {
	var w charge.Wear
	const moments = 8
	span := year / (12 * moments)
	for m := range at.Months {
		low, high := at.Months[m].MeanLow.Celsius(), at.Months[m].MeanHigh.Celsius()
		for k := range moments {
			t := (low+high)/2 + (high-low)/2*math.Cos(2*math.Pi*(float64(k)+0.5)/moments)
			w.Stand(quantity.Celsius(t+warmer.Kelvins()), soc, span)
		}
	}
	return w
}
