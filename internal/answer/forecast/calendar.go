package forecast

import (
	"time"

	"noonmark/internal/build/build"
)

// step is the length of a computed step; every zone's midnight and offset is a multiple of it.
const step = 5 * time.Minute

// civilDay is one local day of the trip: its steps run from midnight to midnight of the zone the
// vehicle is in, so a day has 276, 288 or 300 of them over a daylight-saving change, and other
// numbers where the trip crosses zones.
type civilDay struct {
	date  time.Time // local midnight
	first int       // index of its first step on the tape
	count int
}

// civilDays returns the days of the trip, whole days at both ends.
func civilDays(legs []build.Leg) []civilDay {
	if len(legs) == 0 {
		return nil
	}
	end := legs[len(legs)-1].Until
	y, m, d := legs[0].From.In(legs[0].Place.Zone).Date()
	var days []civilDay
	first := 0
	for k := 0; ; k++ {
		start := midnight(legs, y, m, d+k)
		if !start.Before(end) {
			return days
		}
		next := midnight(legs, y, m, d+k+1)
		if n := int(next.Sub(start) / step); n > 0 {
			days = append(days, civilDay{date: start, first: first, count: n})
			first += n
		}
	}
}

// midnight returns the instant at which the date begins where the vehicle then is. On a date that
// begins twice or never, as on the date line, the first leg that holds such an instant counts, and
// with none the leg nearest in time.
func midnight(legs []build.Leg, y int, m time.Month, d int) time.Time {
	var best time.Time
	nearest := time.Duration(1<<63 - 1)
	for _, l := range legs {
		t := time.Date(y, m, d, 0, 0, 0, 0, l.Place.Zone)
		var off time.Duration
		switch {
		case t.Before(l.From):
			off = l.From.Sub(t)
		case !t.Before(l.Until):
			off = t.Sub(l.Until) + 1
		}
		if off < nearest {
			best, nearest = t, off
		}
	}
	return best
}

// legAt returns the index of the leg the vehicle is on at t: the first leg before the trip, the
// last after it, and the leg that has ended in a gap between two.
func legAt(legs []build.Leg, t time.Time) int {
	at := 0
	for i, l := range legs {
		if t.Before(l.From) {
			break
		}
		at = i
	}
	return at
}
