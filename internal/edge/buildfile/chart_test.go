package buildfile

import (
	"context"
	"math"
	"testing"

	"noonmark/examples"
	"noonmark/internal/answer/forecast"
)

// Every example's days, in years of several seeds, offer by the chart of many years what the circuit solved at
// every step does: within 0.5 % of the day's energy, or of 100 Wh where the day has less; all days within 0.1 %.
func TestChartOfExamples(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	for _, e := range append(examples.All(), examples.Bad()...) {
		b, err := Build(e.Name, e.Text)
		if err != nil {
			t.Fatal(err)
		}
		for _, seed := range []uint64{1, 2} {
			o := forecast.Options{Years: 2, Seed: seed, Full: true}
			full, err := forecast.Run(context.Background(), &b, o)
			if err != nil {
				t.Fatal(err)
			}
			o.Full, o.Chart = false, true
			fast, err := forecast.Run(context.Background(), &b, o)
			if err != nil {
				t.Fatal(err)
			}
			worst := 0.0
			for y := range full.ByYear {
				for d := range full.Days {
					got, want := fast.ByYear[y].Days[d].WattHours(), full.ByYear[y].Days[d].WattHours()
					off := math.Abs(got-want) / math.Max(want, 100)
					if off > 0.005 {
						t.Errorf("%s, seed %d, year %d, day %d: %.2f Wh by the chart, %.2f Wh solved", e.Name, seed, y, d, got, want)
					}
					worst = math.Max(worst, off)
				}
			}
			all := fast.Offered.Joules()/full.Offered.Joules() - 1
			t.Logf("%s, seed %d: worst day off by %.2f %%, all days by %+.3f %%", e.Name, seed, 100*worst, 100*all)
			if math.Abs(all) > 0.001 {
				t.Errorf("%s, seed %d: all days off by %.3f %%", e.Name, seed, 100*all)
			}
		}
	}
}
