package forecast

import (
	"math"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/shade"
)

// shadedDays is the shaded van some days in winter, camped and driving.
func shadedDays(t testing.TB) *build.Build {
	p := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	q := at(t, "Porto", "Europe/Lisbon", 41.15, -8.61, 90)
	a := stay(p, time.Date(2027, 1, 10, 0, 0, 0, 0, p.Zone), 4)
	a.HeadingFree = true
	drive := build.Leg{Drive: true, From: a.Until, Until: a.Until.Add(5 * time.Hour), Place: p, To: q, Surroundings: build.Motorway}
	b := stay(q, drive.Until, 3)
	b.Posture = 1
	return shaded(a, drive, b)
}

// With things on the roof the ledger closes too, its lines of shade are above zero, and each stage moved by
// one part in a million shows.
func TestShadedLedger(t *testing.T) {
	b := shadedDays(t)
	a := run(t, b, Options{Years: 3, Seed: 2})
	energy := map[Item]float64{}
	var in float64
	for _, e := range a.Ledger {
		energy[e.Item] = e.Energy.WattHours()
		if e.Item.Inward() {
			in += e.Energy.WattHours()
		}
	}
	for _, i := range []Item{RoofShade, Mismatch, Bypass} {
		if !(energy[i] > 0.0005*energy[Sunlight]) {
			t.Errorf("%s: %.1f Wh of %.1f Wh of sunlight, want some", i, energy[i], energy[Sunlight])
		}
	}
	if r := math.Abs(a.Residual.WattHours()) / in; !(r < 1e-9) || !(a.WorstResidual.Float() < 1e-9) {
		t.Errorf("residual %g, worst step %g", r, a.WorstResidual.Float())
	}
	tampered(t, b, []Item{Surroundings, RoofShade, Reflection, Dirt, NotConverted, Weaker, LowLight, CellHeat, Mismatch, Bypass, VoltageWindow})
}

// What stands on the roof costs something, and leaving it all out gives the bare roof.
func TestOmit(t *testing.T) {
	b := shadedDays(t)
	bare := *b
	bare.Obstacles = nil
	all := run(t, b, Options{Years: 2})
	none := run(t, &bare, Options{Years: 2})
	omitted := run(t, b, Options{Years: 2, Omit: []Caster{{Index: 0}, {Index: 1}, {Index: 2}, {Index: 3}}})
	if !(all.Offered.WattHours() < 0.97*none.Offered.WattHours()) {
		t.Errorf("offered %.1f Wh in the shade, %.1f Wh without", all.Offered.WattHours(), none.Offered.WattHours())
	}
	if math.Abs(omitted.Offered.WattHours()-none.Offered.WattHours()) > 1e-9*none.Offered.WattHours() {
		t.Errorf("all things left out: %.3f Wh, nothing there: %.3f Wh", omitted.Offered.WattHours(), none.Offered.WattHours())
	}
}

// The parts a run reads from the table, and lights solved as one, change a day's energy by less than 0.3 %
// against every cell of every step computed; by less than 0.3 Wh where shade leaves under 100 Wh of a day.
func TestShadeExact(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	p := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	const least = 100 * 3600 // J
	for name, change := range map[string]func(*build.Build){
		"two in series": func(*build.Build) {},
		"foil": func(b *build.Build) {
			b.Types[0].Cells = build.CellGrid{Rows: 2, Columns: 18, Margin: 15 * quantity.Millimetre, DiodePerCell: true, AlongLength: true}
		},
		"alone": func(b *build.Build) { b.Modules, b.Strings[0].Modules = b.Modules[:1], []int{0} },
		"in parallel": func(b *build.Build) {
			b.Strings = append(b.Strings, b.Strings[0])
			b.Strings[0].Modules, b.Strings[1].Modules, b.Chargers[0].Strings = []int{0}, []int{1}, []int{0, 1}
		},
	} {
		for _, month := range []time.Month{1, 6} {
			for _, heading := range []quantity.Angle{180 * quantity.Degree, 290 * quantity.Degree} {
				l := stay(p, time.Date(2027, month, 10, 0, 0, 0, 0, p.Zone), 1)
				l.Heading = heading
				b := shaded(l)
				change(b)
				fast := offeredOn(t, b, nil)
				scene, _ := SceneOf(b, 0, nil)
				slow := offeredOn(t, b, shade.NewCaster(scene))
				off := 100 * (fast/slow - 1)
				t.Logf("%s, %v, heading %.0f°: off by %.3f %%", name, month, heading.Degrees(), off)
				if math.Abs(fast-slow) > 0.003*math.Max(slow, least) {
					t.Errorf("%s, %v, heading %.0f°: %.3f Wh by the table, %.3f Wh computed", name, month, heading.Degrees(), fast/3600, slow/3600)
				}
			}
		}
	}
}

// offeredOn runs the first day under a clear sky and returns what is offered to the battery, J; with a
// caster the shadows are computed and no lights are merged.
func offeredOn(t *testing.T, b *build.Build, c *shade.Caster) float64 {
	t.Helper()
	p, err := assemble(b)
	if err != nil {
		t.Fatal(err)
	}
	tp := lay(b)
	r := newRunner(p, tp, p.views())
	r.shadows.exact, r.shadows.apart = c, c != nil
	if c != nil {
		for i := range p.roofs[0].sky {
			p.roofs[0].sky[i] = p.roofs[0].table.Sky(i).Float()
		}
	}
	r.reset(variations(nil, 1)[0])
	sum := 0.0
	for i := range tp.moments {
		m := &tp.moments[i]
		sum += r.step(m, clearAt(m, b.Trip.Legs[0].Place, quantity.Celsius(15))).offered
	}
	return sum
}

// A step in the shade allocates nothing.
func TestShadedStepAllocates(t *testing.T) {
	b := shadedDays(t)
	p, err := assemble(b)
	if err != nil {
		t.Fatal(err)
	}
	tp := lay(b)
	r := newRunner(p, tp, p.views())
	r.reset(variations(nil, 1)[0])
	m := &tp.moments[tp.days[1].first+120]
	w := clearAt(m, b.Trip.Legs[0].Place, quantity.Celsius(15))
	r.step(m, w)
	if n := testing.AllocsPerRun(50, func() { r.step(m, w) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

// On a curved roof the noon sun across the curve costs mismatch, and along it none.
//
// Circle geometry: a chord of 1.4 m and a sagitta of 60 mm turn cells 0.4 m off the middle by about 5.5°, and
// with the sun 51° high the beam on them by about 8 % either way.
func TestCamber(t *testing.T) {
	p := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	lost := func(heading quantity.Angle) float64 {
		l := stay(p, time.Date(2027, 3, 20, 0, 0, 0, 0, p.Zone), 1)
		l.Heading = heading
		b := shaded(l)
		b.Obstacles = nil
		b.Surfaces[0].Camber = &build.Camber{Sagitta: 60 * quantity.Millimetre, Across: true}
		pl, err := assemble(b)
		if err != nil {
			t.Fatal(err)
		}
		tp := lay(b)
		r := newRunner(pl, tp, pl.views())
		r.reset(variations(nil, 1)[0])
		m := &tp.moments[tp.days[0].first+150]
		for i := range tp.moments {
			if tp.moments[i].sin > m.sin {
				m = &tp.moments[i]
			}
		}
		o := r.step(m, clearAt(m, p, quantity.Celsius(15)))
		cells := o.account[Mismatch] + o.account[Bypass]
		return cells / (cells + o.offered)
	}
	along, across := lost(180*quantity.Degree), lost(90*quantity.Degree)
	if !(across > 0.03 && across < 0.12) || !(along < 0.003) {
		t.Errorf("mismatch %.4f of the power with the sun along the vault, %.4f across; want none, and about 0.05", along, across)
	}
}
