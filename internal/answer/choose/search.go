package choose

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// search is a search of layouts under way.
type search struct {
	b         *build.Build
	o         Options
	coarse    *forecast.Mosaic
	fine      *forecast.Mosaic
	spots     []spot         // by falling worth
	fields    map[int][]spot // by type
	rules     *rules
	kinds     map[string]*kind
	all       []*Candidate
	best      []*Candidate // the first of them by energy, at most parents/2
	seen      map[string]bool
	exact     bool // all layouts are gone through: no kind is barred for a few of it
	limit     int  // of layouts judged
	forbidden int
	passed    quantity.Energy // the most a layout gives, by the first judging, that was not shown for a rule
	progress  progress
}

// newSearch lays out the places. It fails with ErrNoStay, where a label fits no cell, and with ctx's error.
func newSearch(ctx context.Context, b *build.Build, o Options) (*search, error) {
	var judges [2]*forecast.Judge
	err := forecast.Each(ctx, 2, func(i int) error {
		j, ok := forecast.NewJudge(b, o.Seed, [2]int{judgeEvery, fullEvery}[i])
		if !ok {
			return ErrNoStay
		}
		judges[i] = j
		return nil
	})
	if err != nil {
		return nil, err
	}
	s := &search{b: b, o: o, limit: o.Judged, coarse: judges[0].NewMosaic(), fine: judges[1].NewMosaic(), seen: map[string]bool{}, kinds: map[string]*kind{}, fields: map[int][]spot{}, progress: progress{total: o.Judged, tell: o.Progress}}
	if s.rules, err = rulesOf(b); err != nil {
		return nil, err
	}
	places, grid, err := free(ctx, b, o)
	if err != nil {
		return nil, err
	}
	s.o.Grid = grid
	if s.spots, err = layOut(ctx, b, s.coarse, places, s.progress.places); err != nil {
		return nil, err
	}
	for _, p := range s.spots {
		s.fields[p.kind] = append(s.fields[p.kind], p)
	}
	return s, nil
}

// left returns how many may be judged yet.
func (s *search) left() int { return s.limit - len(s.all) }

// run judges layouts and bounds the best.
func (s *search) run(ctx context.Context, a *Arrangement) error {
	few := s.every()
	if few != nil { // half is kept for the proof
		s.exact, s.limit = true, max(1, s.o.Judged/2)
	}
	if err := s.seek(ctx); err != nil {
		return err
	}
	s.limit = s.o.Judged
	if err := s.prove(ctx, few, a); err != nil {
		return err
	}
	s.progress.end()
	a.Judged = len(s.all)
	s.all = slices.DeleteFunc(s.all, func(c *Candidate) bool {
		if c.refused != nil {
			s.rules.refused(c.What, c.refused)
			s.forbidden++
		}
		return c.Judged <= 0
	})
	s.sort()
	s.bound(a)
	for _, c := range s.all {
		c.coarse = c.Judged
	}
	return s.again(ctx)
}

// seek judges layouts made at random from good places, and what is found by changing the best.
func (s *search) seek(ctx context.Context) error {
	fields := make([][]spot, 0, len(s.o.Types)+1)
	for _, t := range s.o.Types {
		fields = append(fields, s.fields[t])
	}
	if len(fields) > 1 && !s.o.Alike {
		fields = append(fields, s.spots)
	}
	for k, f := range fields {
		sets, err := layouts(ctx, f, s.o, s.limit/2/len(fields), uint64(k))
		if err != nil {
			return err
		}
		list, err := s.wire(ctx, sets)
		if err != nil {
			return err
		}
		if _, err := s.judge(ctx, list); err != nil {
			return err
		}
	}
	return s.wander(ctx)
}

// wire puts sets into all their wirings, on all cores.
func (s *search) wire(ctx context.Context, sets [][]spot) ([]*Candidate, error) {
	wired := make([][]*Candidate, len(sets))
	err := forecast.Each(ctx, len(sets), func(i int) error {
		wired[i] = wirings(s.b, sets[i])
		return nil
	})
	return slices.Concat(wired...), err
}

// judge judges the candidates that are new and within the rules, as many as are left, on all cores; done reports
// whether that was all.
func (s *search) judge(ctx context.Context, list []*Candidate) (done bool, err error) {
	if err := s.meet(ctx, list); err != nil {
		return false, err
	}
	from := len(s.all)
	done = true
	for _, c := range list {
		if s.seen[c.key] {
			continue
		}
		if s.left() <= 0 {
			done = false
			break
		}
		s.seen[c.key] = true
		if barred := s.kinds[c.What].barred; barred != nil {
			s.forbidden++
			s.rules.refused(c.What, barred)
			continue
		}
		c.order = len(s.all)
		s.all = append(s.all, c)
	}
	err = forecast.Each(ctx, len(s.all)-from, func(i int) error {
		c := s.all[from+i]
		if s.kinds[c.What].doubted {
			if c.refused, _ = s.rules.broken(onRoof(c.of(s.b))); c.refused != nil {
				s.progress.note(c)
				return nil
			}
		}
		c.Judged = s.coarse.Year(c.wired(len(s.b.Chargers), func(p spot) *forecast.Tile { return p.tile }))
		s.progress.note(c)
		return nil
	})
	if err != nil {
		return false, err
	}
	s.note(s.all[from:])
	return done, nil
}

// sort puts the candidates in order of falling energy.
func (s *search) sort() {
	slices.SortFunc(s.all, before)
}

// again judges the best, and the best few of each kind, on more days and hours, brings the rest to the same measure,
// each kind by its own, and sorts by falling energy.
func (s *search) again(ctx context.Context) error {
	if len(s.all) == 0 {
		return nil
	}
	n := min(len(s.all), max(fineLeast, int(fineShare*float64(len(s.all)))))
	best := slices.Clone(s.all[:n])
	seen := map[string]int{}
	for i, c := range s.all {
		if seen[c.What]++; i >= n && seen[c.What] <= fineOfKind && len(best) < n+fineOfKind*4*s.o.Shown {
			best = append(best, c)
		}
	}
	tiles := map[*forecast.Tile]*forecast.Tile{}
	var places []spot
	for _, c := range best {
		for _, p := range c.set {
			if _, ok := tiles[p.tile]; !ok {
				tiles[p.tile] = nil
				places = append(places, p)
			}
		}
	}
	fine := make([]*forecast.Tile, len(places))
	err := forecast.Each(ctx, len(places), func(i int) (err error) {
		fine[i], err = s.fine.Tile(places[i].module(s.b))
		return err
	})
	if err != nil {
		return err
	}
	for i, p := range places {
		tiles[p.tile] = fine[i]
	}
	second := make([]quantity.Energy, len(best))
	err = forecast.Each(ctx, len(best), func(i int) error {
		c := best[i]
		second[i] = s.fine.Year(c.wired(len(s.b.Chargers), func(p spot) *forecast.Tile { return tiles[p.tile] }))
		return nil
	})
	if err != nil {
		return err
	}
	var common ratio
	own := map[string]*ratio{}
	for i, c := range best {
		if own[c.What] == nil {
			own[c.What] = &ratio{}
		}
		own[c.What].take(c.Judged, second[i])
		common.take(c.Judged, second[i])
	}
	for _, c := range s.all {
		r := own[c.What]
		if r == nil {
			r = &common
		}
		c.Judged = quantity.Energy(c.Judged.Joules() * r.after / r.before)
	}
	for i, c := range best {
		c.Judged, c.fine = second[i], true
	}
	s.sort()
	return nil
}

// ratio is what the second judging makes of the first.
type ratio struct{ before, after float64 }

func (r *ratio) take(before, after quantity.Energy) {
	r.before += before.Joules()
	r.after += after.Joules()
}

// progress counts what is judged and tells of the best so far.
type progress struct {
	mu          sync.Mutex
	done, total int
	energy      quantity.Energy
	best        string
	tell        func(done, total int, best string)
}

// places tells of places laid out, before anything is judged.
func (p *progress) places(done, total int) {
	if p.tell != nil {
		p.tell(0, p.total, fmt.Sprintf("none yet, %d of %d places laid out", done, total))
	}
}

// years tells of the years of the best computed, after all is judged.
func (p *progress) years(done, total int) {
	if p.tell != nil {
		p.tell(p.done, p.total, fmt.Sprintf("%s, %.0f kWh; %d of %d years computed", p.best, p.energy.WattHours()/1000, done, total))
	}
}

func (p *progress) note(c *Candidate) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if c.Judged > p.energy || p.done == 0 {
		p.energy, p.best = c.Judged, c.What
	}
	if p.done++; p.done%50 == 0 || p.done == p.total {
		p.say()
	}
}

// end tells that no more is judged, where not all was that might have been.
func (p *progress) end() {
	if p.done > 0 && p.done < p.total {
		p.total = p.done
		p.say()
	}
}

func (p *progress) say() {
	if p.tell != nil {
		p.tell(p.done, p.total, fmt.Sprintf("%s, %.0f kWh", p.best, p.energy.WattHours()/1000))
	}
}

// counter tells of things done by several goroutines, every so many.
type counter struct {
	sync.Mutex
	done, total, each int
	tell              func(done, total int)
}

func (c *counter) one() {
	c.Lock()
	defer c.Unlock()
	if c.done++; c.done%c.each == 0 || c.done == c.total {
		c.tell(c.done, c.total)
	}
}
