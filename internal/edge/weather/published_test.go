package weather

import (
	"math"
	"strings"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// files are the hourly files at hand and their rows in the validation table, "" for none.
var files = []struct{ file, row string }{
	{"CHL_Santiago.855740_TMYx.epw.gz", "Santiago Benitez Intl AP"},
	{"USA_AK_Barrow.700260_TMY3.epw.gz", "Barrow-Post-Rogers Meml AP"},
	{"USA_AZ_Davis-Monthan.AFB.722745_TMY3.epw.gz", "Davis Monthan Afb"},
	{"USA_CO_Aurora-Buckley.Field.ANGB.724695_TMY3.epw.gz", "Aurora Buckley Field Angb"},
	{"USA_WA_Port.Angeles-William.R.Fairchild.Intl.AP.727885_TMY3.epw.gz", "William R Fairchild"},
	{"USA_CO_Golden.724666_TMY3.csv.gz", ""},
}

func shared(t testing.TB, name string) *Series {
	t.Helper()
	s, err := Read(testkit.Shared(t, "weather-hourly/"+name))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Source: table of monthly means made by others from the same hourly files, validation_monthly.csv of
// the open data, printed to 0.001 kWh/m² a day, 0.01 °C and 0.001.
func TestPublishedMonths(t *testing.T) {
	stations := testkit.Stations(t)
	compared := 0
	for _, f := range files {
		name := f.row
		if name == "" {
			continue
		}
		s := shared(t, f.file)
		for _, r := range stations {
			if r.Name != name {
				continue
			}
			testkit.Near(t, s.Latitude.Degrees(), r.Latitude, 0.0051, name+": latitude, degrees")
			testkit.Near(t, s.Longitude.Degrees(), r.Longitude, 0.0051, name+": longitude, degrees")
			testkit.Near(t, s.Elevation.Metres(), r.Altitude, 0.5, name+": elevation, m")
			compared++
			var light, warmth, share float64 // largest differences
			for m := range 12 {
				var g, d, a, n float64
				for _, h := range s.Hours {
					if int(h.Month) == m+1 {
						g += h.Global.WattsPerSquareMetre()
						d += h.Diffuse.WattsPerSquareMetre()
						a += h.Air.Celsius()
						n++
					}
				}
				light = math.Max(light, math.Abs(g/n*24/1000-r.Global[m]))
				warmth = math.Max(warmth, math.Abs(a/n-r.Air[m]))
				if g > 0 {
					share = math.Max(share, math.Abs(d/g-r.Diffuse[m]))
				}
			}
			src := func(what string) cite.Source {
				return cite.Source{Title: "validation table of the open data, weather-hourly", Where: name + ", columns " + what}
			}
			testkit.Published(t, light, testkit.Check{What: "largest difference of a month's mean global radiation, kWh/m² a day", Source: src("ghi"), Tol: 0.0005001})
			testkit.Published(t, warmth, testkit.Check{What: "largest difference of a month's mean air temperature, K", Source: src("tair"), Tol: 0.005001})
			testkit.Published(t, share, testkit.Check{What: "largest difference of a month's diffuse fraction", Source: src("diffuse_fraction"), Tol: 0.0005001})
		}
	}
	if compared != 5 {
		t.Errorf("%d sites compared, want 5", compared)
	}
}

// Source: NREL TMY3 data set, header of station 724666; ASHRAE Handbook Fundamentals 2017 and 2009, design
// conditions as the headers of the files carry them.
func TestPublishedHeaders(t *testing.T) {
	golden := shared(t, "USA_CO_Golden.724666_TMY3.csv.gz")
	nrel := cite.Source{Title: "NREL TMY3 data set", Where: "station 724666, header"}
	testkit.Published(t, golden.Elevation.Metres(), testkit.Check{What: "elevation of the Golden station, m", Source: nrel, Want: 1829, Tol: 0})
	testkit.Published(t, golden.Latitude.Degrees(), testkit.Check{What: "latitude of the Golden station, degrees", Source: nrel, Want: 39.742, Tol: 1e-9})
	testkit.Published(t, golden.ZoneOffset().Hours(), testkit.Check{What: "zone of the Golden station, h from UTC", Source: nrel, Want: -7, Tol: 0})
	for _, want := range []struct {
		file, edition           string
		month                   int
		heating, mean, fiftieth float64
	}{
		{"CHL_Santiago.855740_TMYx.epw.gz", "2017", 7, -1.1, -3.4, -6.9},
		{"USA_AK_Barrow.700260_TMY3.epw.gz", "2017", 2, -39.2, -42, -49},
		{"USA_AZ_Davis-Monthan.AFB.722745_TMY3.epw.gz", "2009", 12, 0.5, -2.5, -5.9},
	} {
		s := shared(t, want.file)
		if s.Design == nil || s.Design.Extremes == nil || int(s.Design.ColdestMonth) != want.month || !strings.Contains(s.Design.Source, want.edition) {
			t.Errorf("%s: design conditions %+v", want.file, s.Design)
			continue
		}
		src := cite.Source{Title: "ASHRAE Handbook Fundamentals " + want.edition, Where: "design conditions of " + s.Name}
		testkit.Published(t, s.Design.Heating996.Celsius(), testkit.Check{What: "99.6 % heating temperature, °C", Source: src, Want: want.heating, Tol: 1e-9})
		testkit.Published(t, s.Design.Extremes.MeanMinimum.Celsius(), testkit.Check{What: "mean of the years' lowest temperatures, °C", Source: src, Want: want.mean, Tol: 1e-9})
		testkit.Published(t, s.Design.Extremes.Lowest50.Celsius(), testkit.Check{What: "lowest temperature of 50 years, °C", Source: src, Want: want.fiftieth, Tol: 1e-9})
	}
}
