package bands

import (
	"context"
	"math"
	"reflect"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// The design is what it says: rows of A, of B, and A with one input from B; its places fill each half of each input
// evenly; the same seed gives the same, another another.
func TestDesign(t *testing.T) {
	s := newDesign(64, 5, 7)
	u := make([]float64, 5)
	for k := range s.rows() {
		s.at(k, u)
		j := k % 64
		for i, x := range u {
			want := s.a[j][i]
			if k/64 == 1 || k/64 == i+2 {
				want = s.b[j][i]
			}
			if x != want || !(x > 0 && x < 1) {
				t.Fatalf("row %d, input %d: %g, want %g", k, i, x, want)
			}
		}
	}
	for i := range 5 {
		low := 0
		for j := range s.a {
			if s.a[j][i] < 0.5 {
				low++
			}
		}
		if low < 28 || low > 36 {
			t.Errorf("input %d: %d of 64 in the lower half", i, low)
		}
	}
	if again := newDesign(64, 5, 7); !reflect.DeepEqual(s, again) {
		t.Error("the same seed gives another design")
	}
	if other := newDesign(64, 5, 8); reflect.DeepEqual(s.a, other.a) {
		t.Error("another seed gives the same design")
	}
}

// With as many rows as are usual, shares of a sum and of the Ishigami function lie within three and a half of their
// standard errors, a thousandth apart from them at the least.
func TestSharesAndErrors(t *testing.T) {
	sum := func(u []float64) float64 { return 5 + 3*normal(u[0]) + 2*normal(u[1]) + normal(u[2]) + 0*u[3] }
	misses, all := 0, 0
	for seed := range uint64(12) {
		for _, c := range []struct {
			f     func([]float64) float64
			first []float64
			total []float64
			d     int
		}{{sum, []float64{9. / 14, 4. / 14, 1. / 14, 0}, []float64{9. / 14, 4. / 14, 1. / 14, 0}, 4},
			{ishigami, []float64{0.3139, 0.4424, 0}, []float64{0.5576, 0.4424, 0.2437}, 3}} {
			s := newDesign(UsualRows, c.d, seed)
			got, _ := s.shares(outcomes(&s, c.f), seed)
			for i, x := range got {
				all += 2
				if math.Abs(x.First-c.first[i]) > 3.5*x.FirstError+1e-3 {
					misses++
				}
				if math.Abs(x.Total-c.total[i]) > 3.5*x.TotalError+1e-3 {
					misses++
				}
				if x.FirstError > 0.2 || x.TotalError > 0.2 {
					t.Errorf("seed %d, input %d: standard errors %.3f, %.3f", seed, i, x.FirstError, x.TotalError)
				}
			}
		}
	}
	if misses > all/50 {
		t.Errorf("%d of %d shares lie outside three and a half standard errors", misses, all)
	}
	flat := newDesign(32, 3, 1)
	if got, v := flat.shares(outcomes(&flat, func([]float64) float64 { return 4.2 }), 1); v != 0 || got[0] != (Share{}) {
		t.Errorf("a figure that does not vary: %v, %g", got, v)
	}
}

// Where doubts add up, the variance an observation is said to take away is what it does take: with the inputs'
// spreads drawn again as narrow as the observation leaves them.
func TestObservationHolds(t *testing.T) {
	const u = 0.05
	spread := []float64{0.10, 0.06, 0.08} // the reading tells the sum of the first two
	f := func(k float64) func([]float64) float64 {
		return func(x []float64) float64 {
			return k*(spread[0]*normal(x[0])+spread[1]*normal(x[1])) + spread[2]*normal(x[2])
		}
	}
	s := newDesign(1<<15, 3, 3)
	before, v := s.shares(outcomes(&s, f(1)), 3)
	square := spread[0]*spread[0] + spread[1]*spread[1]
	left := u * u / (square + u*u)
	said := 1 - (before[0].First+before[1].First)*(1-left)
	_, w := s.shares(outcomes(&s, f(math.Sqrt(left))), 3)
	if math.Abs(said-w/v) > 0.02 {
		t.Errorf("left of the variance: said %.4f, drawn again %.4f", said, w/v)
	}
}

// van is two modules on a flat roof for some days, a battery that is a little small for its loads.
func van(t testing.TB, days int) *build.Build {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2027, 2, 10, 0, 0, 0, 0, zone)
	wire := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	var evening [24]quantity.Power
	evening[19], evening[20], evening[21] = 60*quantity.Watt, 60*quantity.Watt, 60*quantity.Watt
	var all [12]bool
	for m := range all {
		all[m] = true
	}
	return &build.Build{
		Surfaces: []build.Surface{{Name: "roof", Height: 2 * quantity.Metre}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}},
		Types: []build.ModuleType{{Name: "glass", Technology: build.MonoPERC, Pmax: 99.5 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 5.2 * quantity.Ampere, Vmp: 20.3 * quantity.Volt, Imp: 4.9 * quantity.Ampere,
			PmaxCoefficient: -0.37 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 95 * quantity.Percent,
			ToleranceLow: -3 * quantity.Percent, ToleranceHigh: 3 * quantity.Percent, Front: build.TexturedGlass,
			Length: 1 * quantity.Metre, Width: 0.5 * quantity.Metre, Mass: 3 * quantity.Kilogram, Cells: build.CellGrid{Rows: 4, Columns: 9, Groups: 2}}},
		Modules: []build.Module{{Name: "a", Attachment: build.StandOff, Gap: 30 * quantity.Millimetre, Bought: "2024-02"}, {Name: "b", Attachment: build.StandOff, Gap: 30 * quantity.Millimetre}},
		Strings: []build.String{{Name: "roof", Modules: []int{0, 1}, Cable: wire}},
		Chargers: []build.Charger{{Name: "main", Strings: []int{0}, InputMax: 100 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 30 * quantity.Ampere,
			ShortCircuitMax: 40 * quantity.Ampere, InputPower: 800 * quantity.Watt, OutputCurrent: 50 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: wire, BatteryCable: wire}},
		Battery: build.Battery{Chemistry: build.LFP, Energy: 640 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, LowestCharge: 10 * quantity.Percent, HighestCharge: 1, StartCharge: 60 * quantity.Percent,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 50 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere,
			Inside: true, InsideTemperature: quantity.Celsius(15), TimeConstant: time.Hour},
		Loads: []build.Load{{Name: "evening", Watts: evening, Months: all, Parked: true, Driving: true},
			{Name: "fridge", Kind: build.Fridge, Months: all, Parked: true, Driving: true, Fridge: build.FridgeLoad{DayAt25C: 400 * quantity.WattHour, Rise: 3 * quantity.OneKelvin, Running: 45 * quantity.Watt}}},
		Trip: build.Trip{Albedo: 20 * quantity.Percent, Soiling: build.Soiling{Start: 2 * quantity.Percent, PerDay: 0.1 * quantity.Percent, Floor: 2 * quantity.Percent, Cap: 25 * quantity.Percent},
			Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, days), Posture: 1, Heading: 200 * quantity.Degree, Surroundings: build.Suburb,
				Place: build.Place{Name: "Lisbon", Latitude: 38.72 * quantity.Degree, Longitude: -9.14 * quantity.Degree, Elevation: 50 * quantity.Metre, Zone: zone}}}},
	}
}

// The answer is the same to the bit on one core and on two; bands lie in order; a year is told when asked for.
func TestRun(t *testing.T) {
	b := van(t, 4)
	o := Options{Rows: 12, Seed: 5, YearDraws: 2, Workers: 1}
	one, err := Run(context.Background(), b, o)
	if err != nil {
		t.Fatal(err)
	}
	o.Workers = 2
	two, err := Run(context.Background(), b, o)
	if err != nil {
		t.Fatal(err)
	}
	// A function is never equal to another: compare all else.
	for i := range one.Doubts {
		one.Doubts[i].draw, two.Doubts[i].draw = nil, nil
	}
	if !reflect.DeepEqual(one, two) {
		t.Error("two cores give another answer than one")
	}
	if h := one.Harvest; !(h.P90 < h.P50 && h.P50 < h.P10) || one.Nights.P90 < one.Nights.P10 || one.Year == nil || one.YearDraws != 2 {
		t.Errorf("harvest %+v, nights %+v, year %v of %d", one.Harvest, one.Nights, one.Year, one.YearDraws)
	}
	if one.Runs != Runs(b, 12) || len(one.Energy) != len(one.OfferedBy) || len(one.Energy) != one.Runs/12-2 {
		t.Errorf("%d runs, %d inputs", one.Runs, len(one.Energy))
	}
	for i, x := range one.Energy {
		if x.Total < 0 || x.Total > 1 || i > 0 && x.Total > one.Energy[i-1].Total {
			t.Errorf("shares out of order: %+v", one.Energy)
		}
	}
}

// A doubt that is made large makes the band; one that is made nothing has no share; the mean goes where its bias
// says.
func TestDoubtsCount(t *testing.T) {
	run := func(change func(d *build.Doubts)) *Answer {
		b := van(t, 2)
		change(&b.Doubts)
		a, err := Run(context.Background(), b, Options{Rows: 16, Seed: 9})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	none, wide, low := 0*quantity.Percent, 30*quantity.Percent, -30*quantity.Percent
	one := 1.0
	certain := func(d *build.Doubts) {
		*d = build.Doubts{LabelBias: &none, LabelSpread: &none, Fade: &none, FadeMost: &none, Soiling: &one, Surroundings: &one, LoadsSpread: &none, BatterySpread: &none, Heat: new(quantity.TempDiff)}
	}
	plain := run(certain)
	if len(plain.OfferedBy) != 1 || plain.OfferedBy[0].Key != Weather || math.Abs(plain.OfferedBy[0].Total-1) > 0.6 {
		t.Errorf("all certain but the weather: %+v", plain.OfferedBy)
	}
	label := run(func(d *build.Doubts) { certain(d); d.LabelSpread = &wide })
	if len(label.OfferedBy) != 2 || !(label.Offered.P10-label.Offered.P90 > plain.Offered.P10-plain.Offered.P90) {
		t.Errorf("a label of 30 %%: %+v, offered %+v after %+v", label.OfferedBy, label.Offered, plain.Offered)
	}
	weak := run(func(d *build.Doubts) { certain(d); d.LabelBias = &low })
	if r := weak.Offered.P50 / plain.Offered.P50; !(r > 0.6 && r < 0.78) {
		t.Errorf("modules 30 %% under their label offer %.3f of what sound ones do", r)
	}
}

// Doubts say where they are from, and what the file says goes before our own; age is read from what was bought.
func TestDoubts(t *testing.T) {
	b := van(t, 2)
	for _, d := range Doubts(b) {
		if d.Name == "" || d.Text == "" || d.Why == "" || d.Source.String() == "" || d.Given {
			t.Errorf("%+v", d)
		}
		if d.Key == Weather {
			continue
		}
		low, mid, high := d.draw(1e-9), d.draw(0.5), d.draw(1-1e-9)
		if d.Key == Ageing {
			low, high = high, low
		}
		if !(low > 0 && low < mid && mid < high && high <= 10) {
			t.Errorf("%s: %g, %g, %g", d.Key, low, mid, high)
		}
	}
	if years, _ := ageOf(b); math.Abs(years-3) > 1e-9 {
		t.Errorf("bought 2024-02, used from 2027-02: %g years", years)
	}
	for text, want := range map[string]float64{"2026": 2026.5, "in 2025-07, used": 2025 + 6.5/12, "K-0417": 0, "": 0, "1234": 0} {
		if got, ok := boughtAt(text); ok != (want > 0) || math.Abs(got-want) > 1e-9 {
			t.Errorf("%q: %g, want %g", text, got, want)
		}
	}
	f := 3.0
	b.Doubts.Soiling = &f
	for _, d := range Doubts(b) {
		if d.Key == Soiling && (!d.Given || math.Abs(d.draw(0.9)-3) > 1e-6) {
			t.Errorf("dirt of three times in nine of ten: %g at the ninth tenth", d.draw(0.9))
		}
	}
}

// Nights that do not vary have no shares, and the answer says so.
func TestNightsThatDoNotVary(t *testing.T) {
	b := van(t, 2)
	b.Battery.Energy = 5 * quantity.KilowattHour
	a, err := Run(context.Background(), b, Options{Rows: 8})
	if err != nil {
		t.Fatal(err)
	}
	if a.NightsBy != nil || a.Short != 0 || len(a.Notes) == 0 {
		t.Errorf("shares of nights that do not vary: %+v, %q", a.NightsBy, a.Notes)
	}
}

func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Run(ctx, van(t, 2), Options{Rows: 8}); err == nil {
		t.Error("stopped, and no error")
	}
	defer func() {
		if recover() == nil {
			t.Error("no panic at four rows")
		}
	}()
	_, _ = Run(context.Background(), van(t, 2), Options{Rows: 4})
}

// A year with the roof's shade as one factor offers what the year with every shadow does, within 3 %.
func TestYearOfShade(t *testing.T) {
	b := van(t, 2)
	at := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	b.Surfaces[0].Outline = []build.Point{at(0, 0), at(2.4, 0), at(2.4, 1.3), at(0, 1.3)}
	b.Modules[0].X, b.Modules[0].Y, b.Modules[1].X, b.Modules[1].Y = 0.1*quantity.Metre, 0.1*quantity.Metre, 0.1*quantity.Metre, 0.7*quantity.Metre
	b.Obstacles = []build.Obstacle{{Name: "box", Outline: []build.Point{at(1.2, 0.3), at(1.6, 0.3), at(1.6, 1), at(1.2, 1)}, Height: 300 * quantity.Millimetre}}
	b.Battery.Energy = 100 * quantity.KilowattHour // never full: all that is offered is taken
	b.Battery.StartCharge = 0.2 * quantity.One
	left, err := unshaded(b, 4)
	if err != nil || !(left > 0.5 && left < 0.995) {
		t.Fatalf("left %g, %v: the box must shade", left, err)
	}
	whole, _ := forecast.LikeYear(b)
	run := func(factor float64, omit ...forecast.Caster) float64 {
		a, err := forecast.Run(context.Background(), &whole, forecast.Options{Years: 1, Seed: 4, Omit: omit, Vary: func(y int) forecast.Variation {
			v := forecast.AsBuilt(y)
			v.Power = quantity.Ratio(factor)
			return v
		}})
		if err != nil {
			t.Fatal(err)
		}
		return a.Offered.WattHours()
	}
	full, one := run(1), run(left, casters(b)...)
	if math.Abs(one/full-1) > 0.03 {
		t.Errorf("every shadow %.0f Wh, as one factor %.0f Wh, %+.1f %%", full, one, 100*(one/full-1))
	}
}
