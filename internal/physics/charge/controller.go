package charge

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Rating is what a controller's sheet says.
type Rating struct {
	Rated       quantity.Power   // input it is sold for
	Efficiency  quantity.Ratio   // at half of Rated
	FixedLoss   quantity.Power   // while working
	StartMargin quantity.Voltage // of the open array over the battery, to start
	RunMargin   quantity.Voltage // to go on
	InputMin    quantity.Voltage // lowest working voltage, whatever the battery; 0: none
}

// Controller turns an array's power into a battery's. Pout = Pin - p0 - k1 Pin - k2 Pin².
type Controller struct {
	p0         float64 // W
	k1         float64
	k2         float64 // 1/W
	start, run float64 // V
	least      float64 // V
}

// NewController returns the controller of a rating. The loss at half load beyond the fixed one is split
// in two halves, one that goes with the power (diodes, switching) and one with its square (resistance):
// our own estimate; it moves the efficiency at full load by 1 % at most against either alone. A fixed
// loss above the whole loss at half load stays as given, and the efficiency falls short of the
// stated. It panics when the rated power is not above zero, the efficiency outside 0..1 (0
// excluded), or a loss or margin below zero. Source of the form: trade handbook C5.
func NewController(r Rating) Controller {
	h, e, p0 := r.Rated.Watts()/2, r.Efficiency.Float(), r.FixedLoss.Watts()
	if !(h > 0) || math.IsInf(h, 0) || !(e > 0 && e <= 1) || !(p0 >= 0) || math.IsInf(p0, 0) {
		panic("charge: rating outside its range")
	}
	if !(r.StartMargin >= 0) || !(r.RunMargin >= 0) || !(r.InputMin >= 0) {
		panic("charge: margin below zero")
	}
	q := max(0, (1-e)*h-p0)
	return Controller{p0: p0, k1: q / 2 / h, k2: q / 2 / (h * h),
		start: r.StartMargin.Volts(), run: r.RunMargin.Volts(), least: r.InputMin.Volts()}
}

// top returns the input beyond which more input would give less output.
func (c *Controller) top() float64 {
	if c.k2 <= 0 {
		return math.Inf(1)
	}
	return (1 - c.k1) / (2 * c.k2)
}

// Output returns what leaves a controller with in going into it, and what is lost; the two sum to in. An
// input that does not cover the fixed loss is all lost; a negative one counts as none. It panics at NaN
// and infinity. Accuracy 1 % of in above a tenth of the rating.
func (c Controller) Output(in quantity.Power) (out, loss quantity.Power) {
	p := in.Watts()
	if math.IsNaN(p) || math.IsInf(p, 0) {
		panic("charge: input not finite")
	}
	p = max(0, p)
	x := min(p, c.top())
	o := max(0, x-c.p0-c.k1*x-c.k2*x*x)
	return quantity.Power(o), quantity.Power(p - o)
}

// Input returns the least input that gives out, and false when no input does. An output of nothing
// needs none.
func (c Controller) Input(out quantity.Power) (quantity.Power, bool) {
	o := out.Watts()
	if o <= 0 {
		return 0, true
	}
	a := 1 - c.k1
	d := a*a - 4*c.k2*(o+c.p0)
	if !(d >= 0) || a <= 0 {
		return 0, false
	}
	// The smaller root, in the form that does not cancel as k2 goes to zero.
	return quantity.Power(2 * (o + c.p0) / (a + math.Sqrt(d))), true
}

// Running reports whether a controller works: it starts when the array's open voltage exceeds the
// battery's by the start margin, goes on while it exceeds it by the run margin, and never works below
// its lowest voltage. Source: trade handbook C5.
func (c Controller) Running(was bool, open, battery quantity.Voltage) bool {
	margin := c.start
	if was {
		margin = min(c.run, c.start)
	}
	return open.Volts() >= max(c.least, battery.Volts()+margin)
}

// townSpeed is the mean speed below which a drive is one through town.
const townSpeed = 60 * quantity.KilometrePerHour

// TrackingEfficiency returns the share of the best power a tracker holds: 0.98 parked, 0.95 on a road of
// 60 km/h and more, 0.92 below that, where shadows come faster than it sweeps. Source: the trade's review
// of modules on vehicles, section 3 (recommended; measured above 0.90).
func TrackingEfficiency(driving bool, road quantity.Speed) quantity.Ratio {
	switch {
	case !driving:
		return 98 * quantity.Percent
	case road >= townSpeed:
		return 95 * quantity.Percent
	}
	return 92 * quantity.Percent
}

// Alternator charges through a converter while the engine runs.
type Alternator struct {
	Current    quantity.Current // out of the converter
	Efficiency quantity.Ratio   // of the converter
}

// Output returns the power into the battery at its voltage.
func (a Alternator) Output(battery quantity.Voltage) quantity.Power {
	return quantity.Power(a.Current.Amperes() * max(0, battery.Volts()))
}

// Draw returns the power taken from the alternator. It panics when the efficiency is not above zero.
func (a Alternator) Draw(battery quantity.Voltage) quantity.Power {
	if !(a.Efficiency > 0) {
		panic("charge: efficiency not positive")
	}
	return quantity.Power(a.Output(battery).Watts() / a.Efficiency.Float())
}
