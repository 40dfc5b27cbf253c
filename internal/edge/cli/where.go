package cli

import (
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/place"
	"noonmark/internal/physics/climate"
)

// whereFlags are the flags that say a place and an instant.
type whereFlags struct {
	at, when, altitude string
}

func (f *whereFlags) add(c *cobra.Command) {
	c.Flags().StringVar(&f.at, "at", "", `where: "38.57,-7.91" (latitude, longitude; north and east positive) or a town, "Evora, PT"`)
	c.Flags().StringVar(&f.when, "time", "", `when: 2027-06-21T12:00Z, or 2027-06-21 12:00 in the place's own clock; empty: now`)
	c.Flags().StringVar(&f.altitude, "altitude", "", `height above the sea, "450 m"; empty: the 1° terrain grid`)
}

// spot is a place and an instant, with what was assumed.
type spot struct {
	place   build.Place
	when    time.Time
	assumed []assumption
}

// assumption is a value the user did not give.
type assumption struct {
	What   string `json:"what"`
	Value  string `json:"value"`
	Why    string `json:"why"`
	Source string `json:"source,omitempty"`
}

// read resolves the flags.
func (f *whereFlags) read(s *Streams) (spot, error) {
	var out spot
	p, notes, err := findPlace(f.at)
	if err != nil {
		return out, err
	}
	out.place, out.assumed = p, notes
	if f.altitude != "" {
		h, err := quantity.ParseLength(f.altitude)
		if err != nil {
			return out, misuse("--altitude: %v", err)
		}
		if h < -500*quantity.Metre || h > 9000*quantity.Metre {
			return out, misuse("--altitude %s: wanted between -500 m and 9000 m", f.altitude)
		}
		out.place.Elevation = h
		out.assumed = nil
	}
	out.when, err = readTime(f.when, out.place.Zone, s.Clock)
	return out, err
}

// findPlace resolves coordinates or the name of a town.
func findPlace(text string) (build.Place, []assumption, error) {
	var p build.Place
	if strings.TrimSpace(text) == "" {
		return p, nil, misuse(`--at is missing: give "latitude,longitude" or a town, such as --at "Evora, PT"`)
	}
	if lat, lon, ok := place.Parse(text); ok {
		p.Name, p.Latitude, p.Longitude = text, lat, lon
	} else {
		found, _, err := place.Find(text)
		if err != nil {
			return p, nil, misuse("--at %q: %v", text, err)
		}
		p.Name = found.Name + ", " + found.Country
		p.Latitude, p.Longitude = found.Latitude, found.Longitude
	}
	p.Zone = place.Zone(p.Latitude, p.Longitude)
	p.Elevation = max(0, climate.GridElevation(p.Latitude, p.Longitude))
	note := assumption{What: "altitude", Value: formatHeight(p.Elevation), Why: "mean of the 1° terrain cell; give --altitude in hills", Source: "NOAA ETOPO"}
	return p, []assumption{note}, nil
}

// timeLayouts are the forms a time may take; those without a zone are the place's own clock.
var timeLayouts = []string{"2006-01-02 15:04", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02T15:04:05", "2006-01-02"}

func readTime(text string, zone *time.Location, clock func() time.Time) (time.Time, error) {
	if text == "" {
		return clock(), nil
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04Z07:00", "2006-01-02 15:04Z07:00", "2006-01-02 15:04 Z07:00"} {
		if t, err := time.Parse(layout, text); err == nil {
			return checkYear(t)
		}
	}
	for _, layout := range timeLayouts {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			if layout == "2006-01-02" {
				t = t.Add(12 * time.Hour)
			}
			return checkYear(t)
		}
	}
	return time.Time{}, misuse("--time %q: wanted 2027-06-21T12:00Z, or 2027-06-21 12:00 in the place's own clock", text)
}

func checkYear(t time.Time) (time.Time, error) {
	if y := t.Year(); y < 1950 || y > 2100 {
		return t, misuse("year %d: the sun's position holds for 1950 to 2100", y)
	}
	return t, nil
}
