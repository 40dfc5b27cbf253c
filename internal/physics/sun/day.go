package sun

import (
	"math"
	"time"
)

// Day is the sun's course through one local civil day. Rise and Set are those about the day's
// transit, so that Set less Rise is the length of the day; near the onset of polar day or night
// they may fall on the neighbouring date. Where the sun does not cross the horizon on one side of
// the transit, that time is zero. UpAllDay and DownAllDay say that it crosses it on neither.
type Day struct {
	Rise, Transit, Set   time.Time // in the location asked with
	UpAllDay, DownAllDay bool
}

// horizon is the geocentric elevation of the centre when the upper limb meets a level horizon in
// average air: 34′ of refraction and 16′ of radius. Source: Meeus, 2nd ed., ch. 15; NREL/TP-560-34302, A.2.
const horizon = -0.8333 * rad

// DayOf returns rise, transit and set of the local civil day that holds t, in the location of t.
// A civil day runs from midnight to midnight of that location's clock, so the change of summer time
// and the date line are right. Times are within 1 s of a precise almanac for the same convention;
// weather moves a real sunrise by a minute. Up to four days of search; it never fails.
// It panics if the site is not on Earth.
func DayOf(t time.Time, s Site) Day {
	zone := t.Location()
	from, until := civilDay(t)
	half := until.Sub(from) / 2
	noon := transit(from.Add(half), s)
	for range 2 { // a zone far from its meridian
		if noon.Before(from) {
			noon = transit(noon.Add(24*time.Hour), s)
		} else if !noon.Before(until) {
			noon = transit(noon.Add(-24*time.Hour), s)
		}
	}
	d := Day{Transit: noon.In(zone)}
	top := height(noon, s)
	before, rises := crossing(noon.Add(-12*time.Hour), noon, top, s)
	after, sets := crossing(noon.Add(12*time.Hour), noon, top, s)
	if rises {
		d.Rise = before.In(zone)
	}
	if sets {
		d.Set = after.In(zone)
	}
	d.UpAllDay = !rises && !sets && top >= 0
	d.DownAllDay = !rises && !sets && top < 0
	return d
}

// civilDay returns the first instants of t's date and of the next, in t's location.
func civilDay(t time.Time) (from, until time.Time) {
	y, m, d := t.Date()
	return dateStart(y, m, d, t.Location()), dateStart(y, m, d+1, t.Location())
}

// dateStart returns the first instant of a date: midnight, or the moment the clock was put forward
// over midnight, or the earlier of two midnights.
func dateStart(y int, m time.Month, d int, zone *time.Location) time.Time {
	t := time.Date(y, m, d, 0, 0, 0, 0, zone)
	if t.Hour() != 0 && t.Hour() >= 12 { // in the gap, seen from before it
		if _, end := t.ZoneBounds(); !end.IsZero() {
			return end
		}
	}
	begin, _ := t.ZoneBounds()
	if t.Hour() != 0 && !begin.IsZero() { // in the gap, seen from after it
		return begin
	}
	if !begin.IsZero() && t.Sub(begin) < 3*time.Hour {
		_, was := begin.Add(-time.Nanosecond).Zone()
		_, now := t.Zone()
		if e := t.Add(time.Duration(now-was) * time.Second); e.Before(begin) && was > now {
			return e
		}
	}
	return t
}

// geocentric returns the hour angle and the sine of the geocentric elevation.
func geocentric(t time.Time, s Site) (hour, sin float64) {
	lat, lon := s.Latitude.Radians(), s.Longitude.Radians()
	if !(math.Abs(lat) <= math.Pi/2+1e-9) || !finite(lon) {
		panic("sun: site not on Earth")
	}
	e := atDay(days(t))
	hour = around(e.sidereal + lon - e.ascension())
	sinLat, cosLat := math.Sincos(lat)
	return hour, sinLat*e.sinDec + cosLat*math.Hypot(e.sinRA, e.cosRA)*math.Cos(hour)
}

// height returns the geocentric elevation over the conventional horizon.
func height(t time.Time, s Site) float64 {
	_, sin := geocentric(t, s)
	return math.Asin(math.Max(-1, math.Min(1, sin))) - horizon
}

// transit returns the upper transit nearest t: three steps of the hour angle, each 300 times closer.
func transit(t time.Time, s Site) time.Time {
	for range 3 {
		h, _ := geocentric(t, s)
		t = t.Add(-time.Duration(h / (2 * math.Pi) * 86400 * float64(time.Second)))
	}
	return t
}

// crossing returns the instant between low and noon at which the sun stands on the horizon, and
// whether there is one; top is its height at noon. Halving and false position, at most 60 steps.
func crossing(low, noon time.Time, top float64, s Site) (time.Time, bool) {
	bottom := height(low, s)
	if (bottom < 0) == (top < 0) {
		return time.Time{}, false
	}
	span := noon.Sub(low).Seconds()
	a, b, fa, fb := 0.0, 1.0, bottom, top
	x := 0.5
	for i := range 60 {
		x = (a + b) / 2
		if i%3 != 0 {
			x = a - fa*(b-a)/(fb-fa)
		}
		f := height(low.Add(time.Duration(x*span*1e9)), s)
		if (f < 0) == (fa < 0) {
			a, fa = x, f
		} else {
			b, fb = x, f
		}
		if math.Abs(b-a) < 1e-9 || math.Abs(f) < 1e-10 {
			break
		}
	}
	return low.Add(time.Duration(x * span * 1e9)), true
}
