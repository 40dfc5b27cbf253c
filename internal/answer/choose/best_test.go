package choose

import (
	"cmp"
	"context"
	"math"
	"runtime"
	"slices"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// four is a van roof with four things on it and three module types.
func four(t testing.TB) *build.Build {
	b := van(t, 3.2, 1.5, 1.0, 0.5)
	thing := func(name string, x, y, l, w, h float64) build.Obstacle {
		return build.Obstacle{Name: name, Outline: rectangle(x, y, l, w), Height: quantity.Length(h)}
	}
	b.Obstacles = []build.Obstacle{thing("box", 0.8, 0.4, 0.5, 0.4, 0.35), thing("fan", 2.2, 0.5, 0.4, 0.4, 0.14), thing("bar", 0.1, 0.1, 0.04, 1.3, 0.1), thing("aerial", 3.1, 0.7, 0.04, 0.04, 0.5)}
	wide, foil := b.Types[0], b.Types[0]
	wide.Name, wide.Length, wide.Width = "wide", 1.2*quantity.Metre, 0.55*quantity.Metre
	wide.Pmax, wide.Isc, wide.Imp = 131*quantity.Watt, 6.9*quantity.Ampere, 6.45*quantity.Ampere
	foil.Name, foil.Technology, foil.Length, foil.Width = "foil", build.CIGSFoil, 1.7*quantity.Metre, 0.35*quantity.Metre
	foil.Cells = build.CellGrid{Rows: 2, Columns: 18, Margin: 10 * quantity.Millimetre, DiodePerCell: true, AlongLength: true}
	b.Types = append(b.Types, wide, foil)
	return b
}

// agree computes the best of a search in the full engine and returns the largest distance of one's energy from
// the judge's, of it, after the one factor common to all, that factor, and the rank correlation (Spearman).
func agree(t testing.TB, b *build.Build, best []*Candidate, seed uint64) (worst, factor, rank float64) {
	err := forecast.Each(context.Background(), len(best), func(i int) (err error) {
		best[i].Energy, err = Year(context.Background(), best[i].of(b), seed)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	n := len(best)
	for i := range best {
		factor += best[i].Energy.Joules() / best[i].Judged.Joules() / float64(n)
	}
	for i := range best {
		worst = math.Max(worst, math.Abs(best[i].Energy.Joules()/best[i].Judged.Joules()/factor-1))
	}
	places := func(of func(c *Candidate) quantity.Energy) []int {
		order, at := make([]int, n), make([]int, n)
		for i := range order {
			order[i] = i
		}
		slices.SortFunc(order, func(x, y int) int { return cmp.Compare(of(best[y]), of(best[x])) })
		for place, i := range order {
			at[i] = place
		}
		return at
	}
	x, y := places(func(c *Candidate) quantity.Energy { return c.Judged }), places(func(c *Candidate) quantity.Energy { return c.Energy })
	sum := 0.0
	for i := range x {
		sum += float64((x[i] - y[i]) * (x[i] - y[i]))
	}
	return worst, factor, 1 - 6*sum/float64(n*(n*n-1))
}

// ofKinds are the best of each kind.
func ofKinds(all []*Candidate, most int) []*Candidate {
	var out []*Candidate
	seen := map[string]bool{}
	for _, c := range all {
		if !seen[c.What] && len(out) < most {
			seen[c.What] = true
			out = append(out, c)
		}
	}
	return out
}

// Of the best layouts of each kind the judge and the full engine say the same within 1 %, in the same order.
func TestBestAgain(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	b := four(t)
	_, all, err := arrange(context.Background(), b, Options{Types: []int{0, 1, 2}, Alike: true, Judged: 600, Shown: 4, Grid: 100 * quantity.Millimetre, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	best := ofKinds(all, 12)
	worst, factor, rank := agree(t, b, best, 2)
	for _, c := range best {
		t.Logf("%.2f kWh judged, %.2f kWh computed: %s", c.Judged.WattHours()/1000, c.Energy.WattHours()/1000, c.What)
	}
	t.Logf("best of %d kinds of %d layouts: full over judged %.3f, worst off by %.2f %%, rank correlation %.3f", len(best), len(all), factor, 100*worst, rank)
	if worst > 0.01 || math.Abs(factor-1) > 0.03 || rank < 0.95 {
		t.Error("want 1 %, a factor within 0.03 of 1, 0.95")
	}
}

// BenchmarkArrange is a search of 10,000 layouts of three types among four things, and its best fifty computed
// again; ./speed arrange runs it.
func BenchmarkArrange(b *testing.B) {
	v := four(b)
	for b.Loop() {
		start := time.Now()
		_, all, err := arrange(context.Background(), v, Options{Types: []int{0, 1, 2}, Judged: 10000, Shown: 1})
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(time.Since(start).Seconds(), "seconds")
		b.ReportMetric(float64(len(all)), "candidates")
		worst, _, rank := agree(b, v, all[:50], 0)
		b.ReportMetric(100*worst, "%-worst-of-50")
		b.ReportMetric(rank, "rank-correlation")
	}
}

// BenchmarkCandidates is what 20,000 layouts judged cost over 10,000, and what a whole search costs on one core over
// two.
func BenchmarkCandidates(b *testing.B) {
	v := four(b)
	start := func(judged int) *search { return at(b, v, Options{Types: []int{0, 1, 2}, Judged: judged}) }
	b.Run("20000_over_10000", func(b *testing.B) {
		took := func(judged int) float64 {
			s := start(judged)
			began := time.Now()
			if err := s.seek(context.Background()); err != nil || len(s.all) != judged {
				b.Fatal(err, len(s.all))
			}
			return time.Since(began).Seconds()
		}
		var less, more float64
		for b.Loop() {
			less += took(10000)
			more += took(20000)
		}
		b.ReportMetric(more/less, "times")
	})
	b.Run("one_core_over_two", func(b *testing.B) {
		took := func() float64 {
			began := time.Now()
			if err := start(10000).run(context.Background(), &Arrangement{}); err != nil {
				b.Fatal(err)
			}
			return time.Since(began).Seconds()
		}
		var one, two float64
		for b.Loop() {
			two += took()
			cores := runtime.GOMAXPROCS(1)
			one += took()
			runtime.GOMAXPROCS(cores)
		}
		b.ReportMetric(one/two, "times")
	})
}
