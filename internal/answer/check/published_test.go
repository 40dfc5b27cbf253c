package check

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
	"noonmark/internal/testkit"
)

// lidOf is a lid hinged at the front, 2.4 m by 1.6 m, of a mass at a distance, with two struts on an arm.
func lidOf(kg, at, arm float64) *build.Build {
	mass, from := quantity.Mass(kg)*quantity.Kilogram, quantity.Length(at)*quantity.Metre
	s := build.Surface{Name: "lid", HasHinge: true, Hinge: build.Front, Outline: []build.Point{{}, {X: 2.4 * quantity.Metre}, {X: 2.4 * quantity.Metre, Y: 1.6 * quantity.Metre}, {Y: 1.6 * quantity.Metre}}}
	s.Mass, s.MassFromHinge = &mass, &from
	s.Struts = &build.Struts{Count: 2, Force: 785 * quantity.Newton, Left: quantity.One, Arm: quantity.Length(arm) * quantity.Metre}
	return &build.Build{Surfaces: []build.Surface{s}, Postures: []build.Posture{{Name: "driving", Moves: true}}}
}

// Source: gas-spring sizing articles: a lid of 50 kg, centre of mass 0.8 m from the hinge, two struts on an arm of 0.25 m need 785 N each; 6 kg more at 0.9 m ask 106 N more of each.
func TestStrutExample(t *testing.T) {
	src := cite.Source{Title: "gas-spring sizing articles", Where: "F = m·g·x/(n·r), worked"}
	b := lidOf(50, 0.8, 0.25)
	force := lidTorque(b, 0, nil) / (2 * armOf(b.Surfaces[0].Struts, 0))
	testkit.Published(t, force, testkit.Check{What: "force of each of two struts, N", Source: src, Want: 785, Tol: 0.5})
	b.Types = []build.ModuleType{{Mass: quantity.Mass(6/extras) * quantity.Kilogram, Length: 1 * quantity.Metre, Width: 0.5 * quantity.Metre}}
	b.Modules = []build.Module{{X: 0.4 * quantity.Metre}} // its middle is 0.9 m from the hinge
	testkit.Published(t, moduleForce(b, 0, []int{0}, 0), testkit.Check{What: "force more of each strut for 6 kg at 0.9 m, N", Source: src, Want: 106, Tol: 0.5})
}

// Source: ideal gas law, force of nitrogen over that at 20 °C: 0.86, 0.90, 0.93 and 1.07, worked in the handbook, B6.
func TestStrutCold(t *testing.T) {
	src := cite.Source{Title: "ideal gas law at constant volume", Where: "over 293.15 K"}
	for _, c := range []struct{ air, want float64 }{{-20, 0.86}, {-10, 0.90}, {0, 0.93}, {40, 1.07}} {
		testkit.Published(t, strutAt(quantity.Celsius(c.air)), testkit.Check{What: "force of a gas strut over its printed one", Source: src, Want: c.want, Tol: 0.005})
	}
}

// Source: Callister & Rethwisch, appendix B, and tables of linear expansion: movement of the edge of 1 m of laminate (20e-6/K) over 60 K: 0.24 mm on steel, 0.09 on aluminium, 0.21 on GRP, 1.95 on ABS, 3.3 on HDPE.
func TestMovement(t *testing.T) {
	src := cite.Source{Title: "Callister & Rethwisch, Materials Science and Engineering", Where: "appendix B; worked for 1 m over 60 K"}
	one := func(ppm float64) catalog.Expansion {
		k := quantity.PerKelvin(ppm) * quantity.PerMillionKelvin
		return catalog.Expansion{Low: k, High: k}
	}
	for _, c := range []struct {
		skin      string
		ppm, want float64
		tol       float64
	}{{"painted steel", 12, 0.24, 0.005}, {"painted aluminium", 23, 0.09, 0.005}, {"GRP", 27, 0.21, 0.005}, {"ABS", 85, 1.95, 0.005}, {"polyethylene", 130, 3.3, 0.05}} {
		testkit.Published(t, parting(one(20), one(c.ppm), 0.5, 60), testkit.Check{What: "movement of the edge of 1 m on " + c.skin + ", mm", Source: src, Want: c.want, Tol: c.tol})
		b := &build.Build{Types: []build.ModuleType{{Technology: build.FlexibleMono, Front: build.PET}}, Modules: []build.Module{{}}, Surfaces: []build.Surface{{Skin: c.skin}}}
		if got, _, ok := movement(b, 0, 0.5, Extremes{}); !ok || got < c.want-c.tol {
			t.Errorf("%s: the rule takes %.2f mm, less than the worked %.2f mm", c.skin, got, c.want)
		}
	}
}

// Source: NEC 690.8(A) and (B): 1.25 and again 1.25 of 6.2 A make 7.75 and 9.6875 A.
func TestDesignCurrent(t *testing.T) {
	src := cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "690.8(A) and (B)"}
	b := van()
	b.Types[0].Isc = 6.2 * quantity.Ampere
	f := currents(b, &b.Chargers[0])[0]
	testkit.Published(t, f.Value, testkit.Check{What: "array current for the input, A", Source: src, Want: 7.75, Tol: 1e-9})
	testkit.Published(t, linesOf(b, &b.Chargers[0])[0].design, testkit.Check{What: "array current for conductors, A", Source: src, Want: 9.6875, Tol: 1e-9})
}

// Source: NEC 690.7(A): two of 24.3 V, -0.30 %/K, at -20 °C: 55.16 V by the coefficient, 57.35 V by the table; both are shown.
func TestBothColdRules(t *testing.T) {
	b := van()
	e := Extremes{Low: quantity.Celsius(-20), LowBand: 5 * quantity.OneKelvin, LowAt: "a pass", High: quantity.Celsius(30), HighAt: "a plain"}
	v, err := voltsOf(b, &b.Strings[0], e)
	if err != nil {
		t.Fatal(err)
	}
	found := map[string]float64{}
	for _, f := range voltages(b, &b.Chargers[0], &b.Strings[0], v, e) {
		found[f.ID] = f.Value
	}
	testkit.Published(t, found["cold-voltage"], testkit.Check{What: "two of 24.3 V at -20 °C, by the coefficient, V", Source: cite.Source{Title: "NEC 690.7(A)(1)", Where: "module coefficient method"}, Want: 55.16, Tol: 0.005})
	testkit.Published(t, found["cold-voltage-table"], testkit.Check{What: "two of 24.3 V at -20 °C, by the table, V", Source: cite.Source{Title: "NEC 2023 (NFPA 70)", Where: "table 690.7(A)"}, Want: 57.35, Tol: 0.005})
}
