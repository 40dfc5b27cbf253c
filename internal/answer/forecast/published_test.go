package forecast

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// The year's open-sky light on a level module, through sun, climate, days, split and transposition,
// against the yearly global radiation of typical-year files the climatology was not made from.
//
// Source: monthly global radiation of typical-year files, validation table of the open data (SWEC
// Granada, IWEC Sydney and Helsinki).
func TestYearOnTheLevel(t *testing.T) {
	f, err := os.Open(testkit.Shared(t, "weather-hourly/validation_monthly.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{}
	monthDays := [12]float64{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
	for _, row := range rows[1:] {
		for m, days := range monthDays {
			v, err := strconv.ParseFloat(row[5+m], 64)
			if err != nil {
				t.Fatal(err)
			}
			want[row[0]] += v * days
		}
	}
	for _, s := range []struct {
		name, zone       string
		lat, lon, height float64
	}{
		{"Granada", "Europe/Madrid", 37.18, -3.78, 559},
		{"SYDNEY", "Australia/Sydney", -33.95, 151.18, 3},
		{"HELSINKI", "Europe/Helsinki", 60.32, 24.97, 56},
	} {
		p := at(t, s.name, s.zone, s.lat, s.lon, s.height)
		b := sample(stay(p, time.Date(2027, 1, 1, 0, 0, 0, 0, p.Zone), 365))
		// One tilted module in the southern lid posture is of no use here: posture 0 is level.
		got := 0.0
		for _, d := range run(t, b, Options{Years: 12, Seed: 5}).Days {
			got += d.PlaneIrradiation.KilowattHoursPerSquareMetre()
		}
		testkit.Published(t, got, testkit.Check{
			What:   "year's light on the level at " + s.name + ", kWh/m²",
			Source: cite.Source{Title: "typical-year file of " + s.name, Where: "monthly global radiation, summed"},
			Want:   want[s.name], Tol: 0.09 * want[s.name],
			Why: "the climatology reads 3 to 4 % high against typical-year files, a place's year up to 9 %; Surroundings open lose nothing here",
		})
	}
}
