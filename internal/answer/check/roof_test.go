package check

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
)

func at(x, y float64) build.Point {
	return build.Point{X: quantity.Length(x) * quantity.Metre, Y: quantity.Length(y) * quantity.Metre}
}

// roofOf is a flat roof 3 m by 2 m with modules of 1 m by 0.5 m at the corners given.
func roofOf(places ...build.Point) *build.Build {
	mass := 100 * quantity.Kilogram
	b := &build.Build{Surfaces: []build.Surface{{Name: "roof", Skin: "painted steel", Height: 2 * quantity.Metre, LoadMoving: &mass, Outline: []build.Point{at(0, 0), at(3, 0), at(3, 2), at(0, 2)}}},
		Types:    []build.ModuleType{{Name: "thin", Technology: build.FlexibleMono, Front: build.PET, Length: 1 * quantity.Metre, Width: 0.5 * quantity.Metre, Mass: 2 * quantity.Kilogram, MinBendRadius: 0.5 * quantity.Metre}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}}}
	for i, p := range places {
		b.Modules = append(b.Modules, build.Module{Name: string(rune('A' + i)), X: p.X, Y: p.Y})
	}
	return b
}

// only returns the findings with an id.
func only(found []Finding, id string) []Finding {
	return slices.DeleteFunc(slices.Clone(found), func(f Finding) bool { return f.ID != id })
}

func first(t *testing.T, found []Finding, id string) Finding {
	t.Helper()
	got := only(found, id)
	if len(got) == 0 {
		t.Fatalf("no finding %s", id)
	}
	return got[0]
}

// A module inside by 200 mm fits by that; one over the edge, or in the notch of an outline, does not.
func TestFits(t *testing.T) {
	b := roofOf(at(0.2, 0.3))
	if f := first(t, Roof(b), "fits"); f.Verdict != Pass || math.Abs(f.Value-200) > 1e-6 {
		t.Errorf("inside by 200 mm: %v, %v mm", f.Verdict, f.Value)
	}
	b.Modules[0].X = 2.1 * quantity.Metre
	if f := first(t, Roof(b), "fits"); f.Verdict != Fail || f.Value >= 0 {
		t.Errorf("over the edge: %v, %v mm", f.Verdict, f.Value)
	}
	b.Modules[0].X = 1 * quantity.Metre
	b.Surfaces[0].Outline = []build.Point{at(0, 0), at(1.4, 0), at(1.4, 0.6), at(1.5, 0.6), at(1.5, 0), at(3, 0), at(3, 2), at(0, 2)}
	if f := first(t, Roof(b), "fits"); f.Verdict != Fail {
		t.Errorf("over a notch: %v, %v mm", f.Verdict, f.Value)
	}
}

// An obstacle under the module fails; one beside it by less than the practice warns; one on stilts is
// no keep-out.
func TestKeepOut(t *testing.T) {
	b := roofOf(at(0.2, 0.3))
	put := func(x, base float64) Finding {
		b.Obstacles = []build.Obstacle{{Name: "fan", Outline: []build.Point{at(x, 0.3), at(x+0.3, 0.3), at(x+0.3, 0.6), at(x, 0.6)}, Base: quantity.Length(base) * quantity.Metre, Height: 0.3 * quantity.Metre}}
		found := only(Roof(b), "keep-out")
		if len(found) == 0 {
			return Finding{ID: "none"}
		}
		return found[0]
	}
	if f := put(1.0, 0); f.Verdict != Fail || f.ID == "none" {
		t.Errorf("under the module: %+v", f)
	}
	if f := put(1.205, 0); f.Verdict != Warn {
		t.Errorf("5 mm beside: %v", f.Verdict)
	}
	if f := put(1.3, 0); f.Verdict != Pass || math.Abs(f.Value-100) > 1e-6 {
		t.Errorf("100 mm beside: %v, %v", f.Verdict, f.Value)
	}
	if f := put(1.0, 0.2); f.ID != "none" {
		t.Errorf("on stilts: %+v", f)
	}
}

// The distance of boxes is the same both ways and falls to zero as they are pushed together.
func TestApart(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	for range 1000 {
		a := box{0, 0, 0.1 + r.Float64(), 0.1 + r.Float64()}
		c := box{r.Float64()*4 - 2, r.Float64()*4 - 2, 0, 0}
		c.x1, c.y1 = c.x0+0.1+r.Float64(), c.y0+0.1+r.Float64()
		if math.Abs(a.apart(c)-c.apart(a)) > 1e-12 {
			t.Fatalf("seed %d: %v and %v: %v one way, %v the other", seed, a, c, a.apart(c), c.apart(a))
		}
		d := a.apart(c)
		shift := box{a.x0, a.y0, a.x1 + d, a.y1 + d}
		if d > 0 && shift.apart(c) > 1e-9 && c.x0 >= a.x1 && c.y0 >= a.y1 {
			t.Fatalf("seed %d: %v grown by %v still stands %v apart from %v", seed, a, d, shift.apart(c), c)
		}
	}
}

// A curve that rises 100 mm over 2 m has a radius of 5.05 m: the geometry of a chord. A thin module of
// 0.5 m lies on it, one of 6 m does not, glass never without feet, and on feet only with room under it.
func TestBends(t *testing.T) {
	b := roofOf(at(0.2, 0.3))
	b.Surfaces[0].Camber = &build.Camber{Sagitta: 100 * quantity.Millimetre, Across: true}
	f := first(t, Roof(b), "bend-radius")
	if math.Abs(f.Value-5.05) > 1e-9 || f.Verdict != Pass {
		t.Errorf("radius %v m, %v", f.Value, f.Verdict)
	}
	b.Types[0].MinBendRadius = 6 * quantity.Metre
	if f := first(t, Roof(b), "bend-radius"); f.Verdict != Fail {
		t.Errorf("6 m asked: %v", f.Verdict)
	}
	b.Types[0].MinBendRadius = 0
	if f := first(t, Roof(b), "bend-radius"); f.Verdict != Unknown {
		t.Errorf("no radius on the sheet: %v", f.Verdict)
	}
	b.Types[0].Front = build.TexturedGlass
	if f := first(t, Roof(b), "bend-radius"); f.Verdict != Fail {
		t.Errorf("bonded glass on a curve: %v", f.Verdict)
	}
	b.Modules[0].Attachment = build.StandOff
	for gap, want := range map[quantity.Length]Verdict{3 * quantity.Millimetre: Fail, 10 * quantity.Millimetre: Pass} {
		b.Modules[0].Gap = gap // the curve rises 6.2 mm under 0.5 m
		if f := first(t, Roof(b), "bend-clearance"); f.Verdict != want || math.Abs(f.Limit-6.2) > 0.05 {
			t.Errorf("gap %v: %v, limit %v mm", gap, f.Verdict, f.Limit)
		}
	}
}

// The free strip beside, between and under overlapping modules is found, for a roof that is walked on.
func TestWalking(t *testing.T) {
	yes := true
	for _, c := range []struct {
		places []build.Point
		want   float64
		v      Verdict
	}{{[]build.Point{at(0, 0)}, 1500, Pass}, {[]build.Point{at(0, 0.7), at(1, 0.9)}, 700, Pass}, {[]build.Point{at(0, 0.1), at(0, 0.7), at(0, 1.3)}, 200, Warn},
		{[]build.Point{at(0, 0), at(1, 0.45), at(2, 0.9), at(0, 1.35)}, 150, Warn}} {
		b := roofOf(c.places...)
		b.Surfaces[0].Walked = &yes
		if f := first(t, Roof(b), "walking-strip"); math.Abs(f.Value-c.want) > 0.1 || f.Verdict != c.v {
			t.Errorf("modules at %v: %v mm, %v; want %v mm, %v", c.places, f.Value, f.Verdict, c.want, c.v)
		}
	}
}

// Rough tracks count half as much again on the move and nothing at a stand; sleepers count at a stand
// only, and not on a lid; without a rating at a stand it is derived from that on the move.
func TestMasses(t *testing.T) {
	b := roofOf(at(0.2, 0.3), at(0.2, 1))
	plain := first(t, Roof(b), "mass-moving").Value
	if math.Abs(plain-4*extras) > 1e-9 {
		t.Errorf("two of 2 kg: %v kg", plain)
	}
	sleepers := 150 * quantity.Kilogram
	b.Vehicle.OffRoad, b.Vehicle.Sleepers = true, &sleepers
	if f := first(t, Roof(b), "mass-moving"); math.Abs(f.Value-roughRoad*plain) > 1e-9 {
		t.Errorf("rough tracks: %v kg", f.Value)
	}
	if f := first(t, Roof(b), "mass-standing"); math.Abs(f.Value-plain-150) > 1e-9 || f.Limit != 100*standingShare || f.Verdict != Pass {
		t.Errorf("standing: %v kg of %v, %v", f.Value, f.Limit, f.Verdict)
	}
	b.Surfaces[0].HasHinge = true
	if f := first(t, Roof(b), "mass-standing"); math.Abs(f.Value-plain) > 1e-9 {
		t.Errorf("nobody sleeps on a lid: %v kg", f.Value)
	}
}

// The highest thing on the move counts: a module on feet, a fan, but not a fan that is up at a stand
// only; within 50 mm of a limit is close.
func TestHeights(t *testing.T) {
	b := roofOf(at(0.2, 0.3))
	thick := 20 * quantity.Millimetre
	b.Types[0].Thickness, b.Modules[0].Gap = &thick, 40*quantity.Millimetre
	b.Vehicle.Heights = []build.HeightLimit{{Name: "gate", Limit: 2.1 * quantity.Metre}}
	if f := first(t, Roof(b), "height"); math.Abs(f.Value-2.06) > 1e-9 || f.Verdict != Warn {
		t.Errorf("module on feet: %v m, %v", f.Value, f.Verdict)
	}
	fan := build.Obstacle{Name: "fan", Outline: []build.Point{at(2, 1), at(2.3, 1), at(2.3, 1.3), at(2, 1.3)}, Height: 0.3 * quantity.Metre, Postures: []int{1}}
	b.Obstacles = []build.Obstacle{fan}
	if f := first(t, Roof(b), "height"); f.Value > 2.1 {
		t.Errorf("a fan up at a stand only: %v m", f.Value)
	}
	b.Obstacles[0].Postures = nil
	if f := first(t, Roof(b), "height"); math.Abs(f.Value-2.3) > 1e-9 || f.Verdict != Fail {
		t.Errorf("fan: %v m, %v", f.Value, f.Verdict)
	}
}

// A strut's arm is the distance of the hinge from the line of the strut, whatever the angle; a strut in
// line with the hinge has none.
func TestArm(t *testing.T) {
	s := &build.Struts{OnLid: 0.9 * quantity.Metre, OnBody: 0.4 * quantity.Metre, Below: 0.2 * quantity.Metre}
	for _, open := range []float64{0, 0.1, 0.5, 1.2} {
		lx, ly := 0.9*math.Cos(open), 0.9*math.Sin(open)
		want := toLine(0, 0, 0.4, -0.2, lx, ly)
		if got := armOf(s, open); math.Abs(got-want) > 1e-12 {
			t.Errorf("open %v: arm %v m, want %v m", open, got, want)
		}
	}
	if got := armOf(&build.Struts{OnLid: 0.5 * quantity.Metre, OnBody: 0.5 * quantity.Metre}, 0); got != 0 {
		t.Errorf("both balls in one place: arm %v m", got)
	}
}

// toLine is the distance of a point from the line through two others, by twice the area of the triangle.
func toLine(x, y, ax, ay, bx, by float64) float64 {
	return math.Abs((bx-ax)*(y-ay)-(by-ay)*(x-ax)) / math.Hypot(bx-ax, by-ay)
}

// A colder morning, a heavier lid and older struts each take lift away.
func TestStrutsLaws(t *testing.T) {
	value := func(kg, low, left float64) float64 {
		b := lidOf(kg, 1.0, 0.25)
		b.Surfaces[0].Struts.Left = quantity.Ratio(left)
		found := struts(b, 0, nil, Extremes{Low: quantity.Celsius(low), LowAt: "a pass"})
		return found[0].Value
	}
	base := value(40, 0, 1)
	if !(value(40, -20, 1) < base && value(50, 0, 1) < base && value(40, 0, 0.8) < base) {
		t.Errorf("cold %v, heavy %v, old %v, against %v", value(40, -20, 1), value(50, 0, 1), value(40, 0, 0.8), base)
	}
}

// Every skin a build may name has an expansion, fabric apart, which gives way; and a known one has a source.
func TestSkinsExpand(t *testing.T) {
	for _, skin := range catalog.Skins() {
		x, ok := catalog.SkinExpansion(skin)
		if ok == (skin == "coated fabric") {
			t.Errorf("%s: known %v", skin, ok)
		}
		if ok && (x.Low <= 0 || x.High < x.Low || x.Source.Title == "") {
			t.Errorf("%s: %+v", skin, x)
		}
	}
}
