package forecast

import (
	"math"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/load"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// headings is how many headings a tilted plane is laid out for when the vehicle may stand as it
// likes; each year draws one of them for each leg.
const headings = 8

// moment is a step of the tape: all that does not depend on the weather. Plain float64, SI.
type moment struct {
	at        int32           // its number on the tape
	sun       sun.Position    // as seen
	instant   sky.Instant     // of it
	where     shape.Direction // of it
	sin       float64         // of its elevation; below zero at night
	beyond    float64         // extraterrestrial, normal, W/m²
	beam      float64         // share of the beam the surroundings let through
	sky       float64         // share of the sky's diffuse light
	solar     time.Duration   // solar time of day
	dc, mains float64         // loads but for fridges, W
	leg       int32
	hour      uint8   // local clock
	idle      bool    // outside the trip
	course    float32 // of a drive, radians from north
	mainsOn   bool    // inverter switched on
}

// tape is the trip laid out in steps.
type tape struct {
	days    []civilDay
	moments []moment
	sites   []build.Place   // at the middle of each day, for its climate
	sunrise []time.Duration // solar time of it, by day
	sins    []float64       // sines of elevation, as the weather wants them
	fridges []fridgeShare
}

// fridgeShare says in which steps a fridge runs; its power follows the air.
type fridgeShare struct {
	load            build.Load
	parked, driving bool
}

// lay computes the tape of b.
func lay(b *build.Build) *tape {
	t := &tape{days: civilDays(b.Trip.Legs)}
	if len(t.days) == 0 {
		return t
	}
	last := t.days[len(t.days)-1]
	t.moments = make([]moment, last.first+last.count)
	t.sins = make([]float64, len(t.moments))
	lines := make([]skyline, len(b.Trip.Legs))
	for i := range b.Trip.Legs {
		lines[i] = skylineOf(&b.Trip.Legs[i])
	}
	for _, l := range b.Loads {
		if l.Kind == build.Fridge {
			t.fridges = append(t.fridges, fridgeShare{load: l, parked: l.Parked, driving: l.Driving})
		}
	}
	for _, d := range t.days {
		noon := d.date.Add(time.Duration(d.count) * step / 2)
		site := whereabouts(b.Trip.Legs, noon)
		t.sites = append(t.sites, site)
		t.sunrise = append(t.sunrise, sunriseOf(site, noon))
		for k := range d.count {
			at := d.date.Add(time.Duration(k)*step + step/2)
			m := &t.moments[d.first+k]
			m.at = int32(d.first + k)
			m.leg = int32(legAt(b.Trip.Legs, at))
			leg := &b.Trip.Legs[m.leg]
			if leg.Drive {
				m.course = float32(courseAt(leg, at))
			}
			m.idle = at.Before(b.Trip.Legs[0].From) || !at.Before(b.Trip.Legs[len(b.Trip.Legs)-1].Until)
			m.light(at, whereabouts(b.Trip.Legs, at), lines[m.leg])
			m.use(b, leg, at)
			t.sins[d.first+k] = math.Max(0, m.sin)
		}
	}
	return t
}

// polarDawn is taken as the time of sunrise where the sun does not rise or set.
const polarDawn = 4 * time.Hour

// sunriseOf returns the solar time of sunrise on the day that holds noon.
func sunriseOf(p build.Place, noon time.Time) time.Duration {
	pos := sun.At(noon, sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation})
	set := sun.Course{Latitude: p.Latitude, Declination: pos.Declination, Normal: sun.Constant}.SunsetAngle().Radians()
	if set <= 0 || set >= math.Pi {
		return polarDawn
	}
	return time.Duration((12 - set*12/math.Pi) * float64(time.Hour))
}

// light fills in sun and surroundings.
func (m *moment) light(at time.Time, p build.Place, line skyline) {
	site := sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}
	pos := sun.At(at, site)
	m.sun = pos.Apparent(sun.PressureAt(p.Elevation), quantity.Celsius(10))
	m.where = m.sun.Direction()
	m.sin = m.where.Up
	m.beyond = sun.ExtraterrestrialNormal(pos).WattsPerSquareMetre()
	m.instant = sky.NewInstant(m.sun, quantity.Irradiance(m.beyond))
	m.beam, m.sky = line.shares(m.sun)
	hours := math.Mod(12+m.sun.HourAngle.Degrees()/15+24, 24)
	m.solar = time.Duration(hours * float64(time.Hour))
}

// use fills in the loads but for fridges.
func (m *moment) use(b *build.Build, leg *build.Leg, at time.Time) {
	zone := leg.Place.Zone
	if leg.Drive && leg.To.Zone != nil && at.Sub(leg.From) > leg.Until.Sub(leg.From)/2 {
		zone = leg.To.Zone
	}
	local := at.In(zone)
	m.hour = uint8(local.Hour())
	m.mainsOn = b.Inverter != nil && (b.Inverter.AlwaysOn || b.Inverter.On[m.hour])
	for i := range b.Loads {
		l := &b.Loads[i]
		if l.Kind == build.Fridge || !l.Months[local.Month()-1] || !(l.Parked && !leg.Drive || l.Driving && leg.Drive) {
			continue
		}
		w := l.Watts[m.hour].Watts()
		if l.Mains {
			m.mains += w
			m.mainsOn = m.mainsOn || w > 0
		} else {
			m.dc += w
		}
	}
}

// fridge returns the watts of the fridges at air temperature air, on the battery and on the inverter.
func (t *tape) fridge(m *moment, drive bool, air quantity.Temperature) (dc, mains float64) {
	for i := range t.fridges {
		f := &t.fridges[i]
		if !(f.parked && !drive || f.driving && drive) {
			continue
		}
		w := load.FridgePower(f.load.Fridge.DayAt25C, air, f.load.Fridge.Rise, f.load.Fridge.Running).Watts()
		if f.load.Mains {
			mains += w
		} else {
			dc += w
		}
	}
	return dc, mains
}

// skyline is what the surroundings of a leg let through.
type skyline struct {
	preset  sky.Skyline
	profile *sky.Horizon
}

func skylineOf(l *build.Leg) skyline {
	if len(l.Horizon) > 0 {
		points := make([]sky.HorizonPoint, len(l.Horizon))
		for i, p := range l.Horizon {
			points[i] = sky.HorizonPoint{Azimuth: p.Azimuth, Elevation: p.Elevation}
		}
		h := sky.NewHorizon(points)
		return skyline{profile: &h}
	}
	return skyline{preset: sky.SkylineOf(sky.Surroundings(l.Surroundings))}
}

func (s skyline) shares(p sun.Position) (beam, diffuse float64) {
	if s.profile != nil {
		return s.profile.BeamShare(p.Azimuth, p.Elevation()).Float(), s.profile.SkyShare().Float()
	}
	return s.preset.BeamShare(p.Elevation()).Float(), s.preset.SkyShare().Float()
}

// FacingOf returns how a surface faces in a posture with the front of the vehicle looking to
// heading. A lid raised about its front edge leans to the front.
func FacingOf(b *build.Build, surface, posture int, heading quantity.Angle) shape.Facing {
	for _, t := range b.Postures[posture].Tilts {
		if t.Surface != surface {
			continue
		}
		turn := map[build.Edge]float64{build.Front: 0, build.Right: math.Pi / 2, build.Rear: math.Pi, build.Left: -math.Pi / 2}[t.About]
		return shape.Facing{Tilt: t.Angle, Azimuth: quantity.Angle(math.Mod(heading.Radians()+turn+4*math.Pi, 2*math.Pi))}
	}
	return shape.Facing{}
}
