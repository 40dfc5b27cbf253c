package sheet

import (
	"fmt"
	"math"

	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
)

// WithCosts returns the sheet of the sun with what each thing on the roof costs, and what would mend it.
func WithCosts(s Sheet, a *shading.Answer) Sheet {
	all := math.Max(1, a.Offered.Year.Joules()+a.Together.Year.Joules())
	kWh := func(e quantity.Energy) string { return number(e.WattHours()/1000, 3) + " kWh" }
	share := func(e quantity.Energy) string { return number(100*e.Joules()/all, 2) + " %" }
	t := Table{Title: "What each thing costs, at the battery", Head: []string{"thing", "trip", "year", "of the year", "hours a year with its shadow on a cell"}, Right: []int{1, 2, 3, 4}}
	for _, c := range a.Obstacles {
		t.Rows = append(t.Rows, []string{c.Name, wattHours(c.Loss.Trip), kWh(c.Loss.Year), share(c.Loss.Year), whole(c.Hours.Year)})
		s.Values = append(s.Values, Value{c.Name + " costs, a year", share(c.Loss.Year)})
	}
	if len(t.Rows) > 0 {
		t.Rows = append(t.Rows, []string{"all together", wattHours(a.Together.Trip), kWh(a.Together.Year), share(a.Together.Year), ""})
		s.Tables = append([]Table{t}, s.Tables...)
	} else {
		s.Notes = append(s.Notes, "Nothing stands on the roof in the postures of this trip.")
	}
	mends := Table{Title: "What would change it", Head: []string{"a year", "change", "effort", "mind"}, Right: []int{0}}
	for _, m := range a.Mends {
		sign := ""
		if m.Gain > 0 {
			sign = "+"
		}
		mends.Rows = append(mends.Rows, []string{sign + kWh(m.Gain), m.What, m.Effort.String(), m.Note})
	}
	if len(mends.Rows) > 0 {
		s.Tables = append(s.Tables, mends)
	}
	if worst, ok := a.Worst(); ok {
		line := fmt.Sprintf("%s costs most, %s of the year", worst.Name, share(worst.Loss.Year))
		if m, ok := a.Cheapest(); ok {
			line += fmt.Sprintf("; cheapest mend that gives 1 %% or more: %s, %s", m.What, kWh(m.Gain))
		}
		s.Lead += " " + upper(line) + "."
	}
	s.Notes = append(s.Notes, "Losses behind bypass diodes do not add up, so one row says what all things cost together.")
	s.Notes = append(s.Notes, a.Assumed...)
	return s
}

// upper begins a sentence.
func upper(s string) string {
	if s == "" || s[0] < 'a' || s[0] > 'z' {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}
