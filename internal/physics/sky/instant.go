package sky

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sun"
)

// Instant is the sun of one moment and all that it alone fixes: Split and Transpose for many skies and planes
// under it, the same figures in a fraction of the time. The zero Instant is a sun that is down.
type Instant struct {
	z, cosZ, beyond float64
	mass, bend      float64 // air mass; Perez's κz³
	bound           float64 // the most beam, W/m²
}

// NewInstant returns the instant of a sun as seen; extraterrestrial is the irradiance facing it above the
// atmosphere. It panics on a value that is not finite.
func NewInstant(p sun.Position, extraterrestrial quantity.Irradiance) Instant {
	s := Instant{z: math.Abs(p.Zenith.Radians()), beyond: extraterrestrial.WattsPerSquareMetre()}
	if !(s.beyond >= 0 && s.beyond < 1e5) || math.IsNaN(s.z) {
		panic("sky: sun is not finite")
	}
	s.cosZ = math.Cos(s.z)
	if s.z >= math.Pi/2 || s.cosZ <= 0 {
		return Instant{}
	}
	s.mass, s.bend, s.bound = airMass(s.z), bendOf(s.z), boundOf(s.z, s.beyond)
	return s
}

// Split is the package's Split under the instant's sun.
func (s *Instant) Split(global quantity.Irradiance) Light {
	g := global.WattsPerSquareMetre()
	if !(g < 1e5) {
		panic("sky: light is not finite")
	}
	g = math.Max(0, g)
	if s.cosZ <= 0 || s.beyond == 0 {
		return Light{Global: quantity.Irradiance(g), Diffuse: quantity.Irradiance(g)}
	}
	beam := math.Min(g*(1-erbs(g/(s.beyond*s.cosZ)))/s.cosZ, s.bound)
	return Light{Global: quantity.Irradiance(g), Beam: quantity.Irradiance(beam), Diffuse: quantity.Irradiance(g - beam*s.cosZ)}
}

// Dome is a sky under an instant's sun before it falls on a plane.
type Dome struct {
	beam, global float64
	circumsolar  float64 // facing the sun
	isotropic    float64 // on the level
	horizon      float64 // on the upright
}

// Dome returns the parts of a sky, by Perez as in Transpose. It panics on light that is not finite or negative.
func (s *Instant) Dome(l Light) Dome {
	a := aspect{beam: l.Beam.WattsPerSquareMetre(), diffuse: l.Diffuse.WattsPerSquareMetre(), global: l.Global.WattsPerSquareMetre(), z: s.z}
	if !(a.beam >= 0 && a.beam < 1e5) || !(a.diffuse >= 0 && a.diffuse < 1e5) || !(a.global >= 0 && a.global < 1e5) {
		panic("sky: light is not finite")
	}
	d := Dome{beam: a.beam, global: a.global, isotropic: a.diffuse}
	if s.cosZ <= 0 {
		d.beam = 0
		return d
	}
	if a.diffuse > 0 && s.beyond > 0 {
		_, f1, f2 := a.brightness(s.mass, s.beyond, s.bend)
		d.circumsolar, d.isotropic, d.horizon = a.diffuse*f1/math.Max(cos85, s.cosZ), a.diffuse*(1-f1), a.diffuse*f2
	}
	return d
}

// Slope is the tilt of a plane, ready for any dome.
type Slope struct{ sin, sky, ground float64 }

// NewSlope returns that of a tilt over ground of an albedo, 0 to 1; it panics outside.
func NewSlope(tilt quantity.Angle, albedo quantity.Ratio) Slope {
	sin, cos := math.Sincos(tilt.Radians())
	if !(albedo >= 0 && albedo <= 1) || math.IsNaN(sin) {
		panic("sky: tilt or albedo out of range")
	}
	return Slope{sin: sin, sky: (1 + cos) / 2, ground: albedo.Float() * (1 - cos) / 2}
}

// On returns the light on a plane of the slope on which the sun falls with the given cosine, as Transpose does.
func (d *Dome) On(p Slope, cosIncidence quantity.Ratio) OnPlane {
	c := math.Max(0, cosIncidence.Float())
	even := d.isotropic * p.sky
	return OnPlane{
		Beam: quantity.Irradiance(d.beam * c), Circumsolar: quantity.Irradiance(d.circumsolar * c),
		Isotropic: quantity.Irradiance(even), Horizon: quantity.Irradiance(math.Max(-even, d.horizon*p.sin)),
		Ground: quantity.Irradiance(d.global * p.ground),
	}
}
