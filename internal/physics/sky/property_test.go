package sky

import (
	"math"
	"math/rand/v2"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/physics/sun"
	"noonmark/internal/testkit"
)

// Any split keeps the light, in range, and the beam under its bound, down to the horizon.
func TestSplitKeepsTheLight(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	for range 50000 {
		g, z := r.Float64()*1500-20, r.Float64()*1.8
		if r.IntN(3) == 0 {
			z = math.Pi/2 - r.Float64()*0.03
		}
		l := Split(watts(g), watts(1361), quantity.Angle(z))
		b, d := l.Beam.WattsPerSquareMetre(), l.Diffuse.WattsPerSquareMetre()
		if sum := math.Max(0, math.Cos(z))*b + d; math.Abs(sum-l.Global.WattsPerSquareMetre()) > 1e-9 || b < 0 || d < 0 || b > 1361*0.9 {
			t.Fatalf("seed %d: global %v W/m², zenith %v rad: %+v", seed, g, z, l)
		}
		if z >= math.Pi/2 && b != 0 {
			t.Fatalf("beam %v W/m² with the sun down", b)
		}
	}
}

// A clear sky closes, falls with the zenith and with haze, and ends at the horizon; a split of it
// finds a beam of the same order.
func TestClearSkyFalls(t *testing.T) {
	for _, h := range []Haze{Clean, Ordinary, Hazy, Smoky} {
		for _, height := range []quantity.Length{0, 1500 * quantity.Metre, 4000 * quantity.Metre} {
			a := DefaultAtmosphere(height, h)
			last := Light{Global: watts(2000), Beam: watts(2000), Diffuse: watts(2000)}
			for z := 0.0; z < 90; z += 0.25 {
				l := ClearSky(degrees(z), watts(1361), a)
				b, d, g := l.Beam.WattsPerSquareMetre(), l.Diffuse.WattsPerSquareMetre(), l.Global.WattsPerSquareMetre()
				if math.Abs(b*math.Cos(z*rad)+d-g) > 1e-9 || b < 0 || d < 0 || b > 1361 {
					t.Fatalf("haze %d, %v m, zenith %v°: %+v", h, height, z, l)
				}
				if l.Beam > last.Beam || l.Global > last.Global {
					t.Fatalf("haze %d, %v m: light rises at zenith %v°: %+v after %+v", h, height, z, l, last)
				}
				last = l
			}
			if l := ClearSky(degrees(90), watts(1361), a); l != (Light{}) {
				t.Errorf("light at the horizon: %+v", l)
			}
		}
	}
	at := func(h Haze) Light { return ClearSky(degrees(30), watts(1361), DefaultAtmosphere(0, h)) }
	if !(at(Clean).Beam > at(Ordinary).Beam && at(Ordinary).Beam > at(Hazy).Beam && at(Hazy).Beam > at(Smoky).Beam && at(Smoky).Diffuse > at(Clean).Diffuse) {
		t.Error("haze does not dim the beam and brighten the sky")
	}
}

// Flat, every model gives the global light up to 85°; no part but the horizon's is negative, and sky
// light never is.
func TestTranspositionLimits(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, 1))
	for range 50000 {
		z := r.Float64() * 100 * rad
		b, d := r.Float64()*1000, r.Float64()*500
		if r.IntN(4) == 0 {
			d = r.Float64()
		}
		if math.Cos(z) <= 0 {
			b = 0
		}
		l := Light{Global: watts(b*math.Max(0, math.Cos(z)) + d), Beam: watts(b), Diffuse: watts(d)}
		p := sun.Position{Zenith: quantity.Angle(z), Azimuth: quantity.Angle(r.Float64() * 7)}
		flat := shape.Facing{Azimuth: quantity.Angle(r.Float64() * 7)}
		plane := shape.Facing{Tilt: quantity.Angle(r.Float64() * math.Pi), Azimuth: flat.Azimuth}
		if z <= 85*rad {
			for _, o := range []OnPlane{Transpose(l, p, flat, watts(1361), 0.2), TransposeIsotropic(l, p, flat, 0.2), TransposeHayDavies(l, p, flat, watts(1361), 0.2), TransposeHDKR(l, p, flat, watts(1361), 0.2)} {
				if d := (o.Total() - l.Global).WattsPerSquareMetre(); math.Abs(d) > 1e-9 {
					t.Fatalf("seed %d: flat total off by %g W/m² for %+v", seed, d, l)
				}
			}
		}
		o := Transpose(l, p, plane, watts(1361), 0.2)
		if o.Beam < 0 || o.Circumsolar < 0 || o.Isotropic < 0 || o.Ground < 0 || o.Isotropic+o.Horizon < 0 || math.IsNaN(o.Total().WattsPerSquareMetre()) {
			t.Fatalf("seed %d: %+v from %+v", seed, o, l)
		}
	}
}

// Martin and Ruiz's integrals for sky and ground, and the equivalent angles, agree with a plain
// numerical integral over the part of the sky that the plane sees.
func TestDiffuseTransmittanceIsTheIntegral(t *testing.T) {
	// integral over a hemisphere of the plane, of directions up (sky) or down (ground).
	integral := func(f *Front, tilt float64, ground bool) float64 {
		const n = 200
		st, ct := math.Sincos(tilt)
		var sum, weight float64
		for i := range n {
			c := math.Sqrt((float64(i) + 0.5) / n) // uniform in cos², the cosine law
			s := math.Sqrt(1 - c*c)
			for k := range n {
				a := (float64(k) + 0.5) / n * 2 * math.Pi
				if up := c*ct + s*math.Cos(a)*st; (up < 0) != ground {
					continue
				}
				sum += f.BeamTransmittance(quantity.Ratio(c)).Float()
				weight++
			}
		}
		return sum / weight
	}
	fronts := map[string]Front{"glass by Martin and Ruiz": FrontOf(FloatGlass), "film": FrontOf(Fluoropolymer), "pane": Pane(Cover{Index: 1.526, Depth: 0.008})}
	for name, f := range fronts {
		for _, tilt := range []float64{0, 10, 20, 45, 90} {
			testkit.Near(t, f.SkyTransmittance(degrees(tilt)).Float(), integral(&f, tilt*rad, false), 0.015, name+", sky")
			if tilt >= 20 {
				testkit.Near(t, f.GroundTransmittance(degrees(tilt)).Float(), integral(&f, tilt*rad, true), 0.06, name+", ground")
			}
		}
	}
}

// A front passes all at normal incidence, nothing behind, ever less as the light leans, and never
// more than the whole.
func TestFrontLimits(t *testing.T) {
	for _, m := range []Material{FloatGlass, TexturedGlass, Fluoropolymer, PET} {
		f := FrontOf(m)
		last := 1.0
		for i := 0.0; i <= 100; i++ {
			x := f.BeamTransmittance(quantity.Ratio(math.Cos(i * rad))).Float()
			if x > last+1e-12 || x < 0 || i == 0 && x != 1 || i >= 90.001 && x != 0 {
				t.Fatalf("material %d: %v at %v°", m, x, i)
			}
			last = x
		}
		for tilt := 0.0; tilt <= 180; tilt += 0.5 {
			for _, x := range []quantity.Ratio{f.SkyTransmittance(degrees(tilt)), f.GroundTransmittance(degrees(tilt)), f.HorizonTransmittance(degrees(tilt))} {
				if !(x >= 0 && x <= 1) {
					t.Fatalf("material %d, tilt %v°: %v", m, tilt, x)
				}
			}
		}
		for i := 0.0; i < 88; i += 0.1 {
			c := math.Cos(i * rad)
			want := (1 - math.Exp(-c/m.angularLoss())) / (1 - math.Exp(-1/m.angularLoss()))
			testkit.Near(t, f.BeamTransmittance(quantity.Ratio(c)).Float(), want, 3e-5, "table against formula")
		}
	}
}

// The presets' shares of the sky are those their yearly ratios were fitted with.
func TestSkylines(t *testing.T) {
	for s, want := range map[Surroundings]float64{Open: 0.97, Motorway: 0.93, Suburb: 0.86, Town: 0.76, Street: 0.52, TreesInLeaf: 0.15, TreesBare: 0.5} {
		testkit.Near(t, SkylineOf(s).SkyShare().Float(), want, 0.0151, "share of the sky")
	}
	l := NewSkyline(20*quantity.Degree, 6*quantity.Degree)
	testkit.Near(t, l.BeamShare(20*quantity.Degree).Float(), 0.5, 1e-12, "beam at the middle")
	if (Skyline{}).SkyShare() < 0.999999 || (Skyline{}).BeamShare(degrees(1)) != 1 {
		t.Error("the zero skyline hides something")
	}
	literal := Skyline{H0: 20 * quantity.Degree, S: 6 * quantity.Degree}
	if literal.SkyShare() != l.SkyShare() || literal.BeamShare(degrees(33)) != l.BeamShare(degrees(33)) {
		t.Error("a literal differs from a made one")
	}
	if TreesInLeaf := SkylineOf(TreesInLeaf); TreesInLeaf.BeamShare(degrees(3)) != TreesInLeaf.BeamShare(degrees(80)) {
		t.Error("a canopy has no flat factor")
	}
}

// A ring is the cosine squared; a half wall half of it; the sun goes down over its own width.
func TestHorizon(t *testing.T) {
	open := NewHorizon(nil)
	testkit.Near(t, open.SkyShare().Float(), 1, 1e-12, "open")
	ring := NewHorizon([]HorizonPoint{{Elevation: degrees(30)}})
	testkit.Near(t, ring.SkyShare().Float(), 0.75, 1e-12, "ring of 30°")
	half := NewHorizon([]HorizonPoint{{degrees(90), degrees(0)}, {degrees(90), degrees(60)}, {degrees(270), degrees(60)}, {degrees(270), 0}})
	testkit.Near(t, half.SkyShare().Float(), 0.5+0.5*0.25, 0.003, "wall over half the horizon")
	if half.BeamShare(degrees(180), degrees(50)) != 0 || half.BeamShare(degrees(0), degrees(50)) != 1 || half.BeamShare(degrees(-180), degrees(50)) != 0 {
		t.Error("the wall stands on the wrong side")
	}
	turned := NewHorizon([]HorizonPoint{{degrees(350), degrees(10)}, {degrees(10), degrees(20)}})
	testkit.Near(t, turned.BeamShare(degrees(0), degrees(15)).Float(), 0.5, 1e-9, "in line through north, half the disc")
	last := -1.0
	for e := 29.5; e < 30.5; e += 0.01 {
		x := ring.BeamShare(degrees(77), degrees(e)).Float()
		if x < last {
			t.Fatalf("the disc shrinks as it rises at %v°", e)
		}
		last = x
	}
	if ring.BeamShare(0, degrees(29.7)) != 0 || ring.BeamShare(0, degrees(30.3)) != 1 {
		t.Error("the disc is wider than the sun's")
	}
}

func TestNoAllocation(t *testing.T) {
	a, f := DefaultAtmosphere(0, Ordinary), FrontOf(FloatGlass)
	p := sun.Position{Zenith: degrees(40), Azimuth: degrees(170), Distance: 1}
	plane := shape.Facing{Tilt: degrees(10), Azimuth: degrees(180)}
	if n := testing.AllocsPerRun(100, func() {
		l := ClearSky(p.Zenith, watts(1361), a)
		l = Split(l.Global, watts(1361), p.Zenith)
		o := Transpose(l, p, plane, watts(1361), 0.2)
		_ = f.Through(o, p.CosIncidence(plane), plane.Tilt)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

var sink quantity.Irradiance

func BenchmarkClearSky(b *testing.B) {
	a := DefaultAtmosphere(300*quantity.Metre, Ordinary)
	b.ReportAllocs()
	for b.Loop() {
		sink = ClearSky(degrees(50), watts(1361), a).Global
	}
}

func BenchmarkSplit(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		sink = Split(watts(500), watts(1361), degrees(50)).Beam
	}
}

func BenchmarkTranspose(b *testing.B) {
	l := Light{Global: watts(600), Beam: watts(700), Diffuse: watts(150)}
	p := sun.Position{Zenith: degrees(50), Azimuth: degrees(170), Distance: 1}
	plane := shape.Facing{Tilt: degrees(10), Azimuth: degrees(180)}
	b.ReportAllocs()
	for b.Loop() {
		sink = Transpose(l, p, plane, watts(1361), 0.2).Total()
	}
}

func BenchmarkThrough(b *testing.B) {
	f := FrontOf(FloatGlass)
	o := OnPlane{Beam: watts(500), Circumsolar: watts(50), Isotropic: watts(100), Ground: watts(5)}
	b.ReportAllocs()
	for b.Loop() {
		sink = f.Through(o, 0.7, degrees(10)).Beam
	}
}

// An instant gives what Split and Transpose give.
func TestInstant(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, 1))
	for range 20000 {
		p := sun.Position{Zenith: quantity.Angle(r.Float64() * 1.6), Azimuth: quantity.Angle(r.Float64() * 6.28)}
		plane := shape.Facing{Tilt: quantity.Angle(r.Float64() * 1.5), Azimuth: quantity.Angle(r.Float64() * 6.28)}
		if r.IntN(4) == 0 {
			plane.Tilt = 0
		}
		beyond, albedo := watts(1320+80*r.Float64()), quantity.Ratio(r.Float64())
		g := watts(r.Float64() * 1200 * math.Max(0, math.Cos(p.Zenith.Radians())))
		at := NewInstant(p, beyond)
		want, got := Split(g, beyond, p.Zenith), at.Split(g)
		if want != got {
			t.Fatalf("seed %d: split of %v: got %+v, want %+v", seed, g, got, want)
		}
		dome := at.Dome(got)
		on := dome.On(NewSlope(plane.Tilt, albedo), quantity.Ratio(plane.Normal().Dot(p.Direction())))
		full := Transpose(want, p, plane, beyond, albedo)
		for _, pair := range [][2]quantity.Irradiance{{on.Beam, full.Beam}, {on.Circumsolar, full.Circumsolar}, {on.Isotropic, full.Isotropic}, {on.Horizon, full.Horizon}, {on.Ground, full.Ground}} {
			if math.Abs(pair[0].WattsPerSquareMetre()-pair[1].WattsPerSquareMetre()) > 1e-9 {
				t.Fatalf("seed %d: sun %+v, plane %+v: got %+v, want %+v W/m²", seed, p, plane, on, full)
			}
		}
	}
}
