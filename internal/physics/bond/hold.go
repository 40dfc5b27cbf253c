package bond

import (
	"math"

	"noonmark/internal/base/quantity"
)

// gravity is the standard acceleration of free fall, m/s², exact. Source: ISO 80000-3.
const gravity = 9.80665

// ShortTerm is the tension an acrylic foam tape is designed for against gusts, on glass and metal; it
// holds about five times that in a test. Source: practice of structural glazing, from memory.
const ShortTerm = 85 * quantity.Kilopascal

// creepArea is the tape area for each kilogram carried for long. Source: tape supplier's note on area
// for mass: m²/kg: 60 cm² per kg, which is 1.64 kPa; the form 4 in² per lb is 57 cm² per kg, 1.72 kPa.
const creepArea = 60e-4

// AreaForMass returns the tape area that carries a mass for long: 60 cm² per kg. Negative counts as none.
// Source: tape supplier's note.
func AreaForMass(m quantity.Mass) quantity.Area {
	return quantity.Area(creepArea * math.Max(0, m.Kilograms()))
}

// CreepLimit is the load that an acrylic foam tape carries for long, by AreaForMass.
func CreepLimit() quantity.Pressure {
	return quantity.Pressure(gravity / AreaForMass(1*quantity.Kilogram).SquareMetres())
}

// AreaForUplift returns the bonded area a pull asks for at a design stress. Negative pulls ask for none;
// it panics at a stress not above zero.
func AreaForUplift(f quantity.Force, stress quantity.Pressure) quantity.Area {
	s := stress.Pascals()
	if !(s > 0) {
		panic("bond: stress not above zero")
	}
	return quantity.Area(math.Max(0, f.Newtons()) / s)
}

// CreepShear returns the lasting shear stress under a module on a lid that stands tilted: its mass times
// sin(tilt) over the bonded area. On a level roof it is 0: its own weight presses it on. It panics at an
// area not above zero or a mass below zero.
func CreepShear(m quantity.Mass, tilt quantity.Angle, bonded quantity.Area) quantity.Pressure {
	a := bonded.SquareMetres()
	if !(a > 0) || !(m.Kilograms() >= 0) {
		panic("bond: creep without area or with a mass below zero")
	}
	return quantity.Pressure(m.Kilograms() * gravity * math.Abs(math.Sin(tilt.Radians())) / a)
}

// PeelRange is the peel load that an edge holds for long when hot.
type PeelRange struct{ Low, High quantity.LineForce }

// SustainedPeel returns what to allow of a sheet's fresh, fast 90° peel: a tenth over three to a fifth
// over two. The first factor is for heat and lasting load, the second for the skin's scatter: 30 N/cm
// of steel gives 1 to 3 N/cm, 10 N/cm of a poor plastic 0.3 to 1. Negative counts as none.
// Source: handbook B3, from memory.
func SustainedPeel(fresh quantity.LineForce) PeelRange {
	p := math.Max(0, fresh.NewtonsPerMetre())
	return PeelRange{Low: quantity.LineForce(p * 0.1 / 3), High: quantity.LineForce(p * 0.2 / 2)}
}

// UnzipLoad returns the peel load at the root of a front edge already loose by the given length: full
// pressure under it and as much suction above, 2·q·a. An upper bound: it takes full stagnation under
// the flap. Negative values count as none.
// Source: handbook B3, calculated.
func UnzipLoad(q quantity.Pressure, loose quantity.Length) quantity.LineForce {
	return quantity.LineForce(2 * math.Max(0, q.Pascals()) * math.Max(0, loose.Metres()))
}

// LooseAllowed returns the loose front edge that a sustained peel still holds at dynamic pressure q: the
// inverse of UnzipLoad in length, at most 1 m. It panics at a pressure not above zero.
func LooseAllowed(q quantity.Pressure, peel quantity.LineForce) quantity.Length {
	p := q.Pascals()
	if !(p > 0) {
		panic("bond: pressure not above zero")
	}
	return quantity.Length(math.Min(1, math.Max(0, peel.NewtonsPerMetre())/(2*p)))
}

// UnzipSpeed returns the air speed at which a front edge loose by the given length peels on: the inverse
// of UnzipLoad in speed, at most 100 m/s. It panics at a loose length not above zero.
func UnzipSpeed(loose quantity.Length, peel quantity.LineForce, a Air) quantity.Speed {
	l := loose.Metres()
	if !(l > 0) {
		panic("bond: loose length not above zero")
	}
	v := SpeedAt(quantity.Pressure(math.Max(0, peel.NewtonsPerMetre())/(2*l)), a)
	return quantity.Speed(math.Min(v.MetresPerSecond(), 100))
}

// LooseReject is the loose edge from which a module is not driven. Source: handbook B3, common practice.
const LooseReject = 20 * quantity.Millimetre

// Swing is what a material does between bonding and an extreme.
type Swing struct {
	Expansion quantity.PerKelvin
	Change    quantity.TempDiff // from the temperature at which it was bonded
}

// Movement returns how far the ends of two bonded things move past each other: |α1·ΔT1 - α2·ΔT2|·L/2,
// the centre standing still. Length is that of the shorter. Source: handbook A5, geometry.
func Movement(a, b Swing, length quantity.Length) quantity.Length {
	d := a.Expansion.PerKelvin()*a.Change.Kelvins() - b.Expansion.PerKelvin()*b.Change.Kelvins()
	return quantity.Length(math.Abs(d) * math.Max(0, length.Metres()) / 2)
}

// Shear strains of an acrylic foam tape, of its thickness.
const (
	DesignStrain quantity.Ratio = 0.5 // each cycle. Source: practice, from memory
	MostStrain   quantity.Ratio = 3   // taken once. Source: trade course on structural glazing tape
)

// Strain returns the shear strain of a layer whose faces move past each other. It panics at a thickness
// not above zero.
func Strain(movement, thickness quantity.Length) quantity.Ratio {
	t := thickness.Metres()
	if !(t > 0) {
		panic("bond: thickness not above zero")
	}
	return quantity.Ratio(math.Abs(movement.Metres()) / t)
}

// Thickness returns the layer that takes a movement at a design strain. It panics at a strain not above
// zero.
func Thickness(movement quantity.Length, strain quantity.Ratio) quantity.Length {
	s := strain.Float()
	if !(s > 0) {
		panic("bond: strain not above zero")
	}
	return quantity.Length(math.Abs(movement.Metres()) / s)
}
