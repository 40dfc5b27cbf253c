package shading

import (
	"context"
	"fmt"
	"slices"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// quickEvery is the days between those Quick looks at.
const quickEvery = 30

// Quick is Costs for the year alone, judged on hours of twelve of its days, with mends: in a fraction of a
// second, to name the worst thing and the cheapest mend. It leaves hours, modules, trip and day empty.
func Quick(ctx context.Context, b *build.Build, seed uint64) (*Answer, error) {
	j, ok := forecast.NewJudge(b, seed, quickEvery)
	if !ok {
		return nil, ErrNoTrip
	}
	l := &b.Trip.Legs[forecast.LongestStay(b)]
	a := &Answer{Where: l.Place.Name, Assumed: append(slices.Clone(assumed),
		fmt.Sprintf("year: at %s, %s, as in the longest stay of the trip; judged on hours of %d days, in one year's weather", place(l.Place), b.Postures[l.Posture].Name, (365+quickEvery-1)/quickEvery))}
	casters := Casters(b)
	years := make([]quantity.Energy, len(casters)+2)
	err := forecast.Each(ctx, len(years), func(i int) (err error) {
		var omit []forecast.Caster
		switch {
		case i == len(casters)+1:
			omit = casters
		case i < len(casters):
			omit = casters[i : i+1]
		}
		years[i], err = j.Year(b, omit...)
		return err
	})
	if err != nil {
		return nil, err
	}
	a.Offered.Year = years[len(casters)]
	a.Together.Year = years[len(casters)+1] - a.Offered.Year
	for i, c := range casters {
		a.Obstacles = append(a.Obstacles, Cost{Name: nameOf(b, c), Caster: c, Loss: Loss{Year: years[i] - a.Offered.Year}})
	}
	a.Mends, err = mends(ctx, b, a, coarsely, func(c *build.Build) (quantity.Energy, error) { return j.Year(c) })
	return a, err
}
