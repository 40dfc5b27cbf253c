package place

import (
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

func at(lat, lon float64) Point {
	return Point{quantity.Angle(lat) * quantity.Degree, quantity.Angle(lon) * quantity.Degree}
}

// Source: E. Williams, Aviation Formulary, worked example Los Angeles to New York, from memory.
func TestPublishedGreatCircle(t *testing.T) {
	a, b := at(33+57.0/60, -(118+24.0/60)), at(40+38.0/60, -(73+47.0/60))
	src := cite.Source{Title: "E. Williams, Aviation Formulary", Where: "worked example, LAX to JFK", Standing: cite.FromMemory}
	testkit.Published(t, Distance(a, b).Metres()/earthRadius, testkit.Check{What: "great-circle angle LAX to JFK, rad", Source: src, Want: 0.623585, Tol: 5e-7})
	testkit.Published(t, Bearing(a, b).Radians(), testkit.Check{What: "initial course LAX to JFK, rad", Source: src, Want: 1.150035, Tol: 5e-7})
	p := Along(a, b, 40*quantity.Percent)
	testkit.Published(t, p.Latitude.Degrees(), testkit.Check{What: "latitude at 0.4 of the way LAX to JFK, degrees", Source: src, Want: 38 + 40.167/60, Tol: 0.0005 / 60})
	testkit.Published(t, p.Longitude.Degrees(), testkit.Check{What: "longitude at 0.4 of the way LAX to JFK, degrees", Source: src, Want: -(101 + 37.570/60), Tol: 0.0005 / 60})
}

// Source: IANA time zone database, offsets that are law there: files asia, australasia, europe, northamerica.
func TestPublishedOffsets(t *testing.T) {
	for _, c := range []struct {
		town  string
		month time.Month
		want  float64
		where string
	}{
		{"Kathmandu", 1, 5.75, "file asia, Asia/Kathmandu"},
		{"Adelaide", 1, 10.5, "file australasia, Australia/Adelaide"},
		{"Lisbon", 7, 1, "file europe, Europe/Lisbon"},
		{"Reykjavik", 7, 0, "file europe, Atlantic/Reykjavik"},
		{"St. John's, CA", 1, -3.5, "file northamerica, America/St_Johns"},
		{"Phoenix, AZ", 7, -7, "file northamerica, America/Phoenix"},
	} {
		f, _, err := Find(c.town)
		if err != nil {
			t.Fatal(err)
		}
		_, s := time.Date(2026, c.month, 15, 12, 0, 0, 0, Zone(f.Latitude, f.Longitude)).Zone()
		testkit.Published(t, float64(s)/3600, testkit.Check{What: "offset from UTC in " + c.town + " on 15 " + c.month.String() + " 2026, h",
			Source: cite.Source{Title: "IANA time zone database", Where: c.where}, Want: c.want, Tol: 0})
	}
}

// Source: station positions that head public hourly weather files (WMO station list), in the towns they are named for.
func TestPublishedPositions(t *testing.T) {
	for _, c := range []struct {
		town, station string
		lat, lon      float64
	}{
		{"Lisbon, PT", "Lisboa", 38.73, -9.15},
		{"Barrow, AK", "Barrow", 71.286, -156.767},
		{"Golden, Colorado", "Golden", 39.742, -105.179},
		{"Port Angeles", "Port Angeles", 48.12, -123.50},
	} {
		f, _, err := Find(c.town)
		if err != nil {
			t.Fatal(err)
		}
		src := cite.Source{Title: "header of the hourly weather file of the station " + c.station, Where: "latitude, longitude"}
		why := "a station stands within about 6 km of the middle of its town"
		testkit.Published(t, f.Latitude.Degrees(), testkit.Check{What: "latitude of " + c.town + ", degrees", Source: src, Want: c.lat, Tol: 0.06, Why: why})
		testkit.Published(t, f.Longitude.Degrees(), testkit.Check{What: "longitude of " + c.town + ", degrees", Source: src, Want: c.lon, Tol: 0.09, Why: why})
	}
}
