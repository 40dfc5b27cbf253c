package weather

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// Monthly global radiation read from the hourly files, against the table made from them by others.
//
// Source: validation table of the open data, columns ghi_jan to ghi_dec, kWh/m² a day.
func TestMonthlySums(t *testing.T) {
	f, err := os.Open(testkit.Shared(t, "weather-hourly/validation_monthly.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	days := [12]float64{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
	for _, c := range []struct{ file, site string }{
		{"USA_AZ_Davis-Monthan.AFB.722745_TMY3.epw.gz", "Davis Monthan Afb"},
		{"USA_AK_Barrow.700260_TMY3.epw.gz", "Barrow-Post-Rogers Meml AP"},
		{"CHL_Santiago.855740_TMYx.epw.gz", "Santiago Benitez Intl AP"},
		{"USA_CO_Aurora-Buckley.Field.ANGB.724695_TMY3.epw.gz", "Aurora Buckley Field Angb"},
	} {
		s, err := Read(testkit.Shared(t, "weather-hourly/"+c.file))
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows[1:] {
			if row[0] != c.site {
				continue
			}
			lat, _ := strconv.ParseFloat(row[2], 64)
			testkit.Near(t, s.Latitude.Degrees(), lat, 0.01, c.site+" latitude, degrees")
			hour, worst := 0, 0.0
			for m, n := range days {
				sum := 0.0
				for range int(n) * 24 {
					sum += s.hours[hour].Global.WattsPerSquareMetre()
					hour++
				}
				want, _ := strconv.ParseFloat(row[5+m], 64)
				worst = math.Max(worst, math.Abs(sum/n/1000-want))
			}
			testkit.Published(t, worst, testkit.Check{What: "largest difference of a month's global radiation at " + c.site + ", kWh/m² a day",
				Source: cite.Source{Title: "validation table of the hourly files", Where: "ghi_jan to ghi_dec"}, Want: 0, Tol: 0.0006,
				Why: "the table is rounded to 0.001"})
		}
	}
}

// The TMY3 file of Golden reads whole.
//
// Source: NREL TMY3 data, station 724666: 39.74° N, 1829 m.
func TestTMY3(t *testing.T) {
	s, err := Read(testkit.Shared(t, "weather-hourly/USA_CO_Golden.724666_TMY3.csv.gz"))
	if err != nil {
		t.Fatal(err)
	}
	testkit.Published(t, s.Elevation.Metres(), testkit.Check{What: "height of the Golden station, m", Source: cite.Source{Title: "NREL TMY3", Where: "station 724666"}, Want: 1829, Tol: 0.5})
	if s.ZoneOffset().Hours() != -7 {
		t.Errorf("zone %v, want -7 h", s.ZoneOffset())
	}
	top := 0.0
	for _, h := range s.hours {
		top = math.Max(top, h.Global.WattsPerSquareMetre())
	}
	if top < 900 || top > 1200 {
		t.Errorf("brightest hour %v W/m², want about 1000 to 1150", top)
	}
}
