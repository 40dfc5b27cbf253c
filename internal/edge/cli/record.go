package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bench"
	"noonmark/internal/edge/calendar"
	"noonmark/internal/sheet/sheet"
)

type recordAnswer struct {
	Build     string           `json:"build"`
	Place     string           `json:"place"`
	Time      time.Time        `json:"time"`
	Entries   []entryAnswer    `json:"entries"`
	Incoming  []incomingAnswer `json:"incoming"`
	Baseline  []string         `json:"baseline"`
	Reminders []reminderAnswer `json:"reminders"`
	Cautions  []string         `json:"cautions"`
	Assumed   []assumption     `json:"assumed"`
	job       sheet.RecordJob
	opened    *openedBuild
}

type entryAnswer struct {
	Number  int      `json:"number"`
	Test    string   `json:"test"`
	Subject string   `json:"subject"`
	How     string   `json:"how"`
	Expect  string   `json:"expect"`
	V       *float64 `json:"expect_V,omitempty"`
	VLow    *float64 `json:"expect_V_low,omitempty"`
	VHigh   *float64 `json:"expect_V_high,omitempty"`
	A       *float64 `json:"expect_A,omitempty"`
	ALow    *float64 `json:"expect_A_low,omitempty"`
	AHigh   *float64 `json:"expect_A_high,omitempty"`
	W       *float64 `json:"expect_W,omitempty"`
	WLow    *float64 `json:"expect_W_low,omitempty"`
	WHigh   *float64 `json:"expect_W_high,omitempty"`
	Accept  string   `json:"accept"`
	Source  string   `json:"source"`
}

type incomingAnswer struct {
	Type  string   `json:"type"`
	Day   int      `json:"day"`
	Title string   `json:"title"`
	Do    []string `json:"do"`
	Back  string   `json:"send_back_if,omitempty"`
}

type reminderAnswer struct {
	Day   string `json:"day"`
	Title string `json:"title"`
	Text  string `json:"text"`
	Every int    `json:"every_months,omitempty"`
}

func recordCommand(s *Streams) *cobra.Command {
	var at whereFlags
	var q benchQuestion
	var pdf onPaper
	var asJSON, incoming bool
	var ics string
	c := &cobra.Command{
		Use:   "record BUILD [--at PLACE] [--time T]",
		Short: "the commissioning record: what to test in which order, what to expect at this hour",
		Long: `Looking, continuity, polarity, open volts, short-circuit amps, insulation, function, in the order of
IEC 62446-1, each with the value to expect at the place, the minute and the sky, and its band; what to
note as the baseline; reminders. --incoming adds the first days of a module, before it is bonded.

  noonmark record van.yaml --at "Evora, PT" --sky clear --air "24 °C"
  noonmark record van.yaml --ics reminders.ics`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			wanted, err := pdf.asked()
			if err != nil {
				return err
			}
			a, events, err := q.record(cmd.Context(), s, &at, args[0], incoming)
			if err != nil {
				return err
			}
			if wanted {
				if err := pdf.sheets(s, a.opened, args[0], "", sheet.Record(a.job)); err != nil {
					return err
				}
			}
			if ics != "" {
				text := calendar.Text(events, s.Clock())
				if err := os.WriteFile(ics, []byte(text), 0o644); err != nil {
					return misuse("%v", err)
				}
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	q.add(c, &at)
	pdf.add(c)
	c.Flags().BoolVar(&incoming, "incoming", false, "the first days of each module type, before it is bonded")
	c.Flags().StringVar(&ics, "ics", "", "write the reminders as iCalendar to this file")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// record makes the record.
func (q *benchQuestion) record(ctx context.Context, s *Streams, at *whereFlags, file string, incoming bool) (*recordAnswer, []calendar.Event, error) {
	sub, err := q.subject(ctx, s, file)
	if err != nil {
		return nil, nil, err
	}
	sp, known, err := q.place(at, sub, s)
	if err != nil {
		return nil, nil, err
	}
	if !known {
		return nil, nil, misuse(`record wants a place: --at "Evora, PT"`)
	}
	set, notes, err := q.setting(sub, sp, known)
	if err != nil {
		return nil, nil, err
	}
	b := &sub.opened.build
	r, err := bench.Commission(b, set, sp.when)
	if errors.Is(err, bench.ErrNight) {
		return nil, nil, misuse("%s, %s: the sun is down, nothing can be expected; give --time of the day of the test", sp.place.Name, sp.when.In(sp.place.Zone).Format("2 Jan 15:04 MST"))
	}
	if err != nil {
		return nil, nil, misuse("%v", err)
	}
	a := &recordAnswer{Build: r.Build, Place: r.Place, Time: r.Time.In(sp.place.Zone), Baseline: r.Baseline, Cautions: r.Cautions, Incoming: []incomingAnswer{}, Assumed: append([]assumption{}, notes...), opened: sub.opened}
	a.job = sheet.RecordJob{Record: r, Zone: sp.place.Zone, Sky: q.now.sky, Assumed: sheetAssumed(notes)}
	for _, e := range r.Entries {
		x := entryAnswer{Number: e.Number, Test: e.Test, Subject: e.Subject, How: e.How, Expect: e.Expect, Accept: e.Accept, Source: e.Source}
		if e.Value != nil {
			v, low, high := num(e.Value.Expected), num(e.Value.Low), num(e.Value.High)
			switch e.Unit {
			case "V":
				x.V, x.VLow, x.VHigh = v, low, high
			case "A":
				x.A, x.ALow, x.AHigh = v, low, high
			case "W":
				x.W, x.WLow, x.WHigh = v, low, high
			}
		}
		a.Entries = append(a.Entries, x)
	}
	if incoming {
		for i := range b.Types {
			steps, err := bench.Incoming(&b.Types[i])
			if err != nil {
				return nil, nil, misuse("%s: %v", b.Types[i].Name, err)
			}
			a.job.Incoming = append(a.job.Incoming, sheet.Incoming{Type: b.Types[i].Name, Steps: steps})
			for _, x := range steps {
				a.Incoming = append(a.Incoming, incomingAnswer{b.Types[i].Name, x.Day, x.Title, x.Do, x.Back})
			}
		}
	}
	var events []calendar.Event
	for _, m := range r.Reminders {
		day := m.Day.In(sp.place.Zone)
		a.Reminders = append(a.Reminders, reminderAnswer{day.Format("2006-01-02"), m.Title, m.Text, m.Every})
		events = append(events, calendar.Event{Day: day, Title: m.Title, Text: m.Text, Every: m.Every})
	}
	return a, events, nil
}

func (a *recordAnswer) print(s *Streams) error {
	fmt.Fprintf(s.Out, "%s, %s, %s\n\n", a.Build, a.Place, a.Time.Format("2 Jan 2006 15:04 MST"))
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\ttest\tof\texpect\taccept\tread\tverdict")
	for _, e := range a.Entries {
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t........\t........\n", e.Number, e.Test, e.Subject, orDash(e.Expect), e.Accept)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.Out, "\nHow:")
	said := map[string]bool{}
	for _, e := range a.Entries {
		if !said[e.Test] {
			said[e.Test] = true
			fmt.Fprintf(s.Out, "  %s: %s [%s]\n", e.Test, e.How, e.Source)
		}
	}
	for _, x := range a.Incoming {
		fmt.Fprintf(s.Out, "\n%s, day %d: %s\n", x.Type, x.Day, x.Title)
		for _, d := range x.Do {
			fmt.Fprintln(s.Out, "  - "+d)
		}
		if x.Back != "" {
			fmt.Fprintln(s.Out, "  Send it back: "+x.Back)
		}
	}
	fmt.Fprintln(s.Out, "\nKeep as the baseline:")
	for _, b := range a.Baseline {
		fmt.Fprintln(s.Out, "  "+b+": ........")
	}
	fmt.Fprintln(s.Out, "\nRead by ................  instrument, calibrated ................  signed ................")
	fmt.Fprintln(s.Out, "\nReminders:")
	for _, r := range a.Reminders {
		fmt.Fprintf(s.Out, "  %s  %s: %s\n", r.Day, r.Title, r.Text)
	}
	fmt.Fprintln(s.Out)
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
