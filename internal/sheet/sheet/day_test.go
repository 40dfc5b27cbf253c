package sheet

import (
	"context"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
)

// texts gathers every text of a sheet.
func texts(s Sheet) []string {
	out := []string{s.Lead}
	for _, v := range s.Values {
		out = append(out, v.Name, v.Text)
	}
	for _, t := range s.Tables {
		for _, r := range t.Rows {
			out = append(out, r...)
		}
	}
	for _, l := range s.Lists {
		out = append(out, l.Lines...)
	}
	return append(out, s.Notes...)
}

// sound reports what is wrong with a sheet's tables and words.
func sound(t *testing.T, s Sheet) {
	t.Helper()
	for _, x := range s.Tables {
		for _, r := range x.Rows {
			if len(r) != len(x.Head) {
				t.Errorf("%s: %d cells under %d heads", x.Title, len(r), len(x.Head))
			}
		}
	}
	for _, x := range texts(s) {
		if strings.Contains(x, "NaN") || strings.Contains(x, "Inf") || strings.Contains(x, "%!") || strings.Contains(x, "0001") {
			t.Errorf("%s: %q", s.Title, x)
		}
	}
}

// The installation day has its hours, its work in order, and what to hold for.
func TestDay(t *testing.T) {
	b := van(t)
	date := b.Trip.Legs[0].From
	at := func(hour float64) time.Time { return date.Add(time.Duration(hour * float64(time.Hour))) }
	p := &dayplan.Plan{Date: date, Place: "Lisbon", Surface: "lid", Skin: "painted aluminium", Adhesives: []string{"factory film"}, Crew: 3, CrewLeast: 2, Rise: at(6.6), Set: at(18.8),
		Window: dayplan.Window{Found: true, From: at(9), Until: at(17), Start: at(10)}, Fits: true, Placed: 2,
		Tasks: []dayplan.Task{{Name: "peel test", BeforeDays: 5, Note: "on the very skin"}, {Name: "place and roll A", From: at(10), To: at(10.2), People: 2, Hold: true}},
		Holds: []dayplan.Hold{{Before: "the first liner", Ask: "does everything fit?", NoGo: "back to the template"}},
		Drive: []dayplan.Drive{{Stage: 0, Found: true, From: at(30)}, {Stage: 1, Most: 30 * quantity.MetrePerSecond}}, Trial: []string{"each module in the sun"}}
	for h := range 24 {
		x := dayplan.Hour{From: at(float64(h)), Air: quantity.Celsius(18), Dew: quantity.Celsius(9), Skin: quantity.Celsius(25), Humidity: 50 * quantity.Percent, Open: h >= 9 && h < 17}
		if !x.Open {
			x.Reasons = append(x.Reasons, 0)
		}
		p.Hours = append(p.Hours, x)
	}
	s := Day(b, p)
	sound(t, s)
	if len(s.Tables) != 3 || len(s.Tables[1].Rows) != len(p.Hours) || len(s.Tables[0].Rows) == 0 || !strings.Contains(s.Lead, p.Date.Format("2 January 2006")) {
		t.Errorf("%d tables; %s", len(s.Tables), s.Lead)
	}
	hold := false
	for _, r := range s.Tables[0].Rows {
		hold = hold || strings.HasPrefix(r[3], "HOLD")
	}
	if !hold {
		t.Error("no hold in the work")
	}
	dark := *p
	dark.Window = dayplan.Window{Why: "too cold all day"}
	if lead := Day(b, &dark).Lead; !strings.Contains(lead, "too cold") {
		t.Errorf("no window: %s", lead)
	}
}

// The sheet of the sun says what each thing costs once that is known, and the worst in its lead.
func TestWithCosts(t *testing.T) {
	b := van(t)
	a, err := shading.Costs(context.Background(), b, shading.Options{Quick: true, Mends: true, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	before := Sun(job(t, b))
	s := WithCosts(before, a)
	sound(t, s)
	if len(s.Tables) <= len(before.Tables) || s.Tables[0].Rows[0][0] != "fan" || !strings.Contains(s.Lead, "Fan costs most") {
		t.Errorf("%d tables; %s", len(s.Tables), s.Lead)
	}
	none := WithCosts(before, &shading.Answer{})
	sound(t, none)
	if len(none.Tables) != len(before.Tables) {
		t.Error("a table of nothing")
	}
}

// The plan's frame puts a point where the drawing has it: the outline's corners lie on the sheet, to scale.
func TestPlanFrames(t *testing.T) {
	b := van(t)
	for _, f := range PlanFrames(b) {
		out := b.Surfaces[f.Surface].Outline
		a, z := f.Point(out[0]), f.Point(out[2])
		if a.X < 0 || a.Y < 0 || z.X > f.Width || z.Y > f.Height {
			t.Errorf("%s lies outside its sheet: %v %v", b.Surfaces[f.Surface].Name, a, z)
		}
		if got, want := z.X-a.X, f.Scale.Of(out[2].X-out[0].X); got < want-1e-9 || got > want+1e-9 {
			t.Errorf("%v mm long, want %v", got, want)
		}
	}
}
