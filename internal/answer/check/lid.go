package check

import (
	"fmt"
	"math"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// gravity is standard gravity, m/s², exact. Source: CGPM 1901.
const gravity = 9.80665

// printed is the temperature a strut's force is printed for, K.
const printed = 293.15

// strutAt returns a strut's force at a temperature over its printed one: nitrogen at constant volume
// presses as its absolute temperature. Friction and the oil's own expansion are left out; 1 % of force.
func strutAt(t quantity.Temperature) float64 { return t.Kelvin() / printed }

// armOf returns the distance from the hinge square to a strut with the lid open by an angle, m.
func armOf(s *build.Struts, open float64) float64 {
	if s.Arm > 0 {
		return s.Arm.Metres()
	}
	bx, by := s.OnBody.Metres(), -s.Below.Metres()
	lx, ly := s.OnLid.Metres()*math.Cos(open), s.OnLid.Metres()*math.Sin(open)
	dx, dy := lx-bx, ly-by
	l := math.Hypot(dx, dy)
	if l < 1e-6 {
		return 0
	}
	return (lx*dy - ly*dx) / l
}

// lidTorque returns the torque of a lid's weight about its hinge when level, N·m, its own mass and the
// modules counted.
func lidTorque(b *build.Build, surface int, on []int) float64 {
	s := &b.Surfaces[surface]
	e := extent(s.Outline)
	depth := e.x1 - e.x0
	if s.Hinge == build.Left || s.Hinge == build.Right {
		depth = e.y1 - e.y0
	}
	at := depth / 2
	if s.MassFromHinge != nil {
		at = s.MassFromHinge.Metres()
	}
	torque := s.Mass.Kilograms() * at
	for _, m := range on {
		a := boxOf(b, m)
		half := (a.x1 - a.x0) / 2
		if s.Hinge == build.Left || s.Hinge == build.Right {
			half = (a.y1 - a.y0) / 2
		}
		torque += extras * b.Types[b.Modules[m].Type].Mass.Kilograms() * (hingeDistance(s, a) + half)
	}
	return gravity * torque
}

// openAngle returns the angle a lid is held up at: the least it is tilted by in a posture, 12° where there
// is none.
func openAngle(b *build.Build, surface int) float64 {
	least := math.Inf(1)
	for i := range b.Postures {
		for _, t := range b.Postures[i].Tilts {
			if t.Surface == surface && t.Angle > 0 {
				least = min(least, t.Angle.Radians())
			}
		}
	}
	if math.IsInf(least, 1) {
		return 12 * math.Pi / 180
	}
	return least
}

// coldMorning is the cold a lid is checked at where the trip has no place. Source: handbook B6.
var coldMorning = quantity.Celsius(-10)

// struts judges whether a lid's struts hold it on a cold morning, and whether they push it open on a hot
// day.
func struts(b *build.Build, surface int, on []int, e Extremes) []Finding {
	s := &b.Surfaces[surface]
	if !s.HasHinge {
		return nil
	}
	cold := coldMorning
	if e.LowAt != "" {
		cold = e.Low
	}
	source := from("gas-strut sizing, F = m·g·x/(n·arm)", "margin 5 to 20 %; nitrogen as absolute temperature", cite.LookedUp)
	f := Finding{ID: "struts-cold", Subject: "surface " + s.Name, Limit: 1.05, Unit: "times", Source: source}
	if s.Struts == nil {
		return []Finding{f.missing("the struts of "+s.Name+" (struts)", "read count and force off them (N printed on the tube), measure the arm from the hinge")}
	}
	if s.Mass == nil {
		return []Finding{f.missing("the mass of "+s.Name+" (mass)", "weigh it at the edge away from the hinge with a luggage scale and double it, or ask its maker")}
	}
	level := lidTorque(b, surface, on)
	if level <= 0 {
		return nil
	}
	open := openAngle(b, surface)
	push := float64(s.Struts.Count) * s.Struts.Force.Newtons() * s.Struts.Left.Float()
	f.Value = push * strutAt(cold) * armOf(s.Struts, open) / (level * math.Cos(open))
	f.Reason = fmt.Sprintf("lift of the struts over the weight of lid and modules, held open %.0f°, at %.0f °C, where gas gives %.2f of its printed force, with %.0f %% left by age: under 1 the lid comes down on a hand or a head. The modules ask %.0f N more of each strut",
		open*180/math.Pi, cold.Celsius(), strutAt(cold), s.Struts.Left.Percent(), moduleForce(b, surface, on, open))
	switch {
	case f.Value < 1:
		f.Verdict = Fail
	case f.Value < 1.05:
		f.Verdict = Warn
	}
	out := []Finding{f}
	if s.Struts.Arm == 0 {
		hot := quantity.Celsius(40)
		g := Finding{ID: "struts-closed", Subject: f.Subject, Limit: 1, Unit: "times", Source: source,
			Value:  push / s.Struts.Left.Float() * strutAt(hot) * armOf(s.Struts, 0) / level,
			Reason: "lift of new struts over the weight with the lid closed, at 40 °C: 0.6 to 0.9 is usual; over 1 only the latch holds it on the road"}
		out = append(out, g.atMost(0.9).beside())
	}
	return out
}

// moduleForce returns what the modules on a lid ask of each strut, N.
func moduleForce(b *build.Build, surface int, on []int, open float64) float64 {
	s := &b.Surfaces[surface]
	arm := armOf(s.Struts, open)
	if arm <= 0 {
		return 0
	}
	return (lidTorque(b, surface, on) - lidTorque(b, surface, nil)) * math.Cos(open) / (float64(s.Struts.Count) * arm)
}
