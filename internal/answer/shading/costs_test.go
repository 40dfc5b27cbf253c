package shading

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func rectangle(x, y, length, width float64) []build.Point {
	p := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	return []build.Point{p(x, y), p(x+length, y), p(x+length, y+width), p(x, y+width)}
}

// van is two modules in series on a roof, a box along the left one, and a low block far from both.
func van(t *testing.T) *build.Build {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2027, 3, 1, 0, 0, 0, 0, zone)
	wire := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	return &build.Build{
		Surfaces: []build.Surface{{Name: "roof", Outline: rectangle(0, 0, 3, 1.5), Height: 2.1 * quantity.Metre}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}},
		Obstacles: []build.Obstacle{
			{Name: "box", Outline: rectangle(0.2, 0, 1.3, 0.12), Height: 0.25 * quantity.Metre},
			{Name: "block", Outline: rectangle(2.9, 1.4, 0.05, 0.05), Height: 0.02 * quantity.Metre},
		},
		Types:   []build.ModuleType{kind(build.MonoPERC, 4, 9, 2, false, 1.2, 0.54, 24.3, 20.3, 5.2, 4.9)},
		Modules: []build.Module{{Name: "left", X: 0.25 * quantity.Metre, Y: 0.15 * quantity.Metre}, {Name: "right", X: 0.25 * quantity.Metre, Y: 0.85 * quantity.Metre}},
		Strings: []build.String{{Name: "roof", Modules: []int{0, 1}, Cable: wire}},
		Chargers: []build.Charger{{Name: "main", Strings: []int{0}, InputMax: 75 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt,
			InputCurrent: 15 * quantity.Ampere, ShortCircuitMax: 20 * quantity.Ampere, InputPower: 300 * quantity.Watt, OutputCurrent: 25 * quantity.Ampere,
			Efficiency: 96 * quantity.Percent, InputCable: wire, BatteryCable: wire}},
		Battery: build.Battery{Chemistry: build.LFP, Energy: 1280 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, HighestCharge: 1, StartCharge: 50 * quantity.Percent,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: time.Hour},
		Trip: build.Trip{Albedo: 20 * quantity.Percent, Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, 10), Posture: 1, Heading: 270 * quantity.Degree,
			Place: build.Place{Name: "Lisbon", Latitude: 38.72 * quantity.Degree, Longitude: -9.14 * quantity.Degree, Elevation: 50 * quantity.Metre, Zone: zone}}}},
	}
}

// The box costs, the block does not; together they cost what the box does; the mend that is counted gives in
// a run of its own what was said.
func TestCosts(t *testing.T) {
	b := van(t)
	a, err := Costs(context.Background(), b, Options{Day: time.Date(2027, 3, 5, 0, 0, 0, 0, time.UTC), Mends: true, Seed: 4})
	if err != nil {
		t.Fatal(err)
	}
	box, block := a.Obstacles[0], a.Obstacles[1]
	if !(box.Loss.Day > 5*quantity.WattHour && box.Loss.Trip > 50*quantity.WattHour && box.Loss.Year > 5*box.Loss.Trip) || !(box.Hours.Day > 2 && box.Hours.Year > 500) {
		t.Errorf("box: %+v, %+v", box.Loss, box.Hours)
	}
	if math.Abs(block.Loss.Year.WattHours()) > 1e-6*a.Offered.Year.WattHours() || block.Hours.Year != 0 {
		t.Errorf("block, whose shadow falls on nothing: %+v, %+v", block.Loss, block.Hours)
	}
	if math.Abs(a.Together.Year.WattHours()/box.Loss.Year.WattHours()-1) > 1e-6 {
		t.Errorf("together %v, the box alone %v", a.Together.Year, box.Loss.Year)
	}
	if c, ok := a.Worst(); !ok || c.Name != "box" {
		t.Errorf("worst: %q, %v", c.Name, ok)
	}
	if !(a.Modules[0].Loss.Year > 2*a.Modules[1].Loss.Year) {
		t.Errorf("the left module, beside the box, loses %v, the right %v", a.Modules[0].Loss.Year, a.Modules[1].Loss.Year)
	}
	for i, m := range a.Modules {
		least, most := 1.0, 0.0
		for _, c := range m.Cells {
			least, most = min(least, c.Float()), max(most, c.Float())
		}
		if len(m.Cells) != 36 || !(least < most) || most > 1+1e-9 || i == 0 && !(least < 0.85) {
			t.Errorf("%s: %d cells, light from %.3f to %.3f", m.Name, len(m.Cells), least, most)
		}
	}
	var move *Mend
	for i := range a.Mends {
		if a.Mends[i].moved && a.Mends[i].Module == "left" {
			move = &a.Mends[i]
		}
	}
	if move == nil || !(move.Gain > 0) {
		t.Fatalf("no move of the left module among %+v", a.Mends)
	}
	moved := with(b, 0, build.Module{Name: "left", X: move.X, Y: move.Y})
	if !moved.Free(0, edge) {
		t.Errorf("the place found, %v %v, does not fit", move.X, move.Y)
	}
	again, err := Costs(context.Background(), moved, Options{Seed: 4})
	if err != nil {
		t.Fatal(err)
	}
	if got := again.Offered.Year - a.Offered.Year; math.Abs((got - move.Gain).WattHours()) > 1e-6*a.Offered.Year.WattHours() {
		t.Errorf("moved: gains %v, said %v", got, move.Gain)
	}
}

// Two things that shade the same cells cost together less than their sum.
func TestSharedShadow(t *testing.T) {
	b := van(t)
	twin := b.Obstacles[0]
	twin.Name = "its lid"
	twin.Outline = rectangle(0.2, -0.02, 1.3, 0.12)
	b.Obstacles[1] = twin
	a, err := Quick(context.Background(), b, 1)
	if err != nil {
		t.Fatal(err)
	}
	if sum := a.Obstacles[0].Loss.Year + a.Obstacles[1].Loss.Year; !(a.Together.Year > 3*sum) {
		t.Errorf("each alone: %v and %v, together %v; each alone gives next to nothing, for the other's shadow stays", a.Obstacles[0].Loss.Year, a.Obstacles[1].Loss.Year, a.Together.Year)
	}
}

// A raised lid shades the roof behind it and is named.
func TestLidShades(t *testing.T) {
	b := van(t)
	b.Surfaces = append(b.Surfaces, build.Surface{Name: "pop-up", Outline: rectangle(1.6, 0, 1.4, 1.5), Height: 2.15 * quantity.Metre, HasHinge: true, Hinge: build.Rear})
	b.Postures[1].Tilts = []build.Tilt{{Surface: 1, About: build.Rear, Angle: 30 * quantity.Degree, Walls: true}}
	b.Obstacles = nil
	b.Trip.Legs[0].Heading = 0 // the lid stands to the south of the modules
	a, err := Quick(context.Background(), b, 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Obstacles) != 1 || a.Obstacles[0].Name != "pop-up" || !(a.Obstacles[0].Loss.Year > 5000*quantity.WattHour) {
		t.Errorf("got %+v, want the pop-up's cost", a.Obstacles)
	}
}

// Covers are read as people write them, and every fault is told.
func TestCovers(t *testing.T) {
	for text, want := range map[string]string{
		"cell 0 = 60 %": "counted from 1", "cell 7": "counted from 1", "cell 7 = 160 %": "between", "strip along the front edge": "a width", "strip 3 cm along the top edge": "top",
		"disc 20 cm": "a middle", "": "wanted", "shadow": "wanted", "a 20 cm disc at 0.5, 0.2": "a middle",
	} {
		if _, err := ParseCover(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	b := van(t)
	b.Surfaces[0].HasHinge, b.Surfaces[0].Hinge = true, build.Front
	lit := func(texts ...string) ([]float64, error) {
		var list []Cover
		for _, text := range texts {
			c, err := ParseCover(text)
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, c)
		}
		return Lit(b, &b.Modules[0], list)
	}
	sum := func(x []float64) (s float64) {
		for _, v := range x {
			s += 1 - v
		}
		return s
	}
	x, err := lit("cell 7 = 60 %")
	if err != nil || math.Abs(x[6]-0.4) > 1e-12 || math.Abs(sum(x)-0.6) > 1e-12 {
		t.Errorf("a cell: %v, %v", x, err)
	}
	x, err = lit("strip 14 cm along the hinge edge") // margin 15 mm, cells of 130 mm: 125 mm of the first column
	if err != nil || math.Abs(sum(x)-4*125.0/130) > 1e-9 {
		t.Errorf("a strip covers %v cells, %v", sum(x), err)
	}
	x, err = lit("a 20 cm disc at 0.6 m, 0.27 m")
	cell := 1.17 / 9 * 0.51 / 4
	if err != nil || math.Abs(sum(x)*cell-math.Pi*0.01) > 1e-9 {
		t.Errorf("a disc covers %v m², %v", sum(x)*cell, err)
	}
	if _, err := lit("cell 37 = 5 %", "group 3 = 10 %", "disc 10 cm at 3 m, 0.1 m"); err == nil || !strings.Contains(err.Error(), "cell 37") {
		t.Errorf("three faults: %v", err)
	}
}

// A stop is obeyed, and a trip of drives alone is told.
func TestStops(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Costs(ctx, van(t), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
	b := van(t)
	b.Trip.Legs[0].Drive = true
	if _, err := Costs(context.Background(), b, Options{}); !errors.Is(err, ErrNoTrip) {
		t.Errorf("no stay: %v", err)
	}
	if n := len(forecast.ShadowHours(nil, nil, 1)); n != 0 {
		t.Errorf("nothing: %d", n)
	}
}

// Quick names the same worst thing as Costs, and its cost within a tenth.
func TestQuick(t *testing.T) {
	b := van(t)
	a, err := Quick(context.Background(), b, 4)
	if err != nil {
		t.Fatal(err)
	}
	full, err := Costs(context.Background(), b, Options{Seed: 4})
	if err != nil {
		t.Fatal(err)
	}
	x, _ := a.Worst()
	y, _ := full.Worst()
	if ratio := x.Loss.Year.WattHours() / y.Loss.Year.WattHours(); x.Name != y.Name || math.Abs(ratio-1) > 0.1 {
		t.Errorf("worst: %s %v, by the full way %s %v", x.Name, x.Loss.Year, y.Name, y.Loss.Year)
	}
	if _, ok := a.Cheapest(); !ok || len(a.Mends) == 0 {
		t.Errorf("no mend: %+v", a.Mends)
	}
}
