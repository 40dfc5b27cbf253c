package forecast

import (
	"context"
	"math"
	"reflect"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

func run(t testing.TB, b *build.Build, o Options) *Answer {
	t.Helper()
	a, err := Run(context.Background(), b, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The ledger closes to 1 part in 10⁹ at every step, in every total, and the days add up to it.
func TestLedgerCloses(t *testing.T) {
	a := run(t, spring(t), Options{Years: 5, Seed: 3})
	var in float64
	for _, e := range a.Ledger {
		if e.Item.Inward() {
			in += e.Energy.Joules()
		}
	}
	if in <= 0 {
		t.Fatalf("nothing came in: %v J", in)
	}
	if r := math.Abs(a.Residual.Joules()) / in; !(r < 1e-9) {
		t.Errorf("residual of the trip: got %g of what came in, want under 1e-9", r)
	}
	if !(a.WorstResidual.Float() < 1e-9) {
		t.Errorf("worst step: got %g, want under 1e-9", a.WorstResidual.Float())
	}
	if a.Harvest <= 0 || a.Demand <= 0 {
		t.Errorf("harvest %v J, demand %v J: both wanted above 0", a.Harvest, a.Demand)
	}
}

// Every stage that passes energy on, moved by one part in a million, shows in the residual: no line
// is a remainder.
func TestEveryStageCounts(t *testing.T) {
	b := spring(t)
	tampered(t, b, []Item{Surroundings, Reflection, Dirt, NotConverted, Weaker, LowLight, CellHeat, Mismatch, VoltageWindow, InputLimit,
		TrackingMiss, ArrayCable, ControllerLoss, OutputLimit, BatteryCable, BatteryFull, BatteryLoss})
}

// tampered moves each of some stages of a build by one part in a million, and wants it in the residual.
func tampered(t *testing.T, b *build.Build, items []Item) {
	t.Helper()
	p, err := assemble(b)
	if err != nil {
		t.Fatal(err)
	}
	tp := lay(b)
	c, err := plot(b, tp, nil)
	if err != nil {
		t.Fatal(err)
	}
	views := p.views()
	base := newRunner(p, tp, views).run(c, 1, variations(nil, 1)[0])
	for _, item := range items {
		r := newRunner(p, tp, views)
		r.tamper[item] = 1 + 1e-6
		got := r.run(c, 1, variations(nil, 1)[0])
		moved := math.Abs(got.residual()-base.residual()) / base.account[Sunlight]
		if got.account[BatteryAfter] != got.account[BatteryAfter] {
			t.Fatal("NaN")
		}
		if !(moved > 1e-9) && !(got.worst > 1e-9) {
			t.Errorf("%s moved by 1e-6: residual moved by %g of the sunlight, worst step %g, want over 1e-9", item, moved, got.worst)
		}
	}
}

// The same seed gives the same answer to the bit on any number of workers, and another seed another.
func TestSeedAndWorkers(t *testing.T) {
	b := spring(t)
	one := run(t, b, Options{Years: 6, Seed: 9, Workers: 1})
	four := run(t, b, Options{Years: 6, Seed: 9, Workers: 4})
	if !reflect.DeepEqual(one, four) {
		t.Error("one worker and four gave different answers")
	}
	other := run(t, b, Options{Years: 6, Seed: 10, Workers: 4})
	if one.Harvest == other.Harvest {
		t.Error("two seeds gave the same harvest")
	}
}

// A day over the start of summer time has 23 hours, a trip over the date line still has days in order.
func TestCalendar(t *testing.T) {
	days := civilDays(spring(t).Trip.Legs)
	short := 0
	for _, d := range days {
		if d.count == 23*12 {
			short++
		}
	}
	if short != 2 { // summer time on the 28th, and an hour lost on the way to Madrid
		t.Errorf("days of 23 hours: got %d, want 2", short)
	}
	apia := at(t, "Apia", "Pacific/Apia", -13.8, -171.8, 5)
	pago := at(t, "Pago Pago", "Pacific/Pago_Pago", -14.3, -170.7, 5)
	first := time.Date(2027, 5, 1, 0, 0, 0, 0, apia.Zone)
	a := stay(apia, first, 3)
	hop := build.Leg{Drive: true, From: a.Until, Until: a.Until.Add(2 * time.Hour), Place: apia, To: pago}
	days = civilDays([]build.Leg{a, hop, stay(pago, hop.Until, 4)})
	for i := 1; i < len(days); i++ {
		if !days[i].date.After(days[i-1].date) {
			t.Errorf("day %d begins %v, not after %v", i, days[i].date, days[i-1].date)
		}
	}
	run(t, sample(a, hop, stay(pago, hop.Until, 4)), Options{Years: 2})
}

// Hard places and lengths: the pole by day and by night, 400 days, an empty battery, a module in the dark.
func TestHardTrips(t *testing.T) {
	pole := at(t, "pole", "UTC", 90, 0, 2800)
	for _, month := range []time.Month{time.June, time.December} {
		a := run(t, sample(stay(pole, time.Date(2027, month, 10, 0, 0, 0, 0, time.UTC), 4)), Options{Years: 2})
		if dark := month == time.December; dark != (a.Harvest == 0) {
			t.Errorf("pole in %s: harvest %v J", month, a.Harvest.Joules())
		}
	}
	long := at(t, "Nairobi", "Africa/Nairobi", -1.3, 36.8, 1700)
	a := run(t, sample(stay(long, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), 400)), Options{Years: 1})
	if len(a.Days) < 400 || len(a.Days) > 401 {
		t.Errorf("400 days from 00:00 UTC: got %d civil days", len(a.Days))
	}
	if _, err := Run(context.Background(), sample(), Options{}); err == nil {
		t.Error("a trip of no legs: wanted an error")
	}
	low := sample(stay(long, time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), 2))
	low.Chargers[0].InputMax = 30 * quantity.Volt
	if got := run(t, low, Options{Years: 1}); got.Harvest != 0 {
		t.Errorf("a controller under the string's volts: harvest %v J, want 0", got.Harvest.Joules())
	}
}

// A stopped run returns the reason and no answer.
func TestStop(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if a, err := Run(ctx, spring(t), Options{Years: 50}); err == nil || a != nil {
		t.Errorf("stopped: got %v, %v", a, err)
	}
}

// More battery never makes more nights short; less light never makes more harvest.
func TestMonotone(t *testing.T) {
	b := spring(t)
	base := run(t, b, Options{Years: 8, Seed: 2})
	b.Battery.Energy *= 3
	if more := run(t, b, Options{Years: 8, Seed: 2}); more.NightsShort.P50 > base.NightsShort.P50 {
		t.Errorf("three times the battery: nights short %v, was %v", more.NightsShort.P50, base.NightsShort.P50)
	}
	b.Trip.Soiling.Start, b.Trip.Soiling.Floor, b.Trip.Soiling.Cap = 0.5, 0.5, 0.5
	if dirty := run(t, b, Options{Years: 8, Seed: 2}); dirty.Harvest+dirty.Unused >= base.Harvest+base.Unused {
		t.Error("half the light did not cost anything")
	}
}

// A step allocates nothing.
func TestStepAllocates(t *testing.T) {
	b := spring(t)
	p, err := assemble(b)
	if err != nil {
		t.Fatal(err)
	}
	tp := lay(b)
	c, err := plot(b, tp, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := newRunner(p, tp, p.views())
	r.run(c, 1, variations(nil, 1)[0])
	m := &tp.moments[tp.days[2].first+150]
	w := now{air: quantity.Celsius(20), wind: 2}
	w.light.Global, w.light.Beam, w.light.Diffuse = 700, 650, 150
	if n := testing.AllocsPerRun(100, func() { r.step(m, w) }); n != 0 {
		t.Errorf("a step allocates %v times, want 0", n)
	}
}
