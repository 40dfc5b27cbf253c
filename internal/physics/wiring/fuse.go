package wiring

import (
	"math"

	"noonmark/internal/base/quantity"
)

// fuses are the ratings of blade, bolt-down and class T fuses in trade, A. Common practice.
var fuses = [...]float64{1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500}

// loadMargin is a fuse over the current it carries for hours. Source: NEC 2023, 210.20(A): 125 % of a
// continuous load.
const loadMargin = 1.25

// SuggestFuse returns the least standard fuse that carries load for hours, 1.25 of it or more, and
// still protects the conductor, at most ampacity. It returns false when there is none: then the
// conductor is too thin for the load. A load of either sign counts by its size. It panics at NaN.
func SuggestFuse(load, ampacity quantity.Current) (quantity.Current, bool) {
	least, most := loadMargin*math.Abs(flowing(load)), flowing(ampacity)
	for _, f := range fuses {
		if f >= least*(1-1e-9) && f <= most*(1+1e-9) {
			return quantity.Current(f), true
		}
	}
	return 0, false
}

// Array is strings in parallel, for their fuses.
type Array struct {
	Strings      int
	ShortCircuit quantity.Current // of one string, at 1000 W/m² and 25 °C
	MaxFuse      quantity.Current // a module stands; on its label
}

// Backfeed returns the current that the other strings can drive into a faulty one.
func (a Array) Backfeed() quantity.Current {
	return quantity.Current(float64(max(0, a.Strings-1)) * a.ShortCircuit.Amperes())
}

// NeedsFuse reports whether each string needs a fuse of its own: the other strings together can drive
// more through it than its modules stand. Source: IEC 62548:2016, 6.5.3.
func (a Array) NeedsFuse() bool { return a.Backfeed() > a.MaxFuse }

// NeedsFuseDutch is NeedsFuse by another country's rule: none for one string or two; from three on when
// the others drive more than 1.35 of what the modules stand. Source: NEN 1010:2020, 712.
func (a Array) NeedsFuseDutch() bool {
	return a.Strings > 2 && a.Backfeed().Amperes() > 1.35*a.MaxFuse.Amperes()
}

// FuseWindow returns the bounds between which the rating of a string's fuse must lie: above 1.5 and
// below 2.4 of the string's short-circuit current. Source: IEC 62548:2016, 6.5.3.
func (a Array) FuseWindow() (low, high quantity.Current) {
	i := a.ShortCircuit.Amperes()
	return quantity.Current(1.5 * i), quantity.Current(2.4 * i)
}

// StringFuse returns the least standard fuse above 1.5 and below 2.4 of the string's short-circuit
// current that is at most the modules' largest. It returns false when none is. The fuse's voltage must
// exceed the array's open voltage in the cold. Source: IEC 62548:2016, 6.5.3.
func (a Array) StringFuse() (quantity.Current, bool) {
	i := a.ShortCircuit.Amperes()
	for _, f := range fuses {
		if f > 1.5*i && f < 2.4*i && f <= a.MaxFuse.Amperes() {
			return quantity.Current(f), true
		}
	}
	return 0, false
}

// DesignCurrent returns the current that conductors and devices of the array's cable are chosen for: 1.25
// of the sum of short-circuit currents for bright cloud edges, and 1.25 again for hours of it. Source: NEC
// 2023, 690.8(A) and (B).
func (a Array) DesignCurrent() quantity.Current {
	return quantity.Current(1.25 * 1.25 * float64(a.Strings) * a.ShortCircuit.Amperes())
}

// Breaking is the fault current that fuses must be able to break.
type Breaking struct{ Main, Branch quantity.Current }

// InterruptRating returns the least interrupt rating of fuses on a lead battery of 12 or 24 V by the
// sum of its cold-cranking amperes. Batteries in parallel add, in series they do not. Not for lithium,
// which needs its own short-circuit current or 20 kA. Source: ABYC E-11, table V.A.
func InterruptRating(coldCranking quantity.Current) Breaking {
	switch a := coldCranking.Amperes(); {
	case a <= 650:
		return Breaking{1500 * quantity.Ampere, 750 * quantity.Ampere}
	case a <= 1100:
		return Breaking{3000 * quantity.Ampere, 1500 * quantity.Ampere}
	}
	return Breaking{5000 * quantity.Ampere, 2500 * quantity.Ampere}
}

// LithiumBreaking is the fault current fuses must break on a lithium bank whose own is not known. Source:
// ABYC E-11, by a second hand: 20 kA at 125 V of direct current where the bank drives over 10 kA.
const LithiumBreaking = 20000 * quantity.Ampere

// Reach is how far along the cable from a battery's post a fuse may sit.
type Reach struct {
	Bare     quantity.Length // ABYC E-11: 7 in
	ISO      quantity.Length // ISO 10133:2000, by a second hand: 200 mm
	Sheathed quantity.Length // ABYC E-11, from memory: 40 in, in conduit or sheath all the way
}

// FuseReach returns the reach of the boat rules, which caravans borrow.
func FuseReach() Reach {
	return Reach{Bare: 7 * quantity.Inch, ISO: 200 * quantity.Millimetre, Sheathed: 40 * quantity.Inch}
}
