package heat

import (
	"math"

	"noonmark/internal/base/quantity"
)

// Skin is a bare lid or roof in the sun.
type Skin struct {
	Absorptance quantity.Ratio // of sunlight: gloss white 0.25, silver 0.5, black 0.95
	Insulated   bool           // behind the skin
}

// Losses of a level skin, W/(m²·K): 14 calm, 3.0 for each m/s, to sky and air above; 3 more to a
// warm cabin when nothing insulates it (half of the 5.9 of ISO 6946:2017 for heat going down, as the
// cabin is warm itself; our own estimate). The first two meet the trade's 14-18 parked in calm air,
// 25 in a breeze and 40 and more driving.
const (
	skinStill    = 14
	skinPerSpeed = 3.0
	skinBehind   = 3
)

// Lid returns the steady temperature of a bare skin in light on its plane and air at the given speed
// over the roof. Light below zero counts as none, speed is held to 0..60 m/s; it panics at an
// absorptance outside 0..1. Accuracy about 8 K in full sun by day; under a clear night sky a skin is
// 2 to 5 K colder than this says. Source: losses of the trade, see the constants.
func Lid(s Skin, light quantity.Irradiance, air quantity.Temperature, airSpeed quantity.Speed) quantity.Temperature {
	a := s.Absorptance.Float()
	if !(a >= 0 && a <= 1) {
		panic("heat: absorptance outside 0 to 1")
	}
	h := skinStill + skinPerSpeed*held(airSpeed)
	if !s.Insulated {
		h += skinBehind
	}
	return finite(quantity.Kelvin(air.Kelvin() + a*math.Max(0, light.WattsPerSquareMetre())/h))
}
