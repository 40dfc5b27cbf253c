package sheet

import (
	"fmt"
	"math"
	"slices"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
	"noonmark/internal/sheet/draw"
)

// sunny adds the sun and the shadows of one clear day, the middle of the longest stay, to the sheet of shade, and
// returns where that is, in words; "" when no stay is in the trip.
func sunny(j Job, s *Sheet) string {
	b := j.Build
	leg := -1
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		if !l.Drive && l.Place.Zone != nil && (leg < 0 || l.Until.Sub(l.From) > b.Trip.Legs[leg].Until.Sub(b.Trip.Legs[leg].From)) {
			leg = i
		}
	}
	surfaces := used(b)
	if leg < 0 || len(surfaces) == 0 {
		return ""
	}
	l := &b.Trip.Legs[leg]
	surface := surfaces[0]
	d := sunnyDay{b: b, leg: l, surface: surface, day: l.From.Add(l.Until.Sub(l.From) / 2).In(l.Place.Zone), heading: l.Heading}
	facing := fmt.Sprintf("front to %s°", whole(l.Heading.Degrees()))
	if l.HeadingFree {
		facing = "front to the north, for want of a heading"
		d.heading = 0
		s.Notes = append(s.Notes, "The heading is free on this stay: the shadows of the day take the front to the north, the year and the forecast every heading alike.")
	}
	site := sun.Site{Latitude: l.Place.Latitude, Longitude: l.Place.Longitude, Elevation: l.Place.Elevation}
	light := sun.DayOf(d.day, site)
	posture := "level"
	if l.Posture >= 0 && l.Posture < len(b.Postures) {
		posture = b.Postures[l.Posture].Name
	}
	s.Figures = append(s.Figures,
		Figure{Title: "Shadows on the " + b.Surfaces[surface].Name + " through a clear day", Share: 0.24, Least: 28, Draw: d.shadows},
		Figure{Title: "Light on the modules' plane, clear day", Share: 0.16, Least: 27, Draw: d.hours})
	clock := func(t time.Time) string {
		if t.IsZero() {
			return "none"
		}
		return t.In(l.Place.Zone).Format("15:04")
	}
	s.Values = append(s.Values, Value{"the day: sun up, down", clock(light.Rise) + ", " + clock(light.Set)}, Value{"noon, sun up by", clock(light.Transit) + ", " + number(sun.At(light.Transit, site).Elevation().Degrees(), 3) + "°"})
	return fmt.Sprintf("%s, %s, %s, %s", l.Place.Name, d.day.Format("2 January"), posture, facing)
}

// sunnyDay is a clear day on a surface.
type sunnyDay struct {
	b       *build.Build
	leg     *build.Leg
	surface int
	day     time.Time
	heading quantity.Angle
}

func (d *sunnyDay) site() sun.Site {
	p := d.leg.Place
	return sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}
}

// sampled returns six instants from an hour and a half after rise to as long before set, none when the sun
// does not rise.
func (d *sunnyDay) sampled() []time.Time {
	l := sun.DayOf(d.day, d.site())
	span := l.Set.Sub(l.Rise)
	if l.Rise.IsZero() || l.Set.IsZero() || span < 2*time.Hour {
		return nil
	}
	margin := min(90*time.Minute, span/5)
	var out []time.Time
	for i := range 6 {
		out = append(out, l.Rise.Add(margin+(span-2*margin)*time.Duration(i)/5))
	}
	return out
}

func (d *sunnyDay) clock(t time.Time) string { return t.In(d.leg.Place.Zone).Format("15:04") }

// tilt returns the posture's tilt of the surface.
func (d *sunnyDay) tilt() (about build.Edge, angle float64) {
	if d.leg.Posture >= 0 && d.leg.Posture < len(d.b.Postures) {
		for _, t := range d.b.Postures[d.leg.Posture].Tilts {
			if t.Surface == d.surface {
				return t.About, t.Angle.Radians()
			}
		}
	}
	return build.Front, 0
}

// toward returns the direction to the sun in the surface's own frame: x to the rear, y to the right, z off
// the skin.
func (d *sunnyDay) toward(t time.Time) (x, y, z float64) {
	v := sun.At(t, d.site()).Direction()
	h := d.heading.Radians()
	sin, cos := math.Sincos(h)
	x = -(v.East*sin + v.North*cos) // the rear looks away from the heading
	y = v.East*cos - v.North*sin    // the right is a quarter turn clockwise of it
	z = v.Up
	about, a := d.tilt()
	s, c := math.Sincos(a)
	switch about {
	case build.Front:
		x, z = x*c+z*s, z*c-x*s
	case build.Rear:
		x, z = x*c-z*s, z*c+x*s
	case build.Left:
		y, z = y*c+z*s, z*c-y*s
	case build.Right:
		y, z = y*c-z*s, z*c+y*s
	}
	return x, y, z
}

// facing returns the attitude of the surface for the light on it.
func (d *sunnyDay) facing() shape.Facing {
	about, a := d.tilt()
	turn := map[build.Edge]float64{build.Front: 0, build.Rear: math.Pi, build.Left: -math.Pi / 2, build.Right: math.Pi / 2}[about]
	return shape.Facing{Tilt: quantity.Angle(a), Azimuth: quantity.Angle(math.Mod(d.heading.Radians()+turn+2*math.Pi, 2*math.Pi))}
}

type spot struct{ x, y float64 }

// shadow returns the outline an obstacle's shadow and foot cover together, in metres of the plan; nil when
// the sun is behind the surface or lower than 3 degrees over it.
func (d *sunnyDay) shadow(o *build.Obstacle, t time.Time) []spot {
	x, y, z := d.toward(t)
	if z < 0.05 {
		return nil
	}
	var all []spot
	for _, p := range o.Outline {
		for _, h := range []float64{o.Base.Metres(), o.Height.Metres()} {
			all = append(all, spot{p.X.Metres() - x/z*h, p.Y.Metres() - y/z*h})
		}
	}
	return hull(all)
}

// hull returns the convex hull, by the monotone chain.
func hull(p []spot) []spot {
	slices.SortFunc(p, func(a, b spot) int {
		if a.x < b.x || a.x == b.x && a.y < b.y {
			return -1
		}
		if a == b {
			return 0
		}
		return 1
	})
	half := func(list []spot) []spot {
		var out []spot
		for _, c := range list {
			for len(out) > 1 {
				a, b := out[len(out)-2], out[len(out)-1]
				if (b.x-a.x)*(c.y-a.y)-(b.y-a.y)*(c.x-a.x) > 0 {
					break
				}
				out = out[:len(out)-1]
			}
			out = append(out, c)
		}
		return out[:len(out)-1]
	}
	lower := half(p)
	slices.Reverse(p)
	return append(lower, half(p)...)
}

// clip cuts a polygon to a box.
func clip(p []spot, low, high spot) []spot {
	for _, side := range []func(s spot) float64{
		func(s spot) float64 { return s.x - low.x }, func(s spot) float64 { return high.x - s.x },
		func(s spot) float64 { return s.y - low.y }, func(s spot) float64 { return high.y - s.y },
	} {
		var out []spot
		for i, a := range p {
			b := p[(i+1)%len(p)]
			da, db := side(a), side(b)
			if da >= 0 {
				out = append(out, a)
			}
			if (da > 0) != (db > 0) && da != db {
				f := da / (da - db)
				out = append(out, spot{a.x + f*(b.x-a.x), a.y + f*(b.y-a.y)})
			}
		}
		p = out
	}
	return p
}

// inSpots reports whether a point lies in a convex polygon of either sense.
func inSpots(p []spot, q spot) bool {
	in := false
	for i, a := range p {
		b := p[(i+1)%len(p)]
		if (a.y > q.y) != (b.y > q.y) && q.x < a.x+(q.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			in = !in
		}
	}
	return in
}

// stands reports whether an obstacle stands so in the leg's posture.
func (d *sunnyDay) stands(o *build.Obstacle) bool {
	return o.Surface == d.surface && (len(o.Postures) == 0 || slices.Contains(o.Postures, d.leg.Posture))
}

// shaded returns the share of a module's area in shadow, counted on a grid of 60 by 30.
func (d *sunnyDay) shaded(module int, t time.Time) float64 {
	low, high := d.b.Footprint(&d.b.Modules[module])
	var all [][]spot
	for i := range d.b.Obstacles {
		if o := &d.b.Obstacles[i]; d.stands(o) {
			if p := d.shadow(o, t); p != nil {
				all = append(all, p)
			}
		}
	}
	if _, _, z := d.toward(t); z < 0.05 {
		return 1
	}
	dark := 0
	for i := range 60 {
		for k := range 30 {
			q := spot{low.X.Metres() + (float64(i)+0.5)/60*(high.X-low.X).Metres(), low.Y.Metres() + (float64(k)+0.5)/30*(high.Y-low.Y).Metres()}
			if slices.ContainsFunc(all, func(p []spot) bool { return inSpots(p, q) }) {
				dark++
			}
		}
	}
	return float64(dark) / 1800
}

// least says how much of a module is in shadow: of the least shaded and of the most.
func (d *sunnyDay) least(t time.Time) string {
	low, high := 1.0, 0.0
	for i := range d.b.Modules {
		if d.b.Modules[i].Surface == d.surface {
			q := d.shaded(i, t)
			low, high = min(low, q), max(high, q)
		}
	}
	if whole(100*low) == whole(100*high) {
		return whole(100*high) + " % shaded"
	}
	return whole(100*low) + " to " + whole(100*high) + " % shaded"
}

// shadows draws the surface six times through the day.
func (d *sunnyDay) shadows(width, height float64) *draw.Scene {
	f := &d.b.Surfaces[d.surface]
	s := draw.New("Shadows on the "+f.Name+" through a clear day", width, height)
	low, high := bounds(f.Outline)
	list := d.sampled()
	if len(list) == 0 {
		s.Write(draw.Text{At: draw.Point{X: 6, Y: 10}, Text: "the sun does not rise long enough on this day", Size: 3})
		s.Text = "The sun does not rise long enough on this day."
		return s
	}
	across := 3 // and two rows, or one row on a low box
	if height < 0.3*width {
		across = len(list)
	}
	cw, ch := width/float64(across), height/float64((len(list)+across-1)/across)
	side, head := 10.0, 15.0
	if across > 3 {
		side, head = 9, 13
	}
	scale := draw.ScaleFor(high.X-low.X, high.Y-low.Y, cw-side, ch-head)
	s.Scale = scale.String()
	for n, t := range list {
		w, h := scale.Of(high.X-low.X), scale.Of(high.Y-low.Y)
		v := view{scale: scale, origin: low, at: draw.Point{X: cw*float64(n%across) + (cw-w)/2, Y: ch*float64(n/across) + 7 + max(0, (ch-12-h)/2)}}
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.35, Fill: draw.White}, v.points(f.Outline)...)
		for i := range d.b.Modules {
			if m := &d.b.Modules[i]; m.Surface == d.surface {
				a, z := d.b.Footprint(m)
				p, q := v.point(a), v.point(z)
				s.Rect(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.Pale}, p, q.X-p.X, q.Y-p.Y)
			}
		}
		for i := range d.b.Obstacles {
			o := &d.b.Obstacles[i]
			if !d.stands(o) {
				continue
			}
			if p := d.shadow(o, t); p != nil {
				p = clip(p, spot{low.X.Metres(), low.Y.Metres()}, spot{high.X.Metres(), high.Y.Metres()})
				if len(p) > 2 {
					var on []draw.Point
					for _, c := range p {
						on = append(on, v.point(build.Point{X: quantity.Length(c.x), Y: quantity.Length(c.y)}))
					}
					s.Hatch(draw.Style{Stroke: draw.Shade, Width: 0.28}, 60, 0.75, on...)
					s.Polygon(draw.Style{Stroke: draw.Shade, Width: 0.2}, on...)
				}
			}
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Paper}, v.points(o.Outline)...)
		}
		place := sun.At(t, d.site())
		top := v.at.Y - 2.2
		say, size := fmt.Sprintf("sun %s° up, from %s°", whole(place.Elevation().Degrees()), whole(place.Azimuth.Degrees())), 2.6
		if across > 3 {
			say, size = fmt.Sprintf("%s° up, from %s°", whole(place.Elevation().Degrees()), whole(place.Azimuth.Degrees())), 2.3
		}
		s.Write(draw.Text{At: draw.Point{X: cw*float64(n%across) + 1, Y: top}, Text: d.clock(t), Size: size + 0.6, Face: draw.Bold})
		s.Write(draw.Text{At: draw.Point{X: cw*float64(n%across) + 2.6 + draw.Width(draw.Bold, size+0.6, d.clock(t)), Y: top}, Text: say, Size: size, Ink: draw.Fine})
		s.Write(draw.Text{At: draw.Point{X: v.at.X + w/2, Y: v.at.Y + h + 3.4}, Text: d.least(t), Size: 2.3, Ink: draw.Fine, Anchor: draw.Middle})
		x, y, _ := d.toward(t)
		if r := math.Hypot(x, y); r > 1e-6 {
			end, reach := draw.Point{X: v.at.X + w + min(5, (cw-w)/2), Y: v.at.Y + h/2}, min(2.8, (cw-w)/2-0.7)
			s.Circle(draw.Style{Fill: draw.Sun}, draw.Point{X: end.X + reach*x/r, Y: end.Y + reach*y/r}, 0.9)
			s.Arrow(draw.Style{Stroke: draw.Sun, Width: 0.35}, draw.Point{X: end.X + 0.7*reach*x/r, Y: end.Y + 0.7*reach*y/r}, draw.Point{X: end.X - reach*x/r, Y: end.Y - reach*y/r})
		}
	}
	s.Text = fmt.Sprintf("Scale %s, front to the left: the surface with its shadows at six times from %s to %s.", scale, d.clock(list[0]), d.clock(list[len(list)-1]))
	return s
}

// hours draws the clear-sky light on the surface by hour of the clock.
func (d *sunnyDay) hours(width, height float64) *draw.Scene {
	s := draw.New("Light on the modules' plane, clear day", width, height)
	site := d.site()
	var level [24]float64
	y, m, day := d.day.Date()
	for h := range level {
		for q := range 4 {
			t := time.Date(y, m, day, h, 7+15*q, 30, 0, d.leg.Place.Zone)
			p := sun.At(t, site)
			if p.Elevation() <= 0 {
				continue
			}
			beyond := sun.ExtraterrestrialNormal(p)
			clear := sky.ClearSky(p.Zenith, beyond, sky.DefaultAtmosphere(site.Elevation, 0))
			level[h] += sky.Transpose(clear, p, d.facing(), beyond, d.b.Trip.Albedo).Total().WattsPerSquareMetre() / 4
		}
	}
	top, sum := 0.0, 0.0
	for _, v := range level {
		top, sum = max(top, v), sum+v
	}
	c := chart{s: s, x: 18, y: 6, w: width - 24, h: height - 16, top: nice(top)}
	c.grid("W/m²")
	c.bars(24, func(i int) (float64, draw.Style) {
		return level[i], draw.Style{Stroke: draw.Sun, Width: 0.25, Fill: draw.SunPale}
	})
	for i := 0; i < 24; i += 3 {
		x, _ := c.slot(i, 24)
		s.Write(draw.Text{At: draw.Point{X: x, Y: c.y + c.h + 4}, Text: fmt.Sprint(i), Size: 2.6, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	s.Write(draw.Text{At: draw.Point{X: c.x + c.w, Y: c.y + c.h + 8}, Text: fmt.Sprintf("hour of the clock; %s kWh/m² in the day, open and cloudless", number(sum/1000, 3)), Size: 2.6, Ink: draw.Fine, Anchor: draw.End})
	s.Text = fmt.Sprintf("Bars of clear-sky light on the plane for each hour, %s kilowatt-hours a square metre in the day.", number(sum/1000, 3))
	return s
}
