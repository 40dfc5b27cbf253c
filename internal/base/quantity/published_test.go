package quantity

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// Source: NIST SP 811 (2008), appendix B.8, conversion factors.
func TestPublishedUnits(t *testing.T) {
	sp811 := func(what string) cite.Source {
		return cite.Source{Title: "NIST SP 811 (2008)", Where: "appendix B.8, " + what, Standing: cite.FromMemory}
	}
	for _, c := range []struct {
		what, text, parser string
		want, tol          float64
	}{
		{"mile per hour, m/s", "1 mph", "speed", 0.44704, 0},
		{"knot, m/s", "1 kn", "speed", 0.5144444, 5e-8},
		{"pound, kg", "1 lb", "mass", 0.45359237, 0},
		{"ounce, kg", "1 oz", "mass", 0.02834952, 5e-9},
		{"psi, Pa", "1 psi", "pressure", 6894.757, 5e-4},
		{"square foot, m²", "1 ft²", "area", 0.09290304, 1e-16},
		{"circular mil, m²", "1 cmil", "area", 5.067075e-10, 5e-17},
		{"Btu/(h·ft²·°F), W/(m²·K)", "1 Btu/(h·ft²·°F)", "transfer", 5.678263, 5e-7},
		{"fluid ounce (US), m³", "1 fl oz", "volume", 2.957353e-5, 5e-12},
		{"pound-force, N", "1 lbf", "force", 4.448222, 5e-7},
	} {
		got, err := parsers[c.parser](c.text)
		if err != nil {
			t.Fatal(err)
		}
		testkit.Published(t, got, testkit.Check{What: c.what, Source: sp811(c.what[:len(c.what)]), Want: c.want, Tol: c.tol})
	}
}

// Source: ASTM B258, standard nominal diameters and areas of gauges, as handbooks print them.
func TestPublishedGauges(t *testing.T) {
	for _, c := range []struct {
		text      string
		want, tol float64
	}{{"AWG 4/0", 107.2, 0.05}, {"AWG 2/0", 67.43, 0.005}, {"AWG 0", 53.49, 0.02}, {"AWG 4", 21.15, 0.005}, {"AWG 6", 13.30, 0.005}, {"AWG 8", 8.366, 5e-3}, {"AWG 10", 5.261, 5e-4}, {"AWG 12", 3.309, 1e-3}, {"AWG 14", 2.081, 5e-4}, {"AWG 18", 0.8231, 5e-4}} {
		got, err := ParseArea(c.text)
		if err != nil {
			t.Fatal(err)
		}
		testkit.Published(t, got.SquareMillimetres(), testkit.Check{What: c.text + ", mm²", Source: cite.Source{Title: "ASTM B258", Where: "table of areas", Standing: cite.FromMemory}, Want: c.want, Tol: c.tol,
			Why: "handbooks differ in the last digit"})
	}
}
