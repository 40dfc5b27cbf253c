package bond

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Spell is a time at a temperature of the bond.
type Spell struct {
	For time.Duration
	At  quantity.Temperature
}

// Temperatures between which the law of build is used, °C: below the first a tape does not wet out and
// nothing is counted (our own estimate), above the second the law is held there.
const buildFrom, buildTo = 0, 70

// AtRoom returns the time at 21 °C that builds as much as the spells: each counts 2^((T-21)/10). It is a
// model, not data: no curve has been published; it gives 3 h at 66 °C for 72 h at 21 °C, where 1 h is
// remembered. Below 0 °C nothing counts, above 70 °C it is held. Negative times count as none.
// Source: handbook A1, working model, our own estimate.
func AtRoom(spells ...Spell) time.Duration {
	sum := 0.0
	for _, s := range spells {
		t := s.At.Celsius()
		if t < buildFrom || s.For <= 0 {
			continue
		}
		sum += s.For.Seconds() * math.Pow(2, (math.Min(t, buildTo)-21)/10)
	}
	return time.Duration(math.Min(sum, 1e9) * float64(time.Second))
}

// Points of the build of an acrylic tape at 21 °C, seconds of 72 h: 50 % at 20 min, 90 % at 24 h, all at
// 72 h. Source: 72 h from a tape supplier's page, 50 and 90 % from memory.
const (
	builtHalf   = 20 * time.Minute
	builtNinety = 24 * time.Hour
	builtAll    = 72 * time.Hour
)

// Build returns the share of its full strength that a bond has after a time at 21 °C, as AtRoom gives
// it. Full is the adhesive's own time to full strength; the points of acrylic tape are stretched to it.
// Straight to half, then straight over the logarithm of time between the points, ±0.1: our own estimate.
// It panics at a full time not above zero.
func Build(atRoom, full time.Duration) quantity.Ratio {
	if full <= 0 {
		panic("bond: full build not above zero")
	}
	t := atRoom.Seconds() * builtAll.Seconds() / full.Seconds()
	half, ninety, all := builtHalf.Seconds(), builtNinety.Seconds(), builtAll.Seconds()
	switch {
	case t <= 0:
		return 0
	case t <= half:
		return quantity.Ratio(0.5 * t / half)
	case t <= ninety:
		return quantity.Ratio(0.5 + 0.4*math.Log(t/half)/math.Log(ninety/half))
	case t < all:
		return quantity.Ratio(0.9 + 0.1*math.Log(t/ninety)/math.Log(all/ninety))
	}
	return 1
}

// Stage is what a vehicle may do as its bond builds.
type Stage int

// Stages, in order.
const (
	Stand         Stage = iota // leave it where it is
	MoveByHand                 // pushed or rolled slowly
	TownSpeed                  // up to 50 km/h
	MotorwaySpeed              // the speed the bond was planned for
)

// String returns the stage as printed.
func (s Stage) String() string {
	if s < 0 || s > MotorwaySpeed {
		panic("bond: unknown stage")
	}
	return [...]string{"stand", "move by hand", "town speed", "the planned speed"}[s]
}

// Needed returns the time at 21 °C before a stage: 20 min, 24 h and 72 h of a bond that is full at 72 h,
// stretched to full. It panics for a stage that is none. Source: handbook A4, derived from the build of
// acrylic tape; common practice.
func Needed(s Stage, full time.Duration) time.Duration {
	if s < 0 || s > MotorwaySpeed {
		panic("bond: unknown stage")
	}
	at := [...]time.Duration{0, builtHalf, builtNinety, builtAll}[s]
	return time.Duration(float64(at) * full.Seconds() / builtAll.Seconds())
}

// Flash-off of a solvent primer at 20 °C, and the time in which what is primed is to be covered: the
// solvent goes twice as fast for each 10 K. Source: 1 to 5 min and "the same hour" from memory; the law
// our own estimate.
const (
	flashMost = 5 * time.Minute
	coverAt20 = time.Hour
)

// Primer is a primer's times at the temperature of a skin.
type Primer struct {
	Flash time.Duration // wait at least: until it looks dry
	Cover time.Duration // and have it covered by then
}

// PrimerTimes returns the times of a solvent primer on a skin, 0 °C to 60 °C, held outside. Cold or
// humid air makes it slower. Our own estimate on remembered figures: the can's own sheet comes first.
func PrimerTimes(skin quantity.Temperature) Primer {
	k := math.Pow(2, (20-hold(skin.Celsius(), 0, 60))/10)
	return Primer{Flash: time.Duration(float64(flashMost) * math.Min(k, 4)), Cover: time.Duration(float64(coverAt20) * k)}
}
