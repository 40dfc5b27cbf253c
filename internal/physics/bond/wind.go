package bond

import (
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// Gas constant of dry air, J/(kg·K). Source: ISO 2533:1975.
const gasAir = 287.05

// Air is the air a vehicle drives through.
type Air struct {
	Temperature quantity.Temperature
	Altitude    quantity.Length // above the sea, -1 km to 11 km, held at the ends
}

// StandardAir is the air of ISO 2533:1975 at the sea: 15 °C, 1.225 kg/m³.
var StandardAir = Air{Temperature: quantity.Celsius(15)}

// Density returns the density of dry air, kg/m³, at the standard pressure of its altitude. Moisture
// lowers it by up to 1 %, weather moves it by ±4 %. It panics at a temperature not above absolute zero.
// Source: ideal gas; pressure by ISO 2533:1975, layer of -6.5 K/km.
func (a Air) Density() float64 {
	t := a.Temperature.Kelvin()
	if !(t > 0) {
		panic("bond: air not above absolute zero")
	}
	h := hold(a.Altitude.Metres(), -1000, 11000)
	p := 101325 * math.Pow(1-0.0065*h/288.15, 5.25588)
	return p / (gasAir * t)
}

// Passing is the air that meets the front of the roof: the sum of its parts. Parts below zero count as
// none.
type Passing struct {
	Road     quantity.Speed // of the vehicle
	Headwind quantity.Speed // component against it, at the roof's height
	Gust     quantity.Speed // over the headwind: weather, or a lorry met
}

// Speed returns the sum, held to 100 m/s.
func (p Passing) Speed() quantity.Speed {
	v := math.Max(0, p.Road.MetresPerSecond()) + math.Max(0, p.Headwind.MetresPerSecond()) + math.Max(0, p.Gust.MetresPerSecond())
	return quantity.Speed(math.Min(v, 100))
}

// DynamicPressure returns ρ·v²/2 of the air a that passes at v, held to 100 m/s; a negative speed
// counts as its opposite. Exact for air that does not compress: 2 % low at 100 m/s.
// Source: Bernoulli; EN 1991-1-4:2005, eq. 4.10.
func DynamicPressure(v quantity.Speed, a Air) quantity.Pressure {
	u := math.Min(math.Abs(v.MetresPerSecond()), 100)
	return quantity.Pressure(0.5 * a.Density() * u * u)
}

// SpeedAt returns the speed whose dynamic pressure in air a is q: the inverse of DynamicPressure, not
// held. Negative pressure counts as none.
func SpeedAt(q quantity.Pressure, a Air) quantity.Speed {
	return quantity.Speed(math.Sqrt(2 * math.Max(0, q.Pascals()) / a.Density()))
}

// Zone is a part of a flat roof by the suction on it.
type Zone int

// The zones of EN 1991-1-4 figure 7.6, from the windward edge back.
const (
	FrontCorner Zone = iota // F
	FrontEdge               // G
	Middle                  // H
	Back                    // I
)

// String returns the zone's name as printed.
func (z Zone) String() string {
	if z < 0 || z > Back {
		panic("bond: unknown zone")
	}
	return [...]string{"front corner", "front edge", "middle", "rear"}[z]
}

// Eaves is the shape of the roof's front edge.
type Eaves int

// Shapes of eaves.
const (
	SharpEaves   Eaves = iota
	RoundedEaves       // radius a fifth of the height
)

// suction is cpe,10 and cpe,1 by eaves and zone, as suction: the sign is turned.
// Source: EN 1991-1-4:2005, table 7.2, rows sharp eaves and curved eaves r/h 0.20.
var suction = [2][4][2]float64{
	{{1.8, 2.5}, {1.2, 2.0}, {0.7, 1.2}, {0.2, 0.2}},
	{{0.5, 0.8}, {0.5, 0.8}, {0.3, 0.3}, {0.2, 0.2}},
}

// SuctionSource is where the coefficients stand.
var SuctionSource = cite.Source{Title: "EN 1991-1-4:2005", Where: "table 7.2, flat roofs, as an upper bound; check the edition in force where you are"}

// Suction returns the coefficient of suction on a part of the given area in a zone, above zero for a
// pull upwards: cpe,1 up to 1 m², cpe,10 from 10 m², between by the logarithm of the area. It may be
// above 1. A surrogate: the table is for buildings, and measured roofs of low buildings show that
// older edge values and zone sizes were too small (Kopp & Morrison 2018). It panics for a zone or
// eaves that is none, or an area not above zero.
// Source: EN 1991-1-4:2005, table 7.2 and figure 7.2 (the figure from memory).
func Suction(z Zone, e Eaves, area quantity.Area) quantity.Ratio {
	if z < 0 || z > Back || e < 0 || e > RoundedEaves {
		panic("bond: unknown zone or eaves")
	}
	a := area.SquareMetres()
	if !(a > 0) {
		panic("bond: area not above zero")
	}
	c := suction[e][z]
	x := hold(math.Log10(a), 0, 1)
	return quantity.Ratio(c[1] - (c[1]-c[0])*x)
}

// LeastSuction is the suction to count with anywhere on a vehicle's roof: the table's rear zone is that of
// a long building. Source: handbook B2, -0.2 to -0.5 over the middle of a vehicle's roof, from memory.
const LeastSuction quantity.Ratio = 0.5

// Roof is a roof in plan, with the air from the front.
type Roof struct {
	Length, Width quantity.Length // front to rear, left to right
	Height        quantity.Length // above the ground
}

// ZoneAt returns the worst zone that a rectangle of the roof touches: from front to rear x1 to x2, y1 to
// y2 across, from the front left corner; outside the roof it is held to it. Both front corners count
// alike, since a crosswind moves the worst one. It panics when a side of the roof is not above zero.
// Source: EN 1991-1-4:2005, figure 7.6, from memory: e = min(width, 2·height), depth of F and G e/10,
// width of F e/4, H to e/2.
func (r Roof) ZoneAt(b Box) Zone {
	w, l, h := r.Width.Metres(), r.Length.Metres(), r.Height.Metres()
	if !(w > 0 && l > 0 && h > 0) {
		panic("bond: a roof without size")
	}
	e := math.Min(w, 2*h)
	x := b.Front.Metres()
	switch {
	case x < e/10 && (b.Left.Metres() < e/4 || b.Right.Metres() > w-e/4):
		return FrontCorner
	case x < e/10:
		return FrontEdge
	case x < e/2:
		return Middle
	}
	return Back
}

// Box is a rectangle of a roof, from its front left corner.
type Box struct{ Front, Rear, Left, Right quantity.Length }

// GustFactor is what a computed uplift is multiplied by. Source: EN 1990:2002, γQ for variable
// actions, from memory.
const GustFactor quantity.Ratio = 1.5

// Uplift returns the pull on an area under suction c at dynamic pressure q, times the partial factor.
// Negative pressure counts as none; it panics at an area below zero.
func Uplift(q quantity.Pressure, c quantity.Ratio, area quantity.Area, factor quantity.Ratio) quantity.Force {
	a := area.SquareMetres()
	if !(a >= 0) {
		panic("bond: area below zero")
	}
	return quantity.Force(math.Max(0, q.Pascals()) * math.Abs(c.Float()) * a * math.Max(0, factor.Float()))
}

// Carried returns the push of wind at v on a sheet held across it: drag coefficient 1.2 of a plate.
// Source: handbook A4, calculated; the coefficient is of a long flat plate, from memory.
func Carried(sheet quantity.Area, v quantity.Speed, a Air) quantity.Force {
	return quantity.Force(DynamicPressure(v, a).Pascals() * 1.2 * math.Max(0, sheet.SquareMetres()))
}

// hold returns v held within low and high; NaN is low.
func hold(v, low, high float64) float64 {
	if !(v > low) {
		return low
	}
	return math.Min(v, high)
}
