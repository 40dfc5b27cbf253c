package shape

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// star draws an outline that does not cross itself: radii about a centre.
func star(t *rapid.T, name string) Polygon {
	n := rapid.IntRange(3, 9).Draw(t, name)
	x, y := rapid.Float64Range(-1, 1).Draw(t, name), rapid.Float64Range(-1, 1).Draw(t, name)
	p := make(Polygon, n)
	for i := range p {
		r := rapid.Float64Range(0.2, 1.5).Draw(t, name)
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		p[i] = Point{x + r*cos, y + r*sin}
	}
	return p
}

// Convex pieces of any simple outline have its area, are convex, and do not overlap.
func TestPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := star(t, "outline")
		sum := 0.0
		for _, q := range p.Pieces() {
			if !q.convex() || q.Area() <= 0 {
				t.Fatalf("piece %v is not convex and counter-clockwise", q)
			}
			sum += q.Area()
		}
		if math.Abs(sum-p.Area()) > 1e-9 {
			t.Fatalf("pieces of %v have %v m², want %v m²", p, sum, p.Area())
		}
		r := slices.Clone(p)
		slices.Reverse(r)
		back := 0.0
		for _, q := range r.Pieces() {
			back += q.Area()
		}
		if math.Abs(back-sum) > 1e-9 {
			t.Fatalf("clockwise: %v m², want %v m²", back, sum)
		}
	})
}

// What covers leave of a rectangle agrees with counting points of a fine grid, whatever overlaps.
func TestLeft(t *testing.T) {
	var c Cutter
	rapid.Check(t, func(t *rapid.T) {
		cell := Box{Point{-0.5, -0.4}, Point{0.6, 0.7}}.Rectangle()
		var covers []Polygon
		for range rapid.IntRange(0, 4).Draw(t, "covers") {
			covers = append(covers, star(t, "cover").Pieces()...)
		}
		got := c.Left(cell, covers)
		const n = 200
		free := 0
		for i := range n {
			for j := range n {
				p := Point{-0.5 + 1.1*(float64(i)+0.5)/n, -0.4 + 1.1*(float64(j)+0.5)/n}
				if !slices.ContainsFunc(covers, func(k Polygon) bool { return k.Holds(p) }) {
					free++
				}
			}
		}
		want := float64(free) / n / n * cell.Area()
		if math.Abs(got-want) > 0.02 {
			t.Fatalf("left %v m², by counting %v m²", got, want)
		}
	})
}

// A quarter of a square under a corner, and a cross of two bars, by hand.
func TestLeftByHand(t *testing.T) {
	var c Cutter
	square := Box{Point{0, 0}, Point{1, 1}}.Rectangle()
	corner := Box{Point{0.5, 0.5}, Point{2, 2}}.Rectangle()
	if got := c.Left(square, []Polygon{corner, corner}); math.Abs(got-0.75) > 1e-15 {
		t.Errorf("a covered quarter leaves %v, want 0.75", got)
	}
	bars := []Polygon{Box{Point{-1, 0.4}, Point{2, 0.6}}.Rectangle(), Box{Point{0.4, -1}, Point{0.6, 2}}.Rectangle()}
	if got := c.Left(square, bars); math.Abs(got-0.64) > 1e-15 {
		t.Errorf("two crossed bars of a fifth leave %v, want 0.64", got)
	}
	if n := testing.AllocsPerRun(100, func() { c.Left(square, bars) }); n != 0 {
		t.Errorf("Left allocates %v times", n)
	}
}

// The hull holds every point, and of a disc it is the disc.
func TestHull(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := []Point(star(t, "points"))
		h := Hull(slices.Clone(points), nil)
		if !h.convex() {
			t.Fatalf("hull %v is not convex", h)
		}
		for _, p := range points {
			for i := range h {
				if turn(h[i], h[(i+1)%len(h)], p) < -1e-9 {
					t.Fatalf("%v lies outside its hull %v", p, h)
				}
			}
		}
	})
	d := Disc(Point{1, 2}, 0.1, 64)
	if a := Hull(slices.Clone(d), nil).Area(); math.Abs(a-math.Pi*0.01) > 1e-12 {
		t.Errorf("a disc of 10 cm has %v m², want %v m²", a, math.Pi*0.01)
	}
}

// An hourglass, a line and a repeated corner are no outlines; an L is.
func TestCrosses(t *testing.T) {
	for _, p := range []Polygon{{{0, 0}, {1, 1}, {1, 0}, {0, 1}}, {{0, 0}, {1, 0}, {2, 0}}, {{0, 0}, {1, 0}}, {{0, 0}, {2, 0}, {2, 1}, {1, 0}, {0, 1}}} {
		if !p.Crosses() {
			t.Errorf("%v: want crossing", p)
		}
	}
	if l := (Polygon{{0, 0}, {2, 0}, {2, 1}, {1, 1}, {1, 2}, {0, 2}}); l.Crosses() || len(l.Pieces()) != 2 {
		t.Errorf("an L crosses: %v, pieces %v", l.Crosses(), l.Pieces())
	}
}
