package bench

import (
	"errors"
	"math"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// lidBuild is two modules on a lid that is level when driving and leans 20° to the front when camped.
func lidBuild() *build.Build {
	t := *mono()
	return &build.Build{Types: []build.ModuleType{t}, Surfaces: []build.Surface{{Name: "lid"}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "camped", Tilts: []build.Tilt{{About: build.Front, Angle: 20 * quantity.Degree}}}},
		Modules:  []build.Module{{Name: "A"}, {Name: "B"}}}
}

// What is said of sky, posture and heading narrows the light; the sun behind a lid leaves less; a meter's
// light is taken as it is, and warms the cells in its measure; at night there is nothing.
func TestConditions(t *testing.T) {
	b := lidBuild()
	place := build.Place{Latitude: 38.6 * quantity.Degree, Longitude: -7.9 * quantity.Degree, Zone: time.UTC}
	noon := time.Date(2027, 3, 20, 12, 40, 0, 0, time.UTC)
	level, camped := 0, 1
	south, north := 180*quantity.Degree, 0*quantity.Degree
	look := func(s Stand) Conditions {
		s.Place, s.Time = &place, noon
		c, err := ConditionsOf(b, s)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	flat := look(Stand{Sky: "clear", Posture: &level})
	if u := flat.LightUnsure.Percent(); u < 3.9 || u > 4.1 || !flat.Computed {
		t.Errorf("clear sky, level: %.1f %% unsure", u)
	}
	one, err := Expect(Scene{Module: &b.Types[0], Place: place, Time: noon, Air: UsualAir(place, noon), Wind: 2 * quantity.MetrePerSecond, Albedo: 0.2})
	if err != nil {
		t.Fatal(err)
	}
	if g := flat.Light.WattsPerSquareMetre(); g > one.Plane.Expected || g < 0.95*one.Plane.Expected {
		t.Errorf("light behind the front %.0f W/m², on it %.0f", g, one.Plane.Expected)
	}
	if d := math.Abs(flat.Cells.Celsius() - one.Module.Expected); d > 0.01 {
		t.Errorf("cells %.2f °C, expectation %.2f °C", flat.Cells.Celsius(), one.Module.Expected)
	}
	to, from := look(Stand{Sky: "clear", Posture: &camped, Heading: &south}), look(Stand{Sky: "clear", Posture: &camped, Heading: &north})
	any := look(Stand{Sky: "clear", Posture: &camped})
	if !(to.Light > flat.Light && flat.Light > from.Light) || !(any.LightUnsure > 2*to.LightUnsure) {
		t.Errorf("to the sun %v, level %v, from it %v; heading not said: ± %.1f %%", to.Light, flat.Light, from.Light, any.LightUnsure.Percent())
	}
	unsaid, half := look(Stand{Posture: &level}), look(Stand{Sky: "half cloud", Posture: &level})
	if unsaid.LightUnsure < 0.29 || half.LightUnsure < 0.1 || !(half.Light < flat.Light) || !(unsaid.CellsUnsure > flat.CellsUnsure) {
		t.Errorf("sky not noted ± %.1f %%, half cloud ± %.1f %%", unsaid.LightUnsure.Percent(), half.LightUnsure.Percent())
	}
	g := 400 * quantity.WattPerSquareMetre
	metered := look(Stand{Light: &g})
	air := UsualAir(place, noon).Celsius()
	if metered.Light != g || metered.LightUnsure != 0 || math.Abs((metered.Cells.Celsius()-air)/(flat.Cells.Celsius()-air)-400/flat.Light.WattsPerSquareMetre()) > 0.02 {
		t.Errorf("a meter's light: %v, cells %v", metered.Light, metered.Cells)
	}
	if _, err := ConditionsOf(b, Stand{Place: &place, Time: noon.Add(11 * time.Hour), Sky: "clear"}); !errors.Is(err, ErrNight) {
		t.Errorf("at night: %v", err)
	}
	if c, err := ConditionsOf(b, Stand{}); err != nil || c.Computed || c.LightUnsure != 35*quantity.Percent || len(c.Assumed) != 2 {
		t.Errorf("nothing said: %+v, %v", c, err)
	}
}
