package climate

import (
	"math"
	"math/rand/v2"

	"noonmark/internal/base/quantity"
)

// Day is the weather of one day.
type Day struct {
	Clearness quantity.Ratio // of the whole day
	Low, High quantity.Temperature
	Wind      quantity.Speed // mean, 10 m above rough open country
	DewPoint  quantity.Temperature
}

// highestClearness is the most that a day or an interpolated month may have; the greatest of the
// library is 0.865.
const highestClearness = 0.87

// Figures of the days, from the six hourly files (yearly means over the sites' months).
const (
	// Lag-1 correlation of the days' temperature: 0.59 to 0.76, mean 0.65, within single months,
	// which reads (1+3·0.75)/30 = 0.11 too low (Kendall's bias).
	temperatureLag = 0.75
	// Daily range over its mean: 1 + rangeSlope·(day's clearness - month's); 0.9 to 1.9.
	rangeSlope = 1.3
	// Least and most of that.
	rangeLeast, rangeMost = 0.3, 1.7
	// Coefficient of variation of the daily mean wind 0.22 to 0.44, mean 0.30; lag-1 correlation
	// 0.16 to 0.43, mean 0.23, again raised for short months.
	windVariation = 0.32
	windLag       = 0.28
)

// Generator makes days of weather one after the other. Its state (how clear, how much warmer than
// normal, how windy the last day was) goes on across days, months and changes of place. It is not
// for use by several goroutines at once.
type Generator struct {
	r           *rand.Rand
	state       int     // of the Markov chain; -1 before the first day
	temperature float64 // last day's anomaly that clearness does not explain, in standard deviations
	wind        float64 // last day's, in standard deviations of its logarithm
	noise       [26]float64
}

// NewGenerator returns a generator that draws from r: the same source, seed and months give the
// same days.
func NewGenerator(r *rand.Rand) *Generator {
	if r == nil {
		panic("climate: generator without a source")
	}
	return &Generator{r: r, state: -1, temperature: r.NormFloat64(), wind: r.NormFloat64()}
}

// Next returns the next day at a place and time of year whose mean weather is m. Clearness 0 to
// 0.87; the mean of many years keeps that of m within 2 %, single months vary as real ones do.
//
// Clearness: the Markov chain of the month's class gives a place u between the class's bounds; the
// day has least + (most-least)·u^g, the exponent g being such that the long-run mean is the
// month's. Source: Aguiar, Collares-Pereira & Conde 1988, Solar Energy 40:269; the exponent, in
// place of one class for all months of it, is ours. Temperature: first-order autoregression about
// the mean, correlated with clearness by m.Coupling, and a daily range that grows with clearness.
// Wind: first-order autoregression of its logarithm. The figures come from the hourly files.
func (g *Generator) Next(m Month) Day {
	k := min(max(m.Clearness.Float(), 0), highestClearness)
	c := chainOf(k)
	row, sum := &c.stationary, 1.0
	if g.state >= 0 {
		row, sum = &c.next[g.state], c.row[g.state]
	}
	u := g.r.Float64() * sum
	next := 0
	for ; next < 9 && u >= row[next]; next++ {
		u -= row[next]
	}
	g.state = next
	power, factor := c.exponent(k)
	place := (float64(next) + g.r.Float64()) / 10
	day := min(factor*(c.least+(c.most-c.least)*math.Pow(place, power)), highestClearness)

	g.temperature = temperatureLag*g.temperature + math.Sqrt(1-temperatureLag*temperatureLag)*g.r.NormFloat64()
	r := min(max(m.Coupling.Float(), -1), 1)
	anomaly := m.Spread.Kelvins() * (r*(day-k)/c.sd + math.Sqrt(1-r*r)*g.temperature)
	low, high := m.MeanLow.Celsius(), m.MeanHigh.Celsius()
	half := (high - low) / 2 * min(max(1+rangeSlope*(day-k), rangeLeast), rangeMost)
	mid := max((low+high)/2+anomaly, half-270)

	g.wind = windLag*g.wind + math.Sqrt(1-windLag*windLag)*g.r.NormFloat64()
	variance := math.Log(1 + windVariation*windVariation)
	wind := m.Wind.MetresPerSecond() * math.Exp(math.Sqrt(variance)*g.wind-variance/2)

	d := Day{
		Clearness: quantity.Ratio(day),
		Low:       quantity.Celsius(mid - half),
		High:      quantity.Celsius(mid + half),
		Wind:      quantity.Speed(wind),
	}
	d.DewPoint = d.Low.Add(m.DewPoint.Sub(m.MeanLow))
	return d
}

// Typical returns the day that has the mean weather of m.
func Typical(m Month) Day {
	return Day{Clearness: m.Clearness, Low: m.MeanLow, High: m.MeanHigh, Wind: m.Wind, DewPoint: m.DewPoint}
}
