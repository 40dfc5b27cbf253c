package forecast

import (
	"math"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// wired is b's array of tiles.
func wired(t testing.TB, m *Mosaic, b *build.Build) (w Wired, bound quantity.Energy) {
	tiles := make([]*Tile, len(b.Modules))
	for i := range tiles {
		var err error
		if tiles[i], err = m.Tile(b.Modules[i]); err != nil {
			t.Fatal(err)
		}
		bound += tiles[i].Alone()
	}
	for c := range b.Chargers {
		var list [][]*Tile
		for _, s := range b.Chargers[c].Strings {
			var one []*Tile
			for _, k := range b.Strings[s].Modules {
				one = append(one, tiles[k])
			}
			list = append(list, one)
		}
		w = append(w, list)
	}
	return w, bound
}

// Arrays put together of tiles give what the judge says, and less than their modules one by one.
func TestMosaic(t *testing.T) {
	for k, b := range layouts(t) {
		for _, habit := range []build.Tracking{build.GlobalPeak, build.NearestPeak, build.NoTracking} {
			b.Chargers[0].Tracking = habit
			j, _ := NewJudge(b, 1, 30)
			m := j.NewMosaic()
			w, bound := wired(t, m, b)
			got := m.Year(w)
			want, err := j.Year(b)
			if err != nil {
				t.Fatal(err)
			}
			if off := got.Joules()/want.Joules() - 1; math.Abs(off) > map[bool]float64{false: 0.005, true: 0.03}[habit == build.NearestPeak] {
				t.Errorf("layout %d, habit %d: %.2f kWh of tiles, %.2f kWh judged: %+.2f %%", k, habit, got.WattHours()/1000, want.WattHours()/1000, 100*off)
			} else {
				t.Logf("layout %d, habit %d: %+.2f %%", k, habit, 100*off)
			}
			if got > bound {
				t.Errorf("layout %d, habit %d: %v of tiles, over %v of the modules alone", k, habit, got, bound)
			}
		}
	}
}

// BenchmarkTile is a module in its place laid out, and BenchmarkMosaic an array of tiles judged.
func BenchmarkTile(b *testing.B) {
	v := layouts(b)[0]
	j, _ := NewJudge(v, 1, 30)
	m := j.NewMosaic()
	for b.Loop() {
		if _, err := m.Tile(v.Modules[0]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkMosaic(b *testing.B) {
	for k, name := range []string{"series", "parallel"} {
		b.Run(name, func(b *testing.B) {
			v := layouts(b)[k]
			j, _ := NewJudge(v, 1, 30)
			m := j.NewMosaic()
			w, _ := wired(b, m, v)
			b.ReportAllocs()
			for b.Loop() {
				m.Year(w)
			}
		})
	}
}
