// Package check holds a build against rules: each finding has its value, its limit, the reason and
// the source. A bad design is a finding, never an error, and no verdict goes further than "within
// the stated rule".
//
// Wiring rules: voltage cold and hot, with a part lost, and the 60 V line; current, charge and its
// temperature; ampacity, drop and loss of each cable; fuses; connectors, disconnects, polarity and the
// loop at a hinge. Roof rules: place and gaps, height, masses, struts, bend, span and the way to walk.
// Mounting rules: how the modules are held. And the nights of a computed trip.
//
// A figure of a code is quoted with its clause and the words "check the edition in force where you
// are". Where two rules disagree both are shown; the one beside goes no further than a warning. A value
// that is missing gives Unknown, with what is missing and how to find it.
//
// Left out: mains wiring, fuses of single loads and gas.
package check

import (
	"fmt"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/climate"
)

// Verdict is what a rule says.
type Verdict int

const (
	Pass    Verdict = iota // within the stated rule
	Warn                   // close to the limit, or practice advises otherwise
	Fail                   // outside the stated rule
	Unknown                // something is missing
)

// String returns the verdict's word in files.
func (v Verdict) String() string { return [...]string{"pass", "warn", "fail", "unknown"}[v] }

// Finding is one rule applied to one subject.
type Finding struct {
	ID      string // "cold-voltage"
	Subject string // "charger roof"
	Verdict Verdict
	Value   float64
	Limit   float64
	Unit    string
	Reason  string
	Source  cite.Source
}

// Build returns the findings on b: those of Wiring, then those of Roof.
func Build(b *build.Build) ([]Finding, error) {
	out, err := Wiring(b)
	if err != nil {
		return nil, err
	}
	return append(out, Roof(b)...), nil
}

// Trip returns the finding on the nights of a computed trip.
func Trip(a *forecast.Answer) Finding {
	f := Finding{ID: "nights-short", Subject: "trip", Value: a.NightsShort.P50, Limit: 0, Unit: "nights",
		Reason: fmt.Sprintf("nights that run short in the middle year, of %d; %.0f in one year of ten", a.Nights, a.NightsShort.P90),
		Source: cite.Source{Title: "the trip's weather years", Standing: cite.Judgement}}
	switch {
	case a.NightsShort.P50 >= 1:
		f.Verdict = Fail
	case a.NightsShort.P90 >= 1:
		f.Verdict = Warn
	}
	return f
}

// Extremes are the temperatures a trip's rules are checked at.
type Extremes struct {
	Low     quantity.Temperature // lowest to be expected
	LowBand quantity.TempDiff
	LowAt   string
	High    quantity.Temperature // of the air on a hot afternoon
	HighAt  string
}

// hotDay is how much warmer than the mean daily highest a hot afternoon of a month is. Our own
// estimate, two standard deviations of a day.
const hotDay = 7 * quantity.OneKelvin

// ExtremesOf returns the extremes along the trip, or at home through the year where there is no trip.
func ExtremesOf(b *build.Build) Extremes {
	e := Extremes{Low: quantity.Celsius(100), High: quantity.Celsius(-100)}
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		for _, p := range []build.Place{l.Place, l.To} {
			if p.Zone == nil {
				continue
			}
			at := climate.At(p.Latitude, p.Longitude, p.Elevation)
			first, last := l.From.In(p.Zone).Month(), l.Until.In(p.Zone).Month()
			for m := first; ; m = m%12 + 1 {
				low, band := climate.ExtremeLow(at, m)
				if l.ExtremeLow != nil {
					low, band = *l.ExtremeLow, 0
				}
				if low.Before(e.Low) {
					e.Low, e.LowBand, e.LowAt = low, band, fmt.Sprintf("%s, %s", p.Name, m)
				}
				if high := at.Months[m-1].MeanHigh.Add(hotDay); e.High.Before(high) {
					e.High, e.HighAt = high, fmt.Sprintf("%s, %s", p.Name, m)
				}
				if m == last {
					break
				}
			}
		}
	}
	if e.LowAt == "" && b.Home != nil {
		at := climate.At(b.Home.Latitude, b.Home.Longitude, b.Home.Elevation)
		e.Low, e.LowBand = climate.ExtremeLow(at)
		e.LowAt = b.Home.Name + ", all year"
		for m := range at.Months {
			if high := at.Months[m].MeanHigh.Add(hotDay); e.High.Before(high) {
				e.High, e.HighAt = high, fmt.Sprintf("%s, %s", b.Home.Name, time.Month(m+1))
			}
		}
	}
	return e
}

// inForce ends the reason of a finding that quotes a code.
const inForce = "; check the edition in force where you are"

// missing returns f as unknown: what is missing, and how to find it.
func (f Finding) missing(what, how string) Finding {
	f.Verdict, f.Value, f.Reason = Unknown, 0, "missing: "+what+"; to find it: "+how
	return f
}

// atMost judges a value that may not be over its limit, and is close from the share warn of it on.
func (f Finding) atMost(warn float64) Finding {
	switch {
	case f.Value > f.Limit*(1+1e-9):
		f.Verdict = Fail
	case f.Value > f.Limit*warn*(1+1e-9):
		f.Verdict = Warn
	}
	return f
}

// atLeast judges a value that may not be under its limit, and is close up to warn times it.
func (f Finding) atLeast(warn float64) Finding {
	switch {
	case f.Value < f.Limit*(1-1e-9):
		f.Verdict = Fail
	case f.Value < f.Limit*warn*(1-1e-9):
		f.Verdict = Warn
	}
	return f
}

// beside holds a finding shown beside another to a warning.
func (f Finding) beside() Finding {
	f.Verdict = min(f.Verdict, Warn)
	return f
}

func from(title, where string, s cite.Standing) cite.Source {
	return cite.Source{Title: title, Where: where, Standing: s}
}

// practice is the source of a figure of the trade.
func practice(what string) cite.Source { return from(what, "", cite.CommonPractice) }
