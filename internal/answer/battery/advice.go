package battery

import (
	"fmt"

	"noonmark/internal/build/build"
)

// built returns the size as built.
func (a *Answer) built() *Size {
	for i := range a.Sizes {
		if a.Sizes[i].Factor == 1 && !a.Sizes[i].Aged {
			return &a.Sizes[i]
		}
	}
	panic("battery: no size as built")
}

// advise says what follows, each in a sentence.
func (a *Answer) advise(b *build.Build) {
	one := a.built()
	say := func(format string, args ...any) { a.Advice = append(a.Advice, fmt.Sprintf(format, args...)) }
	if s := a.smallest(one); s != nil && s.Factor < 1 {
		say("%.3g times the battery would do as well on this trip: %.0f nights short in one year of ten, as now", s.Factor, s.Nights.P90)
	}
	if one.Nights.P90 >= 1 {
		best := one
		for i := range a.Sizes {
			if s := &a.Sizes[i]; !s.Aged && s.Factor > 1 && s.Nights.P90 < best.Nights.P90 {
				best = s
				if s.Nights.P90 < 1 {
					break
				}
			}
		}
		if best != one {
			say("%.3g times the battery brings the nights short in one year of ten from %.0f to %.0f, for %.0f kg more", best.Factor, one.Nights.P90, best.Nights.P90, (best.Mass - one.Mass).Kilograms())
		} else {
			say("a larger battery does not help: what runs short is not stored but never harvested")
		}
	}
	if n := len(a.Cases); n > 1 {
		full, hot, half := a.Cases[1], a.Cases[2], a.Cases[n-1]
		last := len(full.After) - 1
		say("kept full it loses %.0f to %.0f %% in %d years, at 50 %% %.0f to %.0f %%, full in a hot vehicle %.0f to %.0f %%: leave it at 40 to 60 %%, cool", 100*full.After[last].Low.Float(), 100*full.After[last].High.Float(),
			a.Own, 100*half.After[last].Low.Float(), 100*half.After[last].High.Float(), 100*hot.After[last].Low.Float(), 100*hot.After[last].High.Float())
		if full.Standing > 2*full.Cycling {
			say("heat and sitting full age it, not cycles: %.0f %% of the capacity against %.0f %%, the middle of the band", 100*full.Standing.Float(), 100*full.Cycling.Float())
		}
	}
	c := &a.Cells
	switch cold := c.Kept.WattHours(); {
	case c.ColdHours < 0.5:
		say("cold keeps next to nothing out of it on this trip")
	case cold < 0.01*a.Harvest.WattHours():
		say("cold cells hold back sunlight in %.1f hours on %.0f days, but only %.0f Wh of the trip, under a hundredth of the harvest: a heater has little to bring in", c.ColdHours, c.ColdDays, cold)
	case b.Battery.HeaterPower > 0:
		say("cold cells hold back sunlight in %.1f hours on %.0f days, %.0f Wh of the trip, heater and all", c.ColdHours, c.ColdDays, cold)
	default:
		say("cold cells hold back sunlight in %.1f hours on %.0f days, %.0f Wh of the trip: a warmer place inside, or a heater, would bring it in", c.ColdHours, c.ColdDays, cold)
	}
}

// smallest returns the smallest size that does no worse than the built one, nil when that is the smallest.
func (a *Answer) smallest(one *Size) *Size {
	for i := range a.Sizes {
		s := &a.Sizes[i]
		if s.Aged || s.Factor >= 1 {
			continue
		}
		if s.Nights.P90 <= one.Nights.P90 && s.Nights.P50 <= one.Nights.P50 && s.Unmet <= one.Unmet {
			return s
		}
	}
	return nil
}
