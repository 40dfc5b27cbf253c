package whatif

import (
	"context"
	"reflect"
	"testing"
	"time"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func rectangle(x, y float64) []build.Point {
	p := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	return []build.Point{p(0, 0), p(x, 0), p(x, y), p(0, y)}
}

// van is a roof with two modules in series, a battery and a fridge, two days in June.
func van(t testing.TB) *build.Build {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2027, 6, 1, 0, 0, 0, 0, zone)
	wire := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	price := 120.0
	return &build.Build{
		Currency: "EUR",
		Surfaces: []build.Surface{{Name: "roof", Outline: rectangle(2.4, 1.3), Height: 2.1 * quantity.Metre, Skin: "painted aluminium"}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}},
		Types: []build.ModuleType{{Name: "glass", Technology: build.MonoPERC, Pmax: 99.5 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 5.2 * quantity.Ampere, Vmp: 20.3 * quantity.Volt, Imp: 4.9 * quantity.Ampere,
			PmaxCoefficient: -0.37 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 95 * quantity.Percent, Price: &price,
			Length: 1 * quantity.Metre, Width: 0.5 * quantity.Metre, Mass: 3 * quantity.Kilogram, Cells: build.CellGrid{Rows: 4, Columns: 9, Margin: 10 * quantity.Millimetre, Groups: 2, AlongLength: true}}},
		Modules: []build.Module{{Name: "a", X: 0.1 * quantity.Metre, Y: 0.05 * quantity.Metre}, {Name: "b", X: 0.1 * quantity.Metre, Y: 0.6 * quantity.Metre}},
		Strings: []build.String{{Name: "roof", Modules: []int{0, 1}, Cable: wire}},
		Chargers: []build.Charger{{Name: "main", Strings: []int{0}, InputMax: 100 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 30 * quantity.Ampere,
			ShortCircuitMax: 40 * quantity.Ampere, InputPower: 800 * quantity.Watt, OutputCurrent: 50 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: wire, BatteryCable: wire}},
		Battery: build.Battery{Chemistry: build.LFP, Energy: 1280 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, HighestCharge: 1, StartCharge: 50 * quantity.Percent,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: time.Hour},
		Mounting: build.Mounting{Mounts: make([]build.Mount, 2)},
		Trip: build.Trip{Albedo: 20 * quantity.Percent, Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, 2), Posture: 1, Heading: 200 * quantity.Degree,
			Place: build.Place{Name: "Lisbon", Latitude: 38.72 * quantity.Degree, Longitude: -9.14 * quantity.Degree, Elevation: 50 * quantity.Metre, Zone: zone}}}},
	}
}

func sideOf(t *testing.T, b *build.Build) Side {
	t.Helper()
	s, err := Compute(context.Background(), b, forecast.Options{Years: 2, Seed: 3})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A build against itself differs in nothing; a larger battery and longer string of label figures differ in
// what they touch, and the figures are those of the builds.
func TestCompare(t *testing.T) {
	now := sideOf(t, van(t))
	if a := Compare(now, now); !a.Same() || a.Compared < 15 || len(a.Notes) != 0 {
		t.Fatalf("against itself: %+v", a)
	}
	b := van(t)
	b.Battery.Energy = 2560 * quantity.WattHour
	b.Modules, b.Strings[0].Modules, b.Mounting.Mounts = b.Modules[:1], []int{0}, b.Mounting.Mounts[:1]
	changed := sideOf(t, b)
	a := Compare(now, changed)
	want := map[string][2]float64{"modules": {2, 1}, "label_W": {199, 99.5}, "module_mass_kg": {6, 3}, "battery_Wh": {1280, 2560}, "cost": {240, 120}, "battery_usable_Wh": {1254.4, 2508.8}}
	found := map[string]bool{}
	for _, f := range a.Figures {
		if w, ok := want[f.Key]; ok {
			if f.Now == nil || f.Changed == nil || *f.Now-w[0] > 1e-9 || w[0]-*f.Now > 1e-9 || *f.Changed-w[1] > 1e-9 || w[1]-*f.Changed > 1e-9 {
				t.Errorf("%s: %v to %v, want %v", f.Key, f.Now, f.Changed, w)
			}
			delete(want, f.Key)
		}
		found[f.Key] = true
	}
	if len(want) > 0 {
		t.Errorf("no difference told of %v", want)
	}
	if !found["cold_V:string roof on main"] || !found["harvest_per_day_Wh"] || found["use_per_day_Wh"] {
		t.Errorf("cold volts %v, harvest %v; use %v, which is the same", found["cold_V:string roof on main"], found["harvest_per_day_Wh"], found["use_per_day_Wh"])
	}
	back := Compare(changed, now)
	if len(back.Figures) != len(a.Figures) || len(back.Verdicts) != len(a.Verdicts) {
		t.Errorf("%d figures and %d verdicts one way, %d and %d the other", len(a.Figures), len(a.Verdicts), len(back.Figures), len(back.Verdicts))
	}
}

// A verdict is told where its word differs, twice-given rules each for itself; what holds and has no counterpart
// is not.
func TestVerdicts(t *testing.T) {
	f := func(id, subject string, v check.Verdict) check.Finding {
		return check.Finding{ID: id, Subject: subject, Verdict: v}
	}
	now := []check.Finding{f("gap", "a", check.Pass), f("gap", "a", check.Warn), f("drop", "x", check.Fail), f("old", "x", check.Pass), f("gone", "x", check.Unknown)}
	changed := []check.Finding{f("gap", "a", check.Pass), f("gap", "a", check.Pass), f("new", "x", check.Pass), f("worse", "x", check.Warn), f("drop", "x", check.Fail), f("bad", "y", check.Fail)}
	var got [][3]string
	word := func(f *check.Finding) string {
		if f == nil {
			return ""
		}
		return f.Verdict.String()
	}
	for _, v := range verdicts(now, changed) {
		got = append(got, [3]string{v.ID, word(v.Now), word(v.Changed)})
	}
	want := [][3]string{{"bad", "", "fail"}, {"gap", "warn", "pass"}, {"worse", "", "warn"}, {"gone", "unknown", ""}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// An assumption is told where its value differs or one side has none.
func TestAssumptions(t *testing.T) {
	now := []build.Assumed{{Path: "a", Value: "1"}, {Path: "b", Value: "2"}, {Path: "c", Value: "3"}}
	changed := []build.Assumed{{Path: "b", Value: "2"}, {Path: "c", Value: "4"}, {Path: "d", Value: "5"}}
	var got []string
	for _, a := range assumptions(now, changed) {
		got = append(got, a.Path)
	}
	if want := []string{"c", "d", "a"}; !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Sides of other weather years, other trips or without a trip say so.
func TestNotes(t *testing.T) {
	now := sideOf(t, van(t))
	other := now
	answer := *now.Forecast
	answer.Seed, answer.Days = 9, answer.Days[:1]
	other.Forecast = &answer
	if a := Compare(now, other); len(a.Notes) != 2 {
		t.Errorf("another seed and trip: %q", a.Notes)
	}
	other.Forecast = nil
	if a := Compare(now, other); len(a.Notes) != 1 {
		t.Errorf("no trip: %q", a.Notes)
	}
}
