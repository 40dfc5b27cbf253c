package track

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sky"
	"noonmark/internal/physics/sun"
)

// trailer has two strings of one module each, level.
func trailer() *build.Build {
	run := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(40)}
	box := []build.Point{{}, {X: 2 * quantity.Metre}, {X: 2 * quantity.Metre, Y: 1.5 * quantity.Metre}, {Y: 1.5 * quantity.Metre}}
	return &build.Build{Name: "trailer", Surfaces: []build.Surface{{Name: "roof", Outline: box, Height: 2 * quantity.Metre}}, Postures: []build.Posture{{Name: "parked"}},
		Types: []build.ModuleType{{Name: "glass", Technology: build.MonoPERC, Pmax: 175 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 9.15 * quantity.Ampere, Vmp: 20.2 * quantity.Volt, Imp: 8.66 * quantity.Ampere,
			PmaxCoefficient: -0.35 * quantity.PercentPerKelvin, VocCoefficient: -0.28 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 97 * quantity.Percent,
			Length: 1.48 * quantity.Metre, Width: 0.68 * quantity.Metre, Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 3}}},
		Modules: []build.Module{{Name: "A", Attachment: build.StandOff, Gap: 30 * quantity.Millimetre}, {Name: "B", Y: 0.7 * quantity.Metre, Attachment: build.StandOff, Gap: 30 * quantity.Millimetre}},
		Strings: []build.String{{Name: "left", Modules: []int{0}, Cable: run}, {Name: "right", Modules: []int{1}, Cable: run}},
		Chargers: []build.Charger{{Name: "one", Strings: []int{0, 1}, InputMax: 60 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 40 * quantity.Ampere,
			ShortCircuitMax: 50 * quantity.Ampere, InputPower: 600 * quantity.Watt, OutputCurrent: 40 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: run, BatteryCable: run}},
		Battery: build.Battery{Name: "house", Chemistry: build.LFP, Energy: 2560 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, LowestCharge: 10 * quantity.Percent, HighestCharge: 1, StartCharge: 50 * quantity.Percent,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 100 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: 3 * time.Hour},
		Trip: build.Trip{Albedo: 20 * quantity.Percent}}
}

func setting() Setting {
	return Setting{Build: trailer(), Place: build.Place{Name: "here", Latitude: 45 * quantity.Degree, Longitude: 9 * quantity.Degree, Elevation: 100 * quantity.Metre, Zone: time.UTC}, Years: 4}
}

// record makes a log of clear days, changed as its functions say.
type record struct {
	days     int
	scale    func(day int) float64 // of the power
	full     func(day int, hour float64) bool
	skip     func(day int, hour float64) bool
	cloud    func(day int) float64
	points   []Point
	withheld float64 // Wh
}

func (r *record) make() []Point {
	rng := rand.New(rand.NewPCG(3, 5))
	f := shapeOf(&Setting{Build: trailer(), Place: setting().Place})
	from := time.Date(2027, 6, 1, 0, 0, 0, 0, time.UTC)
	for d := range r.days {
		for m := 0; m < 24*60; m += 10 {
			at := from.AddDate(0, 0, d).Add(time.Duration(m) * time.Minute)
			hour := float64(m) / 60
			if r.skip != nil && r.skip(d, hour) {
				continue
			}
			k := 1.0
			if r.cloud != nil {
				k = r.cloud(d)
			}
			w := 0.9 * f.at(at.Add(5*time.Minute), -1) * k
			if r.scale != nil {
				w *= r.scale(d)
			}
			w *= 1 + 0.01*rng.NormFloat64()
			soc := 60 * quantity.Percent
			if r.full != nil && r.full(d, hour) {
				soc = 1
				r.withheld += math.Max(0, w-40) / 6
				w = math.Min(w, 40)
			}
			p := Point{Time: at, Power: watt(math.Max(0, w)), Charge: &soc}
			r.points = append(r.points, p)
		}
	}
	return r.points
}

func compared(t *testing.T, points []Point) Report {
	t.Helper()
	r, err := Compare(context.Background(), Import(points, time.UTC, 350*quantity.Watt), setting())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A sound record raises no alarm; its days are clear; nothing is thrown away.
func TestSound(t *testing.T) {
	r := compared(t, (&record{days: 20}).make())
	if r.Basis != ClearSky || r.Used != 20 || len(r.Alarms) > 0 || r.Thrown != 0 || len(r.Log.Gaps) > 0 {
		t.Errorf("basis %v, %d days, alarms %+v, thrown %v, gaps %v", r.Basis, r.Used, r.Alarms, r.Thrown, r.Log.Gaps)
	}
	if !(r.Low < r.Ratio && r.Ratio < r.High && r.High-r.Low > 0.15 && r.High-r.Low < 0.4) {
		t.Errorf("ratio %.3f, %.3f to %.3f", r.Ratio.Float(), r.Low.Float(), r.High.Float())
	}
	full := compared(t, (&record{days: 20}).make())
	half := compared(t, (&record{days: 20, scale: func(int) float64 { return 0.5 }}).make())
	if x := half.Ratio.Float() / full.Ratio.Float(); math.Abs(x-0.5) > 0.01 {
		t.Errorf("half the power gives %.3f of the ratio", x)
	}
	if len(half.Alarms) != 1 || half.Alarms[0].Kind != "low" || !strings.Contains(strings.Join(half.Alarms[0].Parts, "|"), "connector") {
		t.Errorf("half the array: %+v", half.Alarms)
	}
}

// A step is dated, its size told, and held against what the circuit leaves with a part lost; clouds raise none.
func TestStep(t *testing.T) {
	r := compared(t, (&record{days: 24, scale: func(d int) float64 {
		if d >= 13 {
			return 0.5
		}
		return 1
	}, cloud: func(d int) float64 { return []float64{1, 1, 0.3, 1, 0.7}[d%5] }}).make())
	if len(r.Alarms) != 1 || r.Alarms[0].Kind != "step" {
		t.Fatalf("alarms %+v", r.Alarms)
	}
	a := r.Alarms[0]
	if day := a.Date.Day(); day < 14 || day > 15 {
		t.Errorf("the step is on the %d.", day)
	}
	if x := a.Left.Float(); math.Abs(x-0.5) > 0.03 || a.Unsure > 0.06 || len(a.Parts) == 0 {
		t.Errorf("left %.3f ± %.3f, as with %q", x, a.Unsure.Float(), a.Parts)
	}
	up := compared(t, (&record{days: 20, scale: func(d int) float64 { return 1 - 0.2*float64(1-d/10) }}).make())
	if len(up.Alarms) != 1 || !strings.Contains(up.Alarms[0].Text, "repair") {
		t.Errorf("a step up: %+v", up.Alarms)
	}
}

// What a full battery withholds is found within the band, and does not lower the ratio.
func TestThrownAway(t *testing.T) {
	made := &record{days: 12, full: func(d int, h float64) bool { return d%2 == 0 && h >= 13 }}
	r := compared(t, made.make())
	free := compared(t, (&record{days: 12}).make())
	got, want := r.Thrown.WattHours(), made.withheld
	if math.Abs(got-want) > 0.08*want || r.ThrownLow.WattHours() > want || r.ThrownUp.WattHours() < want {
		t.Errorf("thrown away %.0f Wh, %.0f to %.0f; withheld %.0f", got, r.ThrownLow.WattHours(), r.ThrownUp.WattHours(), want)
	}
	if math.Abs((r.Ratio-free.Ratio).Float()) > 0.02 || len(r.Alarms) > 0 {
		t.Errorf("ratio %.3f with a full battery, %.3f without; alarms %+v", r.Ratio.Float(), free.Ratio.Float(), r.Alarms)
	}
}

// A gap by day is listed with its bound, one by night is none; dead days are told.
func TestGaps(t *testing.T) {
	r := compared(t, (&record{days: 8, skip: func(d int, h float64) bool { return d == 3 && h >= 10 && h < 13 || d == 5 && h < 3 }, scale: func(d int) float64 {
		if d == 6 {
			return 0
		}
		return 1
	}}).make())
	if len(r.Log.Gaps) != 1 || r.Log.Gaps[0].From.Hour() != 10 || r.Log.Gaps[0].Unknown.WattHours() < 300 {
		t.Errorf("gaps %+v", r.Log.Gaps)
	}
	if len(r.Alarms) != 1 || r.Alarms[0].Kind != "dead days" || r.Alarms[0].Date.Day() != 7 {
		t.Errorf("alarms %+v", r.Alarms)
	}
}

// Logged light corrects for the weather: a dull record gives the ratio of a clear one, within its band.
func TestWeatherCorrected(t *testing.T) {
	make := func(k float64) Report {
		rec := &record{days: 8, cloud: func(int) float64 { return k }}
		points := rec.make()
		set := setting()
		f := form{site: shapeOf(&set).site, place: set.Place}
		for i := range points {
			g := quantity.Irradiance(k * clearGlobal(f, points[i].Time))
			points[i].Light = &g
		}
		return compared(t, points)
	}
	bright, dull := make(1), make(0.4)
	if bright.Basis != Logged || dull.Basis != Logged {
		t.Fatalf("basis %v, %v", bright.Basis, dull.Basis)
	}
	if !(dull.Low < bright.Ratio && dull.High > bright.Low) || math.Abs((dull.Ratio-bright.Ratio).Float()) > 0.15 {
		t.Errorf("bright %.3f, dull %.3f", bright.Ratio.Float(), dull.Ratio.Float())
	}
}

// Daily yields, one line a day, are judged by their best days; a lifetime counter is one.
func TestDailyYields(t *testing.T) {
	clear := compared(t, (&record{days: 30}).make())
	var daily, counter []Point
	life := 50000.0
	counter = append(counter, Point{Time: time.Date(2027, 5, 31, 12, 0, 0, 0, time.UTC), Yield: wh(life)})
	for i := range clear.Log.Days {
		d := &clear.Log.Days[i]
		e := d.Energy.WattHours() * []float64{1, 0.5, 0.98, 0.3, 0.7}[i%5]
		life += e
		daily = append(daily, Point{Time: d.Date.Add(12 * time.Hour), Yield: wh(e)})
		counter = append(counter, Point{Time: d.Date.Add(12 * time.Hour), Yield: wh(life)})
	}
	a, b := compared(t, daily), compared(t, counter)
	if !a.Log.Daily || a.Basis != ClearSky || math.Abs((a.Ratio-clear.Ratio).Float()) > 0.05 {
		t.Errorf("daily %v, basis %v, ratio %.3f; the clear record %.3f", a.Log.Daily, a.Basis, a.Ratio.Float(), clear.Ratio.Float())
	}
	if math.Abs((a.Ratio-b.Ratio).Float()) > 0.01 || !strings.Contains(strings.Join(b.Notes, " "), "lifetime") {
		t.Errorf("counter %.3f, daily %.3f; %q", b.Ratio.Float(), a.Ratio.Float(), b.Notes)
	}
}

// A year that gives 5 % less than the year before is told; one that gives the same is not.
func TestDecline(t *testing.T) {
	two := func(k float64) Report {
		first := (&record{days: 15}).make()
		second := (&record{days: 15, scale: func(int) float64 { return k }}).make()
		for i := range second {
			second[i].Time = second[i].Time.AddDate(1, 0, 0)
		}
		return compared(t, append(first, second...))
	}
	if r := two(0.95); len(r.Alarms) != 1 || r.Alarms[0].Kind != "decline" || math.Abs(r.Alarms[0].Left.Float()-0.95) > 0.02 {
		t.Errorf("alarms %+v", r.Alarms)
	}
	if r := two(1); len(r.Alarms) > 0 {
		t.Errorf("alarms %+v", r.Alarms)
	}
}

// What cannot be judged is refused: nothing logged, decades, wild values, no times.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		points []Point
		want   error
	}{{nil, ErrEmpty}, {[]Point{{Power: watt(3)}}, ErrEmpty}, {[]Point{{Time: time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC), Yield: wh(3)}, {Time: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), Yield: wh(3)}}, ErrLong}} {
		if _, err := Compare(context.Background(), Import(c.points, time.UTC, 0), setting()); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v", c.points, err)
		}
	}
	at := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	l := Import([]Point{{Time: at, Power: watt(100)}, {Time: at.Add(time.Minute), Power: watt(65000)}, {Time: at.Add(2 * time.Minute), Power: watt(100)}, {Power: watt(5)}}, time.UTC, 350*quantity.Watt)
	if e := l.Days[0].Energy.WattHours(); math.Abs(e-200.0/60) > 1e-9 || len(l.Notes) != 2 {
		t.Errorf("%.4f Wh, notes %q", e, l.Notes)
	}
}

// clearGlobal is a clear sky's light on the level, W/m².
func clearGlobal(f form, t time.Time) float64 {
	pos := sun.At(t, f.site)
	if pos.Elevation() <= 0 {
		return 0
	}
	return sky.ClearSky(pos.Zenith, sun.ExtraterrestrialNormal(pos), sky.DefaultAtmosphere(f.place.Elevation, sky.Ordinary)).Global.WattsPerSquareMetre()
}

// BenchmarkMonth cuts a month of ten minutes into days and compares it.
func BenchmarkMonth(b *testing.B) {
	points := (&record{days: 30}).make()
	for b.Loop() {
		if _, err := Compare(context.Background(), Import(points, time.UTC, 350*quantity.Watt), setting()); err != nil {
			b.Fatal(err)
		}
	}
}
