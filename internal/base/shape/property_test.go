package shape

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
)

// A direction has length one, the cardinal ones point where they are named, and a level plane faces up
// whatever its azimuth.
func TestDirection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		az := quantity.Angle(rapid.Float64Range(-7, 7).Draw(t, "azimuth"))
		el := quantity.Angle(rapid.Float64Range(-1.57, 1.57).Draw(t, "elevation"))
		d := Toward(az, el)
		if l := d.Dot(d); math.Abs(l-1) > 1e-15*4 {
			t.Fatalf("length squared %g", l)
		}
		if n := (Facing{Azimuth: az}).Normal(); math.Abs(n.Up-1) > 1e-15 {
			t.Fatalf("a level plane faces %+v", n)
		}
		n := Facing{Tilt: math.Pi/2*quantity.Radian - el, Azimuth: az}.Normal()
		if c := n.Dot(d); math.Abs(c-1) > 1e-14 {
			t.Fatalf("a plane turned to %+v sees it at a cosine of %g", d, c)
		}
	})
	if e := Toward(90*quantity.Degree, 0); math.Abs(e.East-1) > 1e-15 || math.Abs(e.North) > 1e-15 {
		t.Errorf("azimuth 90° is %+v, want east", e)
	}
}
