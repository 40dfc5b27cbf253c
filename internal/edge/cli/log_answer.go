package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"noonmark/internal/answer/track"
)

// logAnswer is the answer of log.
type logAnswer struct {
	Files     []layout     `json:"files"`
	Kept      string       `json:"kept,omitempty"`
	Days      []logDay     `json:"days"`
	Ratio     *float64     `json:"ratio_to_expected"`
	Low       *float64     `json:"ratio_to_expected_low"`
	High      *float64     `json:"ratio_to_expected_high"`
	Basis     string       `json:"by"`
	Used      int          `json:"days_used"`
	Thrown    *float64     `json:"thrown_away_Wh"`
	ThrownLow *float64     `json:"thrown_away_Wh_low"`
	ThrownUp  *float64     `json:"thrown_away_Wh_high"`
	Gaps      []gapAnswer  `json:"gaps"`
	Alarms    []alarmJSON  `json:"alarms"`
	Notes     []string     `json:"notes"`
	Cautions  []string     `json:"cautions"`
	Assumed   []assumption `json:"assumed"`
	zone      *time.Location
	compared  bool
}

type logDay struct {
	Date     string   `json:"date"`
	Energy   float64  `json:"energy_Wh"`
	Covered  float64  `json:"daylight_logged"`
	Expected *float64 `json:"expected_Wh"`
	Low      *float64 `json:"expected_Wh_low,omitempty"`
	High     *float64 `json:"expected_Wh_high,omitempty"`
	Ratio    *float64 `json:"ratio_to_expected"`
	Free     *float64 `json:"ratio_while_battery_had_room,omitempty"`
	Basis    string   `json:"by,omitempty"`
	Clear    bool     `json:"clear"`
	Full     bool     `json:"battery_full"`
	Thrown   float64  `json:"thrown_away_Wh"`
	Unknown  float64  `json:"in_gaps_at_most_Wh"`
}

type gapAnswer struct {
	From    time.Time `json:"from"`
	To      time.Time `json:"to"`
	Unknown float64   `json:"at_most_Wh"`
}

type alarmJSON struct {
	Kind    string   `json:"kind"`
	Date    string   `json:"date,omitempty"`
	Left    *float64 `json:"left,omitempty"`
	U95     *float64 `json:"U95,omitempty"`
	Text    string   `json:"text"`
	Parts   []string `json:"as_with,omitempty"`
	Settles string   `json:"settled_by,omitempty"`
}

// newLogAnswer turns a report into the answer.
func newLogAnswer(r track.Report, q logQuestion) *logAnswer {
	a := &logAnswer{Files: q.layouts, Days: []logDay{}, Basis: r.Basis.String(), Used: r.Used, Gaps: []gapAnswer{}, Alarms: []alarmJSON{}, Notes: append([]string{}, r.Notes...),
		Cautions: []string{"An alarm is a reason to look, not a proof: measure before anything is unplugged, and never part a plug under load."}, Assumed: append([]assumption{}, q.assumed...), zone: q.zone}
	if r.Ratio > 0 {
		a.Ratio, a.Low, a.High = num(round(r.Ratio.Float(), 4)), num(round(r.Low.Float(), 4)), num(round(r.High.Float(), 4))
	}
	if r.FullKnown {
		a.Thrown, a.ThrownLow, a.ThrownUp = num(round(r.Thrown.WattHours(), 1)), num(round(r.ThrownLow.WattHours(), 1)), num(round(r.ThrownUp.WattHours(), 1))
	}
	for i := range r.Log.Days {
		d := &r.Log.Days[i]
		x := logDay{Date: d.Date.Format("2006-01-02"), Energy: round(d.Energy.WattHours(), 1), Covered: round(d.Covered.Float(), 3), Clear: d.Clear, Full: d.Full, Thrown: round(d.Thrown.WattHours(), 1), Unknown: round(d.Unknown.WattHours(), 1)}
		if d.Expected > 0 {
			a.compared = true
			x.Expected, x.Low, x.High, x.Ratio, x.Basis = num(round(d.Expected.WattHours(), 1)), num(round(d.Low.WattHours(), 1)), num(round(d.High.WattHours(), 1)), num(round(d.Ratio.Float(), 4)), d.Basis.String()
		}
		if d.Free > 0 {
			x.Free = num(round(d.Free.Float(), 4))
		}
		a.Days = append(a.Days, x)
	}
	for _, g := range r.Log.Gaps {
		a.Gaps = append(a.Gaps, gapAnswer{g.From.In(a.zone), g.To.In(a.zone), round(g.Unknown.WattHours(), 1)})
	}
	for _, x := range r.Alarms {
		j := alarmJSON{Kind: x.Kind, Text: x.Text, Parts: x.Parts, Settles: x.Settles}
		if !x.Date.IsZero() {
			j.Date = x.Date.Format("2006-01-02")
		}
		if x.Left > 0 {
			j.Left, j.U95 = num(round(x.Left.Float(), 4)), num(round(x.Unsure.Float(), 4))
		}
		a.Alarms = append(a.Alarms, j)
	}
	return a
}

// mostDays is the days and gaps printed; the rest are in --json.
const mostDays, mostGaps = 40, 12

func (a *logAnswer) print(s *Streams) error {
	for i := range a.Files {
		a.Files[i].print(s.Out)
	}
	for _, x := range a.Alarms {
		fmt.Fprintf(s.Out, "Alarm: %s\n", x.Text)
		if x.Settles != "" {
			fmt.Fprintf(s.Out, "  Settled by: %s\n", x.Settles)
		}
	}
	if a.Ratio != nil {
		fmt.Fprintf(s.Out, "%.0f %% of what a sound array gives, %.0f to %.0f %%: %s, by %s\n", 100**a.Ratio, 100**a.Low, 100**a.High, count(a.Used, "day"), a.Basis)
	}
	if a.Thrown != nil && *a.Thrown > 0 {
		fmt.Fprintf(s.Out, "Thrown away because the battery was full: %.0f Wh, %.0f to %.0f\n", *a.Thrown, *a.ThrownLow, *a.ThrownUp)
	}
	fmt.Fprintln(s.Out)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', tabwriter.AlignRight)
	if a.compared {
		fmt.Fprintln(w, "day\tWh\tlogged\texpected\tratio\t\t")
	} else {
		fmt.Fprintln(w, "day\tWh\t")
	}
	for i, d := range a.Days {
		if i == mostDays {
			break
		}
		fmt.Fprintf(w, "%s\t%.0f\t", d.Date, d.Energy)
		if a.compared {
			fmt.Fprintf(w, "%.0f %%\t", 100*d.Covered)
		}
		if d.Expected != nil {
			var said []string
			if d.Clear {
				said = append(said, "clear")
			}
			if d.Full {
				said = append(said, "battery full")
				if d.Free != nil {
					said[len(said)-1] += fmt.Sprintf(", %.0f %% while it had room", 100**d.Free)
				}
			}
			if d.Thrown >= 0.5 {
				said = append(said, fmt.Sprintf("%.0f Wh thrown away", d.Thrown))
			}
			fmt.Fprintf(w, "%.0f\t%.0f %%\t%s\t", *d.Expected, 100**d.Ratio, strings.Join(said, ", "))
		}
		fmt.Fprintln(w)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if n := len(a.Days) - mostDays; n > 0 {
		fmt.Fprintf(s.Out, "and %d more days, in --json\n", n)
	}
	for i, g := range a.Gaps {
		if i == mostGaps {
			fmt.Fprintf(s.Out, "and %d more gaps, in --json\n", len(a.Gaps)-mostGaps)
			break
		}
		most := ""
		if g.Unknown > 0 {
			most = fmt.Sprintf(", at most %.0f Wh unknown", g.Unknown)
		}
		fmt.Fprintf(s.Out, "Gap: %s to %s%s\n", g.From.Format("2 Jan 15:04"), g.To.Format("2 Jan 15:04"), most)
	}
	for _, n := range a.Notes {
		fmt.Fprintln(s.Out, "Note: "+n)
	}
	if a.Kept != "" {
		fmt.Fprintln(s.Out, "Kept as "+a.Kept)
	}
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
