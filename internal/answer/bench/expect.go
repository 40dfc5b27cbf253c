package bench

import (
	"errors"
	"math"
	"sort"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/heat"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// ErrNight says that the sun is down: nothing can be read then.
var ErrNight = errors.New("the sun is down")

// Scene is where and how a module lies, and the weather over it.
type Scene struct {
	Module     *build.ModuleType
	Attachment build.Attachment
	Gap        quantity.Length
	Facing     shape.Facing
	Place      build.Place
	Time       time.Time
	Air        quantity.Temperature
	AirUnsure  quantity.TempDiff    // standard uncertainty of Air
	Wind       quantity.Speed       // at 10 m
	Haze       sky.Haze             // of the clear sky
	Cloud      quantity.Ratio       // share of the sky covered
	Measured   *quantity.Irradiance // light on the level from a meter; nil: from Haze and Cloud
	Albedo     quantity.Ratio
	front      *sky.Front // the module's, made once; nil: made each time
}

// Value is an expected reading with the band that 95 of 100 sound modules read in.
type Value struct{ Expected, Low, High float64 }

// Source of a band: its standard uncertainty of the power, relative.
type Contribution struct {
	Name  string
	Share quantity.Ratio // of the variance of the power
}

// Reading is what the module should read.
type Reading struct {
	Open     Value // V
	Short    Value // A
	Power    Value // W
	Module   Value // °C
	Plane    Value // W/m²
	Working  cell.Point
	Light    sky.Light
	Fraction Value          // of the label's power
	Why      []Contribution // largest first
}

// trial is one evaluation of the scene with some inputs moved.
type trial struct {
	light, air, windFactor, label, voltage float64
	heat                                   float64 // K added to the module
}

// figures are what a trial gives.
type figures struct {
	open, short, power, module, plane float64
	useful                            float64 // light behind the front, W/m²
	seen                              sun.Position
	working                           cell.Point
	light                             sky.Light
}

// Expect returns what the scene's module should read.
//
// The bands combine standard uncertainties by the law of propagation (JCGM 100:2008, 5.1.2), one input
// moved at a time, and widen by 2: light (clear sky 4 %, cloud as seen more, a meter 2.5 %), air as the
// scene says, wind by a factor of 1.6, label 1.5 %, the thermal model 4 K at full light, the model of
// the volts 1 %. ErrNight is returned when the sun is below the horizon.
func Expect(s Scene) (Reading, error) {
	params, err := forecast.Fit(s.Module)
	if err != nil {
		return Reading{}, err
	}
	base, err := s.evaluate(params, trial{light: 1, windFactor: 1, label: 1, voltage: 1})
	if err != nil {
		return Reading{}, err
	}
	inputs := []struct {
		name string
		t    trial
	}{
		{"light", trial{light: 1 + s.lightUnsure(), windFactor: 1, label: 1, voltage: 1}},
		{"air temperature", trial{light: 1, air: s.AirUnsure.Kelvins(), windFactor: 1, label: 1, voltage: 1}},
		{"wind", trial{light: 1, windFactor: 1.6, label: 1, voltage: 1}},
		{"label tolerance", trial{light: 1, windFactor: 1, label: 1.015, voltage: 1}},
		{"thermal model", trial{light: 1, windFactor: 1, label: 1, voltage: 1, heat: 4 * base.plane / 1000}},
		{"model of the volts", trial{light: 1, windFactor: 1, label: 1, voltage: 1.01}},
	}
	var open, short, power, module, plane float64
	r := Reading{Working: base.working, Light: base.light}
	for _, in := range inputs {
		f, err := s.evaluate(params, in.t)
		if err != nil {
			return Reading{}, err
		}
		open += sq(f.open - base.open)
		short += sq(f.short - base.short)
		power += sq(f.power - base.power)
		module += sq(f.module - base.module)
		plane += sq(f.plane - base.plane)
		r.Why = append(r.Why, Contribution{in.name, quantity.Ratio(sq(f.power - base.power))})
	}
	for i := range r.Why {
		if power > 0 {
			r.Why[i].Share = quantity.Ratio(r.Why[i].Share.Float() / power)
		}
	}
	sort.SliceStable(r.Why, func(i, j int) bool { return r.Why[i].Share > r.Why[j].Share })
	r.Open, r.Short, r.Power = band(base.open, open), band(base.short, short), band(base.power, power)
	r.Module, r.Plane = band(base.module, module), band(base.plane, plane)
	r.Module.Low = base.module - 2*math.Sqrt(module)
	label := s.Module.Pmax.Watts()
	r.Fraction = Value{r.Power.Expected / label, r.Power.Low / label, r.Power.High / label}
	return r, nil
}

func sq(x float64) float64 { return x * x }

// band is the value with twice the square root of the variance about it, not below zero.
func band(x, variance float64) Value {
	u := 2 * math.Sqrt(variance)
	return Value{Expected: x, Low: math.Max(0, x-u), High: x + u}
}

// lightUnsure is the relative standard uncertainty of the light on the plane: our own estimate, but for
// a meter's ±5 % (handbook E1).
func (s *Scene) lightUnsure() float64 {
	if s.Measured != nil {
		return 0.025
	}
	return 0.04 + 0.25*s.Cloud.Float()
}

// evaluate returns the figures of one trial.
func (s *Scene) evaluate(params cell.Params, t trial) (figures, error) {
	var f figures
	pos := sun.At(s.Time, sun.Site{Latitude: s.Place.Latitude, Longitude: s.Place.Longitude, Elevation: s.Place.Elevation})
	seen := pos.Apparent(sun.PressureAt(s.Place.Elevation), s.Air)
	if seen.Elevation() <= 0 {
		return f, ErrNight
	}
	beyond := sun.ExtraterrestrialNormal(pos)
	f.light = s.sky(seen, beyond)
	on := sky.Transpose(f.light, seen, s.Facing, beyond, s.Albedo)
	front := s.front
	if front == nil {
		made := sky.FrontOf(sky.Material(s.Module.Front))
		front = &made
	}
	direct := on.Beam.WattsPerSquareMetre() + on.Circumsolar.WattsPerSquareMetre()
	diffuse := on.Isotropic.WattsPerSquareMetre() + on.Horizon.WattsPerSquareMetre()
	ground := on.Ground.WattsPerSquareMetre()
	f.plane = (direct + diffuse + ground) * t.light
	useful := t.light * (direct*front.BeamTransmittance(seen.CosIncidence(s.Facing)).Float() + diffuse*front.SkyTransmittance(s.Facing.Tilt).Float() + ground*front.GroundTransmittance(s.Facing.Tilt).Float())
	useful = math.Max(0, useful)
	f.useful, f.seen = useful, seen
	plate := forecast.PlateOf(s.Module, s.Attachment, s.Gap)
	air := s.Air.Add(quantity.TempDiff(t.air))
	wind := heat.RoofAirSpeed(quantity.Speed(s.Wind.MetresPerSecond()*t.windFactor), 0)
	warm := plate.Steady(quantity.Irradiance(useful), air, wind).Add(quantity.TempDiff(t.heat))
	st := params.At(quantity.Irradiance(useful*t.label), warm)
	best := st.Best()
	f.module = warm.Celsius()
	f.open = st.Open().Volts() * t.voltage
	f.short = st.Short().Amperes()
	f.power = best.Power().Watts() * t.voltage
	f.working = best
	return f, nil
}

// sky returns the light of the scene: from the meter, split; or clear, thinned by cloud.
func (s *Scene) sky(seen sun.Position, beyond quantity.Irradiance) sky.Light {
	if s.Measured != nil {
		return sky.Split(*s.Measured, beyond, seen.Zenith)
	}
	clear := sky.ClearSky(seen.Zenith, beyond, sky.DefaultAtmosphere(s.Place.Elevation, s.Haze))
	return Clouded(clear, s.Cloud, beyond, seen)
}

// Clouded returns a clear sky thinned by the share of it that cloud covers, global = clear (1 - 0.75
// n^3.4), split again into beam and diffuse light. Source: Kasten & Czeplak 1980, Solar Energy 24:177.
func Clouded(clear sky.Light, cloud quantity.Ratio, beyond quantity.Irradiance, seen sun.Position) sky.Light {
	if cloud <= 0 {
		return clear
	}
	g := clear.Global.WattsPerSquareMetre() * (1 - 0.75*math.Pow(math.Min(1, cloud.Float()), 3.4))
	return sky.Split(quantity.Irradiance(g), beyond, seen.Zenith)
}
