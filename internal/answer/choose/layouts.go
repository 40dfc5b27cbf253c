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

// spot is a place for a module of a type.
type spot struct {
	id            int32 // its number by falling worth
	kind, surface int
	x, y          quantity.Length
	turn          quantity.Angle
	high          [2]float64 // its far corner, m
	tile          *forecast.Tile
}

// worth is what the module would give there alone in a year, J.
func (p spot) worth() float64 { return p.tile.Alone().Joules() }

func (p spot) module(b *build.Build) build.Module {
	how, gap, _ := heldAs(b, p.kind)
	return build.Module{Name: "m", Type: p.kind, Surface: p.surface, X: p.x, Y: p.y, Turn: p.turn, Attachment: how, Gap: gap}
}

// spotsMost is how many places are laid out, about: each takes some milliseconds and twenty kilobytes.
const spotsMost = 6000

// free returns the free places of the types on all surfaces, both turns, and the grid they stand on: coarser than
// asked for where there were more than spotsMost.
func free(ctx context.Context, b *build.Build, o Options) ([]spot, quantity.Length, error) {
	for {
		var out []spot
		for _, t := range o.Types {
			for s := range b.Surfaces {
				if err := ctx.Err(); err != nil {
					return nil, 0, err
				}
				if len(b.Surfaces[s].Outline) >= 3 {
					out = append(out, placesOf(b, t, s, o)...)
				}
			}
		}
		if len(out) <= spotsMost || o.Grid >= coarsest {
			return out, o.Grid, nil
		}
		o.Grid = quantity.Length(math.Ceil(o.Grid.Metres()*math.Sqrt(float64(len(out))/spotsMost)*100+1e-9) / 100) // in whole centimetres
	}
}

// coarsest is the grid that is coarsened no more.
const coarsest = 1 * quantity.Metre

// layOut computes the places and puts them in order of falling worth.
func layOut(ctx context.Context, b *build.Build, m *forecast.Mosaic, out []spot, tell func(done, total int)) ([]spot, error) {
	count := counter{total: len(out), each: 50, tell: tell}
	err := forecast.Each(ctx, len(out), func(k int) (err error) {
		out[k].tile, err = m.Tile(out[k].module(b))
		count.one()
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(out, func(p, q spot) int { return cmp.Compare(q.worth(), p.worth()) })
	for i := range out {
		out[i].id = int32(i)
	}
	return out, nil
}

// placesOf returns the free places of a type on a surface.
func placesOf(b *build.Build, t, s int, o Options) []spot {
	var out []spot
	empty := *b
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
				p := spot{kind: t, surface: s, x: quantity.Length(x), y: quantity.Length(y), turn: turn, high: [2]float64{x + l, y + w}}
				empty.Modules = []build.Module{{Name: "m", Type: t, Surface: s, X: p.x, Y: p.y, Turn: turn}}
				if empty.Free(0, o.Gap-0.01*quantity.Millimetre) {
					out = append(out, p)
				}
			}
		}
	}
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

// touch is how far under the gap two modules may stand for the rounding of their places, m.
const touch = 1e-6

// meets reports whether modules at two spots stand nearer than a gap.
func meets(p, q *spot, gap float64) bool {
	e := gap - touch
	return p.surface == q.surface && p.x.Metres() < q.high[0]+e && q.x.Metres() < p.high[0]+e && p.y.Metres() < q.high[1]+e && q.y.Metres() < p.high[1]+e
}

// clear reports whether a spot stands clear of a set, but for the one at except.
func clear(set []spot, p *spot, except int, gap float64) bool {
	for k := range set {
		if k != except && meets(&set[k], p, gap) {
			return false
		}
	}
	return true
}

// layouts returns sets of spots that stand clear of one another, from one module to the most, for each number
// the best first: greedy from random orders of places, every other then improved by moving single modules.
func layouts(ctx context.Context, spots []spot, o Options, budget int, stream uint64) ([][]spot, error) {
	if len(spots) == 0 {
		return nil, nil
	}
	var out [][]spot
	each := max(4, budget/o.Most/2)
	for n := 1; n <= o.Most; n++ {
		tries := make([][]spot, 2*each)
		err := forecast.Each(ctx, len(tries), func(try int) error {
			random := rand.New(rand.NewPCG(o.Seed, stream<<40|uint64(n)<<32|uint64(try)))
			set := greedy(spots, n, o, try, random)
			if len(set) < n {
				return nil
			}
			if try%2 == 0 { // the others stay apart: the circuit may like them better
				improve(spots, set, o)
			}
			slices.SortFunc(set, func(p, q spot) int { return cmp.Compare(p.id, q.id) })
			tries[try] = set
			return nil
		})
		if err != nil {
			return nil, err
		}
		tries = slices.DeleteFunc(tries, func(set []spot) bool { return set == nil })
		slices.SortFunc(tries, func(p, q []spot) int {
			return cmp.Or(cmp.Compare(worth(q), worth(p)), slices.CompareFunc(p, q, func(x, y spot) int { return cmp.Compare(x.id, y.id) }))
		})
		tries = slices.CompactFunc(tries, func(p, q []spot) bool {
			return slices.EqualFunc(p, q, func(x, y spot) bool { return x.id == y.id })
		})
		if len(tries) == 0 {
			break
		}
		out = append(out, tries[:min(each, len(tries))]...)
	}
	return out, nil
}

// worth is the sum of a set's, each module alone: no wiring gives more.
func worth(set []spot) float64 {
	sum := 0.0
	for i := range set {
		sum += set[i].worth()
	}
	return sum
}

// greedy takes the best places that stand clear: by their worth alone at the first try, then, every other
// try, packed from one of the corners, for packed modules leave room for another, or with the worth of each
// moved by some noise.
func greedy(spots []spot, n int, o Options, try int, random *rand.Rand) []spot {
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
	most := spots[0].worth()
	for i := range spots {
		order[i] = i
		worth := spots[i].worth() / most
		value[i] = worth * (1 + noise*random.NormFloat64())
		if corner {
			value[i] = 0.2*worth - back*spots[i].x.Metres() - right*spots[i].y.Metres()*0.01
			if try/8%2 == 1 {
				value[i] = 0.2*worth - right*spots[i].y.Metres() - back*spots[i].x.Metres()*0.01
			}
		}
	}
	slices.SortStableFunc(order, func(p, q int) int { return cmp.Compare(value[q], value[p]) })
	var set []spot
	for _, i := range order {
		if clear(set, &spots[i], -1, o.Gap.Metres()) {
			if set = append(set, spots[i]); len(set) == n {
				break
			}
		}
	}
	return set
}

// improve moves single modules to better free places until none gains.
func improve(spots []spot, set []spot, o Options) {
	for range 4 {
		moved := false
		for i := range set {
			for k := range spots {
				if spots[k].worth() <= set[i].worth()*(1+1e-9) {
					break
				}
				if clear(set, &spots[k], i, o.Gap.Metres()) {
					set[i], moved = spots[k], true
					break
				}
			}
		}
		if !moved {
			return
		}
	}
}
