package bench

import (
	"fmt"
	"math"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/sky"
)

// Sample is one reading of one module as it was taken; what was not read is nil.
type Sample struct {
	Line                              int       // in its file; 0: typed
	Time                              time.Time // zero: not known
	Module                            string
	Kind                              string // "", or a test's own: shade, heat
	Position                          string // place on the table or roof, where modules change places
	Open                              *quantity.Voltage
	Short                             *quantity.Current
	Volts                             *quantity.Voltage // working
	Amps                              *quantity.Current
	Watts                             *quantity.Power
	Light                             *quantity.Irradiance  // on the module's plane, from a meter
	Reference                         *quantity.Current     // short-circuit amps of the reference module beside it
	Back                              *quantity.Temperature // of the module's back
	Air                               *quantity.Temperature // in the shade
	Sky                               string                // as seen
	Cloud                             *quantity.Ratio       // the same as a share; nil: not said
	Facing                            *shape.Facing         // nil: the setting's
	InSun                             *time.Duration        // before the reading
	Over                              []string              // what the meter showed overload for
	Who, Instrument, Note, Photograph string
}

// Meters are the limits of error of the instruments: a share of the reading and a fixed part.
type Meters struct {
	Name                      string
	Volts, Amps, Watts, Light quantity.Ratio
	VoltsFixed                quantity.Voltage
	AmpsFixed                 quantity.Current
	WattsFixed                quantity.Power
	LightFixed                quantity.Irradiance
	Temperature               quantity.TempDiff
}

// MetersOf returns the limits of a class of instrument by words in its name: a multimeter, a clamp, an
// inline watt meter, a controller's display. Others are taken as a multimeter; known is false. Source:
// typical specifications, handbook E1, from memory.
func MetersOf(name string) (m Meters, known bool) {
	m = Meters{Name: "multimeter", Volts: 0.5 * quantity.Percent, VoltsFixed: 30 * quantity.Millivolt, Amps: 1.5 * quantity.Percent, AmpsFixed: 30 * quantity.Milliampere,
		Watts: 2 * quantity.Percent, WattsFixed: 0.2 * quantity.Watt, Light: 5 * quantity.Percent, LightFixed: 10 * quantity.WattPerSquareMetre, Temperature: 2 * quantity.OneKelvin}
	low := strings.ToLower(name)
	switch {
	case strings.Contains(low, "clamp"):
		m.Name, m.Amps, m.AmpsFixed = "clamp", 3*quantity.Percent, 100*quantity.Milliampere
	case strings.Contains(low, "display"), strings.Contains(low, "controller"):
		m.Name, m.Volts, m.Amps, m.Watts = "controller's display", 2*quantity.Percent, 5*quantity.Percent, 5*quantity.Percent
	case strings.Contains(low, "watt"), strings.Contains(low, "inline"):
		m.Name, m.Volts, m.Amps, m.AmpsFixed = "inline watt meter", 1*quantity.Percent, 2*quantity.Percent, 50*quantity.Milliampere
	case strings.Contains(low, "multimeter"), strings.Contains(low, "dmm"):
	default:
		return m, false
	}
	return m, true
}

// Reference is a module of known short-circuit amps read beside the one under test.
type Reference struct {
	Short  quantity.Current   // at standard conditions
	Slope  quantity.PerKelvin // of it
	Unsure quantity.Ratio     // limits of Short: 3 % by its label, 2 % calibrated
}

// Setting is where and how the readings were taken.
type Setting struct {
	Place      *build.Place // nil: not known
	Facing     shape.Facing
	Attachment build.Attachment
	Gap        quantity.Length
	Wind       quantity.Speed
	Haze       sky.Haze
	Albedo     quantity.Ratio
	Cloud      quantity.Ratio        // where a sample says nothing
	SkySaid    bool                  // that Cloud and Haze are as seen, not assumed
	Air        *quantity.Temperature // where a sample says nothing; nil: not known
	AirUnsure  quantity.TempDiff     // standard uncertainty of Air; 0: 3 K
	Meters     Meters
	Reference  *Reference // nil: none
}

// airUnsure is the standard uncertainty of the setting's air.
func (s *Setting) airUnsure() quantity.TempDiff {
	if s.AirUnsure > 0 {
		return s.AirUnsure
	}
	return 3 * quantity.OneKelvin
}

// Finding is what is wrong with a reading, or what it alone shows, in a sentence.
type Finding struct {
	Line    int // of the sample; 0: of all
	Module  string
	Kind    string // a word for programs
	Text    string
	Stops   bool   // no verdict may rest on this reading
	Settles string // what would settle it; may be empty
}

// judge is a sample under judgement.
type judge struct {
	s        *Sample
	set      *Setting
	kind     *build.ModuleType
	params   *cell.Params
	traits   Traits
	front    *sky.Front
	findings []Finding
	stopped  bool

	open, short, volts, amps, watts float64  // as used, signs mended; 0: none
	figures                         *figures // the expected ones at its place and minute; nil: not known
}

func (j *judge) say(kind string, stops bool, settles, format string, args ...any) {
	j.findings = append(j.findings, Finding{Line: j.s.Line, Module: j.s.Module, Kind: kind, Text: fmt.Sprintf(format, args...), Stops: stops, Settles: settles})
	j.stopped = j.stopped || stops
}

// air drops an air temperature that no place on Earth has.
func (j *judge) air() {
	if j.s.Air == nil {
		return
	}
	if c := j.s.Air.Celsius(); c < -60 || c > 60 {
		j.say("air temperature", false, "the air's temperature in the shade", "air of %.0f °C is nowhere: it is not used; sign or unit may be wrong", c)
		j.s.Air = nil
	}
}

// signs takes the readings' magnitudes and says where a sign was wrong.
func (j *judge) signs() {
	take := func(v float64, name, unit string) float64 {
		if v < 0 {
			j.say("reversed", false, "", "%s reads %.4g %s: the leads are the wrong way round; the size is used. Mark the plugs, and check the polarity before anything is connected", name, v, unit)
		}
		return math.Abs(v)
	}
	s := j.s
	if s.Open != nil {
		j.open = take(s.Open.Volts(), "Voc", "V")
	}
	if s.Short != nil {
		j.short = take(s.Short.Amperes(), "Isc", "A")
	}
	if s.Volts != nil {
		j.volts = take(s.Volts.Volts(), "the working voltage", "V")
	}
	if s.Amps != nil {
		j.amps = take(s.Amps.Amperes(), "the working current", "A")
	}
	if s.Watts != nil {
		j.watts = take(s.Watts.Watts(), "the power", "W")
	}
	for _, what := range j.s.Over {
		j.say("overload", false, "the next higher range", "%s reads OL: beyond the meter's range, or a lead is off; it is no reading", what)
	}
}

// product finds watts that are Voc times Isc, and watts that are not volts times amperes.
func (j *judge) product() {
	if j.open > 0 && j.short > 0 {
		p := j.open * j.short
		if j.watts > 0 && math.Abs(j.watts-p) < 0.02*p {
			j.say("isc times voc", false, "volts and amperes under load, at the controller or a watt meter",
				"%.4g W is Voc × Isc = %.4g × %.4g: a module never gives both at once, so this is no power; a sound one gives about three quarters of it, and no less proves nothing. It is not used", j.watts, j.open, j.short)
			j.watts = 0
		}
		if j.volts == j.open && j.amps == j.short {
			j.volts, j.amps = 0, 0
		}
	}
	if j.volts > 0 && j.amps > 0 {
		p := j.volts * j.amps
		if j.watts > 0 && math.Abs(j.watts-p) > 0.05*p {
			j.say("watts differ", true, "one instrument for volts, amperes and watts", "%.4g W stands beside %.4g V × %.4g A = %.4g W: one of the three is wrong", j.watts, j.volts, j.amps, p)
		}
		if j.watts == 0 {
			j.watts = p
		}
	}
}

// wrongModule finds readings that no module of the label gives in any light.
func (j *judge) wrongModule() {
	voc, isc, p := j.kind.Voc.Volts(), j.kind.Isc.Amperes(), j.kind.Pmax.Watts()
	series := ""
	if n := math.Round(j.open / voc); n >= 2 && math.Abs(j.open/voc-n) < 0.15*n {
		series = fmt.Sprintf("; %.0f of them in series would", n)
	}
	switch {
	case j.open > 1.2*voc:
		j.say("wrong module", true, "the label of this very module", "Voc %.4g V is %.0f %% of the label's %.4g V: no module of this label reads that%s", j.open, 100*j.open/voc, voc, series)
	case j.short > 1.4*isc:
		j.say("wrong module", true, "the label of this very module; a meter on its 10 A jack", "Isc %.4g A is %.0f %% of the label's %.4g A: no module of this label reads that", j.short, 100*j.short/isc, isc)
	case j.watts > 1.35*p:
		j.say("wrong module", true, "the label of this very module", "%.4g W is %.0f %% of the label's %.4g W: no module of this label gives that", j.watts, 100*j.watts/p, p)
	}
}

// scene returns the expectation's scene at the sample's minute; ok is false without place or time.
func (j *judge) scene() (Scene, bool) {
	if j.set.Place == nil || j.s.Time.IsZero() {
		return Scene{}, false
	}
	sc := Scene{Module: j.kind, Attachment: j.set.Attachment, Gap: j.set.Gap, Facing: j.set.Facing, Place: *j.set.Place, Time: j.s.Time,
		AirUnsure: 5 * quantity.OneKelvin, Wind: j.set.Wind, Haze: j.set.Haze, Cloud: j.set.Cloud, Albedo: j.set.Albedo, Air: quantity.Celsius(20), front: j.front}
	if j.s.Facing != nil {
		sc.Facing = *j.s.Facing
	}
	if j.s.Cloud != nil {
		sc.Cloud = *j.s.Cloud
	}
	switch {
	case j.s.Air != nil:
		sc.Air, sc.AirUnsure = *j.s.Air, 1*quantity.OneKelvin
	case j.set.Air != nil:
		sc.Air, sc.AirUnsure = *j.set.Air, j.set.airUnsure()
	}
	return sc, true
}

// sun works out the expectation, and finds night.
func (j *judge) sun() {
	sc, ok := j.scene()
	if j.s.Time.IsZero() {
		j.say("no time", false, "the time of the reading, to the minute", "no time: where the sun stood is not known, so light and angle can only come from a meter")
	}
	if !ok {
		return
	}
	f, err := sc.evaluate(*j.params, trial{light: 1, windFactor: 1, label: 1, voltage: 1})
	if err != nil {
		zone := j.set.Place.Zone
		if zone == nil {
			zone = time.UTC
		}
		j.say("night", true, "the clock, its zone and the place checked", "at %s the sun is below the horizon here: no reading of that minute says anything about a module. Clock, zone or place may be wrong", j.s.Time.In(zone).Format("2 Jan 2006 15:04 MST"))
		return
	}
	j.figures = &f
}
