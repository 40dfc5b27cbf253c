package sheet

import (
	"fmt"
	"strings"
	"time"

	"noonmark/internal/sheet/draw"
)

// route draws the stays and drives on the days' own axis, and the worst run of days under them.
func route(j Job, width, height float64) *draw.Scene {
	a := j.Forecast
	s := draw.New("The route, and the worst run of days", width, height)
	days := a.Days
	if len(days) == 0 {
		s.Text = "No day."
		return s
	}
	c := chart{s: s, x: 16, w: width - 20}
	first := days[0].Date
	at := func(t time.Time) float64 { // local days, so that a strip stands over its bars
		_, offset := t.In(first.Location()).Zone()
		_, then := first.Zone()
		d := t.Sub(first) + time.Duration(offset-then)*time.Second
		return c.x + c.w*max(0, min(1, d.Hours()/24/float64(len(days))))
	}
	const top, tall = 3.5, 7.0
	var words strings.Builder
	for i := range j.Build.Trip.Legs {
		l := &j.Build.Trip.Legs[i]
		x, end := at(l.From), at(l.Until)
		if end <= x {
			continue
		}
		if l.Drive {
			s.Rect(draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.Line}, draw.Point{X: x, Y: top + tall/2 - 1}, max(0.6, end-x), 2)
			fmt.Fprintf(&words, " Drive to %s.", l.To.Name)
			continue
		}
		s.Rect(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}, draw.Point{X: x, Y: top}, end-x, tall)
		name := draw.Plain(l.Place.Name)
		for _, size := range []float64{3, 2.5} {
			if draw.Width(draw.Regular, size, name)+2 < end-x {
				s.Write(draw.Text{At: draw.Point{X: (x + end) / 2, Y: top + tall/2 + size/3}, Text: name, Size: size, Anchor: draw.Middle})
				break
			}
		}
		fmt.Fprintf(&words, " %s, %s to %s.", l.Place.Name, l.From.In(first.Location()).Format("2 Jan"), l.Until.In(first.Location()).Format("2 Jan"))
	}
	if r := a.WorstRun; r.Shortfall > 0 && !r.First.IsZero() {
		x, end := at(r.First), at(r.Last.AddDate(0, 0, 1))
		y := top + tall + 3
		st := draw.Style{Stroke: draw.Shade, Width: 0.6}
		s.Path(st, draw.Point{X: x, Y: y - 1.2}, draw.Point{X: x, Y: y}, draw.Point{X: end, Y: y}, draw.Point{X: end, Y: y - 1.2})
		text := fmt.Sprintf("worst run: the battery gives %s", wattHours(r.Shortfall))
		half := draw.Width(draw.Regular, 2.6, text) / 2
		s.Write(draw.Text{At: draw.Point{X: max(c.x+half, min(c.x+c.w-half, (x+end)/2)), Y: y + 3.6}, Text: text, Size: 2.6, Ink: draw.Fine, Anchor: draw.Middle})
		fmt.Fprintf(&words, " The worst run of days is %s to %s: the battery gives %s.", r.First.Format("2 Jan"), r.Last.Format("2 Jan"), wattHours(r.Shortfall))
	}
	s.Text = "Stays as boxes and drives as bars between them." + words.String()
	return s
}
