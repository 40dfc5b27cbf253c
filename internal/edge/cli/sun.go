package cli

import (
	"fmt"
	"math"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/sun"
)

// sunAnswer is what sun prints as JSON.
type sunAnswer struct {
	Place        string       `json:"place"`
	Time         time.Time    `json:"time"`
	LatitudeDeg  float64      `json:"latitude_deg"`
	LongitudeDeg float64      `json:"longitude_deg"`
	AltitudeM    float64      `json:"altitude_m"`
	Zenith       float64      `json:"zenith_deg"`
	ZenithTrue   float64      `json:"zenith_true_deg"`
	Azimuth      float64      `json:"azimuth_deg"`
	Elevation    float64      `json:"elevation_deg"`
	Beyond       float64      `json:"extraterrestrial_Wm2"`
	Rise         *time.Time   `json:"rise"`
	Transit      *time.Time   `json:"transit"`
	Set          *time.Time   `json:"set"`
	UpAllDay     bool         `json:"up_all_day"`
	DownAllDay   bool         `json:"down_all_day"`
	Assumed      []assumption `json:"assumed"`
}

func sunCommand(s *Streams) *cobra.Command {
	var at whereFlags
	var pressure, air string
	var asJSON bool
	c := &cobra.Command{
		Use:   "sun --at PLACE [--time T]",
		Short: "where the sun stands, and when it rises and sets",
		Long: `Position of the sun's centre: zenith as seen, with the air's refraction, and true; azimuth
clockwise from north. Rise and set are of the upper edge at a level horizon (centre 0.833° below).
Method: Meeus, low accuracy, with nutation, aberration and parallax; within 0.01°.

  noonmark sun --at "Evora, PT" --time "2027-06-21 12:00"`,
		Args: exactly(0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			spot, err := at.read(s)
			if err != nil {
				return err
			}
			p := sun.PressureAt(spot.place.Elevation)
			if pressure != "" {
				if p, err = quantity.ParsePressure(pressure); err != nil {
					return misuse("--pressure: %v", err)
				}
			}
			t := quantity.Celsius(10)
			if air != "" {
				if t, err = quantity.ParseTemperature(air); err != nil {
					return misuse("--temperature: %v", err)
				}
			} else {
				spot.assumed = append(spot.assumed, assumption{What: "air temperature", Value: "10 °C", Why: "for refraction; 20 K change it by 7 %"})
			}
			a := sunAt(spot, p, t)
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s, spot)
		},
	}
	at.add(c)
	c.Flags().StringVar(&pressure, "pressure", "", `air pressure, "1013 hPa"; empty: standard atmosphere at the altitude`)
	c.Flags().StringVar(&air, "temperature", "", `air temperature, "15 °C"; empty: 10 °C`)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

func sunAt(sp spot, pressure quantity.Pressure, air quantity.Temperature) sunAnswer {
	site := sun.Site{Latitude: sp.place.Latitude, Longitude: sp.place.Longitude, Elevation: sp.place.Elevation}
	pos := sun.At(sp.when, site)
	seen := pos.Apparent(pressure, air)
	day := sun.DayOf(sp.when.In(sp.place.Zone), site)
	a := sunAnswer{
		Place: sp.place.Name, Time: sp.when.In(sp.place.Zone),
		LatitudeDeg: sp.place.Latitude.Degrees(), LongitudeDeg: sp.place.Longitude.Degrees(), AltitudeM: sp.place.Elevation.Metres(),
		Zenith: seen.Zenith.Degrees(), ZenithTrue: pos.Zenith.Degrees(), Azimuth: pos.Azimuth.Degrees(),
		Elevation: 90 - seen.Zenith.Degrees(), Beyond: sun.ExtraterrestrialNormal(pos).WattsPerSquareMetre(),
		UpAllDay: day.UpAllDay, DownAllDay: day.DownAllDay, Assumed: sp.assumed,
	}
	for _, e := range []struct {
		from time.Time
		to   **time.Time
	}{{day.Rise, &a.Rise}, {day.Transit, &a.Transit}, {day.Set, &a.Set}} {
		if !e.from.IsZero() {
			local := e.from.In(sp.place.Zone).Truncate(time.Second)
			*e.to = &local
		}
	}
	return a
}

func (a sunAnswer) print(s *Streams, sp spot) error {
	fmt.Fprintf(s.Out, "%s, %s, %s\n", a.Place, a.Time.Format("2 Jan 2006 15:04 MST"), formatHeight(sp.place.Elevation))
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "elevation, as seen\t%.2f°\n", a.Elevation)
	fmt.Fprintf(w, "zenith, true\t%.3f°\n", a.ZenithTrue)
	fmt.Fprintf(w, "azimuth\t%.2f°  %s\n", a.Azimuth, compass(a.Azimuth))
	if a.Elevation > 0 {
		fmt.Fprintf(w, "shadow of a 1 m post\t%.2f m\n", 1/math.Tan(a.Elevation*math.Pi/180))
	}
	clock := func(t *time.Time) string {
		if t == nil {
			return "none this day"
		}
		return t.Format("15:04:05")
	}
	switch {
	case a.UpAllDay:
		fmt.Fprintln(w, "up all day\t")
	case a.DownAllDay:
		fmt.Fprintln(w, "down all day\t")
	default:
		fmt.Fprintf(w, "rise\t%s\n", clock(a.Rise))
	}
	fmt.Fprintf(w, "highest\t%s\n", clock(a.Transit))
	if !a.UpAllDay && !a.DownAllDay {
		fmt.Fprintf(w, "set\t%s\n", clock(a.Set))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}

// compass names an azimuth by the 16-point rose.
func compass(deg float64) string {
	names := [16]string{"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"}
	return names[int(math.Mod(deg+11.25+360, 360)/22.5)%16]
}
