package quantity

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// Sizes of wire gauges.
//
// Source: ASTM B258, diameters by definition; areas of NEC chapter 9, table 8.
func TestGauges(t *testing.T) {
	for text, want := range map[string]float64{"AWG 18": 0.823, "AWG 14": 2.081, "AWG 12": 3.309, "AWG 10": 5.261, "AWG 6": 13.30, "4/0 AWG": 107.2} {
		v, err := ParseArea(text)
		if err != nil {
			t.Fatal(err)
		}
		testkit.Published(t, v.SquareMillimetres(), testkit.Check{What: "area of " + text + ", mm²", Source: cite.Source{Title: "ASTM B258 and NEC chapter 9", Where: "table 8"}, Want: want, Tol: 5e-4 * want})
	}
}
