package sky

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sun"
)

// DiffuseFraction returns the diffuse part of an hour's global light at clearness index kt, the
// global over that outside the atmosphere, both horizontal. kt below 0 counts as 0.
// From hours at four US stations and one Australian; single hours scatter by ±0.15.
// Source: D. G. Erbs, S. A. Klein and J. A. Duffie, Solar Energy 28 (1982) 293, eq. 1; Duffie and
// Beckman, 4th ed., eq. 2.10.1.
func DiffuseFraction(kt quantity.Ratio) quantity.Ratio { return quantity.Ratio(erbs(kt.Float())) }

func erbs(k float64) float64 {
	switch {
	case !(k > 0):
		return 1
	case k <= 0.22:
		return 1 - 0.09*k
	case k <= 0.80:
		return 0.9511 + k*(-0.1604+k*(4.388+k*(-16.638+k*12.336)))
	}
	return 0.165
}

// winterSunset is the hour angle of sunset, radians, that parts the seasons of Erbs's sums.
const winterSunset = 81.4 * rad

// DailyDiffuseFraction returns the diffuse part of a day's global sum at clearness index k.
// sunset is the hour angle of sunset on that day. k below 0 counts as 0.
// Source: Erbs, Klein and Duffie 1982; Duffie and Beckman, 4th ed., eq. 2.11.1.
func DailyDiffuseFraction(k quantity.Ratio, sunset quantity.Angle) quantity.Ratio {
	x := math.Max(0, k.Float())
	if sunset.Radians() <= winterSunset {
		if x < 0.715 {
			return quantity.Ratio(1 + x*(-0.2727+x*(2.4495+x*(-11.9514+x*9.3879))))
		}
		return 0.143 * quantity.One
	}
	if x < 0.722 {
		return quantity.Ratio(math.Min(1, 1+x*(0.2832+x*(-2.5557+x*0.8448))))
	}
	return 0.175 * quantity.One
}

// MonthlyDiffuseFraction returns the diffuse part of a month's global sum at mean clearness index
// k, held within 0.3 to 0.8. sunset is the hour angle of sunset on the month's mean day.
// Source: Erbs, Klein and Duffie 1982; Duffie and Beckman, 4th ed., eq. 2.12.1.
func MonthlyDiffuseFraction(k quantity.Ratio, sunset quantity.Angle) quantity.Ratio {
	x := math.Max(0.3, math.Min(0.8, k.Float()))
	if sunset.Radians() <= winterSunset {
		return quantity.Ratio(1.391 + x*(-3.560+x*(4.189-x*2.137)))
	}
	return quantity.Ratio(1.311 + x*(-3.022+x*(3.427-x*1.821)))
}

// HourOfDay is an instant of a day by hour angles.
type HourOfDay struct {
	Sunset quantity.Angle // hour angle of sunset
	Angle  quantity.Angle // 15° an hour from solar noon
}

// GlobalShare returns the part of a day's global sum that falls in the hour about h; 0 at night.
// Source: M. Collares-Pereira and A. Rabl, Solar Energy 22 (1979) 155; Duffie and Beckman, 4th
// ed., eq. 2.13.1.
func (h HourOfDay) GlobalShare() quantity.Ratio {
	w, ws := h.Angle.Radians(), h.Sunset.Radians()
	a := 0.409 + 0.5016*math.Sin(ws-math.Pi/3)
	b := 0.6609 - 0.4767*math.Sin(ws-math.Pi/3)
	return quantity.Ratio((a + b*math.Cos(w)) * dayShare(w, ws))
}

// DiffuseShare returns the part of a day's diffuse sum that falls in the hour about h; 0 at night.
// Source: B. Y. H. Liu and R. C. Jordan, Solar Energy 4 (1960) 1; Duffie and Beckman, 4th ed.,
// eq. 2.13.2.
func (h HourOfDay) DiffuseShare() quantity.Ratio {
	return quantity.Ratio(dayShare(h.Angle.Radians(), h.Sunset.Radians()))
}

// dayShare is the share of an hour in the day's sum outside the atmosphere.
func dayShare(w, ws float64) float64 {
	whole := math.Sin(ws) - ws*math.Cos(ws)
	if !(math.Abs(w) < ws) || whole <= 0 {
		return 0
	}
	return math.Pi / 24 * (math.Cos(w) - math.Cos(ws)) / whole
}

// clearest is the largest part of the extraterrestrial irradiance that the beam keeps, by degree of
// zenith, 0 to 90: Bird and Hulstrom's clean air at 3000 m. It is filled once and never changed.
var clearest = func() (t [92]float64) {
	a := DefaultAtmosphere(3000*quantity.Metre, Clean)
	for i := range 90 {
		z := float64(i)
		t[i] = ClearSky(quantity.Angle(z*rad), sun.Constant, a).Beam.WattsPerSquareMetre() / sun.Constant.WattsPerSquareMetre()
	}
	t[90] = t[89] / 2
	t[91] = t[90]
	return t
}()

// Split parts a global irradiance on the horizontal into beam and diffuse by the hourly correlation
// of Erbs. zenith is that of the sun as seen, extraterrestrial the irradiance facing the sun above
// the atmosphere. The beam is never above that of clean air at 3000 m, which tames the low sun and
// light thrown by the edges of clouds; what is left is diffuse, so Global = Beam cos z + Diffuse.
// With the sun at or below the horizon all is diffuse; a negative global (night offset of an
// instrument) counts as 0. It panics on a value that is not finite.
// Source: Erbs, Klein and Duffie 1982; the bound is ours.
func Split(global, extraterrestrial quantity.Irradiance, zenith quantity.Angle) Light {
	g, e, z := global.WattsPerSquareMetre(), extraterrestrial.WattsPerSquareMetre(), math.Abs(zenith.Radians())
	if !(g < 1e5) || !(e >= 0 && e < 1e5) || math.IsNaN(z) {
		panic("sky: light is not finite")
	}
	g = math.Max(0, g)
	cosZ := math.Cos(z)
	if z >= math.Pi/2 || cosZ <= 0 || e == 0 {
		return Light{Global: quantity.Irradiance(g), Diffuse: quantity.Irradiance(g)}
	}
	beam := g * (1 - erbs(g/(e*cosZ))) / cosZ
	beam = math.Min(beam, boundOf(z, e))
	return Light{Global: quantity.Irradiance(g), Beam: quantity.Irradiance(beam), Diffuse: quantity.Irradiance(g - beam*cosZ)}
}

// boundOf returns the most beam at a zenith from 0 to the horizon under e W/m² beyond the atmosphere.
func boundOf(z, e float64) float64 {
	at := z / rad
	i := int(at)
	return e * (clearest[i] + (at-float64(i))*(clearest[i+1]-clearest[i]))
}
