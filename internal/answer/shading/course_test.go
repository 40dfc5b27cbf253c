package shading

import (
	"context"
	"errors"
	"math"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/shade"
	"noonmark/internal/physics/sun"
)

// The attitude that the light is computed with is the plane's own: the sun's incidence by both is one.
func TestFacingIsThePlanes(t *testing.T) {
	b := van(t)
	at := sun.At(time.Date(2027, 4, 10, 13, 0, 0, 0, time.UTC), sun.Site{Latitude: 43.5 * quantity.Degree, Longitude: -1.5 * quantity.Degree})
	tilts := 0
	b.Postures[1].Tilts = []build.Tilt{{Angle: 12 * quantity.Degree}}
	for about := build.Front; about <= build.Right; about++ {
		for p := range b.Postures {
			for k := range b.Postures[p].Tilts {
				tilts++
				b.Postures[p].Tilts[k].About = about
				for degrees := 0.0; degrees < 360; degrees += 30 {
					heading := quantity.Angle(degrees * math.Pi / 180)
					plane := forecast.PlaneOf(b, b.Postures[p].Tilts[k].Surface, p)
					got := at.CosIncidence(facing(plane, heading)).Float()
					want := shade.SunFrom(at.Azimuth, at.Elevation(), heading).Dot(plane.Normal)
					if math.Abs(got-math.Max(0, want)) > 1e-9 && math.Abs(got-want) > 1e-9 {
						t.Errorf("about %v, heading %.0f°: cosine %.6f, by the plane %.6f", about, degrees, got, want)
					}
				}
			}
		}
	}
	if tilts == 0 {
		t.Error("no tilt was tried")
	}
}

// On a level roof a shadow reaches as far from its foot as the height over the tangent of the sun's
// elevation, away from the sun.
func TestShadowReaches(t *testing.T) {
	b := van(t)
	leg := 0
	for p := range b.Postures {
		b.Postures[p].Tilts = nil
	}
	c, err := CourseOf(b, leg, b.Trip.Legs[leg].From.AddDate(0, 0, 1), 15*time.Minute)
	if err != nil {
		t.Fatal(err)
	}
	heading := b.Trip.Legs[leg].Heading.Radians()
	looked := 0
	for _, m := range c.Moments {
		for _, s := range m.Shadows {
			o := &b.Obstacles[s.Caster.Index]
			reach := o.Height.Metres() / math.Tan(m.Elevation.Radians())
			// the vehicle's x looks to the rear, y to the right
			away := m.Azimuth.Radians() - heading
			dx, dy := reach*math.Cos(away), -reach*math.Sin(away)
			foot, shadow := build.Plan(o.Outline).Bounds(), build.Plan(s.Outline).Bounds()
			want := [4]float64{math.Min(foot.Low.X, foot.Low.X+dx), math.Min(foot.Low.Y, foot.Low.Y+dy), math.Max(foot.High.X, foot.High.X+dx), math.Max(foot.High.Y, foot.High.Y+dy)}
			got := [4]float64{shadow.Low.X, shadow.Low.Y, shadow.High.X, shadow.High.Y}
			for i := range got {
				if math.Abs(got[i]-want[i]) > 1e-6 {
					t.Fatalf("%s at %s: shadow %v m, want %v", o.Name, m.At.Format("15:04"), got, want)
				}
			}
			looked++
		}
	}
	if looked < 60 {
		t.Errorf("%d shadows", looked)
	}
}

// The sun's day: dark at night, light left never over the open sky's, all of it where nothing stands, and as
// the caster of shadows says.
func TestCourse(t *testing.T) {
	for _, heading := range []float64{0, 77, 180, 300} {
		b := van(t)
		b.Trip.Legs = append(b.Trip.Legs, build.Leg{Drive: true, From: b.Trip.Legs[0].Until, Until: b.Trip.Legs[0].Until.Add(time.Hour), Place: b.Trip.Legs[0].Place})
		b.Postures[1].Tilts = []build.Tilt{{Angle: 12 * quantity.Degree, About: build.Left}}
		for leg := range b.Trip.Legs {
			l := &b.Trip.Legs[leg]
			l.Heading, l.HeadingFree = quantity.Angle(heading*math.Pi/180), false
			c, err := CourseOf(b, leg, l.From, 30*time.Minute)
			if l.Drive {
				if !errors.Is(err, ErrNoLeg) {
					t.Errorf("heading %.0f°, drive %d: %v", heading, leg, err)
				}
				continue
			}
			if err != nil || len(c.Moments) < 47 {
				t.Fatalf("heading %.0f°, stay %d: %v", heading, leg, err)
			}
			bare := *b
			bare.Obstacles = nil
			free, err := CourseOf(&bare, leg, l.From, 30*time.Minute)
			if err != nil {
				t.Fatal(err)
			}
			for i, m := range c.Moments {
				if (m.Elevation <= 0) != (m.Lit == nil) || m.Left > m.Open || m.Left < 0 || math.IsNaN(m.Open.Watts()) {
					t.Errorf("heading %.0f°, stay %d, %s: %v of %v, sun at %v", heading, leg, m.At, m.Left, m.Open, m.Elevation)
				}
				if f := free.Moments[i]; len(f.Shadows) != 0 || f.Left < m.Left-1e-9 || math.Abs((f.Open-m.Open).Watts()) > 1e-9 {
					t.Errorf("heading %.0f°, stay %d, %s: without obstacles %v of %v, with %v of %v", heading, leg, m.At, f.Left, f.Open, m.Left, m.Open)
				}
			}
		}
	}
	b := van(t)
	for _, leg := range []int{-1, 99} {
		if _, err := CourseOf(b, leg, b.Trip.Legs[0].From, time.Hour); !errors.Is(err, ErrNoLeg) {
			t.Errorf("leg %d: %v", leg, err)
		}
		if _, err := ClearDay(context.Background(), b, leg, b.Trip.Legs[0].From); !errors.Is(err, ErrNoLeg) {
			t.Errorf("clear day of leg %d: %v", leg, err)
		}
	}
}

// A clear day gives more without the things on the roof, and its ledger closes.
func TestClearDay(t *testing.T) {
	b := van(t)
	day := b.Trip.Legs[0].From.AddDate(0, 0, 1)
	with, err := ClearDay(context.Background(), b, 0, day)
	if err != nil {
		t.Fatal(err)
	}
	bare := *b
	bare.Obstacles = nil
	without, err := ClearDay(context.Background(), &bare, 0, day)
	if err != nil {
		t.Fatal(err)
	}
	if len(with.Days) != 1 || with.Offered <= 0 || with.Offered > without.Offered {
		t.Errorf("%d days, %.0f Wh with and %.0f Wh without the roof's things", len(with.Days), with.Offered.WattHours(), without.Offered.WattHours())
	}
	if with.WorstResidual.Float() > 1e-6 {
		t.Errorf("the ledger is open by %v", with.WorstResidual)
	}
}
