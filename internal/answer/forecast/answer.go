package forecast

import (
	"slices"
	"time"

	"noonmark/internal/base/quantity"
)

// Band is three quantiles of the years computed, by the energy trade's convention: P90 is reached
// or exceeded in 90 % of years, P10 in 10 %.
type Band struct{ P90, P50, P10 float64 }

// bandOf returns the band of the values, which it sorts. The quantile is the linear interpolation
// of the ordered values, number 7 of Hyndman & Fan 1996.
func bandOf(values []float64) Band {
	slices.Sort(values)
	q := func(p float64) float64 {
		if len(values) == 0 {
			return 0
		}
		h := p * float64(len(values)-1)
		i := int(h)
		if i+1 >= len(values) {
			return values[len(values)-1]
		}
		return values[i] + (h-float64(i))*(values[i+1]-values[i])
	}
	return Band{P90: q(0.1), P50: q(0.5), P10: q(0.9)}
}

// Day is one civil day of the trip, over the years computed. Energies are means unless named
// otherwise, so that days add up to the ledger.
type Day struct {
	Date             time.Time // local midnight
	Place            string
	Moves            bool            // some of it is driven
	Harvest          quantity.Energy // into battery and loads from the modules
	Demand           quantity.Energy // at the battery, own use and inverter included
	Unmet            quantity.Energy
	Offered          quantity.Energy // by the chargers at the battery, taken or not
	Unused           quantity.Energy // offered by the modules, not taken
	Alternator       quantity.Energy
	Lowest           quantity.Ratio       // state of charge: median of the years' lowest
	LowestP90        quantity.Ratio       // reached or exceeded in 90 % of years
	HarvestBand      Band                 // Wh
	ShortShare       quantity.Ratio       // share of years whose night from this day runs short
	ShortBy          quantity.Energy      // what such a night lacks, mean of the years in which it is short
	PlaneIrradiation quantity.Irradiation // open sky on the first module's plane
	WarmestModule    quantity.Temperature // mean of the years' highest
	AirLow, AirHigh  quantity.Temperature // means
}

// Answer is the trip, computed.
type Answer struct {
	Days                           []Day
	Years                          int
	Seed                           uint64
	Ledger                         []Entry         // mean of the years, every item, zero ones included
	Residual                       quantity.Energy // ins less outs of the mean ledger
	WorstResidual                  quantity.Ratio  // the largest |residual| of any year or step over its throughput
	NightsShort                    Band
	Nights                         int
	Harvest, Demand, Unmet, Unused quantity.Energy // of the trip, means
	Offered                        quantity.Energy // by the chargers at the battery, of the trip, mean: taken and unused
	Modules                        []Module        // when asked for
	HarvestBand                    Band            // Wh of the trip
	LowestBand                     Band            // lowest state of charge of the trip
	ClimateError                   quantity.Ratio  // standard deviation taken for the climatology itself
	WorstRun                       WorstRun
	Cells                          *Cells // when asked for
	ByYear                         []Year // in order of year
	Notes                          []string
}

// WorstRun is the run of days that takes most out of the battery, by the days' means.
type WorstRun struct {
	First, Last time.Time
	Shortfall   quantity.Energy // demand less harvest and alternator
}
