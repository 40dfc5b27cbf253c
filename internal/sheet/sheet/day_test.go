package sheet

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// planned is a job with a day in it.
func planned(t *testing.T, month time.Month) Job {
	t.Helper()
	b := van(t)
	p, err := dayplan.Make(b, dayplan.Job{Day: time.Date(2027, month, 12, 12, 0, 0, 0, b.Trip.Legs[0].Place.Zone), Place: b.Trip.Legs[0].Place})
	if err != nil {
		t.Fatal(err)
	}
	return Job{Build: b, Day: p}
}

// The chart of a day has a bar for each piece of work with its hours and people, the gate of each hour, and keeps
// inside its box at its least height; the lists have every hold point.
func TestDayChart(t *testing.T) {
	for _, month := range []time.Month{time.January, time.May, time.July} {
		for _, imperial := range []bool{false, true} {
			j := planned(t, month)
			if imperial {
				j.Build.Units = build.Imperial
			}
			s := DayPlan(j)
			f := s.Figures[0]
			d := f.Draw(206, f.Least)
			words := strings.Join(d.Words(), "|")
			for _, k := range j.Day.Tasks {
				if k.BeforeDays == 0 && !strings.Contains(words, k.From.Format("15:04")+" to "+k.To.Format("15:04")+", "+hands(k.People)) {
					t.Errorf("%v: %s has no hours on the chart", month, k.Name)
				}
			}
			if j.Day.Window.Found != slices.Contains(d.Words(), "open") {
				t.Errorf("%v: window %v, %s", month, j.Day.Window.Found, words)
			}
			if out := d.Outside(); len(out) > 0 {
				t.Errorf("%v: beyond the edge: %q", month, out)
			}
			if c := d.Clashes(); len(c) > 0 {
				t.Errorf("%v: over each other: %q", month, c)
			}
			all := ""
			for _, l := range s.Lists {
				all += l.Title + strings.Join(l.Lines, " ")
			}
			for _, h := range j.Day.Holds {
				if !strings.Contains(all, h.Ask) {
					t.Errorf("%v: no hold %q", month, h.Ask)
				}
			}
			for _, title := range []string{"Taking one off again", "Before anything is glued", "Cautions of the day"} {
				if !strings.Contains(all, title) {
					t.Errorf("%v: no %s", month, title)
				}
			}
		}
	}
	if s := DayPlan(Job{Build: van(t), NoDay: "nothing is bonded"}); len(s.Figures) > 0 || !strings.Contains(s.Lead, "nothing is bonded") {
		t.Errorf("%+v", s)
	}
}

// The map of cells hatches a darker cell denser and prints what light it has; costs and mends are on the sheet.
func TestShadeSheet(t *testing.T) {
	b := van(t)
	a, err := shading.Costs(context.Background(), b, shading.Options{YearOnly: true, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	a.Mends = []shading.Mend{{What: "move the fan", Effort: shading.Obstacle, Gain: 9000 * quantity.WattHour}, {What: "stand on the head", Gain: -1 * quantity.WattHour}}
	a.Modules[0].Cells = slices.Clone(a.Modules[0].Cells)
	a.Modules[0].Cells[3] = 0.55
	j := job(t, b)
	j.Shade = a
	s := Shade(j)
	if !strings.Contains(s.Lead, "fan") || len(s.Figures) != 3 {
		t.Errorf("%q, %d figures", s.Lead, len(s.Figures))
	}
	text := ""
	for _, tab := range s.Tables {
		for _, r := range tab.Rows {
			text += strings.Join(r, "|") + "\n"
		}
	}
	for _, want := range []string{"fan|", "all together|", "+9|move the fan|"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %s", want, text)
		}
	}
	if strings.Contains(text, "stand on the head") {
		t.Error("a mend that costs is printed as one that gains")
	}
	d := s.Figures[0].Draw(206, 80)
	words := strings.Join(d.Words(), "|")
	for _, want := range []string{"A, least 55", "B, least", "front to the left", "|55|"} {
		if !strings.Contains("|"+words+"|", want) {
			t.Errorf("no %q on the map: %s", want, words)
		}
	}
	if out := d.Outside(); len(out) > 0 {
		t.Errorf("beyond the edge: %q", out)
	}
	last := 1e9
	for _, lacks := range []float64{0.02, 0.05, 0.15, 0.33} {
		got := shadeHatch(lacks)
		if got <= 0 || got >= last {
			t.Errorf("light lacking %g: lines %g mm apart, after %g", lacks, got, last)
		}
		last = got
	}
	if shadeHatch(0.01) != 0 || shadeHatch(0.9) != shadeHatch(0.33) {
		t.Error("a cell in full light is hatched, or the darkest is not the darkest")
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
