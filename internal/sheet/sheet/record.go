package sheet

import (
	"fmt"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/sheet/draw"
)

// RecordJob is what the commissioning record is made from.
type RecordJob struct {
	Record   bench.Record
	Zone     *time.Location // nil: UTC
	Sky      string         // as said; empty: clear
	Incoming []Incoming     // the first days of module types; nil: not asked
	Assumed  []Assumption
}

// Incoming is the plan of a module type's first days.
type Incoming struct {
	Type  string
	Steps []bench.IncomingStep
}

// Record returns the commissioning record: tests in their order, the value to expect at this hour with its
// band, room for what was read and for the verdict, and lines to sign. What was read already stands in it.
func Record(j RecordJob) Sheet {
	r := &j.Record
	zone := j.Zone
	if zone == nil {
		zone = time.UTC
	}
	sky := j.Sky
	if sky == "" {
		sky = "clear"
	}
	at := r.Time.In(zone).Format("2 Jan 2006 15:04 MST")
	s := Sheet{Key: "record", Title: "Commissioning record", Columns: 1, Assumed: j.Assumed, Cautions: titled("Live in light", "Plugs under load", "Work at height", "Where the fuse sits", "Sixty volts", "Mains"),
		Lead:    fmt.Sprintf("%d tests in their order. Figures hold for %s, %s, sky %s: an hour later print it again.", len(r.Entries), r.Place, at, sky),
		Values:  []Value{{"build", r.Build}, {"place", r.Place}, {"expected at", at}, {"sky", sky}},
		Sources: []string{"order of the tests after IEC 62446-1:2016, clause 6; limits and function tests common practice, each beside its test"},
		Notes: []string{"Do them in this order: each makes the next one harmless. Stop at a test that fails.",
			"The band is that of 95 of 100 sound arrays at this place, minute and sky; a band says what is usual, the right column what is accepted."}}
	t := Table{Title: "Tests", Head: []string{"", "test", "of", "how", "expected now", "accepted", "read", "verdict"}, Fine: true}
	bands := spans{from: 0.6, to: 1.4, ticks: []float64{0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2, 1.3, 1.4}, text: hundredth, foot: "of the expected value; draw your reading in"}
	for _, e := range r.Entries {
		t.Rows = append(t.Rows, []string{fmt.Sprint(e.Number), e.Test, e.Subject, e.How, e.Expect, e.Accept, room(e.Read), room(e.Verdict)})
		if v := e.Value; v != nil && v.Expected > 0 && len(bands.rows) < 30 {
			bands.rows = append(bands.rows, span{label: fmt.Sprintf("%d %s, %s: %s %s", e.Number, e.Test, e.Subject, number(v.Expected, 3), e.Unit), mid: 1, low: v.Low / v.Expected, high: v.High / v.Expected})
		}
	}
	s.Tables = append(s.Tables, t)
	if len(bands.rows) > 0 {
		s.Figures = []Figure{{Title: "What to expect at this hour", Share: 0.4, Least: 16 + 4*float64(len(bands.rows)), Draw: func(w, h float64) *draw.Scene {
			d := draw.New("What to expect at this hour", w, h)
			bands.draw(d, 0, 0, w, h)
			d.Text = fmt.Sprintf("%d expected values with their bands, each over itself.", len(bands.rows))
			return d
		}}}
	}
	s.Tables = append(s.Tables, Table{Title: "Signed", Head: []string{"", "name", "date, time", "signature"}, Rows: [][]string{{"tested by", "", "", ""}, {"witness", "", "", ""}, {"instruments, class, last calibrated", "", "", ""}}})
	s.Lists = append(s.Lists, List{Title: "Baseline: note it today, every later year is held against it", Tick: true, Lines: upperAll(r.Baseline)})
	var due []string
	for _, x := range r.Reminders {
		line := x.Day.In(zone).Format("2 Jan 2006") + ": " + x.Title + ". " + x.Text
		if x.Every > 0 {
			line += fmt.Sprintf(" Then every %d months.", x.Every)
		}
		due = append(due, line)
	}
	if len(due) > 0 {
		s.Lists = append(s.Lists, List{Title: "Due", Lines: due})
	}
	for _, in := range j.Incoming {
		t := Table{Title: "First days of " + in.Type + ", before it is bonded", Head: []string{"day", "step", "do", "send it back if"}, Right: []int{0}, Fine: true}
		for _, st := range in.Steps {
			do := ""
			for i, d := range st.Do {
				if i > 0 {
					do += "; "
				}
				do += d
			}
			t.Rows = append(t.Rows, []string{fmt.Sprint(st.Day), st.Title, do, orDash(st.Back)})
		}
		s.Tables = append(s.Tables, t)
	}
	return s
}

// room is a text, or room to write it in.
func room(text string) string {
	if text == "" {
		return "................"
	}
	return text
}
