package bands

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/build/build"
)

// Observation is a reading that would make doubts smaller, and what it would do to the band.
type Observation struct {
	What    string // what to do
	Inputs  []string
	Left    string  // the doubt after it, in words
	Before  float64 // the inputs' share of the variance, first order
	After   float64 // of what is left of it
	Shrinks float64 // the band becomes so much narrower, of its width
	Of      string  // "harvest" or "nights short"
	Band    forecast.Band
	Source  cite.Source
}

// reading is an observation as it is known before the build is.
type reading struct {
	what   string
	inputs []string
	u      float64 // its relative standard uncertainty
	why    string
	source cite.Source
}

// readings are what can be done. Uncertainties are relative standard ones of what the inputs together do.
func readings(b *build.Build) []reading {
	judged := func(title string) cite.Source { return cite.Source{Title: title, Standing: cite.Judgement} }
	return []reading{
		{"measure Isc of each module, clean, at a clear noon against a reference cell (noonmark bench)", []string{Label, Ageing}, 0.038, "meter, reference cell, tilt and spectrum together",
			cite.Source{Title: "trade handbook E2 by GUM, JCGM 100:2008", Where: "absolute Isc check, u 3.8 %"}},
		{"log the controller's watts at three clear noons, modules clean, battery below 80 %", []string{Label, Ageing, Heat}, 0.045, "display 2 to 5 %, the clear sky 3 %", judged("trade handbook E1, display and irradiance")},
		{"tape a thermometer under a module at a clear, still noon", []string{Heat}, 2 * math.Abs(slopeOf(b)), "2 K", judged("trade handbook E1")},
		{"look at the roof's dirt: wash one of two modules at a clear noon and hold their amps against each other", []string{Soiling}, 0.25, "today's dirt within a tenth of itself; how it grows stays open", judged("trade handbook E2, ratio of two modules")},
		{"sight the skyline of the longest stays with compass and protractor (key horizon)", []string{Surroundings}, skylineSigma, "skyline within 3°", judged("skyline sighted by hand")},
		{"log two parked days' use", []string{Loads}, 0.10, "days differ by 15 %; meter 2 %", judged("day-to-day spread of use")},
		{"draw the battery down once from full to its stop through a counter of watt-hours", []string{Battery}, 0.02, "counter 1 to 2 %", cite.Source{Title: "trade handbook E1, inline watt meter", Standing: cite.FromMemory}},
		{"take a station's record near the longest stay instead of the built-in climate (key weather)", []string{Weather}, 0.03, "its own error 3 %; the years differ as before", judged("station records of global light")},
	}
}

// leastShrink is by how much an observation must narrow the band to be worth telling.
const leastShrink = 0.025

// observe weighs the readings on what matters: nights short where they vary in a fifth of the draws, else the
// harvest. An observation leaves of a doubt what is in both: 1/(1/σ² + 1/u²); a reading of several doubts
// together leaves so much of their sum. The variance it takes away is the doubts' first-order share of it: exact
// where they add up.
func (a *Answer) observe(b *build.Build, inputs []Doubt, own climate) {
	by, of, band := a.Energy, "harvest", a.Harvest
	if a.NightsBy != nil && a.Short >= 0.2 && a.Short <= 0.8 {
		by, of, band = a.NightsBy, "nights short", a.Nights
	}
	first, sigma := map[string]float64{}, map[string]float64{}
	for _, x := range by {
		first[x.Key] = x.First
	}
	for i := range inputs {
		sigma[inputs[i].Key] = inputs[i].deviation()
	}
	sigma[Weather] = own.error
	var all []Observation
	for _, r := range readings(b) {
		before, square := 0.0, 0.0
		for _, k := range r.inputs {
			before += first[k]
			square += sigma[k] * sigma[k]
		}
		if r.inputs[0] == Weather {
			before *= own.part
		}
		if before <= 0 || square <= 0 {
			continue
		}
		left := r.u * r.u / (square + r.u*r.u)
		gone := math.Min(0.99, before*(1-left))
		o := Observation{What: r.what, Inputs: r.inputs, Before: before, After: before * left / (1 - gone), Shrinks: 1 - math.Sqrt(1-gone), Of: of, Source: r.source}
		o.Left = fmt.Sprintf("%s instead of %s (%s)", percent(math.Sqrt(square*left)), percent(math.Sqrt(square)), r.why)
		k := 1 - o.Shrinks
		o.Band = forecast.Band{P90: band.P50 + (band.P90-band.P50)*k, P50: band.P50, P10: band.P50 + (band.P10-band.P50)*k}
		all = append(all, o)
	}
	slices.SortStableFunc(all, func(x, y Observation) int { return cmp.Compare(y.Shrinks, x.Shrinks) })
	if len(all) > 0 && all[0].Shrinks >= leastShrink {
		a.Best, all = &all[0], all[1:]
	}
	a.Others = all
}

// Text returns the observation in a sentence or two.
func (o *Observation) Text() string {
	return fmt.Sprintf("%s. It leaves a doubt of %s; that part of the variance falls from %.0f %% to %.0f %%, and the band of the %s narrows by %.0f %%",
		o.What, o.Left, 100*o.Before, 100*o.After, o.Of, 100*o.Shrinks)
}
