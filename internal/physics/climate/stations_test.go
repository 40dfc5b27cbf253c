package climate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

// lowestTen returns the lowest mean of ten days in a row.
func lowestTen(v []float64) float64 {
	least := math.Inf(1)
	for i := range v[9:] {
		least = min(least, average(v[i:i+10]))
	}
	return least
}

// The worst ten days in a row, and how far the same month of one year stands from that of another, of 300 years
// made in the months of an hourly file.
//
// Source: hourly files of Golden (measured radiation, TMY3) and four more: clearness of their days; the spread
// of a month's mean follows from that of its days and their lag-1 correlation r, s²/n (1+r)/(1-r): H. von Storch
// and F. W. Zwiers, Statistical Analysis in Climate Research (1999), section 6.6, from memory.
func TestPublishedLulls(t *testing.T) {
	const years = 300
	for _, h := range hourlyFiles(t) {
		if h.latitude > 60 {
			continue // few months of sun
		}
		var real []float64
		var byMonth [12][]float64
		h.clearness(func(m int, _, _ []float64, day float64) {
			real = append(real, day)
			byMonth[m] = append(byMonth[m], day)
		})
		var months [12]Month
		want := 0.0 // spread of a month's mean, of that mean
		for m, v := range byMonth {
			months[m].Clearness = quantity.Ratio(average(v))
			sd, lag := statistics(v)
			lag = min(lag+(1+3*lag)/float64(len(v)), 0.7) // Kendall's bias of short series
			want += sd / average(v) * math.Sqrt((1+lag)/(1-lag)/float64(len(v))) / 12
		}
		g := NewGenerator(rand.New(rand.NewPCG(13, 1)))
		var lulls []float64
		var means [12][]float64
		for range years {
			var made []float64
			for m, n := range monthDays {
				for range n {
					made = append(made, g.Next(months[m]).Clearness.Float())
				}
				means[m] = append(means[m], average(made[len(made)-n:]))
			}
			lulls = append(lulls, lowestTen(made))
		}
		slices.Sort(lulls)
		spread := 0.0
		for m := range means {
			spread += deviation(means[m]) / average(means[m]) / 12
		}
		low, high := percentile(lulls, 0.01), percentile(lulls, 0.99)
		src := cite.Source{Title: "Typical-year weather file " + h.name, Where: "global horizontal"}
		t.Logf("%-24.24s lowest ten days %.3f, made %.3f (%.3f to %.3f); spread of a month's mean %.1f %%, made %.1f %%", h.name, lowestTen(real), percentile(lulls, 0.5), low, high, 100*want, 100*spread)
		testkit.Published(t, percentile(lulls, 0.5), testkit.Check{What: fmt.Sprintf("lowest clearness of ten days in a row, %.10s", h.name), Source: src, Want: lowestTen(real), Tol: (high - low) / 2,
			Why: "one year is one draw: half the range of 98 % of the years made"})
		testkit.Published(t, 100*spread, testkit.Check{What: fmt.Sprintf("spread of a month's mean clearness from year to year, %%, %.10s", h.name), Source: src, Want: 100 * want, Tol: 0.35 * 100 * want,
			Why: "a month has thirty days for its spread and correlation, and the matrices are Portugal's"})
	}
}
