package web

import (
	"errors"
	"strconv"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/sheet"
)

// dayView is what is chosen for the installation day.
type dayView struct {
	Date string // empty: the latest fit one
	Crew string // empty: as many as the longest module asks for
}

// planDay puts the installation day into a job: on the date given, or else on the last fit one before the trip.
func planDay(j *sheet.Job, date, crew string) error {
	b := j.Build
	where := homeOf(b)
	if where == nil {
		j.NoDay = "no place is known for the day: give the build a home or a stay"
		return nil
	}
	job := dayplan.Job{Place: *where}
	if crew != "" {
		n, err := strconv.Atoi(crew)
		if err != nil || n < 1 || n > 12 {
			return wrong("people %q: wanted 1 to 12", crew)
		}
		job.Crew = n
	}
	day, err := dateOf(date)
	if err != nil {
		return err
	}
	make := dayplan.Make
	switch {
	case !day.IsZero():
		job.Day = noonOn(day, where)
		if job.Crew == 0 {
			job.Crew = dayplan.CrewOf(b)
		}
	case len(b.Trip.Legs) > 0:
		make, job.Day = dayplan.Latest, b.Trip.Legs[0].From
	default:
		j.NoDay = "choose a date: the build has no trip to plan back from"
		return nil
	}
	p, err := make(b, job)
	switch {
	case errors.Is(err, dayplan.ErrNothingBonded), errors.Is(err, dayplan.ErrNoPlace):
		j.NoDay = err.Error()
	case err != nil:
		return wrong("%v", err)
	}
	j.Day = p
	return nil
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
