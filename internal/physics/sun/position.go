package sun

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// Site is a place on Earth: geodetic latitude, longitude, and height above the sea.
type Site struct {
	Latitude, Longitude quantity.Angle
	Elevation           quantity.Length
}

// Position is where the sun stands as seen from a site.
type Position struct {
	Zenith         quantity.Angle // of the centre, topocentric; airless unless Apparent made it
	Azimuth        quantity.Angle // from north, clockwise, 0 to 2π
	Declination    quantity.Angle // apparent, geocentric
	RightAscension quantity.Angle // apparent, geocentric, 0 to 2π
	HourAngle      quantity.Angle // of the site, positive after transit, -π to π
	Distance       float64        // from the Earth's centre, AU
}

const (
	// earthRadius and flattening are the equatorial radius, m, and the flattening of the IAU 1976
	// ellipsoid, as in Meeus ch. 11; the difference from later ones is below 0.001″ of parallax.
	earthRadius = 6378140.0
	flattening  = 1 / 298.257
	// astronomicalUnit in metres, exact. Source: IAU 2012 resolution B2.
	astronomicalUnit = 149597870700.0
)

// At returns the sun's position at t seen from s, airless.
// Years 1950 to 2100: within 0.01° of a precise ephemeris; outside, as far as the extrapolated
// difference of terrestrial and universal time allows (0.1° by 1600 or 2300). It panics if the
// site is not finite or its latitude is beyond a pole. Source: see the package comment; topocentric
// place by subtraction of vectors.
func At(t time.Time, s Site) Position {
	lat, lon, height := s.Latitude.Radians(), s.Longitude.Radians(), s.Elevation.Metres()
	if !(math.Abs(lat) <= math.Pi/2+1e-9) || !finite(lon) || !finite(height) {
		panic("sun: site not on Earth")
	}
	e := atDay(days(t))
	ascension := e.ascension()
	hour := around(e.sidereal + lon - ascension)

	sinLat, cosLat := math.Sincos(lat)
	sinH, cosH := math.Sincos(hour)
	cosDec := math.Hypot(e.sinRA, e.cosRA)

	// Meridian frame: x to the equator on the meridian, y east, z to the pole.
	x, y, z := cosDec*cosH, -cosDec*sinH, e.sinDec
	// The observer, in AU. Meeus ch. 11.
	const axes = (1 - flattening) * (1 - flattening)
	n := earthRadius / math.Sqrt(cosLat*cosLat+axes*sinLat*sinLat)
	x -= (n + height) * cosLat / (astronomicalUnit * e.distance)
	z -= (n*axes + height) * sinLat / (astronomicalUnit * e.distance)

	up := x*cosLat + z*sinLat
	north := z*cosLat - x*sinLat
	return Position{
		Zenith:         quantity.Angle(math.Atan2(math.Hypot(north, y), up)),
		Azimuth:        quantity.Angle(turn(math.Atan2(y, north))),
		Declination:    quantity.Angle(e.declination()),
		RightAscension: quantity.Angle(ascension),
		HourAngle:      quantity.Angle(hour),
		Distance:       e.distance,
	}
}

// Hour is the sun of the textbooks: a declination and an hour angle at a latitude.
type Hour struct {
	Latitude, Declination quantity.Angle
	Angle                 quantity.Angle // 15° an hour from solar noon, afternoon positive
}

// Position returns the geometric position at h, without parallax, at 1 AU.
// Source: J. A. Duffie and W. A. Beckman, Solar Engineering of Thermal Processes, 4th ed.,
// eqs. 1.6.5 and 1.6.6, azimuth turned to north.
func (h Hour) Position() Position {
	sinLat, cosLat := math.Sincos(h.Latitude.Radians())
	sinDec, cosDec := math.Sincos(h.Declination.Radians())
	sinH, cosH := math.Sincos(h.Angle.Radians())
	up := sinLat*sinDec + cosLat*cosDec*cosH
	north := cosLat*sinDec - sinLat*cosDec*cosH
	east := -cosDec * sinH
	return Position{
		Zenith:      quantity.Angle(math.Atan2(math.Hypot(north, east), up)),
		Azimuth:     quantity.Angle(turn(math.Atan2(east, north))),
		Declination: h.Declination,
		HourAngle:   h.Angle,
		Distance:    1,
	}
}

// Elevation returns the height of the sun over the level, negative below it.
func (p Position) Elevation() quantity.Angle { return math.Pi/2*quantity.Radian - p.Zenith }

// Direction returns the unit vector to the sun.
func (p Position) Direction() shape.Direction { return shape.Toward(p.Azimuth, p.Elevation()) }

// CosIncidence returns the cosine of the angle between the sun's rays and the normal of plane,
// negative when the sun is behind it. At tilt 0 it is exactly the cosine of the zenith.
// Source: Duffie and Beckman, 4th ed., eq. 1.6.3.
func (p Position) CosIncidence(plane shape.Facing) quantity.Ratio {
	sinZ, cosZ := math.Sincos(p.Zenith.Radians())
	sinT, cosT := math.Sincos(plane.Tilt.Radians())
	c := cosZ*cosT + sinZ*sinT*math.Cos(p.Azimuth.Radians()-plane.Azimuth.Radians())
	return quantity.Ratio(math.Max(-1, math.Min(1, c)))
}

// Incidence returns the angle between the sun's rays and the normal of plane, 0 to π.
func (p Position) Incidence(plane shape.Facing) quantity.Angle {
	return quantity.Angle(math.Acos(p.CosIncidence(plane).Float()))
}

// Apparent returns p lifted by refraction in air of the given pressure and temperature.
func (p Position) Apparent(pressure quantity.Pressure, air quantity.Temperature) Position {
	p.Zenith -= Refraction(p.Elevation(), pressure, air)
	if p.Zenith < 0 {
		p.Zenith = 0
	}
	return p
}

const (
	// limb is the sun's radius with the refraction at the horizon, degrees: the elevation of the
	// centre at which the report's refraction ends.
	limb = 0.26667 + 0.5667
	// fade is the elevation, degrees, at which our refraction has fallen to nothing.
	fade = -2.5
)

// Refraction returns by how much air lifts the sun of the given true elevation.
// Air of pressure p and the given temperature at the observer. Within 0.01° above 5°, 0.1° at the
// horizon in common air. From -0.833° it fades in a straight line to 0 at -2.5°, so that the apparent
// place never jumps; the report itself stops at -0.833°. It panics if the pressure is negative or
// the temperature not above absolute zero. Source: I. Reda and A. Andreas, NREL/TP-560-34302
// (rev. 2008), eq. 42; after Meeus eq. 16.4 (Sæmundsson).
func Refraction(elevation quantity.Angle, p quantity.Pressure, air quantity.Temperature) quantity.Angle {
	e, hPa, k := elevation.Degrees(), p.Hectopascals(), air.Kelvin()
	if !(hPa >= 0) || !(k > 0) || !finite(e) || math.IsInf(hPa, 0) {
		panic("sun: refraction in no air")
	}
	if e <= fade {
		return 0
	}
	part := 1.0
	if e < -limb {
		part = (e - fade) / (-limb - fade)
		e = -limb
	}
	e = math.Min(e, 90)
	r := hPa / 1010 * (283 / k) * 1.02 / (60 * math.Tan((e+10.3/(e+5.11))*rad))
	return quantity.Angle(math.Max(0, r*part) * rad)
}

// PressureAt returns the pressure of the standard atmosphere at a height above the sea.
// From -1 km to 11 km; held at the ends beyond. Weather moves the real one by ±4 %.
// Source: ISO 2533:1975, eq. for the layer of -6.5 K/km.
func PressureAt(elevation quantity.Length) quantity.Pressure {
	h := elevation.Metres()
	if math.IsNaN(h) {
		panic("sun: elevation is not a number")
	}
	h = math.Max(-1000, math.Min(11000, h))
	return quantity.Pressure(101325 * math.Pow(1-2.25577e-5*h, 5.25588))
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
