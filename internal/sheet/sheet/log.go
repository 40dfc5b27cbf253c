package sheet

import (
	"fmt"

	"noonmark/internal/answer/track"
	"noonmark/internal/sheet/draw"
)

// LogJob is what the log's sheet is made from.
type LogJob struct {
	Report       track.Report
	Build, Place string
	Assumed      []Assumption
}

// Log returns the sheet of a record against expectation: does it still do what it should, how much was thrown
// away, alarms and gaps.
func Log(j LogJob) Sheet {
	r := &j.Report
	s := Sheet{Key: "log", Title: "Log", Columns: 2, Assumed: j.Assumed, Cautions: titled("Live in light", "Plugs under load", "Work at height"),
		Sources: []string{"expectation by the build's own forecast in the light logged, under a clear sky, or in the usual weather; a lost part is a fault built into the circuit"},
		Notes: []string{"Power is not bridged over silence, and a counter that falls was reset: what ran there is unknown, with its bound.",
			"Days of a full battery are left out of the ratio: what an array gives then is what the battery takes."}}
	s.Lead = "No day of this record can be judged: the notes say why."
	if r.Ratio > 0 {
		s.Lead = fmt.Sprintf("%s %% of what a sound array gives, %s to %s, over %s by %s.", whole(r.Ratio.Percent()), whole(r.Low.Percent()), whole(r.High.Percent()), plural(r.Used, "day"), r.Basis)
		s.Values = append(s.Values, Value{"of what a sound array gives", whole(r.Ratio.Percent()) + " %"}, Value{"95 %", whole(r.Low.Percent()) + " to " + whole(r.High.Percent()) + " %"}, Value{"days used", fmt.Sprint(r.Used)})
	}
	if r.FullKnown {
		s.Values = append(s.Values, Value{"thrown away, battery full", wattHours(r.Thrown)}, Value{"of it sure", wattHours(r.ThrownLow) + " to " + wattHours(r.ThrownUp)})
		if r.Thrown > 0 {
			s.Lead += fmt.Sprintf(" %s were thrown away because the battery was full.", wattHours(r.Thrown))
		}
	}
	var alarms []string
	for _, a := range r.Alarms {
		line := upper(a.Text) + "."
		if a.Settles != "" {
			line += " Settled by: " + a.Settles + "."
		}
		alarms = append(alarms, line)
	}
	if len(alarms) > 0 {
		s.Lists = append(s.Lists, List{Title: "Alarms", Lines: alarms, Why: "A reason to look, not a proof."})
		s.Lead += fmt.Sprintf(" %s.", upper(plural(len(alarms), "alarm")))
	}
	if n := len(r.Log.Days); n > 0 {
		s.Values = append(s.Values, Value{"from", r.Log.Days[0].Date.Format("2 Jan 2006")}, Value{"to", r.Log.Days[n-1].Date.Format("2 Jan 2006")}, Value{"place", j.Place})
		s.Figures = append(s.Figures, Figure{Title: "Each day against its expectation", Share: 0.45, Least: 55, Draw: j.days})
	}
	s.Tables = append(s.Tables, j.table())
	var gaps []string
	for i, g := range r.Log.Gaps {
		if i == 20 {
			gaps = append(gaps, fmt.Sprintf("And %d more.", len(r.Log.Gaps)-i))
			break
		}
		gaps = append(gaps, fmt.Sprintf("%s to %s: at most %s unknown.", g.From.Format("2 Jan 15:04"), g.To.Format("15:04"), wattHours(g.Unknown)))
	}
	if len(gaps) > 0 {
		s.Lists = append(s.Lists, List{Title: "Gaps by daylight", Lines: gaps})
	}
	if len(r.Notes) > 0 {
		s.Lists = append(s.Lists, List{Title: "Found in the record", Lines: upperAll(r.Notes)})
	}
	return s
}

// mostLogDays is how many days the table lists.
const mostLogDays = 62

// table lists the days.
func (j LogJob) table() Table {
	t := Table{Title: "Days", Head: []string{"day", "Wh", "logged", "expected", "95 %", "ratio", "thrown away", ""}, Right: []int{1, 2, 3, 4, 5, 6}, Fine: true}
	days := j.Report.Log.Days
	for i := range days {
		if i == mostLogDays {
			t.Rows = append(t.Rows, []string{fmt.Sprintf("and %d more", len(days)-i), "", "", "", "", "", "", ""})
			break
		}
		d := &days[i]
		row := []string{d.Date.Format("2 Jan"), whole(d.Energy.WattHours()), whole(d.Covered.Percent()) + " %", "–", "–", "–", "–", ""}
		if d.Expected > 0 {
			row[3], row[4] = whole(d.Expected.WattHours()), whole(d.Low.WattHours())+"–"+whole(d.High.WattHours())
			row[5] = whole(d.Ratio.Percent()) + " %"
		}
		if d.Thrown > 0 {
			row[6] = wattHours(d.Thrown)
		}
		switch {
		case d.Full && d.Clear:
			row[7] = "clear, battery full"
		case d.Full:
			row[7] = "battery full"
		case d.Clear:
			row[7] = "clear"
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// days draws each day's energy as a bar before the band of what a sound array gives, what was thrown away on
// top, and alarms as marks.
func (j LogJob) days(width, height float64) *draw.Scene {
	s := draw.New("Each day against its expectation", width, height)
	days := j.Report.Log.Days
	top := 0.0
	for i := range days {
		top = max(top, days[i].Energy.WattHours()+days[i].Thrown.WattHours(), days[i].High.WattHours())
	}
	c := chart{s: s, x: 16, y: 9, w: width - 20, h: height - 20, top: nice(top)}
	c.grid("Wh")
	n := len(days)
	for i := range days {
		d := &days[i]
		x, w := c.slot(i, n)
		if d.High > 0 {
			s.Polygon(draw.Style{Fill: draw.Pale}, c.box(x, w, d.Low.WattHours(), min(c.top, d.High.WattHours()))...)
		}
		e := d.Energy.WattHours()
		st := draw.Style{Stroke: draw.Line, Width: 0.15, Fill: draw.SunPale}
		if d.Covered < 0.9 {
			st.Fill = draw.White
		}
		if e > 0 {
			s.Polygon(st, c.box(x+0.2*w, 0.6*w, 0, min(e, c.top))...)
		}
		if v := d.Thrown.WattHours(); v > 0 {
			s.Hatch(draw.Style{Stroke: draw.Sun, Width: 0.15}, 45, 1.2, c.box(x+0.2*w, 0.6*w, e, min(e+v, c.top))...)
			s.Polygon(draw.Style{Stroke: draw.Sun, Width: 0.15}, c.box(x+0.2*w, 0.6*w, e, min(e+v, c.top))...)
		}
		if d.Expected > 0 {
			y := c.level(min(d.Expected.WattHours(), c.top))
			s.Path(draw.Style{Stroke: draw.Shade, Width: 0.35}, draw.Point{X: x, Y: y}, draw.Point{X: x + w, Y: y})
		}
		for _, a := range j.Report.Alarms {
			if a.Date.Equal(d.Date) {
				s.Path(draw.Style{Stroke: draw.Line, Width: 0.4, Dash: []float64{1.5, 0.8}}, draw.Point{X: x, Y: c.y - 2}, draw.Point{X: x, Y: c.y + c.h})
			}
		}
	}
	each := max(1, int(16/(c.w/float64(n))+0.99))
	for i := 0; i < n; i += each {
		x, w := c.slot(i, n)
		if x+w/2+5 < width {
			s.Write(draw.Text{At: draw.Point{X: x + w/2, Y: c.y + c.h + 3.8}, Text: days[i].Date.Format("2 Jan"), Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
		}
	}
	s.Write(draw.Text{At: draw.Point{X: c.x, Y: 4}, Text: "bar: measured, white where much of the daylight was not logged; hatched: thrown away", Size: 2.5, Ink: draw.Fine})
	s.Write(draw.Text{At: draw.Point{X: c.x + c.w, Y: height - 1.6}, Text: "line and pale band: a sound array, 95 %; dashed: an alarm begins", Size: 2.5, Ink: draw.Fine, Anchor: draw.End})
	s.Text = fmt.Sprintf("Bars of energy for %d days before the bands of what a sound array gives; the table of days has the numbers.", n)
	return s
}
