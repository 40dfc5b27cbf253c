package shade

import (
	"fmt"
	"math"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/testkit"
)

// A thing of height h throws a shadow of h/tan(elevation), whatever its height and the sun's.
//
// Source: J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed., section 1.9: solar geometry.
func TestShadowLength(t *testing.T) {
	source := cite.Source{Title: "Duffie & Beckman, Solar Engineering of Thermal Processes, 4th ed.", Where: "section 1.9, shading", Standing: cite.FromMemory}
	at := Level(2 * quantity.Metre)
	for _, c := range []struct{ height, elevation float64 }{{0.12, 10}, {0.12, 30}, {0.3, 5}, {0.4, 45}, {0.25, 60}} {
		// A bar across the vehicle at x 0, the sun before it: the shadow reaches back over a row of cells.
		h := quantity.Length(c.height)
		bar := Prism(at, rectangle(-0.05, -30, 0.05, 60), 0, h)
		const length = 5.0
		out := []float64{0}
		NewCaster(NewScene([]Field{{Plane: at, Cells: []Cell{rectangle(0, 0, length, 0.1)}}}, []Body{bar})).
			Lit(SunFrom(0, quantity.Angle(c.elevation)*quantity.Degree, 0), out)
		testkit.Published(t, length*(1-out[0]), testkit.Check{
			What:   fmt.Sprintf("shadow of a bar %g m high, sun at %g°, m", c.height, c.elevation),
			Source: source, Want: c.height / math.Tan(c.elevation*math.Pi/180), Tol: 1e-9, Why: "a closed form",
		})
	}
}

// A long wall hides (1 - cos β)/2 of the sky from a level plane, β the elevation of its top as seen there.
//
// Source: H. C. Hottel and A. F. Sarofim, Radiative Transfer (1967), crossed strings.
func TestLongWall(t *testing.T) {
	source := cite.Source{Title: "Hottel & Sarofim, Radiative Transfer, 1967", Where: "crossed strings, differential strip and long wall", Standing: cite.FromMemory}
	at := Level(2 * quantity.Metre)
	for _, c := range []struct{ height, distance float64 }{{0.3, 0.3}, {0.15, 0.6}, {0.4, 0.1}} {
		wall := Prism(at, rectangle(-c.distance-0.01, -100, 0.01, 200), 0, quantity.Length(c.height))
		s := NewScene([]Field{{Plane: at, Cells: []Cell{rectangle(-0.001, -0.001, 0.002, 0.002)}}}, []Body{wall})
		beta := math.Atan(c.height / c.distance)
		testkit.Published(t, 1-NewTable(s).Sky(0).Float(), testkit.Check{
			What:   fmt.Sprintf("part of the sky hidden by a wall %g m high at %g m", c.height, c.distance),
			Source: source, Want: (1 - math.Cos(beta)) / 2, Tol: 0.004, Why: "directions of a table stand 2° and up to 4° apart; the wall is 200 m long",
		})
	}
	// A closed box overhead: four walls that meet the sky at an elevation all round leave the square's view.
	const h, a = 0.2, 0.4
	var ring []Body
	for _, r := range []shape.Polygon{rectangle(-a-0.02, -a-0.02, 0.02, 2*a+0.04), rectangle(a, -a-0.02, 0.02, 2*a+0.04), rectangle(-a, -a-0.02, 2*a, 0.02), rectangle(-a, a, 2*a, 0.02)} {
		ring = append(ring, Prism(at, r, 0, h*quantity.Metre))
	}
	s := NewScene([]Field{{Plane: at, Cells: []Cell{rectangle(-0.001, -0.001, 0.002, 0.002)}}}, ring)
	const x = a / h
	root := math.Sqrt(1 + x*x)
	testkit.Published(t, NewTable(s).Sky(0).Float(), testkit.Check{
		What:   "view of the sky from the middle of a square box, walls half as high as they are far",
		Source: cite.Source{Title: "J. R. Howell, A Catalog of Radiation Configuration Factors", Where: "element to a parallel rectangle over its corner, four of them", Standing: cite.FromMemory},
		Want:   4 * 2 * x / root * math.Atan(x/root) / (2 * math.Pi), Tol: 0.006, Why: "as above",
	})
}

// The sun stands where its azimuth and elevation say, in the frame of a vehicle that looks any way.
//
// Source: the definitions of azimuth and of the vehicle frame; IEC 61836 for azimuth.
func TestSunInVehicleFrame(t *testing.T) {
	source := cite.Source{Title: "IEC TS 61836, Solar photovoltaic energy systems, Terms and definitions", Where: "azimuth", Standing: cite.FromMemory}
	d := SunFrom(90*quantity.Degree, 30*quantity.Degree, 0) // a vehicle looking north, the sun east: to its right
	testkit.Published(t, d.Y, testkit.Check{What: "direction to the right, sun east at 30°, heading north", Source: source, Want: math.Sqrt(3) / 2, Tol: 1e-12, Why: "exact"})
	d = SunFrom(180*quantity.Degree, 0, 180*quantity.Degree)
	testkit.Published(t, d.X, testkit.Check{What: "direction rearwards, sun south on the horizon, heading south", Source: source, Want: -1, Tol: 1e-12, Why: "exact"})
}
