package testkit

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// Station is a row of the table of monthly means that others made from hourly files, validation_monthly.csv of
// the open data.
type Station struct {
	Name                          string
	Latitude, Longitude, Altitude float64     // degrees, m
	Global, Air, Diffuse          [12]float64 // kWh/m² a day, °C, share of the global
}

// Stations reads that table; it skips t where the data are absent, as Shared does.
func Stations(t testing.TB) []Station {
	t.Helper()
	f, err := os.Open(Shared(t, "weather-hourly/validation_monthly.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []Station
	for _, r := range rows[1:] {
		number := func(column int) float64 {
			v, err := strconv.ParseFloat(r[column], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		s := Station{Name: r[0], Latitude: number(2), Longitude: number(3), Altitude: number(4)}
		for m := range 12 {
			s.Global[m], s.Air[m], s.Diffuse[m] = number(5+m), number(29+m), number(41+m)
		}
		out = append(out, s)
	}
	return out
}
