package draw

import (
	"fmt"
	"math"
	"slices"

	"noonmark/internal/base/quantity"
)

// Scale is how much smaller the drawing is than the thing: 15 stands for 1 : 15.
type Scale float64

// scales are the usual ones.
var scales = []Scale{1, 2, 2.5, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 200, 500, 1000}

// ScaleFor returns the largest usual scale at which a thing fits a box of the sheet, in millimetres; 1 : 1000
// when none does.
func ScaleFor(length, width quantity.Length, boxWidth, boxHeight float64) Scale {
	for _, s := range scales {
		if s.Of(length) <= boxWidth && s.Of(width) <= boxHeight {
			return s
		}
	}
	return scales[len(scales)-1]
}

// Of returns a length of the thing as millimetres on the sheet.
func (s Scale) Of(l quantity.Length) float64 { return l.Millimetres() / float64(s) }

// String returns "1 : 15".
func (s Scale) String() string { return fmt.Sprintf("1 : %g", float64(s)) }

// Arrow draws a line with a filled head at its end.
func (s *Scene) Arrow(st Style, from, to Point) {
	d := math.Hypot(to.X-from.X, to.Y-from.Y)
	if d == 0 {
		return
	}
	ux, uy := (to.X-from.X)/d, (to.Y-from.Y)/d
	head := min(2.4, d)
	base := Point{to.X - head*ux, to.Y - head*uy}
	s.Path(st, from, base)
	s.Polygon(Style{Stroke: st.Stroke, Fill: st.Stroke, Width: 0.1}, to,
		Point{base.X - 0.3*head*uy, base.Y + 0.3*head*ux}, Point{base.X + 0.3*head*uy, base.Y - 0.3*head*ux})
}

// Dimension is a dimension line: between two points, set off to the left as one goes from the first to the
// second (to the right when Off is below 0), with its figure.
type Dimension struct {
	From, To Point
	Off      float64
	Figure   string
}

// Dim draws a dimension line with its extension lines, ticks and figure. A figure too wide for its line
// stands beside it.
func (s *Scene) Dim(d Dimension) {
	dx, dy := d.To.X-d.From.X, d.To.Y-d.From.Y
	n := math.Hypot(dx, dy)
	if n == 0 {
		return
	}
	ux, uy := dx/n, dy/n
	nx, ny := uy, -ux // to the left on the sheet, where y is down
	side := math.Copysign(1, d.Off)
	a := Point{d.From.X + d.Off*nx, d.From.Y + d.Off*ny}
	b := Point{d.To.X + d.Off*nx, d.To.Y + d.Off*ny}
	gap := func(p Point, o float64) Point { return Point{p.X + o*side*nx, p.Y + o*side*ny} }
	s.Path(Thin, gap(d.From, 1), gap(a, 1.2))
	s.Path(Thin, gap(d.To, 1), gap(b, 1.2))
	s.Path(Thin, a, b)
	for _, p := range []Point{a, b} {
		s.Path(Style{Stroke: Fine, Width: 0.3}, Point{p.X - 0.8*(ux+nx), p.Y - 0.8*(uy+ny)}, Point{p.X + 0.8*(ux+nx), p.Y + 0.8*(uy+ny)})
	}
	const size = 2.7
	turn := -math.Atan2(uy, ux) * 180 / math.Pi
	if turn <= -90.01 || turn > 90.01 {
		turn += 180
	}
	if math.Abs(turn+90) < 0.02 {
		turn = 90
	}
	t := Text{Text: d.Figure, Size: size, Face: Mono, Ink: Fine, Anchor: Middle, Turn: turn}
	up, right := Point{-math.Sin(turn * math.Pi / 180), -math.Cos(turn * math.Pi / 180)}, Point{math.Cos(turn * math.Pi / 180), -math.Sin(turn * math.Pi / 180)}
	t.At = Point{(a.X+b.X)/2 + 0.8*up.X, (a.Y+b.Y)/2 + 0.8*up.Y}
	if w := Width(Mono, size, d.Figure); w > n-1 {
		end := a
		if (b.X-a.X)*right.X+(b.Y-a.Y)*right.Y > 0 {
			end = b
		}
		t.Anchor = Start
		t.At = Point{end.X + 1.6*right.X - 0.35*size*up.X, end.Y + 1.6*right.Y - 0.35*size*up.Y}
	}
	s.Write(t)
}

// Hatch fills a polygon with parallel lines at an angle in degrees and a distance in millimetres.
func (s *Scene) Hatch(st Style, angle, distance float64, points ...Point) {
	if len(points) < 3 || !(distance > 0.05) {
		return
	}
	sin, cos := math.Sincos(angle * math.Pi / 180)
	turned := make([]Point, len(points))
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range points {
		turned[i] = Point{p.X*cos + p.Y*sin, p.Y*cos - p.X*sin}
		low, high = min(low, turned[i].Y), max(high, turned[i].Y)
	}
	for y := (math.Floor(low/distance) + 0.5) * distance; y < high; y += distance {
		var cuts []float64
		for i, a := range turned {
			b := turned[(i+1)%len(turned)]
			if (a.Y > y) != (b.Y > y) {
				cuts = append(cuts, a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X))
			}
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			s.Path(st, Point{cuts[i]*cos - y*sin, cuts[i]*sin + y*cos}, Point{cuts[i+1]*cos - y*sin, cuts[i+1]*sin + y*cos})
		}
	}
}

// Mark draws a number in a circle, the tie between a drawing and the words beside it.
func (s *Scene) Mark(n int, at Point) {
	s.Circle(Style{Stroke: Line, Width: 0.3, Fill: White}, at, 2.3)
	s.Write(Text{At: Point{at.X, at.Y + 0.95}, Text: fmt.Sprint(n), Size: 2.7, Anchor: Middle})
}

// Box draws a word on a plate, so that lines under it do not run through the letters.
func (s *Scene) Box(t Text) {
	if t.Size <= 0 {
		t.Size = 3
	}
	low, high := t.box()
	s.Rect(Style{Fill: White}, Point{low.X - 0.5, low.Y - 0.4}, high.X-low.X+1, high.Y-low.Y+1)
	s.Write(t)
}
