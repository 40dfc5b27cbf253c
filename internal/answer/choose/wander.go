package choose

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// field is where a type's modules may stand.
type field struct {
	kind  int
	spots []spot
}

// parents is how many layouts each round of a search goes on from, and perParent how many it makes of each.
const parents, perParent = 16, 8

// wander spends what is left of the judgements: round by round it moves one module of the best layouts so far,
// of each kind the best few, near or anywhere, and judges what is new. The candidates judged are returned with
// all, judged before.
func wander(ctx context.Context, b *build.Build, j *forecast.Judge, all []Candidate, fields []field, low quantity.Temperature, o Options, p *progress) ([]Candidate, error) {
	random := rand.New(rand.NewPCG(o.Seed, 1<<32))
	seen := map[string]bool{}
	for i := range all {
		seen[all[i].What+key(all[i].set)] = true
	}
	for idle := 0; len(all) < o.Judged && idle < 4; {
		slices.SortStableFunc(all, func(x, y Candidate) int { return cmp.Compare(y.Judged, x.Judged) })
		var next []Candidate
		for _, k := range pickParents(all) {
			c := &all[k]
			f := &fields[slices.IndexFunc(fields, func(f field) bool { return f.kind == c.Type })]
			for range perParent {
				set := moved(b, f, c.set, o, random)
				if set == nil {
					continue
				}
				for _, w := range wirings(b, c.Type, set) {
					if w.Wiring == c.Wiring && !seen[w.What+key(set)] && !forbidden(w.Build, low) && len(all)+len(next) < o.Judged {
						seen[w.What+key(set)] = true
						next = append(next, w)
					}
				}
			}
		}
		if idle++; len(next) > 0 {
			idle = 0
		}
		if err := judgeAll(ctx, j, next, p); err != nil {
			return nil, err
		}
		all = append(all, next...)
	}
	return all, nil
}

// pickParents returns the best of each kind, and the best of all, of a list by falling energy.
func pickParents(all []Candidate) []int {
	var out []int
	seen := map[string]int{}
	for i := range all {
		if seen[all[i].What]++; seen[all[i].What] <= 2 && len(out) < parents || i < parents/2 {
			out = append(out, i)
		}
	}
	return out
}

// moved returns a set with one module at another place that is free, near it or anywhere; nil when a few tries
// find none.
func moved(b *build.Build, f *field, set []spot, o Options, random *rand.Rand) []spot {
	for range 20 {
		i, p := random.IntN(len(set)), f.spots[random.IntN(len(f.spots))]
		if random.IntN(2) == 0 && (p.surface != set[i].surface || math.Abs((p.x-set[i].x).Metres()) > 3*o.Grid.Metres() || math.Abs((p.y-set[i].y).Metres()) > 3*o.Grid.Metres()) {
			continue
		}
		clear := true
		for k := range set {
			clear = clear && (k == i || !meets(b, f.kind, set[k], p, o.Gap.Metres()))
		}
		if clear && p != set[i] {
			out := slices.Clone(set)
			out[i] = p
			return out
		}
	}
	return nil
}
