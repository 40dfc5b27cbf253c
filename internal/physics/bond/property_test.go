package bond

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
)

// Pressure goes with the square of the speed, falls with altitude and heat, and SpeedAt turns it back.
func TestPressureLaws(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	for range 2000 {
		a := Air{Temperature: celsius(r.Float64()*80 - 30), Altitude: quantity.Length(r.Float64() * 4000)}
		v := quantity.Speed(r.Float64() * 50)
		q := DynamicPressure(v, a).Pascals()
		if twice := DynamicPressure(2*v, a).Pascals(); math.Abs(twice-4*q) > 1e-9*twice {
			t.Fatalf("seed %d: %v: %g Pa, twice the speed %g Pa", seed, v, q, twice)
		}
		if back := SpeedAt(quantity.Pressure(q), a); math.Abs(float64(back-v)) > 1e-9 {
			t.Fatalf("seed %d: %v came back as %v", seed, v, back)
		}
		high, warm := a, a
		high.Altitude += 500 * quantity.Metre
		warm.Temperature = a.Temperature.Add(10 * quantity.OneKelvin)
		if !(high.Density() < a.Density() && warm.Density() < a.Density()) {
			t.Fatalf("seed %d: air %+v is not thinner higher and warmer", seed, a)
		}
	}
}

// LooseAllowed and UnzipSpeed are inverses of UnzipLoad; more speed allows less.
func TestUnzipInverse(t *testing.T) {
	const seed = 8
	r := rand.New(rand.NewPCG(seed, 1))
	for range 2000 {
		v := kmh(60 + 100*r.Float64())
		q := DynamicPressure(v, StandardAir)
		peel := quantity.LineForce(20 + 180*r.Float64())
		loose := LooseAllowed(q, peel)
		if loose < 1*quantity.Metre {
			if back := UnzipLoad(q, loose).NewtonsPerMetre(); math.Abs(back-peel.NewtonsPerMetre()) > 1e-9*back {
				t.Fatalf("seed %d: %v at %v: load %g N/m", seed, peel, v, back)
			}
			if back := UnzipSpeed(loose, peel, StandardAir); math.Abs(float64(back-v)) > 1e-6 {
				t.Fatalf("seed %d: %v at %v unzips at %v", seed, loose, v, back)
			}
		}
		if faster := LooseAllowed(DynamicPressure(v+kmh(10), StandardAir), peel); faster >= loose && loose < 1*quantity.Metre {
			t.Fatalf("seed %d: %v at %v, %v ten faster", seed, loose, v, faster)
		}
	}
}

// The front is never better than what lies behind it, a small part never better than a large one,
// rounded eaves never worse than sharp ones.
func TestSuctionOrder(t *testing.T) {
	for z := FrontCorner; z < Back; z++ {
		for _, area := range []quantity.Area{0.3 * quantity.SquareMetre, 1 * quantity.SquareMetre, 3 * quantity.SquareMetre, 20 * quantity.SquareMetre} {
			for _, e := range []Eaves{SharpEaves, RoundedEaves} {
				if Suction(z, e, area) < Suction(z+1, e, area) {
					t.Errorf("%v under %v", z, z+1)
				}
				if Suction(z, e, area) < Suction(z, e, 2*area) {
					t.Errorf("%v: %v under twice the area", z, area)
				}
			}
			if Suction(z, RoundedEaves, area) > Suction(z, SharpEaves, area) {
				t.Errorf("%v: rounded over sharp", z)
			}
		}
	}
}

// A box at the front is in the corner or the edge zone, one farther back in the middle, then the rear;
// both corners are alike.
func TestZones(t *testing.T) {
	roof := Roof{Length: 4 * quantity.Metre, Width: 2 * quantity.Metre, Height: 2.5 * quantity.Metre} // e = 2 m
	m := quantity.Metre
	for _, c := range []struct {
		box  Box
		want Zone
	}{{Box{0.1 * m, 1 * m, 0.1 * m, 0.6 * m}, FrontCorner}, {Box{0.1 * m, 1 * m, 1.4 * m, 1.9 * m}, FrontCorner}, {Box{0.1 * m, 1 * m, 0.8 * m, 1.2 * m}, FrontEdge},
		{Box{0.3 * m, 1 * m, 0.1 * m, 0.6 * m}, Middle}, {Box{1.5 * m, 2 * m, 0.1 * m, 0.6 * m}, Back}} {
		if got := roof.ZoneAt(c.box); got != c.want {
			t.Errorf("%+v: got %v, want %v", c.box, got, c.want)
		}
	}
}

// Two things that move alike do not move past each other; the order does not count; movement grows with
// length and is undone by Strain and Thickness.
func TestMovementLaws(t *testing.T) {
	const seed = 9
	r := rand.New(rand.NewPCG(seed, 1))
	for range 2000 {
		a := Swing{ppm(200 * r.Float64()), quantity.TempDiff(r.NormFloat64() * 50)}
		b := Swing{ppm(200 * r.Float64()), quantity.TempDiff(r.NormFloat64() * 50)}
		l := quantity.Length(3 * r.Float64())
		m := Movement(a, b, l)
		if Movement(a, a, l) != 0 || Movement(b, a, l) != m || m < 0 {
			t.Fatalf("seed %d: %+v %+v %v", seed, a, b, l)
		}
		if d := math.Abs(float64(Movement(a, b, 2*l) - 2*m)); d > 1e-12 {
			t.Fatalf("seed %d: twice the length off by %g m", seed, d)
		}
		if s := Strain(m, Thickness(m, DesignStrain)); m > 0 && math.Abs(s.Float()-0.5) > 1e-12 {
			t.Fatalf("seed %d: strain %v", seed, s)
		}
	}
}

// A bond only builds; heat makes it faster, frost stops it; the points of Needed are those of Build.
func TestBuildLaws(t *testing.T) {
	full := 72 * time.Hour
	last := quantity.Ratio(-1)
	for m := range 80 * 60 {
		b := Build(time.Duration(m)*time.Minute, full)
		if b < last || b < 0 || b > 1 {
			t.Fatalf("%d min: %v after %v", m, b, last)
		}
		last = b
	}
	for s, want := range map[Stage]float64{MoveByHand: 0.5, TownSpeed: 0.9, MotorwaySpeed: 1} {
		for _, f := range []time.Duration{full, 168 * time.Hour, time.Hour} {
			if got := Build(Needed(s, f), f).Float(); math.Abs(got-want) > 1e-9 {
				t.Errorf("%v of %v: built %g, want %g", s, f, got, want)
			}
		}
	}
	hour := time.Hour
	if AtRoom(Spell{hour, celsius(-3)}) != 0 || AtRoom(Spell{hour, celsius(21)}) != hour || AtRoom(Spell{-hour, celsius(21)}) != 0 {
		t.Error("frost counts, or 21 °C does not count as itself")
	}
	if a, b := AtRoom(Spell{hour, celsius(31)}), AtRoom(Spell{hour, celsius(21)}, Spell{hour, celsius(21)}); a != b {
		t.Errorf("an hour at 31 °C is %v, two at 21 °C %v", a, b)
	}
}

// Humidity and DewPoint undo each other; saturated air has its dew point at its temperature.
func TestDewInverse(t *testing.T) {
	const seed = 10
	r := rand.New(rand.NewPCG(seed, 1))
	for range 2000 {
		air, rh := celsius(r.Float64()*60-15), quantity.Ratio(0.05+0.95*r.Float64())
		d := DewPoint(air, rh)
		if back := Humidity(air, d); math.Abs(float64(back-rh)) > 1e-9 {
			t.Fatalf("seed %d: %v at %v came back as %v", seed, rh, air, back)
		}
		if air.Before(d.Add(-1e-9 * quantity.OneKelvin)) {
			t.Fatalf("seed %d: dew point %v over the air %v", seed, d, air)
		}
	}
	if d := DewPoint(celsius(15), 1); math.Abs(d.Celsius()-15) > 1e-9 {
		t.Errorf("saturated at 15 °C: %v", d)
	}
}

// Each limit of the gate shuts it alone, at its edge, and a fine hour has no reason.
func TestGate(t *testing.T) {
	tape, _ := FindAdhesive("acrylic foam tape")
	fine := Conditions{Air: celsius(22), Dew: celsius(12), Skin: celsius(30), Wind: 2 * quantity.MetrePerSecond, Sheet: 0.6 * quantity.SquareMetre}
	if got := Gate(fine, tape); len(got) != 0 {
		t.Fatalf("a fine hour: %v", got)
	}
	for want, change := range map[Reason]func(*Conditions){
		TooCold:  func(c *Conditions) { c.Air, c.Dew, c.Skin = celsius(8), celsius(-2), celsius(9) },
		DewNear:  func(c *Conditions) { c.Skin, c.Dew = celsius(21), celsius(18.5) },
		TooHumid: func(c *Conditions) { c.Dew = celsius(20.5) },
		TooHot:   func(c *Conditions) { c.Skin = celsius(46) },
		TooWindy: func(c *Conditions) { c.Wind = 6.5 * quantity.MetrePerSecond },
		Rain:     func(c *Conditions) { c.Raining = true },
		CoolSkin: func(c *Conditions) { c.Skin = celsius(18) },
		WarmSkin: func(c *Conditions) { c.Skin = celsius(42) },
		Breezy:   func(c *Conditions) { c.Wind = 5.5 * quantity.MetrePerSecond },
	} {
		c := fine
		change(&c)
		got := Gate(c, tape)
		if !slices.Contains(got, want) || len(got) != 1 {
			t.Errorf("%v: got %v", want, got)
		}
	}
	big := fine
	big.Sheet, big.Wind = 2*quantity.SquareMetre, 4.5*quantity.MetrePerSecond
	if got := Gate(big, tape); !slices.Contains(got, TooWindy) {
		t.Errorf("two square metres at 4.5 m/s, %v: %v", Carried(big.Sheet, big.Wind, StandardAir), got)
	}
}

// The longer the touch the lower the threshold; LongestTouch undoes it; metal burns first.
func TestBurnLaws(t *testing.T) {
	for _, m := range []Touched{Metal, Plastic} {
		last := celsius(100)
		for s := 1; s <= 28800; s += 7 {
			b := BurnThreshold(m, time.Duration(s)*time.Second)
			if last.Before(b) {
				t.Fatalf("%d s: %v after %v", s, b, last)
			}
			last = b
			if back := LongestTouch(m, b).Seconds(); math.Abs(back/float64(s)-1) > 1e-6 {
				t.Fatalf("%v: %d s came back as %g s", m, s, back)
			}
			if BurnThreshold(Plastic, time.Duration(s)*time.Second).Before(BurnThreshold(Metal, time.Duration(s)*time.Second)) {
				t.Fatalf("%d s: plastic burns before metal", s)
			}
		}
	}
	if LongestTouch(Metal, celsius(75)) != 0 || LongestTouch(Metal, celsius(40)) != 8*time.Hour {
		t.Error("the ends of LongestTouch")
	}
}

// Primer goes with area, coats and thirst; containers hold it with one to spare; patches cover the area.
func TestPrimerLaws(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, 1))
	for range 1000 {
		p := Priming{Masked: quantity.Area(5 * r.Float64()), Coverage: PrimerCoverage, Coats: 1 + r.IntN(3), Waste: PrimerWaste, Thirst: quantity.Ratio(1 + 2*r.Float64())}
		v := p.Volume()
		one := p
		one.Coats, one.Thirst = 1, 1
		if want := one.Volume().CubicMetres() * float64(p.Coats) * p.Thirst.Float(); math.Abs(v.CubicMetres()-want) > 1e-12 {
			t.Fatalf("seed %d: %+v: %v", seed, p, v)
		}
		can := quantity.Volume(1e-4)
		if n := Containers(v, can); v > 0 && (float64(n-1)*can.CubicMetres() < v.CubicMetres()-1e-12 || float64(n-2)*can.CubicMetres() >= v.CubicMetres()) {
			t.Fatalf("seed %d: %v in %d containers of %v", seed, v, n, can)
		}
		patch := Patch(PrimerTimes(celsius(60*r.Float64())), PaceOf())
		if n := Patches(p.Masked, patch); patch > 0 && float64(n)*patch.SquareMetres() < p.Masked.SquareMetres()-1e-9 {
			t.Fatalf("seed %d: %d patches of %v for %v", seed, n, patch, p.Masked)
		}
	}
	if warm, cool := Patch(PrimerTimes(celsius(40)), PaceOf()), Patch(PrimerTimes(celsius(20)), PaceOf()); warm >= cool {
		t.Errorf("patch %v at 40 °C, %v at 20 °C", warm, cool)
	}
}

// Fasteners hold the pull with their factor and none fewer would, four at the least; clips are never
// farther apart than their spacing.
func TestFasteners(t *testing.T) {
	const n = quantity.Newton
	for _, pull := range []quantity.Force{1 * n, 400 * n, 2303 * n, 9000 * n} {
		k := Fasteners(pull, 200*n, 3)
		if float64(k)*200/3 < pull.Newtons() || k > 4 && float64(k-1)*200/3 >= pull.Newtons() || k < 4 {
			t.Errorf("%v: %d fasteners", pull, k)
		}
	}
	if Fasteners(0, 200*n, 3) != 0 || Clips(0, 300*quantity.Millimetre) != 0 || Clips(1*quantity.Metre, 300*quantity.Millimetre) != 4 {
		t.Error("ends of fasteners and clips")
	}
}

// A foam-insulated roof is warmer inside than a bare one, both between the two airs.
func TestInnerSkin(t *testing.T) {
	in, out := celsius(16), celsius(-5)
	bare, foam := InnerSkin(in, out, 0), InnerSkin(in, out, 20*quantity.Millimetre)
	if !bare.Before(foam) || !foam.Before(in) || !out.Before(bare) {
		t.Errorf("bare %v, foam %v", bare, foam)
	}
}

// Keys are unique; every row has a source, and what may carry a module has a tension and creep figure.
func TestTables(t *testing.T) {
	seen := map[string]bool{}
	for _, a := range Adhesives() {
		if seen[a.Key] || a.Source.String() == "" || a.Structural && (a.Tension <= 0 || a.Creep <= 0) || a.Thickness <= 0 || a.FullBuild <= 0 || !a.ServiceLong.Before(a.ServiceShort) {
			t.Errorf("row %+v", a)
		}
		seen[a.Key] = true
	}
	for _, s := range Skins() {
		if seen[s.Key] || s.EnergyHigh < s.EnergyLow || s.PeelShare <= 0 || s.PeelShare > 1 || s.TensionShare <= 0 || s.TensionShare > 1 || s.Thirst < 1 || s.ThirstMost < s.Thirst {
			t.Errorf("row %+v", s)
		}
		seen[s.Key] = true
	}
	for _, m := range Materials() {
		if m.Typical < m.Low || m.Typical > m.High {
			t.Errorf("row %+v", m)
		}
	}
}
