// Package check holds a build against rules: each finding has its value, its limit, the reason and
// the source. A bad design is a finding, never an error, and no verdict goes further than "within
// the stated rule".
//
// Build holds the rules the energy side needs: voltage cold and hot, current, cable drop, charge
// current; Trip the nights of the trip; Mounting how the modules are held.
package check

import (
	"fmt"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/wiring"
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

// Build returns the findings on b. The order is that of the build.
func Build(b *build.Build) ([]Finding, error) {
	var out []Finding
	for i := range b.Chargers {
		f, err := charger(b, &b.Chargers[i])
		if err != nil {
			return nil, err
		}
		out = append(out, f...)
	}
	return append(out, battery(b)...), nil
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
	return e
}

// charger returns the findings on a charger and its strings.
func charger(b *build.Build, c *build.Charger) ([]Finding, error) {
	var out []Finding
	e := ExtremesOf(b)
	subject := "charger " + c.Name
	short := 0.0
	for _, si := range c.Strings {
		s := &b.Strings[si]
		cold, hot, start, isc, err := stringExtremes(b, s, e)
		if err != nil {
			return nil, err
		}
		short += isc
		edge := coldVolts(b, s, e.Low.Add(-e.LowBand))
		out = append(out, coldVoltage(c, s, cold, edge, e), hotVoltage(b, c, s, hot, start, e))
	}
	f := Finding{ID: "input-current", Subject: subject, Value: 1.25 * short, Limit: c.ShortCircuitMax.Amperes(), Unit: "A",
		Reason: "1.25 times the strings' short-circuit current against what the input stands",
		Source: cite.Source{Title: "NEC 690.8(A)"}}
	if f.Value > f.Limit {
		f.Verdict = Fail
	}
	out = append(out, f, runDrop(c.InputCable, c, b), runDrop(c.BatteryCable, nil, b))
	return out, nil
}

// stringExtremes returns the coldest open volts, the hottest working and open volts, and the amps short.
func stringExtremes(b *build.Build, s *build.String, e Extremes) (cold, hot, start, isc float64, err error) {
	cold = coldVolts(b, s, e.Low)
	for _, m := range s.Modules {
		t := &b.Types[b.Modules[m].Type]
		isc = max(isc, t.Isc.Amperes())
		params, err := forecast.Fit(t)
		if err != nil {
			return 0, 0, 0, 0, err
		}
		plate := forecast.PlateOf(t, b.Modules[m].Attachment, b.Modules[m].Gap)
		warm := plate.Steady(1000*quantity.WattPerSquareMetre, e.High, 0)
		st := params.At(1000*quantity.WattPerSquareMetre, warm)
		hot += st.Best().Voltage.Volts()
		dim := params.At(200*quantity.WattPerSquareMetre, e.High.Add(15*quantity.OneKelvin))
		start += dim.Open().Volts()
	}
	return cold, hot, start, isc, nil
}

// coldVolts returns a string's open volts with cells at the given temperature, by the labels' coefficients.
func coldVolts(b *build.Build, s *build.String, t quantity.Temperature) float64 {
	volts := 0.0
	for _, m := range s.Modules {
		k := &b.Types[b.Modules[m].Type]
		volts += k.Voc.Volts() * (1 + k.VocCoefficient.PerKelvin()*(t.Celsius()-25))
	}
	return volts
}

// coldVoltage judges the open volts at the extreme low, and warns where the cold edge of its band is over
// the limit.
func coldVoltage(c *build.Charger, s *build.String, cold, edge float64, e Extremes) Finding {
	f := Finding{ID: "cold-voltage", Subject: "string " + s.Name + " on " + c.Name, Value: cold, Limit: c.InputMax.Volts(), Unit: "V",
		Reason: fmt.Sprintf("open volts at %.0f °C, the extreme low of %s, in cold dawn sun; %.1f V at the cold edge of its band, %.0f °C; over the limit the input dies", e.Low.Celsius(), e.LowAt, edge, e.Low.Add(-e.LowBand).Celsius()),
		Source: cite.Source{Title: "NEC 690.7(A)", Where: "module coefficient method"}}
	switch {
	case cold > f.Limit:
		f.Verdict = Fail
	case edge > f.Limit:
		f.Verdict = Warn
	}
	return f
}

func hotVoltage(b *build.Build, c *build.Charger, s *build.String, hot, start float64, e Extremes) Finding {
	full := charge.ChargingVoltage(charge.Chemistry(b.Battery.Chemistry), b.Battery.Voltage).Volts()
	need := max(full+c.RunMargin.Volts(), c.InputMin.Volts())
	f := Finding{ID: "hot-voltage", Subject: "string " + s.Name + " on " + c.Name, Value: hot, Limit: need, Unit: "V",
		Reason: fmt.Sprintf("working volts in full sun, no wind, air %.0f °C (%s); the controller needs battery %.1f V and its margin", e.High.Celsius(), e.HighAt, full),
		Source: cite.Source{Title: "controller input rule", Standing: cite.CommonPractice}}
	switch {
	case hot < need:
		f.Verdict = Fail
	case start < full+c.StartMargin.Volts():
		f.Verdict = Warn
		f.Reason += fmt.Sprintf("; to start at 200 W/m² it needs %.1f V open and has %.1f V", full+c.StartMargin.Volts(), start)
	}
	return f
}

// runDrop returns the drop of a run at its highest working current: of the array when c is given, of
// the charger's output otherwise.
func runDrop(r build.Run, c *build.Charger, b *build.Build) Finding {
	amps, volts := 0.0, b.Battery.Voltage.Volts()
	if c != nil {
		volts = 0
		for _, si := range c.Strings {
			v, i := 0.0, 0.0
			for _, m := range b.Strings[si].Modules {
				t := &b.Types[b.Modules[m].Type]
				v += t.Vmp.Volts()
				i = max(i, t.Imp.Amperes())
			}
			volts = max(volts, v)
			amps += i
		}
	} else {
		for i := range b.Chargers {
			if b.Chargers[i].BatteryCable.Name == r.Name {
				amps = min(b.Chargers[i].OutputCurrent.Amperes(), arrayWatts(b, &b.Chargers[i])/volts)
			}
		}
	}
	f := Finding{ID: "cable-drop", Subject: "cable " + r.Name, Limit: 3, Unit: "%",
		Reason: "drop out and back at the array's label current; 3 % is practice for charging, 10 % the most for the rest",
		Source: cite.Source{Title: "ISO 10133 and ABYC E-11 practice"}}
	if r.Length <= 0 || r.Area <= 0 || volts <= 0 {
		f.Verdict, f.Reason = Unknown, "length or size is missing: measure the run along its path, one way"
		return f
	}
	run := wiring.Run{Length: r.Length, Area: r.Area, Temperature: r.Temperature}
	f.Value = 100 * wiring.Drop(run, quantity.Current(amps)).Volts() / volts
	switch {
	case f.Value > 10:
		f.Verdict = Fail
	case f.Value > 3:
		f.Verdict = Warn
	}
	return f
}

func arrayWatts(b *build.Build, c *build.Charger) float64 {
	w := 0.0
	for _, si := range c.Strings {
		for _, m := range b.Strings[si].Modules {
			w += b.Types[b.Modules[m].Type].Pmax.Watts()
		}
	}
	return w
}

// battery returns the finding on charge current.
func battery(b *build.Build) []Finding {
	amps := 0.0
	for i := range b.Chargers {
		amps += min(b.Chargers[i].OutputCurrent.Amperes(), arrayWatts(b, &b.Chargers[i])/b.Battery.Voltage.Volts())
	}
	f := Finding{ID: "charge-current", Subject: "battery " + b.Battery.Name, Value: amps, Limit: b.Battery.MaxChargeCurrent.Amperes(), Unit: "A",
		Reason: "all chargers together against the battery's charge limit",
		Source: cite.Source{Title: "battery label", Standing: cite.CommonPractice}}
	if f.Value > f.Limit {
		f.Verdict = Fail
	}
	return []Finding{f}
}
