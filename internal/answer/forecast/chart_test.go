package forecast

import (
	"math"
	"reflect"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// dayError is the most that a chart may put a day's offered energy off, of that energy or of leastDay, whichever
// is more.
const (
	dayError         = 0.005
	leastDay float64 = 100 // Wh
)

// worstDay returns the largest error of a day's offered energy by the chart in any year, over dayError, and the
// error of all days together. It fails the test where a day is off by more than bound times dayError.
func worstDay(t *testing.T, name string, b *build.Build, bound float64, o Options) (worst, bias float64) {
	t.Helper()
	o.Full = true
	full := run(t, b, o)
	o.Full, o.Chart = false, true
	fast := run(t, b, o)
	if r := fast.WorstResidual.Float(); !(r < 1e-9) {
		t.Errorf("%s: the ledger's worst step is off by %g", name, r)
	}
	for y := range full.ByYear {
		for d := range full.Days {
			got, want := fast.ByYear[y].Days[d].WattHours(), full.ByYear[y].Days[d].WattHours()
			off := math.Abs(got-want) / math.Max(want, leastDay) / dayError
			if off > bound {
				t.Errorf("%s, seed %d, year %d, day %d: %.2f Wh by the chart, %.2f Wh solved", name, o.Seed, y, d, got, want)
			}
			worst = math.Max(worst, off)
		}
	}
	bias = fast.Offered.WattHours()/full.Offered.WattHours() - 1
	t.Logf("%s: worst day off by %.2f %%, all days by %+.3f %%", name, 100*dayError*worst, 100*bias)
	return worst, bias
}

// charted are builds whose days are hard to chart, by name.
func charted(t testing.TB) map[string]*build.Build {
	p := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	van := func(month time.Month, heading float64) *build.Build {
		b := shaded(stay(p, time.Date(2027, month, 4, 0, 0, 0, 0, p.Zone), 8))
		b.Trip.Legs[0].Heading, b.Trip.Legs[0].HeadingFree = quantity.Angle(heading)*quantity.Degree, heading < 0
		return b
	}
	alone := func(b *build.Build) *build.Build { // one module over a battery: the window decides
		b.Modules, b.Strings[0].Modules = b.Modules[1:], []int{0}
		return b
	}
	out := map[string]*build.Build{"spring": spring(t), "trip": shadedDays(t), "in series": van(1, -1), "alone": alone(van(6, 200))}
	foil := van(9, 250)
	foil.Types[0].Cells = build.CellGrid{Rows: 2, Columns: 18, Margin: 15 * quantity.Millimetre, DiodePerCell: true, AlongLength: true}
	out["foil"] = foil
	parallel := van(4, 290)
	parallel.Strings = append(parallel.Strings, parallel.Strings[0])
	parallel.Strings[0].Modules, parallel.Strings[1].Modules, parallel.Chargers[0].Strings = []int{0}, []int{1}, []int{0, 1}
	out["in parallel"] = parallel
	high := van(7, 30) // the controller's lowest volts cut into the array's
	high.Chargers[0].InputMin = 33 * quantity.Volt
	out["lowest input"] = high
	limited := van(5, 120)
	limited.Chargers[0].InputPower, limited.Chargers[0].OutputCurrent = 90*quantity.Watt, 7*quantity.Ampere
	out["input limit"] = limited
	untracked := alone(van(3, 160))
	untracked.Chargers[0].Tracking = build.NoTracking
	out["no tracking"] = untracked
	nearest := van(10, 220)
	nearest.Chargers[0].Tracking = build.NearestPeak
	out["nearest peak"] = nearest
	two := van(2, -1) // a lid that is up and a level roof on one charger
	two.Surfaces = append(two.Surfaces, build.Surface{Name: "lid", Outline: rectangle(0, 0, 1.2, 0.6), Height: 2.2 * quantity.Metre})
	two.Modules[1].Surface, two.Modules[1].X, two.Modules[1].Y = 1, 0, 0
	two.Postures[0].Tilts = []build.Tilt{{Surface: 1, About: build.Front, Angle: 25 * quantity.Degree}}
	two.Obstacles = nil
	out["two planes"] = two
	return out
}

// By the chart each day of each year offers what the circuit solved at every step does, within half a percent
// of the day's energy or half a watt-hour, and all days together within 0.2 %: also where half the sun is lost to
// shadows that jump from group to group, and with controllers that follow a peak which comes and goes or do not
// track at all.
func TestChart(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	for name, b := range charted(t) {
		for _, seed := range []uint64{5, 22} {
			if _, bias := worstDay(t, name, b, 1, Options{Years: 3, Seed: seed}); math.Abs(bias) > 0.002 {
				t.Errorf("%s, seed %d: all days off by %.3f %%, want 0.2 %%", name, seed, 100*bias)
			}
		}
	}
}

// With the inputs varied, a winter day in a town among them, it is within 1 % of a day and 0.2 % of all; and to
// the bit the same on any number of workers.
func TestChartVaried(t *testing.T) {
	b := shadedDays(t)
	b.Trip.Legs[0].Surroundings, b.Trip.Legs[2].Surroundings = build.Town, build.Suburb
	vary := func(y int) Variation {
		v := AsBuilt(y)
		f := quantity.Ratio(y) / 3
		v.Power, v.Soiling, v.Surroundings, v.Loads, v.Capacity = 1.03-0.25*f, 4*f, 0.4+1.2*f, 0.5+f, 1-0.3*f
		return v
	}
	if _, bias := worstDay(t, "varied", b, 2, Options{Years: 4, Seed: 6, Vary: vary}); math.Abs(bias) > 0.002 {
		t.Errorf("all days off by %.3f %%", 100*bias)
	}
	one := run(t, b, Options{Years: 5, Workers: 1, Chart: true, Vary: vary})
	if three := run(t, b, Options{Years: 5, Workers: 3, Chart: true, Vary: vary}); !reflect.DeepEqual(one, three) {
		t.Error("one worker and three gave different answers")
	}
}

// A weather file's light, whose share of beam is not that of its clearness, is read where the share is the same:
// days within 0.5 %, all days too.
func TestChartRecorded(t *testing.T) {
	p := at(t, "field", "Africa/Nairobi", 0, 37.5, 1700)
	l := stay(p, time.Date(2027, 3, 20, 0, 0, 0, 0, p.Zone), 3)
	l.Heading, l.WeatherFile = 60*quantity.Degree, "field"
	o := Options{Years: 1, Files: map[string]Hourly{"field": dry{3 * time.Hour}}}
	if _, bias := worstDay(t, "recorded", shaded(l), 1, o); math.Abs(bias) > 0.005 {
		t.Errorf("all days off by %.2f %%", 100*bias)
	}
}
