package forecast

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/shade"
)

// roof is the modules of a build in one posture, with what shades them.
type roof struct {
	table  *shade.Table // nil: nothing stands on the roof, or a caster stands for it
	shades bool         // anything stands on it, or it is curved
	first  []int        // by module: its first cell in the table
	sky    []float64    // by cell: share of the sky left to it, in steps of skySteps
	group  []int        // by cell: of its module's bypass paths
	normal []shade.Vector
	plane  []shade.Vector // by cell: of its surface
	curved bool
	open   []float64 // by bank: share of the sky left to its cells
}

// skySteps is how many steps a cell's share of the sky is kept in: cells with the same are solved as one.
const skySteps = 100

// PlaneOf returns the plane of a surface in a posture.
func PlaneOf(b *build.Build, surface, posture int) shade.Plane {
	s := &b.Surfaces[surface]
	rest := shade.Level(s.Height)
	for _, t := range b.Postures[posture].Tilts {
		if t.Surface == surface && len(s.Outline) > 0 {
			box := build.Plan(s.Outline).Bounds()
			from, to := box.Low, shape.Point{X: box.Low.X, Y: box.High.Y} // front: the rear lies to the right of the way
			switch t.About {
			case build.Rear:
				from, to = box.High, shape.Point{X: box.High.X, Y: box.Low.Y}
			case build.Left:
				from, to = shape.Point{X: box.High.X, Y: box.Low.Y}, box.Low
			case build.Right:
				from, to = shape.Point{X: box.Low.X, Y: box.High.Y}, box.High
			}
			return rest.Raised(from, to, t.Angle)
		}
	}
	return rest
}

// Stands reports whether an obstacle is there in a posture.
func Stands(o *build.Obstacle, posture int) bool {
	for _, p := range o.Postures {
		if p == posture {
			return true
		}
	}
	return len(o.Postures) == 0
}

// Caster is a thing that shades: an obstacle, or a surface that stands higher than another.
type Caster struct {
	Surface bool
	Index   int
}

// SceneOf returns the cells of all modules, surface by surface, and what shades them in a posture; first is
// the first cell of each module, in series order. A surface is taken as solid down to the ground, a raised
// one as closed by walls where its tilt says so and as a thin flap otherwise. What omit holds casts nothing.
func SceneOf(b *build.Build, posture int, omit []Caster) (scene *shade.Scene, first []int) {
	first = make([]int, len(b.Modules))
	var fields []shade.Field
	n := 0
	for s := range b.Surfaces {
		f := shade.Field{Plane: PlaneOf(b, s, posture)}
		for m := range b.Modules {
			if b.Modules[m].Surface != s {
				continue
			}
			first[m] = n
			for _, c := range b.Cells(&b.Modules[m]) {
				f.Cells = append(f.Cells, c.Outline)
				n++
			}
		}
		fields = append(fields, f)
	}
	return shade.NewScene(fields, bodiesOf(b, posture, omit)), first
}

// flap is the thickness a lid without walls is given.
const flap = 30 * quantity.Millimetre

func bodiesOf(b *build.Build, posture int, omit []Caster) []shade.Body {
	var out []shade.Body
	for s := range b.Surfaces {
		outline := build.Plan(b.Surfaces[s].Outline)
		if len(outline) < 3 || slices.Contains(omit, Caster{Surface: true, Index: s}) {
			continue
		}
		rest, up := shade.Level(b.Surfaces[s].Height), PlaneOf(b, s, posture)
		out = append(out, shade.Prism(shade.Level(0), outline, 0, b.Surfaces[s].Height))
		for _, t := range b.Postures[posture].Tilts {
			switch {
			case t.Surface != s:
			case t.Walls:
				out = append(out, shade.Wedge(rest, up, outline))
			default:
				out = append(out, shade.Prism(up, outline, -flap, 0))
			}
		}
	}
	for i := range b.Obstacles {
		if o := &b.Obstacles[i]; Stands(o, posture) && !slices.Contains(omit, Caster{Index: i}) {
			out = append(out, shade.Prism(PlaneOf(b, o.Surface, posture), build.Plan(o.Outline), o.Base, o.Height))
		}
	}
	return out
}

// roofOf lays out a posture.
func roofOf(b *build.Build, posture int, omit []Caster) *roof {
	scene, first := SceneOf(b, posture, omit)
	r := newRoof(b, posture, scene, first)
	r.table = shade.NewTable(scene)
	for i := range r.sky {
		r.sky[i] = math.Round(r.table.Sky(i).Float()*skySteps) / skySteps
	}
	if r.shades = r.curved || !r.table.Clear(); !r.shades {
		r.table = nil
	}
	return r
}

// newRoof lays out the cells of a scene.
func newRoof(b *build.Build, posture int, scene *shade.Scene, first []int) *roof {
	r := &roof{first: first, shades: true, sky: make([]float64, scene.Cells()), group: make([]int, scene.Cells()), normal: make([]shade.Vector, scene.Cells()), plane: make([]shade.Vector, scene.Cells())}
	for m := range b.Modules {
		s := &b.Surfaces[b.Modules[m].Surface]
		plane := PlaneOf(b, b.Modules[m].Surface, posture)
		for k, c := range b.Cells(&b.Modules[m]) {
			n := first[m] + k
			r.plane[n], r.normal[n], r.group[n] = plane.Normal, plane.Normal, c.Group
			if s.Camber != nil && s.Camber.Sagitta > 0 {
				r.curved = true
				r.normal[n] = arched(s, plane, c.Outline)
			}
		}
	}
	return r
}

// arched returns the normal of a cell on a surface curved to an arc of a circle.
func arched(s *build.Surface, plane shade.Plane, cell shape.Polygon) shade.Vector {
	box, at := build.Plan(s.Outline).Bounds(), cell.Bounds()
	chord, off := box.High.Y-box.Low.Y, (at.Low.Y+at.High.Y)/2-(box.Low.Y+box.High.Y)/2
	axis := plane.Across
	if !s.Camber.Across {
		chord, off = box.High.X-box.Low.X, (at.Low.X+at.High.X)/2-(box.Low.X+box.High.X)/2
		axis = plane.Along
	}
	h := s.Camber.Sagitta.Metres()
	sin := off / ((chord*chord/4 + h*h) / (2 * h))
	cos := math.Sqrt(max(0, 1-sin*sin))
	n := plane.Normal
	return shade.Vector{X: n.X*cos + axis.X*sin, Y: n.Y*cos + axis.Y*sin, Z: n.Z*cos + axis.Z*sin}
}

// layRoofs lays out every posture of the trip, once.
func (p *plant) layRoofs(omit []Caster) {
	p.roofs = make([]*roof, len(p.build.Postures))
	for i := range p.build.Trip.Legs {
		if k := p.build.Trip.Legs[i].Posture; p.roofs[k] == nil {
			r := roofOf(p.build, k, omit)
			for i := range p.banks {
				b, sum := &p.banks[i], 0.0
				for _, m := range b.modules {
					for c := range b.cells {
						sum += r.sky[r.first[m]+c]
					}
				}
				r.open = append(r.open, sum/float64(b.cells*len(b.modules)))
			}
			p.roofs[k] = r
		}
	}
}

// shadows is the light on the cells of a step, by the roof of its posture.
type shadows struct {
	roof  *roof
	beam  []float64     // by cell: of the direct light on its plane
	even  bool          // beam is 1 for all
	exact *shade.Caster // computes instead of reading a table
	apart bool          // lights that differ little are not solved as one: a test's oracle
}

// cast finds the shadows of a sun in the vehicle's frame.
func (s *shadows) cast(r *roof, sun shade.Vector) {
	s.roof = r
	if !r.shades {
		return
	}
	if s.exact != nil {
		s.even = !s.exact.Lit(sun, s.beam)
	} else {
		s.even = !r.table.Lit(sun, s.beam)
	}
	if !r.curved {
		return
	}
	if s.even {
		for i := range s.beam[:len(r.sky)] {
			s.beam[i] = 1
		}
		s.even = false
	}
	s.bend(sun)
}

// bend turns the direct light on a plane to that on cells of a curved surface.
func (s *shadows) bend(sun shade.Vector) {
	r := s.roof
	for i := range s.beam[:len(r.sky)] {
		if flat := r.plane[i].Dot(sun); flat > 0.02 {
			s.beam[i] *= max(0, r.normal[i].Dot(sun)) / flat
		}
	}
}

// parts returns the shares of direct and sky light that reach a module's cells, in the mean.
func (s *shadows) parts(first, count int) (beam, sky float64) {
	if s.even {
		beam = float64(count)
	}
	for i := first; i < first+count; i++ {
		sky += s.roof.sky[i]
		if !s.even {
			beam += s.beam[i]
		}
	}
	return beam / float64(count), sky / float64(count)
}

// ShadowHours returns, for each caster, the hours of the trip in which the sun, under a clear sky and over
// what surrounds the vehicle, throws its shadow on a hundredth of a cell at least; every as in Options. A
// free heading counts as the mean of all.
func ShadowHours(b *build.Build, casters []Caster, every int) []float64 {
	out := make([]float64, len(casters))
	if b == nil || len(casters) == 0 {
		return out
	}
	t := lay(b)
	p := &plant{build: b}
	lit := make([]float64, 0)
	for c := range casters {
		p.layRoofs(slices.Concat(casters[:c], casters[c+1:]))
		for d := range t.days {
			if every > 1 && d%every != 0 {
				continue
			}
			for k := range t.days[d].count {
				m := &t.moments[t.days[d].first+k]
				leg := &b.Trip.Legs[m.leg]
				r := p.roofs[leg.Posture]
				if m.idle || r.table == nil || m.beam < 0.5 || m.sun.Elevation() < lowSun {
					continue
				}
				if cap(lit) < len(r.sky) {
					lit = make([]float64, len(r.sky))
				}
				lit = lit[:len(r.sky)]
				out[c] += shadowShare(r, m, leg, lit) * seconds / 3600
			}
		}
	}
	return out
}

// lowSun is the elevation under which no hours of shadow are counted: the beam is weaker than sunshine.
const lowSun = 3 * quantity.Degree

// shadowShare returns the share of a leg's headings in which a shadow lies on a cell.
func shadowShare(r *roof, m *moment, leg *build.Leg, lit []float64) float64 {
	hit := func(heading quantity.Angle) float64 {
		if r.table.Lit(shade.SunFrom(m.sun.Azimuth, m.sun.Elevation(), heading), lit) {
			for _, x := range lit {
				if x < 0.99 {
					return 1
				}
			}
		}
		return 0
	}
	switch {
	case leg.Drive:
		return hit(quantity.Angle(m.course))
	case !leg.HeadingFree:
		return hit(leg.Heading)
	}
	sum := 0.0
	for h := range headings {
		sum += hit(quantity.Angle(float64(h)*360/headings) * quantity.Degree)
	}
	return sum / headings
}
