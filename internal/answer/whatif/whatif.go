// Package whatif holds two builds against each other, now and changed, and says only what differs: figures,
// verdicts and assumptions. Both run through the same weather years, so that a difference is the change's own
// and not the weather's.
//
// Left out: why a figure moved. The trip's ledger of each side says that.
package whatif

import (
	"context"
	"fmt"
	"math"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/build/build"
)

// Side is a build with what was computed of it.
type Side struct {
	Build    *build.Build
	Forecast *forecast.Answer // nil: figures of the trip are left out
	Findings []check.Finding
}

// Compute returns a build's side: its trip through the weather years of o, and all findings. Give both sides the
// same years and seed. It fails as forecast.Run and check.Build do.
func Compute(ctx context.Context, b *build.Build, o forecast.Options) (Side, error) {
	list, err := check.Build(b)
	if err != nil {
		return Side{}, err
	}
	a, err := forecast.Run(ctx, b, o)
	if err != nil {
		return Side{}, err
	}
	list = append(list, check.Mounting(b)...)
	return Side{Build: b, Forecast: a, Findings: append(list, check.Trip(a))}, nil
}

// Figure is a figure of both sides that differs.
type Figure struct {
	Key     string   // "harvest_per_day_Wh"; with a subject after a colon where there are several
	About   string   // "roof", "wiring", "needs", "trip" or "parts": the sheet it stands on
	Name    string   // in words
	Unit    string   // empty: a number
	Digits  int      // decimals it is worth
	Now     *float64 // nil: not there, or not known
	Changed *float64
}

// Verdict is a rule whose word differs.
type Verdict struct {
	ID, Subject  string
	Now, Changed *check.Finding // nil: not judged on that side
}

// Assumption is a value that is assumed differently, or on one side only.
type Assumption struct {
	Path         string
	Now, Changed *build.Assumed // nil: not assumed on that side
}

// Answer is what differs, differences only.
type Answer struct {
	Figures  []Figure
	Verdicts []Verdict // what fails after the change first, then in the order of the findings
	Assumed  []Assumption
	Compared int      // figures looked at
	Notes    []string // what makes the sides hard to compare
}

// Same reports whether nothing differs.
func (a Answer) Same() bool { return len(a.Figures)+len(a.Verdicts)+len(a.Assumed) == 0 }

// Compare returns what differs between two sides. A figure differs where it does in the decimals it is worth.
func Compare(now, changed Side) Answer {
	var a Answer
	was, is := figuresOf(now), figuresOf(changed)
	at := map[string]int{}
	for i := range is {
		at[is[i].key] = i
	}
	seen := map[string]bool{}
	for _, f := range was {
		var other *figure
		if i, ok := at[f.key]; ok {
			other = &is[i]
		}
		seen[f.key] = true
		a.add(&f, other)
	}
	for i := range is {
		if !seen[is[i].key] {
			a.add(nil, &is[i])
		}
	}
	a.Verdicts = verdicts(now.Findings, changed.Findings)
	a.Assumed = assumptions(now.Build.Assumed, changed.Build.Assumed)
	a.Notes = notes(now, changed)
	return a
}

// add takes a figure of both sides in where it differs.
func (a *Answer) add(now, changed *figure) {
	a.Compared++
	f := now
	if f == nil {
		f = changed
	}
	out := Figure{Key: f.key, About: f.about, Name: f.name, Unit: f.unit, Digits: f.digits}
	if now != nil {
		out.Now = now.value
	}
	if changed != nil {
		out.Changed = changed.value
	}
	switch {
	case out.Now == nil && out.Changed == nil:
		return
	case out.Now != nil && out.Changed != nil:
		p := math.Pow10(f.digits)
		if math.Round(*out.Now*p) == math.Round(*out.Changed*p) {
			return
		}
	}
	a.Figures = append(a.Figures, out)
}

// place is a rule's place in a list of findings: the how manieth of its name and subject.
type place struct {
	id, subject string
	nth         int
}

// placed returns the findings by place, and the places in order.
func placed(list []check.Finding) (map[place]*check.Finding, []place) {
	at := map[place]*check.Finding{}
	var order []place
	for i := range list {
		p := place{id: list[i].ID, subject: list[i].Subject}
		for at[p] != nil {
			p.nth++
		}
		at[p] = &list[i]
		order = append(order, p)
	}
	return at, order
}

// verdicts returns the rules whose word differs. A rule that holds and has no counterpart is no difference.
func verdicts(now, changed []check.Finding) []Verdict {
	was, before := placed(now)
	is, after := placed(changed)
	for _, p := range before {
		if is[p] == nil {
			after = append(after, p)
		}
	}
	var fails, rest []Verdict
	for _, p := range after {
		v := Verdict{ID: p.id, Subject: p.subject, Now: was[p], Changed: is[p]}
		switch {
		case v.Now != nil && v.Changed != nil && v.Now.Verdict == v.Changed.Verdict:
		case v.Now == nil && v.Changed.Verdict == check.Pass, v.Changed == nil && v.Now.Verdict == check.Pass:
		case v.Changed != nil && v.Changed.Verdict == check.Fail:
			fails = append(fails, v)
		default:
			rest = append(rest, v)
		}
	}
	return append(fails, rest...)
}

// assumptions returns the values assumed differently, in the order of the changed side.
func assumptions(now, changed []build.Assumed) []Assumption {
	was, is := map[string]*build.Assumed{}, map[string]*build.Assumed{}
	for i := range now {
		was[now[i].Path] = &now[i]
	}
	var out []Assumption
	for i := range changed {
		c := &changed[i]
		if is[c.Path] != nil {
			continue
		}
		is[c.Path] = c
		if n := was[c.Path]; n == nil || n.Value != c.Value {
			out = append(out, Assumption{Path: c.Path, Now: n, Changed: c})
		}
	}
	for i := range now {
		if n := &now[i]; is[n.Path] == nil && was[n.Path] == n {
			out = append(out, Assumption{Path: n.Path, Now: n})
		}
	}
	return out
}

// notes says what makes two sides hard to compare.
func notes(now, changed Side) []string {
	var out []string
	a, b := now.Forecast, changed.Forecast
	if a == nil || b == nil {
		return append(out, "the trip was not computed on both sides")
	}
	if len(a.Days) != len(b.Days) {
		out = append(out, fmt.Sprintf("the trips differ: %d days now, %d changed; hold figures of a day against each other, not sums", len(a.Days), len(b.Days)))
	} else if len(a.Days) > 0 && (!a.Days[0].Date.Equal(b.Days[0].Date) || a.Days[0].Place != b.Days[0].Place) {
		out = append(out, "the trips begin on other days or in other places: the weather differs too")
	}
	if a.Years != b.Years || a.Seed != b.Seed {
		out = append(out, fmt.Sprintf("the weather years differ: %d of seed %d now, %d of seed %d changed; small differences may be the weather's", a.Years, a.Seed, b.Years, b.Seed))
	}
	return out
}
