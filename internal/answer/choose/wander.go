package choose

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"noonmark/internal/answer/forecast"
)

// parents is how many layouts each round of a search goes on from, and perParent how many it makes of each.
const parents, perParent = 16, 8

// idleRounds is how many rounds that find nothing new end a search.
const idleRounds = 4

// wander spends what is left of the judgements: round by round it changes the best layouts so far, of each kind
// the best few, and judges what is new.
func (s *search) wander(ctx context.Context) error {
	random := rand.New(rand.NewPCG(s.o.Seed, 1<<48))
	for idle := 0; s.left() > 0 && idle < idleRounds; {
		before := len(s.all)
		var sets [][]spot
		var only []string // the wiring wanted; empty: all
		for _, c := range s.parents() {
			for range perParent {
				set, same := s.changed(c.set, random)
				if set == nil {
					continue
				}
				sets = append(sets, set)
				if same {
					only = append(only, c.Wiring)
				} else {
					only = append(only, "")
				}
			}
		}
		wired := make([][]*Candidate, len(sets))
		err := forecast.Each(ctx, len(sets), func(i int) error {
			wired[i] = slices.DeleteFunc(wirings(s.b, sets[i]), func(c *Candidate) bool { return only[i] != "" && c.Wiring != only[i] })
			return nil
		})
		if err != nil {
			return err
		}
		if _, err := s.judge(ctx, slices.Concat(wired...)); err != nil {
			return err
		}
		if idle++; len(s.all) > before {
			idle = 0
		}
	}
	return nil
}

// parents returns the best of all and the best of each kind, the better kinds first.
func (s *search) parents() []*Candidate {
	out := slices.Clone(s.best)
	var others []*Candidate
	for _, k := range s.kinds {
		for _, c := range k.best {
			if !slices.Contains(out, c) {
				others = append(others, c)
			}
		}
	}
	slices.SortFunc(others, before)
	return append(out, others[:min(len(others), parents-len(out))]...)
}

// changed returns a set of a set by one change, nil when a few tries find none: mostly a module moved, near or
// anywhere; else a module put in, of any type, those it meets taken out and the room filled again. same says
// that number and types are the same.
func (s *search) changed(set []spot, random *rand.Rand) (out []spot, same bool) {
	if random.IntN(4) > 0 {
		return s.moved(set, random), true
	}
	gap := s.o.Gap.Metres()
	p := s.spots[random.IntN(len(s.spots))]
	out = []spot{p}
	for k := range set {
		if !meets(&set[k], &p, gap) {
			out = append(out, set[k])
		}
	}
	if len(out) > s.o.Most { // one goes for it
		k := 1 + random.IntN(len(out)-1)
		out = slices.Delete(out, k, k+1)
	}
	for range 60 {
		if len(out) >= min(s.o.Most, len(set)+1) {
			break
		}
		q := s.spots[random.IntN(len(s.spots))]
		if (!s.o.Alike || q.kind == p.kind) && clear(out, &q, -1, gap) {
			out = append(out, q)
		}
	}
	if s.o.Alike && slices.ContainsFunc(out, func(q spot) bool { return q.kind != p.kind }) {
		return nil, false
	}
	return out, false
}

// moved returns a set with one module at another place that is free, near it or anywhere; nil when a few tries
// find none.
func (s *search) moved(set []spot, random *rand.Rand) []spot {
	near := 3 * s.o.Grid.Metres()
	for range 20 {
		i := random.IntN(len(set))
		field := s.fields[set[i].kind]
		p := field[random.IntN(len(field))]
		if random.IntN(2) == 0 && (p.surface != set[i].surface || math.Abs((p.x-set[i].x).Metres()) > near || math.Abs((p.y-set[i].y).Metres()) > near) {
			continue
		}
		if p.tile != set[i].tile && clear(set, &p, i, s.o.Gap.Metres()) {
			out := slices.Clone(set)
			out[i] = p
			return out
		}
	}
	return nil
}
