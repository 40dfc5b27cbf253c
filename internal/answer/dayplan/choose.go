package dayplan

import (
	"time"

	"noonmark/internal/build/build"
)

// fortnight is the step back from a departure; year bounds the search.
const (
	fortnight = 14 * 24 * time.Hour
	yearBack  = 26
)

// Latest plans the latest day, by fortnights back from one fortnight before departure, on which every module is
// down before the gate closes; the plan of one fortnight before when a year has no such day. The crew is as
// many as the longest module asks for, or job.Crew when that is more than 0. Job.Day is the departure. Errors and
// panics are those of Make.
func Latest(b *build.Build, job Job) (*Plan, error) {
	mounted(b)
	if job.Crew <= 0 {
		job.Crew = CrewOf(b)
	}
	leave := job.Day
	var first *Plan
	for n := 1; n <= yearBack; n++ {
		job.Day = leave.Add(-time.Duration(n) * fortnight)
		p, err := Make(b, job)
		if err != nil {
			return nil, err
		}
		if first == nil {
			first = p
		}
		if p.Fits {
			return p, nil
		}
	}
	return first, nil
}

// CrewOf returns how many people the longest glued module of b asks for, two at least.
func CrewOf(b *build.Build) int {
	mounted(b)
	return workOf(b).crew()
}
