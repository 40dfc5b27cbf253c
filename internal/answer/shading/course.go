package shading

import (
	"context"
	"errors"
	"math"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/shade"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// ErrNoLeg says that a leg is no stay.
var ErrNoLeg = errors.New("no stay of that number")

// Course is the sun over a build through one clear day of a stay, and what its things throw on the modules.
type Course struct {
	Place    string
	Date     time.Time // local midnight
	Posture  string
	Heading  quantity.Angle
	Free     bool // the heading is free: taken as north
	First    []int
	Moments  []Moment
	Obscured bool // a thing that shades has an outline that is not convex: its shadow is drawn as its hull
}

// Moment is one instant of a course.
type Moment struct {
	At        time.Time
	Azimuth   quantity.Angle
	Elevation quantity.Angle
	Open      quantity.Power // sunlight on all modules with nothing on the roof, under a clear sky
	Left      quantity.Power // of it, what the shadows leave
	Lit       []float64      // by cell, as forecast.SceneOf numbers them; nil while the sun is down
	Shadows   []Shadow
}

// Shadow is what a thing throws on a surface: the outline of its foot and shadow together, in plan.
type Shadow struct {
	Caster  forecast.Caster
	Surface int
	Outline []build.Point
}

// CourseOf returns the course of the sun over a stay of the build on the date of day, an instant every so
// often, at least a minute, from midnight to midnight of the place's clock. Nothing round the vehicle hides
// the sun. A free heading is taken as north. It returns ErrNoLeg for what is no stay.
func CourseOf(b *build.Build, leg int, day time.Time, every time.Duration) (*Course, error) {
	if leg < 0 || leg >= len(b.Trip.Legs) || b.Trip.Legs[leg].Drive || b.Trip.Legs[leg].Place.Zone == nil {
		return nil, ErrNoLeg
	}
	l := &b.Trip.Legs[leg]
	y, m, d := day.Date()
	c := &Course{Place: place(l.Place), Date: time.Date(y, m, d, 0, 0, 0, 0, l.Place.Zone), Posture: b.Postures[l.Posture].Name, Heading: l.Heading, Free: l.HeadingFree}
	if c.Free {
		c.Heading = 0
	}
	scene, first := forecast.SceneOf(b, l.Posture, nil)
	c.First = first
	r := newRays(b, l, c.Heading, scene)
	end := c.Date.AddDate(0, 0, 1)
	for t := c.Date; !t.After(end); t = t.Add(max(every, time.Minute)) {
		c.Moments = append(c.Moments, r.moment(t))
	}
	for i := range b.Obstacles {
		c.Obscured = c.Obscured || forecast.Stands(&b.Obstacles[i], l.Posture) && len(build.Plan(b.Obstacles[i].Outline).Pieces()) > 1
	}
	return c, nil
}

// rays casts the sun's rays on a build in one stay.
type rays struct {
	b       *build.Build
	leg     *build.Leg
	heading quantity.Angle
	site    sun.Site
	caster  *shade.Caster
	cells   int
	planes  []shade.Plane
	used    []bool    // by surface: a module lies on it
	area    []float64 // by cell, m²
	on      []int     // by cell: its surface
}

func newRays(b *build.Build, l *build.Leg, heading quantity.Angle, scene *shade.Scene) *rays {
	r := &rays{b: b, leg: l, heading: heading, caster: shade.NewCaster(scene), cells: scene.Cells(), used: make([]bool, len(b.Surfaces)),
		site: sun.Site{Latitude: l.Place.Latitude, Longitude: l.Place.Longitude, Elevation: l.Place.Elevation}}
	for s := range b.Surfaces {
		r.planes = append(r.planes, forecast.PlaneOf(b, s, l.Posture))
		for m := range b.Modules {
			if b.Modules[m].Surface != s {
				continue
			}
			r.used[s] = true
			t := &b.Types[b.Modules[m].Type]
			cells := b.Cells(&b.Modules[m])
			for range cells {
				r.on = append(r.on, s)
				r.area = append(r.area, t.Length.Metres()*t.Width.Metres()/float64(len(cells)))
			}
		}
	}
	return r
}

func (r *rays) moment(t time.Time) Moment {
	p := sun.At(t, r.site)
	out := Moment{At: t, Azimuth: p.Azimuth, Elevation: p.Elevation()}
	if p.Elevation() <= 0 {
		return out
	}
	toward := shade.SunFrom(p.Azimuth, p.Elevation(), r.heading)
	out.Lit = make([]float64, r.cells)
	r.caster.Lit(toward, out.Lit)
	beyond := sun.ExtraterrestrialNormal(p)
	clear := sky.ClearSky(p.Zenith, beyond, sky.DefaultAtmosphere(r.site.Elevation, 0))
	open, left := 0.0, 0.0
	for s := range r.planes {
		if !r.used[s] {
			continue
		}
		light := sky.Transpose(clear, p, facing(r.planes[s], r.heading), beyond, r.b.Trip.Albedo)
		beam := light.Beam.WattsPerSquareMetre()
		for k := range r.area {
			if r.on[k] == s {
				whole := light.Total().WattsPerSquareMetre()
				open += whole * r.area[k]
				left += (whole - beam*(1-out.Lit[k])) * r.area[k]
			}
		}
		out.Shadows = append(out.Shadows, r.shadows(s, toward)...)
	}
	out.Open, out.Left = quantity.Power(open), quantity.Power(left)
	return out
}

// facing returns the attitude of a plane of the vehicle that looks to heading.
func facing(p shade.Plane, heading quantity.Angle) shape.Facing {
	n := p.Normal // x to the rear, y to the right
	tilt := math.Acos(math.Max(-1, math.Min(1, n.Z)))
	azimuth := math.Mod(heading.Radians()+math.Pi+math.Atan2(-n.Y, n.X)+4*math.Pi, 2*math.Pi)
	return shape.Facing{Tilt: quantity.Angle(tilt), Azimuth: quantity.Angle(azimuth)}
}

// lowestDraw is the sine over a plane below which no shadow is drawn: it would be over ten times as long as
// the thing is high.
const lowestDraw = 0.1

// shadows returns what the obstacles throw on a surface.
func (r *rays) shadows(surface int, toward shade.Vector) []Shadow {
	target := r.planes[surface]
	up := toward.Dot(target.Normal)
	if up < lowestDraw {
		return nil
	}
	var out []Shadow
	for i := range r.b.Obstacles {
		o := &r.b.Obstacles[i]
		if !forecast.Stands(o, r.leg.Posture) {
			continue
		}
		from := r.planes[o.Surface]
		var points []shape.Point
		for _, c := range build.Plan(o.Outline) {
			foot := from.At(c)
			for _, h := range [2]float64{o.Base.Metres(), o.Height.Metres()} {
				q := along(foot, from.Normal, h)
				high := q.minus(target.Origin).Dot(target.Normal)
				if high < 0 {
					continue
				}
				q = along(q.Vector, toward, -high/up)
				points = append(points, shape.Point{X: q.minus(target.Origin).Dot(target.Along), Y: q.minus(target.Origin).Dot(target.Across)})
			}
		}
		if len(points) < 3 {
			continue
		}
		hull := shape.Hull(points, nil)
		if len(hull) < 3 {
			continue
		}
		s := Shadow{Caster: forecast.Caster{Index: i}, Surface: surface}
		for _, c := range hull {
			s.Outline = append(s.Outline, build.Point{X: quantity.Length(c.X), Y: quantity.Length(c.Y)})
		}
		out = append(out, s)
	}
	return out
}

// spot is a place in the vehicle's frame.
type spot struct{ shade.Vector }

func along(a, direction shade.Vector, by float64) spot {
	return spot{shade.Vector{X: a.X + direction.X*by, Y: a.Y + direction.Y*by, Z: a.Z + direction.Z*by}}
}

func (a spot) minus(b shade.Vector) shade.Vector {
	return shade.Vector{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z - b.Z}
}

// ClearDay computes one clear day of a stay of the build, its first minute as the trip's. A free heading is
// drawn by lot. It returns ErrNoLeg for what is no stay, and fails as forecast.Run.
func ClearDay(ctx context.Context, b *build.Build, leg int, day time.Time) (*forecast.Answer, error) {
	one, ok := dayOf(b, leg, day)
	if !ok {
		return nil, ErrNoLeg
	}
	return forecast.Run(ctx, &one, forecast.Options{Clear: true, Workers: 1})
}
