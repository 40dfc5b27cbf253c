package sheet

import (
	"context"
	"testing"
	"time"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func box(x, y, w, h float64) []build.Point {
	p := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	return []build.Point{p(x, y), p(x+w, y), p(x+w, y+h), p(x, y+h)}
}

// van is a build with two modules on a lid, a fan behind them, and two stays.
func van(t testing.TB) *build.Build {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	at := build.Place{Name: "Lisbon", Latitude: 38.7 * quantity.Degree, Longitude: -9.1 * quantity.Degree, Elevation: 50 * quantity.Metre, Zone: zone}
	from := time.Date(2027, 3, 21, 0, 0, 0, 0, zone)
	run := func(name string, metres, mm2 float64) build.Run {
		return build.Run{Name: name, Length: quantity.Length(metres), Area: quantity.Area(mm2) * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	}
	var all [12]bool
	for i := range all {
		all[i] = true
	}
	var lights [24]quantity.Power
	lights[20], lights[21] = 8*quantity.Watt, 8*quantity.Watt
	mount := build.Mount{Adhesive: "factory film", Thickness: 0.4 * quantity.Millimetre, Share: 0.9, Primer: true, Coverage: 15 * quantity.SquareMetre, Coats: 1, Container: 100 * quantity.Millilitre, Cover: "tape", CoverOn: 10 * quantity.Millimetre}
	return &build.Build{
		Name: "test van", Currency: "EUR",
		Surfaces:  []build.Surface{{Name: "lid", Outline: box(0, 0, 2.1, 1.35), Height: 2 * quantity.Metre, HasHinge: true, Hinge: build.Front, Skin: "painted aluminium"}},
		Postures:  []build.Posture{{Name: "driving", Moves: true}, {Name: "camped", Tilts: []build.Tilt{{Surface: 0, About: build.Front, Angle: 12 * quantity.Degree}}}, {Name: "parked"}},
		Obstacles: []build.Obstacle{{Name: "fan", Outline: box(1.6, 0.9, 0.38, 0.38), Height: 140 * quantity.Millimetre}},
		Types: []build.ModuleType{{Name: "foil", Technology: build.CIGSFoil, Pmax: 90 * quantity.Watt, Voc: 28.3 * quantity.Volt, Isc: 4.62 * quantity.Ampere,
			Vmp: 21.9 * quantity.Volt, Imp: 4.11 * quantity.Ampere, PmaxCoefficient: -0.36 * quantity.PercentPerKelvin,
			VocCoefficient: -0.30 * quantity.PercentPerKelvin, IscCoefficient: 0.01 * quantity.PercentPerKelvin, LowLight: 93 * quantity.Percent,
			Length: 1.7 * quantity.Metre, Width: 0.35 * quantity.Metre, Mass: 1.6 * quantity.Kilogram,
			Cells: build.CellGrid{Rows: 2, Columns: 21, Groups: 3}, Front: build.Fluoropolymer}},
		Modules: []build.Module{{Name: "A", X: 0.2 * quantity.Metre, Y: 0.15 * quantity.Metre, Attachment: build.Bonded},
			{Name: "B", X: 0.2 * quantity.Metre, Y: 0.508 * quantity.Metre, Attachment: build.FoamTape}},
		Strings: []build.String{{Name: "lid", Modules: []int{0, 1}}},
		Chargers: []build.Charger{{Name: "roof", Strings: []int{0}, InputMax: 75 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt,
			InputCurrent: 15 * quantity.Ampere, ShortCircuitMax: 20 * quantity.Ampere, InputPower: 300 * quantity.Watt, OutputCurrent: 15 * quantity.Ampere,
			Efficiency: 96 * quantity.Percent, FixedLoss: 1 * quantity.Watt, SelfUse: 0.2 * quantity.Watt, TrackingLoss: 1 * quantity.Percent,
			InputCable: run("array", 4, 4), BatteryCable: run("battery", 1, 6)}},
		Battery: build.Battery{Name: "house", Chemistry: build.LFP, Energy: 1280 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1,
			LowestCharge: 10 * quantity.Percent, HighestCharge: 1, StartCharge: 80 * quantity.Percent, ChargeEfficiency: 97 * quantity.Percent,
			DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: 3 * time.Hour},
		Loads: []build.Load{{Name: "lights", Watts: lights, Months: all, Parked: true},
			{Name: "fridge", Kind: build.Fridge, Months: all, Parked: true, Driving: true, Fridge: build.FridgeLoad{DayAt25C: 300 * quantity.WattHour, Rise: 3 * quantity.OneKelvin, Running: 45 * quantity.Watt}}},
		Mounting: build.Mounting{TopSpeed: 110 * quantity.KilometrePerHour, Mounts: []build.Mount{mount, mount}},
		Trip:     build.Trip{Albedo: 20 * quantity.Percent, Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, 4), Place: at, Posture: 1, Heading: 180 * quantity.Degree}}},
	}
}

// job computes the build's sheets from few weather years.
func job(t testing.TB, b *build.Build) Job {
	t.Helper()
	a, err := forecast.Run(context.Background(), b, forecast.Options{Years: 2, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	f, err := check.Build(b)
	if err != nil {
		t.Fatal(err)
	}
	return Job{Build: b, Forecast: a, Needs: needs.Of(b, a), Findings: append(f, check.Trip(a)), Climate: "the climate's source",
		Assumed: []Assumption{{What: "trip.ground", Value: "20 %", Why: "grass", Source: "common practice"}}}
}
