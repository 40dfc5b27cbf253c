package build

import (
	"math"

	"noonmark/internal/base/quantity"
)

// largestSurface is the largest side of a surface read: a lorry's trailer.
const largestSurface = 16 * quantity.Metre

func (r *resolver) surfaces() {
	for i := range r.doc.Surfaces {
		d := &r.doc.Surfaces[i]
		at := "surfaces." + d.Name
		s := Surface{Name: d.Name, LoadMoving: d.LoadMoving, LoadStanding: d.LoadStanding}
		s.Outline = r.outline(at, d.Size, nil, d.Outline)
		s.Height = or(r, d.Height, at+".height", 2*quantity.Metre, "a van's roof", estimate)
		s.Skin = quiet(d.Skin, "")
		if d.Skin == nil {
			s.Skin = "painted aluminium"
			r.assume(at+".skin", s.Skin, "most lids", customary)
		}
		s.Absorptance = 25 * quantity.Percent
		if d.Colour == nil {
			r.assume(at+".colour", "white", "most roofs", customary)
		}
		s.Absorptance = choice(r, d.Colour, at+".colour", colourWords, s.Absorptance)
		s.Insulated = quiet(d.Insulated, true)
		if d.Hinge != nil {
			s.HasHinge, s.Hinge = true, choice(r, d.Hinge, at+".hinge", edgeWords, Front)
		}
		if d.Sagitta != nil {
			if *d.Sagitta < 0 || *d.Sagitta > 0.5*quantity.Metre {
				r.wrong(at+".camber", "0 to 500 mm")
			}
			s.Camber = &Camber{Sagitta: *d.Sagitta, Across: true}
		}
		r.build.Surfaces = append(r.build.Surfaces, s)
	}
	if len(r.doc.Surfaces) == 0 {
		r.wrong("surfaces", "at least one surface for modules, such as roof: {size: 2.1 m x 1.35 m}")
	}
}

// outline returns a polygon from a size at a corner, or from corners, checked.
func (r *resolver) outline(path string, size *SizeDoc, corner *PointDoc, corners []PointDoc) []Point {
	switch {
	case size != nil && len(corners) > 0:
		r.wrong(path, "a size or an outline, not both")
		return nil
	case size != nil:
		if size.Length <= 0 || size.Width <= 0 || size.Length > largestSurface || size.Width > largestSurface {
			r.wrong(path+".size", "sides above 0 and up to %v", largestSurface)
			return nil
		}
		var x, y quantity.Length
		if corner != nil {
			x, y = corner.X, corner.Y
		}
		return []Point{{x, y}, {x + size.Length, y}, {x + size.Length, y + size.Width}, {x, y + size.Width}}
	case len(corners) >= 3:
		out := make([]Point, len(corners))
		for i, c := range corners {
			out[i] = Point(c)
		}
		if crosses(out) {
			r.wrong(path+".outline", "an outline that does not cross itself")
		}
		return out
	case len(corners) > 0:
		r.wrong(path+".outline", "at least three corners")
	default:
		r.wrong(path+".size", "a size, such as 2.1 m x 1.35 m, or an outline of corners")
	}
	return nil
}

// crosses reports whether two sides of a polygon cross that are not neighbours, or it has no area.
func crosses(p []Point) bool {
	side := func(a, b, c Point) float64 {
		return (b.X.Metres()-a.X.Metres())*(c.Y.Metres()-a.Y.Metres()) - (b.Y.Metres()-a.Y.Metres())*(c.X.Metres()-a.X.Metres())
	}
	n := len(p)
	area := 0.0
	for i := range n {
		a, b := p[i], p[(i+1)%n]
		area += a.X.Metres()*b.Y.Metres() - b.X.Metres()*a.Y.Metres()
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			c, d := p[j], p[(j+1)%n]
			if side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0 {
				return true
			}
		}
	}
	return math.Abs(area) < 1e-6
}

func (r *resolver) surfaceNames() []string {
	var out []string
	for _, s := range r.build.Surfaces {
		out = append(out, s.Name)
	}
	return out
}

func (r *resolver) postureNames() []string {
	var out []string
	for _, p := range r.build.Postures {
		out = append(out, p.Name)
	}
	return out
}

// postures reads the postures; driving and parked, both level, are there in any case and come first.
func (r *resolver) postures() {
	r.build.Postures = []Posture{{Name: "driving", Moves: true}, {Name: "parked"}}
	for i := range r.doc.Postures {
		d := &r.doc.Postures[i]
		at := "postures." + d.Name
		p := Posture{Name: d.Name, Moves: quiet(d.Moves, d.Name == "driving")}
		for j := range d.Tilts {
			t := &d.Tilts[j]
			where := at + ".tilts." + t.Name
			s := r.index(t.Name, where, "surface", r.surfaceNames())
			if s < 0 {
				continue
			}
			tilt := Tilt{Surface: s, About: r.build.Surfaces[s].Hinge}
			if t.About != nil {
				tilt.About = choice(r, t.About, where+".about", edgeWords, Front)
			} else if !r.build.Surfaces[s].HasHinge {
				r.wrong(where, "the edge it turns about: about: front, or a hinge on the surface")
			}
			if t.Angle == nil {
				r.wrong(where+".angle", "the angle from the level, such as 12°")
			} else if a := t.Angle.Degrees(); a < -60 || a > 90 {
				r.wrong(where+".angle", "-60° to 90°")
			} else {
				tilt.Angle = *t.Angle
			}
			p.Tilts = append(p.Tilts, tilt)
		}
		replaced := false
		for k := range r.build.Postures {
			if r.build.Postures[k].Name == p.Name {
				r.build.Postures[k], replaced = p, true
			}
		}
		if !replaced {
			r.build.Postures = append(r.build.Postures, p)
		}
	}
}

func (r *resolver) obstacles() {
	for i := range r.doc.Obstacles {
		d := &r.doc.Obstacles[i]
		at := "obstacles." + d.Name
		o := Obstacle{Name: d.Name, Surface: r.on(d.On, at+".on")}
		if d.Size != nil && d.At == nil {
			r.wrong(at+".at", "its front left corner, such as [1.55 m, 0.9 m]")
		}
		o.Outline = r.outline(at, d.Size, d.At, d.Outline)
		if d.Height == nil || *d.Height <= 0 || *d.Height > 5*quantity.Metre {
			r.wrong(at+".height", "its height over the surface, above 0 and up to 5 m")
		} else {
			o.Height = *d.Height
		}
		o.Base = quiet(d.Base, 0)
		for j, name := range d.In {
			if p := r.index(name, at+".in", "posture", r.postureNames()); p >= 0 && j < 20 {
				o.Postures = append(o.Postures, p)
			}
		}
		r.build.Obstacles = append(r.build.Obstacles, o)
	}
}

// on returns the surface named; the only one when none is.
func (r *resolver) on(name *string, path string) int {
	if name == nil {
		if len(r.build.Surfaces) == 1 {
			return 0
		}
		r.wrong(path, "the surface it lies on")
		return 0
	}
	return max(0, r.index(*name, path, "surface", r.surfaceNames()))
}

func (r *resolver) modules() {
	var names []string
	for _, t := range r.build.Types {
		names = append(names, t.Name)
	}
	for i := range r.doc.Modules {
		d := &r.doc.Modules[i]
		at := "modules." + d.Name
		m := Module{Name: d.Name, Surface: r.on(d.On, at+".on"), Serial: quiet(d.Serial, ""), Bought: quiet(d.Bought, "")}
		switch {
		case d.Type != nil:
			m.Type = r.index(*d.Type, at+".type", "module type", names)
		case len(names) == 1:
		default:
			r.wrong(at+".type", "the name of a module type")
		}
		m.Type = max(0, m.Type)
		m.Turn = quiet(d.Turn, 0)
		if q := m.Turn.Degrees() / 90; math.Abs(q-math.Round(q)) > 1e-6 {
			r.wrong(at+".turn", "a quarter turn: 0°, 90°, 180° or 270°")
		}
		if d.Attached == nil {
			r.assume(at+".attached", "bonded", "thin modules on a lid", customary)
		}
		m.Attachment = choice(r, d.Attached, at+".attached", attachWords, Bonded)
		m.Gap = quiet(d.Gap, 0)
		if m.Attachment == StandOff && d.Gap == nil {
			m.Gap = 20 * quantity.Millimetre
			r.assume(at+".gap", m.Gap.String(), "common feet", customary)
		}
		if m.Gap < 0 || m.Gap > 0.5*quantity.Metre {
			r.wrong(at+".gap", "0 to 500 mm")
		}
		if d.At != nil {
			m.X, m.Y = d.At.X, d.At.Y
		} else {
			r.wrong(at+".at", "its front left corner, such as [0.2 m, 0.15 m]")
		}
		r.build.Modules = append(r.build.Modules, m)
	}
	if len(r.doc.Modules) == 0 {
		r.wrong("modules", "at least one module, such as left: {type: foil-90, at: [0.2 m, 0.15 m]}")
	}
	r.layout()
}

// Footprint returns a module's corners in plan: front left, and the opposite one.
func (b *Build) Footprint(m *Module) (low, high Point) {
	t := &b.Types[m.Type]
	l, w := t.Length, t.Width
	if int(math.Round(m.Turn.Degrees()/90))%2 != 0 {
		l, w = w, l
	}
	return Point{m.X, m.Y}, Point{m.X + l, m.Y + w}
}

// layout finds modules outside their surface and modules that overlap.
func (r *resolver) layout() {
	b := r.build
	if r.problems.Len() > 0 {
		return // places cannot be judged before the parts are right
	}
	const slack = 1e-6 * quantity.Metre
	for i := range b.Modules {
		m := &b.Modules[i]
		at := "modules." + m.Name + ".at"
		low, high := b.Footprint(m)
		for _, c := range []Point{low, {high.X, low.Y}, high, {low.X, high.Y}} {
			if !inside(b.Surfaces[m.Surface].Outline, c) {
				r.wrong(at, "a place inside %s: the corner at [%v, %v] lies outside", b.Surfaces[m.Surface].Name, c.X, c.Y)
				break
			}
		}
		for j := range i {
			o := &b.Modules[j]
			if o.Surface != m.Surface {
				continue
			}
			l, h := b.Footprint(o)
			if low.X < h.X-slack && l.X < high.X-slack && low.Y < h.Y-slack && l.Y < high.Y-slack {
				r.wrong(at, "a place clear of %s: they overlap by %v by %v", o.Name, min(high.X, h.X)-max(low.X, l.X), min(high.Y, h.Y)-max(low.Y, l.Y))
			}
		}
	}
}

// inside reports whether a point lies in a polygon or within a millimetre of its edge.
func inside(poly []Point, p Point) bool {
	in := false
	x, y := p.X.Metres(), p.Y.Metres()
	for i := range poly {
		a, b := poly[i], poly[(i+1)%len(poly)]
		ax, ay, bx, by := a.X.Metres(), a.Y.Metres(), b.X.Metres(), b.Y.Metres()
		if (ay > y) != (by > y) && x < ax+(y-ay)/(by-ay)*(bx-ax) {
			in = !in
		}
		dx, dy := bx-ax, by-ay
		if n := dx*dx + dy*dy; n > 0 {
			t := math.Min(1, math.Max(0, ((x-ax)*dx+(y-ay)*dy)/n))
			if math.Hypot(x-ax-t*dx, y-ay-t*dy) < 1e-3 {
				return true
			}
		}
	}
	return in
}
