package climate

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Days are three days in a row: the air's temperature on the middle one runs from the first's
// highest to the third's lowest.
type Days struct{ Before, Day, After Day }

// Sun times of a day, from solar midnight; noon is 12 h.
const (
	// Time of the day's highest temperature. The yearly mean curves of the six hourly files have it
	// between 13:20 and 14:40 solar.
	hottest = 14.0
	// Bounds of the time of the lowest.
	earliestLow, latestLow = 2.0, 10.0
)

// AirTemperature returns the temperature at the given solar time of the middle day: solarTime from
// solar midnight, 0 to 24 h (held outside), sunrise likewise, at which the day's lowest stands
// (held between 2 and 10 h; in polar day or night give 4 h). It rises as a quarter sine to the
// day's highest at 14 h and falls as (1-x^1.5)³, x being the share of the time to the next
// sunrise, which it takes at the same hour. It is continuous within days and from day to day.
//
// Accuracy: 0.07 of the daily range, root mean square, against the yearly mean curves of the six
// hourly files. Source: the form of day after Parton & Logan 1981 (Agricultural Meteorology
// 23:205); that of the night is fitted to the same files.
func AirTemperature(d Days, sunrise, solarTime time.Duration) quantity.Temperature {
	t := min(max(solarTime.Hours(), 0), 24)
	dawn := min(max(sunrise.Hours(), earliestLow), latestLow)
	low, high := d.Day.Low.Celsius(), d.Day.High.Celsius()
	switch {
	case t < dawn:
		return quantity.Celsius(cooling(d.Before.High.Celsius(), low, (t+24-hottest)/(dawn+24-hottest)))
	case t < hottest:
		return quantity.Celsius(low + (high-low)*math.Sin(math.Pi/2*(t-dawn)/(hottest-dawn)))
	}
	return quantity.Celsius(cooling(high, d.After.Low.Celsius(), (t-hottest)/(dawn+24-hottest)))
}

// cooling returns the temperature at the share x of the way from high to the next low.
func cooling(high, low, x float64) float64 {
	y := 1 - x*math.Sqrt(x)
	return low + (high-low)*y*y*y
}
