package build

import (
	"math"
	"slices"
	"strings"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/catalog"
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
		} else if !slices.Contains(catalog.Skins(), s.Skin) {
			r.problems.Add(problem.Problem{Path: at + ".skin", Found: s.Skin, Want: "one of " + strings.Join(catalog.Skins(), ", "), Likely: Nearest(s.Skin, catalog.Skins())})
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
		s.Lid = r.lid(d, at)
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
		if Plan(out).Crosses() {
			r.wrong(path+".outline", "an outline that does not cross itself")
			return nil
		}
		return out
	case len(corners) > 0:
		r.wrong(path+".outline", "at least three corners")
	default:
		r.wrong(path+".size", "a size, such as 2.1 m x 1.35 m, or an outline of corners")
	}
	return nil
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
			tilt.Walls = quiet(t.Walls, true)
			if t.Walls == nil {
				r.assume(where+".walls", "closed round underneath", "most lids close a pop-up; the walls shade what lies behind", customary)
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
		if o.Base < 0 || d.Height != nil && o.Base >= *d.Height && *d.Height > 0 {
			r.wrong(at+".base", "0 or more, and under its height")
		}
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
	var placed []bool // modules of which type, surface and place are known
	for i := range r.doc.Modules {
		d := &r.doc.Modules[i]
		at := "modules." + d.Name
		known := d.At != nil && (d.On == nil && len(r.build.Surfaces) == 1 || d.On != nil && slices.Contains(r.surfaceNames(), *d.On))
		m := Module{Name: d.Name, Surface: r.on(d.On, at+".on"), Serial: quiet(d.Serial, ""), Bought: quiet(d.Bought, "")}
		switch {
		case d.Type != nil:
			m.Type = r.index(*d.Type, at+".type", "module type", names)
			known = m.Type >= 0
		case len(names) == 1:
		default:
			r.wrong(at+".type", "the name of a module type")
			known = false
		}
		m.Type = max(0, m.Type)
		m.Turn = quiet(d.Turn, 0)
		if q := m.Turn.Degrees() / 90; math.Abs(q-math.Round(q)) > 1e-6 {
			r.wrong(at+".turn", "a quarter turn: 0°, 90°, 180° or 270°")
			known = false
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
		placed = append(placed, known)
		r.build.Modules = append(r.build.Modules, m)
	}
	if len(r.doc.Modules) == 0 {
		r.wrong("modules", "at least one module, such as left: {type: foil-90, at: [0.2 m, 0.15 m]}")
	}
	r.layout(placed)
}
