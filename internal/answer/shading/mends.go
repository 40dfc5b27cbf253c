package shading

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Effort is what a mend asks for.
type Effort int

const (
	Replug   Effort = iota // other plugs, the same modules where they are
	Setting                // another controller, or another habit of this one
	Placing                // before gluing; after, the module has to come off
	Obstacle               // the thing itself goes, or moves far off
)

// String says what the effort is.
func (e Effort) String() string {
	return [...]string{"plugs and cable only", "another controller or setting", "before gluing", "the thing goes elsewhere"}[e]
}

// Mend is a change and what it gives in a year.
type Mend struct {
	What   string
	Effort Effort
	Gain   quantity.Energy // of a year; negative: it costs
	Note   string          // what to mind
	Of     string          // the string, charger or thing that it changes; empty for a place or turn
	Module string          // for a place or turn, the module and where it goes
	X, Y   quantity.Length
	Turn   quantity.Angle
	moved  bool
}

// worth is the least gain of a year, of what is offered, that a mend is counted for.
const worth = 0.01

// Cheapest returns the mend that asks for least among those worth it, the one of most gain among equals,
// and whether there is one.
func (a *Answer) Cheapest() (Mend, bool) {
	best, ok := Mend{}, false
	for _, m := range a.Mends {
		if m.Gain.Joules() < worth*a.Offered.Year.Joules() {
			continue
		}
		if !ok || m.Effort < best.Effort || m.Effort == best.Effort && m.Gain > best.Gain {
			best, ok = m, true
		}
	}
	return best, ok
}

// Worst returns the thing that costs most in a year, and whether any costs anything.
func (a *Answer) Worst() (Cost, bool) {
	var worst Cost
	for _, c := range a.Obstacles {
		if c.Loss.Year > worst.Loss.Year {
			worst = c
		}
	}
	return worst, worst.Loss.Year > 0
}

// candidate is a changed build.
type candidate struct {
	mend  Mend
	build *build.Build
}

// mends returns what turning, moving, other wiring and another habit of the controller would give, by
// falling gain, in a's year; places are tried every grid. yearOf is the year of a changed build in the same
// weather, asked for from several goroutines.
func mends(ctx context.Context, b *build.Build, a *Answer, grid float64, yearOf func(*build.Build) (quantity.Energy, error)) ([]Mend, error) {
	out := parallels(b)
	out = append(out, trackers(b)...)
	for m := range b.Modules {
		out = append(out, turns(b, m, grid)...)
		out = append(out, moves(b, m, grid)...)
	}
	gains := make([]quantity.Energy, len(out))
	err := forecast.Each(ctx, len(out), func(i int) error {
		e, err := yearOf(out[i].build)
		gains[i] = e - a.Offered.Year
		return err
	})
	if err != nil {
		return nil, err
	}
	var list []Mend
	for i := range out {
		m := out[i].mend
		m.Gain = gains[i]
		if m.Effort == Replug && a.Offered.Year+gains[i] < a.Offered.Year/10 {
			m.Note = "the volts of one module fall under what the controller needs"
		}
		list = append(list, m)
	}
	for _, c := range a.Obstacles {
		if !c.Caster.Surface {
			list = append(list, Mend{What: "do without " + c.Name, Effort: Obstacle, Of: c.Name, Gain: c.Loss.Year, Note: "or put it on the side of the cells away from the noon sun, as you commonly stand"})
		}
	}
	list = bestPlaces(list)
	slices.SortStableFunc(list, func(x, y Mend) int { return cmp.Compare(y.Gain, x.Gain) })
	return list, nil
}

// bestPlaces keeps the best place of each module.
func bestPlaces(list []Mend) []Mend {
	best := map[string]Mend{}
	for _, m := range list {
		if m.moved {
			if old, ok := best[m.Module]; !ok || m.Gain > old.Gain {
				best[m.Module] = m
			}
		}
	}
	return slices.DeleteFunc(list, func(m Mend) bool { return m.moved && best[m.Module] != m })
}

// parallels wires modules of one type, in series on a charger, side by side.
func parallels(b *build.Build) []candidate {
	var out []candidate
	for c := range b.Chargers {
		ch := &b.Chargers[c]
		if len(ch.Strings) != 1 || len(b.Strings[ch.Strings[0]].Modules) < 2 {
			continue
		}
		old := b.Strings[ch.Strings[0]]
		if slices.ContainsFunc(old.Modules, func(m int) bool { return b.Modules[m].Type != b.Modules[old.Modules[0]].Type }) {
			continue
		}
		changed := *b
		changed.Strings, changed.Chargers = slices.Clone(b.Strings), slices.Clone(b.Chargers)
		changed.Chargers[c].Strings = nil
		for _, m := range old.Modules {
			s := old
			s.Modules = []int{m}
			changed.Chargers[c].Strings = append(changed.Chargers[c].Strings, len(changed.Strings))
			changed.Strings = append(changed.Strings, s)
		}
		note := "the current adds up: check cable, input amperes and the hot working voltage anew"
		if len(old.Modules) > 2 {
			note += "; three strings or more want a fuse each"
		}
		out = append(out, candidate{Mend{What: fmt.Sprintf("wire the modules of %s in parallel", old.Name), Effort: Replug, Note: note, Of: old.Name}, &changed})
	}
	return out
}

// trackers gives a controller the habit of looking for the highest peak.
func trackers(b *build.Build) []candidate {
	var out []candidate
	for c := range b.Chargers {
		if b.Chargers[c].Tracking == build.GlobalPeak {
			continue
		}
		changed := *b
		changed.Chargers = slices.Clone(b.Chargers)
		changed.Chargers[c].Tracking = build.GlobalPeak
		out = append(out, candidate{Mend{What: fmt.Sprintf("a controller at %s that looks for the highest peak", b.Chargers[c].Name), Effort: Setting, Of: b.Chargers[c].Name}, &changed})
	}
	return out
}

// turns turns a module by a quarter about its middle, or about the corner where that is the only way to fit.
func turns(b *build.Build, m int, grid float64) []candidate {
	mod := b.Modules[m]
	low, high := b.Footprint(&mod)
	mod.Turn = quantity.Angle(math.Mod(mod.Turn.Degrees()+90, 360)) * quantity.Degree
	l, h := b.Footprint(&mod)
	mod.X = (low.X+high.X)/2 - (h.X-l.X)/2
	mod.Y = (low.Y+high.Y)/2 - (h.Y-l.Y)/2
	changed := with(b, m, mod)
	if !changed.Free(m, edge) {
		place, ok := nearestPlace(changed, m, grid)
		if !ok {
			return nil
		}
		changed = place
	}
	to := changed.Modules[m]
	return []candidate{{Mend{What: fmt.Sprintf("turn %s by 90°, its front left corner at [%s, %s]", mod.Name, metres(to.X), metres(to.Y)), Effort: Placing,
		Module: mod.Name, X: to.X, Y: to.Y, Turn: to.Turn}, changed}}
}

func metres(l quantity.Length) string { return fmt.Sprintf("%.2f m", l.Metres()) }

// with returns b with a module in another place.
func with(b *build.Build, m int, mod build.Module) *build.Build {
	changed := *b
	changed.Modules = slices.Clone(b.Modules)
	changed.Modules[m] = mod
	return &changed
}

// edge is how far a module keeps from the surface's edge and from other modules and things when moved.
const edge = 20 * quantity.Millimetre

// finely and coarsely are the steps of places tried, m.
const finely, coarsely = 0.05, 0.1

// places calls yield with b for each place of a grid where module m fits.
func places(b *build.Build, m int, grid float64, yield func(*build.Build)) {
	mod := b.Modules[m]
	box := build.Plan(b.Surfaces[mod.Surface].Outline).Bounds()
	for x := box.Low.X + edge.Metres(); x < box.High.X; x += grid {
		for y := box.Low.Y + edge.Metres(); y < box.High.Y; y += grid {
			mod.X, mod.Y = quantity.Length(x), quantity.Length(y)
			if c := with(b, m, mod); c.Free(m, edge) {
				yield(c)
			}
		}
	}
}

// nearestPlace returns the place nearest to where the module is.
func nearestPlace(b *build.Build, m int, grid float64) (best *build.Build, ok bool) {
	at := b.Modules[m]
	least := math.Inf(1)
	places(b, m, grid, func(c *build.Build) {
		d := math.Hypot((c.Modules[m].X - at.X).Metres(), (c.Modules[m].Y - at.Y).Metres())
		if d < least {
			best, least = c, d
		}
	})
	return best, best != nil
}

// tried is how many of the places that look best by their light are run.
const tried = 2

// moves returns the module in the places where the weakest cells of its groups get most light.
func moves(b *build.Build, m int, grid float64) []candidate {
	type scored struct {
		build *build.Build
		score float64
	}
	sample := forecast.SunsOf(b)
	var list []scored
	places(b, m, grid, func(c *build.Build) { list = append(list, scored{c, sample.Light(c, m)}) })
	slices.SortStableFunc(list, func(x, y scored) int { return cmp.Compare(y.score, x.score) })
	now := sample.Light(b, m)
	var out []candidate
	for _, s := range list {
		if len(out) == tried || s.score <= now*1.002 {
			break
		}
		to := s.build.Modules[m]
		if slices.ContainsFunc(out, func(c candidate) bool {
			return math.Hypot((c.mend.X-to.X).Metres(), (c.mend.Y-to.Y).Metres()) < 3*grid
		}) {
			continue
		}
		out = append(out, candidate{Mend{What: fmt.Sprintf("move %s, its front left corner to [%s, %s]", to.Name, metres(to.X), metres(to.Y)), Effort: Placing,
			Module: to.Name, X: to.X, Y: to.Y, Turn: to.Turn, moved: true}, s.build})
	}
	return out
}
