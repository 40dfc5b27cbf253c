package sun

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
)

// Constant is the solar constant, the mean irradiance at 1 AU, ±0.5 W/m².
// Source: G. Kopp and J. L. Lean, Geophys. Res. Lett. 38 (2011) L01706: 1360.8 W/m²; rounded as in
// IAU 2015 resolution B3.
const Constant = 1361 * quantity.WattPerSquareMetre

// ExtraterrestrialNormal returns the irradiance on a plane facing the sun above the atmosphere:
// Constant over the distance squared. It panics if the distance is not positive.
func ExtraterrestrialNormal(p Position) quantity.Irradiance {
	if !(p.Distance > 0) {
		panic("sun: distance not positive")
	}
	return quantity.Irradiance(Constant.WattsPerSquareMetre() / (p.Distance * p.Distance))
}

// Course is what the daily sum outside the atmosphere depends on.
type Course struct {
	Latitude    quantity.Angle
	Declination quantity.Angle
	Normal      quantity.Irradiance // on a plane facing the sun
}

// SunsetAngle returns the hour angle of the geometric sunset, 0 (no day) to π (no night).
// Source: Duffie and Beckman, 4th ed., eq. 1.6.10.
func (c Course) SunsetAngle() quantity.Angle {
	x := -math.Tan(c.Latitude.Radians()) * math.Tan(c.Declination.Radians())
	return quantity.Angle(math.Acos(math.Max(-1, math.Min(1, x))))
}

// Daily returns the day's sum on the horizontal outside the atmosphere.
// Source: Duffie and Beckman, 4th ed., eq. 1.10.3.
func (c Course) Daily() quantity.Irradiation {
	lat, dec, g := c.Latitude.Radians(), c.Declination.Radians(), c.Normal.WattsPerSquareMetre()
	w := c.SunsetAngle().Radians()
	h := 86400 / math.Pi * g * (math.Cos(lat)*math.Cos(dec)*math.Sin(w) + w*math.Sin(lat)*math.Sin(dec))
	return quantity.Irradiation(math.Max(0, h))
}

// TextbookCourse returns the course of day n (1 to 366) with Cooper's declination and the one-term
// distance, for use with tables computed that way. The declination is up to 1.4° off in autumn.
// constant is the solar constant meant. Source: Duffie and Beckman, 4th ed., eqs. 1.4.1a and 1.6.1a.
func TextbookCourse(latitude quantity.Angle, n int, constant quantity.Irradiance) Course {
	d := float64(n)
	return Course{
		Latitude:    latitude,
		Declination: quantity.Angle(23.45 * rad * math.Sin(2*math.Pi*(284+d)/365)),
		Normal:      quantity.Irradiance(constant.WattsPerSquareMetre() * (1 + 0.033*math.Cos(2*math.Pi*d/365))),
	}
}

// SpencerCourse returns the course of day n (1 to 366) with Spencer's series for declination
// (up to 0.6° from the noon of a year of this century near the equinoxes: it stands for 0 h of about
// 1970) and distance (within 0.0005). constant is the solar constant meant. Source: J. W. Spencer, Search 2 (1971) 172, as in Iqbal, An
// Introduction to Solar Radiation (1983), eqs. 1.2.1 and 1.3.1.
func SpencerCourse(latitude quantity.Angle, n int, constant quantity.Irradiance) Course {
	s, c := math.Sincos(2 * math.Pi * float64(n-1) / 365)
	s2, c2 := 2*s*c, 1-2*s*s
	s3, c3 := s*(3-4*s*s), c*(4*c*c-3)
	return Course{
		Latitude:    latitude,
		Declination: quantity.Angle(0.006918 - 0.399912*c + 0.070257*s - 0.006758*c2 + 0.000907*s2 - 0.002697*c3 + 0.00148*s3),
		Normal:      quantity.Irradiance(constant.WattsPerSquareMetre() * (1.000110 + 0.034221*c + 0.001280*s + 0.000719*c2 + 0.000077*s2)),
	}
}

// DailyExtraterrestrial returns the sum of day n (1 to 366) on the horizontal outside the
// atmosphere, by Spencer's series: within 2 % where the noon sun stands above 30°, 3 % above 15°.
// constant is the solar constant meant, mostly Constant.
func DailyExtraterrestrial(latitude quantity.Angle, n int, constant quantity.Irradiance) quantity.Irradiation {
	return SpencerCourse(latitude, n, constant).Daily()
}

// MeanDay returns the day of the year whose daily sum outside the atmosphere is nearest the
// month's mean, good below 66° of latitude. It panics for a month that is none.
// Source: S. A. Klein, Solar Energy 19 (1977) 325; Duffie and Beckman, 4th ed., table 1.6.1.
func MeanDay(m time.Month) int {
	if m < time.January || m > time.December {
		panic("sun: no such month")
	}
	return [...]int{17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344}[m-1]
}

// EquationOfTime returns apparent less mean solar time at t: positive when a dial is ahead of the
// clock. Within 2 s, 1950 to 2100. Source: Meeus, 2nd ed., eq. 28.1.
func EquationOfTime(t time.Time) time.Duration {
	e := atDay(days(t))
	return equation(&e)
}

func equation(e *ephemeris) time.Duration {
	x := around(e.meanLongitude - 0.0057183*rad - e.ascension() + e.deltaPsi*math.Cos(e.meanObliquity+e.deltaEps))
	return time.Duration(x / (2 * math.Pi) * 86400 * float64(time.Second))
}
