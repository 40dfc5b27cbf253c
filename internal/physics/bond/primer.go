package bond

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Primer figures, defaults. Source: coverage from memory (600 ft² per US gallon is 15 m² per litre), waste
// calculated with it in the handbook, A3; thirst common practice.
const (
	PrimerCoverage quantity.Area  = 15 * quantity.SquareMetre // by one litre, smooth, one coat
	PrimerWaste    quantity.Ratio = 1.3
)

// Priming is what is to be primed.
type Priming struct {
	Masked   quantity.Area // only this is primed, not the roof
	Coverage quantity.Area // by one litre, smooth, one coat
	Coats    int
	Waste    quantity.Ratio // 1.3: three tenths over
	Thirst   quantity.Ratio // of the surface: smooth 1, porous fabric 2 to 3
}

// Volume returns the primer: masked area over coverage, times coats, waste and thirst. Coats below 1,
// waste and thirst below 1 count as 1. It panics at a coverage not above zero or an area below zero.
// Source: handbook A3, with its correction for thirst.
func (p Priming) Volume() quantity.Volume {
	c, a := p.Coverage.SquareMetres(), p.Masked.SquareMetres()
	if !(c > 0) || !(a >= 0) {
		panic("bond: priming without coverage or with an area below zero")
	}
	litres := a / c * math.Max(1, float64(p.Coats)) * math.Max(1, p.Waste.Float()) * math.Max(1, p.Thirst.Float())
	return quantity.Volume(litres * 1e-3)
}

// Containers returns how many containers to buy for a volume: enough and one spare, for the last one
// never runs out at the front edge. 0 for no volume; it panics at a container not above zero.
func Containers(v, container quantity.Volume) int {
	c := container.CubicMetres()
	if !(c > 0) {
		panic("bond: container not above zero")
	}
	if v <= 0 {
		return 0
	}
	return int(math.Ceil(math.Min(v.CubicMetres()/c, 1e6)-1e-9)) + 1
}

// Pace is how fast one person primes and covers.
type Pace struct {
	PrimePerArea time.Duration // of one square metre
	CoverPerArea time.Duration // align, lower and roll one square metre
}

// PaceOf returns the pace of the trade: 2 min a module of half a square metre to prime, 8 min to place
// and roll it. Source: handbook H3, common practice; the placing our own estimate.
func PaceOf() Pace {
	return Pace{PrimePerArea: 4 * time.Minute, CoverPerArea: 16 * time.Minute}
}

// Patch returns the largest area one person can prime and still cover before the primer's time is over,
// the first brushed strip being covered last: (cover - flash)/(prime + cover per area). 0 where the wait
// for the flash-off leaves no time; at most 100 m². It panics at a pace not above zero.
func Patch(t Primer, p Pace) quantity.Area {
	per := p.PrimePerArea.Seconds() + p.CoverPerArea.Seconds()
	if !(per > 0) {
		panic("bond: pace not above zero")
	}
	return quantity.Area(hold((t.Cover-t.Flash).Seconds()/per, 0, 100))
}

// Patches returns into how many parts an area is to be cut so that none is larger than a patch; 0 when
// the patch is none, for then it cannot be done at all.
func Patches(area, patch quantity.Area) int {
	if patch <= 0 {
		return 0
	}
	return max(1, int(math.Ceil(math.Min(area.SquareMetres()/patch.SquareMetres(), 1e6)-1e-9)))
}

// WetOut is the pressure that makes a tape flow onto the skin: a firm roller or thumb, for a moment.
// Source: tape supplier's page and distributor's pages, 15 psi.
const WetOut = 100 * quantity.Kilopascal

// WeightPressure returns the pressure of weights spread over an area. It panics at an area not above zero.
func WeightPressure(m quantity.Mass, over quantity.Area) quantity.Pressure {
	a := over.SquareMetres()
	if !(a > 0) {
		panic("bond: area not above zero")
	}
	return quantity.Pressure(math.Max(0, m.Kilograms()) * gravity / a)
}
