package check

import (
	"fmt"
	"math"
	"strings"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/bond"
	"noonmark/internal/physics/climate"
	"noonmark/internal/physics/heat"
)

// yearExtremes returns the extremes of the whole year at home and at every place of the trip: a bond
// stays on when the trip is over. Low is not below High when no place is known.
func yearExtremes(b *build.Build) Extremes {
	e := Extremes{Low: quantity.Celsius(100), High: quantity.Celsius(-100)}
	var places []build.Place
	if b.Home != nil {
		places = append(places, *b.Home)
	}
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		if places = append(places, l.Place); l.Drive {
			places = append(places, l.To)
		}
		if l.ExtremeLow != nil && l.ExtremeLow.Before(e.Low) {
			e.Low, e.LowBand, e.LowAt = *l.ExtremeLow, 0, l.Place.Name+", as given"
		}
	}
	for _, p := range places {
		if p.Zone == nil {
			continue
		}
		at := climate.At(p.Latitude, p.Longitude, p.Elevation)
		if low, band := climate.ExtremeLow(at); low.Before(e.Low) {
			e.Low, e.LowBand, e.LowAt = low, band, p.Name
		}
		for m := range at.Months {
			if high := at.Months[m].MeanHigh.Add(hotDay); e.High.Before(high) {
				e.High, e.HighAt = high, fmt.Sprintf("%s, %s", p.Name, time.Month(m+1))
			}
		}
	}
	return e
}

// cableSupport judges the clips of cables on the roof.
func cableSupport(b *build.Build) Finding {
	rule := bond.Supports()[0]
	f := Finding{ID: "cable-support", Subject: "cables on the roof", Limit: rule.Spacing.Millimetres(), Unit: "mm", Source: rule.Source}
	if b.Mounting.CableSupport == nil {
		f.Verdict, f.Reason = Unknown, "the distance between clips is missing: measure it; 150 to 300 mm on a roof in the wind, within 100 mm of any edge, strain relief at both ends, none in a puddle"
		return f
	}
	f.Value = b.Mounting.CableSupport.Millimetres()
	f.Reason = "distance between clips in the wind; marine practice allows 450 mm and exposed cable 600 mm (both from memory; check the edition in force where you are), for cables no wind moves"
	switch {
	case f.Value > 450:
		f.Verdict = Fail
	case f.Value > f.Limit:
		f.Verdict = Warn
	}
	return f
}

// cableEntry judges how cables come through the skin.
func cableEntry(b *build.Build) Finding {
	e := b.Mounting.CableEntry
	f := Finding{ID: "cable-entry", Subject: "cables through the skin", Unit: "faults", Source: cite.Source{Title: "cable entries, handbook B7", Standing: cite.CommonPractice}}
	var wrong []string
	switch {
	case !e.Known:
		f.Verdict, f.Reason = Unknown, "the cable entry is missing: say cable_entry: {by: gland, faces: rear, drip_loop: true, leak_tested: true}"
		return f
	case !e.Through:
		f.Reason = "no hole in the skin: see that a door, seal or hinge does not pinch it, and count its bends"
		return f
	case !e.Gland:
		f.Verdict, f.Reason = Fail, "a bare hole: its edge cuts the cable and water comes in; a gland, sealed on clean paint, bare metal painted first"
		return f
	}
	if e.Faces == build.Front {
		wrong = append(wrong, "it opens to the front, where rain is driven in: turn it to the rear")
	}
	if !e.DripLoop {
		wrong = append(wrong, "no drip loop: water runs along the cable into the gland")
	}
	if !e.Tested {
		wrong = append(wrong, "not yet hosed for ten minutes and looked at from inside")
	}
	f.Value = float64(len(wrong))
	f.Reason = "a gland on clean paint, facing rearwards, with a drip loop, hosed"
	if len(wrong) > 0 {
		f.Verdict, f.Reason = Warn, strings.Join(wrong, "; ")
	}
	return f
}

// kilograms a kilowatt-hour, by chemistry: middle of the handbook's ranges, C1, from memory.
var massOfEnergy = map[build.Chemistry]float64{build.LFP: 8, build.NMC: 5.5, build.AGM: 31}

// unitMass is that of an integrated power unit, middle of 11 to 15.
const unitMass = 13

// grip is what a strap over the top, in no tray, holds by friction, of its rating: pulled to half of it, on
// both sides, at a friction of 0.3. Source: friction lashing of EN 12195-1, its factors from memory.
const grip = 0.3

// securing judges what holds the battery or power unit in a hard stop, by two codes.
func securing(b *build.Build) []Finding {
	perKilowattHour, what := massOfEnergy[b.Battery.Chemistry], "battery "+b.Battery.Name
	for _, c := range b.Chargers {
		if c.Integrated {
			perKilowattHour = math.Max(perKilowattHour, unitMass)
			what = "power unit " + strings.TrimPrefix(b.Battery.Name, "power unit")
		}
	}
	r := b.Mounting.Restraint
	mass, whose := quantity.Mass(perKilowattHour*b.Battery.Energy.WattHours()/1000), ", its mass estimated from its energy"
	if r.Mass != nil {
		mass, whose = *r.Mass, ""
	}
	share, how := 1.0, "blocked in a tray or against a wall, each strap counts in full"
	if !r.Blocked {
		share, how = grip, "not blocked by a tray or wall, a strap over the top holds by friction alone, three tenths of its rating: put it in a tray"
	}
	var out []Finding
	for _, s := range bond.Securings() {
		if s.Key != "49 CFR 393.102 breaking" && s.Key != "EN 12195-1" {
			continue
		}
		need := bond.Hold(mass, s.Forward).Newtons()
		f := Finding{ID: "securing", Subject: strings.TrimSpace(what), Value: need, Limit: share * float64(r.Straps) * r.Rating.Newtons(), Unit: "N", Source: s.Source}
		other := fmt.Sprintf("%.0f N rearwards, %.0f N sideways (%s), for %.0f kg%s; vehicle-conversion rules may ask 10 to 20 g forwards near people: %.0f N; check the edition in force where you are",
			bond.Hold(mass, s.Rearward).Newtons(), bond.Hold(mass, s.Side).Newtons(), s.Against, mass.Kilograms(), whose, bond.Hold(mass, 10).Newtons())
		switch {
		case !r.Known:
			f.Verdict, f.Reason = Unknown, "missing: what holds it (restraint: straps, rating, blocked); to find it: read the rating on the strap; it must hold this forwards, "+other
		case f.Value > f.Limit:
			f.Verdict, f.Reason = Fail, how+"; "+other
		case !r.Blocked:
			f.Verdict, f.Reason = Warn, how+"; "+other
		default:
			f.Reason = how + "; " + other
		}
		out = append(out, f)
	}
	return out
}

// heatBelow compares the hottest lid under bonded modules with the bare one, for those below.
func heatBelow(b *build.Build, e Extremes) []Finding {
	if !e.Low.Before(e.High) {
		return nil
	}
	var out []Finding
	for i := range b.Surfaces {
		s := &b.Surfaces[i]
		hottest, found := quantity.Celsius(-100), false
		for j := range b.Modules {
			m := &b.Modules[j]
			if m.Surface == i && (m.Attachment == build.Bonded || m.Attachment == build.FoamTape) {
				found = true
				if t := forecast.PlateOf(&b.Types[m.Type], m.Attachment, m.Gap).Steady(fullSun, e.High, 0); hottest.Before(t) {
					hottest = t
				}
			}
		}
		if !found {
			continue
		}
		bare := heat.Lid(heat.Skin{Absorptance: s.Absorptance, Insulated: s.Insulated}, fullSun, e.High, 0)
		f := Finding{ID: "heat-below", Subject: "surface " + s.Name, Value: hottest.Sub(bare).Kelvins(), Limit: 10, Unit: "K",
			Reason: fmt.Sprintf("a dark bonded module is %.0f °C where the bare skin would be %.0f °C: the fridge and the sleepers below pay for it; a 20 mm gap took 11 K off (one owner), insulation and a vent help", hottest.Celsius(), bare.Celsius()),
			Source: cite.Source{Title: "owner's air-gap experiment on a camper lid, and the heat model", Where: "limit our own", Standing: cite.Judgement}}
		if f.Value > f.Limit {
			f.Verdict = Warn
		}
		out = append(out, f)
	}
	return out
}

// sleeping is the air under a lid at night with people in it: 16 °C at 70 %. Our own estimate.
const sleepingAir, sleepingHumidity = 16, 0.70

// coldNight returns the lowest mean daily low along the trip, and where; ok is false without places.
func coldNight(b *build.Build) (low quantity.Temperature, where string, ok bool) {
	for i := range b.Trip.Legs {
		l := &b.Trip.Legs[i]
		if l.Drive || l.Place.Zone == nil {
			continue
		}
		at := climate.At(l.Place.Latitude, l.Place.Longitude, l.Place.Elevation)
		for m := l.From.In(l.Place.Zone).Month(); ; m = m%12 + 1 {
			if t := at.Months[m-1].MeanLow; !ok || t.Before(low) {
				low, where, ok = t, fmt.Sprintf("%s, %s", l.Place.Name, m), true
			}
			if m == l.Until.In(l.Place.Zone).Month() {
				break
			}
		}
	}
	return low, where, ok
}

// condensation judges the inner face of each surface that carries modules on an ordinary cold night.
func condensation(b *build.Build) []Finding {
	low, where, ok := coldNight(b)
	if !ok {
		return nil
	}
	inside := quantity.Celsius(sleepingAir)
	dew := bond.DewPoint(inside, sleepingHumidity)
	outside := low.Add(-bond.ClearNight)
	var out []Finding
	for i := range b.Surfaces {
		s := &b.Surfaces[i]
		if s.Skin == "coated fabric" {
			continue // it breathes or drips whatever is bonded to it
		}
		f := Finding{ID: "condensation", Subject: "surface " + s.Name, Limit: dew.Celsius(), Unit: "°C",
			Source: cite.Source{Title: "ISO 6946 films and the Magnus formula", Where: "air under the lid 16 °C, 70 %, our own estimate", Standing: cite.FromMemory}}
		thick := quantity.Length(0)
		switch {
		case b.Mounting.Insulation != nil:
			thick = *b.Mounting.Insulation
		case s.Insulated:
			f.Verdict = Unknown
			f.Value = bond.InnerSkin(inside, outside, 20*quantity.Millimetre).Celsius()
			f.Reason = fmt.Sprintf("the thickness of the insulation is missing: measure it; 20 mm would keep the inner face at %.0f °C over a dew point of %.0f °C on a mean night of %s, screws and frames colder", f.Value, dew.Celsius(), where)
			out = append(out, f)
			continue
		}
		face := bond.InnerSkin(inside, outside, thick)
		f.Value = face.Celsius()
		f.Reason = fmt.Sprintf("inner face on a mean clear night of %s, skin %.0f °C, %.0f mm of foam behind: under the dew point it drips; leave a vent open, insulate without bridges, wipe in the morning", where, outside.Celsius(), thick.Millimetres())
		if face.Before(dew) {
			f.Verdict = Warn
		}
		out = append(out, f)
	}
	return out
}

// exitClear is the least distance of a module from a hatch or vent. Common practice, no source.
const exitClear = 50 * quantity.Millimetre

// exits judges how near modules come to hatches and vents, by the obstacles' names.
func exits(b *build.Build) []Finding {
	src := cite.Source{Title: "exits and vents kept free, handbook F", Standing: cite.CommonPractice}
	var out []Finding
	for i := range b.Obstacles {
		o := &b.Obstacles[i]
		name := strings.ToLower(o.Name)
		if !strings.Contains(name, "hatch") && !strings.Contains(name, "vent") && !strings.Contains(name, "fan") && !strings.Contains(name, "window") || len(o.Outline) == 0 {
			continue
		}
		nearest := math.Inf(1)
		for j := range b.Modules {
			if b.Modules[j].Surface == o.Surface {
				nearest = math.Min(nearest, apart(b, &b.Modules[j], o))
			}
		}
		if math.IsInf(nearest, 1) {
			continue
		}
		f := Finding{ID: "exit-clear", Subject: o.Name, Value: nearest * 1e3, Limit: exitClear.Millimetres(), Unit: "mm", Source: src,
			Reason: "from the nearest module; its lid must swing, its latch stay usable from inside, cables and covers included, and its air path open"}
		if f.Value < f.Limit {
			f.Verdict = Warn
		}
		out = append(out, f)
	}
	if len(out) == 0 {
		out = append(out, Finding{ID: "exit-clear", Subject: "exits and vents", Verdict: Unknown, Limit: exitClear.Millimetres(), Unit: "mm", Source: src,
			Reason: "no hatch, vent, fan or window is drawn: draw each as an obstacle with that word in its name, or see that none is there; a way out that modules or cables block is none"})
	}
	return out
}

// apart returns the distance of a module's footprint from an obstacle's box, m; 0 when they overlap.
func apart(b *build.Build, m *build.Module, o *build.Obstacle) float64 {
	low, high := footprint(b, m)
	l, h := o.Outline[0], o.Outline[0]
	for _, p := range o.Outline {
		l.X, l.Y, h.X, h.Y = min(l.X, p.X), min(l.Y, p.Y), max(h.X, p.X), max(h.Y, p.Y)
	}
	dx := max(0, l.X-high.X, low.X-h.X).Metres()
	dy := max(0, l.Y-high.Y, low.Y-h.Y).Metres()
	return math.Hypot(dx, dy)
}
