package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// DayPlan returns the sheet of the installation day. A job without a day says why there is none.
func DayPlan(j Job) Sheet {
	b, p := j.Build, j.Day
	s := Sheet{Key: "dayplan", Title: "Installation day", Columns: 3}
	if p == nil {
		s.Lead = "No day was planned."
		if j.NoDay != "" {
			s.Lead = "No day to plan: " + j.NoDay + "."
		}
		return s
	}
	d := workday{plan: p, imperial: b.Units == build.Imperial}
	s.Figures = []Figure{{Title: "The day by the hour", Share: 0.6, Least: d.tall(), Draw: d.draw}}
	s.Lead = fmt.Sprintf("%s at %s, a fine day of the season. %s", p.Date.Format("Monday 2 January 2006"), p.Place, upper(windowWords(p)))
	st := style(b)
	clock := func(t time.Time) string {
		if t.IsZero() {
			return "none"
		}
		return t.Format("15:04")
	}
	s.Values = []Value{{"bonded to", p.Surface}, {"skin", p.Skin}, {"with", strings.Join(p.Adhesives, ", ")}, {"people", fmt.Sprintf("%d, at least %d", p.Crew, p.CrewLeast)},
		{"sun up, down", clock(p.Rise) + ", " + clock(p.Set)}}
	if w := p.Window; w.Found {
		s.Values = append(s.Values, Value{"gate open", clock(w.From) + " to " + clock(w.Until)}, Value{"bonding begins", clock(w.Start)},
			Value{"modules down in it", fmt.Sprintf("%d of %d", p.Placed, len(p.Removals))})
	}
	s.Values = append(s.Values, Value{"skin warm enough to bond best", clock(p.Window.WarmFrom)})
	if !p.Window.HotFrom.IsZero() {
		s.Values = append(s.Values, Value{"too hot for the primer", clock(p.Window.HotFrom) + " to " + clock(p.Window.HotUntil)})
	}
	s.Notes = []string{"Bond on a warm day, says practice; not on a hot skin, says the primer. Both limits are in the figures above, the window lies between.",
		"On the day itself the instruments decide, hour by hour, by the same gate."}
	s.Tables = dayTables(p, st)
	s.Lists = dayLists(p)
	return s
}

// upper begins a line with a capital.
func upper(text string) string {
	for i := range text {
		if i > 0 {
			return strings.ToUpper(text[:i]) + text[i:]
		}
	}
	return strings.ToUpper(text)
}

func upperAll(list []string) []string {
	out := make([]string, len(list))
	for i, l := range list {
		out[i] = upper(l)
	}
	return out
}

// sentences are lines with a capital and a full stop.
func sentences(list []string) []string {
	out := upperAll(list)
	for i := range out {
		out[i] = strings.TrimRight(out[i], ". ") + "."
	}
	return out
}

// windowWords say what the window is.
func windowWords(p *dayplan.Plan) string {
	if !p.Window.Found {
		return p.Window.Why + "."
	}
	out := fmt.Sprintf("the gate is open from %s to %s; it %s.", p.Window.From.Format("15:04"), p.Window.Until.Format("15:04"), strings.TrimPrefix(p.Window.Why, "it "))
	if !p.Fits {
		out += fmt.Sprintf(" %d of %d modules are down before it closes: the rest on another day.", p.Placed, len(p.Removals))
	}
	return out
}

// dayTables are what the day uses and from when the vehicle is driven.
func dayTables(p *dayplan.Plan, st quantity.Style) []Table {
	m := &p.Materials
	t := Table{Title: "What the day uses", Head: []string{"", ""}}
	row := func(name, text string) { t.Rows = append(t.Rows, []string{name, text}) }
	row("to clean, scuff and prime", m.Masked.Text(st))
	row("masking tape", m.MaskTape.Text(st))
	if m.Film > 0 {
		row("full-face film or tape", m.Film.Text(st))
	}
	if m.FoamTape > 0 {
		row("foam tape, 25 mm", m.FoamTape.Text(st))
	}
	if m.PrimerBuy > 0 {
		drinks := m.PrimerBuy.Text(st)
		if m.PrimerLeast < m.PrimerBuy {
			drinks = m.PrimerLeast.Text(st) + " to " + drinks
		}
		row("primer", drinks)
		row("containers", fmt.Sprintf("%d of %s, one spare", m.Containers, m.Container.Text(st)))
	}
	row("wipes, alcohol and water", fmt.Sprintf("%d, %s", m.Wipes, m.Alcohol.Text(st)))
	row("abrasive pads; pairs of gloves", fmt.Sprintf("%d; %d", m.Pads, m.Gloves))
	row("weights on boards", fmt.Sprintf("%d bags of 5 kg", m.Weights))
	row("they press with", m.WeightShare.Text(st)+" of what wets a bond")
	out := []Table{}
	if len(p.Drive) > 0 {
		d := Table{Title: "When it may be driven", Head: []string{"", "at most", "bond in shade", "clear sun"}, Right: []int{1}}
		for _, s := range p.Drive {
			most, from, sun := "by hand", "not in 3 weeks", "–"
			if s.Most > 0 {
				most = s.Most.Text(st)
			}
			if s.Found {
				from = s.From.Format("Mon 15:04")
				if s.From.Sub(p.Date) > 6*24*time.Hour {
					from = s.From.Format("2 Jan 15:04")
				}
			}
			if !s.InSun.IsZero() {
				sun = s.InSun.Format("Mon 15:04")
				if s.InSun.Sub(p.Date) > 6*24*time.Hour {
					sun = s.InSun.Format("2 Jan 15:04")
				}
			}
			d.Rows = append(d.Rows, []string{s.Stage.String(), most, from, sun})
		}
		out = append(out, d)
	}
	out = append(out, t)
	if len(m.PatchesByHour) > 0 {
		h := Table{Title: "How much one person primes and covers in time", Head: []string{"skin", "patch", "largest module in"}, Right: []int{0, 1}}
		for _, q := range m.PatchesByHour {
			parts := "cannot be done"
			if q.Parts > 0 {
				parts = plural(q.Parts, "part")
			}
			h.Rows = append(h.Rows, []string{q.Skin.Text(st), q.Patch.Text(st), parts})
		}
		out = append(out, h)
	}
	if len(m.Covers) > 0 {
		c := Table{Title: "Front-edge covers: cutting pattern", Head: []string{"module", "kind", "wide × deep", "off cells", "drains"}, Right: []int{3, 4}}
		hook := quantity.Length(0)
		for _, q := range m.Covers {
			hook += q.Hook
			c.Rows = append(c.Rows, []string{q.Module, q.Kind, fmt.Sprintf("%s × %s mm", whole(q.Width.Millimetres()), whole(q.Depth.Millimetres())), whole(q.OffCells.Millimetres()) + " mm", fmt.Sprint(q.Drains)})
		}
		if hook > 0 {
			c.Rows = append(c.Rows, []string{"all", "hook and loop", hook.Text(st), "", ""})
		}
		out = append(out, c)
	}
	return out
}

// dayLists are the words of the day.
func dayLists(p *dayplan.Plan) []List {
	before := List{Title: "Before anything is glued"}
	for _, t := range p.Tasks {
		if t.BeforeDays > 0 {
			before.Lines = append(before.Lines, upper(fmt.Sprintf("%s before: %s; %s", plural(t.BeforeDays, "day"), t.Name, t.Note)))
		}
	}
	before.Lines = append(before.Lines, upperAll(p.Trial)...)
	hold := List{Title: "Hold points: go or no go", Tick: true}
	for _, h := range p.Holds {
		hold.Lines = append(hold.Lines, fmt.Sprintf("%s: %s No: %s.", upper("before "+h.Before), h.Ask, h.NoGo))
	}
	how := List{Title: "At the work"}
	for _, t := range p.Tasks {
		if l := upper(workName(t.Name)) + ": " + t.Note; t.BeforeDays == 0 && t.Note != "" && !slices.Contains(how.Lines, l) {
			how.Lines = append(how.Lines, l)
		}
	}
	how.Lines = append(how.Lines, "Weights: "+p.Materials.WeightNote, "At hand: "+strings.Join(p.Materials.ReadyToHand, "; "))
	out := []List{hold, how, before, {Title: "Cautions of the day", Lines: upperAll(p.Cautions)}}
	if len(p.Removals) > 0 {
		off := List{Title: "Taking one off again", Why: "Heat, wire, blade: about an hour each, and a risk to the skin."}
		same := map[string]int{}
		for _, r := range p.Removals {
			l := fmt.Sprintf("%s min, %s m of wire, bond to %s °C at most; %s", whole(r.Time.Minutes()), number(r.Wire.Metres(), 2), whole(r.Heat.Celsius()), r.Risk)
			if at, ok := same[l]; ok {
				head, rest, _ := strings.Cut(off.Lines[at], ": ")
				off.Lines[at] = head + ", " + r.Module + ": " + rest
				continue
			}
			same[l] = len(off.Lines)
			off.Lines = append(off.Lines, r.Module+": "+l)
		}
		off.Lines = append(off.Lines, upperAll(p.Removals[0].Steps)...)
		out = append(out, off)
	}
	notes := slices.DeleteFunc(slices.Clone(p.Notes), func(n string) bool { return strings.HasPrefix(n, "practice says") }) // it stands in the margin
	return append(out, List{Title: "What the day rests on", Lines: upperAll(notes)})
}

// workName leaves the module out of a task that comes once for each.
func workName(name string) string {
	if strings.HasPrefix(name, "place and roll ") {
		return "place and roll"
	}
	if strings.HasPrefix(name, "prime ") {
		return "prime"
	}
	return name
}
