package sky

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Material is what light meets first on a module.
type Material int

const (
	FloatGlass Material = iota
	TexturedGlass
	Fluoropolymer // film of a flexible module, embossed
	PET           // film of a flexible module, smooth
)

// angularLoss returns the Martin-Ruiz coefficient a_r of a clean front.
// 0.17 for float glass over silicon: Martin and Ruiz 2001, table 1, from memory. The others are our
// own estimate within the range 0.14 to 0.20 of that table: texture and a low index lose less at
// high angles.
func (m Material) angularLoss() float64 {
	switch m {
	case FloatGlass:
		return 0.17
	case TexturedGlass:
		return 0.15
	case Fluoropolymer:
		return 0.155
	case PET:
		return 0.17
	}
	panic("sky: unknown front material")
}

// Front is how much light gets through the face of a module, relative to the same light falling at
// right angles. Make one with FrontOf, MartinRuiz or Pane; the zero Front lets nothing through.
type Front struct {
	beam   [fine + 2]float64  // by cosine of incidence, in steps of 1/fine
	sky    [tilts + 2]float64 // by degree of tilt, 0 to 180
	ground [tilts + 2]float64
	band   [tilts + 2]float64
}

const (
	fine  = 512
	tilts = 180
)

// FrontOf returns the front of a clean module of the given material, by the model of Martin and Ruiz.
// It panics for a material that is none.
func FrontOf(m Material) Front { return MartinRuiz(quantity.Ratio(m.angularLoss())) }

// MartinRuiz returns a front of angular loss coefficient a, 0.08 to 0.5; commonly 0.14 (textured)
// to 0.20 (smooth or dusty). It panics outside. Beam within 1 % up to 80°.
// Source: N. Martin and J. M. Ruiz, Solar Energy Materials and Solar Cells 70 (2001) 25, eq. 1 for
// the beam; Progress in Photovoltaics 13 (2005) 75, for sky and ground.
func MartinRuiz(a quantity.Ratio) Front {
	ar := a.Float()
	if !(ar >= 0.08 && ar <= 0.5) {
		panic("sky: angular loss coefficient out of range")
	}
	whole := 1 - math.Exp(-1/ar)
	f := front(func(c float64) float64 { return (1 - math.Exp(-c/ar)) / whole })
	c1, c2 := 4/(3*math.Pi), 0.5*ar-0.154
	diffuse := func(x float64) float64 { return 1 - math.Exp(-(c1+c2*x)*x/ar) }
	for i := range f.sky {
		b := math.Min(float64(i), tilts) * rad
		f.sky[i], f.ground[i] = 0, 0
		if i < tilts {
			f.sky[i] = diffuse(math.Sin(b) + (math.Pi-b-math.Sin(b))/(1+math.Cos(b)))
		}
		if i > 0 {
			f.ground[i] = diffuse(math.Sin(b) + (b-math.Sin(b))/(1-math.Cos(b)))
		}
	}
	return f
}

// Cover is a clear pane over the cell.
type Cover struct {
	Index quantity.Ratio // of refraction, 1.526 for glass
	Depth quantity.Ratio // absorption times thickness: 0.008 for 2 mm of water-white glass at 4 /m
}

// Pane returns a front by reflection at one surface and absorption in the pane. Sky and ground are
// taken at their equivalent angles. It panics if the index is not above 1 (up to 3) or the depth
// is negative. Source: W. De Soto, S. A. Klein and W. A. Beckman, Solar Energy 80
// (2006) 78, eqs. 12 to 14; angles: M. J. Brandemuehl and W. A. Beckman, Solar Energy 24 (1980) 511, good
// to a tilt of 90°, held beyond.
func Pane(c Cover) Front {
	n, kl := c.Index.Float(), c.Depth.Float()
	if !(n > 1 && n < 3) || !(kl >= 0 && kl < 10) {
		panic("sky: no such pane")
	}
	r0 := (n - 1) / (n + 1)
	normal := math.Exp(-kl) * (1 - r0*r0)
	through := func(cos float64) float64 {
		switch {
		case cos <= 0:
			return 0
		case cos > 1-1e-9:
			return 1
		}
		t := math.Acos(cos)
		r := math.Asin(math.Sin(t) / n)
		s, p := math.Sin(r-t)/math.Sin(r+t), math.Tan(r-t)/math.Tan(r+t)
		return math.Exp(-kl/math.Cos(r)) * (1 - (s*s+p*p)/2) / normal
	}
	f := front(through)
	for i := range f.sky {
		b := math.Min(float64(i), 90)
		f.sky[i] = through(math.Cos((59.7 - 0.1388*b + 0.001497*b*b) * rad))
		f.ground[i] = through(math.Cos((90 - 0.5788*b + 0.002693*b*b) * rad))
	}
	return f
}

// front fills the beam's table, and the horizon band's by averaging over the half circle of horizon
// that the plane looks to, weighed with the cosine of incidence.
func front(through func(cos float64) float64) Front {
	var f Front
	for i := range f.beam {
		f.beam[i] = through(math.Min(1, float64(i)/fine))
	}
	for i := range f.band {
		// A point of the horizon at azimuth a from the plane's is met at cos = sin tilt cos a.
		s := math.Sin(math.Min(float64(i), tilts) * rad)
		sum, weight := 0.0, 0.0
		const steps = 45
		for k := range steps {
			c := math.Cos((float64(k) + 0.5) / steps * math.Pi / 2)
			sum += c * through(s*c)
			weight += c
		}
		f.band[i] = sum / weight
	}
	return f
}

// BeamTransmittance returns the part of the beam that gets through at the given cosine of incidence,
// relative to normal: 1 at 1, 0 at 0 and behind the plane. Read from a table of 512 steps, within
// 2e-5 of the model above a cosine of 0.03.
func (f *Front) BeamTransmittance(cosIncidence quantity.Ratio) quantity.Ratio {
	x := cosIncidence.Float() * fine
	if !(x > 0) {
		return 0
	}
	x = math.Min(x, fine)
	i := int(x)
	return quantity.Ratio(f.beam[i] + (x-float64(i))*(f.beam[i+1]-f.beam[i]))
}

// SkyTransmittance is BeamTransmittance for light of an even sky on a plane of the given tilt, 0 to π.
func (f *Front) SkyTransmittance(tilt quantity.Angle) quantity.Ratio {
	return quantity.Ratio(byTilt(&f.sky, tilt))
}

// GroundTransmittance is BeamTransmittance for light thrown up from the ground on a plane of the
// given tilt, 0 to π.
func (f *Front) GroundTransmittance(tilt quantity.Angle) quantity.Ratio {
	return quantity.Ratio(byTilt(&f.ground, tilt))
}

// HorizonTransmittance is BeamTransmittance for light of the horizon band on a plane of the given
// tilt, 0 to π.
func (f *Front) HorizonTransmittance(tilt quantity.Angle) quantity.Ratio {
	return quantity.Ratio(byTilt(&f.band, tilt))
}

func byTilt(table *[tilts + 2]float64, tilt quantity.Angle) float64 {
	x := math.Abs(tilt.Degrees())
	if !(x < tilts) {
		x = tilts
	}
	i := int(x)
	return table[i] + (x-float64(i))*(table[i+1]-table[i])
}

// Through returns what of p gets through the front: each part with its own transmittance, the
// circumsolar light with the beam's. cosIncidence is the beam's on the plane of the given tilt.
func (f *Front) Through(p OnPlane, cosIncidence quantity.Ratio, tilt quantity.Angle) OnPlane {
	b := f.BeamTransmittance(cosIncidence).Float()
	return OnPlane{
		Beam:        quantity.Irradiance(p.Beam.WattsPerSquareMetre() * b),
		Circumsolar: quantity.Irradiance(p.Circumsolar.WattsPerSquareMetre() * b),
		Isotropic:   quantity.Irradiance(p.Isotropic.WattsPerSquareMetre() * byTilt(&f.sky, tilt)),
		Horizon:     quantity.Irradiance(p.Horizon.WattsPerSquareMetre() * byTilt(&f.band, tilt)),
		Ground:      quantity.Irradiance(p.Ground.WattsPerSquareMetre() * byTilt(&f.ground, tilt)),
	}
}
