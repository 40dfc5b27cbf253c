package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// Shade returns the sheet of the sun and what shade costs: the light of every cell over a year, the shadows of a
// clear day, what each thing costs and what would mend it.
func Shade(j Job) Sheet {
	b, a := j.Build, j.Shade
	s := Sheet{Key: "shade", Title: "Sun and shade", Verdicts: j.verdicts("shade"), Cautions: cautionsOf("shade"), Columns: 2}
	if a != nil {
		surfaces := slices.DeleteFunc(used(b), func(i int) bool { return !lit(b, a, i) })
		for _, i := range surfaces {
			s.Figures = append(s.Figures, Figure{Title: "Light of each cell of the " + b.Surfaces[i].Name + " over a year, percent", Share: 0.4 / float64(len(surfaces)), Least: 40,
				Draw: func(w, h float64) *draw.Scene { return cellMap(b, a, i, w, h) }})
		}
		s.Values = append(s.Values, Value{"left to use, a year", kilowattHours(a.Offered.Year)}, Value{"lost to all things together", kilowattHours(a.Together.Year)})
	}
	where := sunny(j, &s)
	switch {
	case a != nil && len(a.Obstacles) > 0:
		costs, lead := costsTable(a)
		s.Tables = append([]Table{costs}, s.Tables...)
		s.Lead = lead
		if t := mendsTable(a); len(t.Rows) > 0 {
			s.Tables = append(s.Tables, t)
		}
		s.Notes = append(s.Notes, sentences(a.Assumed)...)
	case j.NoShade != "":
		s.Lead = upper(j.NoShade) + "."
	}
	if where == "" {
		s.Lead = strings.TrimSpace("No stay is in the trip, so there is no day to draw. " + s.Lead)
		return s
	}
	s.Lead = strings.TrimSpace(s.Lead + " The day: " + where + ".")
	s.Notes = append(s.Notes, "Under each picture of the day: the share of the module least and most in shadow. It is not the share lost: a shadow on a few cells of a bypass group can cost the whole group. Trees and houses are left out of the day.")
	return s
}

// lit reports whether a surface carries a module whose cells were computed.
func lit(b *build.Build, a *shading.Answer, surface int) bool {
	for m := range b.Modules {
		if b.Modules[m].Surface == surface && m < len(a.Modules) && len(a.Modules[m].Cells) > 0 {
			return true
		}
	}
	return false
}

// kilowattHours prints an energy of a year; a small one in watt-hours.
func kilowattHours(e quantity.Energy) string {
	if math.Abs(e.WattHours()) < 100 {
		return wattHours(e)
	}
	return number(e.WattHours()/1000, 3) + " kWh"
}

// costsTable says what each thing costs in a year, and the sheet's answer in words.
func costsTable(a *shading.Answer) (Table, string) {
	t := Table{Title: "What each thing costs in a year, at the battery", Head: []string{"thing", "hours", "loses", "of all"}, Right: []int{1, 2, 3}, Shares: []float64{}, Fine: true}
	whole100 := math.Max(1, a.Offered.Year.Joules()+a.Together.Year.Joules())
	row := func(name, hours string, l shading.Loss, most float64) {
		share := l.Year.Joules() / whole100
		t.Rows = append(t.Rows, []string{name, hours, kilowattHours(l.Year), tenth(100*share) + " %"})
		t.Shares = append(t.Shares, max(0, l.Year.Joules())/most)
	}
	most := 1.0
	for _, c := range a.Obstacles {
		most = max(most, c.Loss.Year.Joules())
	}
	most = max(most, a.Together.Year.Joules())
	for _, c := range a.Obstacles {
		row(c.Name, whole(c.Hours.Year)+" h", c.Loss, most)
	}
	row("all together", "", a.Together, most)
	lead := "Nothing costs anything worth a figure."
	if c, ok := a.Worst(); ok {
		lead = fmt.Sprintf("The %s costs most: %s a year; all things together %s. Losses behind bypass diodes do not add up.", c.Name, kilowattHours(c.Loss.Year), kilowattHours(a.Together.Year))
		if m, ok := a.Cheapest(); ok {
			lead += fmt.Sprintf(" The cheapest mend worth 1 %%: %s (%s).", m.What, m.Effort)
		} else if len(a.Mends) > 0 {
			lead += " No mend tried gives 1 % of the year."
		}
	}
	return t, lead
}

// mostMends is how many mends are printed.
const mostMends = 5

// mendsTable lists what would give most.
func mendsTable(a *shading.Answer) Table {
	t := Table{Title: "What would change it, kWh a year", Head: []string{"gain", "change", "asks for"}, Right: []int{0}, Fine: true}
	for _, m := range a.Mends {
		if m.Gain.WattHours() >= 50 && len(t.Rows) < mostMends {
			t.Rows = append(t.Rows, []string{"+" + number(m.Gain.WattHours()/1000, 2), m.What, m.Effort.String()})
		}
	}
	return t
}

// shadeHatch returns how far apart the lines of a cell's hatch stand, for the light it lacks; 0: no hatch.
// A third of the light lacking is as dark as it gets.
func shadeHatch(lacks float64) float64 {
	if lacks < 0.015 {
		return 0
	}
	return 0.45 + 2.2*(1-math.Min(1, lacks/0.33))
}

// cellMap draws the modules of a surface with the light of each cell: hatched the denser the darker, and in numbers
// where there is room.
func cellMap(b *build.Build, a *shading.Answer, surface int, width, height float64) *draw.Scene {
	f := &b.Surfaces[surface]
	s := draw.New("Light of each cell of the "+f.Name+" over a year, percent", width, height)
	low, high := bounds(f.Outline)
	const left, top, right, bottom = 34, 2, 84, 2
	v := view{scale: draw.ScaleFor(high.X-low.X, high.Y-low.Y, width-left-right, height-top-bottom), origin: low}
	w, h := v.scale.Of(high.X-low.X), v.scale.Of(high.Y-low.Y)
	v.at = draw.Point{X: left + max(0, (width-left-right-w)/2), Y: top + max(0, (height-top-bottom-h)/2)}
	s.Scale = v.scale.String()
	s.Layer("outline")
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.35, Fill: draw.White}, v.points(f.Outline)...)
	s.Layer("cells")
	free := [2]float64{v.at.Y - 2, v.at.Y - 2} // under the names at the left and at the right
	var told []string
	for m := range b.Modules {
		if b.Modules[m].Surface != surface || m >= len(a.Modules) || len(a.Modules[m].Cells) == 0 {
			continue
		}
		light := a.Modules[m].Cells
		least := cells(s, b, m, light, v)
		l, z := b.Footprint(&b.Modules[m])
		p, q := v.point(l), v.point(z)
		s.Rect(draw.Style{Stroke: draw.Line, Width: 0.35}, p, q.X-p.X, q.Y-p.Y)
		text := fmt.Sprintf("%s, least %s", b.Modules[m].Name, whole(100*least))
		side, x, anchor := 0, v.at.X-1.5, draw.End
		if p.X+q.X > 2*v.at.X+w+1 {
			side, x, anchor = 1, v.at.X+w+1.5, draw.Start
		}
		y := max((p.Y+q.Y)/2+0.9, free[side]+3.4)
		free[side] = y
		s.Write(draw.Text{At: draw.Point{X: x, Y: y}, Text: fit(text, [2]float64{v.at.X - 2, 34}[side], draw.Regular, 2.6), Size: 2.6, Anchor: anchor})
		told = append(told, fmt.Sprintf("%s: darkest cell %s percent.", b.Modules[m].Name, whole(100*least)))
	}
	s.Layer("obstacles")
	for i := range b.Obstacles {
		if o := &b.Obstacles[i]; o.Surface == surface && len(o.Outline) > 2 {
			p := v.points(o.Outline)
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Paper}, p...)
			ol, oh := bounds(o.Outline)
			at, end := v.point(ol), v.point(oh)
			if draw.Width(draw.Regular, 2.4, o.Name)+1 < end.X-at.X && end.Y-at.Y > 3.5 {
				s.Write(draw.Text{At: draw.Point{X: (at.X + end.X) / 2, Y: (at.Y+end.Y)/2 + 0.8}, Text: o.Name, Size: 2.4, Anchor: draw.Middle})
			}
		}
	}
	s.Layer("legend")
	s.Write(draw.Text{At: draw.Point{X: width - 46, Y: top + 3}, Text: "front to the left", Size: 2.6, Ink: draw.Fine})
	for i, k := range []struct {
		light float64
		say   string
	}{{0.99, "98.5 % and more"}, {0.95, "95 %"}, {0.85, "85 %"}, {0.67, "67 % and less"}} {
		y := top + 6 + 5*float64(i)
		if y+4 > height {
			break
		}
		box := []draw.Point{{X: width - 46, Y: y}, {X: width - 38, Y: y}, {X: width - 38, Y: y + 4}, {X: width - 46, Y: y + 4}}
		s.Polygon(draw.Style{Stroke: draw.Faint, Width: 0.15, Fill: draw.White}, box...)
		if d := shadeHatch(1 - k.light); d > 0 {
			s.Hatch(draw.Style{Stroke: draw.Shade, Width: 0.16}, 60, d, box...)
		}
		s.Write(draw.Text{At: draw.Point{X: width - 36, Y: y + 2.9}, Text: k.say, Size: 2.5, Ink: draw.Fine})
	}
	s.Text = fmt.Sprintf("Scale %s, front to the left: each cell hatched the denser the less light it has of an unshaded one's. %s", v.scale, strings.Join(told, " "))
	return s
}

// cells draws a module's cells and returns the least light among them.
func cells(s *draw.Scene, b *build.Build, m int, light []quantity.Ratio, v view) float64 {
	least := 1.0
	for k, c := range b.Cells(&b.Modules[m]) {
		if k >= len(light) {
			break
		}
		share := light[k].Float()
		least = min(least, share)
		box := c.Outline.Bounds()
		p := v.point(build.Point{X: quantity.Length(box.Low.X), Y: quantity.Length(box.Low.Y)})
		q := v.point(build.Point{X: quantity.Length(box.High.X), Y: quantity.Length(box.High.Y)})
		at := []draw.Point{p, {X: q.X, Y: p.Y}, q, {X: p.X, Y: q.Y}}
		s.Polygon(draw.Style{Stroke: draw.Faint, Width: 0.1, Fill: draw.White}, at...)
		if d := shadeHatch(1 - share); d > 0 {
			s.Hatch(draw.Style{Stroke: draw.Shade, Width: 0.16}, 60, d, at...)
		}
		text := whole(100 * share)
		size := min(2.2, 0.62*(q.Y-p.Y), 2.2*(q.X-p.X-0.5)/draw.Width(draw.Mono, 2.2, text))
		if size >= 1.5 && text != "100" {
			s.Box(draw.Text{At: draw.Point{X: (p.X + q.X) / 2, Y: (p.Y+q.Y)/2 + 0.35*size}, Text: text, Size: size, Face: draw.Mono, Anchor: draw.Middle})
		}
	}
	return least
}
