package sheet

import (
	"fmt"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// Needs returns the sheet of what is used in a day.
func Needs(j Job) Sheet {
	b, n := j.Build, j.Needs
	s := Sheet{Key: "needs", Title: "Needs", Cautions: cautionsOf("needs")}
	s.Lead = fmt.Sprintf("%s a day at the battery. The battery's usable %s carry %s nights with no sun at all.", wattHours(n.Day), wattHours(n.Usable), number(n.Nights, 2))
	s.Values = []Value{{"a day, at the battery", wattHours(n.Day)}, {"battery as sold", wattHours(b.Battery.Energy)}, {"of it usable", wattHours(n.Usable)},
		{"nights without sun", number(n.Nights, 2)}, {"air on the trip, mean low", rounded(n.AirLow, b)}, {"and mean high", rounded(n.AirHigh, b)}}
	t := Table{Title: "Who uses it, in a parked day", Head: []string{"load", "energy", "of the day"}, Right: []int{1, 2}, Shares: []float64{}}
	sum := 0.0
	for _, l := range n.Loads {
		sum += l.Energy.WattHours()
	}
	for _, l := range n.Loads {
		share := 0.0
		if sum > 0 {
			share = l.Energy.WattHours() / sum
		}
		name := l.Name
		for _, k := range b.Loads {
			if k.Name == l.Name && k.Medical {
				name += " (medical)"
			}
		}
		t.Rows = append(t.Rows, []string{name, wattHours(l.Energy), whole(100*share) + " %"})
		t.Shares = append(t.Shares, share)
	}
	s.Tables = []Table{t}
	s.Figures = []Figure{{Title: "A parked day, hour by hour", Share: 0.42, Draw: func(w, h float64) *draw.Scene { return hours(j, w, h) }}}
	s.Notes = []string{"Loads are as used at the plug; the day at the battery has conversion and the controller's own use in it, as a mean over the trip.",
		"A fridge follows the air around it: it is taken at the trip's mean."}
	return s
}

// hours draws the watts of a parked day by hour, fridge and standing draws at their means.
func hours(j Job, width, height float64) *draw.Scene {
	b := j.Build
	s := draw.New("A parked day, hour by hour", width, height)
	base := 0.0
	var use [24]float64
	for _, l := range j.Needs.Loads {
		known := false
		for i := range b.Loads {
			k := &b.Loads[i]
			if k.Name == l.Name && k.Kind == build.Hourly && k.Parked {
				known = true
				for h := range use {
					use[h] += k.Watts[h].Watts()
				}
			}
		}
		if !known && !drivingOnly(b, l.Name) {
			base += l.Energy.WattHours() / 24
		}
	}
	top := 0.0
	for _, w := range use {
		top = max(top, w+base)
	}
	c := chart{s: s, x: 16, y: 6, w: width - 22, h: height - 16, top: nice(top)}
	c.grid("W")
	c.bars(24, func(i int) (float64, draw.Style) {
		return use[i] + base, draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.White}
	})
	for i := range 24 {
		x, w := c.slot(i, 24)
		if v := use[i] + base; v > 0 {
			s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.6, c.box(x, w, min(base, v), v)...)
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.15, Fill: draw.Pale}, c.box(x, w, 0, min(base, v))...)
		}
		if i%3 == 0 {
			s.Write(draw.Text{At: draw.Point{X: x, Y: c.y + c.h + 4}, Text: fmt.Sprint(i), Size: 2.6, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
		}
	}
	s.Write(draw.Text{At: draw.Point{X: c.x + c.w, Y: c.y + c.h + 8}, Text: "hour of the day. Plain: what draws always, as a mean; hatched: what is switched on", Size: 2.6, Ink: draw.Fine, Anchor: draw.End})
	s.Text = fmt.Sprintf("Bars of watts for each hour of a parked day; %s watts draw always as a mean.", whole(base))
	return s
}

func drivingOnly(b *build.Build, name string) bool {
	for i := range b.Loads {
		if b.Loads[i].Name == name {
			return !b.Loads[i].Parked
		}
	}
	return false
}

// Mounting returns the sheet of how the modules are held.
func Mounting(j Job) Sheet {
	b := j.Build
	s := Sheet{Key: "mounting", Title: "Mounting", Verdicts: j.verdicts("mounting"), Cautions: cautionsOf("mounting")}
	var kinds []build.Attachment
	for _, m := range b.Modules {
		known := false
		for _, k := range kinds {
			known = known || k == m.Attachment
		}
		if !known {
			kinds = append(kinds, m.Attachment)
		}
	}
	s.Figures = []Figure{{Title: "Section through the mounting, not to scale", Share: 0.16 + 0.12*float64(len(kinds)), Least: 8 + 30*float64(len(kinds)), Draw: func(w, h float64) *draw.Scene { return layers(kinds, w, h) }}}
	for _, c := range covers(b) {
		s.Figures = append(s.Figures, Figure{Title: coverTitle(c), Share: 0.24, Least: 38, Draw: func(w, h float64) *draw.Scene { return coverPattern(b, c, w, h) }})
	}
	s.Tables = append([]Table{bondTable(j)}, unknowns(s.Verdicts)...)
	s.Lead = count(s.Verdicts)
	if len(s.Verdicts) == 0 {
		s.Lead = "No mounting rule was applied to this build: what is below is what the bond takes, and not whether it holds."
	}
	area := 0.0
	for i := range b.Modules {
		t := &b.Types[b.Modules[i].Type]
		area += t.Length.Metres() * t.Width.Metres()
	}
	s.Values = []Value{{"area of the modules", quantity.Area(area).Text(style(b))}}
	s.Notes = []string{"Before anything is glued: run every module loose in the sun for some days. One that fails early is cheap now and dear later.",
		"Front edges first: a cover over them takes the wind's grip; keep it and its shadow off the cells.",
		"Order of a surface: clean, abrade, clean, wipe, prime thin, place once, roll with a firm hand."}
	s.Sources = sourcesOf(s.Verdicts)
	return s
}

// rounded prints a temperature to a degree.
func rounded(t quantity.Temperature, b *build.Build) string {
	if b.Units == build.Imperial {
		return whole(t.Fahrenheit()) + " °F"
	}
	return whole(t.Celsius()) + " °C"
}
