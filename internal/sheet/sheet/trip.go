package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/sheet/draw"
)

// bandWords say what a band is.
const bandWords = "P90 is reached or exceeded in 90 % of years, P10 in 10 %."

// Trip returns the sheet of the days.
func Trip(j Job) Sheet {
	a := j.Forecast
	s := Sheet{Key: "trip", Title: "Trip", Verdicts: j.verdicts("trip"), Cautions: cautionsOf("trip"), Columns: 2}
	short := "No night runs short in the middle year"
	if a.NightsShort.P50 >= 1 {
		short = fmt.Sprintf("%s of %d nights run short in the middle year", whole(a.NightsShort.P50), a.Nights)
	}
	s.Lead = fmt.Sprintf("%s; in one year of ten %s do. %s harvested a day against %s used.", short, whole(a.NightsShort.P90),
		whole(a.Harvest.WattHours()/float64(len(a.Days)))+" Wh", whole(a.Demand.WattHours()/float64(len(a.Days)))+" Wh")
	s.Values = []Value{{"nights", fmt.Sprint(a.Nights)}, {"short, middle year", whole(a.NightsShort.P50)}, {"short, one year in ten", whole(a.NightsShort.P90)},
		{"lowest charge, middle year", whole(100*a.LowestBand.P50) + " %"}, {"reached in 90 % of years", whole(100*a.LowestBand.P90) + " %"},
		{"harvest of the trip", wattHours(a.Harvest)}, {"used", wattHours(a.Demand)}, {"offered, not taken", wattHours(a.Unused)}, {"not served", wattHours(a.Unmet)}, {"weather years", fmt.Sprint(a.Years)}}
	s.Figures = []Figure{
		{Title: "The route, and the worst run of days", Share: 0.1, Wanted: 20, Least: 18, Draw: func(w, h float64) *draw.Scene { return route(j, w, h) }},
		{Title: "Harvest and use, day by day", Share: 0.26, Least: 40, Draw: func(w, h float64) *draw.Scene { return dayBars(j, w, h) }},
		{Title: "Lowest charge of each day", Share: 0.19, Least: 32, Draw: func(w, h float64) *draw.Scene { return chargeLine(j, w, h) }},
	}
	t := Table{Title: "Days", Head: []string{"date", "place", "Wh in", "used", "low %", "P90", "air °C"}, Right: []int{2, 3, 4, 5, 6}, Fine: true}
	for _, d := range a.Days {
		place := d.Place
		if d.Moves {
			place += ", drive"
		}
		t.Rows = append(t.Rows, []string{d.Date.Format("Mon 2 Jan"), place, whole(d.Harvest.WattHours()), whole(d.Demand.WattHours()), whole(d.Lowest.Percent()),
			whole(d.LowestP90.Percent()), whole(d.AirLow.Celsius()) + " to " + whole(d.AirHigh.Celsius())})
	}
	s.Tables = append([]Table{t, ledger(j)}, unknowns(s.Verdicts)...)
	s.Notes = append([]string{bandWords, fmt.Sprintf("%d weather years, seed %d; the same file and seed give the same days.", a.Years, a.Seed)}, a.Notes...)
	s.Sources = append(sourcesOf(s.Verdicts), j.Climate)
	sure(j, &s)
	return s
}

// dates writes the days under a chart, as many as fit.
func dates(j Job, c *chart) {
	days := j.Forecast.Days
	every := max(1, int(math.Ceil(13/(c.w/float64(len(days))))))
	for i, d := range days {
		x, w := c.slot(i, len(days))
		if d.Date.Day() == 1 || i == 0 {
			c.s.Path(draw.Style{Stroke: draw.Fine, Width: 0.2}, draw.Point{X: x, Y: c.y + c.h}, draw.Point{X: x, Y: c.y + c.h + 1.2})
		}
		if i%every == 0 {
			c.s.Write(draw.Text{At: draw.Point{X: x + w/2, Y: c.y + c.h + 3.6}, Text: d.Date.Format("2 Jan"), Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
		}
	}
}

// dayBars draws harvest with its band, and use, for each day.
func dayBars(j Job, width, height float64) *draw.Scene {
	days := j.Forecast.Days
	s := draw.New("Harvest and use, day by day", width, height)
	top := 0.0
	for _, d := range days {
		top = max(top, d.Harvest.WattHours()+d.Alternator.WattHours(), d.Demand.WattHours(), d.HarvestBand.P10)
	}
	c := chart{s: s, x: 16, y: 10, w: width - 20, h: height - 16, top: nice(top)}
	c.grid("Wh")
	driving := false
	for i, d := range days {
		x, w := c.slot(i, len(days))
		half := w * 0.42
		s.Polygon(draw.Style{Stroke: draw.Sun, Width: 0.25, Fill: draw.SunPale}, c.box(x+w*0.06, half, 0, d.Harvest.WattHours())...)
		if alt := d.Alternator.WattHours(); alt > 1 {
			driving = true
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.White}, c.box(x+w*0.06, half, d.Harvest.WattHours(), d.Harvest.WattHours()+alt)...)
		}
		mid := x + w*0.06 + half/2
		whisker := draw.Style{Stroke: draw.Line, Width: 0.25}
		s.Path(whisker, draw.Point{X: mid, Y: c.level(d.HarvestBand.P90)}, draw.Point{X: mid, Y: c.level(d.HarvestBand.P10)})
		for _, v := range []float64{d.HarvestBand.P90, d.HarvestBand.P10} {
			s.Path(whisker, draw.Point{X: mid - min(0.8, half/3), Y: c.level(v)}, draw.Point{X: mid + min(0.8, half/3), Y: c.level(v)})
		}
		use := c.box(x+w*0.06+half, half, 0, d.Demand.WattHours())
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.White}, use...)
		s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.4, use...)
	}
	dates(j, &c)
	legend := "filled: harvest, with P90 to P10 as a whisker; hatched: used at the battery"
	if driving {
		legend += "; white on top: alternator"
	}
	s.Write(draw.Text{At: draw.Point{X: c.x, Y: 5}, Text: legend, Size: 2.6, Ink: draw.Fine})
	s.Text = fmt.Sprintf("Two bars for each of %d days, harvest and use; the table of days has the numbers.", len(days))
	return s
}

// chargeLine draws the lowest charge of each day, middle year and P90, with the band between filled.
func chargeLine(j Job, width, height float64) *draw.Scene {
	days := j.Forecast.Days
	s := draw.New("Lowest charge of each day", width, height)
	c := chart{s: s, x: 16, y: 10, w: width - 20, h: height - 16, top: 100}
	c.grid("%")
	var middle, low []draw.Point
	for i, d := range days {
		x, w := c.slot(i, len(days))
		middle = append(middle, draw.Point{X: x + w/2, Y: c.level(d.Lowest.Percent())})
		low = append(low, draw.Point{X: x + w/2, Y: c.level(d.LowestP90.Percent())})
	}
	band := append([]draw.Point{}, middle...)
	for i := len(low) - 1; i >= 0; i-- {
		band = append(band, low[i])
	}
	s.Polygon(draw.Style{Fill: draw.Pale}, band...)
	s.Path(draw.Style{Stroke: draw.Line, Width: 0.5}, middle...)
	s.Path(draw.Style{Stroke: draw.Shade, Width: 0.35, Dash: []float64{1.6, 0.8}}, low...)
	stop := j.Build.Battery.LowestCharge.Percent()
	s.Path(draw.Style{Stroke: draw.Line, Width: 0.3, Dash: []float64{3, 1.2}}, draw.Point{X: c.x, Y: c.level(stop)}, draw.Point{X: c.x + c.w, Y: c.level(stop)})
	s.Box(draw.Text{At: draw.Point{X: c.x + c.w - 1, Y: c.level(stop) - 0.8}, Text: "you stop here, " + whole(stop) + " %", Size: 2.5, Anchor: draw.End})
	dates(j, &c)
	s.Write(draw.Text{At: draw.Point{X: c.x, Y: 5}, Text: "full line: middle year; dashed: reached or exceeded in 90 % of years; the band between is filled", Size: 2.6, Ink: draw.Fine})
	s.Text = fmt.Sprintf("Two lines over %d days: the lowest charge in the middle year and in the worst tenth.", len(days))
	return s
}

// tooSmall is the share of all that came in under which lines of the ledger are printed as one.
const tooSmall = 0.0005

// ledger is where the sunlight went: what came in and every line out, with their sum to rounding.
func ledger(j Job) Table {
	a := j.Forecast
	in := 0.0
	for _, e := range a.Ledger {
		if e.Item.Inward() {
			in += e.Energy.WattHours()
		}
	}
	t := Table{Title: "Where the sunlight went: the trip, mean of the years", Head: []string{"item", "in, Wh", "out, Wh", "share"}, Right: []int{1, 2, 3}, Shares: []float64{}, Fine: true}
	out, small, lines := 0.0, 0.0, 0
	for _, e := range a.Ledger {
		v := e.Energy.WattHours()
		share := 0.0
		if in > 0 {
			share = v / in
		}
		if !e.Item.Inward() && math.Abs(share) < tooSmall {
			out += v
			small += v
			lines++
			continue
		}
		row := []string{e.Item.String(), "", whole(v), tenth(100*share) + " %"}
		if e.Item.Inward() {
			row[1], row[2] = row[2], ""
		} else {
			out += v
		}
		t.Rows = append(t.Rows, row)
		t.Shares = append(t.Shares, share)
	}
	if lines > 0 {
		t.Rows = append(t.Rows, []string{plural(lines, "line") + " under 0.05 % each", "", whole(small), tenth(100*small/max(in, 1e-9)) + " %"})
		t.Shares = append(t.Shares, small/max(in, 1e-9))
	}
	t.Rows = append(t.Rows, []string{"together; the rest is rounding", whole(in), whole(out), number(a.Residual.WattHours(), 2) + " Wh"})
	t.Shares = append(t.Shares, 0)
	return t
}

// tenth prints a number to a tenth, zero without a sign.
func tenth(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	if s == "-0.0" {
		s = "0.0"
	}
	return strings.Replace(s, "-", "−", 1)
}
