package battery

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/charge"
	"noonmark/internal/physics/climate"
	"noonmark/internal/testkit"
)

// van stands days from a date at a place, with a small module, a battery in a warm place and one steady load.
func van(t testing.TB, name string, lat, lon float64, from time.Time, days int, steady quantity.Power) *build.Build {
	t.Helper()
	at := build.Place{Name: name, Latitude: quantity.Angle(lat) * quantity.Degree, Longitude: quantity.Angle(lon) * quantity.Degree, Elevation: 10 * quantity.Metre, Zone: from.Location()}
	wire := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	var watts [24]quantity.Power
	for h := range watts {
		watts[h] = steady
	}
	var all [12]bool
	for m := range all {
		all[m] = true
	}
	return &build.Build{
		Surfaces: []build.Surface{{Name: "roof", Height: 2 * quantity.Metre}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}},
		Types: []build.ModuleType{{Name: "glass", Technology: build.MonoPERC, Pmax: 99.5 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 5.2 * quantity.Ampere, Vmp: 20.3 * quantity.Volt, Imp: 4.9 * quantity.Ampere,
			PmaxCoefficient: -0.37 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 95 * quantity.Percent,
			Length: 1 * quantity.Metre, Width: 0.5 * quantity.Metre, Mass: 3 * quantity.Kilogram, Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 2}}},
		Modules: []build.Module{{Name: "a", Attachment: build.StandOff, Gap: 30 * quantity.Millimetre}},
		Strings: []build.String{{Name: "roof", Modules: []int{0}, Cable: wire}},
		Chargers: []build.Charger{{Name: "main", Strings: []int{0}, InputMax: 100 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 30 * quantity.Ampere,
			ShortCircuitMax: 40 * quantity.Ampere, InputPower: 800 * quantity.Watt, OutputCurrent: 50 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: wire, BatteryCable: wire}},
		Battery: build.Battery{Name: "house", Chemistry: build.LFP, Energy: 1280 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, LowestCharge: 10 * quantity.Percent, HighestCharge: 1, StartCharge: 1,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 96 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere,
			Inside: true, InsideTemperature: quantity.Celsius(25), TimeConstant: time.Hour},
		Loads: []build.Load{{Name: "steady", Watts: watts, Months: all, Parked: true, Driving: true}},
		Trip:  build.Trip{Albedo: 20 * quantity.Percent, Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, days), Posture: 1, Heading: 180 * quantity.Degree, Place: at}}},
	}
}

func zone(t testing.TB, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// Source: closed form. In the polar night there is no sun: a battery of E, from full to its floor, serves P for
// E·(1 - floor)·efficiency/P hours; every night from then on runs short, and the rest is not served.
func TestPolarNight(t *testing.T) {
	src := cite.Source{Title: "closed form", Where: "E·(1 - floor)·efficiency/P without sun"}
	const days, watts = 8, 12.5
	b := van(t, "Tromso", 69.65, 18.96, time.Date(2027, 12, 14, 0, 0, 0, 0, zone(t, "Europe/Oslo")), days, watts*quantity.Watt)
	a, err := Run(context.Background(), b, Options{Years: 2, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range a.Sizes {
		hours := s.Energy.WattHours() * 0.9 * 0.96 / watts
		night := math.Max(0, math.Floor((hours-12)/24)) // nights run from noon to noon; the first morning counts to the first
		short, unmet := math.Max(0, days-night), math.Max(0, watts*(days*24-hours))
		what := fmt.Sprintf(" at %.2f times the battery, polar night", s.Factor)
		testkit.Published(t, s.Nights.P50, testkit.Check{What: "nights short" + what, Source: src, Want: short, Tol: 1e-9})
		testkit.Published(t, s.Unmet.WattHours(), testkit.Check{What: "not served, Wh" + what, Source: src, Want: unmet, Tol: 0.01*watts*days*24 + 0.5, Why: "the last five minutes above the floor are given slower; daylight there is none, twilight a little"})
	}
}

// Source: Naumann et al. 2018, J. Energy Storage 17:153, computed from its formula by another program (trade handbook C3):
// a battery stored at one temperature and charge.
func TestStored(t *testing.T) {
	src := cite.Source{Title: "Naumann et al. 2018, J. Energy Storage 17:153", Where: "coefficients of two open implementations (trade handbook, C3)"}
	for _, c := range []struct{ temp, warmer, soc, one, ten float64 }{{25, 0, 0.5, 4.3, 13.4}, {25, 0, 1, 6.8, 21.4}, {27, 8, 1, 8.5, 26.8}} {
		var at climate.Climate
		for m := range at.Months {
			at.Months[m].MeanLow, at.Months[m].MeanHigh = quantity.Celsius(c.temp), quantity.Celsius(c.temp)
		}
		w := stored(at, quantity.Ratio(c.soc), quantity.TempDiff(c.warmer)*quantity.OneKelvin)
		for years, want := range map[float64]float64{1: c.one, 10: c.ten} {
			band, err := w.Times(years).Loss(charge.LFP)
			if err != nil {
				t.Fatal(err)
			}
			testkit.Published(t, band.Middle.Percent(), testkit.Check{What: "calendar loss of a stored LFP battery, %", Source: src, Want: want, Tol: 0.06, Why: "half the last digit, and 365 or 365.25 days"})
		}
	}
}
