package sky

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sun"
)

const rad = math.Pi / 180

// Light is sunlight at the ground.
type Light struct {
	Global  quantity.Irradiance // on the horizontal
	Beam    quantity.Irradiance // on a plane facing the sun
	Diffuse quantity.Irradiance // on the horizontal, from the sky
}

// Haze is how much dust, smoke and moisture droplets hang in the air.
type Haze int

const (
	Ordinary Haze = iota // aerosol optical depth 0.10 at 500 nm
	Clean                // 0.05: after a cold front, mountains, sea wind
	Hazy                 // 0.20: humid summer
	Smoky                // 0.30: smoke, dust, a big city
)

// Atmosphere is what the clear sky depends on.
type Atmosphere struct {
	Pressure quantity.Pressure
	Ozone    quantity.Length // thickness of the layer at 0 °C and sea level, commonly 0.3 cm
	Water    quantity.Length // precipitable
	AOD380   quantity.Ratio  // aerosol optical depth at 380 nm
	AOD500   quantity.Ratio  // and at 500 nm
	Forward  quantity.Ratio  // part of the scattered light that goes forward, Ba
	Albedo   quantity.Ratio  // of the ground around
}

// DefaultAtmosphere returns the air assumed at a height above the sea: the pressure of the standard
// atmosphere, 0.30 cm of ozone, 1.5 cm of water at sea level falling with a scale height of 2 km
// (0.7 cm at 1500 m), forward scatter 0.85, albedo 0.2, and the aerosol of the preset. It panics for
// a preset that is none. Source: ranges of Bird and Hulstrom 1981; the choice is our own estimate.
func DefaultAtmosphere(elevation quantity.Length, haze Haze) Atmosphere {
	a := Atmosphere{
		Pressure: sun.PressureAt(elevation),
		Ozone:    0.30 * quantity.Centimetre,
		Water:    quantity.Length(0.015 * math.Exp(-math.Max(-500, elevation.Metres())/2000)),
		Forward:  0.85 * quantity.One,
		Albedo:   0.2 * quantity.One,
	}
	switch haze {
	case Ordinary:
		a.AOD380, a.AOD500 = 0.15*quantity.One, 0.10*quantity.One
	case Clean:
		a.AOD380, a.AOD500 = 0.075*quantity.One, 0.05*quantity.One
	case Hazy:
		a.AOD380, a.AOD500 = 0.30*quantity.One, 0.20*quantity.One
	case Smoky:
		a.AOD380, a.AOD500 = 0.45*quantity.One, 0.30*quantity.One
	default:
		panic("sky: unknown haze")
	}
	return a
}

// AirMass returns the path through the air over that to the zenith, at sea level, of the sun as seen
// at zenith; 1 to 37.92. Below the horizon it is held at the horizon's value. Within 0.1 %.
// Source: F. Kasten and A. T. Young, Applied Optics 28 (1989) 4735, eq. 3.
func AirMass(zenith quantity.Angle) float64 {
	z := zenith.Radians()
	if math.IsNaN(z) {
		panic("sky: zenith is not a number")
	}
	return airMass(z)
}

func airMass(z float64) float64 {
	z = math.Min(math.Abs(z), math.Pi/2)
	return 1 / (math.Cos(z) + 0.50572*math.Pow(96.07995-z/rad, -1.6364))
}

// bird holds the transmittances of Bird and Hulstrom and the light they make.
type bird struct {
	rayleigh, ozone, mixed, water, aerosol float64 // T_R, T_O, T_UM, T_W, T_A
	absorbed, scattered                    float64 // T_AA, T_AS
	skyAlbedo                              float64 // r_s
	beam, global, diffuse                  float64 // W/m²
}

// birdInput is what the model takes, plain: pressure in hPa, ozone and water in cm.
type birdInput struct {
	beyond, cosZ, mass      float64 // extraterrestrial normal, W/m²; cosine of zenith; air mass
	pressure, ozone, water  float64
	aod380, aod500          float64
	forward, absorb, albedo float64 // Ba, K1, r_g
	standard                float64 // hPa, pressure at which the air mass counts 1: 1013 in the report
}

// clear is the model. Source: R. E. Bird and R. L. Hulstrom, A Simplified Clear Sky Model for Direct
// and Diffuse Insolation on Horizontal Surfaces, SERI/TR-642-761 (1981), equations from memory in
// the form that public transcriptions give; the constants are theirs.
func (in *birdInput) clear() bird {
	var b bird
	m := in.mass
	p := m * in.pressure / in.standard
	lm, lp := math.Log(m), math.Log(p) // powers by exponentials: -Inf at no pressure gives 0
	// The report's Rayleigh term turns back near a path of 14. From 10.5, zenith 85°, it goes on with
	// the slope of Kasten's optical thickness 1/(10.4 + 0.718 m), Solar Energy 56 (1996) 239.
	const far = 10.5
	q, lq := math.Min(p, far), math.Min(lp, math.Log(far))
	b.rayleigh = math.Exp(-0.0903 * math.Exp(0.84*lq) * (1 + q - math.Exp(1.01*lq)))
	if p > far {
		b.rayleigh *= math.Exp(far/(10.4+0.718*far) - p/(10.4+0.718*p))
	}
	x := in.ozone * m
	b.ozone = 1 - 0.1611*x*math.Pow(1+139.48*x, -0.3035) - 0.002715*x/(1+0.044*x+0.0003*x*x)
	b.mixed = math.Exp(-0.0127 * math.Exp(0.26*lp))
	w := in.water * m
	b.water = 1 - 2.4959*w/(math.Pow(1+79.034*w, 0.6828)+6.385*w)
	tau := 0.2758*in.aod380 + 0.35*in.aod500
	b.aerosol = 1
	if tau > 0 {
		lt := math.Log(tau)
		b.aerosol = math.Exp(-math.Exp(0.873*lt) * (1 + tau - math.Exp(0.7088*lt)) * math.Exp(0.9108*lm))
	}
	// The formula is made for moderate air masses: near the horizon more would be absorbed than is
	// taken out in all.
	b.absorbed = math.Max(b.aerosol, 1-in.absorb*(1-m+math.Exp(1.06*lm))*(1-b.aerosol))
	b.scattered = 1
	if b.absorbed > 0 {
		b.scattered = b.aerosol / b.absorbed
	}
	b.skyAlbedo = 0.0685 + (1-in.forward)*(1-b.scattered)
	gases := b.ozone * b.water * b.mixed
	b.beam = 0.9662 * in.beyond * b.aerosol * gases * b.rayleigh
	sky := 0.79 * in.beyond * in.cosZ * gases * b.absorbed *
		(0.5*(1-b.rayleigh) + in.forward*(1-b.scattered)) / (1 - m + math.Exp(1.02*lm))
	b.global = (b.beam*in.cosZ + sky) / (1 - in.albedo*b.skyAlbedo)
	b.diffuse = b.global - b.beam*in.cosZ
	return b
}

// ClearSky returns the light of a cloudless sky. zenith is that of the sun as seen; at 90° and
// beyond there is no light. extraterrestrial is the irradiance facing the sun above the atmosphere.
// Good for zeniths up to 85°, sane to 90°; GHI within 5 % where the aerosol is known, the split of
// beam and diffuse less sure. Global is Beam cos z + Diffuse. It panics if the atmosphere is not one.
// Source: Bird and Hulstrom 1981, SERI/TR-642-761, with the air mass of Kasten and Young 1989.
func ClearSky(zenith quantity.Angle, extraterrestrial quantity.Irradiance, a Atmosphere) Light {
	z, e := zenith.Radians(), extraterrestrial.WattsPerSquareMetre()
	in := birdInput{
		beyond: e, pressure: a.Pressure.Hectopascals(), standard: 1013.25,
		ozone: a.Ozone.Metres() * 100, water: a.Water.Metres() * 100,
		aod380: a.AOD380.Float(), aod500: a.AOD500.Float(),
		forward: a.Forward.Float(), absorb: 0.1, albedo: a.Albedo.Float(),
	}
	// Written so that NaN fails too.
	if !(e >= 0 && e < 1e5) || math.IsNaN(z) || !(in.pressure >= 0 && in.pressure < 2000) || !(in.ozone >= 0 && in.ozone < 5) || !(in.water >= 0 && in.water < 50) ||
		!(in.aod380 >= 0 && in.aod380 < 20) || !(in.aod500 >= 0 && in.aod500 < 20) || !(in.forward >= 0 && in.forward <= 1) || !(in.albedo >= 0 && in.albedo <= 1) {
		panic("sky: no such atmosphere")
	}
	z = math.Abs(z)
	if z >= math.Pi/2 {
		return Light{}
	}
	in.cosZ, in.mass = math.Cos(z), airMass(z)
	b := in.clear()
	return Light{Global: quantity.Irradiance(b.global), Beam: quantity.Irradiance(b.beam), Diffuse: quantity.Irradiance(math.Max(0, b.diffuse))}
}
