package choose

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Life is how long a kind of module lasts and how it fades on a vehicle.
type Life struct {
	Years, Least, Most float64
	Fade, FadeMost     quantity.Ratio // of its power a year
	Source             cite.Source
}

// lifeOf returns the life of a type by its front and how it is held. A bonded module under a polymer front
// lives hot. The years are our own estimate within what the handbook gives: warranties of 1 to 5 years and
// failures in 1 to 5 for flexible ones, 12 to 25 for glass; the fading is its section E8.
func lifeOf(t *build.ModuleType, a build.Attachment) Life {
	hand := cite.Source{Title: "our own estimate within handbook E8 and G", Where: "ageing numbers, money and life", Standing: cite.Judgement}
	thin := t.Technology == build.CIGS || t.Technology == build.CIGSFoil || t.Technology == build.CdTe || t.Technology == build.AmorphousSilicon
	bonded := a == build.Bonded || a == build.FoamTape
	switch {
	case glass(t):
		return Life{20, 12, 25, 0.6 * quantity.Percent, 1 * quantity.Percent, hand}
	case thin && bonded:
		return Life{8, 3, 12, 1 * quantity.Percent, 2 * quantity.Percent, hand}
	case thin:
		return Life{9, 4, 14, 1 * quantity.Percent, 2 * quantity.Percent, hand}
	case bonded:
		return Life{4, 2, 8, 2 * quantity.Percent, 3 * quantity.Percent, hand}
	}
	return Life{6, 3, 10, 1.5 * quantity.Percent, 3 * quantity.Percent, hand}
}

// Money is what the user says of money.
type Money struct {
	Prices   map[string]float64 // of one module, by type; wins over the file's
	Interest *quantity.Ratio    // a year; nil: 5 %
	Nights   int                // of use a year; 0: those of the trip
	Fuel     float64            // price of a litre; 0: not given
	HookUp   float64            // fee of a night; 0: not given
}

// generator is what a small petrol generator burns for a kilowatt-hour, litres. Source: handbook G, 0.4 to 0.6,
// from memory. alternator is what an engine burns more for one of its alternator's. Source: handbook C7, 0.3 to 0.5,
// from memory.
const generator, alternator = 0.5, 0.4

// Row is a module type in the best layout found for it.
type Row struct {
	Type          string
	Best          Candidate
	Year          quantity.Energy     // offered at the battery, in a year at the longest stay
	Day           quantity.Energy     // taken, of a mean day of the trip
	NightsShort   float64             // of the trip, in the middle year
	Hours         [24]quantity.Energy // offered, of a mean day of the year
	Worst         quantity.Energy     // offered, of a day of the darkest month
	Shade         quantity.Ratio      // of what the cells could give: lost to shade on the roof and between cells
	Heat, Weak    quantity.Ratio      // lost to hot cells, to weak light
	Life          Life
	Price         *float64 // of all its modules
	PerKWh        *float64 // of those taken, over its life
	PerKWhBand    [2]float64
	Litres        float64  // of generator fuel its energy of a year of use stands for
	PayBack       *float64 // years against the generator's fuel
	PayBackDrive  *float64 // years against the fuel for as much by the alternator
	PayBackHookUp *float64 // years against hook-up fees, were each night of use paid for
	Verdict       string
}

// Comparison is module types side by side.
type Comparison struct {
	Rows    []Row
	Ahead   [24]string // who offers most, by hour of the clock; empty at night
	Advice  []string
	Nights  int
	Assumed []string
}

// Compare sets module types side by side, each in the best layout found for it. It fails with ctx's error
// when stopped.
func Compare(ctx context.Context, b *build.Build, o Options, m Money) (*Comparison, error) {
	o = o.filled(b)
	j, ok := forecast.NewJudge(b, o.Seed, judgeEvery)
	if !ok {
		return nil, ErrNoStay
	}
	c := &Comparison{Nights: m.Nights}
	if c.Nights <= 0 {
		first, last := b.Trip.Legs[0].From, b.Trip.Legs[len(b.Trip.Legs)-1].Until
		c.Nights = max(1, int(last.Sub(first).Hours()/24+0.5))
	}
	for k, t := range o.Types {
		one := o
		one.Types, one.Shown = []int{t}, 1
		if o.Progress != nil {
			one.Progress = func(done, total int, best string) {
				o.Progress(k*o.Judged+done*o.Judged/total, len(o.Types)*o.Judged, best)
			}
		}
		one.yearAlone = true
		a, err := Arrange(ctx, b, one)
		if err != nil {
			return nil, err
		}
		if len(a.Candidates) == 0 {
			c.Rows = append(c.Rows, Row{Type: b.Types[t].Name, Verdict: notFit(a)})
			continue
		}
		c.Rows = append(c.Rows, Row{Type: b.Types[t].Name, Best: a.Candidates[0], Year: a.Candidates[0].Energy})
	}
	if err := c.compute(ctx, j, o, m); err != nil {
		return nil, err
	}
	c.judge(b, m)
	c.Assumed = append(c.Assumed, fmt.Sprintf("%d nights of use a year", c.Nights), "each type in the best layout found for it, at most "+fmt.Sprint(o.Most)+" modules",
		"life by front and fixing: our own estimate within handbook E8 and G; the band is wider than any maker's word", fmt.Sprintf("a generator burns %.1f l for a kilowatt-hour (0.4 to 0.6, from memory)", generator), fmt.Sprintf("an alternator costs %.1f l for a kilowatt-hour (0.3 to 0.5, from memory)", alternator))
	if m.HookUp > 0 {
		c.Assumed = append(c.Assumed, "each night of use would else be paid for at a hook-up")
	}
	return c, nil
}

// notFit says why no layout of a type is shown.
func notFit(a *Arrangement) string {
	if len(a.Refused) == 0 {
		return "does not fit this roof"
	}
	var names []string
	for _, r := range a.Refused {
		names = append(names, r.Rule)
	}
	return "no layout keeps the rules: " + strings.Join(names, ", ")
}

// compute runs each row through the trip and a year.
func (c *Comparison) compute(ctx context.Context, j *forecast.Judge, o Options, m Money) error {
	err := forecast.Each(ctx, len(c.Rows), func(i int) error {
		if c.Rows[i].Best.Build == nil {
			return nil
		}
		return c.Rows[i].run(ctx, j, o.Seed)
	})
	if err != nil {
		return err
	}
	for i := range c.Rows {
		if c.Rows[i].Best.Build != nil {
			c.Rows[i].price(m, c.Nights)
		}
	}
	slices.SortStableFunc(c.Rows, func(x, y Row) int { return cmp.Compare(y.Day, x.Day) })
	for h := range c.Ahead {
		most := 0.5 * quantity.WattHour
		for i := range c.Rows {
			if c.Rows[i].Hours[h] > most {
				most, c.Ahead[h] = c.Rows[i].Hours[h], c.Rows[i].Type
			}
		}
	}
	return nil
}

// tripYears is how many weather years a row is taken through the trip.
const tripYears = 12

// overTrip takes a build through its trip, in generated weather.
func overTrip(ctx context.Context, b *build.Build, seed uint64) (*forecast.Answer, error) {
	trip := *b
	trip.Trip.Legs = slices.Clone(trip.Trip.Legs)
	for i := range trip.Trip.Legs {
		trip.Trip.Legs[i].WeatherFile = ""
	}
	return forecast.Run(ctx, &trip, forecast.Options{Years: tripYears, Seed: seed, Workers: 1})
}

func (r *Row) run(ctx context.Context, j *forecast.Judge, seed uint64) error {
	p, err := j.Profile(r.Best.Build)
	if err != nil {
		return err
	}
	r.Hours = p.Hours
	r.Worst = quantity.Energy(math.Inf(1))
	for _, e := range p.Month {
		if e > 0 {
			r.Worst = min(r.Worst, e)
		}
	}
	if math.IsInf(r.Worst.Joules(), 1) {
		r.Worst = 0
	}
	a, err := overTrip(ctx, r.Best.Build, seed)
	if err != nil {
		return err
	}
	r.Day = quantity.Energy(a.Harvest.Joules() / float64(max(1, len(a.Days))))
	r.NightsShort, r.Best.Nights = a.NightsShort.P50, a.NightsShort.P50
	at := func(i forecast.Item) float64 { return a.Ledger[i].Energy.Joules() }
	label := at(forecast.Sunlight) - at(forecast.Surroundings) - at(forecast.Reflection) - at(forecast.Dirt) - at(forecast.NotConverted) - at(forecast.Weaker)
	whole := label - at(forecast.RoofShade)
	if whole > 0 {
		efficiency := r.Best.Power.Watts() / (1000 * area(r.Best.Build))
		could := whole + at(forecast.RoofShade)*efficiency
		r.Shade = quantity.Ratio((at(forecast.RoofShade)*efficiency + at(forecast.Mismatch) + at(forecast.Bypass)) / could)
		r.Heat = quantity.Ratio(at(forecast.CellHeat) / could)
		r.Weak = quantity.Ratio(at(forecast.LowLight) / could)
	}
	return nil
}

// area returns the modules' area, m².
func area(b *build.Build) float64 {
	sum := 0.0
	for i := range b.Modules {
		t := &b.Types[b.Modules[i].Type]
		sum += t.Length.Metres() * t.Width.Metres()
	}
	return math.Max(sum, 1e-9)
}

// Recovery returns the share of an outlay to pay each year over a life at an interest.
// Source: capital recovery factor, r(1+r)^n/((1+r)^n - 1).
func Recovery(interest quantity.Ratio, years float64) float64 {
	r := interest.Float()
	if r <= 0 {
		return 1 / years
	}
	k := math.Pow(1+r, years)
	return r * k / (k - 1)
}

// price fills in money.
func (r *Row) price(m Money, nights int) {
	t := &r.Best.Build.Types[r.Best.Type]
	r.Life = lifeOf(t, r.Best.Build.Modules[0].Attachment)
	delivered := r.Day.WattHours() / 1000 * float64(nights) // a year of use, new
	r.Litres = delivered * generator
	price := r.Best.Money
	if p, ok := m.Prices[t.Name]; ok {
		all := p * float64(r.Best.Count)
		price = &all
	}
	r.Price = price
	if price == nil || delivered <= 0 {
		return
	}
	interest := 5 * quantity.Percent
	if m.Interest != nil {
		interest = *m.Interest
	}
	cost := func(years, fade float64) float64 {
		return *price * Recovery(interest, years) / (delivered * (1 - fade*years/2))
	}
	mid := cost(r.Life.Years, r.Life.Fade.Float())
	r.PerKWh = &mid
	r.PerKWhBand = [2]float64{cost(r.Life.Most, r.Life.Fade.Float()), cost(r.Life.Least, r.Life.FadeMost.Float())}
	if m.Fuel > 0 {
		years, drive := *price/(r.Litres*m.Fuel), *price/(delivered*alternator*m.Fuel)
		r.PayBack, r.PayBackDrive = &years, &drive
	}
	if m.HookUp > 0 {
		years := *price / (m.HookUp * float64(nights))
		r.PayBackHookUp = &years
	}
}

// judge says of each row whether it is worth buying, and advises.
func (c *Comparison) judge(b *build.Build, m Money) {
	for i := range c.Rows {
		r := &c.Rows[i]
		if r.Best.Build == nil {
			continue
		}
		r.Verdict = r.verdict(m)
	}
	full := slices.IndexFunc(c.Rows, func(r Row) bool { return r.Best.Build != nil })
	if full < 0 {
		c.Advice = append(c.Advice, "Do not buy: none of these fits the roof and the controller.")
		return
	}
	best := &c.Rows[full]
	if c.Nights < 40 {
		c.Advice = append(c.Advice, fmt.Sprintf("%d nights a year: a bigger battery charged at home or by the alternator is often cheaper than any module.", c.Nights))
	}
	if best.NightsShort >= 1 {
		c.Advice = append(c.Advice, fmt.Sprintf("None of these keeps the nights of this trip: the best still runs short on %.0f. Use less, or charge otherwise.", best.NightsShort))
	}
	if day := best.Year.WattHours() / 365; day > 0 && best.Day.WattHours() < 0.5*day {
		c.Advice = append(c.Advice, fmt.Sprintf("The trip takes %.0f Wh a day of about %.0f Wh offered: the battery is full, and more module gives nothing.", best.Day.WattHours(), day))
	}
}

// verdict says whether a row with a layout is worth its price; empty where neither fuel nor fees have one.
func (r *Row) verdict(m Money) string {
	soonest := math.Inf(1)
	var even []string
	for _, e := range []struct {
		years   *float64
		against string
	}{{r.PayBack, "a generator"}, {r.PayBackDrive, "the alternator"}, {r.PayBackHookUp, "hook-up fees"}} {
		if e.years != nil {
			soonest = math.Min(soonest, *e.years)
			even = append(even, fmt.Sprintf("in %.1f years against %s", *e.years, e.against))
		}
	}
	switch {
	case r.PerKWh == nil:
		return "give a price, and it is weighed against fuel"
	case len(even) == 0:
		return ""
	case soonest > r.Life.Years && m.Fuel > 0 && *r.PerKWh > generator*m.Fuel*1.5:
		return fmt.Sprintf("do not buy for the money: %.2f a kilowatt-hour taken, fuel for it costs %.2f", *r.PerKWh, generator*m.Fuel)
	case soonest > r.Life.Years:
		return fmt.Sprintf("pays back in %.0f years, lives about %.0f: for quiet and comfort, not for money", soonest, r.Life.Years)
	}
	return "pays back " + strings.Join(even, ", ")
}
