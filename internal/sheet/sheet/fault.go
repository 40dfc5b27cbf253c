package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/sheet/draw"
)

// FaultJob is what the fault's sheet is made from.
type FaultJob struct {
	Answer   *diagnose.Answer
	Readings []diagnose.Reading // those that the answer was made from
	Texts    []string           // as typed; nil: printed from the values
	Assumed  []Assumption
}

// Fault returns the sheet of what is wrong: causes ranked with their place, what each says of the readings,
// the next test with its caution, and what would overturn the first.
func Fault(j FaultJob) Sheet {
	a := j.Answer
	first := a.Causes[0]
	s := Sheet{Key: "fault", Title: "Fault", Columns: 2, Assumed: j.Assumed,
		Lead: fmt.Sprintf("%s: %s, %s.", upper(a.Verdict.String()), causeAt(first), percent(first.Probability.Float())),
		Values: []Value{{"readings", fmt.Sprint(len(j.Readings))}, {"light on the cells", whole(a.Light.WattsPerSquareMetre()) + " W/m²"}, {"cells", whole(a.Cells.Celsius()) + " °C"},
			{"readings as far off, were the first cause true", "in " + percent(a.Fit.Float()) + " of cases"}},
		Cautions: titled("Live in light", "Plugs under load", "Arcs of direct current", "Hot skin", "Work at height", "Mains"),
		Sources:  []string{"probability by likelihood over the causes listed, their priors after field studies and our own estimates; uncertainties by JCGM 100:2008"}}
	if a.Verdict == diagnose.NoneFits {
		s.Lead = "None of the listed causes fits these readings. The nearest is " + causeAt(first) + "; do not act on it."
	}
	if len(a.Next) > 0 {
		t := a.Next[0]
		lines := []string{upper(t.How) + ": " + t.Where + ".", "Caution: " + t.Caution + "."}
		if t.Sweep {
			lines = append(lines, "Nothing is unplugged: take it at every like place while you are there.")
		}
		for _, e := range t.Expect {
			lines = append(lines, fmt.Sprintf("If it is %s, it reads %s.", e.Cause, OutcomeText(t.Kind, e)))
		}
		s.Lists = append(s.Lists, List{Title: "Next test", Lines: lines, Why: "The one that tells most about the cause for its trouble and danger."})
		if len(a.Next) > 1 {
			var more []string
			for _, t := range a.Next[1:] {
				more = append(more, upper(t.How)+": "+t.Where+". Caution: "+t.Caution+".")
			}
			s.Lists = append(s.Lists, List{Title: "Else", Lines: more})
		}
	}
	if list := Alike(a); len(list) > 0 {
		s.Lists = append(s.Lists, List{Title: "These readings cannot tell from the first", Lines: upperAll(list), Why: "An open bypass diode is one: in full sun it changes nothing. The next test is made for them."})
	}
	if m := first.Fault.Mend(); m != "" && a.Verdict != diagnose.NoneFits {
		s.Lists = append(s.Lists, List{Title: "To do, once it is sure enough for you", Lines: []string{upper(m) + "."}})
	}
	s.Lists = append(s.Lists, List{Title: "Would overturn it", Lines: []string{upper(a.Overturn) + "."}})
	causes := causeTable("Causes", a.Causes, 8)
	s.Tables = []Table{causes, j.predictions(), held()}
	s.Figures = []Figure{
		{Title: "Causes by the readings", Share: min(0.3, 0.1+0.03*float64(len(causes.Rows))), Least: 14 + 6*float64(len(causes.Rows)), Draw: j.bars},
		{Title: "How far each reading lies from what a cause says", Share: min(0.45, 0.12+0.03*float64(len(first.Predicted))), Least: 16 + 3.4*float64(len(first.Predicted)), Draw: j.distances}}
	s.Notes = []string{"A cause is a fault built into the array's own circuit; a listed probability counts listed causes only, and one for none of these.",
		"An instrument mistake is a cause like the others: a second meter is a cheap test.",
		"u is one standard uncertainty of a reading, meter, model, light and temperature together: of 100 readings 95 lie within 2 u."}
	return s
}

// Alike names the causes that the readings cannot tell from the first.
func Alike(a *diagnose.Answer) []string {
	var out []string
	for _, k := range a.Alike {
		out = append(out, fmt.Sprintf("%s (%s)", causeAt(a.Causes[k]), percent(a.Causes[k].Probability.Float())))
	}
	return out
}

// held says how far the percentages hold.
func held() Table {
	t := Table{Title: "How far such percentages hold: 600 synthetic arrays with known faults", Head: []string{"causes given", "on average", "were true", "of so many"}, Right: []int{0, 1, 2, 3}, Fine: true}
	for _, c := range diagnose.Calibrated() {
		t.Rows = append(t.Rows, []string{fmt.Sprintf("%s to %s %%", whole(c.From.Percent()), whole(c.To.Percent())), tenth(c.Said.Percent()) + " %", tenth(c.True.Percent()) + " %", whole(c.Causes)})
	}
	return t
}

// Calibration returns the figure of how often causes that are given a probability are true.
func Calibration() Figure {
	return Figure{Title: "Of causes given a probability, how many were true", Share: 0.5, Least: 70, Draw: func(w, h float64) *draw.Scene {
		s := draw.New("Of causes given a probability, how many were true", w, h)
		side := min(w-30, h-16)
		place := func(x, y float64) draw.Point { return draw.Point{X: 14 + side*x, Y: 4 + side*(1-y)} }
		for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
			s.Path(draw.Style{Stroke: draw.Faint, Width: 0.12}, place(v, 0), place(v, 1))
			s.Path(draw.Style{Stroke: draw.Faint, Width: 0.12}, place(0, v), place(1, v))
			x, y := place(v, 0), place(0, v)
			s.Write(draw.Text{At: draw.Point{X: x.X, Y: x.Y + 3.6}, Text: whole(100 * v), Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
			s.Write(draw.Text{At: draw.Point{X: y.X - 1.2, Y: y.Y + 0.9}, Text: whole(100*v) + " %", Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.End})
		}
		s.Path(draw.Style{Stroke: draw.Shade, Width: 0.3, Dash: []float64{2, 1}}, place(0, 0), place(1, 1))
		for _, c := range diagnose.Calibrated() {
			p := c.True.Float()
			u := 2 * math.Sqrt(max(0.02, p)*max(0.02, 1-p)/max(1, c.Causes))
			x := c.Said.Float()
			s.Path(draw.Style{Stroke: draw.Line, Width: 0.35}, place(x, max(0, p-u)), place(x, min(1, p+u)))
			s.Circle(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Sun}, place(x, p), 0.9)
		}
		foot := place(0, 0)
		s.Write(draw.Text{At: draw.Point{X: foot.X, Y: min(h-1, foot.Y+8)}, Text: "given, %; upwards: true; bars: 95 % of counting", Size: 2.5, Ink: draw.Fine})
		s.Text = fmt.Sprintf("%d points of causes true over causes given, against the line on which they are equal.", len(diagnose.Calibrated()))
		return s
	}}
}

// percent prints a share without decimals, small ones as under one.
func percent(x float64) string {
	switch {
	case x > 0 && x < 0.01:
		return "under 1 %"
	case x < 1 && x > 0.99:
		return "over 99 %"
	}
	return whole(100*x) + " %"
}

// OutcomeText says what a test reads by a cause.
func OutcomeText(k diagnose.Kind, e diagnose.Outcome) string {
	switch {
	case k.Unit() == "" && e.Yes > 0.5:
		return "yes"
	case k.Unit() == "":
		return "no"
	case e.Over:
		return "over the range"
	case k.Unit() == "Ω" && e.Value >= 1e3:
		return number(e.Value/1e3, 3) + " kΩ"
	}
	return number(e.Value, 3) + " " + k.Unit()
}

// text is a reading as typed, or printed.
func (j FaultJob) text(i int) string {
	if i < len(j.Texts) && j.Texts[i] != "" {
		return j.Texts[i]
	}
	r := j.Readings[i]
	switch {
	case r.Over:
		return "OL"
	case r.Kind.Unit() == "" && r.Value > 0.5:
		return "yes"
	case r.Kind.Unit() == "":
		return "no"
	}
	return number(r.Value, 4) + " " + r.Kind.Unit()
}

// says is what a cause says of a reading.
func (j FaultJob) says(p diagnose.Predicted) string {
	k := j.Readings[p.Reading].Kind
	return OutcomeText(k, diagnose.Outcome{Value: p.Value, Over: p.Over, Yes: p.Yes})
}

// second reports whether a second cause is worth a column.
func (j FaultJob) second() bool {
	return len(j.Answer.Causes) > 1 && j.Answer.Causes[1].Probability >= 0.005
}

// predictions is read against what the first two causes say.
func (j FaultJob) predictions() Table {
	a := j.Answer
	t := Table{Title: "Read, and what the first causes say", Head: []string{"reading", "at", "read", "the first says", "off, in u"}, Right: []int{2, 3, 4}, Fine: true}
	second := j.second()
	if second {
		t.Head = append(t.Head, "the second says", "off, in u")
		t.Right = append(t.Right, 5, 6)
	}
	for n, p := range a.Causes[0].Predicted {
		r := j.Readings[p.Reading]
		row := []string{r.Kind.String(), orDash(r.Place()), j.text(p.Reading), j.says(p), offText(r, p)}
		if second {
			q := a.Causes[1].Predicted[n]
			row = append(row, j.says(q), offText(r, q))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// offText prints a distance; what is seen, or over the range, has none.
func offText(r diagnose.Reading, p diagnose.Predicted) string {
	if r.Kind.Unit() == "" || r.Over || p.Over {
		return "–"
	}
	return tenth(p.Distance)
}

// bars draws the causes' probabilities, dark where the verdict stands on them.
func (j FaultJob) bars(width, height float64) *draw.Scene {
	s := draw.New("Causes by the readings", width, height)
	var list []diagnose.Cause
	for n, c := range j.Answer.Causes {
		if n < 8 && (n == 0 || c.Probability >= 0.005) {
			list = append(list, c)
		}
	}
	left := min(0.55*width, 90)
	row := (height - 8) / float64(len(list))
	size := min(2.8, 0.55*row)
	full := width - left - 21
	for _, v := range []float64{0, 0.5, 0.7, 0.95, 1} {
		x := left + full*v
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.12}, draw.Point{X: x, Y: 1}, draw.Point{X: x, Y: height - 6})
		if v != 0.95 {
			s.Write(draw.Text{At: draw.Point{X: x, Y: height - 2.4}, Text: whole(100*v) + " %", Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
		}
	}
	for i, c := range list {
		y := 1 + row*float64(i)
		st := draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.Pale}
		if i == 0 && j.Answer.Verdict != diagnose.NoneFits {
			st.Fill = draw.SunPale
		}
		s.Rect(st, draw.Point{X: left, Y: y + 0.18*row}, max(0.2, full*c.Probability.Float()), 0.64*row)
		s.Write(draw.Text{At: draw.Point{X: left - 2, Y: y + row/2 + 0.35*size}, Text: shorten(causeAt(c), size, left-3), Size: size, Anchor: draw.End})
		at := draw.Point{X: left + full*c.Probability.Float() + 1.5, Y: y + row/2 + 0.35*size}
		s.Write(draw.Text{At: at, Text: percent(c.Probability.Float()), Size: size, Face: draw.Mono})
	}
	s.Text = fmt.Sprintf("Bars of probability for %d causes; the first, %s, has %s.", len(list), causeAt(list[0]), percent(list[0].Probability.Float()))
	return s
}

// distances draws how far each reading lies from the first cause and the second, in standard uncertainties.
func (j FaultJob) distances(width, height float64) *draw.Scene {
	s := draw.New("How far each reading lies from what a cause says", width, height)
	c := spans{from: -6, to: 6, ticks: []float64{-6, -4, -2, 0, 2, 4, 6}, text: whole, bounds: []bound{{-2, "−2"}, {2, "2: 95 of 100 within"}},
		foot: "standard uncertainties of meter, model, light and temperature; beyond 6 an arrow's head"}
	if j.second() {
		c.foot = "standard uncertainties; round: the first cause, square: the second; beyond 6 an arrow's head"
	}
	var others []span
	far := 0
	for n, p := range j.Answer.Causes[0].Predicted {
		r := j.Readings[p.Reading]
		if r.Kind.Unit() == "" || r.Over || p.Over {
			continue
		}
		if math.Abs(p.Distance) > 2 {
			far++
		}
		c.rows = append(c.rows, span{label: strings.TrimSpace(r.Kind.String() + " " + r.Place()), mid: p.Distance})
		o := span{mid: math.NaN()}
		if j.second() {
			o = span{mid: j.Answer.Causes[1].Predicted[n].Distance, square: true}
		}
		others = append(others, o)
	}
	c.second = others
	c.draw(s, 0, 0, width, height)
	s.Text = fmt.Sprintf("Marks for %d readings by their distance from the first cause and the second; %d lie beyond two standard uncertainties of the first.", len(c.rows), far)
	return s
}
