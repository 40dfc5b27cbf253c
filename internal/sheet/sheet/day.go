package sheet

import (
	"fmt"
	"strings"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
)

// Day returns the sheet of the installation day.
func Day(b *build.Build, p *dayplan.Plan) Sheet {
	s := Sheet{Key: "day", Title: "The installation day", Cautions: p.Cautions, Notes: p.Notes}
	st := style(b)
	clock := func(t time.Time) string {
		if t.IsZero() {
			return "–"
		}
		if y, m, d := t.Date(); y != p.Date.Year() || m != p.Date.Month() || d != p.Date.Day() {
			return t.Format("2 Jan 15:04")
		}
		return t.Format("15:04")
	}
	where := p.Place + ", " + p.Date.Format("Monday 2 January 2006")
	switch {
	case p.Window.Found && p.Fits:
		s.Lead = fmt.Sprintf("%s: bond from %s to %s. All %d modules are down before the window closes.", where, clock(p.Window.Start), clock(p.Window.Until), p.Placed)
	case p.Window.Found:
		s.Lead = fmt.Sprintf("%s: the window from %s to %s holds %d modules; the rest want another day or more hands.", where, clock(p.Window.From), clock(p.Window.Until), p.Placed)
	default:
		s.Lead = where + ": no hour of a fine day lets you bond. " + p.Window.Why
	}
	s.Values = []Value{{"surface", p.Surface + ", " + p.Skin}, {"adhesive", strings.Join(p.Adhesives, ", ")}, {"crew", fmt.Sprintf("%d; %d at least", p.Crew, p.CrewLeast)},
		{"sun up and down", clock(p.Rise) + ", " + clock(p.Set)}}

	hours := Table{Title: "The hours, on the bare skin", Head: []string{"hour", "air", "skin", "dew", "humidity", "wind", "may bond"}, Right: []int{1, 2, 3, 4, 5}}
	for _, h := range p.Hours {
		open := "yes"
		if !h.Open {
			var why []string
			for _, r := range h.Reasons {
				why = append(why, fmt.Sprint(r))
			}
			open = "no: " + strings.Join(why, ", ")
		}
		hours.Rows = append(hours.Rows, []string{clock(h.From), h.Air.Text(st), h.Skin.Text(st), h.Dew.Text(st), whole(100*h.Humidity.Float()) + " %", h.Wind.Text(st), open})
	}
	before := List{Title: "Before the day", Tick: true}
	tasks := Table{Title: "The work", Head: []string{"from", "to", "people", "task", "mind"}, Right: []int{2}}
	for _, t := range p.Tasks {
		name := t.Name
		if t.Hold {
			name = "HOLD. " + name
		}
		if t.BeforeDays > 0 {
			line := fmt.Sprintf("%d days before: %s", t.BeforeDays, name)
			if t.Note != "" {
				line += ". " + t.Note
			}
			before.Lines = append(before.Lines, line)
			continue
		}
		tasks.Rows = append(tasks.Rows, []string{clock(t.From), clock(t.To), fmt.Sprint(t.People), name, t.Note})
	}
	drive := Table{Title: "When to drive", Head: []string{"stage", "from", "with sun on it", "at most"}, Right: []int{3}}
	for _, d := range p.Drive {
		most := "by hand only"
		if d.Most > 0 {
			most = d.Most.Text(st)
		}
		from := clock(d.From)
		if !d.Found {
			from = "not in the days looked at"
		}
		drive.Rows = append(drive.Rows, []string{fmt.Sprint(d.Stage), from, clock(d.InSun), most})
	}
	s.Tables = []Table{tasks, hours, drive}
	if len(before.Lines) > 0 {
		s.Lists = append(s.Lists, before)
	}
	holds := List{Title: "Hold and ask", Tick: true}
	for _, h := range p.Holds {
		holds.Lines = append(holds.Lines, h.Before+": "+h.Ask+" No-go: "+h.NoGo)
	}
	s.Lists = append(s.Lists, List{Title: "Lay ready", Tick: true, Lines: p.Materials.ReadyToHand}, holds, List{Title: "Try before anything is glued", Tick: true, Lines: p.Trial})
	return s
}
