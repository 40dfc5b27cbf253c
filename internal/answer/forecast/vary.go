package forecast

import (
	"noonmark/internal/base/quantity"
)

// Variation is what one computed year has otherwise than the build says, for what is not known well: the
// label, age, dirt, surroundings, use. Every field but Weather is a factor.
type Variation struct {
	Weather      int            // number of the weather year: the same number and seed are the same weather
	Power        quantity.Ratio // of the modules: label and age; light that does not count, so less current
	Soiling      quantity.Ratio // of the dirt at every moment; what it takes is held to nine tenths
	Surroundings quantity.Ratio // of what surroundings keep off, of the beam and of the sky's light alike; each held to all of it
	Loads        quantity.Ratio // of every load's power
	Capacity     quantity.Ratio // of the battery
}

// AsBuilt returns the variation that changes nothing in a year: all factors 1, its own weather.
func AsBuilt(year int) Variation {
	return Variation{Weather: year, Power: 1, Soiling: 1, Surroundings: 1, Loads: 1, Capacity: 1}
}

// Year is the trip in one year computed.
type Year struct {
	Harvest, Offered, Demand, Unmet quantity.Energy
	NightsShort                     int
	Lowest                          quantity.Ratio    // state of charge
	Days                            []quantity.Energy // offered, by day
}

// vary is Variation, unwrapped.
type vary struct {
	weather                             int
	power, soiling, surroundings, loads float64
	capacity                            float64
}

// variations returns those of the years, in order of year. It panics on a factor that is negative, above 10
// or not a number, and on a capacity of nothing.
func variations(f func(year int) Variation, years int) []vary {
	out := make([]vary, years)
	for y := range out {
		v := AsBuilt(y)
		if f != nil {
			v = f(y)
		}
		for _, x := range []quantity.Ratio{v.Power, v.Soiling, v.Surroundings, v.Loads, v.Capacity} {
			if !(x >= 0 && x <= 10) {
				panic("forecast: a variation's factor is not within 0 to 10")
			}
		}
		if v.Capacity == 0 || v.Weather < 0 {
			panic("forecast: a variation without capacity, or of a weather year below 0")
		}
		out[y] = vary{v.Weather, v.Power.Float(), v.Soiling.Float(), v.Surroundings.Float(), v.Loads.Float(), v.Capacity.Float()}
	}
	return out
}

// mostDirt is what dirt takes at most.
const mostDirt = 0.9

// through returns the share of the beam, or of the sky, that surroundings let through, which let through share
// as built.
func (v *vary) through(share float64) float64 {
	return max(0, 1-(1-share)*v.surroundings)
}
