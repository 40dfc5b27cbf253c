package wiring

import (
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
)

// coldBand is the lowest air of a band, °C, and the band's factor. Source: NEC 2023, table 690.7(A).
type coldBand struct{ low, factor float64 }

var coldBands = [...]coldBand{{20, 1.02}, {15, 1.04}, {10, 1.06}, {5, 1.08}, {0, 1.10}, {-5, 1.12}, {-10, 1.14}, {-15, 1.16}, {-20, 1.18},
	{-25, 1.20}, {-30, 1.21}, {-35, 1.23}, {-40, 1.25}}

// ColdFactor returns the factor on the open voltage of a label for the lowest air to be expected, by the
// table for crystalline silicon, which is not for thin film. From 25 °C up it is 1. The table prints
// whole degrees: a fraction of a degree counts as the colder one. Below -40 °C it has no row, and
// ErrRange is wrapped. It panics at NaN. Accuracy: a rule, 0.40 %/K at the cold end of each band down to
// -25 °C. Source: NEC 2023, table 690.7(A).
func ColdFactor(lowest quantity.Temperature) (quantity.Ratio, error) {
	t := lowest.Celsius()
	if math.IsNaN(t) {
		panic("wiring: temperature not a number")
	}
	if t >= 25 {
		return quantity.One, nil
	}
	for _, b := range coldBands {
		if math.Floor(t+1e-9) >= b.low {
			return quantity.Ratio(b.factor), nil
		}
	}
	return 0, fmt.Errorf("%w: air of %.4g °C is below -40 °C, the last row of NEC table 690.7(A)", ErrRange, t)
}
