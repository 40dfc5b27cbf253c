package forecast

import (
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// at is a place of the tests.
func at(t testing.TB, name, zone string, lat, lon, height float64) build.Place {
	t.Helper()
	z, err := time.LoadLocation(zone)
	if err != nil {
		t.Fatal(err)
	}
	return build.Place{Name: name, Latitude: quantity.Angle(lat) * quantity.Degree, Longitude: quantity.Angle(lon) * quantity.Degree,
		Elevation: quantity.Length(height), Zone: z}
}

// stay is a leg of the given length at p.
func stay(p build.Place, from time.Time, days int) build.Leg {
	return build.Leg{From: from, Until: from.AddDate(0, 0, days), Place: p, Posture: 0, Heading: 180 * quantity.Degree}
}

// sample is a van with two foil modules in series, as the tests want it; legs are the trip.
func sample(legs ...build.Leg) *build.Build {
	label := build.ModuleType{
		Name: "foil", Technology: build.CIGSFoil, Pmax: 90 * quantity.Watt, Voc: 28.3 * quantity.Volt, Isc: 4.62 * quantity.Ampere,
		Vmp: 21.9 * quantity.Volt, Imp: 4.11 * quantity.Ampere, PmaxCoefficient: -0.36 * quantity.PercentPerKelvin,
		VocCoefficient: -0.30 * quantity.PercentPerKelvin, IscCoefficient: 0.01 * quantity.PercentPerKelvin, LowLight: 93 * quantity.Percent,
		Length: 1.6 * quantity.Metre, Width: 0.38 * quantity.Metre, Mass: 1.6 * quantity.Kilogram,
		Cells: build.CellGrid{Rows: 2, Columns: 21, Groups: 1, DiodePerCell: true}, Front: build.Fluoropolymer,
	}
	wire := func(name string, metres, mm2 float64) build.Run {
		return build.Run{Name: name, Length: quantity.Length(metres), Area: quantity.Area(mm2) * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	}
	var all [12]bool
	for i := range all {
		all[i] = true
	}
	var lights [24]quantity.Power
	for h := 20; h < 23; h++ {
		lights[h] = 8 * quantity.Watt
	}
	var laptop [24]quantity.Power
	laptop[14], laptop[15] = 45*quantity.Watt, 45*quantity.Watt
	return &build.Build{
		Name:     "test van",
		Surfaces: []build.Surface{{Name: "lid"}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "camped", Tilts: []build.Tilt{{Surface: 0, About: build.Front, Angle: 12 * quantity.Degree}}}},
		Types:    []build.ModuleType{label},
		Modules:  []build.Module{{Name: "left", Attachment: build.Bonded}, {Name: "right", Attachment: build.Bonded}},
		Strings:  []build.String{{Name: "lid", Modules: []int{0, 1}, Cable: wire("lid", 3, 4)}},
		Chargers: []build.Charger{{Name: "roof", Strings: []int{0}, InputMax: 75 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt,
			InputCurrent: 15 * quantity.Ampere, ShortCircuitMax: 20 * quantity.Ampere, InputPower: 300 * quantity.Watt, OutputCurrent: 15 * quantity.Ampere,
			Efficiency: 96 * quantity.Percent, FixedLoss: 1 * quantity.Watt, SelfUse: 0.2 * quantity.Watt, TrackingLoss: 1 * quantity.Percent,
			InputCable: wire("down", 2, 4), BatteryCable: wire("battery", 1, 6)}},
		Battery: build.Battery{Name: "house", Chemistry: build.LFP, Energy: 1280 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1,
			LowestCharge: 10 * quantity.Percent, HighestCharge: 1, StartCharge: 80 * quantity.Percent, ChargeEfficiency: 97 * quantity.Percent,
			DischargeEfficiency: 98 * quantity.Percent, SelfDischargePerMonth: 2 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere,
			MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: 3 * time.Hour},
		Alternator: &build.Alternator{Current: 20 * quantity.Ampere, Efficiency: 90 * quantity.Percent},
		Inverter:   &build.Inverter{Idle: 8 * quantity.Watt, Efficiency: 90 * quantity.Percent, Rated: 400 * quantity.Watt},
		Loads: []build.Load{
			{Name: "fridge", Kind: build.Fridge, Months: all, Parked: true, Driving: true,
				Fridge: build.FridgeLoad{DayAt25C: 400 * quantity.WattHour, Rise: 3 * quantity.OneKelvin, Running: 45 * quantity.Watt}},
			{Name: "lights", Watts: lights, Months: all, Parked: true},
			{Name: "laptop", Watts: laptop, Months: all, Parked: true, Mains: true},
		},
		Trip: build.Trip{Legs: legs, Albedo: 20 * quantity.Percent,
			Soiling: build.Soiling{Start: 2 * quantity.Percent, PerDay: 0.1 * quantity.Percent, Floor: 2 * quantity.Percent, Cap: 15 * quantity.Percent}},
	}
}

// spring is two stays and a drive between them, over the start of summer time.
func spring(t testing.TB) *build.Build {
	lisbon := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	madrid := at(t, "Madrid", "Europe/Madrid", 40.42, -3.70, 650)
	first := time.Date(2027, 3, 24, 0, 0, 0, 0, lisbon.Zone)
	a := stay(lisbon, first, 5)
	a.Posture = 1
	drive := build.Leg{Drive: true, From: a.Until, Until: a.Until.Add(7 * time.Hour), Place: lisbon, To: madrid, Surroundings: build.Motorway}
	b := stay(madrid, drive.Until, 6)
	b.HeadingFree, b.Posture, b.Surroundings = true, 1, build.Suburb
	return sample(a, drive, b)
}

// rectangle is an outline in plan, metres.
func rectangle(x, y, length, width float64) []build.Point {
	p := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	return []build.Point{p(x, y), p(x+length, y), p(x+length, y+width), p(x, y+width)}
}

// shaded is a van roof with two modules of 36 cells, in series, and four things that shade them.
func shaded(legs ...build.Leg) *build.Build {
	b := sample(legs...)
	b.Surfaces[0] = build.Surface{Name: "roof", Outline: rectangle(0, 0, 2.4, 1.4), Height: 2.1 * quantity.Metre, Hinge: build.Front, HasHinge: true}
	t := &b.Types[0]
	t.Technology, t.Front = build.FlexibleMono, build.PET
	t.Voc, t.Vmp, t.Isc, t.Imp = 24.4*quantity.Volt, 20.2*quantity.Volt, 4.85*quantity.Ampere, 4.46*quantity.Ampere
	t.Length, t.Width = 1.16*quantity.Metre, 0.54*quantity.Metre
	t.Cells = build.CellGrid{Rows: 4, Columns: 9, Margin: 15 * quantity.Millimetre, Groups: 2, AlongLength: true}
	b.Modules[0].X, b.Modules[0].Y = 0.3*quantity.Metre, 0.1*quantity.Metre
	b.Modules[1].X, b.Modules[1].Y = 0.3*quantity.Metre, 0.75*quantity.Metre
	thing := func(name string, x, y, l, w, h float64) build.Obstacle {
		return build.Obstacle{Name: name, Outline: rectangle(x, y, l, w), Height: quantity.Length(h)}
	}
	b.Obstacles = []build.Obstacle{thing("fan", 1.55, 0.5, 0.4, 0.4, 0.14), thing("bar", 0.2, 0.05, 0.04, 1.3, 0.09), thing("box", 0.3, -0.05, 1.4, 0.1, 0.2), thing("aerial", 1.5, 1.3, 0.04, 0.04, 0.6)}
	return b
}
