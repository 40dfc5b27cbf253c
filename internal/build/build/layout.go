package build

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// Footprint returns a module's corners in plan: front left, and the opposite one.
func (b *Build) Footprint(m *Module) (low, high Point) {
	t := &b.Types[m.Type]
	l, w := t.Length, t.Width
	if int(math.Round(m.Turn.Degrees()/90))%2 != 0 {
		l, w = w, l
	}
	return Point{m.X, m.Y}, Point{m.X + l, m.Y + w}
}

// layout finds modules outside their surface, modules that overlap, and modules under an obstacle that
// stands on the surface. Modules that are not placed, or of a type or on a surface that cannot be read,
// are left alone: their own problems say enough.
func (r *resolver) layout(placed []bool) {
	b := r.build
	for i := range b.Modules {
		m := &b.Modules[i]
		if len(b.Types) == 0 || len(b.Surfaces) == 0 || b.Types[m.Type].Width <= 0 {
			placed[i] = false
		}
		if !placed[i] {
			continue
		}
		at := "modules." + m.Name + ".at"
		low, high := b.Footprint(m)
		outline := b.Surfaces[m.Surface].Outline
		for _, c := range []Point{low, {high.X, low.Y}, high, {low.X, high.Y}} {
			if len(outline) > 0 && !inside(outline, c) {
				r.wrong(at, "a place inside %s: the corner at [%v, %v] lies outside", b.Surfaces[m.Surface].Name, c.X, c.Y)
				break
			}
		}
		for j := range i {
			o := &b.Modules[j]
			if !placed[j] || o.Surface != m.Surface {
				continue
			}
			if l, h := b.Footprint(o); overlap(low, high, l, h) {
				r.wrong(at, "a place clear of %s: they overlap by %v by %v", o.Name, min(high.X, h.X)-max(low.X, l.X), min(high.Y, h.Y)-max(low.Y, l.Y))
			}
		}
		for k := range b.Obstacles {
			o := &b.Obstacles[k]
			if o.Surface == m.Surface && o.Base <= 0 && covers(Plan(o.Outline), b.box(m)) > speck {
				r.wrong(at, "a place clear of %s, which stands there; give it a base when it is over the module", o.Name)
			}
		}
	}
}

// slack is by how much parts may overlap: less than a saw cut.
const slack = 0.1 * quantity.Millimetre

// overlap reports whether two boxes, given by their least and greatest corners, overlap.
func overlap(low, high, l, h Point) bool {
	return low.X < h.X-slack && l.X < high.X-slack && low.Y < h.Y-slack && l.Y < high.Y-slack
}

// covers returns the area a polygon covers of a box, m².
func covers(p shape.Polygon, b shape.Box) float64 {
	var c shape.Cutter
	whole := b.Rectangle()
	return whole.Area() - c.Left(whole, p.Pieces())
}

// speck is the least area an obstacle must cover to stand on a module, m²: a square centimetre.
const speck = 1e-4

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
