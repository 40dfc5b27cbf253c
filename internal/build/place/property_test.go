package place

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
)

func anywhere(t *rapid.T, name string) Point {
	return at(rapid.Float64Range(-90, 90).Draw(t, name+" latitude"), rapid.Float64Range(-180, 180).Draw(t, name+" longitude"))
}

// Distances are symmetric, at most half the girth; a way is cut in the ratio asked for; its start
// leads along the bearing.
func TestGreatCircle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anywhere(t, "a"), anywhere(t, "b")
		d := Distance(a, b).Metres()
		if e := Distance(b, a).Metres(); math.Abs(d-e) > 1e-6*earthRadius || !(d >= 0) || d > math.Pi*earthRadius*(1+1e-12) {
			t.Fatalf("distance %g there, %g back", d, e)
		}
		share := rapid.Float64Range(-0.5, 1.5).Draw(t, "share")
		p := Along(a, b, quantity.Ratio(share))
		want := d * math.Min(1, math.Max(0, share))
		if got := Distance(a, p).Metres(); d < 3.1*earthRadius && math.Abs(got-want) > 1 {
			t.Fatalf("point at %g of %g m lies %g m on", share, d, got)
		}
		if v := Bearing(a, b).Radians(); !(v >= 0 && v <= 2*math.Pi) {
			t.Fatalf("bearing %g", v)
		}
	})
}

// Any point on Earth has a zone, the borders of the grid's cells included.
func TestZoneEverywhere(t *testing.T) {
	for lat := -90.0; lat <= 90; lat += 1.875 {
		for lon := -180.0; lon <= 180; lon += 1.875 {
			p := at(lat, lon)
			if Zone(p.Latitude, p.Longitude) == nil || ZoneName(p.Latitude, p.Longitude) == "" {
				t.Fatalf("no zone at %g, %g", lat, lon)
			}
		}
	}
}

// A point as printed is read back.
func TestParseRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anywhere(t, "p")
		text := p.String()
		lat, lon, ok := Parse(text)
		if !ok || math.Abs(lat.Degrees()-p.Latitude.Degrees()) > 1e-4 || math.Abs(lon.Degrees()-p.Longitude.Degrees()) > 1e-4 {
			t.Fatalf("%s: read as %v %v %t", text, lat, lon, ok)
		}
	})
}
