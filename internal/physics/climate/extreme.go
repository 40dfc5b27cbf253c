package climate

import (
	"math"
	"slices"
	"time"

	"noonmark/internal/base/quantity"
)

// The spread of a day's mean temperature about the month's normal, K: spreadScale·(spread0 +
// amplitude·(spreadYear + spreadCold·c)), amplitude being warmest less coldest month's mean and c
// running from 0 in the warmest month to 1 in the coldest.
//
// Fitted by least squares to the 72 site-months of the six hourly files (Santiago, Barrow, Tucson,
// Aurora, Golden, Port Angeles): root mean square error 1.1 K, 1.5 K at a site left out of the fit.
// Single months scatter from 1.1 to 9.1 K. The scale makes up for what a 30-day mean takes out of a
// series of lag-1 correlation 0.75: 1/√(1-7/30).
const (
	spreadScale = 1.14
	spread0     = 0.363
	spreadYear  = 0.094
	spreadCold  = 0.115
)

// Correlation of a day's temperature with its clearness within a month, mean over the six files:
// 0.26 in the warmer two thirds of the year's range, -0.01 in the coldest third. Sites differ:
// Colorado 0.35 in winter, Barrow, Tucson and Port Angeles -0.3.
const couplingWarm = 0.26

// amplitude returns warmest less coldest month's mean temperature, K, and for each month how far it
// is from the warmest towards the coldest, 0 to 1.
func amplitude(months *[12]Month) (a float64, cold [12]float64) {
	var mean [12]float64
	for m, v := range months {
		mean[m] = (v.MeanLow.Celsius() + v.MeanHigh.Celsius()) / 2
	}
	warmest, coldest := slices.Max(mean[:]), slices.Min(mean[:])
	a = warmest - coldest
	for m := range cold {
		if a > 0 {
			cold[m] = (warmest - mean[m]) / a
		}
	}
	return a, cold
}

// spread sets Spread and Coupling of the months from their temperatures.
func spread(months *[12]Month) {
	a, cold := amplitude(months)
	for m := range months {
		months[m].Spread = quantity.TempDiff(spreadScale * (spread0 + a*(spreadYear+spreadCold*cold[m])))
		months[m].Coupling = quantity.Ratio(couplingWarm * min(max(3*(1-cold[m]), 0), 1))
	}
}

// The margin from the coldest month's mean lowest temperature down to the lowest of 50 years, K:
// extreme0 + extremeYear·amplitude.
//
// Fitted to the 50-year return values in the design conditions that head five hourly files
// (ASHRAE Handbook Fundamentals 2009 and 2017): Santiago -6.9, Barrow -49.0, Tucson -5.9, Aurora
// -31.9, Port Angeles -12.4 °C, against this table's mean lowest at the stations' heights; margins
// 13.1, 18.3, 8.8, 22.6 and 14.1 K. Each site predicted by a fit to the other four is off by -1.1,
// +3.2, +8.3, -8.1 and -1.3 K (positive: margin too large): root mean square 5.4 K. A constant
// margin does 5.9 K, one by latitude 6.5, by daily range 8.1. Against the record lows of 28 cities
// (published_test.go, from memory), none of which was fitted and most of which span a century, it is
// 2.6 K too warm on average and off by 6.9 K root mean square; the band is about twice that. It
// reads too warm north of 45° near the sea (Hamburg by 13 K, Paris by 12) and in basins (Salt Lake
// City by 10), too cold in the southern hemisphere and at the equator (Sydney by 9, Singapore by 6).
const (
	extreme0    = 9.268
	extremeYear = 0.310
	extremeBand = 15
)

// ExtremeLow returns the lowest air temperature to expect once in about 50 years at the place of c,
// with the half-width of a band that holds about 19 sites in 20, for a check of the voltage in the
// cold. With months given only these count. A mean lowest temperature is 9 to 23 K too warm for
// that. The user's own figure, the station's record low, is better wherever it is known.
//
// The margin of another month than the coldest is in proportion to the month's Spread law. Of the
// 72 site-months of the six hourly files one has its lowest hour below it, Golden in December by
// 0.2 K; Golden had no part in the fit of the margin. Hollows where cold air gathers lie far below:
// Pitkin, Colorado, has a record of -51 °C, 16 K below.
// Source: fitted, see the constants; it panics when a month is not 1 to 12.
func ExtremeLow(c Climate, months ...time.Month) (low quantity.Temperature, band quantity.TempDiff) {
	a, cold := amplitude(&c.Months)
	margin := extreme0 + extremeYear*a
	lowest := math.Inf(1)
	for m, v := range c.Months {
		if len(months) > 0 && !slices.Contains(months, time.Month(m+1)) {
			continue
		}
		share := (spread0 + a*(spreadYear+spreadCold*cold[m])) / (spread0 + a*(spreadYear+spreadCold))
		lowest = min(lowest, v.MeanLow.Celsius()-margin*share)
	}
	if math.IsInf(lowest, 1) {
		panic("climate: no such month")
	}
	return quantity.Celsius(max(lowest, -89.2)), extremeBand * quantity.OneKelvin // -89.2 °C: lowest measured on Earth, WMO, Vostok 1983
}
