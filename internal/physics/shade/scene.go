package shade

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// Vector is a place or a direction in the vehicle frame, metres.
type Vector struct{ X, Y, Z float64 }

func (a Vector) plus(b Vector) Vector { return Vector{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

func (a Vector) minus(b Vector) Vector { return Vector{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

func (a Vector) times(k float64) Vector { return Vector{k * a.X, k * a.Y, k * a.Z} }

// Dot returns the scalar product.
func (a Vector) Dot(b Vector) float64 { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }

func (a Vector) cross(b Vector) Vector {
	return Vector{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
}

// SunFrom returns the direction to a sun of the given azimuth and elevation in the frame of a vehicle whose
// front looks to heading; azimuths clockwise from north.
func SunFrom(azimuth, elevation, heading quantity.Angle) Vector {
	sinA, cosA := math.Sincos(azimuth.Radians() - heading.Radians())
	sinE, cosE := math.Sincos(elevation.Radians())
	return Vector{-cosE * cosA, cosE * sinA, sinE}
}

// Plane is the plane of a surface: a place on it and its axes, at right angles and of length one. At rest
// Along is x and Across is y of the vehicle, and plan coordinates are distances along them from Origin.
type Plane struct{ Origin, Along, Across, Normal Vector }

// Level returns the level plane at a height, with plan coordinates of the vehicle.
func Level(height quantity.Length) Plane {
	return Plane{Vector{0, 0, height.Metres()}, Vector{1, 0, 0}, Vector{0, 1, 0}, Vector{0, 0, 1}}
}

// Raised returns the plane turned by an angle about the line through two of its points in plan, so that
// what lies to the right of the way from one to the other rises.
func (p Plane) Raised(from, to shape.Point, angle quantity.Angle) Plane {
	a, b := p.At(from), p.At(to)
	axis := b.minus(a)
	axis = axis.times(1 / math.Sqrt(axis.Dot(axis)))
	sin, cos := math.Sincos(-angle.Radians())
	turned := func(v Vector) Vector { // Rodrigues' rotation
		return v.times(cos).plus(axis.cross(v).times(sin)).plus(axis.times(axis.Dot(v) * (1 - cos)))
	}
	return Plane{a.plus(turned(p.Origin.minus(a))), turned(p.Along), turned(p.Across), turned(p.Normal)}
}

// At returns the place of a point in plan.
func (p Plane) At(c shape.Point) Vector {
	return p.Origin.plus(p.Along.times(c.X)).plus(p.Across.times(c.Y))
}

// over returns the plan coordinates of a place and its height over the plane.
func (p *Plane) over(v Vector) (c shape.Point, height float64) {
	d := v.minus(p.Origin)
	return shape.Point{X: d.Dot(p.Along), Y: d.Dot(p.Across)}, d.Dot(p.Normal)
}

// Body is a thing that casts shadows, in convex pieces.
type Body struct{ pieces []piece }

// piece is the corners of a convex body and the pairs of them that are its edges.
type piece struct {
	corners []Vector
	edges   [][2]int
}

// Prism returns an outline in the plan of a plane, pulled up along the plane's normal from low to high.
// Nothing is left of an outline without area or of one not higher than low.
func Prism(p Plane, outline shape.Polygon, low, high quantity.Length) Body {
	return between(p, p, outline, low, high)
}

// Wedge returns a lid with its walls: what lies between its outline at rest and raised.
func Wedge(rest, raised Plane, outline shape.Polygon) Body {
	return between(rest, raised, outline, 0, 0)
}

func between(foot, head Plane, outline shape.Polygon, low, high quantity.Length) Body {
	var b Body
	if foot == head && !(high > low) {
		return b
	}
	for _, q := range outline.Pieces() {
		var c piece
		n := len(q)
		for _, at := range q {
			c.corners = append(c.corners, foot.At(at).plus(foot.Normal.times(low.Metres())))
		}
		for _, at := range q {
			c.corners = append(c.corners, head.At(at).plus(head.Normal.times(high.Metres())))
		}
		for i := range n {
			j := (i + 1) % n
			c.edges = append(c.edges, [2]int{i, j}, [2]int{n + i, n + j}, [2]int{i, n + i})
		}
		b.pieces = append(b.pieces, c)
	}
	return b
}

// Cell is a cell in the plan of its field: a convex outline.
type Cell = shape.Polygon

// Field is the cells on one surface.
type Field struct {
	Plane Plane
	Cells []Cell
}

// Scene is fields and what shades them. It does not change once made.
type Scene struct {
	fields []field
	cells  int
}

// field is a field in the scene, with the bodies in its own coordinates.
type field struct {
	plane  Plane
	cells  []shape.Polygon // counter-clockwise
	boxes  []shape.Box
	areas  []float64
	all    shape.Box
	bodies []local
}

// local is a convex piece over a field: plan coordinates and heights of its corners.
type local struct {
	at     []shape.Point
	height []float64
	edges  [][2]int
	top    float64
}

// NewScene returns the scene. It panics on a cell without area.
func NewScene(fields []Field, bodies []Body) *Scene {
	s := &Scene{}
	for _, f := range fields {
		g := field{plane: f.Plane}
		for _, c := range f.Cells {
			q := slices.Clone(c)
			if q.Area() < 0 {
				slices.Reverse(q)
			}
			if len(q) < 3 || q.Area() <= 0 {
				panic("shade: a cell without area")
			}
			box := q.Bounds()
			if len(g.cells) == 0 {
				g.all = box
			}
			g.all.Low.X, g.all.Low.Y = min(g.all.Low.X, box.Low.X), min(g.all.Low.Y, box.Low.Y)
			g.all.High.X, g.all.High.Y = max(g.all.High.X, box.High.X), max(g.all.High.Y, box.High.Y)
			g.cells, g.boxes, g.areas = append(g.cells, q), append(g.boxes, box), append(g.areas, q.Area())
		}
		for _, b := range bodies {
			for _, p := range b.pieces {
				if l := g.place(p); l.top > 0 {
					g.bodies = append(g.bodies, l)
				}
			}
		}
		s.cells += len(g.cells)
		s.fields = append(s.fields, g)
	}
	return s
}

// place returns a piece as the field sees it.
func (f *field) place(p piece) local {
	l := local{edges: p.edges}
	for _, c := range p.corners {
		at, h := f.plane.over(c)
		// What stands on the plane meets it, whatever rounding says.
		if math.Abs(h) < 1e-9 {
			h = 0
		}
		l.at, l.height, l.top = append(l.at, at), append(l.height, h), max(l.top, h)
	}
	return l
}

// Cells returns the number of cells, field by field in the order given.
func (s *Scene) Cells() int { return s.cells }

// Caster finds lit parts. It keeps its memory between calls: one goroutine owns it.
type Caster struct {
	scene  *Scene
	cutter shape.Cutter
	points []shape.Point
	hulls  []shape.Polygon
	boxes  []shape.Box
	over   []shape.Polygon
	unused []shape.Polygon
}

// NewCaster returns a caster of the scene's shadows.
func NewCaster(s *Scene) *Caster { return &Caster{scene: s} }

// grazing is the sine of the sun over a plane under which it counts as behind it.
const grazing = 1e-6

// Lit puts into out, which has the length of all cells, the part of each cell's area that a sun in the
// given direction reaches, 0 to 1; 0 where it stands behind the cell's plane. It reports whether any cell
// in front of the sun is shaded.
func (c *Caster) Lit(sun Vector, out []float64) bool {
	n, shaded := 0, false
	for i := range c.scene.fields {
		f := &c.scene.fields[i]
		part := out[n : n+len(f.cells)]
		n += len(f.cells)
		if c.field(f, sun, part) {
			shaded = true
		}
	}
	return shaded
}

// field finds the lit parts of a field.
func (c *Caster) field(f *field, sun Vector, out []float64) bool {
	up := sun.Dot(f.plane.Normal)
	if up <= grazing {
		clear(out)
		return false
	}
	for i := range out {
		out[i] = 1
	}
	if len(out) == 0 {
		return false
	}
	// A point at height h throws its shadow h times this away from its foot.
	along, across := -sun.Dot(f.plane.Along)/up, -sun.Dot(f.plane.Across)/up
	c.cast(f, along, across)
	if len(c.hulls) == 0 {
		return false
	}
	shaded := false
	for i := range out {
		c.over = c.over[:0]
		for k := range c.hulls {
			if c.boxes[k].Meets(f.boxes[i]) {
				c.over = append(c.over, c.hulls[k])
			}
		}
		if len(c.over) > 0 {
			out[i] = math.Min(1, c.cutter.Left(f.cells[i], c.over)/f.areas[i])
			shaded = shaded || out[i] < 1-1e-9
		}
	}
	return shaded
}

// cast finds the shadows on a field that meet the box of its cells.
func (c *Caster) cast(f *field, along, across float64) {
	c.unused = append(c.unused, c.hulls...)
	c.hulls, c.boxes = c.hulls[:0], c.boxes[:0]
	for i := range f.bodies {
		b := &f.bodies[i]
		c.points = c.points[:0]
		for k, h := range b.height {
			if h >= 0 {
				c.points = append(c.points, shape.Point{X: b.at[k].X + h*along, Y: b.at[k].Y + h*across})
			}
		}
		for _, e := range b.edges { // where a body dips under the plane, it begins there
			g, h := b.height[e[0]], b.height[e[1]]
			if g < 0 && h > 0 || g > 0 && h < 0 {
				x := g / (g - h)
				p, q := b.at[e[0]], b.at[e[1]]
				c.points = append(c.points, shape.Point{X: p.X + x*(q.X-p.X), Y: p.Y + x*(q.Y-p.Y)})
			}
		}
		if len(c.points) < 3 || !shape.Polygon(c.points).Bounds().Meets(f.all) {
			continue
		}
		var room shape.Polygon
		if n := len(c.unused); n > 0 {
			room, c.unused = c.unused[n-1], c.unused[:n-1]
		}
		hull := shape.Hull(c.points, room)
		if len(hull) < 3 {
			c.unused = append(c.unused, hull)
			continue
		}
		c.hulls, c.boxes = append(c.hulls, hull), append(c.boxes, hull.Bounds())
	}
}
