package choose

import (
	"context"
	"reflect"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// boxed is a small roof with a box in its midst.
func boxed(t testing.TB) *build.Build {
	b := van(t, 2.4, 1.2, 1.0, 0.5)
	b.Obstacles = []build.Obstacle{{Name: "box", Outline: rectangle(0.8, 0.4, 0.5, 0.4), Height: 0.35 * quantity.Metre}}
	return b
}

// sets puts whole layouts into all their wirings.
func (s *search) sets(all []whole) []*Candidate {
	var out []*Candidate
	for _, w := range all {
		var set []spot
		for _, k := range w.spots {
			set = append(set, s.spots[k])
		}
		out = append(out, wirings(s.b, set)...)
	}
	return out
}

// Every layout of a small roof judged, in every wiring, none left out: the search meets the best within 2 %, the
// proof meets it itself, and no bound is under it.
func TestExhaustive(t *testing.T) {
	ctx := context.Background()
	b := boxed(t)
	o := Options{Most: 2, Grid: 0.3 * quantity.Metre, Judged: 1 << 20, Seed: 3}
	all := at(t, b, o)
	if _, err := all.judge(ctx, all.sets(all.every())); err != nil {
		t.Fatal(err)
	}
	all.sort()
	best := all.all[0].Judged
	for _, c := range all.all {
		if sum := worth(c.set); c.Judged.Joules() > sum {
			t.Errorf("%s: %v, over its modules' %v alone", c.What, c.Judged, quantity.Energy(sum))
		}
	}
	proof := at(t, b, o)
	var a Arrangement
	if err := proof.prove(ctx, proof.every(), &a); err != nil {
		t.Fatal(err)
	}
	proof.sort()
	if proof.all[0].Judged != best || a.Proof == "" || len(proof.all) > len(all.all) {
		t.Errorf("proven: %v of %d judged, want %v of at most %d", proof.all[0].Judged, len(proof.all), best, len(all.all))
	}
	o.Judged = 300
	some := at(t, b, o)
	if err := some.seek(ctx); err != nil {
		t.Fatal(err)
	}
	some.sort()
	some.bound(&a)
	if got := some.all[0].Judged.Joules() / best.Joules(); got < 0.98 || got > 1 {
		t.Errorf("the search found %.4f of the best of %d", got, len(all.all))
	}
	var loose Arrangement
	if some.bound(&loose); loose.Bound < best {
		t.Errorf("the bound %v is under the best, %v", loose.Bound, best)
	}
	t.Logf("%d layouts in %d wirings; the proof judged %d; the search found %.4f with %d; bound %.4f", len(all.every()), len(all.all), len(proof.all), some.all[0].Judged.Joules()/best.Joules(), len(some.all), loose.Bound.Joules()/best.Joules())
}

// As many layouts as are gone through one and all, on roofs with one thing and with two, of one type and of two: the
// search, of a thousand judged, meets the best within 2 %.
func TestHundredThousand(t *testing.T) {
	if testing.Short() {
		t.Skip("long")
	}
	ctx := context.Background()
	two := boxed(t)
	two.Obstacles = append(two.Obstacles, build.Obstacle{Name: "fan", Outline: rectangle(1.8, 0.1, 0.4, 0.4), Height: 0.14 * quantity.Metre})
	small := two.Types[0]
	small.Name, small.Length, small.Width = "small", 0.6*quantity.Metre, 0.5*quantity.Metre
	small.Pmax, small.Isc, small.Imp = 59.7*quantity.Watt, 3.12*quantity.Ampere, 2.94*quantity.Ampere
	two.Types = append(two.Types, small)
	one := boxed(t)
	one.Types[0] = small
	for name, c := range map[string]struct {
		b *build.Build
		o Options
	}{
		"one thing":  {one, Options{Most: 3, Grid: 0.08 * quantity.Metre}},
		"two things": {two, Options{Types: []int{0, 1}, Most: 3, Grid: 0.1 * quantity.Metre}},
	} {
		c.o.Seed, c.o.Judged = 5, 1<<20
		proof := at(t, c.b, c.o)
		var a Arrangement
		layouts := proof.every()
		if layouts == nil {
			t.Fatalf("%s: too many layouts", name)
		}
		if err := proof.prove(ctx, layouts, &a); err != nil || a.Proof == "" {
			t.Fatal(err, a.Proof)
		}
		proof.sort()
		c.o.Judged = 1000
		some := at(t, c.b, c.o)
		if err := some.seek(ctx); err != nil {
			t.Fatal(err)
		}
		some.sort()
		share := some.all[0].Judged.Joules() / proof.all[0].Judged.Joules()
		t.Logf("%s: %d layouts, the proof judged %d; the search found %.4f of the best with %d", name, len(layouts), len(proof.all), share, len(some.all))
		if share < 0.98 || share > 1+1e-9 {
			t.Errorf("%s: the search found %.4f of the best", name, share)
		}
	}
}

// A search of the same seed answers the same, whatever order its goroutines ran in.
func TestSame(t *testing.T) {
	b := boxed(t)
	o := Options{Most: 2, Grid: 0.3 * quantity.Metre, Judged: 200, Shown: 3, Seed: 3}
	first, err := Arrange(context.Background(), b, o)
	if err != nil {
		t.Fatal(err)
	}
	second, err := Arrange(context.Background(), b, o)
	if err != nil || len(first.Candidates) != len(second.Candidates) || first.Bound != second.Bound {
		t.Fatalf("a second search differs: %v", err)
	}
	for i := range first.Candidates {
		x, y := first.Candidates[i], second.Candidates[i]
		if x.What != y.What || x.Energy != y.Energy || x.Judged != y.Judged || !reflect.DeepEqual(x.Build, y.Build) {
			t.Errorf("candidate %d of a second search: %s, %v", i, y.What, y.Energy)
		}
		if i > 0 && x.Energy > first.Candidates[i-1].Energy {
			t.Error("candidates are not in order")
		}
	}
	if !first.Candidates[0].Front {
		t.Error("the one that gives most is on the front")
	}
}
