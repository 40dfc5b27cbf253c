package choose

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// spot is a place for a module and how good it is.
type spot struct {
	surface int
	x, y    quantity.Length
	turn    quantity.Angle
	light   float64
}

// spotsOf returns the free places of a type on all surfaces, both turns, by falling light.
func spotsOf(ctx context.Context, b *build.Build, t int, o Options, suns forecast.Suns) []spot {
	empty := *b
	empty.Modules = nil
	var out []spot
	for s := range b.Surfaces {
		if len(b.Surfaces[s].Outline) < 3 {
			continue
		}
		box := build.Plan(b.Surfaces[s].Outline).Bounds()
		for _, turn := range []quantity.Angle{0, 90 * quantity.Degree} {
			if turn != 0 && b.Types[t].Length == b.Types[t].Width {
				continue
			}
			l, w := b.Types[t].Length.Metres(), b.Types[t].Width.Metres()
			if turn != 0 {
				l, w = w, l
			}
			for _, x := range steps(box.Low.X+o.Gap.Metres(), box.High.X-o.Gap.Metres()-l, o.Grid.Metres(), l+o.Gap.Metres()) {
				for _, y := range steps(box.Low.Y+o.Gap.Metres(), box.High.Y-o.Gap.Metres()-w, o.Grid.Metres(), w+o.Gap.Metres()) {
					if ctx.Err() != nil {
						return nil
					}
					one := empty
					one.Modules = []build.Module{{Name: "m", Type: t, Surface: s, X: quantity.Length(x), Y: quantity.Length(y), Turn: turn}}
					if one.Free(0, o.Gap-0.01*quantity.Millimetre) {
						out = append(out, spot{s, quantity.Length(x), quantity.Length(y), turn, 0})
					}
				}
			}
		}
	}
	err := forecast.Each(ctx, len(out), func(k int) error {
		p, one := &out[k], empty
		one.Modules = []build.Module{{Name: "m", Type: t, Surface: p.surface, X: p.x, Y: p.y, Turn: p.turn}}
		p.light = suns.Light(&one, 0)
		return nil
	})
	if err != nil { // stopped: the caller looks at ctx
		return nil
	}
	slices.SortStableFunc(out, func(p, q spot) int { return cmp.Compare(q.light, p.light) })
	return out
}

// steps returns places from one end to the other, both ends among them, and those of modules packed side by
// side from either end.
func steps(from, to, step, pitch float64) []float64 {
	if to < from-1e-9 {
		return nil
	}
	to = math.Max(from, to)
	var out []float64
	for x := from; x < to; x += step {
		out = append(out, x)
	}
	for x := from + pitch; x < to; x += pitch {
		out = append(out, x)
	}
	for x := to; x > from; x -= pitch {
		out = append(out, x)
	}
	out = append(out, from)
	slices.Sort(out)
	return slices.CompactFunc(out, func(x, y float64) bool { return math.Abs(x-y) < 1e-6 })
}

// meets reports whether modules of a type at two spots stand nearer than a gap.
func meets(b *build.Build, t int, p, q spot, gap float64) bool {
	if p.surface != q.surface {
		return false
	}
	size := func(s spot) (l, w float64) {
		l, w = b.Types[t].Length.Metres(), b.Types[t].Width.Metres()
		if s.turn != 0 {
			l, w = w, l
		}
		return l, w
	}
	pl, pw := size(p)
	ql, qw := size(q)
	e := gap - 1e-6
	return p.x.Metres() < q.x.Metres()+ql+e && q.x.Metres() < p.x.Metres()+pl+e && p.y.Metres() < q.y.Metres()+qw+e && q.y.Metres() < p.y.Metres()+pw+e
}

// layouts returns sets of spots that stand clear of one another, from one module to the most, the brightest
// first: greedy from random orders of places, each then improved by moving single modules.
func layouts(b *build.Build, t int, spots []spot, o Options, budget int, random *rand.Rand) [][]spot {
	if len(spots) == 0 {
		return nil
	}
	type scored struct {
		set   []spot
		light float64
	}
	var out [][]spot
	each := max(4, budget/o.Most/2)
	for n := 1; n <= o.Most; n++ {
		found := map[string]scored{}
		for try := range 3 * each {
			set := greedy(b, t, spots, n, o, try, random)
			if len(set) < n {
				continue
			}
			if try%2 == 0 { // the others stay apart: the circuit may like them better
				improve(b, t, spots, set, o)
			}
			light := 0.0
			for _, p := range set {
				light += p.light
			}
			found[key(set)] = scored{set, light}
			if len(found) >= each {
				break
			}
		}
		var list []scored
		for _, s := range found {
			list = append(list, s)
		}
		slices.SortFunc(list, func(p, q scored) int {
			if p.light != q.light {
				return cmp.Compare(q.light, p.light)
			}
			return cmp.Compare(key(p.set), key(q.set))
		})
		for _, s := range list {
			out = append(out, s.set)
		}
		if len(list) == 0 {
			break
		}
	}
	return out
}

func key(set []spot) string {
	parts := make([]string, len(set))
	for i, p := range set {
		parts[i] = fmt.Sprintf("%d %.3f %.3f %.0f", p.surface, p.x.Metres(), p.y.Metres(), p.turn.Degrees())
	}
	slices.Sort(parts)
	return fmt.Sprint(parts)
}

// greedy takes the brightest places that stand clear: by their light alone at the first try, then, every other
// try, packed from one of the corners, for packed modules leave room for another, or with the light of each
// moved by some noise.
func greedy(b *build.Build, t int, spots []spot, n int, o Options, try int, random *rand.Rand) []spot {
	order := make([]int, len(spots))
	value := make([]float64, len(spots))
	corner := try%2 == 1
	noise := 0.0
	if try > 0 {
		noise = 0.02 * float64(1+try%8)
	}
	right, back := 1.0, 1.0
	if try/2%2 == 1 {
		right = -1
	}
	if try/4%2 == 1 {
		back = -1
	}
	for i := range spots {
		order[i] = i
		value[i] = spots[i].light * (1 + noise*random.NormFloat64())
		if corner {
			value[i] = 0.2*spots[i].light - back*spots[i].x.Metres() - right*spots[i].y.Metres()*0.01
			if try/8%2 == 1 {
				value[i] = 0.2*spots[i].light - right*spots[i].y.Metres() - back*spots[i].x.Metres()*0.01
			}
		}
	}
	slices.SortStableFunc(order, func(p, q int) int { return cmp.Compare(value[q], value[p]) })
	var set []spot
	for _, i := range order {
		clear := !slices.ContainsFunc(set, func(p spot) bool { return meets(b, t, p, spots[i], o.Gap.Metres()) })
		if clear {
			if set = append(set, spots[i]); len(set) == n {
				break
			}
		}
	}
	return set
}

// improve moves single modules to brighter free places until none gains.
func improve(b *build.Build, t int, spots []spot, set []spot, o Options) {
	for range 4 {
		moved := false
		for i := range set {
			for _, p := range spots {
				if p.light <= set[i].light+1e-9 {
					break
				}
				clear := true
				for k := range set {
					if k != i && meets(b, t, set[k], p, o.Gap.Metres()) {
						clear = false
						break
					}
				}
				if clear {
					set[i], moved = p, true
					break
				}
			}
		}
		if !moved {
			return
		}
	}
}
