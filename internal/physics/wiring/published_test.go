package wiring

import (
	"math"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

func mm2(a float64) quantity.Area { return quantity.Area(a) * quantity.SquareMillimetre }

func memory(s cite.Source) cite.Source { s.Standing = cite.FromMemory; return s }

// perKilometre returns the resistance of one conductor, Ω/km.
func perKilometre(c Conductor, a quantity.Area, t float64) float64 {
	return Resistance(Run{Length: 500 * quantity.Metre, Area: a, Conductor: c, Temperature: quantity.Celsius(t)}).Ohms()
}

// Source: ASTM B258, wire gauge by definition; areas and circular mils as printed in NEC ch. 9 table 8.
func TestGaugeGeometry(t *testing.T) {
	src := cite.Source{Title: "ASTM B258-18", Where: "diameter of gauge numbers"}
	for _, c := range []struct {
		n          int
		area, cmil float64
	}{{18, 0.8230, 1624}, {16, 1.3087, 2583}, {14, 2.0809, 4107}, {12, 3.3088, 6530}, {10, 5.2612, 10383}, {8, 8.3656, 16510},
		{6, 13.302, 26251}, {4, 21.151, 41741}, {2, 33.631, 66371}, {1, 42.408, 83693}, {0, 53.475, 105535}, {-1, 67.431, 133077}, {-3, 107.219, 211600}} {
		a := AWG(c.n).SquareMillimetres()
		tol := 5e-5
		if c.area > 10 {
			tol = 5e-4
		}
		testkit.Published(t, a, testkit.Check{What: gaugeName(c.n) + ", mm²", Source: src, Want: c.area, Tol: tol})
		testkit.Published(t, a*4/math.Pi/(0.0254*0.0254), testkit.Check{What: gaugeName(c.n) + ", circular mils", Source: src, Want: c.cmil, Tol: 0.5 + c.cmil*2e-5,
			Why: "half the last digit; the list rounds diameters"})
	}
}

// Source: NEC (NFPA 70), chapter 9, table 8: direct-current resistance at 75 °C, uncoated copper, ohm/kft.
func TestTable8(t *testing.T) {
	src := cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "chapter 9, table 8"}
	const feet = 0.3048
	for _, c := range []struct {
		n              int
		solid, strands float64
		memory         bool
	}{{18, 7.77, 7.95, true}, {16, 4.89, 4.99, true}, {14, 3.07, 3.14, true}, {12, 1.93, 1.98, false}, {10, 1.21, 1.24, false}, {8, 0.764, 0.778, true},
		{6, 0, 0.491, false}, {4, 0, 0.308, false}, {2, 0, 0.194, false}, {1, 0, 0.154, false}, {0, 0, 0.122, false}, {-1, 0, 0.0967, true}, {-3, 0, 0.0608, true}} {
		if c.solid > 0 {
			testkit.Published(t, perKilometre(Solid, AWG(c.n), 75)*feet, testkit.Check{What: gaugeName(c.n) + " solid at 75 °C, ohm/kft", Source: src,
				Want: c.solid, Tol: 0.005 * c.solid, Why: "0.5 %: the table rounds and takes copper of 10.371 ohm·cmil/ft"})
		}
		s := src
		if c.memory {
			s = memory(s)
		}
		testkit.Published(t, perKilometre(GaugeStranded, AWG(c.n), 75)*feet, testkit.Check{What: gaugeName(c.n) + " stranded at 75 °C, ohm/kft", Source: s,
			Want: c.strands, Tol: 0.007 * c.strands, Why: "0.7 %: one factor of 1.02 for all sizes"})
	}
}

// Source: IEC 60228:2004, tables 2 and 3: largest resistance at 20 °C, against that of the area full of copper.
func TestClassesAgainstGeometry(t *testing.T) {
	for _, m := range metric {
		solid := perKilometre(Solid, mm2(m), 20)
		for _, c := range []Conductor{Stranded, Flexible, FlexibleTinned} {
			if k := perKilometre(c, mm2(m), 20) / solid; k < 1.04 || k > 1.195 {
				t.Errorf("%g mm², conductor %d: %.3f times the area full of copper, want 1.04 to 1.195", m, c, k)
			}
		}
	}
	iec := cite.Source{Title: "IEC 60228:2004", Where: "table 3, class 5, 4 mm²"}
	testkit.Published(t, perKilometre(Copper, mm2(4), 20), testkit.Check{What: "4 mm² class 5 at 20 °C, ohm/km", Source: iec, Want: 4.95, Tol: 1e-9})
}

// Source: IEC 60228:2004 class 5 and 0.00393 /K: worked drop of 15 A over 6 m one way, recomputed by another program.
func TestWorkedDrop(t *testing.T) {
	src := cite.Source{Title: "IEC 60228:2004", Where: "table 3, class 5; drop worked with 0.00393 /K"}
	for _, c := range []struct {
		a    float64
		want [3]float64
	}{{2.5, [3]float64{1.436, 1.662, 1.803}}, {4, [3]float64{0.891, 1.031, 1.119}}, {6, [3]float64{0.594, 0.687, 0.746}}, {10, [3]float64{0.344, 0.398, 0.432}}} {
		for i, temp := range []float64{20, 60, 85} {
			got := Drop(Run{Length: 6 * quantity.Metre, Area: mm2(c.a), Temperature: quantity.Celsius(temp)}, 15*quantity.Ampere).Volts()
			testkit.Published(t, got, testkit.Check{What: "drop of 15 A over 6 m one way, V", Source: src, Want: c.want[i], Tol: 0.0006, Why: "half the last digit, and rounding of the list"})
		}
	}
}

// Source: ABYC E-11: circular mils = 10.75 × amperes × feet of the round trip / volts of drop.
func TestBoatDropRule(t *testing.T) {
	src := cite.Source{Title: "ABYC E-11 (marine electrical)", Where: "CM = K·I·L/E, K = 10.75"}
	for _, c := range []struct{ share, want float64 }{{0.03, 17917}, {0.10, 5375}} {
		r := Run{Length: 15 * quantity.Foot, Conductor: Solid, Temperature: quantity.Celsius(29)}
		got := AreaForDrop(r, 20*quantity.Ampere, quantity.Voltage(12*c.share)).SquareMillimetres() * 4 / math.Pi / (0.0254 * 0.0254)
		testkit.Published(t, got, testkit.Check{What: "area for 20 A, 30 ft of conductor, 12 V, circular mils", Source: src, Want: c.want, Tol: 0.003 * c.want,
			Why: "the rule's constant is copper at about 29 °C, rounded to four digits"})
	}
	if AWG(8) >= quantity.Area(17917*math.Pi/4*0.0254*0.0254)*quantity.SquareMillimetre {
		t.Error("AWG 8 would do for 3 %, the rule says AWG 6")
	}
}

// Source: 33 CFR 183.425 table 5, with its factors for engine spaces of 50 °C; 0.85 at 105 °C confirmed, the rest from memory.
func TestBoatLawAndEngineSpace(t *testing.T) {
	src := cite.Source{Title: "33 CFR 183.425", Where: "table 5 and its note on engine spaces"}
	get := func(n int, rating, air float64, bundle int) float64 {
		i, _, err := Ampacity(Lay{Area: AWG(n), Rating: quantity.Celsius(rating), Ambient: quantity.Celsius(air), Bundle: bundle})
		if err != nil {
			t.Fatal(err)
		}
		return i.Amperes()
	}
	for _, c := range []struct {
		n            int
		rating, want float64
	}{{18, 60, 10}, {14, 90, 30}, {10, 105, 60}, {8, 75, 65}, {4, 105, 160}, {0, 200, 325}, {-3, 125, 475}} {
		testkit.Published(t, get(c.n, c.rating, 30, 1), testkit.Check{What: "ampacity " + gaugeName(c.n) + ", A", Source: src, Want: c.want, Tol: 1e-9})
	}
	for _, c := range []struct{ rating, want float64 }{{60, 0.58}, {75, 0.75}, {80, 0.78}, {90, 0.82}, {105, 0.85}, {125, 0.89}} {
		s := src
		if c.rating != 105 {
			s = memory(src)
		}
		testkit.Published(t, get(10, c.rating, 50, 1)/get(10, c.rating, 30, 1), testkit.Check{What: "share left in an engine space of 50 °C", Source: s, Want: c.want, Tol: 0.0065,
			Why: "the law rounds to two digits, once upward"})
	}
	for _, c := range []struct {
		n    int
		want float64
	}{{2, 1}, {3, 0.7}, {4, 0.6}, {6, 0.6}, {7, 0.5}, {24, 0.5}, {25, 0.4}} {
		testkit.Published(t, get(10, 105, 30, c.n)/60, testkit.Check{What: "share left in a bundle", Source: src, Want: c.want, Tol: 1e-9})
	}
}

// Source: NEC table 310.15(B)(1)(1) (from memory): correction of ampacity in 60 °C air for conductors of 75 and 90 °C: 0.58 and 0.71.
func TestBuildingRule(t *testing.T) {
	get := func(n int, rating, air float64) (float64, cite.Source) {
		i, s, err := Ampacity(Lay{Area: AWG(n), Rating: quantity.Celsius(rating), Ambient: quantity.Celsius(air), Rule: Building})
		if err != nil {
			t.Fatal(err)
		}
		return i.Amperes(), s
	}
	for _, c := range []struct{ rating, air, want float64 }{{75, 60, 0.58}, {90, 60, 0.71}, {90, 45, 0.87}, {75, 50, 0.75}} {
		hot, _ := get(10, c.rating, c.air)
		cool, _ := get(10, c.rating, 30)
		testkit.Published(t, hot/cool, testkit.Check{What: "share of ampacity left in hot air", Source: memory(cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "table 310.15(B)(1)(1)"}), Want: c.want, Tol: 0.0055})
	}
	if _, s := get(10, 90, 30); s.Standing != cite.LookedUp {
		t.Errorf("AWG 10: %v, want looked up", s)
	}
	if _, s := get(-1, 90, 30); s.Standing != cite.FromMemory {
		t.Errorf("AWG 2/0: %v, want from memory", s)
	}
}

// Source: EN 50618 (from memory): solar cable at 70, 80 and 90 °C air carries 0.92, 0.84 and 0.75 of that at 60 °C.
func TestSolarCable(t *testing.T) {
	src := memory(cite.Source{Title: "EN 50618:2014", Where: "tables A.3 and A.4"})
	get := func(air float64, bundle int) float64 {
		i, _, err := Ampacity(Lay{Area: mm2(4), Rating: quantity.Celsius(90), Ambient: quantity.Celsius(air), Bundle: bundle, Rule: SolarCable})
		if err != nil {
			t.Fatal(err)
		}
		return i.Amperes()
	}
	for _, c := range []struct{ air, want float64 }{{70, 0.92}, {80, 0.84}, {90, 0.75}} {
		testkit.Published(t, get(c.air, 1)/get(60, 1), testkit.Check{What: "share of a solar cable's ampacity left in hot air", Source: src, Want: c.want, Tol: 0.045,
			Why: "the square-root law gives 0.91, 0.82 and 0.71: lower, so on the careful side"})
	}
	if a, b := get(60, 1), get(60, 2); a != 52 || b != 44 {
		t.Errorf("4 mm² alone %g A, a pair %g A, want 52 and 44", a, b)
	}
}

// Source: IEC 62548: string fuses for Isc 12.28 A and at most 20 A: two strings none, four strings 20 A; NEC 690.8.
func TestStringFuse(t *testing.T) {
	iec := cite.Source{Title: "IEC 62548:2016", Where: "6.5.3, worked with Isc 12.28 A and 20 A"}
	a := Array{Strings: 4, ShortCircuit: 12.28 * quantity.Ampere, MaxFuse: 20 * quantity.Ampere}
	testkit.Published(t, a.Backfeed().Amperes(), testkit.Check{What: "current of three strings into the fourth, A", Source: iec, Want: 36.84, Tol: 0.005})
	f, ok := a.StringFuse()
	if !a.NeedsFuse() || !ok {
		t.Fatalf("four strings: needed %v, found %v", a.NeedsFuse(), ok)
	}
	testkit.Published(t, f.Amperes(), testkit.Check{What: "string fuse, A", Source: iec, Want: 20, Tol: 1e-9})
	a.Strings = 2
	if a.NeedsFuse() {
		t.Error("two strings of 12.28 A and 20 A modules: a fuse asked for")
	}
	nec := cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "690.8(A)(1) and (B)(1)"}
	for _, c := range []struct{ isc, want float64 }{{6.2, 9.6875}, {9.5, 14.844}, {12.28, 19.19}} {
		got := Array{Strings: 1, ShortCircuit: quantity.Current(c.isc)}.DesignCurrent().Amperes()
		testkit.Published(t, got, testkit.Check{What: "current a string's cable is chosen for, A", Source: nec, Want: c.want, Tol: 0.005})
	}
}

// Source: ABYC E-11 table V.A: interrupt rating by cold-cranking amperes.
func TestInterruptRating(t *testing.T) {
	src := cite.Source{Title: "ABYC E-11 (marine electrical)", Where: "table V.A"}
	for _, c := range []struct{ cca, main, branch float64 }{{650, 1500, 750}, {651, 3000, 1500}, {1100, 3000, 1500}, {1101, 5000, 2500}} {
		b := InterruptRating(quantity.Current(c.cca))
		testkit.Published(t, b.Main.Amperes(), testkit.Check{What: "interrupt rating of a main fuse, A", Source: src, Want: c.main, Tol: 1e-9})
		testkit.Published(t, b.Branch.Amperes(), testkit.Check{What: "interrupt rating of a branch fuse, A", Source: src, Want: c.branch, Tol: 1e-9})
	}
}

// Source: NEC 2023 (NFPA 70), table 690.7(A), both ends of each of its thirteen bands.
func TestColdTable(t *testing.T) {
	src := cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "table 690.7(A)"}
	for _, c := range []struct{ warm, cold, want float64 }{{24, 20, 1.02}, {19, 15, 1.04}, {14, 10, 1.06}, {9, 5, 1.08}, {4, 0, 1.10}, {-1, -5, 1.12}, {-6, -10, 1.14},
		{-11, -15, 1.16}, {-16, -20, 1.18}, {-21, -25, 1.20}, {-26, -30, 1.21}, {-31, -35, 1.23}, {-36, -40, 1.25}} {
		for _, air := range []float64{c.warm, c.cold} {
			k, err := ColdFactor(quantity.Celsius(air))
			if err != nil {
				t.Fatal(err)
			}
			testkit.Published(t, k.Float(), testkit.Check{What: "factor on open volts, " + quantity.Celsius(air).String(), Source: src, Want: c.want, Tol: 1e-9})
		}
	}
	k, err := ColdFactor(quantity.Celsius(-20))
	if err != nil {
		t.Fatal(err)
	}
	testkit.Published(t, 2*24.3*k.Float(), testkit.Check{What: "two of 24.3 V at -20 °C by the table, V", Source: src, Want: 57.35, Tol: 0.005})
}

// Source: IEC 62548:2016, 6.5.3, worked: 12.28 A strings, 20 A modules, four in parallel; ABYC E-11 and EN ISO 13590 for distances.
func TestFuseWindowAndReach(t *testing.T) {
	src := cite.Source{Title: "IEC 62548:2016", Where: "6.5.3, worked example"}
	low, high := Array{Strings: 4, ShortCircuit: 12.28 * quantity.Ampere, MaxFuse: 20 * quantity.Ampere}.FuseWindow()
	testkit.Published(t, low.Amperes(), testkit.Check{What: "least string fuse, A", Source: src, Want: 18.42, Tol: 0.005})
	testkit.Published(t, high.Amperes(), testkit.Check{What: "greatest string fuse, A", Source: src, Want: 29.47, Tol: 0.005})
	boat := cite.Source{Title: "ABYC E-11 (marine electrical)", Where: "distance of a fuse from the source"}
	testkit.Published(t, FuseReach().Bare.Millimetres(), testkit.Check{What: "fuse from the post, mm", Source: boat, Want: 178, Tol: 0.5})
	testkit.Published(t, FuseReach().Sheathed.Millimetres(), testkit.Check{What: "fuse from the post in a sheath, mm", Source: memory(boat), Want: 1016, Tol: 0.5})
	testkit.Published(t, FuseReach().ISO.Millimetres(), testkit.Check{What: "fuse from the post, mm", Source: cite.Source{Title: "ISO 10133:2000", Where: "by a second hand"}, Want: 200, Tol: 0.5})
}

// Source: NEN 1010:2020, 712: none for one or two strings, whatever the modules stand; needed when 1.35 of that is below the backfeed.
func TestDutchRule(t *testing.T) {
	src := cite.Source{Title: "NEN 1010:2020", Where: "712, fuses of strings"}
	needs := func(n int, isc quantity.Current) float64 {
		if (Array{Strings: n, ShortCircuit: isc, MaxFuse: 10 * quantity.Ampere}).NeedsFuseDutch() {
			return 1
		}
		return 0
	}
	for _, c := range []struct {
		n    int
		isc  quantity.Current
		want float64
	}{{1, 20 * quantity.Ampere, 0}, {2, 20 * quantity.Ampere, 0}, {3, 6.7 * quantity.Ampere, 0}, {3, 6.8 * quantity.Ampere, 1}} {
		testkit.Published(t, needs(c.n, c.isc), testkit.Check{What: "fuse in each string, 1 for needed", Source: src, Want: c.want, Tol: 1e-9})
	}
}
