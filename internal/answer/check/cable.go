package check

import (
	"errors"
	"fmt"
	"strings"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/wiring"
)

// line is a run with the currents it is judged by.
type line struct {
	run     *build.Run
	volts   float64 // it works at
	amps    float64 // it works at
	design  float64 // it is chosen for
	why     string  // the rule of design
	watts   float64 // label watts behind it
	codes   cite.Source
	battery bool
}

// linesOf returns a charger's runs: the cables of its strings that have a length, its input and its
// battery cable. The inside of an integrated unit is its maker's matter.
func linesOf(b *build.Build, c *build.Charger) []line {
	var out []line
	nec := from("NEC 2023 (NFPA 70)", "690.8(A) and (B)", cite.LookedUp)
	volts, amps, short := 0.0, 0.0, 0.0
	for _, si := range c.Strings {
		v, i, isc := pointOf(b, &b.Strings[si])
		volts, amps, short = max(volts, v), amps+i, short+isc
	}
	for _, si := range c.Strings {
		s := &b.Strings[si]
		if s.Cable.Length <= 0 {
			continue
		}
		v, i, isc := pointOf(b, s)
		l := line{run: &s.Cable, volts: v, amps: i, design: 1.25 * 1.25 * isc, why: "1.56 times the short-circuit current", codes: nec, watts: v * i}
		if back := 1.25 * (short - isc); s.Cable.Fuse == nil && back > l.design {
			l.design, l.why = back, "without a fuse, 1.25 times what the other strings drive into a fault"
		}
		out = append(out, l)
	}
	out = append(out, line{run: &c.InputCable, volts: volts, amps: amps, design: 1.25 * 1.25 * short, why: "1.56 times the strings' short-circuit current", codes: nec, watts: arrayWatts(b, c)})
	if !enclosed(c) {
		v := b.Battery.Voltage.Volts()
		out = append(out, line{run: &c.BatteryCable, volts: v, amps: min(c.OutputCurrent.Amperes(), arrayWatts(b, c)/v), design: 1.25 * c.OutputCurrent.Amperes(),
			why: "1.25 times the charger's output, for hours of it", codes: from("NEC 2023 (NFPA 70)", "210.20(A), 215.2", cite.LookedUp), watts: arrayWatts(b, c), battery: true})
	}
	return out
}

// enclosed reports whether a charger's battery cable is inside an integrated unit.
func enclosed(c *build.Charger) bool {
	return c.Integrated && c.BatteryCable.Name == c.Name+" inside"
}

// findings returns drop, current limit and loss of a run.
func (l line) findings(b *build.Build) []Finding {
	out := []Finding{dropOf(*l.run, l.amps, l.volts)}
	if l.run.Area <= 0 {
		return out
	}
	out = append(out, l.ampacity()...)
	return append(out, l.loss(b))
}

// dropOf returns the drop of a run, against the practice of 3 and 10 %.
func dropOf(r build.Run, amps, volts float64) Finding {
	f := Finding{ID: "cable-drop", Subject: "cable " + r.Name, Limit: 3, Unit: "%",
		Reason: "drop out and back at the label current; 3 % is practice for charging, 10 % the most for the rest" + inForce,
		Source: from("ISO 10133 and ABYC E-11", "drop of 3 % and 10 %", cite.LookedUp)}
	if r.Length <= 0 || r.Area <= 0 || volts <= 0 {
		return f.missing("length or size", "measure the run along its path, one way")
	}
	run := wiring.Run{Length: r.Length, Area: r.Area, Temperature: r.Temperature}
	f.Value = 100 * wiring.Drop(run, quantity.Current(amps)).Volts() / volts
	f.Reason = fmt.Sprintf("%s, %.3g m one way at %.0f °C: ", sizeText(r.Area), r.Length.Metres(), r.Temperature.Celsius()) + f.Reason
	switch {
	case f.Value > 10:
		f.Limit, f.Verdict = 10, Fail
	case f.Value > 3:
		f.Verdict = Warn
	}
	return f
}

// sizeText names a size in both systems: "4 mm², between AWG 12 and AWG 10".
func sizeText(a quantity.Area) string {
	below, above := "", ""
	mm2 := a.SquareMillimetres()
	for _, s := range wiring.Sizes() {
		if !s.Gauge {
			continue
		}
		switch k := s.Area.SquareMillimetres() / mm2; {
		case k > 0.997 && k < 1.003:
			return fmt.Sprintf("%s, %.3g mm²", s.Name, mm2)
		case k < 1:
			below = s.Name
		case above == "":
			above = s.Name
		}
	}
	switch {
	case below == "":
		return fmt.Sprintf("%.3g mm², under %s", mm2, above)
	case above == "":
		return fmt.Sprintf("%.3g mm², over %s", mm2, below)
	}
	return fmt.Sprintf("%.3g mm², between %s and %s", mm2, below, above)
}

// nextSizes returns the next size up in each system.
func nextSizes(a quantity.Area) []wiring.Size {
	var out []wiring.Size
	for _, gauge := range []bool{false, true} {
		for _, s := range wiring.Sizes() {
			if s.Gauge == gauge && s.Area.SquareMillimetres() > a.SquareMillimetres()*1.003 {
				out = append(out, s)
				break
			}
		}
	}
	return out
}

// Classes of insulation between which a cable lies whose print was not read, °C.
const poorest, best = 60, 125

// limitOf returns the current a run may carry where it lies by a rule. A run in air as hot as its
// insulation allows may carry none; nor may one thinner than the rule's table.
func limitOf(r *build.Run, rating quantity.Temperature, rule wiring.Rule) (float64, cite.Source) {
	i, source, err := wiring.Ampacity(wiring.Lay{Area: r.Area, Rating: rating, Ambient: r.Temperature, Bundle: 2 + r.Bundled, Rule: rule})
	if errors.Is(err, wiring.ErrRange) {
		return 0, source
	}
	return i.Amperes(), source
}

// ratedLimit returns the limit by the rule that is for the run's insulation, and the least and most it may
// be where the insulation is not known; the three are one where it is.
func ratedLimit(r *build.Run) (low, high float64, source cite.Source) {
	if r.Insulation == nil {
		low, _ = limitOf(r, quantity.Celsius(poorest), wiring.BoatLaw)
		high, source = limitOf(r, quantity.Celsius(best), wiring.BoatLaw)
		return low, high, source
	}
	rule := wiring.BoatLaw
	if solar(r) {
		rule = wiring.SolarCable
	}
	low, source = limitOf(r, *r.Insulation, rule)
	return low, low, source
}

// solar reports whether a run is solar cable of a size its rule has.
func solar(r *build.Run) bool {
	return r.Insulation != nil && r.Insulation.Celsius() >= 119.5 && r.Insulation.Celsius() <= 120.5 && r.Area >= 2.49*quantity.SquareMillimetre
}

// printOf says how to find a cable's class.
const printOf = "read the print on the cable: 60, 75, 90, 105 or 125 °C; solar cable by EN 50618 is 120 °C"

// ampacity judges the current a run is chosen for against what it may carry where it lies, by the rule
// for its insulation, and by the small-craft table beside.
func (l line) ampacity() []Finding {
	r := l.run
	low, high, source := ratedLimit(r)
	f := Finding{ID: "ampacity", Subject: "cable " + r.Name, Value: l.design, Limit: low, Unit: "A", Source: source}
	lies := fmt.Sprintf("%s in air of %.0f °C, %d conductors together", sizeText(r.Area), r.Temperature.Celsius(), 2+r.Bundled)
	switch {
	case l.design > high:
		f.Limit, f.Verdict = high, Fail
	case l.design > low:
		return []Finding{f.missing("the insulation's class (insulation)", fmt.Sprintf("%s. With %d °C it may carry %.1f A, with %d °C %.1f A", printOf, poorest, low, best, high))}
	}
	class := fmt.Sprintf("even with insulation for %d °C", best)
	switch {
	case r.Insulation != nil:
		class = fmt.Sprintf("insulation for %.0f °C", r.Insulation.Celsius())
	case f.Verdict == Pass:
		class = fmt.Sprintf("even with insulation for %d °C only", poorest)
	}
	f.Reason = fmt.Sprintf("%s (%s) against what the conductor may carry: %s, %s", l.why, l.codes, lies, class) + inForce
	out := []Finding{f}
	if r.Insulation != nil {
		other, src := limitOf(r, *r.Insulation, wiring.SmallCraft)
		if other > 0 {
			g := Finding{ID: "ampacity-other", Subject: f.Subject, Value: l.design, Limit: other, Unit: "A", Source: src,
				Reason: fmt.Sprintf("the same by another rule, shown beside: %.1f A there, %.1f A here", low, other) + inForce}
			out = append(out, g.atMost(1).beside())
		}
	}
	return out
}

// brightness is the mean of sunlight over 1000 W/m², weighted by energy, on a level roof through a
// year: what turns a year's sun into hours of full-current loss. Our own estimate, 0.5 to 0.7.
const brightness = 0.6

// yearOfSun returns a year's sunlight on the level at home or where the trip begins, kWh/m².
func yearOfSun(b *build.Build) (hours float64, where string, ok bool) {
	p := b.Home
	if p == nil && len(b.Trip.Legs) > 0 {
		p = &b.Trip.Legs[0].Place
	}
	if p == nil || p.Zone == nil {
		return 0, "", false
	}
	at := climate.At(p.Latitude, p.Longitude, p.Elevation)
	for m := range at.Months {
		hours += at.MonthlyGHI(m).KilowattHoursPerSquareMetre() * 365.25 / 12
	}
	return hours, p.Name, true
}

// loss returns a year's loss in a run, and what the next size up would save.
func (l line) loss(b *build.Build) Finding {
	r := l.run
	f := Finding{ID: "cable-loss", Subject: "cable " + r.Name, Unit: "Wh/yr", Source: from("I²R over a year of the built-in climate", "", cite.Judgement)}
	hours, where, ok := yearOfSun(b)
	if !ok {
		return f.missing("a place", "give a home or a trip")
	}
	if r.Length <= 0 {
		return f.missing("its length", "measure the run along its path, one way")
	}
	year := func(a quantity.Area) float64 {
		run := wiring.Run{Length: r.Length, Area: a, Temperature: r.Temperature}
		return wiring.Loss(run, quantity.Current(l.amps)).Watts() * hours * brightness
	}
	f.Value, f.Limit = year(r.Area), 0.03*l.watts*hours
	var next []string
	for _, s := range nextSizes(r.Area) {
		next = append(next, fmt.Sprintf("%s would save %.0f Wh a year", s.Name, f.Value-year(s.Area)))
	}
	if len(next) == 0 {
		next = []string{"it is the thickest there is"}
	}
	f.Reason = fmt.Sprintf("lost in a year in the sun of %s, %s; %s; the limit is 3 %% of what the modules give by label", where, sizeText(r.Area), strings.Join(next, ", "))
	return f.atMost(1).beside()
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
