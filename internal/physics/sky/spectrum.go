package sky

import (
	"math"

	"noonmark/internal/base/quantity"
)

// SpectralGroup is how a kind of cell answers to the colour of light.
type SpectralGroup int

const (
	Monocrystalline SpectralGroup = iota // also CIGS, which answers alike
	Polycrystalline
	Amorphous // triple junction; a single one is alike
)

// spectral are polynomials in air mass. Source: De Soto, Klein and Beckman, Solar Energy 80 (2006)
// 78, table A1, after King et al., SAND2004-3535; from memory, each 1 within 0.0013 at 1.5.
var spectral = [3][5]float64{
	{0.935823, 0.054289, -0.008677, 0.000527, -0.000011},
	{0.918093, 0.086257, -0.024459, 0.002816, -0.000126},
	{1.10044085, -0.06142323, -0.00442732, 0.000631504, -0.000019184},
}

// SpectralFactor returns the current of a cell under clear light of the given air mass over that
// under the same irradiance at air mass 1.5. airMass is the absolute one, with the pressure; it is
// held within 0.5 and 10. Clear sky only: under cloud the factor is near 1. It panics for a group that
// is none. Source: see spectral.
func SpectralFactor(g SpectralGroup, airMass float64) quantity.Ratio {
	if g < Monocrystalline || g > Amorphous || math.IsNaN(airMass) {
		panic("sky: unknown spectral group or air mass")
	}
	m := math.Max(0.5, math.Min(10, airMass))
	c := &spectral[g]
	return quantity.Ratio(c[0] + m*(c[1]+m*(c[2]+m*(c[3]+m*c[4]))))
}
