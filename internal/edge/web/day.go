package web

import (
	"errors"
	"strconv"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/sheet"
)

// dayView is the installation day, on a date that is chosen.
type dayView struct {
	Date   string
	Crew   int
	Fault  string // why there is no plan
	Lead   string
	Values []sheet.Value
	Tables []tableView
	Lists  []sheet.List
	Notes  []string
}

// dayOf plans the day; without a date, the day before the trip begins.
func dayOf(o opened, date, crew string) (*dayView, error) {
	v := &dayView{Crew: 2}
	if n, err := strconv.Atoi(crew); err == nil && n >= 2 && n <= 12 {
		v.Crew = n
	}
	where := homeOf(o.build)
	if where == nil {
		v.Fault = "No place is known for the day: give the build a home or a stay."
		return v, nil
	}
	day, err := dateOf(date)
	if err != nil {
		return nil, err
	}
	if day.IsZero() {
		day = o.build.Trip.Legs[0].From.AddDate(0, 0, -7)
	}
	v.Date = day.Format("2006-01-02")
	p, err := dayplan.Make(o.build, dayplan.Job{Day: noonOn(day, where), Place: *where, Crew: v.Crew})
	switch {
	case errors.Is(err, dayplan.ErrNothingBonded), errors.Is(err, dayplan.ErrNoPlace):
		v.Fault = err.Error() + "."
		return v, nil
	case err != nil:
		return nil, wrong("%v", err)
	}
	sh := sheet.Day(o.build, p)
	v.Lead, v.Values, v.Lists, v.Notes = sh.Lead, sh.Values, sh.Lists, sh.Notes
	for _, t := range sh.Tables {
		v.Tables = append(v.Tables, tableOf(t))
	}
	return v, nil
}

// homeOf returns where the vehicle lives, or else where the trip begins.
func homeOf(b *build.Build) *build.Place {
	if b.Home != nil && b.Home.Zone != nil {
		return b.Home
	}
	if len(b.Trip.Legs) > 0 && b.Trip.Legs[0].Place.Zone != nil {
		return &b.Trip.Legs[0].Place
	}
	return nil
}

// noonOn returns noon of a date at a place.
func noonOn(day time.Time, p *build.Place) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 12, 0, 0, 0, p.Zone)
}
