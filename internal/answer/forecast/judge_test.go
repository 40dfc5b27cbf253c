package forecast

import (
	"math"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// layouts are shaded roofs that differ in places, turns, wiring and things.
func layouts(t testing.TB) []*build.Build {
	p := at(t, "Lisbon", "Europe/Lisbon", 38.72, -9.14, 50)
	var out []*build.Build
	for k := range 8 {
		l := stay(p, time.Date(2027, 5, 1, 0, 0, 0, 0, p.Zone), 20)
		l.Heading = 200 * quantity.Degree
		b := shaded(l)
		b.Modules[0].X += quantity.Length(0.1 * float64(k%4))
		b.Modules[1].Y += quantity.Length(0.02 * float64(k))
		if k%2 == 1 {
			b.Strings = append(b.Strings, b.Strings[0])
			b.Strings[0].Modules, b.Strings[1].Modules = []int{0}, []int{1}
			b.Chargers[0].Strings = []int{0, 1}
		}
		if k >= 4 {
			b.Obstacles = b.Obstacles[:k-4]
		}
		out = append(out, b)
	}
	return out
}

// A judge's years stand to one another as those of the full computation, within 1 %.
func TestJudge(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	list := layouts(t)[:6]
	j, ok := NewJudge(list[0], 1, 7)
	if !ok {
		t.Fatal("no stay")
	}
	var base float64
	for k, b := range list {
		got, err := j.Year(b)
		if err != nil {
			t.Fatal(err)
		}
		whole, _ := LikeYear(b)
		full := run(t, &whole, Options{Years: 1, Seed: 1, Every: 7})
		ratio := got.WattHours() / (full.Offered.WattHours() * 365 / 53)
		if k == 0 {
			base = ratio
			if base < 0.9 || base > 1.1 {
				t.Errorf("a judge's year is %.3f of the full one, want about 1", base)
			}
		}
		if math.Abs(ratio/base-1) > 0.01 {
			t.Errorf("layout %d: the judge says %.1f kWh, the full computation %.1f kWh: %.2f %% off the first layout's ratio", k, got.WattHours()/1000, full.Offered.WattHours()*365/53/1000, 100*(ratio/base-1))
		}
	}
}

// BenchmarkJudge is one layout judged.
func BenchmarkJudge(b *testing.B) {
	list := layouts(b)
	j, _ := NewJudge(list[0], 1, 21)
	for b.Loop() {
		if _, err := j.Year(list[0]); err != nil {
			b.Fatal(err)
		}
	}
}
