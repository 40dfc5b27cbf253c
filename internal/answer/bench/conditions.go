package bench

import (
	"fmt"
	"math"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/sky"
)

// Stand is how a build's modules stood when they were read, as far as somebody said; what was not said is
// nil or empty.
type Stand struct {
	Place   *build.Place
	Time    time.Time // zero: not said
	Sky     string    // one of SkyWords
	Light   *quantity.Irradiance
	Air     *quantity.Temperature
	Wind    *quantity.Speed
	Facing  *shape.Facing   // of all modules; nil: by posture and heading
	Posture *int            // of the build
	Heading *quantity.Angle // the front of the vehicle looks to
}

// Conditions are the light that the cells of a build's modules worked in and their temperature, where no
// meter or thermometer says, with standard uncertainties and what was assumed.
type Conditions struct {
	Light       quantity.Irradiance // behind the front, as if it fell straight on
	LightUnsure quantity.Ratio
	Cells       quantity.Temperature
	CellsUnsure quantity.TempDiff
	Computed    bool // from place and minute; false: the widest guess
	Assumed     []build.Assumed
}

// widest is what is taken where not even place and time are known.
var widest = Conditions{Light: 700 * quantity.WattPerSquareMetre, LightUnsure: 35 * quantity.Percent, Cells: quantity.Celsius(48), CellsUnsure: 10 * quantity.OneKelvin}

// usualClear is the share of a clear sky's light that is taken where nobody noted the sky, and its standard
// uncertainty in the logarithm: from thick cloud to a clear sky. Our own estimate.
const usualClear, skyUnsaid = 0.8, 0.30

// ConditionsOf returns the light and the cells' temperature of b's modules. Under a sky that was said to be
// clear the light is within 4 %, under cloud as seen within 4 % and a quarter of the cloud's share, under a
// sky that nobody noted within 30 %; a posture or a heading that was not said widens it by what they make of
// it. The temperature is the thermal model's for each module's mounting, 4 K at full light, with air and
// wind. Light from a meter is taken as it is. Without place and time it returns the widest guess. ErrNight is returned when the sun is below the horizon,
// and the error of a label no cell has as it is.
func ConditionsOf(b *build.Build, s Stand) (Conditions, error) {
	out := widest
	note := func(what, value, why, source string) {
		out.Assumed = append(out.Assumed, build.Assumed{Path: what, Value: value, Why: why, Source: source})
	}
	if s.Place == nil || s.Time.IsZero() || len(b.Modules) == 0 {
		if s.Light != nil {
			out.Light, out.LightUnsure = *s.Light, 0
		} else {
			note("light", band95(700, 0.35), "neither a meter, nor place and time, say it; a meter or a reference module on the plane sharpens every answer", "")
		}
		note("cells", "48 °C ± 20 K", "no thermometer, and no place and time, say it; the back of a module, taped and shaded, sharpens the volts", "")
		return out, nil
	}
	air, airUnsure := UsualAir(*s.Place, s.Time), 5.0
	switch {
	case s.Air != nil:
		air, airUnsure = *s.Air, 1
	default:
		note("air", fmt.Sprintf("%.0f °C ± 10 K", air.Celsius()), "usual for the month and the hour", "built-in climate")
	}
	wind := 2 * quantity.MetrePerSecond
	if s.Wind != nil {
		wind = *s.Wind
	} else {
		note("wind", "2 m/s at 10 m", "a light breeze", "our own estimate")
	}
	seen, said := SkyAsSeen(s.Sky)
	sc := Scene{Place: *s.Place, Time: s.Time, Air: air, Wind: wind, Haze: seen.Haze, Cloud: seen.Cloud, Albedo: 20 * quantity.Percent}
	faces, doubt := facings(b, &s)
	all, err := lookAll(b, sc, faces)
	if err != nil {
		return Conditions{}, err
	}
	light, spread := meanSpread(all.useful)
	if light <= 0 {
		return Conditions{}, ErrNight
	}
	full := light
	u := sc.lightUnsure()
	how := "clear sky of this place and minute"
	switch {
	case s.Light != nil:
		light, u, spread = s.Light.WattsPerSquareMetre(), 0, 0
	case !said:
		light, u = light*usualClear, skyUnsaid
		how = fmt.Sprintf("the sky was not noted: %.0f %% of a clear sky's; a sky said to be clear, or a meter, sharpens every answer", 100*usualClear)
	case seen.Cloud > 0:
		how = "a sky of this place and minute, " + s.Sky
	}
	u = math.Min(0.5, math.Hypot(u, spread/math.Max(1, full)))
	// Light other than the scenes' warms the cells in its own measure.
	factor := light / full
	var warm []float64
	rise, gust := 0.0, 0.0
	for i := range all.warm {
		r := all.warm[i] - air.Celsius()
		warm = append(warm, air.Celsius()+r*factor)
		rise += r * factor / float64(len(all.warm))
		gust += (all.warm[i] - all.windy[i]) * factor / float64(len(all.warm))
	}
	cells, between := meanSpread(warm)
	out.Computed = true
	out.Light, out.LightUnsure = quantity.Irradiance(light), quantity.Ratio(u)
	out.Cells = quantity.Celsius(cells)
	k := math.Sqrt(sq(airUnsure) + sq(4*light/1000) + sq(gust) + sq(between) + sq(rise*u))
	out.CellsUnsure = quantity.TempDiff(math.Min(20, math.Max(2, k)))
	if s.Light == nil {
		note("light", band95(light, u), how, "Bird & Hulstrom 1981, SERI/TR-642-761")
		if doubt != "" {
			note("stand", doubt, "counted in the light's band", "")
		}
	}
	note("cells", fmt.Sprintf("%.0f °C ± %.0f K", cells, 2*out.CellsUnsure.Kelvins()), "thermal model for the modules' mounting; the back of a module, taped and shaded, sharpens the volts", "")
	return out, nil
}

// band95 prints a light with the band that 95 of 100 lie in, u being standard in the logarithm.
func band95(g, u float64) string {
	return fmt.Sprintf("%.0f W/m², %.0f to %.0f", g, g*math.Exp(-2*u), g*math.Exp(2*u))
}

// facings returns the ways each module may have faced, and what was not said of it.
func facings(b *build.Build, s *Stand) (by [][]shape.Facing, doubt string) {
	by = make([][]shape.Facing, len(b.Modules))
	postures := []int{}
	switch {
	case s.Posture != nil:
		postures = append(postures, *s.Posture)
	case s.Facing == nil:
		for k := range b.Postures {
			postures = append(postures, k)
		}
	}
	for m := range b.Modules {
		if s.Facing != nil {
			by[m] = []shape.Facing{*s.Facing}
			continue
		}
		for _, p := range postures {
			f := forecast.FacingOf(b, b.Modules[m].Surface, p, 0)
			switch {
			case f.Tilt == 0:
				by[m] = append(by[m], f)
			case s.Heading != nil:
				by[m] = append(by[m], forecast.FacingOf(b, b.Modules[m].Surface, p, *s.Heading))
			default:
				for turn := range 8 {
					by[m] = append(by[m], forecast.FacingOf(b, b.Modules[m].Surface, p, quantity.Angle(math.Pi/4*float64(turn))))
				}
			}
		}
		if len(by[m]) == 0 {
			by[m] = []shape.Facing{{}}
		}
		if len(by[m]) > 1 {
			doubt = "any posture and heading of the build"
			if s.Posture != nil {
				doubt = "any heading: posture " + b.Postures[*s.Posture].Name + " is tilted"
			}
		}
	}
	return by, doubt
}

// looks are what the modules get in each way they may face.
type looks struct{ useful, warm, windy []float64 }

// lookAll evaluates a scene for all modules.
func lookAll(b *build.Build, sc Scene, by [][]shape.Facing) (looks, error) {
	var out looks
	fits := map[int]cell.Params{}
	fronts := map[int]*sky.Front{}
	for m := range b.Modules {
		mod := &b.Modules[m]
		t := &b.Types[mod.Type]
		if fronts[mod.Type] == nil {
			p, err := forecast.Fit(t)
			if err != nil {
				return out, fmt.Errorf("types[%s]: %w", t.Name, err)
			}
			f := sky.FrontOf(sky.Material(t.Front))
			fits[mod.Type], fronts[mod.Type] = p, &f
		}
		sc.Module, sc.Attachment, sc.Gap, sc.front = t, mod.Attachment, mod.Gap, fronts[mod.Type]
		for _, f := range by[m] {
			sc.Facing = f
			still, err := sc.evaluate(fits[mod.Type], trial{light: 1, windFactor: 1, label: 1, voltage: 1})
			if err != nil {
				return out, err
			}
			windy, err := sc.evaluate(fits[mod.Type], trial{light: 1, windFactor: 1.6, label: 1, voltage: 1})
			if err != nil {
				return out, err
			}
			out.useful, out.warm, out.windy = append(out.useful, still.useful), append(out.warm, still.module), append(out.windy, windy.module)
		}
	}
	return out, nil
}
