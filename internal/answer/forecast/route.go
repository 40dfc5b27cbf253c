package forecast

import (
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/place"
)

// whereabouts returns where the vehicle is at t: the place of a stay, or the point of a drive that
// even speed along its way points gives.
func whereabouts(legs []build.Leg, t time.Time) build.Place {
	l := &legs[legAt(legs, t)]
	if !l.Drive {
		return l.Place
	}
	span := l.Until.Sub(l.From)
	if span <= 0 || !t.After(l.From) {
		return l.Place
	}
	if !t.Before(l.Until) {
		return l.To
	}
	return along(l, quantity.Ratio(float64(t.Sub(l.From))/float64(span)))
}

// wayPoints returns the points of a drive, ends included.
func wayPoints(l *build.Leg) []build.Place {
	if len(l.Route) >= 2 {
		return l.Route
	}
	return []build.Place{l.Place, l.To}
}

// RouteLength returns the length of a drive along its way points, great circles between them.
func RouteLength(l *build.Leg) quantity.Length {
	var sum quantity.Length
	points := wayPoints(l)
	for i := 1; i < len(points); i++ {
		sum += place.Distance(point(points[i-1]), point(points[i]))
	}
	return sum
}

func point(p build.Place) place.Point {
	return place.Point{Latitude: p.Latitude, Longitude: p.Longitude}
}

// along returns the point that has share of the drive behind it.
func along(l *build.Leg, share quantity.Ratio) build.Place {
	points := wayPoints(l)
	left := share.Float() * RouteLength(l).Metres()
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		d := place.Distance(point(a), point(b)).Metres()
		if left > d && i < len(points)-1 {
			left -= d
			continue
		}
		part := 0.0
		if d > 0 {
			part = min(1, left/d)
		}
		at := place.Along(point(a), point(b), quantity.Ratio(part))
		rise := b.Elevation.Metres() - a.Elevation.Metres()
		return build.Place{Name: l.To.Name, Latitude: at.Latitude, Longitude: at.Longitude,
			Elevation: quantity.Length(a.Elevation.Metres() + part*rise), Zone: a.Zone}
	}
	return l.Place
}

// legSpeed returns the mean speed of a drive.
func legSpeed(l *build.Leg) quantity.Speed {
	span := l.Until.Sub(l.From).Seconds()
	if span <= 0 {
		return 0
	}
	return quantity.Speed(RouteLength(l).Metres() / span)
}

// courseAt returns the azimuth in which a drive goes at t, radians: along its way points, the bends of the
// road left out.
func courseAt(l *build.Leg, t time.Time) float64 {
	points := wayPoints(l)
	span := l.Until.Sub(l.From)
	if span <= 0 || len(points) < 2 {
		return 0
	}
	left := max(0, min(1, float64(t.Sub(l.From))/float64(span))) * RouteLength(l).Metres()
	for i := 1; i < len(points); i++ {
		a, b := point(points[i-1]), point(points[i])
		d := place.Distance(a, b).Metres()
		if left <= d || i == len(points)-1 {
			return place.Bearing(a, b).Radians()
		}
		left -= d
	}
	return 0
}
