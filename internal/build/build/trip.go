package build

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/place"
	"noonmark/internal/physics/climate"
)

// longestTrip is the longest trip read, in days.
const longestTrip = 800

// place completes a place: coordinates or a town, height and zone. Whether it could is reported.
func (r *resolver) place(path string, text *string, altitude *quantity.Length, zone *string) (Place, bool) {
	var p Place
	if text == nil || *text == "" {
		r.wrong(path, "a town, such as Evora, PT, or latitude, longitude")
		return p, false
	}
	if lat, lon, ok := place.Parse(*text); ok {
		p = Place{Name: *text, Latitude: lat, Longitude: lon}
	} else {
		if numbers(*text) {
			r.problems.Add(problem.Problem{Path: path, Found: *text, Want: "latitude, longitude in degrees: -90 to 90, -180 to 180, north and east positive, such as 38.57, -7.91"})
			return p, false
		}
		found, _, err := place.Find(*text)
		if err != nil {
			r.problems.Add(problem.Problem{Path: path, Found: *text, Want: fmt.Sprintf("a town, such as Evora, PT: %v", err)})
			return p, false
		}
		p = Place{Name: found.Name, Latitude: found.Latitude, Longitude: found.Longitude}
	}
	switch {
	case altitude != nil:
		p.Elevation = *altitude
		if p.Elevation < -450*quantity.Metre || p.Elevation > 6000*quantity.Metre {
			r.wrong(path+".altitude", "-450 m to 6000 m")
		}
	default:
		p.Elevation = r.height(p, path)
	}
	p.Zone = place.Zone(p.Latitude, p.Longitude)
	if zone != nil {
		z, err := time.LoadLocation(*zone)
		if err != nil || *zone == "" || *zone == "Local" {
			r.wrong(path+".zone", "a time zone, such as Europe/Lisbon, not %q", *zone)
			return p, false
		}
		p.Zone = z
	}
	return p, true
}

// height returns the assumed height of a place.
func (r *resolver) height(p Place, path string) quantity.Length {
	h := max(0, climate.GridElevation(p.Latitude, p.Longitude))
	r.assume(path+".altitude", fmt.Sprintf("%.0f m", h.Metres()), p.Name+": mean of the terrain around; give it in hills, 100 m change the air by 0.6 K", "NOAA ETOPO, 1°")
	return h
}

func (r *resolver) trip() {
	b := r.build
	b.Trip.Soiling = r.soiling()
	d := r.doc.Trip
	if d == nil {
		r.wrong("trip", "the trip: a start and legs")
		return
	}
	b.Trip.Albedo = or(r, d.Ground, "trip.ground", 20*quantity.Percent, "grass and gravel", customary)
	if b.Trip.Albedo < 0 || b.Trip.Albedo > 1 {
		r.wrong("trip.ground", "0 to 100 %%")
	}
	if len(d.Legs) == 0 {
		r.wrong("trip.legs", "at least one stay: a trip of zero days has no answer")
		return
	}
	if d.Start == nil {
		r.wrong("trip.start", "the local date it begins, such as 2027-03-20")
	}
	b.Trip.Legs = r.legs(d.Legs)
	if n := len(b.Trip.Legs); n > 0 && n == len(d.Legs) {
		if days := b.Trip.Legs[n-1].Until.Sub(b.Trip.Legs[0].From).Hours() / 24; days > longestTrip {
			r.wrong("trip.legs", "at most %d days, not %.0f", longestTrip, days)
		}
	}
}

// legs reads the legs that can be read. A leg that cannot leaves the ones after it without their place
// and time: what does not depend on these is still checked.
func (r *resolver) legs(docs []LegDoc) []Leg {
	var out []Leg
	var at time.Time
	var here *Place
	lost := false
	for i := range docs {
		path := fmt.Sprintf("trip.legs[%d]", i)
		l := &docs[i]
		var leg Leg
		var ok bool
		switch {
		case l.Stay != nil && l.Drive == nil:
			if l.Stay.At == nil && here == nil && lost {
				continue
			}
			leg, ok = r.stay(l.Stay, path+".stay", here, at)
		case l.Drive != nil && l.Stay == nil:
			if here == nil && lost {
				r.place(path+".drive.to", l.Drive.To, l.Drive.Altitude, l.Drive.Zone)
				continue
			} else if here == nil {
				r.wrong(path+".drive", "a stay first: a drive begins where the last leg ended")
				continue
			}
			leg, ok = r.drive(l.Drive, path+".drive", *here, at)
		default:
			r.wrong(path, "a stay or a drive, one of them")
		}
		if !ok {
			lost = true
			continue
		}
		at = leg.Until
		end := leg.Place
		if leg.Drive {
			end = leg.To
		}
		here = &end
		out = append(out, leg)
	}
	return out
}

// numbers reports whether a text is meant as coordinates: two numbers and a comma.
func numbers(text string) bool {
	a, b, ok := strings.Cut(text, ",")
	_, err1 := strconv.ParseFloat(strings.TrimSpace(a), 64)
	_, err2 := strconv.ParseFloat(strings.TrimSpace(b), 64)
	return ok && err1 == nil && err2 == nil
}

func (r *resolver) soiling() Soiling {
	d := r.doc.Soiling
	if d == nil {
		d = &SoilingDoc{}
	}
	s := Soiling{
		Start:  or(r, d.Start, "soiling.start", 2*quantity.Percent, "a flat lid", "vehicle tables, section 5"),
		PerDay: or(r, d.PerDay, "soiling.per_day", 0.07*quantity.Percent, "temperate; 0.15 % dry, 0.35 % on dusty tracks", "vehicle tables, section 5"),
		Floor:  or(r, d.Floor, "soiling.floor", 2*quantity.Percent, "rain leaves a flat lid so", "vehicle tables, section 5"),
		Cap:    or(r, d.Cap, "soiling.most", 25*quantity.Percent, "nobody leaves it longer", "vehicle tables, section 5"),
	}
	for _, x := range []struct {
		v    quantity.Ratio
		path string
	}{{s.Start, "start"}, {s.PerDay, "per_day"}, {s.Floor, "floor"}, {s.Cap, "most"}} {
		if x.v < 0 || x.v > 1 {
			r.wrong("soiling."+x.path, "0 to 100 %%")
		}
	}
	return s
}

// begin returns the instant a trip starts at p: the hour written, or noon.
func (r *resolver) begin(p Place) time.Time {
	d := r.doc.Trip.Start
	if d == nil {
		d = &TimeDoc{Year: 2027, Month: 1, Day: 1, Dated: true} // a problem already; to go on checking
	}
	hour, minute := d.Hour, d.Minute
	if d.Dated {
		hour, minute = 12, 0
	}
	return time.Date(d.Year, time.Month(d.Month), d.Day, hour, minute, 0, 0, p.Zone)
}

func (r *resolver) stay(d *StayDoc, path string, here *Place, at time.Time) (Leg, bool) {
	var leg Leg
	ok := true
	if d.At == nil && here != nil {
		leg.Place = *here
		if d.Altitude != nil {
			leg.Place.Elevation = *d.Altitude
		}
	} else if leg.Place, ok = r.place(path+".at", d.At, d.Altitude, d.Zone); !ok {
		return leg, false
	}
	leg.From = at
	if at.IsZero() {
		leg.From = r.begin(leg.Place)
	}
	nights := quiet(d.Nights, 1)
	if d.Nights == nil {
		r.wrong(path+".nights", "how many nights")
	} else if nights < 1 || nights > longestTrip {
		r.wrong(path+".nights", "1 to %d nights", longestTrip)
		nights = 1
	}
	hour, minute := 10, 0
	if d.Leave != nil {
		t, err := time.Parse("15:04", *d.Leave)
		if err != nil {
			r.wrong(path+".leave", "a time of day, such as 10:00, not %q", *d.Leave)
		}
		hour, minute = t.Hour(), t.Minute()
	}
	y, m, day := leg.From.In(leg.Place.Zone).Date()
	leg.Until = time.Date(y, m, day+nights, hour, minute, 0, 0, leg.Place.Zone)
	if !leg.Until.After(leg.From) {
		r.wrong(path+".leave", "a departure after the arrival")
		ok = false
	}
	leg.Posture = 1
	if d.Posture != nil {
		leg.Posture = max(0, r.index(*d.Posture, path+".posture", "posture", r.postureNames()))
	}
	leg.HeadingFree = d.Heading == nil
	leg.Heading = quiet(d.Heading, 0)
	if a := leg.Heading.Degrees(); a < 0 || a > 360 {
		r.wrong(path+".heading", "0° to 360°, clockwise from north")
	}
	leg.Surroundings = choice(r, d.Surroundings, path+".surroundings", aroundWords, Open)
	if d.Surroundings == nil && len(d.Horizon) == 0 {
		r.assume(path+".surroundings", "open", leg.Place.Name+": trees or houses cost 15 to 85 %", estimate)
	}
	for _, p := range d.Horizon {
		if e := p.Elevation.Degrees(); e < 0 || e > 90 || math.Abs(p.Azimuth.Degrees()) > 360 {
			r.wrong(path+".horizon", "azimuths of 0° to 360° with elevations of 0° to 90°")
			break
		}
		leg.Horizon = append(leg.Horizon, HorizonPoint(p))
	}
	leg.Cleaned, leg.WeatherFile, leg.ExtremeLow = quiet(d.Cleaned, false), quiet(d.Weather, ""), d.ExtremeLow
	return leg, ok
}

// winding is how much longer roads are than the straight line. Common practice, no source.
const winding = 1.25

func (r *resolver) drive(d *DriveDoc, path string, here Place, at time.Time) (Leg, bool) {
	leg := Leg{Drive: true, From: at, Place: here, Posture: 0}
	var ok bool
	if leg.To, ok = r.place(path+".to", d.To, d.Altitude, d.Zone); !ok {
		return leg, false
	}
	leg.Route = []Place{here}
	for _, v := range d.Via {
		p, ok := r.place(path+".via", &v, nil, nil)
		if !ok {
			return leg, false
		}
		leg.Route = append(leg.Route, p)
	}
	leg.Route = append(leg.Route, leg.To)
	straight := 0.0
	for i := 1; i < len(leg.Route); i++ {
		a, b := leg.Route[i-1], leg.Route[i]
		straight += place.Distance(place.Point{Latitude: a.Latitude, Longitude: a.Longitude}, place.Point{Latitude: b.Latitude, Longitude: b.Longitude}).Metres()
	}
	hours := 0.0
	switch {
	case d.Hours != nil && d.Speed != nil:
		r.wrong(path, "hours or speed, not both")
		return leg, false
	case d.Hours != nil:
		hours = *d.Hours
	default:
		v := or(r, d.Speed, path+".speed", 70*quantity.KilometrePerHour, "mean over the day, stops included", estimate)
		if v <= 0 || v > 160*quantity.KilometrePerHour {
			r.wrong(path+".speed", "above 0 and up to 160 km/h")
			return leg, false
		}
		hours = straight * winding / v.MetresPerSecond() / 3600
		hours = math.Max(1.0/12, math.Round(hours*12)/12)
	}
	if !(hours > 0 && hours <= 72) {
		r.wrong(path+".hours", "above 0 and up to 72 hours on the road; break it with stays")
		return leg, false
	}
	leg.Until = at.Add(time.Duration(hours * float64(time.Hour))).Truncate(time.Minute)
	leg.Surroundings = choice(r, d.Surroundings, path+".surroundings", aroundWords, Motorway)
	return leg, true
}
