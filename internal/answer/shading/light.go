package shading

import (
	"context"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Span is a stretch of time that a picture of light is of.
type Span int

const (
	OneDay    Span = iota // a clear day of a stay
	WholeTrip             // the trip, in one weather year
	WholeYear             // a year like the longest stay, every seventh day of it
)

// yearEvery is the days between those computed of a year.
const yearEvery = 7

// LightOf returns the light of each cell over a span, of an unshaded one's, module by module and in series
// order. Leg and day are those of a clear day, and else unused. It returns ErrNoLeg for a day at what is no
// stay, ErrNoTrip for a year without a stay, and fails as forecast.Run.
func LightOf(ctx context.Context, b *build.Build, span Span, leg int, day time.Time, seed uint64) ([][]quantity.Ratio, error) {
	o := forecast.Options{Years: 1, Seed: seed, Modules: true}
	one := *b
	switch span {
	case OneDay:
		var ok bool
		if one, ok = dayOf(b, leg, day); !ok {
			return nil, ErrNoLeg
		}
		o.Clear = true
	case WholeYear:
		var ok bool
		if one, ok = forecast.LikeYear(b); !ok {
			return nil, ErrNoTrip
		}
		o.Every = yearEvery
	default:
		one.Trip.Legs = append([]build.Leg(nil), b.Trip.Legs...)
		for i := range one.Trip.Legs { // shade is compared in the built-in climate
			one.Trip.Legs[i].WeatherFile = ""
		}
	}
	a, err := forecast.Run(ctx, &one, o)
	if err != nil {
		return nil, err
	}
	out := make([][]quantity.Ratio, len(a.Modules))
	for m := range a.Modules {
		out[m] = a.Modules[m].Cells
	}
	return out, nil
}

// dayOf returns b on one day of a stay; false for what is no stay.
func dayOf(b *build.Build, leg int, day time.Time) (build.Build, bool) {
	if leg < 0 || leg >= len(b.Trip.Legs) || b.Trip.Legs[leg].Drive || b.Trip.Legs[leg].Place.Zone == nil {
		return build.Build{}, false
	}
	l := b.Trip.Legs[leg]
	y, m, d := day.Date()
	l.WeatherFile = ""
	l.From = time.Date(y, m, d, 0, 0, 0, 0, l.Place.Zone)
	l.Until = l.From.AddDate(0, 0, 1)
	one := *b
	one.Trip.Legs = []build.Leg{l}
	return one, true
}
