package forecast

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/charge"
)

// Cells is what the trip does to the battery's cells, the mean of the years.
type Cells struct {
	Wear       charge.Wear // of LFP cells, by the trip once
	Full       float64     // equivalent full cycles
	Depth      quantity.Ratio
	Mean       quantity.Temperature
	Coldest    quantity.Temperature // mean of the years' lowest
	Warmest    quantity.Temperature // mean of the years' highest
	Charge     quantity.Ratio       // mean
	High       quantity.Ratio       // of the time above nine tenths of full
	ColdHours  float64              // in which light was there that cold cells did not take, all or some
	FrostHours float64              // of them with the cells below 0 °C
	ColdDays   float64              // with such an hour
	Kept       quantity.Energy      // not taken for cold
	Hours      float64              // of the trip
}

// high is the charge above which a battery is said to sit full.
const high = 0.9

// cells gathers Cells in a year. A day's swing of charge is taken as the depth of its cycles, the current by its mean.
type cells struct {
	wear                        charge.Wear
	full, depth                 float64
	heat, filled, above, time   float64
	coldest, warmest            float64
	cold, frost, coldDays, kept float64
	top, bottom, day            float64 // of today: charge, throughput J
	chilled                     bool
}

func newCells() *cells {
	return &cells{coldest: math.Inf(1), warmest: math.Inf(-1), top: math.Inf(-1), bottom: math.Inf(1)}
}

// note books a step: through is the energy that went through the posts either way, kept what cold cells did not take.
func (c *cells) note(r *runner, through, kept float64) {
	cell, soc := r.battery.Cell, r.battery.Charge.Joules()/r.usable
	c.wear.Stand(cell, quantity.Ratio(soc), step)
	k := cell.Celsius()
	c.heat += k * seconds
	c.filled += soc * seconds
	if soc > high {
		c.above += seconds
	}
	c.time += seconds
	c.coldest, c.warmest = math.Min(c.coldest, k), math.Max(c.warmest, k)
	c.top, c.bottom = math.Max(c.top, soc), math.Min(c.bottom, soc)
	c.day += through
	if kept > 0 {
		c.kept += kept
		c.cold += seconds
		if k < 0 {
			c.frost += seconds
		}
		c.chilled = true
	}
}

// close ends a day.
func (c *cells) close(r *runner) {
	if c.top >= c.bottom && r.usable > 0 {
		n := c.day / (2 * r.usable)
		swing := c.top - c.bottom
		c.wear.Cycle(charge.Cycling{Depth: quantity.Ratio(swing), Full: n}) // rates of a camper are under those fitted
		c.full += n
		c.depth += swing * n
	}
	if c.chilled {
		c.coldDays++
	}
	c.top, c.bottom, c.day, c.chilled = math.Inf(-1), math.Inf(1), 0, false
}

// cellsOf returns the mean of the years' cells.
func cellsOf(years []yearResult) *Cells {
	out := &Cells{}
	share := 1 / float64(len(years))
	heat, coldest, warmest, filled, above, time, depth := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
	for y := range years {
		c := years[y].cells
		if c.time == 0 {
			continue
		}
		out.Wear = out.Wear.Plus(c.wear.Times(share))
		out.Full += c.full * share
		out.ColdHours += c.cold * share / 3600
		out.FrostHours += c.frost * share / 3600
		out.ColdDays += c.coldDays * share
		out.Kept += quantity.Energy(c.kept * share)
		heat, filled, above, time, depth = heat+c.heat, filled+c.filled, above+c.above, time+c.time, depth+c.depth*share
		coldest, warmest = coldest+c.coldest*share, warmest+c.warmest*share
	}
	if time > 0 {
		out.Mean, out.Charge, out.High = quantity.Celsius(heat/time), quantity.Ratio(filled/time), quantity.Ratio(above/time)
		out.Coldest, out.Warmest, out.Hours = quantity.Celsius(coldest), quantity.Celsius(warmest), time*share/3600
	}
	if out.Full > 0 {
		out.Depth = quantity.Ratio(depth / out.Full)
	}
	return out
}
