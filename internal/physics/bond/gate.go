package bond

import (
	"math"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
)

// Constants of the Magnus formula over water, -45 °C to 60 °C, within 0.35 K.
// Source: D. Sonntag 1990, Z. Meteorol. 70:340, from memory.
const magnusA, magnusB = 17.62, 243.12

// DewPoint returns the temperature at which air of the given relative humidity is saturated. Humidity is
// held to 0.001 to 1; -45 °C to 60 °C, outside which it is less exact. It panics at a temperature not
// above -200 °C. Source: Magnus formula with the constants of Sonntag 1990.
func DewPoint(air quantity.Temperature, humidity quantity.Ratio) quantity.Temperature {
	t := air.Celsius()
	if !(t > -200) {
		panic("bond: air out of range")
	}
	g := math.Log(hold(humidity.Float(), 0.001, 1)) + magnusA*t/(magnusB+t)
	return quantity.Celsius(magnusB * g / (magnusA - g))
}

// Humidity returns the relative humidity of air with the given dew point, at most 1: the inverse of
// DewPoint. It panics at a temperature not above -200 °C.
func Humidity(air, dew quantity.Temperature) quantity.Ratio {
	t, d := air.Celsius(), dew.Celsius()
	if !(t > -200 && d > -200) {
		panic("bond: air out of range")
	}
	return quantity.Ratio(math.Min(1, math.Exp(magnusA*d/(magnusB+d)-magnusA*t/(magnusB+t))))
}

// Limits of the bonding hour.
const (
	OverDew     quantity.TempDiff = 3 * quantity.OneKelvin      // of the skin. Source: ISO 8502-4:2017
	MostHumid   quantity.Ratio    = 0.85                        // Source: ISO 12944-7:2017
	WindWarn    quantity.Speed    = 5 * quantity.MetrePerSecond // on a carried sheet, common practice
	WindStop    quantity.Speed    = 6 * quantity.MetrePerSecond // common practice
	ClearNight  quantity.TempDiff = 3 * quantity.OneKelvin      // of a skin under the air, of 2 to 5 K. Source: heat package; Cottony & Dill 1941 for the fact
	carriedMost quantity.Force    = 25 * quantity.Newton        // on a sheet two people hold, our own estimate
)

// HotWarn and HotStop are the skin temperatures at which primer flashes off before wet-out and nothing
// can be moved again. Source: from memory and common practice, 40 to 45 °C.
var HotWarn, HotStop = quantity.Celsius(40), quantity.Celsius(45)

// Conditions are those on the roof.
type Conditions struct {
	Air, Dew, Skin quantity.Temperature
	Wind           quantity.Speed // at the roof
	Sheet          quantity.Area  // largest carried
	Raining        bool
}

// Reason is why work does not start, or should not.
type Reason int

// Reasons.
const (
	TooCold Reason = iota // skin under the adhesive's least
	DewNear               // skin within 3 K of the dew point
	TooHumid
	TooHot
	TooWindy
	Rain
	CoolSkin // under the best window: warn
	WarmSkin // near the hot limit: warn
	Breezy   // near the wind limit: warn
)

// String returns the reason as printed.
func (r Reason) String() string {
	if r < 0 || r > Breezy {
		panic("bond: unknown reason")
	}
	return [...]string{"skin too cold for the adhesive", "skin within 3 K of the dew point", "air over 85 % humid", "skin over 45 °C: primer flashes off before it wets, nothing can be moved again",
		"wind over 6 m/s on a carried sheet", "rain", "skin under the adhesive's best window", "skin over 40 °C: work fast, small patches", "wind over 5 m/s: two on each sheet"}[r]
}

// Stops reports whether the reason stops the work.
func (r Reason) Stops() bool { return r < CoolSkin }

// GateSource is where the limits of Gate stand.
var GateSource = cite.Source{Title: "ISO 8502-4 (dew point + 3 K), ISO 12944-7 (85 % humidity)", Where: "by a coating inspection article; wind and heat common practice; check the edition in force where you are"}

// Gate returns every reason against bonding in the given conditions with the given adhesive, the ones
// that stop first; none: go. The order of two limits on heat is kept: a warm skin bonds better, a hot one
// dries the primer, and the window lies between.
func Gate(c Conditions, a Adhesive) []Reason {
	var stop, warn []Reason
	note := func(r Reason, yes bool) {
		if yes && r.Stops() {
			stop = append(stop, r)
		} else if yes {
			warn = append(warn, r)
		}
	}
	note(TooCold, c.Skin.Before(a.ApplyFrom))
	note(DewNear, c.Skin.Before(c.Dew.Add(OverDew)))
	note(TooHumid, Humidity(c.Air, c.Dew) > MostHumid)
	note(TooHot, HotStop.Before(c.Skin))
	push := Carried(c.Sheet, c.Wind, Air{Temperature: c.Air})
	note(TooWindy, c.Wind > WindStop || push > carriedMost)
	note(Rain, c.Raining)
	note(CoolSkin, !c.Skin.Before(a.ApplyFrom) && c.Skin.Before(a.ApplyBest))
	note(WarmSkin, HotWarn.Before(c.Skin) && !HotStop.Before(c.Skin))
	note(Breezy, c.Wind > WindWarn && c.Wind <= WindStop && push <= carriedMost)
	return append(stop, warn...)
}

// Surface resistances of heat to the inner side of a roof and to the open air, m²·K/W.
// Source: ISO 6946:2017, table 7, from memory.
const insideFilm, outsideFilm = 0.10, 0.04

// InnerSkin returns the temperature of the inner face of a roof between two airs, its insulation of the
// given thickness of closed foam at 0.035 W/(m·K), without bridges; the skin itself counts as none.
// Negative thickness counts as none. Source: ISO 6946:2017, films from memory.
func InnerSkin(inside, outside quantity.Temperature, insulation quantity.Length) quantity.Temperature {
	r := math.Max(0, insulation.Metres()) / 0.035
	share := insideFilm / (insideFilm + r + outsideFilm)
	return quantity.Celsius(inside.Celsius() - share*(inside.Celsius()-outside.Celsius()))
}

// Touched is what a hand meets.
type Touched int

// What a hand meets.
const (
	Metal   Touched = iota // bare or thinly painted
	Plastic                // and coatings thicker than about 0.1 mm
)

// burnPoints are times of contact and the temperature from which a burn is to be expected: the low edge
// where a range is given. From a minute on all materials are alike.
// Source: ISO 13732-1:2006, from memory: metal 65 to 70 °C and plastic 77 to 93 °C at 1 s.
var burnPoints = []struct {
	seconds        float64
	metal, plastic float64
}{{1, 65, 77}, {60, 51, 51}, {600, 48, 48}, {8 * 3600, 43, 43}}

// BurnThreshold returns the surface temperature from which a contact of the given time may burn, between
// the published points by the logarithm of time, held at 1 s and 8 h. Hands only: the standard leaves
// out the face and more than a tenth of the body, and kneeling is a long contact. It panics for a
// material that is none. Source: ISO 13732-1:2006, from memory; between 1 s and 60 s our own estimate.
func BurnThreshold(m Touched, contact time.Duration) quantity.Temperature {
	if m < 0 || m > Plastic {
		panic("bond: unknown material")
	}
	t := hold(contact.Seconds(), 1, 8*3600)
	for i := 1; i < len(burnPoints); i++ {
		a, b := burnPoints[i-1], burnPoints[i]
		if t > b.seconds {
			continue
		}
		from, to := a.metal, b.metal
		if m == Plastic {
			from, to = a.plastic, b.plastic
		}
		return quantity.Celsius(from + (to-from)*math.Log(t/a.seconds)/math.Log(b.seconds/a.seconds))
	}
	return quantity.Celsius(43)
}

// LongestTouch returns how long a hand may rest on a surface of the given temperature: the inverse of
// BurnThreshold, 0 where even a second is too long, at most 8 h.
func LongestTouch(m Touched, surface quantity.Temperature) time.Duration {
	if BurnThreshold(m, time.Second).Before(surface) {
		return 0
	}
	if !BurnThreshold(m, 8*time.Hour).Before(surface) {
		return 8 * time.Hour
	}
	low, high := 0.0, math.Log(8*3600)
	for range 60 { // the threshold falls with time
		mid := (low + high) / 2
		if BurnThreshold(m, time.Duration(math.Exp(mid)*float64(time.Second))).Before(surface) {
			high = mid
		} else {
			low = mid
		}
	}
	return time.Duration(math.Exp(low) * float64(time.Second))
}
