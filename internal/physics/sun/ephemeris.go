package sun

import (
	"math"
	"time"
)

const (
	rad = math.Pi / 180

	// secondsJ2000 is the Unix time of 2000-01-01 12:00 UT, JD 2451545.0.
	secondsJ2000 = 946728000
	// century is a Julian century, days, exact.
	century = 36525.0
)

// days returns the UT days since JD 2451545.0.
func days(t time.Time) float64 {
	return (float64(t.Unix()-secondsJ2000) + float64(t.Nanosecond())*1e-9) / 86400
}

// deltaT returns TT - UT in seconds for the day d since J2000.
// Within 1 s of observation from 1950 to 2020; the extrapolation to 2100 may be tens of seconds
// off, which moves the sun 0.04″ a second. Source: F. Espenak and J. Meeus, Five Millennium Canon
// of Solar Eclipses, NASA/TP-2006-214141, sec. 3, polynomials; before 1941 and after 2150 the
// parabola of its eq. for far years.
func deltaT(d float64) float64 {
	y := 2000 + d/365.25
	switch {
	case y < 1941 || y >= 2150:
		u := (y - 1820) / 100
		return -20 + 32*u*u
	case y < 1961:
		t := y - 1950
		return 29.07 + t*(0.407+t*(-1/233.0+t/2547))
	case y < 1986:
		t := y - 1975
		return 45.45 + t*(1.067+t*(-1/260.0-t/718))
	case y < 2005:
		t := y - 2000
		return 63.86 + t*(0.3345+t*(-0.060374+t*(0.0017275+t*(0.000651814+t*0.00002373599))))
	case y < 2050:
		t := y - 2000
		return 62.92 + t*(0.32217+t*0.005589)
	}
	u := (y - 1820) / 100
	return -20 + 32*u*u - 0.5628*(2150-y)
}

// ephemeris is the sun as seen from the centre of the Earth; radians unless said.
type ephemeris struct {
	meanLongitude float64 // L0, not reduced
	anomaly       float64 // M
	eccentricity  float64 // e
	centre        float64 // C
	longitude     float64 // true, of the date
	distance      float64 // AU
	node          float64 // Ω of the Moon
	deltaPsi      float64 // nutation in longitude
	deltaEps      float64 // nutation in obliquity
	meanObliquity float64
	apparent      float64 // longitude with nutation and aberration
	sinRA, cosRA  float64 // times cos of declination
	sinDec        float64
	sidereal      float64 // apparent, at Greenwich
}

// ascension returns the apparent right ascension, 0 to 2π.
func (e *ephemeris) ascension() float64 { return turn(math.Atan2(e.sinRA, e.cosRA)) }

// declination returns the apparent declination.
func (e *ephemeris) declination() float64 { return math.Asin(e.sinDec) }

// turn reduces an angle to [0, 2π).
func turn(a float64) float64 {
	a -= 2 * math.Pi * math.Floor(a/(2*math.Pi))
	if a < 0 || a >= 2*math.Pi {
		return 0
	}
	return a
}

// around reduces an angle to [-π, π).
func around(a float64) float64 { return turn(a+math.Pi) - math.Pi }

// atDay returns the sun at d days of UT since J2000.
func atDay(d float64) ephemeris { return at(d, (d+deltaT(d)/86400)/century) }

// at returns the sun at d days of UT and T centuries of TT since J2000.
// Equation numbers are those of Meeus, 2nd ed.
func at(d, T float64) ephemeris {
	var e ephemeris
	l0 := 280.46646 + T*(36000.76983+T*0.0003032)            // 25.2
	m := 357.52911 + T*(35999.05029-T*0.0001537)             // 25.3
	e.eccentricity = 0.016708634 - T*(0.000042037+T*1.26e-7) // 25.4
	e.meanLongitude, e.anomaly = l0*rad, m*rad
	s1, c1 := math.Sincos(m * rad)
	s2 := 2 * s1 * c1
	s3 := s1 * (3 - 4*s1*s1)
	c := (1.914602-T*(0.004817+T*0.000014))*s1 + (0.019993-T*0.000101)*s2 + 0.000289*s3 // p. 164

	// Periodic terms: two of Venus, one of Jupiter, one of the Moon. Meeus, 1st ed. and
	// Astronomical Formulae for Calculators (1979), ch. 18; arguments from 1900.
	u := T + 1
	p := 0.00134*math.Cos((153.23+22518.7541*u)*rad) +
		0.00154*math.Cos((216.57+45037.5082*u)*rad) +
		0.00200*math.Cos((312.69+32964.3577*u)*rad) +
		0.00179*math.Sin((350.74+445267.1142*u)*rad)

	e.centre = c * rad
	e.longitude = (l0 + c + p) * rad
	cosV := c1*math.Cos(c*rad) - s1*math.Sin(c*rad)                                            // of the true anomaly M + C
	e.distance = 1.000001018 * (1 - e.eccentricity*e.eccentricity) / (1 + e.eccentricity*cosV) // 25.5

	e.node = (125.04452 - T*(1934.136261-T*0.0020708)) * rad // p. 144
	moon := (218.3165 + T*481267.8813) * rad
	sn, cn := math.Sincos(e.node)
	sl, cl := math.Sincos(2 * l0 * rad)
	sm, cm := math.Sincos(2 * moon)
	const arcsec = rad / 3600
	e.deltaPsi = (-17.20*sn - 1.32*sl - 0.23*sm + 0.21*2*sn*cn) * arcsec        // p. 144
	e.deltaEps = (9.20*cn + 0.57*cl + 0.10*cm - 0.09*(1-2*sn*sn)) * arcsec      // p. 144
	e.meanObliquity = (84381.448 - T*(46.8150+T*(0.00059-T*0.001813))) * arcsec // 22.2

	aberration := -20.4898 * arcsec / e.distance // 25.10
	e.apparent = e.longitude + e.deltaPsi + aberration
	so, co := math.Sincos(e.meanObliquity + e.deltaEps)
	sa, ca := math.Sincos(e.apparent)
	e.sinRA, e.cosRA, e.sinDec = co*sa, ca, so*sa // 25.6, 25.7

	mean := 280.46061837 + 360*(d-math.Floor(d)) + 0.98564736629*d + T*T*(0.000387933-T/38710000) // 12.4
	e.sidereal = mean*rad + e.deltaPsi*co
	return e
}
