package shape

import (
	"cmp"
	"math"
	"slices"
)

// Point is a point of a plane, metres. Inner loops of geometry run over points, so they are plain.
type Point struct{ X, Y float64 }

// Polygon is the corners of a closed outline, the first not repeated. Counter-clockwise ones have a
// positive area.
type Polygon []Point

// turn is twice the area of the triangle a, b, c: positive when c lies to the left of a to b.
func turn(a, b, c Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// Area returns the area, m², negative where the outline runs clockwise. Two corners enclose nothing.
func (p Polygon) Area() float64 {
	sum := 0.0
	for i := 2; i < len(p); i++ {
		sum += turn(p[0], p[i-1], p[i])
	}
	return sum / 2
}

// Box is an upright rectangle.
type Box struct{ Low, High Point }

// Bounds returns the least upright rectangle about p. It panics on a polygon without corners.
func (p Polygon) Bounds() Box {
	b := Box{p[0], p[0]}
	for _, c := range p[1:] {
		b.Low.X, b.Low.Y = min(b.Low.X, c.X), min(b.Low.Y, c.Y)
		b.High.X, b.High.Y = max(b.High.X, c.X), max(b.High.Y, c.Y)
	}
	return b
}

// Meets reports whether two boxes share more than an edge.
func (b Box) Meets(c Box) bool {
	return b.Low.X < c.High.X && c.Low.X < b.High.X && b.Low.Y < c.High.Y && c.Low.Y < b.High.Y
}

// Crosses reports whether two sides that are no neighbours cross or touch, or the outline encloses nothing:
// less than a square millimetre.
func (p Polygon) Crosses() bool {
	n := len(p)
	if n < 3 || math.Abs(p.Area()) < 1e-6 {
		return true
	}
	for i := range n {
		a, b := p[i], p[(i+1)%n]
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			c, d := p[j], p[(j+1)%n]
			if turn(a, b, c)*turn(a, b, d) <= 0 && turn(c, d, a)*turn(c, d, b) <= 0 &&
				min(a.X, b.X) <= max(c.X, d.X) && min(c.X, d.X) <= max(a.X, b.X) &&
				min(a.Y, b.Y) <= max(c.Y, d.Y) && min(c.Y, d.Y) <= max(a.Y, b.Y) {
				return true
			}
		}
	}
	return false
}

// Holds reports whether c lies inside p, edges left undecided.
func (p Polygon) Holds(c Point) bool {
	in := false
	for i := range p {
		a, b := p[i], p[(i+1)%len(p)]
		if (a.Y > c.Y) != (b.Y > c.Y) && c.X < a.X+(c.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

// convex reports whether no corner of a counter-clockwise outline turns right.
func (p Polygon) convex() bool {
	for i := range p {
		if turn(p[i], p[(i+1)%len(p)], p[(i+2)%len(p)]) < -1e-12 {
			return false
		}
	}
	return true
}

// Pieces returns convex polygons, counter-clockwise, that together cover p and nothing else: p itself, or
// triangles, joined where a joint stays convex. An outline that crosses itself gives pieces of its hull at
// worst, never a loop.
func (p Polygon) Pieces() []Polygon {
	q := slices.Clone(p)
	if q.Area() < 0 {
		slices.Reverse(q)
	}
	if len(q) < 3 {
		return nil
	}
	if q.convex() {
		return []Polygon{q}
	}
	var out []Polygon
	for len(q) > 3 {
		cut := 0
		for i := range q {
			if q.ear(i) {
				cut = i
				break
			}
		}
		n := len(q)
		out = join(out, Polygon{q[(cut+n-1)%n], q[cut], q[(cut+1)%n]})
		q = slices.Delete(q, cut, cut+1)
	}
	return join(out, q)
}

// ear reports whether corner i can be cut off: it turns left, and no other corner lies in its triangle.
func (p Polygon) ear(i int) bool {
	n := len(p)
	a, b, c := p[(i+n-1)%n], p[i], p[(i+1)%n]
	if turn(a, b, c) <= 0 {
		return false
	}
	for _, q := range p {
		if q != a && q != b && q != c && turn(a, b, q) >= 0 && turn(b, c, q) >= 0 && turn(c, a, q) >= 0 {
			return false
		}
	}
	return true
}

// join adds a triangle to the pieces, to one of them where the two make a convex polygon.
func join(pieces []Polygon, t Polygon) []Polygon {
	if t.Area() <= 0 {
		return pieces
	}
	for k, p := range pieces {
		for i := range p {
			a, b := p[i], p[(i+1)%len(p)]
			for j := range t {
				if t[j] != b || t[(j+1)%3] != a {
					continue
				}
				if q := slices.Insert(slices.Clone(p), i+1, t[(j+2)%3]); q.convex() {
					pieces[k] = q
					return pieces
				}
			}
		}
	}
	return append(pieces, t)
}

// Hull sorts points and returns their convex hull, counter-clockwise, in out's memory. Fewer than three
// corners are left where the points lie in a line.
func Hull(points []Point, out Polygon) Polygon {
	out = out[:0]
	slices.SortFunc(points, func(a, b Point) int {
		if a.X != b.X {
			return cmp.Compare(a.X, b.X)
		}
		return cmp.Compare(a.Y, b.Y)
	})
	add := func(from int, p Point) {
		for len(out)-from >= 2 && turn(out[len(out)-2], out[len(out)-1], p) <= 0 {
			out = out[:len(out)-1]
		}
		out = append(out, p)
	}
	for _, p := range points {
		add(0, p)
	}
	lower := len(out) - 1
	for i := len(points) - 2; i >= 0; i-- {
		add(lower, points[i])
	}
	if len(out) > 1 {
		out = out[:len(out)-1]
	}
	return out
}

// Cutter finds what of a polygon others leave uncovered. It keeps its memory between calls: one goroutine
// owns it.
type Cutter struct {
	points      []Point // corners of all pieces of a round
	pieces      []span
	next        []Point
	nextPieces  []span
	rest, other []Point
}

// span is a piece in the corners of a round.
type span struct{ from, to int }

// Left returns the area of a convex p, counter-clockwise, that no cover hides, m². Covers are convex and
// counter-clockwise, and may overlap. Exact but for rounding: p is cut along the sides of each cover, and
// what lies outside is kept.
func (c *Cutter) Left(p Polygon, covers []Polygon) float64 {
	c.points = append(c.points[:0], p...)
	c.pieces = append(c.pieces[:0], span{0, len(p)})
	for _, k := range covers {
		if len(k) < 3 {
			continue
		}
		c.next, c.nextPieces = c.next[:0], c.nextPieces[:0]
		for _, s := range c.pieces {
			c.without(c.points[s.from:s.to], k)
		}
		c.points, c.next = c.next, c.points
		c.pieces, c.nextPieces = c.nextPieces, c.pieces
		if len(c.pieces) == 0 {
			return 0
		}
	}
	sum := 0.0
	for _, s := range c.pieces {
		sum += Polygon(c.points[s.from:s.to]).Area()
	}
	return sum
}

// without adds the parts of a piece outside a cover to the next round.
func (c *Cutter) without(piece []Point, cover Polygon) {
	c.rest = append(c.rest[:0], piece...)
	for i := range cover {
		a, b := cover[i], cover[(i+1)%len(cover)]
		from := len(c.next)
		c.other = c.other[:0]
		n := len(c.rest)
		p := c.rest[n-1]
		t := turn(a, b, p)
		for _, q := range c.rest {
			u := turn(a, b, q)
			if t > 0 && u < 0 || t < 0 && u > 0 {
				x := t / (t - u)
				m := Point{p.X + x*(q.X-p.X), p.Y + x*(q.Y-p.Y)}
				c.other = append(c.other, m)
				c.next = append(c.next, m)
			}
			if u >= 0 {
				c.other = append(c.other, q)
			}
			if u <= 0 {
				c.next = append(c.next, q)
			}
			p, t = q, u
		}
		if len(c.next)-from >= 3 {
			c.nextPieces = append(c.nextPieces, span{from, len(c.next)})
		} else {
			c.next = c.next[:from]
		}
		c.rest, c.other = c.other, c.rest
		if len(c.rest) < 3 {
			return
		}
	}
}

// Disc returns a regular polygon of n sides about a centre with the area of the circle of a radius.
func Disc(centre Point, radius float64, n int) Polygon {
	r := radius * math.Sqrt(2*math.Pi/(float64(n)*math.Sin(2*math.Pi/float64(n))))
	out := make(Polygon, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = Point{centre.X + r*cos, centre.Y + r*sin}
	}
	return out
}

// Rectangle returns the upright rectangle of a box, counter-clockwise.
func (b Box) Rectangle() Polygon {
	return Polygon{b.Low, {b.High.X, b.Low.Y}, b.High, {b.Low.X, b.High.Y}}
}
