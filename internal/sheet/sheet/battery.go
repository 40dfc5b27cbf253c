package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/answer/battery"
	"noonmark/internal/physics/charge"
	"noonmark/internal/sheet/draw"
)

// Battery returns the sheet of the battery: its size against the nights that run short, what heat and stored charge do
// to it over the years, and what cold mornings cost.
func Battery(j Job) Sheet {
	s := Sheet{Key: "battery", Title: "Battery", Columns: 2}
	a := j.Battery
	if a == nil {
		s.Lead = "How large, how long it lasts, what cold mornings cost: not computed yet."
		if j.NoBattery != "" {
			s.Lead = upper(j.NoBattery) + "."
		}
		return s
	}
	b, c := j.Build, &a.Cells
	for _, line := range a.Advice {
		s.Lead += upper(line) + ". "
	}
	s.Values = []Value{{"battery as sold", wattHours(b.Battery.Energy)}, {"cells on the trip, mean", rounded(c.Mean, b)}, {"charge, mean", whole(c.Charge.Percent()) + " %"}, {"time above 90 %", whole(c.High.Percent()) + " %"},
		{"full cycles a year", number(a.FullAYear, 2)}, {"nights of use a year", fmt.Sprint(a.Nights)}, {"hours held back by cold, of the trip", number(c.ColdHours, 2)}, {"not taken for cold", wattHours(c.Kept)}}
	s.Figures = []Figure{{Title: "Size against nights short, one year in ten and middle year", Share: 0.22, Least: 36, Draw: func(w, h float64) *draw.Scene { return sizeBars(a, w, h) }}}
	if len(a.Cases) > 0 {
		s.Figures = append(s.Figures, Figure{Title: "Capacity left over the years, by how it is kept", Share: 0.24, Least: 40, Draw: func(w, h float64) *draw.Scene { return capacityLines(a, w, h) }})
	}
	s.Tables = []Table{sizesTable(j)}
	if len(a.Cases) > 0 {
		s.Tables = append(s.Tables, ageingTable(a))
		s.Notes = append(s.Notes, "Ageing is a band: another make of cell may age half or twice as fast. It is from new; a battery's own health today comes before it.")
		s.Sources = []string{"Naumann et al. 2018, J. Energy Storage 17:153, and 2020, J. Power Sources 451:227666"}
	} else {
		t := Table{Title: "Cycles to four fifths of the capacity, a range of the trade", Head: []string{"depth", "cycles"}, Right: []int{0, 1}}
		for _, l := range a.Lives {
			t.Rows = append(t.Rows, []string{whole(l.Depth.Percent()) + " %", whole(l.Least) + " to " + whole(l.Most)})
		}
		s.Tables = append(s.Tables, t)
		s.Notes = append(s.Notes, upper(a.NoAgeing)+".")
		s.Sources = []string{"trade handbook C1 (from memory)"}
	}
	mass := "Mass is estimated from the energy."
	if a.MassGiven {
		mass = "Mass goes with the energy from what was given."
	}
	s.Notes = append(s.Notes, fmt.Sprintf("All sizes run through the same %d weather years, seed %d; currents stay as built. %s", a.Years, a.Seed, mass))
	return s
}

// InWords returns s without its figures and values, its notes under the lead: for paper that is short.
func (s Sheet) InWords() Sheet {
	s.Lead = strings.TrimSpace(s.Lead + " " + strings.Join(s.Notes, " "))
	s.Figures, s.Values, s.Notes = nil, nil, nil
	return s
}

func sizesTable(j Job) Table {
	a, b := j.Battery, j.Build
	t := Table{Title: "Size against nights short", Head: []string{"times", "energy", "short, middle", "one year in ten", "not served", "lowest charge, P90", "mass"}, Right: []int{1, 2, 3, 4, 5, 6}, Fine: true}
	if b.Battery.Price != nil {
		t.Head, t.Right = append(t.Head, "price"), append(t.Right, 7)
	}
	for _, x := range a.Sizes {
		name := number(x.Factor, 3)
		if x.Aged {
			name = fmt.Sprintf("aged %d years", a.Own)
		}
		row := []string{name, wattHours(x.Energy), whole(x.Nights.P50), whole(x.Nights.P90), wattHours(x.Unmet), whole(x.Lowest.Percent()) + " %", x.Mass.Text(style(b))}
		if b.Battery.Price != nil {
			price := nothing
			if x.Price != nil {
				price = whole(*x.Price) + " " + b.Currency
			}
			row = append(row, price)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func ageingTable(a *battery.Answer) Table {
	t := Table{Title: "Capacity lost, %: low, middle and high end of the band", Head: []string{"how it is kept"}, Fine: true}
	for i, l := range a.Cases[0].After {
		t.Head = append(t.Head, fmt.Sprintf("after %d y", l.Years))
		t.Right = append(t.Right, i+1)
	}
	t.Head, t.Right = append(t.Head, "years to four fifths"), append(t.Right, len(t.Head))
	for _, k := range a.Cases {
		row := []string{k.Name}
		for _, l := range k.After {
			row = append(row, fmt.Sprintf("%s, %s, %s", whole(l.Low.Percent()), whole(l.Middle.Percent()), whole(l.High.Percent())))
		}
		t.Rows = append(t.Rows, append(row, yearsText(k.ToFifth[0])+", "+yearsText(k.ToFifth[1])+", "+yearsText(k.ToFifth[2])))
	}
	return t
}

// yearsText prints years until a loss, which are told to so many only.
func yearsText(y float64) string {
	if y >= battery.Longest {
		return fmt.Sprintf("over %d", battery.Longest)
	}
	return whole(y)
}

// sizeBars draws the nights short of each size: one year in ten pale, the middle year hatched before it.
func sizeBars(a *battery.Answer, width, height float64) *draw.Scene {
	s := draw.New("Size against nights short", width, height)
	top := 0.0
	for _, x := range a.Sizes {
		top = max(top, x.Nights.P90)
	}
	c := chart{s: s, x: 16, y: 8, w: width - 20, h: height - 18, top: nice(top)}
	c.grid("nights")
	for i, x := range a.Sizes {
		at, w := c.slot(i, len(a.Sizes))
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.Pale}, c.box(at+w*0.2, w*0.6, 0, x.Nights.P90)...)
		middle := c.box(at+w*0.2, w*0.6, 0, x.Nights.P50)
		if x.Nights.P50 > 0 {
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.White}, middle...)
			s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.4, middle...)
		}
		name := number(x.Factor, 3) + " ×"
		if x.Aged {
			name = fmt.Sprintf("aged %d y", a.Own)
		}
		s.Write(draw.Text{At: draw.Point{X: at + w/2, Y: c.y + c.h + 3.6}, Text: name, Size: 2.5, Ink: draw.Line, Anchor: draw.Middle})
		s.Write(draw.Text{At: draw.Point{X: at + w/2, Y: c.y + c.h + 7}, Text: wattHours(x.Energy), Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	s.Text = "Two bars for each size, nights short in one year of ten and in the middle year; the table has the numbers."
	return s
}

// capacityLines draws the capacity left over the years: the band of the first case kept full, and the middle of each.
func capacityLines(a *battery.Answer, width, height float64) *draw.Scene {
	s := draw.New("Capacity left over the years", width, height)
	right := 0.0
	for i := range a.Cases {
		right = max(right, draw.Width(draw.Regular, 2.5, caseName(i, a)))
	}
	c := chart{s: s, x: 16, y: 6, w: width - 31 - right, h: height - 15, top: 100}
	c.grid("%")
	left := func(loss float64) float64 { return c.level(100 * (1 - loss)) }
	at := func(y float64) float64 { return c.x + c.w*y/float64(a.Own) }
	const steps = 24
	band := a.Cases[min(1, len(a.Cases)-1)]
	curve := func(k battery.Case, pick func(charge.LossBand) float64) []draw.Point {
		// Losses grow with the root of the years, so the last one gives the line.
		last := k.After[len(k.After)-1]
		var out []draw.Point
		for i := range steps + 1 {
			y := float64(a.Own) * float64(i) / steps
			out = append(out, draw.Point{X: at(y), Y: left(pick(last.LossBand) * math.Sqrt(y/float64(last.Years)))})
		}
		return out
	}
	low := curve(band, func(l charge.LossBand) float64 { return l.Low.Float() })
	for i := steps; i >= 0; i-- {
		low = append(low, curve(band, func(l charge.LossBand) float64 { return l.High.Float() })[i])
	}
	s.Polygon(draw.Style{Fill: draw.Pale}, low...)
	dashes := [][]float64{nil, {3, 1}, {1.4, 0.8}, {0.5, 0.7}}
	free := math.Inf(-1)
	type end struct {
		y    float64
		text string
		dash []float64
	}
	var ends []end
	for i, k := range a.Cases {
		line := curve(k, func(l charge.LossBand) float64 { return l.Middle.Float() })
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.4, Dash: dashes[i%len(dashes)]}, line...)
		ends = append(ends, end{line[steps].Y, caseName(i, a), dashes[i%len(dashes)]})
	}
	for range ends { // from the top down, none over another
		best := -1
		for i := range ends {
			if ends[i].text != "" && (best < 0 || ends[i].y < ends[best].y) {
				best = i
			}
		}
		y := max(ends[best].y+0.9, free+3.2)
		free = y
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.4, Dash: ends[best].dash}, draw.Point{X: c.x + c.w + 3, Y: y - 0.9}, draw.Point{X: c.x + c.w + 10, Y: y - 0.9})
		s.Write(draw.Text{At: draw.Point{X: c.x + c.w + 11, Y: y}, Text: ends[best].text, Size: 2.5, Ink: draw.Line})
		ends[best].text = ""
	}
	s.Write(draw.Text{At: draw.Point{X: c.x, Y: c.y + c.h - 1.6}, Text: "filled: the band of " + caseName(min(1, len(a.Cases)-1), a), Size: 2.5, Ink: draw.Fine})
	for y := 0; y <= a.Own; y += max(1, a.Own/5) {
		s.Write(draw.Text{At: draw.Point{X: at(float64(y)), Y: c.y + c.h + 3.6}, Text: fmt.Sprintf("%d y", y), Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	s.Text = fmt.Sprintf("A line for each way of keeping it, over %d years; the pale band is that of the case %q. The table has the numbers.", a.Own, band.Name)
	return s
}

// caseName is a case's short name beside its line.
func caseName(i int, a *battery.Answer) string {
	short := []string{"lived in all year", "kept full", "full, hot vehicle", "kept at 50 %"}
	if len(a.Cases) == len(short) {
		return short[i]
	}
	return a.Cases[i].Name
}
