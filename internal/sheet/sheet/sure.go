package sheet

import (
	"fmt"

	"noonmark/internal/answer/bands"
)

// sure adds to the trip's sheet how sure it is, when that was drawn: the band, what makes it, and the one reading that
// would narrow it most.
func sure(j Job, s *Sheet) {
	a := j.Sure
	if a == nil {
		return
	}
	s.Values = append(s.Values, Value{"how sure: harvest of a day", fmt.Sprintf("%s to %s Wh", whole(a.PerDay.P90), whole(a.PerDay.P10))},
		Value{"how sure: nights short, middle", whole(a.Nights.P50)}, Value{"the same, one draw in ten", whole(a.Nights.P90)})
	if a.Year != nil {
		s.Values = append(s.Values, Value{"how sure: harvest of a year", fmt.Sprintf("%s to %s kWh", number(a.Year.P90/1000, 3), number(a.Year.P10/1000, 3))})
	}
	t := Table{Title: "How sure: what makes the band", Head: []string{"not known well", "offered", "harvest"}, Right: []int{1, 2}, Fine: true}
	if a.NightsBy != nil {
		t.Head, t.Right = append(t.Head, "nights short"), append(t.Right, 3)
	}
	for _, x := range a.Energy {
		row := []string{x.Name, shareText(a.OfferedBy, x.Key), shareText(a.Energy, x.Key)}
		if a.NightsBy != nil {
			row = append(row, shareText(a.NightsBy, x.Key))
		}
		t.Rows = append(t.Rows, row)
	}
	s.Tables = append(s.Tables, t)
	taken := List{Title: "How sure: what was taken", Why: fmt.Sprintf("%d draws of all of it together. The table has percent of a figure's variance, each doubt with others, and the standard error. Harvest follows use where the battery fills: offered is what the roof can do.", a.Draws)}
	for _, d := range a.Doubts {
		taken.Lines = append(taken.Lines, upper(d.Name)+": "+d.Text+" ["+d.Source.String()+"]")
	}
	s.Lists = append(s.Lists, taken)
	if a.Best != nil {
		s.Notes = append(s.Notes, "The one reading that would tell most: "+a.Best.Text()+".")
	}
	for _, n := range a.Notes {
		s.Notes = append(s.Notes, upper(n)+".")
	}
}

// shareText prints an input's total share with its standard error.
func shareText(list []bands.Input, key string) string {
	for _, x := range list {
		if x.Key == key {
			return fmt.Sprintf("%s ± %s", whole(100*x.Total), whole(100*x.TotalError))
		}
	}
	return nothing
}
