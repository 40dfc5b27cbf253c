package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/answer/choose"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// Choice returns the sheet of layouts and module types: the front of a search with its layouts drawn, and
// types side by side. A job with neither says so.
func Choice(j Job) Sheet {
	s := Sheet{Key: "choice", Title: "Choice", Columns: 2}
	if a := j.Layouts; a != nil {
		arrangement(&s, j, a)
		s.Columns = 1 // its names are long
	}
	if a := j.Types; a != nil {
		comparison(&s, j, a)
	}
	if len(s.Tables) == 0 {
		s.Lead = "No layout was searched and no type compared yet."
		return s
	}
	s.Notes = append(s.Notes, "Before you glue: look at Shade and Wiring of the layout you choose. Cable entry is not searched.")
	return s
}

// arrangement puts the outcome of a search on the sheet.
func arrangement(s *Sheet, j Job, a *choose.Arrangement) {
	s.Lead = a.Why
	list := append([]choose.Candidate{a.Now}, a.Candidates...)
	if len(a.Candidates) > 0 {
		s.Figures = append(s.Figures,
			Figure{Title: "What each layout gives in a year, against " + against(list), Share: 0.4, Least: 56, Wanted: 84, Phone: 70, Draw: func(w, h float64) *draw.Scene { return frontChart(list, j.Build, w, h) }},
			Figure{Title: "The layouts from above, front to the left", Share: 0.5, Least: 60, Wanted: plansHeight(list, screenWidth, 4), Phone: plansHeight(list, screenWidth/2, 2), Draw: func(w, h float64) *draw.Scene { return layoutPlans(list, w, h) }})
	}
	t := Table{Title: "Layouts, a year at the battery", Head: []string{"", "layout", "a year", "against now", "nights short", "on labels", "mass"}, Right: []int{2, 3, 4, 5, 6}, Shares: []float64{}}
	most, priced := 0.0, false
	for i := range list {
		most, priced = math.Max(most, list[i].Energy.Joules()), priced || list[i].Money != nil
	}
	if priced {
		t.Head, t.Right = append(t.Head, "price"), append(t.Right, len(t.Head))
	}
	t.Head = append(t.Head, "on the front")
	for i, c := range list {
		mark, front, price := fmt.Sprint(i), "", "not given"
		if i == 0 {
			mark = "–"
		} else if c.Front {
			front = "yes"
		}
		if c.Money != nil {
			price = whole(*c.Money) + " " + j.Build.Currency
		}
		gain := ""
		if i > 0 {
			gain = signed((c.Energy-a.Now.Energy).WattHours()/1000, "kWh")
		}
		row := []string{mark, c.What, kilowattHours(c.Energy), gain, whole(c.Nights), whole(c.Power.Watts()) + " W", c.Mass.Text(style(j.Build))}
		if priced {
			row = append(row, price)
		}
		t.Rows = append(t.Rows, append(row, front))
		t.Shares = append(t.Shares, c.Energy.Joules()/math.Max(most, 1))
	}
	s.Tables = append(s.Tables, t)
	s.Values = append(s.Values, Value{"layouts judged", fmt.Sprint(a.Judged)}, Value{"layouts left out for rules", fmt.Sprint(a.Forbidden)})
	if len(a.Candidates) > 0 {
		s.Notes = append(s.Notes, "On the front: no other layout gives more, with no more nights short, for no more money and mass. Nights short are those of the trip, in the middle year.")
		if a.Proof != "" {
			s.Notes = append(s.Notes, a.Proof)
		} else {
			s.Values = append(s.Values, Value{"best is under its bound", number(100*a.Gap(), 2) + " %"})
			s.Notes = append(s.Notes, "The bound, which no layout passes: "+a.BoundOf+".")
		}
	}
	if len(a.Candidates) > 0 && len(a.Candidates[0].Still) > 0 {
		s.Notes = append(s.Notes, "Outside a rule as the build as it stands is: "+strings.ReplaceAll(strings.Join(a.Candidates[0].Still, ", "), "-", " ")+". Mend that first.")
	}
	for i := range a.Candidates {
		if c := &a.Candidates[i]; len(c.Mend) > 0 {
			s.Notes = append(s.Notes, fmt.Sprintf("Layout %d, %s, wants other parts to keep the rules %s: see Wiring once it is opened.", i+1, c.What, spaced(strings.Join(c.Mend, ", "))))
		}
	}
	if len(a.Refused) > 0 {
		t := Table{Title: "Left out for rules", Head: []string{"rule", "layouts of", "why, of the first met"}, Right: []int{1}, Fine: true}
		for _, r := range a.Refused {
			t.Rows = append(t.Rows, []string{spaced(r.Rule), plural(len(r.Kinds), "kind"), upper(r.Why)})
		}
		s.Tables = append(s.Tables, t)
		s.Notes = append(s.Notes, "A kind of layout is the same modules in the same wiring, wherever they stand.")
	}
	if ended := a.Ended(); ended != "" {
		s.Notes = append(s.Notes, ended)
	}
	s.Notes = append(s.Notes, sentences(a.Assumed)...)
}

// signed prints a number with its sign, or "the same".
func signed(v float64, unit string) string {
	text := number(v, 2)
	if math.Abs(v) < 0.05 {
		return "the same"
	}
	if v > 0 {
		text = "+" + text
	}
	return text + " " + unit
}

// against names what the front is drawn against: money when every layout has a price, else mass.
func against(list []choose.Candidate) string {
	for i := range list {
		if list[i].Money == nil {
			return "mass"
		}
	}
	return "money"
}

// frontChart draws each layout as a numbered point: its energy over its money or mass, the front as a line.
func frontChart(list []choose.Candidate, b *build.Build, width, height float64) *draw.Scene {
	kind := against(list)
	s := draw.New("What each layout gives in a year, against "+kind, width, height)
	cost := func(c choose.Candidate) float64 {
		if kind == "money" {
			return *c.Money
		}
		return c.Mass.Kilograms()
	}
	top, right := 0.0, 0.0
	for _, c := range list {
		top, right = math.Max(top, c.Energy.WattHours()/1000), math.Max(right, cost(c))
	}
	c := chart{s: s, x: 18, y: 8, w: width - 40, h: height - 24, top: nice(top * 1.04)}
	c.grid("kWh")
	end := nice(right * 1.06)
	across := func(v float64) float64 { return c.x + c.w*v/end }
	for i := 0; i <= 4; i++ {
		v := end * float64(i) / 4
		unit := ""
		if i == 4 {
			if unit = " kg"; kind == "money" {
				unit = " " + b.Currency
			}
		}
		s.Write(draw.Text{At: draw.Point{X: across(v), Y: c.y + c.h + 4.4}, Text: number(v, 3) + unit, Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
		s.Path(draw.Style{Stroke: draw.Fine, Width: 0.2}, draw.Point{X: across(v), Y: c.y + c.h}, draw.Point{X: across(v), Y: c.y + c.h + 1.2})
	}
	at := func(k choose.Candidate) draw.Point {
		return draw.Point{X: across(cost(k)), Y: c.level(k.Energy.WattHours() / 1000)}
	}
	var line []draw.Point
	for _, k := range byCost(list[1:], cost) {
		if len(line) == 0 || at(k).Y < line[len(line)-1].Y-1e-9 {
			line = append(line, at(k))
		}
	}
	s.Layer("front")
	if len(line) > 1 {
		s.Path(draw.Style{Stroke: draw.Sun, Width: 0.5}, line...)
	}
	s.Layer("layouts")
	points := []draw.Point{}
	for _, k := range list {
		points = append(points, at(k))
	}
	now := points[0]
	marks := markPlaces(points, draw.Point{X: now.X, Y: math.Min(now.Y+4.2, c.y+c.h-1.8)})
	for i := len(list) - 1; i > 0; i-- {
		s.Path(draw.Style{Stroke: draw.Fine, Width: 0.12}, points[i], marks[i])
	}
	for i := len(list) - 1; i > 0; i-- {
		s.Circle(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.SunPale}, points[i], 1)
	}
	for i := len(list) - 1; i > 0; i-- {
		s.Mark(i, marks[i])
	}
	s.Rect(draw.Style{Stroke: draw.Line, Width: 0.4, Fill: draw.White}, draw.Point{X: now.X - 1.2, Y: now.Y - 1.2}, 2.4, 2.4)
	s.Box(draw.Text{At: draw.Point{X: now.X, Y: math.Min(now.Y+5, c.y+c.h-1)}, Text: "as it stands", Size: 2.5, Anchor: draw.Middle})
	key := []string{"Circles are the layouts by their numbers in the table, the square is the build as it stands; the line is the front."}
	if width < 150 {
		key = []string{"Circles: the layouts by their numbers in the table.", "Square: the build as it stands. Line: the front."}
	}
	for i, text := range key {
		s.Write(draw.Text{At: draw.Point{X: c.x, Y: height - 3 - 3.4*float64(len(key)-1-i)}, Text: text, Size: 2.6, Ink: draw.Fine})
	}
	s.Text = fmt.Sprintf("%d layouts as points, energy of a year over %s; the table has the numbers.", len(list)-1, kind)
	return s
}

// markPlaces returns where the marks of points stand, millimetres: beside its point each, clear of the others,
// of every point and of the words under the first, which has no mark.
func markPlaces(points []draw.Point, words draw.Point) []draw.Point {
	out := make([]draw.Point, len(points))
	for i := len(points) - 1; i > 0; i-- {
		room := math.Inf(-1)
		for ring := range 4 {
			for turn := range 16 { // from the upper right, then ever further off it, to either side
				a := -0.42 + float64((turn+1)/2)*math.Pi/8*float64(1-2*(turn%2))
				far := 4.8 + 2.6*float64(ring)
				q := draw.Point{X: points[i].X + far*math.Cos(a), Y: points[i].Y + far*math.Sin(a)}
				least := math.Inf(1)
				for _, o := range out[i+1:] {
					least = math.Min(least, math.Hypot(o.X-q.X, o.Y-q.Y)-5.2)
				}
				for _, o := range points {
					least = math.Min(least, math.Hypot(o.X-q.X, o.Y-q.Y)-3.6)
				}
				least = math.Min(least, math.Max(math.Abs(q.X-words.X)-9.5, math.Abs(q.Y-words.Y)-3.8))
				if least = math.Min(least, 0); least > room {
					room, out[i] = least, q
				}
			}
		}
	}
	return out
}

// byCost returns candidates by rising cost, and by falling energy at one cost.
func byCost(list []choose.Candidate, cost func(choose.Candidate) float64) []choose.Candidate {
	out := append([]choose.Candidate(nil), list...)
	for i := 1; i < len(out); i++ {
		for k := i; k > 0; k-- {
			x, y := out[k-1], out[k]
			if cost(x) < cost(y) || cost(x) == cost(y) && x.Energy >= y.Energy {
				break
			}
			out[k-1], out[k] = y, x
		}
	}
	return out
}

// plansScale is the one scale of all small plans in cells of the given size.
func plansScale(list []choose.Candidate, w, h float64) draw.Scale {
	scale := draw.Scale(0)
	for i := range list {
		on := carriers(list[i].Build)
		for _, f := range on {
			low, high := bounds(list[i].Build.Surfaces[f].Outline)
			scale = max(scale, draw.ScaleFor(high.X-low.X, high.Y-low.Y, w-6, (h-12)/float64(len(on))-2))
		}
	}
	if scale == 0 {
		return 100
	}
	return scale
}

// plansHeight is the height of the small plans on a screen of a width, so many in a row: that of the scale their
// width allows.
func plansHeight(list []choose.Candidate, width float64, columns int) float64 {
	scale := plansScale(list, width/float64(columns), 90)
	tall := 0.0
	for i := range list {
		h := 12.0
		for _, f := range carriers(list[i].Build) {
			low, high := bounds(list[i].Build.Surfaces[f].Outline)
			h += scale.Of(high.Y-low.Y) + 2
		}
		tall = math.Max(tall, h)
	}
	return 5 + tall*math.Ceil(float64(len(list))/float64(columns))
}

// plansGrid returns how many small plans stand in a row and in how many rows, and their scale, the largest a
// field of the given size has room for: four in a row where others give no larger one, two on a narrow field.
func plansGrid(list []choose.Candidate, width, height float64) (columns, rows int, scale draw.Scale) {
	try := []int{4, 5, 6, 3}
	if width < 140 {
		try = []int{2}
	}
	for _, n := range try {
		m := (len(list) + n - 1) / n
		if s := plansScale(list, width/float64(n), height/float64(m)); columns == 0 || s < scale {
			columns, rows, scale = n, m, s
		}
	}
	return columns, rows, scale
}

// layoutPlans draws each layout small, with its number.
func layoutPlans(list []choose.Candidate, width, height float64) *draw.Scene {
	s := draw.New("The layouts from above", width, height)
	columns, rows, scale := plansGrid(list, width, height-4)
	w, h := width/float64(columns), (height-4)/float64(rows)
	s.Scale = scale.String()
	for i := range list {
		x, y := w*float64(i%columns)+2, h*float64(i/columns)+2
		name := "as it stands"
		if i > 0 {
			s.Mark(i, draw.Point{X: x + 2.4, Y: y + 3})
			name = list[i].Wiring
		}
		shift := 6.0
		if i == 0 {
			shift = 0
		}
		words := draw.Wrap(draw.Regular, 2.5, w-6-shift, fmt.Sprintf("%d modules, %s", list[i].Count, name))
		if len(list[i].Build.Modules) == 1 {
			words[0] = strings.Replace(words[0], "modules", "module", 1)
		}
		for k, line := range words[:min(2, len(words))] {
			s.Write(draw.Text{At: draw.Point{X: x + shift, Y: y + 3.6 + 3*float64(k)}, Text: line, Size: 2.5, Ink: draw.Fine})
		}
		y += 9
		for _, f := range carriers(list[i].Build) {
			y = smallPlan(s, list[i].Build, f, scale, draw.Point{X: x, Y: y}) + 2
		}
	}
	s.Text = fmt.Sprintf("%d small plans, one for each layout and one as it stands.", len(list))
	return s
}

// carriers are the surfaces with modules on them, or all when none has.
func carriers(b *build.Build) []int {
	if list := used(b); len(list) > 0 {
		return list
	}
	var out []int
	for i := range b.Surfaces {
		out = append(out, i)
	}
	return out
}

// smallPlan draws a surface with what is on it, and returns where it ends.
func smallPlan(s *draw.Scene, b *build.Build, surface int, scale draw.Scale, at draw.Point) float64 {
	f := &b.Surfaces[surface]
	low, high := bounds(f.Outline)
	v := view{scale: scale, origin: low, at: at}
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}, v.points(f.Outline)...)
	for k := range b.Obstacles {
		if o := &b.Obstacles[k]; o.Surface == surface {
			s.Polygon(draw.Style{Stroke: draw.Fine, Width: 0.2, Fill: draw.Paper}, v.points(o.Outline)...)
			s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.1, v.points(o.Outline)...)
		}
	}
	for m := range b.Modules {
		if b.Modules[m].Surface != surface {
			continue
		}
		l, h := b.Footprint(&b.Modules[m])
		p, q := v.point(l), v.point(h)
		s.Rect(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Pale}, p, q.X-p.X, q.Y-p.Y)
		for g, str := range b.Strings { // the modules of one string carry one number
			for _, k := range str.Modules {
				if size := min(2.6, q.X-p.X, q.Y-p.Y); k == m && len(b.Strings) > 1 { // no larger than the module
					s.Write(draw.Text{At: draw.Point{X: (p.X + q.X) / 2, Y: (p.Y+q.Y)/2 + 0.36*size}, Text: fmt.Sprint(g + 1), Size: size, Anchor: draw.Middle})
				}
			}
		}
	}
	return at.Y + scale.Of(high.Y-low.Y)
}
