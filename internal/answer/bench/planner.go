package bench

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sun"
)

// Tools is what is at hand for a test.
type Tools struct {
	Modules     int  // that can be laid side by side
	LightMeter  bool // in the plane
	Thermometer bool // for the back
	Load        bool // a controller with room in its battery, or a resistor: watts can be read
	Reference   bool // a module of known amps
}

// Test is a test proposed, with its time.
type Test struct {
	Name     string
	Begin    time.Time
	End      time.Time
	Expanded quantity.Ratio // of its result, 95 %, expected
	Can      string         // what it can show
	Why      string         // this time
	Steps    []string
}

// Outlook is the sun over the next two hours.
type Outlook struct {
	Time      time.Time
	Elevation quantity.Angle
	Incidence quantity.Angle
	Plane     quantity.Irradiance // under a clear sky
	Drift     quantity.Ratio      // of the beam in a minute
}

// TestPlan is which tests to run in the next two hours.
type TestPlan struct {
	Tests   []Test // best first
	Refused []string
	Outlook []Outlook
	Tools   Tools
}

// horizon is how far ahead a plan looks, and its step.
const (
	horizon  = 2 * time.Hour
	planStep = 10 * time.Minute
)

// Plan returns which tests are worth running in the two hours from now, with times and the uncertainty to
// expect, from the course of the sun, its drift, and the tools at hand; and which are not, and why.
// ErrNight where the sun stays down. The setting's place must be known: it panics without.
func Plan(kind *build.ModuleType, set Setting, now time.Time, tools Tools) (TestPlan, error) {
	if set.Place == nil {
		panic("bench: a plan without a place")
	}
	if set.Meters == (Meters{}) {
		set.Meters, _ = MetersOf("")
	}
	p := TestPlan{Tools: tools}
	n, err := NewNormaliser(kind, set)
	if err != nil {
		return p, err
	}
	for at := now; !at.After(now.Add(horizon)); at = at.Add(planStep) {
		j := &judge{s: &Sample{Time: at}, set: &set, kind: kind, params: &n.params, traits: n.traits, front: &n.front}
		sc, _ := j.scene()
		f, err := sc.evaluate(n.params, trial{light: 1, windFactor: 1, label: 1, voltage: 1})
		if errors.Is(err, ErrNight) {
			continue
		}
		if err != nil {
			return p, err
		}
		p.Outlook = append(p.Outlook, Outlook{Time: at, Elevation: f.seen.Elevation(), Plane: quantity.Irradiance(f.plane), Drift: Drift(*set.Place, at, set.Facing),
			Incidence: quantity.Angle(math.Acos(math.Max(-1, math.Min(1, f.seen.CosIncidence(set.Facing).Float()))))})
	}
	if len(p.Outlook) == 0 {
		return p, ErrNight
	}
	p.pair(set, kind)
	p.absolute(kind, set)
	p.volts(kind, set)
	p.dim()
	p.heat(kind)
	sort.SliceStable(p.Tests, func(i, k int) bool { return p.Tests[i].Expanded < p.Tests[k].Expanded })
	return p, nil
}

// steadiest returns the outlook of least drift with at least so much light, as far in the window as a test
// of a length allows.
func (p *TestPlan) steadiest(least float64, length time.Duration) (Outlook, bool) {
	var best Outlook
	found := false
	last := p.Outlook[len(p.Outlook)-1].Time
	for _, o := range p.Outlook {
		if o.Plane.WattsPerSquareMetre() < least || o.Time.Add(length).After(last.Add(planStep)) {
			continue
		}
		if !found || math.Abs(o.Drift.Float()) < math.Abs(best.Drift.Float())-1e-5 {
			best, found = o, true
		}
	}
	return best, found
}

func (p *TestPlan) refuse(format string, args ...any) {
	p.Refused = append(p.Refused, fmt.Sprintf(format, args...))
}

// pair proposes the comparison of two modules in turns.
func (p *TestPlan) pair(set Setting, kind *build.ModuleType) {
	if p.Tools.Modules < 2 {
		p.refuse("no comparison: it wants two modules side by side; a sound twin is worth more than any light meter")
		return
	}
	const length = 25 * time.Minute
	o, ok := p.steadiest(400, length)
	if !ok {
		p.refuse("no comparison in turns: less than 400 W/m² through the next two hours")
		return
	}
	drift := math.Abs(o.Drift.Float())
	name, size, fixed := "Isc", kind.Isc.Amperes()*o.Plane.WattsPerSquareMetre()/1000, set.Meters.AmpsFixed.Amperes()/3
	if p.Tools.Load {
		name, size, fixed = "watts", kind.Pmax.Watts()*o.Plane.WattsPerSquareMetre()/1000, set.Meters.WattsFixed.Watts()
	}
	scatter := 0.005 + 2*drift*drift*100
	parts := []Part{{Name: "scatter of the pairs", Standard: quantity.Ratio(scatter / math.Sqrt(6)), Freedom: 5}, {Name: "last digit of the meter", Standard: Bound(quantity.Ratio(math.Sqrt2 * fixed / size / math.Sqrt(6)))}}
	if p.Tools.Thermometer {
		parts = append(parts, Part{Name: "temperature of the backs", Standard: quantity.Ratio(0.7 * math.Abs(kind.PmaxCoefficient.PerKelvin()))})
	} else {
		parts = append(parts, Part{Name: "temperatures not read", Standard: Bound(quantity.Ratio(4 * math.Abs(kind.PmaxCoefficient.PerKelvin())))})
	}
	b := Combine(parts, level95)
	t := Test{Name: "A against B in turns, places changed half way", Begin: o.Time, End: o.Time.Add(length), Expanded: b.Expanded,
		Can: fmt.Sprintf("which of the two gives more, and a difference of %.1f %% or more", b.Expanded.Percent()),
		Why: fmt.Sprintf("the light drifts by %.2f %% a minute then, the least of these two hours; a reading a minute cancels it", 100*drift)}
	zone := set.Place.Zone
	if zone == nil {
		zone = time.UTC
	}
	at := func(m int) string { return o.Time.Add(time.Duration(m) * time.Minute).In(zone).Format("15:04") }
	t.Steps = []string{
		"lay both on one board, same tilt, clean, ten minutes in the same sun; same meter, same leads",
		fmt.Sprintf("%s A, %s B, %s A, %s B, %s A, %s B, %s A: %s and the back's temperature each", at(0), at(1), at(2), at(3), at(4), at(5), at(6), name),
		fmt.Sprintf("change the modules' places, five minutes' rest, then again from %s: A, B, A, B, A, B, A", at(13)),
		"leave out any reading while the light changes by more than 2 % in ten seconds",
	}
	p.Tests = append(p.Tests, t)
}

// absolute proposes the power against the label.
func (p *TestPlan) absolute(kind *build.ModuleType, set Setting) {
	const length = 15 * time.Minute
	o, ok := p.steadiest(700, length)
	switch {
	case !ok:
		p.refuse("no power against the label: it wants 700 W/m² or more in the plane")
		return
	case o.Incidence > 50*quantity.Degree:
		p.refuse("no power against the label: the sun is %.0f° off straight on; tilt the module to it within 40°", o.Incidence.Degrees())
		return
	case !p.Tools.Load:
		p.refuse("no power against the label: nothing to load the module with; a controller whose battery has room, or a resistor")
		return
	}
	parts := []Part{{Name: "watt meter", Standard: Bound(set.Meters.Watts)}, {Name: "tilt, 2°", Standard: Bound(quantity.Ratio(2 * math.Pi / 180 * math.Tan(o.Incidence.Radians())))}, {Name: "spectrum", Standard: 1 * quantity.Percent}}
	how := "the clear sky's light: nothing but an unclouded sky serves"
	switch {
	case p.Tools.Reference:
		how = "the reference module's amps"
		parts = append(parts, Part{Name: "reference module's own amps", Standard: Bound(3 * quantity.Percent)})
	case p.Tools.LightMeter:
		how = "the light meter in the plane"
		parts = append(parts, Part{Name: "light meter", Standard: Bound(set.Meters.Light)})
	default:
		parts = append(parts, Part{Name: "light from the sky model", Standard: 4 * quantity.Percent})
	}
	warm := 5.0
	if p.Tools.Thermometer {
		warm = 1.5
	}
	parts = append(parts, Part{Name: "temperature of the cells", Standard: quantity.Ratio(warm * math.Abs(kind.PmaxCoefficient.PerKelvin()))})
	b := Combine(parts, level95)
	limit := 1 + kind.ToleranceLow.Float()
	p.Tests = append(p.Tests, Test{Name: "power against the label", Begin: o.Time, End: o.Time.Add(length), Expanded: b.Expanded,
		Can:   fmt.Sprintf("fail a module below %.0f %% of its label, pass one above %.0f %%; between it cannot tell", 100*limit-b.Expanded.Percent(), 100*limit+b.Expanded.Percent()),
		Why:   fmt.Sprintf("%.0f W/m² in the plane, the sun %.0f° off straight on, by %s", o.Plane.WattsPerSquareMetre(), o.Incidence.Degrees(), how),
		Steps: []string{"five readings of volts, amperes and the back's temperature, a minute apart, battery not full", "note sky, time to the minute, tilt and facing"}})
}

// volts proposes the open volts with the back's temperature.
func (p *TestPlan) volts(kind *build.ModuleType, set Setting) {
	o, ok := p.steadiest(200, planStep)
	if !ok {
		p.refuse("no open volts: less than 200 W/m²")
		return
	}
	if !p.Tools.Thermometer {
		p.refuse("no open volts against the label: without the back's temperature 10 K are 3 %%")
		return
	}
	v := kind.Voc.Volts() * 0.9
	b := Combine([]Part{{Name: "voltmeter", Standard: Bound(quantity.Ratio(set.Meters.Volts.Float() + set.Meters.VoltsFixed.Volts()/v))},
		{Name: "temperature of the cells", Standard: quantity.Ratio(1.5 * math.Abs(kind.VocCoefficient.PerKelvin()))}, {Name: "slope of Voc", Standard: 0.5 * quantity.Percent}}, level95)
	p.Tests = append(p.Tests, Test{Name: "open volts with the back's temperature", Begin: o.Time, End: o.Time.Add(planStep), Expanded: b.Expanded,
		Can:   "find a lost section, a shorted diode or a wrong module; it says nothing about the amps",
		Why:   "volts hardly follow the light, so any sun from 200 W/m² serves",
		Steps: []string{"leads on, nothing drawn, ten seconds", "the back's temperature behind a cell, shaded, within the same minute"}})
}

// dim proposes the comparison in weak light, where the sun gets there.
func (p *TestPlan) dim() {
	if p.Tools.Modules < 2 || !p.Tools.Load {
		return
	}
	for _, o := range p.Outlook {
		if g := o.Plane.WattsPerSquareMetre(); g >= 80 && g <= 300 {
			p.Tests = append(p.Tests, Test{Name: "A against B in weak light", Begin: o.Time, End: o.Time.Add(20 * time.Minute), Expanded: 3 * quantity.Percent,
				Can:   "which of the two wakes earlier and holds longer; thin film and crystal differ here",
				Why:   fmt.Sprintf("a clear sky gives %.0f W/m² then, moving by %.1f %% a minute: read both at once or every half minute", g, 100*math.Abs(o.Drift.Float())),
				Steps: []string{"as A against B, half a minute apart, ten pairs"}})
			return
		}
	}
}

// heat proposes the test of hot against cool.
func (p *TestPlan) heat(kind *build.ModuleType) {
	const length = 20 * time.Minute
	o, ok := p.steadiest(600, length)
	if !ok || !p.Tools.Thermometer || !p.Tools.Load {
		return
	}
	p.Tests = append(p.Tests, Test{Name: "what heat costs", Begin: o.Time, End: o.Time.Add(length), Expanded: 5 * quantity.Percent,
		Can:   fmt.Sprintf("the slope with temperature, label %.2f %%/K, from 20 K or more between cool and hot", kind.PmaxCoefficient.PercentPerKelvin()),
		Why:   "the light moves little while the module warms",
		Steps: []string{"cover the module or keep it in the shade until its back is at the air's temperature", "uncover, read volts, amperes and back every minute for twenty minutes, kind of test: heat", "light meter or a twin beside it the whole time"}})
}

// Highest returns the sun's highest point of the day that holds t at a place, for a plan that finds the
// sun too low.
func Highest(p build.Place, t time.Time) time.Time {
	zone := p.Zone
	if zone == nil {
		zone = time.UTC
	}
	return sun.DayOf(t.In(zone), sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}).Transit
}
