package cell

import (
	"errors"
	"fmt"
	"math"

	"noonmark/internal/base/quantity"
)

// ErrLabel says that no cell has such a label.
var ErrLabel = errors.New("no cell has such a label")

// pmaxSpan is how far Pmax may stand from Vmp × Imp, relative: more than labels' rounding.
const pmaxSpan = 0.05

// Label is what a module's label says at reference conditions.
type Label struct {
	Pmax            quantity.Power
	Voc, Vmp        quantity.Voltage
	Isc, Imp        quantity.Current
	PmaxCoefficient quantity.PerKelvin
	VocCoefficient  quantity.PerKelvin
	IscCoefficient  quantity.PerKelvin
	Cells           int
	LowLight        quantity.Ratio // efficiency at 200 W/m² over that at 1000 W/m²
	Technology      Technology
}

// Report says how far the fit met the label.
type Report struct {
	Ideality        float64 // of one cell
	LowLight        quantity.Ratio
	PmaxCoefficient quantity.PerKelvin
	VocCoefficient  quantity.PerKelvin
}

// kind holds what a technology's cells have in common. Ideality and avalanche are from memory, of the
// ranges in the literature; gap is the material's.
var kinds = map[Technology]struct {
	ideality, gap float64
	avalanche     Avalanche
}{
	MonoPERC:         {1.10, 1.121, Avalanche{0.10, -16, 3.4}},
	MonoTOPCon:       {1.05, 1.121, Avalanche{0.10, -16, 3.4}},
	Heterojunction:   {1.05, 1.121, Avalanche{0.10, -16, 3.4}},
	RearContact:      {1.10, 1.121, Avalanche{0.15, -5.5, 3.0}},
	Poly:             {1.20, 1.121, Avalanche{0.10, -15, 3.7}},
	FlexibleMono:     {1.20, 1.121, Avalanche{0.10, -15, 3.4}},
	CIGS:             {1.50, 1.15, Avalanche{0.10, -6, 3.0}},
	CIGSFoil:         {1.60, 1.15, Avalanche{0.10, -6, 3.0}},
	CdTe:             {1.60, 1.475, Avalanche{0.10, -8, 3.0}},
	AmorphousSilicon: {1.80, 1.7, Avalanche{0.10, -8, 3.0}},
}

// Fit returns the parameters that pass through the label's three points with the highest power at the
// second, have its slopes of Isc and Voc, and come as near as the model can to its low light and its
// slope of power. Where Pmax differs from Vmp × Imp, by rounding or up to 5 %, Pmax holds and both are
// moved by the same factor; Pmax 0 is taken as not given.
//
// For a given ideality the light, saturation and shunt terms are linear in the three points, and the
// series resistance follows from the highest power. Ideality is then taken near the technology's own,
// such that the exponent of light on the shunt, between 0 and 1, can give the low light. The effective
// gap gives the slope of Voc exactly (to the De Soto law), the slope of Rs that of power; both are
// within 2 % of the label unless Report says otherwise. ErrLabel is returned, with the fill factor, for
// a label no single diode passes through.
// Source: the five conditions of De Soto, Klein & Beckman 2006, Solar Energy 80:78, eq. 12 to 16.
func Fit(l Label) (Params, Report, error) {
	var none Params
	kind, ok := kinds[l.Technology]
	if !ok || l.Cells < 1 {
		panic("cell: label without technology or cells")
	}
	isc, imp, voc, vmp := l.Isc.Amperes(), l.Imp.Amperes(), l.Voc.Volts(), l.Vmp.Volts()
	if !(isc > 0 && imp > 0 && voc > 0 && vmp > 0 && imp < isc && vmp < voc) {
		return none, Report{}, fmt.Errorf("%w: wanted 0 < Imp < Isc and 0 < Vmp < Voc, have %.4g of %.4g A and %.4g of %.4g V", ErrLabel, imp, isc, vmp, voc)
	}
	if p := l.Pmax.Watts(); p != 0 {
		k := p / (vmp * imp)
		if !(math.Abs(k-1) <= pmaxSpan) {
			return none, Report{}, fmt.Errorf("%w: Pmax %.4g W, but Vmp × Imp is %.4g W", ErrLabel, p, vmp*imp)
		}
		vmp, imp = vmp*math.Sqrt(k), imp*math.Sqrt(k)
		if vmp >= voc || imp >= isc {
			return none, Report{}, fmt.Errorf("%w: Pmax %.4g W wants more than Voc or Isc at Vmp/Imp %.4g", ErrLabel, p, vmp/imp)
		}
	}
	unit := float64(l.Cells) * thermal * referenceKelvin
	best, penalty := none, math.Inf(1)
	target := l.LowLight.Float()
	for k := range 181 {
		n := 0.6 + 0.0125*float64(k)
		p, ok := through(n*unit, isc, imp, voc, vmp)
		if !ok {
			continue
		}
		p.Cells, p.Gap, p.Avalanche, p.IscSlope = l.Cells, kind.gap, kind.avalanche, isc*l.IscCoefficient.PerKelvin()
		p.Shunt = shuntFor(&p, target)
		miss := lowLight(&p) - target
		cost := (n-kind.ideality)*(n-kind.ideality) + 2500*miss*miss
		if cost < penalty {
			best, penalty = p, cost
		}
	}
	if math.IsInf(penalty, 1) {
		return none, Report{}, fmt.Errorf("%w: fill factor %.2f with Vmp/Voc %.2f and Imp/Isc %.2f", ErrLabel, vmp*imp/(voc*isc), vmp/voc, imp/isc)
	}
	fitGap(&best, voc*l.VocCoefficient.PerKelvin())
	fitSeries(&best, l.PmaxCoefficient.PerKelvin())
	r := Report{Ideality: best.A / unit, LowLight: quantity.Ratio(lowLight(&best)),
		PmaxCoefficient: quantity.PerKelvin(powerSlope(&best)), VocCoefficient: quantity.PerKelvin(voltSlope(&best) / voc)}
	return best, r, nil
}

// through returns the parameters of ideality a that pass through the label, and whether a cell can have
// them: nothing negative.
func through(a, isc, imp, voc, vmp float64) (Params, bool) {
	top := (voc - vmp) / imp
	f := func(rs float64) (Params, float64, bool) {
		p, ok := linear(a, rs, isc, imp, voc, vmp)
		if !ok {
			return p, 0, false
		}
		e := p.I0/a*math.Exp((vmp+imp*rs)/a) + p.G
		return p, imp - vmp*e/(1+rs*e), true
	}
	// The residual falls from above zero at Rs 0 where the label is rounder than the diode alone.
	_, f0, ok := f(0)
	if !ok || f0 < 0 {
		return Params{}, false
	}
	low, high := 0.0, top
	for range 60 {
		mid := (low + high) / 2
		_, v, ok := f(mid)
		if !ok || v < 0 {
			high = mid
		} else {
			low = mid
		}
	}
	p, v, ok := f(low)
	return p, ok && math.Abs(v) < 1e-6*imp && p.G >= 0 && p.I0 > 0 && p.IL > 0
}

// linear solves the three points for IL, I0 and G, given a and Rs: a 2×2 system after taking the open
// circuit from the other two.
func linear(a, rs, isc, imp, voc, vmp float64) (Params, bool) {
	// 0 = IL - I0 (Eo - 1) - G Vo ; Isc = IL - I0 (Es - 1) - G Isc Rs ; Imp likewise.
	eo := math.Exp(voc / a)
	es, em := math.Exp(isc*rs/a), math.Exp((vmp+imp*rs)/a)
	a1, b1 := eo-es, voc-isc*rs
	a2, b2 := eo-em, voc-vmp-imp*rs
	det := a1*b2 - a2*b1
	if det == 0 {
		return Params{}, false
	}
	i0 := (isc*b2 - imp*b1) / det
	g := (a1*imp - a2*isc) / det
	p := Params{A: a, Rs: rs, I0: i0, G: g, IL: i0*(eo-1) + g*voc}
	return p, i0 > 0 && g >= 0
}

// lowLight returns the efficiency at 200 W/m² over that at 1000 W/m².
func lowLight(p *Params) float64 {
	t := quantity.Kelvin(referenceKelvin)
	dim, full := p.At(200*quantity.WattPerSquareMetre, t), p.At(1000*quantity.WattPerSquareMetre, t)
	return 5 * dim.Best().Power().Watts() / full.Best().Power().Watts()
}

// shuntFor returns the exponent of light on the shunt, 0 to 1, that brings the low light nearest to
// target.
func shuntFor(p *Params, target float64) float64 {
	at := func(x float64) float64 {
		q := *p
		q.Shunt = x
		return lowLight(&q)
	}
	if at(1) <= target {
		return 1
	}
	if at(0) >= target {
		return 0
	}
	low, high := 0.0, 1.0
	for range 40 {
		mid := (low + high) / 2
		if at(mid) < target {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// slopeStep is the temperature step a slope is taken over, K: the label's is a mean of some tens.
const slopeStep = 25

// voltSlope returns the mean slope of Voc from 25 °C to 50 °C, V/K.
func voltSlope(p *Params) float64 {
	at := func(d float64) float64 {
		s := p.At(1000*quantity.WattPerSquareMetre, quantity.Kelvin(referenceKelvin+d))
		return s.open()
	}
	return (at(slopeStep) - at(0)) / slopeStep
}

// powerSlope returns the mean relative slope of the highest power from 25 °C to 50 °C, 1/K.
func powerSlope(p *Params) float64 {
	at := func(d float64) float64 {
		s := p.At(1000*quantity.WattPerSquareMetre, quantity.Kelvin(referenceKelvin+d))
		return s.Best().Power().Watts()
	}
	return (at(slopeStep)/at(0) - 1) / slopeStep
}

// fitGap sets the effective gap, 0.3 to 3 eV, that gives the slope of Voc, V/K.
func fitGap(p *Params, want float64) {
	low, high := 0.3, 3.0
	for range 60 {
		p.Gap = (low + high) / 2
		if voltSlope(p) > want { // a wider gap falls more
			low = p.Gap
		} else {
			high = p.Gap
		}
	}
}

// fitSeries sets the slope of Rs, within ±1.6 %/K, that gives the slope of power.
func fitSeries(p *Params, want float64) {
	low, high := -0.016, 0.016
	for range 50 {
		p.RsSlope = (low + high) / 2
		if powerSlope(p) > want {
			low = p.RsSlope
		} else {
			high = p.RsSlope
		}
	}
}
