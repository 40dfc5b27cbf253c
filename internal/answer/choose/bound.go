package choose

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// enumerated is how many layouts are gone through one and all; more are only searched.
const enumerated = 100_000

// whole is a layout, by spots, and what its modules are worth each alone: no wiring gives more.
type whole struct {
	spots []int32
	worth float64
}

// every returns all layouts, by falling worth, nil where they are more than enumerated.
func (s *search) every() []whole {
	gap := s.o.Gap.Metres()
	if pairs := 0; s.o.Most > 1 {
		for i := range s.spots {
			for k := range i {
				if !meets(&s.spots[i], &s.spots[k], gap) {
					pairs++
				}
			}
			if pairs > enumerated {
				return nil
			}
		}
	}
	out := []whole{}
	set := make([]int32, 0, s.o.Most)
	var grow func(from int, worth float64) bool
	grow = func(from int, worth float64) bool {
		for k := from; k < len(s.spots); k++ {
			p := &s.spots[k]
			if s.o.Alike && len(set) > 0 && p.kind != s.spots[set[0]].kind || slices.ContainsFunc(set, func(i int32) bool { return meets(&s.spots[i], p, gap) }) {
				continue
			}
			if len(out) == enumerated {
				return false
			}
			set = append(set, int32(k))
			out = append(out, whole{slices.Clone(set), worth + p.worth()})
			if len(set) < s.o.Most && !grow(k+1, worth+p.worth()) {
				return false
			}
			set = set[:len(set)-1]
		}
		return true
	}
	if !grow(0, 0) {
		return nil
	}
	slices.SortStableFunc(out, func(x, y whole) int { return cmp.Compare(y.worth, x.worth) })
	return out
}

// proveAtOnce is how many layouts are judged between two looks whether the rest can still give more.
const proveAtOnce = 64

// prove judges all layouts by falling worth until none that is left can give more than the best, where there are
// few enough.
func (s *search) prove(ctx context.Context, all []whole, a *Arrangement) error {
	if all == nil {
		return nil
	}
	for from := 0; from < len(all); from += proveAtOnce {
		if len(s.best) > 0 && all[from].worth <= s.best[0].Judged.Joules() {
			break
		}
		var sets [][]spot
		for _, w := range all[from:min(len(all), from+proveAtOnce)] {
			set := make([]spot, len(w.spots))
			for i, k := range w.spots {
				set[i] = s.spots[k]
			}
			sets = append(sets, set)
		}
		next, err := s.wire(ctx, sets)
		if err != nil {
			return err
		}
		done, err := s.judge(ctx, next)
		if err != nil {
			return err
		}
		if !done {
			a.Bound, a.BoundOf = quantity.Energy(all[from].worth), "the best layout not judged, each module at its own best point, cables and rules of wiring left aside"
			return nil
		}
	}
	a.Proof = fmt.Sprintf("All %d layouts of these places were compared: %d judged, in the wirings allowed; the others could not give more were each module at its own best point.", len(all), len(s.all))
	return nil
}

// bound fills in what no layout passes: the best itself where all were compared, and else the sum of the modules'
// worth in the best set of at most so many that do not meet, or a little over it.
func (s *search) bound(a *Arrangement) {
	if len(s.all) == 0 {
		a.Proof, a.Bound = "", 0
		return
	}
	best := s.all[0].Judged.Joules()
	if a.Proof != "" {
		a.Bound, a.BoundOf = s.all[0].Judged, "the best, for all were compared"
		return
	}
	found := 0.0
	for _, c := range s.all {
		found = math.Max(found, worth(c.set))
	}
	most := newPacking(s).bound(found)
	if a.Bound <= 0 || most < a.Bound.Joules() {
		a.Bound, a.BoundOf = quantity.Energy(most), fmt.Sprintf("at most %d modules that do not meet, each at its own best point, cables and rules of wiring left aside", s.o.Most)
	}
	a.Bound = quantity.Energy(math.Max(a.Bound.Joules(), best))
}

// packing is the linear bound of a packing: of the places over any one point of a surface, one is taken at most.
// Source: Lagrangian relaxation of set packing, any textbook of integer programming; the multipliers by subgradient
// steps after Polyak, whose every step is a valid bound.
type packing struct {
	worth  []float64
	covers [][]int32 // by spot: the points under it
	points int
	most   int
}

// pointsMost is how many points a packing looks at, about.
const pointsMost = 3000

func newPacking(s *search) *packing {
	p := &packing{most: s.o.Most, worth: make([]float64, len(s.spots)), covers: make([][]int32, len(s.spots))}
	area := 0.0
	for k := range s.b.Surfaces {
		if len(s.b.Surfaces[k].Outline) >= 3 {
			box := build.Plan(s.b.Surfaces[k].Outline).Bounds()
			area += (box.High.X - box.Low.X) * (box.High.Y - box.Low.Y)
		}
	}
	pitch := math.Max(s.o.Grid.Metres()/2, math.Sqrt(area/pointsMost))
	margin := s.o.Gap.Metres()/2 - touch
	for k := range s.b.Surfaces {
		if len(s.b.Surfaces[k].Outline) < 3 {
			continue
		}
		box := build.Plan(s.b.Surfaces[k].Outline).Bounds()
		across := int((box.High.Y-box.Low.Y)/pitch) + 1
		for i := range s.spots {
			q := &s.spots[i]
			p.worth[i] = q.worth()
			if q.surface != k {
				continue
			}
			first := func(v, low float64) int { return max(0, int(math.Ceil((v-low)/pitch-0.5))) }
			for x := first(q.x.Metres()-margin, box.Low.X); (float64(x)+0.5)*pitch+box.Low.X < q.high[0]+margin; x++ {
				for y := first(q.y.Metres()-margin, box.Low.Y); (float64(y)+0.5)*pitch+box.Low.Y < q.high[1]+margin && y < across; y++ {
					p.covers[i] = append(p.covers[i], int32(p.points+x*across+y))
				}
			}
		}
		p.points += across * (int((box.High.X-box.Low.X)/pitch) + 2)
	}
	return p
}

// boundSteps is how many steps the multipliers make.
const boundSteps = 400

// bound returns what no packing passes, where one of worth found is known.
func (p *packing) bound(found float64) float64 {
	price := make([]float64, p.points)
	slope := make([]float64, p.points)
	least := math.Inf(1)
	step, idle := 1.0, 0
	type gain struct {
		spot int
		gain float64
	}
	for range boundSteps {
		sum := 0.0
		for k := range price {
			sum += price[k]
			slope[k] = 1
		}
		var taken []gain // the most that gain, by falling gain
		for i := range p.worth {
			g := p.worth[i]
			for _, k := range p.covers[i] {
				g -= price[k]
			}
			if g <= 0 || len(taken) == p.most && g <= taken[len(taken)-1].gain {
				continue
			}
			if len(taken) == p.most {
				taken = taken[:p.most-1]
			}
			at, _ := slices.BinarySearchFunc(taken, g, func(x gain, g float64) int { return cmp.Compare(g, x.gain) })
			taken = slices.Insert(taken, at, gain{i, g})
		}
		for _, t := range taken {
			sum += t.gain
			for _, k := range p.covers[t.spot] {
				slope[k]--
			}
		}
		if sum < least*(1-1e-6) {
			least, idle = sum, 0
		} else if idle++; idle >= 20 {
			step, idle = step/2, 0
		}
		norm := 0.0
		for k, g := range slope {
			if price[k] > 0 || g < 0 {
				norm += g * g
			}
		}
		if norm == 0 || least <= found*(1+1e-6) {
			break
		}
		pace := step * (sum - found*0.999) / norm
		for k, g := range slope {
			price[k] = math.Max(0, price[k]-pace*g)
		}
	}
	return least
}
