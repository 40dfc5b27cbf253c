package shade

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

func rectangle(x, y, length, width float64) shape.Polygon {
	return shape.Box{Low: shape.Point{X: x, Y: y}, High: shape.Point{X: x + length, Y: y + width}}.Rectangle()
}

// grid is a field of cells of a side, in rows and columns from a corner, a millimetre or two between them.
func grid(x, y, side float64, rows, columns int) []Cell {
	var out []Cell
	for r := range rows {
		for c := range columns {
			out = append(out, rectangle(x+float64(c)*(side+0.002), y+float64(r)*(side+0.002), side, side))
		}
	}
	return out
}

// roof draws two modules of 36 cells on a level roof and up to four things about them, one of them on a
// raised lid at times.
func roof(t *rapid.T) *Scene {
	at := Level(2.1 * quantity.Metre)
	cells := append(grid(0.3, 0.1, 0.125, 4, 9), grid(0.3, 0.75, 0.125, 4, 9)...)
	var bodies []Body
	for range rapid.IntRange(1, 4).Draw(t, "things") {
		x, y := rapid.Float64Range(-0.2, 2.2).Draw(t, "x"), rapid.Float64Range(-0.3, 1.6).Draw(t, "y")
		l, w := rapid.Float64Range(0.03, 0.6).Draw(t, "length"), rapid.Float64Range(0.03, 0.6).Draw(t, "width")
		h := rapid.Float64Range(0.05, 0.45).Draw(t, "height")
		bodies = append(bodies, Prism(at, rectangle(x, y, l, w), 0, quantity.Length(h)))
	}
	if rapid.Bool().Draw(t, "lid") {
		up := at.Raised(shape.Point{X: 2, Y: 0}, shape.Point{X: 2, Y: 1.4}, 25*quantity.Degree)
		bodies = append(bodies, Wedge(at, up, rectangle(2, 0, 1, 1.4)))
	}
	return NewScene([]Field{{Plane: at, Cells: cells}}, bodies)
}

// A table agrees with the direct computation over random roofs: 0.01 of a cell on average over the sun's
// way through a day, and 0.3 % of the day's beam.
func TestTable(t *testing.T) {
	worst, worstDay := 0.0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		s := roof(t)
		table, caster := NewTable(s), NewCaster(s)
		latitude, declination := rapid.Float64Range(-60, 60).Draw(t, "latitude")*math.Pi/180, rapid.Float64Range(-23.4, 23.4).Draw(t, "declination")*math.Pi/180
		heading := quantity.Angle(rapid.Float64Range(0, 360).Draw(t, "heading")) * quantity.Degree
		want, got := make([]float64, s.Cells()), make([]float64, s.Cells())
		var miss, beam, read float64
		n := 0
		for k := range 288 {
			w := (float64(k) - 144) * math.Pi / 144
			sin := math.Sin(latitude)*math.Sin(declination) + math.Cos(latitude)*math.Cos(declination)*math.Cos(w)
			if sin < 0.03 {
				continue
			}
			east := -math.Cos(declination) * math.Sin(w)
			north := math.Cos(latitude)*math.Sin(declination) - math.Sin(latitude)*math.Cos(declination)*math.Cos(w)
			sun := SunFrom(quantity.Angle(math.Atan2(east, north)), quantity.Angle(math.Asin(sin)), heading)
			caster.Lit(sun, want)
			if !table.Lit(sun, got) {
				for i := range got {
					got[i] = 1
				}
			}
			for i := range got {
				miss += math.Abs(got[i] - want[i])
				n++
				beam += sin * want[i]
				read += sin * got[i]
			}
		}
		if n == 0 {
			return
		}
		worst, worstDay = max(worst, miss/float64(n)), max(worstDay, math.Abs(read/beam-1))
		if miss/float64(n) > 0.01 || math.Abs(read/beam-1) > 0.003 {
			t.Fatalf("off by %.4f of a cell on average, by %.4f of the day's beam", miss/float64(n), read/beam-1)
		}
	})
	t.Logf("worst: %.4f of a cell on average, %.5f of a day's beam", worst, worstDay)
}

// More things never let more light through, lit parts lie between 0 and 1, and what lies behind a body as
// the sun sees it is not shaded by it.
func TestLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := Level(2 * quantity.Metre)
		fields := []Field{{Plane: at, Cells: grid(0, 0, 0.15, 4, 6)}}
		var bodies []Body
		sun := SunFrom(quantity.Angle(rapid.Float64Range(0, 7).Draw(t, "azimuth")), quantity.Angle(rapid.Float64Range(0.02, 1.57).Draw(t, "elevation")), 0)
		before := make([]float64, 24)
		NewCaster(NewScene(fields, bodies)).Lit(sun, before)
		for range 4 {
			o := rectangle(rapid.Float64Range(-1, 1.5).Draw(t, "x"), rapid.Float64Range(-1, 1.5).Draw(t, "y"), 0.3, 0.2)
			bodies = append(bodies, Prism(at, o, quantity.Length(rapid.Float64Range(0, 0.2).Draw(t, "base")), 0.3*quantity.Metre))
			after := make([]float64, 24)
			NewCaster(NewScene(fields, bodies)).Lit(sun, after)
			for i := range after {
				if after[i] > before[i]+1e-9 || after[i] < 0 {
					t.Fatalf("cell %d: lit %v after %v", i, after[i], before[i])
				}
			}
			before = after
		}
	})
}

// A lid raised about its front edge has a normal that leans to the front, and its walls shade the roof
// behind it when the sun is before it.
func TestRaised(t *testing.T) {
	rest := Level(2 * quantity.Metre)
	outline := rectangle(0, 0, 1, 1.4)
	// From right to left along the front edge, what lies behind it rises: it lies to the right.
	up := rest.Raised(shape.Point{X: 0, Y: 0}, shape.Point{X: 0, Y: 1.4}, 30*quantity.Degree)
	if n := up.Normal; math.Abs(n.X+0.5) > 1e-12 || math.Abs(n.Z-math.Sqrt(0.75)) > 1e-12 {
		t.Fatalf("the lid looks to %+v, want 30° to the front", n)
	}
	if p := up.At(shape.Point{X: 1, Y: 0.7}); math.Abs(p.Z-2.5) > 1e-12 || math.Abs(p.X-math.Sqrt(0.75)) > 1e-12 {
		t.Fatalf("its rear edge is at %+v", p)
	}
	s := NewScene([]Field{{Plane: rest, Cells: []Cell{rectangle(1.05, 0.6, 0.1, 0.1)}}}, []Body{Wedge(rest, up, outline)})
	out := []float64{0}
	c := NewCaster(s)
	if c.Lit(SunFrom(0, 20*quantity.Degree, 0), out); out[0] != 0 {
		t.Errorf("sun before the lid: %v of the cell behind it lit, want none", out[0])
	}
	if c.Lit(SunFrom(180*quantity.Degree, 20*quantity.Degree, 0), out); out[0] != 1 {
		t.Errorf("sun behind: %v of the cell lit, want all", out[0])
	}
}

// The directions of a table add up to the hemisphere.
func TestHemisphere(t *testing.T) {
	sum := 0.0
	for r := range rings {
		sum += ringWeight(r)
	}
	if math.Abs(sum-1) > 2e-4 {
		t.Errorf("the sky adds up to %v, want 1", sum)
	}
}

// Reading a table and casting allocate nothing.
func TestNoAllocation(t *testing.T) {
	at := Level(2 * quantity.Metre)
	s := NewScene([]Field{{Plane: at, Cells: grid(0, 0, 0.15, 4, 9)}}, []Body{Prism(at, rectangle(-0.3, 0.2, 0.2, 0.2), 0, 0.4*quantity.Metre)})
	table, c, out := NewTable(s), NewCaster(s), make([]float64, s.Cells())
	sun := SunFrom(0, 20*quantity.Degree, 0)
	if !c.Lit(sun, out) || !table.Lit(sun, out) {
		t.Fatal("nothing is shaded")
	}
	if n := testing.AllocsPerRun(100, func() { table.Lit(sun, out); c.Lit(sun, out) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func benchScene() *Scene {
	at := Level(2.1 * quantity.Metre)
	cells := append(grid(0.3, 0.1, 0.125, 4, 9), grid(0.3, 0.75, 0.125, 4, 9)...)
	return NewScene([]Field{{Plane: at, Cells: cells}}, []Body{
		Prism(at, rectangle(1.6, 0.4, 0.4, 0.4), 0, 0.12*quantity.Metre), Prism(at, rectangle(0, 0, 0.05, 1.4), 0.05*quantity.Metre, 0.09*quantity.Metre),
		Prism(at, rectangle(0.3, -0.2, 1.8, 0.12), 0, 0.15*quantity.Metre), Prism(at, shape.Disc(shape.Point{X: 2.1, Y: 0.9}, 0.05, 24), 0, 0.6*quantity.Metre),
	})
}

// BenchmarkTable is the table of a new layout: two modules of 36 cells, four obstacles.
func BenchmarkTable(b *testing.B) {
	for b.Loop() {
		NewTable(benchScene())
	}
}

// BenchmarkRead is one reading of it.
func BenchmarkRead(b *testing.B) {
	s := benchScene()
	t, out := NewTable(s), make([]float64, s.Cells())
	sun := SunFrom(1.2, 20*quantity.Degree, 0)
	b.ReportAllocs()
	for b.Loop() {
		t.Lit(sun, out)
	}
}

// BenchmarkCast is the same, computed.
func BenchmarkCast(b *testing.B) {
	s := benchScene()
	c, out := NewCaster(s), make([]float64, s.Cells())
	sun := SunFrom(1.2, 20*quantity.Degree, 0)
	b.ReportAllocs()
	for b.Loop() {
		c.Lit(sun, out)
	}
}
