package choose

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/testkit"
)

func rectangle(x, y, length, width float64) []build.Point {
	p := func(x, y float64) build.Point { return build.Point{X: quantity.Length(x), Y: quantity.Length(y)} }
	return []build.Point{p(x, y), p(x+length, y), p(x+length, y+width), p(x, y+width)}
}

// van is a roof of a size with one module type and no things.
func van(t testing.TB, length, width, moduleLength, moduleWidth float64) *build.Build {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2027, 4, 1, 0, 0, 0, 0, zone)
	wire := build.Run{Length: 3 * quantity.Metre, Area: 4 * quantity.SquareMillimetre, Temperature: quantity.Celsius(45)}
	return &build.Build{
		Surfaces: []build.Surface{{Name: "roof", Outline: rectangle(0, 0, length, width), Height: 2.1 * quantity.Metre}},
		Postures: []build.Posture{{Name: "driving", Moves: true}, {Name: "parked"}},
		Types: []build.ModuleType{{Name: "test", Technology: build.MonoPERC, Pmax: 99.5 * quantity.Watt, Voc: 24.3 * quantity.Volt, Isc: 5.2 * quantity.Ampere, Vmp: 20.3 * quantity.Volt, Imp: 4.9 * quantity.Ampere,
			PmaxCoefficient: -0.37 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin, IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 95 * quantity.Percent,
			Length: quantity.Length(moduleLength), Width: quantity.Length(moduleWidth), Mass: 3 * quantity.Kilogram, Cells: build.CellGrid{Rows: 4, Columns: 9, Margin: 10 * quantity.Millimetre, Groups: 2, AlongLength: true}}},
		Modules: []build.Module{{Name: "a", X: 0.05 * quantity.Metre, Y: 0.05 * quantity.Metre}},
		Strings: []build.String{{Name: "roof", Modules: []int{0}, Cable: wire}},
		Chargers: []build.Charger{{Name: "main", Strings: []int{0}, InputMax: 100 * quantity.Volt, StartMargin: 5 * quantity.Volt, RunMargin: 1 * quantity.Volt, InputCurrent: 30 * quantity.Ampere,
			ShortCircuitMax: 40 * quantity.Ampere, InputPower: 800 * quantity.Watt, OutputCurrent: 50 * quantity.Ampere, Efficiency: 96 * quantity.Percent, InputCable: wire, BatteryCable: wire}},
		Battery: build.Battery{Chemistry: build.LFP, Energy: 2560 * quantity.WattHour, Voltage: 12.8 * quantity.Volt, Health: 1, HighestCharge: 1, StartCharge: 50 * quantity.Percent,
			ChargeEfficiency: 97 * quantity.Percent, DischargeEfficiency: 98 * quantity.Percent, MaxChargeCurrent: 100 * quantity.Ampere, MaxDischargeCurrent: 100 * quantity.Ampere, TimeConstant: time.Hour},
		Trip: build.Trip{Albedo: 20 * quantity.Percent, Legs: []build.Leg{{From: from, Until: from.AddDate(0, 0, 6), Posture: 1, Heading: 200 * quantity.Degree,
			Place: build.Place{Name: "Lisbon", Latitude: 38.72 * quantity.Degree, Longitude: -9.14 * quantity.Degree, Elevation: 50 * quantity.Metre, Zone: zone}}}},
	}
}

// at returns a search of b with its places laid out.
func at(t testing.TB, b *build.Build, o Options) *search {
	t.Helper()
	s, err := newSearch(context.Background(), b, o.filled(b))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Analytic packings: two rows of two on a roof just large enough, three side by side, and none where it is a
// millimetre too short. What is found stands free, and the bound of a packing is under one module more.
func TestPacking(t *testing.T) {
	for _, c := range []struct {
		length, width float64
		want          int
	}{{2*1.0 + 0.06, 2*0.5 + 0.06, 4}, {1.04, 3*0.5 + 0.08, 3}, {1.0 + 0.039, 0.54, 0}, {0.54, 1.04, 1}, {1.5 + 0.08, 1.04, 3}} {
		b := van(t, c.length, c.width, 1.0, 0.5)
		s := at(t, b, Options{Most: 6, Judged: 40})
		most := 0
		sets, err := layouts(context.Background(), s.spots, s.o, 200, 2)
		if err != nil {
			t.Fatal(err)
		}
		for _, set := range sets {
			most = max(most, len(set))
			w := wirings(b, set)[0].of(b)

			for m := range w.Modules {
				if !w.Free(m, 19.9*quantity.Millimetre) {
					t.Errorf("%v × %v m: module %d of %v does not stand free", c.length, c.width, m, set)
				}
			}
		}
		if most != c.want {
			t.Errorf("%v × %v m: %d modules of 1.0 × 0.5 m found, want %d", c.length, c.width, most, c.want)
		}
		if c.want == 0 {
			continue
		}
		one := s.spots[0].worth()
		if n := newPacking(s).bound(float64(most)*one) / one; n < float64(most)-1e-6 || n >= float64(most)+1 {
			t.Errorf("%v × %v m: a bound of %.3f modules, %d found", c.length, c.width, n, most)
		}
	}
}

// A mixed set in every wiring, on one charger and on two: each module stands in one string, the wirings differ, and
// what tiles give is what the judge says of the build, within 0.5 %.
func TestWirings(t *testing.T) {
	b := four(t)
	b.Surfaces[0].Outline = rectangle(0, 0, 5, 2)
	second := b.Chargers[0]
	second.Name, second.Strings = "second", nil
	b.Chargers = append(b.Chargers, second)
	s := at(t, b, Options{Types: []int{0, 2}, Grid: 200 * quantity.Millimetre})
	set := []spot{}
	for _, kind := range []int{2, 0, 0, 2} {
		for _, p := range s.fields[kind] {
			if clear(set, &p, -1, s.o.Gap.Metres()) {
				set = append(set, p)
				break
			}
		}
	}
	if len(set) != 4 {
		t.Fatalf("%d modules stand", len(set))
	}
	j, _ := forecast.NewJudge(b, s.o.Seed, judgeEvery)
	seen, both := map[string]bool{}, 0
	for _, c := range wirings(b, set) {
		count := make([]int, len(set))
		chargers := map[int]bool{}
		text := ""
		for _, x := range c.texts {
			chargers[x.charger] = true
			text += fmt.Sprint(x.charger, x.modules)
			for _, m := range x.modules {
				count[m]++
			}
		}
		if both += len(chargers) - 1; seen[text] || slices.Max(count) != 1 || slices.Min(count) != 1 {
			t.Errorf("%s: %v, again or not all", c.What, c.texts)
		}
		seen[text] = true
		got := s.coarse.Year(c.wired(2, func(p spot) *forecast.Tile { return p.tile }))
		want, err := j.Year(c.of(b))
		if err != nil {
			t.Fatal(err)
		}
		if off := got.Joules()/want.Joules() - 1; math.Abs(off) > 0.005 {
			t.Errorf("%s: %.2f kWh of tiles, %.2f kWh judged: %+.2f %%", c.What, got.WattHours()/1000, want.WattHours()/1000, 100*off)
		}
	}
	if one := wirings(b, set[:2]); !slices.ContainsFunc(one, func(c *Candidate) bool { return c.Wiring == "1 on main, 1 on second" }) {
		t.Error("one module on each charger is not told so")
	}
	if len(seen) < 8 || both != 2 {
		t.Errorf("%d wirings, %d of them on both chargers", len(seen), both)
	}
}

// A type that is not shown has its reason: no room, or the rule it breaks.
func TestUnfit(t *testing.T) {
	b := van(t, 1.2, 0.6, 1.0, 0.5)
	long := b.Types[0]
	long.Name, long.Length = "long", 1.3*quantity.Metre
	b.Types = append(b.Types, long)
	b.Chargers[0].InputMax = 20 * quantity.Volt
	c, err := Compare(context.Background(), b, Options{Types: []int{0, 1}, Judged: 20}, Money{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range c.Rows {
		if want := map[string]string{"test": "no layout keeps the rules: cold-voltage", "long": "does not fit this roof"}[r.Type]; r.Verdict != want {
			t.Errorf("%s: %q, want %q", r.Type, r.Verdict, want)
		}
	}
}

// A film beside glass on feet is proposed bonded, and lives as long as a bonded one.
func TestLifeAsHeld(t *testing.T) {
	b := van(t, 2.2, 1.1, 1.0, 0.5)
	film := b.Types[0]
	b.Types[0].Front, b.Modules[0].Attachment, b.Modules[0].Gap = build.FloatGlass, build.StandOff, 30*quantity.Millimetre
	film.Name, film.Front = "film", build.PET
	b.Types = append(b.Types, film)
	c := at(t, b, Options{Types: []int{1}, Most: 1, Grid: 0.5 * quantity.Metre})
	r := Row{Best: Candidate{Type: 1, Count: 1, Build: wirings(b, c.spots[:1])[0].of(b)}}
	if r.price(Money{}, 30); r.Life != lifeOf(&film, build.Bonded) {
		t.Errorf("lives %v years, want %v", r.Life.Years, lifeOf(&film, build.Bonded).Years)
	}
}

// The front keeps what gives more, weighs less, costs less or keeps more nights than any other, and that alone.
func TestFront(t *testing.T) {
	of := func(energy, mass, nights, money float64) *Candidate {
		return &Candidate{Energy: quantity.Energy(energy), Mass: quantity.Mass(mass), Nights: nights, Money: &money}
	}
	list := []*Candidate{of(10, 5, 1, 100), of(9, 4, 1, 100), of(9, 5, 0, 100), of(9, 5, 1, 90), of(9, 5, 1, 100), of(10, 5, 1, 101)}
	front(list)
	for i, c := range list {
		if c.Front != (i < 4) {
			t.Errorf("candidate %d: on the front %v", i, c.Front)
		}
	}
}

// What the controller does not stand is left out, and the search stops when told.
func TestForbidden(t *testing.T) {
	b := van(t, 2.2, 1.2, 1.0, 0.5)
	b.Chargers[0].InputMax = 30 * quantity.Volt
	a, err := Arrange(context.Background(), b, Options{Most: 2, Judged: 60, Grid: 0.2 * quantity.Metre})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range a.Candidates {
		if c.Wiring == "in series" {
			t.Errorf("%s: two of 24.3 V in series on 30 V", c.What)
		}
	}
	if a.Forbidden == 0 {
		t.Error("nothing was left out")
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Arrange(ctx, b, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// A search that meets nothing new says so, and its progress ends where it does; one that spends all does not.
func TestEnded(t *testing.T) {
	b := van(t, 1.4, 0.7, 1.0, 0.5)
	for allowed, ends := range map[int]bool{500: true, 2: false} {
		var done, total int
		a, err := Arrange(context.Background(), b, Options{Most: 1, Judged: allowed, Grid: 0.2 * quantity.Metre, Progress: func(d, of int, _ string) { done, total = d, of }})
		if err != nil {
			t.Fatal(err)
		}
		if ended := a.Judged < allowed; ended != ends || (a.Ended()+a.Proof != "") != ends {
			t.Errorf("%d judged of %d allowed: %q, %q", a.Judged, allowed, a.Ended(), a.Proof)
		}
		if done != a.Judged || total != a.Judged {
			t.Errorf("%d judged, the progress ends at %d of %d", a.Judged, done, total)
		}
	}
}

// The capital recovery factor at 5 %, and what a kilowatt-hour taken costs.
//
// Source: capital recovery factor and worked costs of the handbook, section G.
func TestRecovery(t *testing.T) {
	src := cite.Source{Title: "engineering economy, capital recovery factor", Where: "r(1+r)^n/((1+r)^n - 1); handbook G"}
	for years, want := range map[float64]float64{5: 0.231, 8: 0.155, 10: 0.130} {
		testkit.Published(t, Recovery(5*quantity.Percent, years), testkit.Check{What: "capital recovery factor at 5 %, share a year", Source: src, Want: want, Tol: 0.0005})
	}
	testkit.Published(t, 2000*Recovery(5*quantity.Percent, 8)/144, testkit.Check{What: "cost of a delivered kWh, 2000 over 8 years at 144 kWh a year", Source: src, Want: 2.15, Tol: 0.005})
}

// Types side by side: the one of twice the area gives about twice, and a price makes a cost.
func TestCompare(t *testing.T) {
	b := van(t, 2.2, 1.1, 1.0, 0.5)
	big := b.Types[0]
	big.Name, big.Length, big.Width = "big", 1.0*quantity.Metre, 1.0*quantity.Metre
	big.Pmax, big.Isc, big.Imp = 2*big.Pmax, 2*big.Isc, 2*big.Imp
	price := 100.0
	b.Types[0].Price = &price
	b.Types = append(b.Types, big)
	done, total := 0, 0
	far := func(d, of int, _ string) {
		if d < done || of != 2*30 {
			t.Errorf("%d of %d after %d of %d", d, of, done, total)
		}
		done, total = d, of
	}
	none := quantity.Ratio(0)
	c, err := Compare(context.Background(), b, Options{Types: []int{0, 1}, Most: 1, Judged: 30, Grid: 0.3 * quantity.Metre, Progress: far}, Money{Prices: map[string]float64{"big": 250}, Fuel: 2, HookUp: 5, Nights: 100, Interest: &none})
	if err != nil {
		t.Fatal(err)
	}
	if done != total {
		t.Errorf("it ends at %d of %d", done, total)
	}
	rows := map[string]Row{}
	for _, r := range c.Rows {
		rows[r.Type] = r
	}
	if got := rows["big"].Year.WattHours() / rows["test"].Year.WattHours(); math.Abs(got-2) > 0.05 {
		t.Errorf("twice the area gives %.3f times the energy", got)
	}
	for name, r := range rows {
		if r.PerKWh == nil || !(*r.PerKWh > 0) || !(r.PerKWhBand[0] < *r.PerKWh && *r.PerKWh < r.PerKWhBand[1]) || r.Verdict == "" {
			t.Errorf("%s: cost %v, band %v, verdict %q", name, r.PerKWh, r.PerKWhBand, r.Verdict)
			continue
		}
		// At no interest the price is spread over what is taken in a life, half its fading off; a generator burns 0.5 l
		// for a kilowatt-hour and an alternator 0.4 l (handbook C7, G); 100 nights of 5 are 500 a year.
		price, taken := map[string]float64{"test": 100, "big": 250}[name], r.Day.WattHours()/1000*100
		for what, c := range map[string][2]float64{
			"a kilowatt-hour":        {*r.PerKWh, price / (taken * r.Life.Years * (1 - r.Life.Fade.Float()*r.Life.Years/2))},
			"years to the generator": {*r.PayBack, price / (taken * 0.5 * 2)}, "to the alternator": {*r.PayBackDrive, price / (taken * 0.4 * 2)}, "to hook-up fees": {*r.PayBackHookUp, price / 500},
		} {
			if math.Abs(c[0]/c[1]-1) > 1e-9 {
				t.Errorf("%s: %s %.4f, want %.4f", name, what, c[0], c[1])
			}
		}
		if !strings.HasPrefix(r.Verdict, "pays back") { // of the fees in half a year
			t.Errorf("%s: %q", name, r.Verdict)
		}
		sum := 0.0
		for _, e := range r.Hours {
			sum += e.WattHours()
		}
		if math.Abs(sum*365/r.Year.WattHours()-1) > 0.1 {
			t.Errorf("%s: hours add up to %.1f kWh, the year has %.1f kWh", name, sum*365/1000, r.Year.WattHours()/1000)
		}
	}
}

// On a bare roof, where one place is as good as another, the layout shown lies close together: two modules side by
// side or end to end, a gap apart.
func TestCompact(t *testing.T) {
	b := van(t, 6, 2, 1.0, 0.5)
	a, err := Arrange(context.Background(), b, Options{Most: 2, Judged: 2000, Grid: 250 * quantity.Millimetre, Shown: 4})
	if err != nil {
		t.Fatal(err)
	}
	for i := range a.Candidates {
		c := &a.Candidates[i]
		if c.Count != 2 {
			continue
		}
		least := 1.0 + 2*0.5 + 0.020 // side by side
		if got := spread(c.set) - 10; got > least+0.3 {
			t.Errorf("%s lies over %.2f m, want about %.2f m", c.What, got, least)
		}
	}
}

// A roof as large as a lorry's has no more places laid out than are kept, on a coarser grid that is told; all still
// stand free.
func TestLargeRoof(t *testing.T) {
	b := van(t, 13, 2.5, 1.0, 0.5)
	o := Options{}.filled(b)
	places, grid, err := free(context.Background(), b, o)
	if err != nil || len(places) > spotsMost || len(places) < spotsMost/4 || grid <= o.Grid {
		t.Fatalf("%d places every %v: %v", len(places), grid, err)
	}
	for _, p := range places {
		one := *b
		one.Modules = []build.Module{p.module(b)}
		if !one.Free(0, o.Gap-0.1*quantity.Millimetre) {
			t.Fatalf("%v, %v does not stand free", p.x, p.y)
		}
	}
}

// A rule that the build breaks already is told of what is shown.
func TestStill(t *testing.T) {
	b := van(t, 2.2, 1.2, 1.0, 0.5)
	b.Modules[0].X = 1.9 * quantity.Metre // over the edge
	r, err := rulesOf(b)
	if err != nil {
		t.Fatal(err)
	}
	list, err := findings(b)
	if err != nil {
		t.Fatal(err)
	}
	broken, _ := r.broken(list)
	if still := r.still(list); broken != nil || !slices.Contains(still, "fits") {
		t.Errorf("breaks as before: %q; anew: %v", still, broken)
	}
	within, err := rulesOf(van(t, 2.2, 1.2, 1.0, 0.5))
	if err != nil {
		t.Fatal(err)
	}
	if broken, _ := within.broken(list); broken == nil {
		t.Error("a module over the edge breaks nothing")
	}
}
