package sky

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/physics/sun"
)

// OnPlane is the light on a plane, by where it comes from.
type OnPlane struct {
	Beam        quantity.Irradiance // from the sun's disc
	Circumsolar quantity.Irradiance // sky light from about the sun: comes and goes with the beam
	Isotropic   quantity.Irradiance // from the whole sky the plane sees
	Horizon     quantity.Irradiance // brightening at the horizon; negative under an overcast sky
	Ground      quantity.Irradiance // thrown up from the ground
}

// Total returns the sum of the parts.
func (p OnPlane) Total() quantity.Irradiance {
	return p.Beam + p.Circumsolar + p.Isotropic + p.Horizon + p.Ground
}

// aspect is the geometry and the light, plain.
type aspect struct {
	beam, diffuse, global float64
	cosZ, cosT, sinT      float64 // of zenith and of tilt
	cosI                  float64 // of incidence, as it is
	z                     float64
}

// aspectOf unwraps, and panics on what is not finite.
func aspectOf(l Light, p sun.Position, plane shape.Facing) aspect {
	a := aspect{beam: l.Beam.WattsPerSquareMetre(), diffuse: l.Diffuse.WattsPerSquareMetre(), global: l.Global.WattsPerSquareMetre(), z: p.Zenith.Radians()}
	sinZ, cosZ := math.Sincos(a.z)
	a.cosZ = cosZ
	a.sinT, a.cosT = math.Sincos(plane.Tilt.Radians())
	a.cosI = cosZ
	if a.sinT != 0 {
		a.cosI = cosZ*a.cosT + sinZ*a.sinT*math.Cos(p.Azimuth.Radians()-plane.Azimuth.Radians())
	}
	if !(a.beam >= 0 && a.beam < 1e5) || !(a.diffuse >= 0 && a.diffuse < 1e5) || !(a.global >= 0 && a.global < 1e5) || math.IsNaN(a.cosI) {
		panic("sky: light or plane is not finite")
	}
	if cosZ <= 0 { // below the horizon no beam
		a.beam = 0
	}
	return a
}

// common returns beam and ground light, the same in all models.
func (a *aspect) common(albedo quantity.Ratio) OnPlane {
	return OnPlane{
		Beam:   quantity.Irradiance(a.beam * math.Max(0, a.cosI)),
		Ground: quantity.Irradiance(a.global * albedo.Float() * (1 - a.cosT) / 2),
	}
}

// coefficients are F11 F12 F13 F21 F22 F23 by bin of clearness. Source: R. Perez, P. Ineichen, R.
// Seals, J. Michalsky and R. Stewart, Solar Energy 44 (1990) 271, table 6, with the digits that
// reference programs of building energy carry.
var coefficients = [8][6]float64{
	{-0.0083117, 0.5877285, -0.0620636, -0.0596012, 0.0721249, -0.0220216},
	{0.1299457, 0.6825954, -0.1513752, -0.0189325, 0.0659650, -0.0288748},
	{0.3296958, 0.4868735, -0.2210958, 0.0554140, -0.0639588, -0.0260542},
	{0.5682053, 0.1874525, -0.2951290, 0.1088631, -0.1519229, -0.0139754},
	{0.8730280, -0.3920403, -0.3616149, 0.2255647, -0.4620442, 0.0012448},
	{1.1326077, -1.2367284, -0.4118494, 0.2877813, -0.8230357, 0.0558651},
	{1.0601591, -1.5999137, -0.3589221, 0.2642124, -1.1272340, 0.1310694},
	{0.6777470, -0.3272588, -0.2504286, 0.1561313, -1.3765031, 0.2506212},
}

// edges are the upper bounds of the bins.
var edges = [7]float64{1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2}

// cos85 bounds the denominator of the circumsolar part.
var cos85 = math.Cos(85 * rad)

// brightness returns clearness eps, F1 and F2. mass is the air mass, beyond the extraterrestrial
// normal irradiance, k what bendOf returns; the diffuse light is above 0.
func (a *aspect) brightness(mass, beyond, k float64) (eps, f1, f2 float64) {
	eps = ((a.diffuse+a.beam)/a.diffuse + k) / (1 + k)
	i := 0
	for i < len(edges) && eps > edges[i] {
		i++
	}
	delta := a.diffuse * mass / beyond
	c := &coefficients[i]
	f1 = math.Max(0, c[0]+c[1]*delta+c[2]*a.z)
	f2 = c[3] + c[4]*delta + c[5]*a.z
	return eps, math.Min(1, f1), f2
}

// bendOf returns κz³ of the clearness.
func bendOf(z float64) float64 { return 5.535e-6 * math.Pow(z/rad, 3) }

// perez returns the parts of the sky light.
func (a *aspect) perez(mass, beyond float64) (circumsolar, isotropic, horizon float64) {
	_, f1, f2 := a.brightness(mass, beyond, bendOf(a.z))
	circumsolar = a.diffuse * f1 * math.Max(0, a.cosI) / math.Max(cos85, a.cosZ)
	isotropic = a.diffuse * (1 - f1) * (1 + a.cosT) / 2
	horizon = math.Max(-isotropic, a.diffuse*f2*a.sinT)
	return circumsolar, isotropic, horizon
}

// Transpose returns the light on a plane by the anisotropic model of Perez 1990. p gives the zenith
// as seen and the azimuth, the same that made l; extraterrestrial is the irradiance facing the sun
// above the atmosphere; albedo is that of the ground, seen by the tilted plane. At tilt 0 the total
// is the global light for zeniths up to 85°; beyond, the model's own bound lets a part of the
// circumsolar light go. The horizon band is never more negative than the isotropic part. With no
// extraterrestrial light or the sun down the sky is taken as even. Single hours within 5 to 10 % on
// steep planes, better when flat. It panics on values that are not finite or negative.
// Source: Perez et al., Solar Energy 44 (1990) 271, eqs. 1, 2, 9 and table 6.
func Transpose(l Light, p sun.Position, plane shape.Facing, extraterrestrial quantity.Irradiance, albedo quantity.Ratio) OnPlane {
	e := extraterrestrial.WattsPerSquareMetre()
	a := aspectOf(l, p, plane)
	if !(e >= 0 && e < 1e5) || !(albedo.Float() >= 0 && albedo.Float() <= 1) {
		panic("sky: extraterrestrial light or albedo out of range")
	}
	out := a.common(albedo)
	if a.diffuse == 0 {
		return out
	}
	if e == 0 || a.cosZ <= 0 {
		out.Isotropic = quantity.Irradiance(a.diffuse * (1 + a.cosT) / 2)
		return out
	}
	c, i, h := a.perez(airMass(a.z), e)
	out.Circumsolar, out.Isotropic, out.Horizon = quantity.Irradiance(c), quantity.Irradiance(i), quantity.Irradiance(h)
	return out
}

// TransposeIsotropic is Transpose for an evenly bright sky.
// Source: Liu and Jordan 1963; Duffie and Beckman, 4th ed., eq. 2.15.1.
func TransposeIsotropic(l Light, p sun.Position, plane shape.Facing, albedo quantity.Ratio) OnPlane {
	a := aspectOf(l, p, plane)
	out := a.common(albedo)
	out.Isotropic = quantity.Irradiance(a.diffuse * (1 + a.cosT) / 2)
	return out
}

// TransposeHayDavies is Transpose with a circumsolar part by the beam's transmittance and no
// horizon band. Source: J. E. Hay and J. A. Davies 1980; Duffie and Beckman, 4th ed., eq. 2.16.4.
func TransposeHayDavies(l Light, p sun.Position, plane shape.Facing, extraterrestrial quantity.Irradiance, albedo quantity.Ratio) OnPlane {
	a := aspectOf(l, p, plane)
	out := a.common(albedo)
	c, i := a.hayDavies(extraterrestrial.WattsPerSquareMetre())
	out.Circumsolar, out.Isotropic = quantity.Irradiance(c), quantity.Irradiance(i)
	return out
}

// hayDavies returns the circumsolar and the isotropic part.
func (a *aspect) hayDavies(beyond float64) (circumsolar, isotropic float64) {
	index := 0.0
	if beyond > 0 {
		index = math.Min(1, a.beam/beyond)
	}
	return a.diffuse * index * math.Max(0, a.cosI) / math.Max(cos85, a.cosZ), a.diffuse * (1 - index) * (1 + a.cosT) / 2
}

// TransposeHDKR is TransposeHayDavies with Reindl's horizon band.
// Source: D. T. Reindl, W. A. Beckman and J. A. Duffie, Solar Energy 45 (1990) 9; Duffie and
// Beckman, 4th ed., eq. 2.16.7.
func TransposeHDKR(l Light, p sun.Position, plane shape.Facing, extraterrestrial quantity.Irradiance, albedo quantity.Ratio) OnPlane {
	a := aspectOf(l, p, plane)
	out := a.common(albedo)
	c, i := a.hayDavies(extraterrestrial.WattsPerSquareMetre())
	band := 0.0
	if a.global > 0 && a.cosZ > 0 {
		f := math.Sqrt(math.Min(1, a.beam*a.cosZ/a.global))
		half := math.Sqrt(math.Max(0, (1-a.cosT)/2))
		band = i * f * half * half * half
	}
	out.Circumsolar, out.Isotropic, out.Horizon = quantity.Irradiance(c), quantity.Irradiance(i), quantity.Irradiance(band)
	return out
}
