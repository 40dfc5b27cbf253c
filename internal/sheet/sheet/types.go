package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/answer/choose"
	"noonmark/internal/sheet/draw"
)

// comparison puts module types side by side on the sheet.
func comparison(s *Sheet, j Job, a *choose.Comparison) {
	placed := 0
	for i := range a.Rows {
		if a.Rows[i].Best.Build != nil {
			placed++
		}
	}
	if s.Lead == "" {
		s.Lead = strings.Join(a.Advice, " ")
	}
	if placed > 0 {
		s.Figures = append(s.Figures, Figure{Title: "Offered by the hour, a mean day of the year", Share: 0.4, Least: 50, Wanted: 80, Draw: func(w, h float64) *draw.Scene { return typeHours(a, w, h) }})
	}
	give := Table{Title: "Types in the best layout found for each", Head: []string{"type", "layout", "taken, trip", "offered, year", "darkest month", "nights short"}, Right: []int{2, 3, 4, 5}, Shares: []float64{}}
	loss := Table{Title: "Where the types lose", Head: []string{"type", "to shade", "to heat", "to weak light", "mass"}, Right: []int{1, 2, 3, 4}}
	cost := Table{Title: "Money and life", Head: []string{"type", "price of all", "life", "fades a year", "a kWh taken", "pays back", "warranty"}, Right: []int{1, 2, 3, 4, 5, 6}}
	most := 1.0
	for i := range a.Rows {
		most = math.Max(most, a.Rows[i].Year.Joules())
	}
	words := List{Title: "In words"}
	for i := range a.Rows {
		r := &a.Rows[i]
		if r.Best.Build == nil {
			give.Rows, give.Shares = append(give.Rows, []string{r.Type, r.Verdict, "", "", "", ""}), append(give.Shares, 0)
			continue
		}
		layout := fmt.Sprintf("%d %s", r.Best.Count, r.Best.Wiring)
		give.Rows = append(give.Rows, []string{r.Type, layout, wattHours(r.Day) + " a day", kilowattHours(r.Year), wattHours(r.Worst) + " a day", whole(r.NightsShort)})
		give.Shares = append(give.Shares, r.Year.Joules()/most)
		loss.Rows = append(loss.Rows, []string{r.Type, tenth(r.Shade.Percent()) + " %", tenth(r.Heat.Percent()) + " %", tenth(r.Weak.Percent()) + " %", r.Best.Mass.Text(style(j.Build))})
		price, kwh, back, warranty := "not given", "not given", "–", "not given"
		if r.Price != nil {
			price = whole(*r.Price) + " " + j.Build.Currency
		}
		if r.PerKWh != nil {
			kwh = fmt.Sprintf("%.2f (%.2f to %.2f)", *r.PerKWh, r.PerKWhBand[0], r.PerKWhBand[1])
		}
		if r.PayBack != nil {
			back = number(*r.PayBack, 2) + " years"
		}
		if y := r.Best.Build.Types[r.Best.Type].WarrantyYears; y > 0 {
			warranty = plural(y, "year")
		}
		cost.Rows = append(cost.Rows, []string{r.Type, price, fmt.Sprintf("%s to %s years", whole(r.Life.Least), whole(r.Life.Most)), fmt.Sprintf("%s to %s %%", tenth(r.Life.Fade.Percent()), tenth(r.Life.FadeMost.Percent())), kwh, back, warranty})
		if r.Verdict != "" {
			words.Lines = append(words.Lines, r.Type+": "+r.Verdict+".")
		}
	}
	s.Tables = append(s.Tables, give, loss, cost)
	for h := 0; h < 24; {
		k := h
		for k < 24 && a.Ahead[k] == a.Ahead[h] {
			k++
		}
		if a.Ahead[h] != "" {
			words.Lines = append(words.Lines, fmt.Sprintf("%02d to %02d o'clock, over the year: %s offers most.", h, k, a.Ahead[h]))
		}
		h = k
	}
	if words.Lines = append(words.Lines, a.Advice...); len(words.Lines) > 0 {
		s.Lists = append(s.Lists, words)
	}
	s.Notes = append(s.Notes, fmt.Sprintf("Money over %d nights of use a year.", a.Nights), "Nobody paid for this comparison; it shows one roof, one trip and one climate, classes of module and no maker's product.")
	s.Notes = append(s.Notes, sentences(a.Assumed)...)
}

// lineDashes tell the types' lines apart without colour.
var lineDashes = [][]float64{nil, {2.4, 1.2}, {0.8, 0.8}, {4, 1, 0.8, 1}, {6, 1.4}, {1.6, 0.6, 0.4, 0.6}}

// typeHours draws what each type offers by the hour of a mean day.
func typeHours(a *choose.Comparison, width, height float64) *draw.Scene {
	s := draw.New("Offered by the hour, a mean day of the year", width, height)
	top := 0.0
	for i := range a.Rows {
		for _, e := range a.Rows[i].Hours {
			top = math.Max(top, e.WattHours())
		}
	}
	c := chart{s: s, x: 16, y: 8, w: width - 62, h: height - 18, top: nice(top)}
	c.grid("Wh")
	for h := 0; h <= 24; h += 3 {
		s.Write(draw.Text{At: draw.Point{X: c.x + c.w*float64(h)/24, Y: c.y + c.h + 4}, Text: fmt.Sprint(h), Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	n := 0
	for i := range a.Rows {
		r := &a.Rows[i]
		if r.Best.Build == nil {
			continue
		}
		st := draw.Style{Stroke: draw.Line, Width: 0.45, Dash: lineDashes[n%len(lineDashes)]}
		if n == 0 {
			st.Stroke = draw.Sun
		}
		var line []draw.Point
		for h, e := range r.Hours {
			line = append(line, draw.Point{X: c.x + c.w*(float64(h)+0.5)/24, Y: c.level(e.WattHours())})
		}
		s.Path(st, line...)
		y := c.y + 4 + 5*float64(n)
		s.Path(st, draw.Point{X: c.x + c.w + 4, Y: y}, draw.Point{X: c.x + c.w + 14, Y: y})
		s.Write(draw.Text{At: draw.Point{X: c.x + c.w + 16, Y: y + 0.9}, Text: draw.Wrap(draw.Regular, 2.6, 28, r.Type)[0], Size: 2.6})
		n++
	}
	s.Text = fmt.Sprintf("Lines of watt-hours by the hour for %d types; the words name who offers most when.", n)
	return s
}
