package sheet

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/bond"
	"noonmark/internal/sheet/draw"
)

// workday draws a plan as bars by the hour.
type workday struct {
	plan     *dayplan.Plan
	imperial bool
}

// Heights of the chart, mm: head of hours, a row of the weather, of the work, and the foot with its legend.
const (
	hoursHigh   = 5.0
	weatherHigh = 4.2
	workHigh    = 4.4
	legendHigh  = 10.0
)

// tasks are those of the day itself.
func (d workday) tasks() []dayplan.Task {
	return slices.DeleteFunc(slices.Clone(d.plan.Tasks), func(t dayplan.Task) bool { return t.BeforeDays > 0 })
}

// tall is the height the chart needs.
func (d workday) tall() float64 {
	return hoursHigh + 4*weatherHigh + workHigh*float64(len(d.tasks())) + legendHigh
}

// spanned returns the whole hours that the work, the window and some daylight lie in.
func (d workday) spanned() (from, until time.Time) {
	p := d.plan
	from, until = p.Date.Add(9*time.Hour), p.Date.Add(16*time.Hour)
	if p.Window.Found {
		from, until = p.Window.From, p.Window.Until
	}
	for _, t := range d.tasks() {
		if t.From.Before(from) {
			from = t.From
		}
		if t.To.After(until) {
			until = t.To
		}
	}
	from = p.Date.Add(from.Sub(p.Date).Truncate(time.Hour))
	if whole := p.Date.Add(until.Sub(p.Date).Truncate(time.Hour)); whole.Before(until) {
		until = whole.Add(time.Hour)
	}
	return from, until
}

// codes are the letters of what shuts the gate.
var codes = map[bond.Reason]string{bond.TooCold: "C", bond.DewNear: "D", bond.TooHumid: "H", bond.TooHot: "T", bond.TooWindy: "W", bond.Rain: "R"}

// shutBy returns the letters of what shuts an hour, and their words.
func shutBy(h dayplan.Hour) (letters string, words []string) {
	if h.Light <= 0 {
		letters, words = "N", append(words, "N dark")
	}
	for _, r := range h.Reasons {
		if r.Stops() {
			text, _, _ := strings.Cut(r.String(), ":")
			letters += codes[r]
			words = append(words, codes[r]+" "+text)
		}
	}
	return letters, words
}

// draw draws the gate and the weather by the hour, and under them the work.
func (d workday) draw(width, height float64) *draw.Scene {
	p := d.plan
	s := draw.New("The day by the hour", width, height)
	from, until := d.spanned()
	left := min(66, 0.34*width)
	span := until.Sub(from).Hours()
	x := func(t time.Time) float64 { return left + (width-left-1)*t.Sub(from).Hours()/span }
	tasks := d.tasks()
	room := height - hoursHigh - 4*weatherHigh - legendHigh
	row := min(6, room/float64(max(1, len(tasks))))
	top := hoursHigh + 4*weatherHigh
	bottom := top + row*float64(len(tasks))

	s.Layer("hours")
	each := (width - left - 1) / span
	step := 1
	for each*float64(step) < 9 {
		step++
	}
	for h := 0; h <= int(span+0.5); h++ {
		t := from.Add(time.Duration(h) * time.Hour)
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.1}, draw.Point{X: x(t), Y: hoursHigh}, draw.Point{X: x(t), Y: bottom})
		if h%step == 0 && h < int(span+0.5) {
			s.Write(draw.Text{At: draw.Point{X: x(t), Y: hoursHigh - 1.2}, Text: t.Format("15:04"), Size: 2.5, Face: draw.Mono, Ink: draw.Fine})
		}
	}
	legend := d.weather(s, from, until, x, each, step)

	s.Layer("work")
	for _, t := range []time.Time{p.Window.From, p.Window.Until} {
		if p.Window.Found {
			s.Path(draw.Style{Stroke: draw.Sun, Width: 0.4, Dash: []float64{2, 1}}, draw.Point{X: x(t), Y: hoursHigh}, draw.Point{X: x(t), Y: bottom + 1})
		}
	}
	for i, t := range tasks {
		y := top + row*float64(i)
		a, z := x(t.From), x(t.To)
		box := []draw.Point{{X: a, Y: y + 0.18*row}, {X: z, Y: y + 0.18*row}, {X: z, Y: y + 0.82*row}, {X: a, Y: y + 0.82*row}}
		st := draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}
		if t.Gate {
			st.Fill = draw.SunPale
		}
		s.Polygon(st, box...)
		if !t.Gate {
			s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.3, box...)
		}
		if t.Hold {
			diamond(s, draw.Point{X: a, Y: y + row/2}, min(1.5, 0.36*row))
		}
		size := min(2.7, 0.6*row)
		s.Write(draw.Text{At: draw.Point{X: 0, Y: y + row/2 + 0.35*size}, Text: fit(t.Name, left-3, draw.Regular, size), Size: size})
		say := fmt.Sprintf("%s to %s, %s", t.From.Format("15:04"), t.To.Format("15:04"), hands(t.People))
		at, anchor := z+1.4, draw.Start
		if z+2+draw.Width(draw.Regular, size-0.2, say) > width {
			at, anchor = a-2, draw.End
		}
		s.Box(draw.Text{At: draw.Point{X: at, Y: y + row/2 + 0.35*size}, Text: say, Size: size - 0.2, Ink: draw.Fine, Anchor: anchor})
	}
	s.Layer("legend")
	y := bottom + 4.4
	diamond(s, draw.Point{X: 1.6, Y: y - 0.9}, 1.4)
	for i, l := range draw.Wrap(draw.Regular, 2.5, width-5, "hold: somebody answers go or no go before it starts. Filled: only while the gate is open, between the dashed lines. Hatched: at any hour. Gate shut by: "+strings.Join(legend, ", ")+".") {
		s.Write(draw.Text{At: draw.Point{X: 4.4, Y: y + 3.1*float64(i)}, Text: l, Size: 2.5, Ink: draw.Fine})
	}
	s.Text = fmt.Sprintf("Bars of %d pieces of work between %s and %s, under the gate and the weather of each hour. %s", len(tasks), from.Format("15:04"), until.Format("15:04"), upper(windowWords(p)))
	return s
}

// hands says how many people a task takes.
func hands(n int) string {
	if n == 1 {
		return "1 person"
	}
	return fmt.Sprintf("%d people", n)
}

// diamond marks a hold point.
func diamond(s *draw.Scene, at draw.Point, r float64) {
	s.Polygon(draw.Style{Stroke: draw.Line, Fill: draw.Line, Width: 0.1}, draw.Point{X: at.X - r, Y: at.Y}, draw.Point{X: at.X, Y: at.Y - r}, draw.Point{X: at.X + r, Y: at.Y}, draw.Point{X: at.X, Y: at.Y + r})
}

// weather draws the gate and three rows of figures, and returns what the letters of the gate mean.
func (d workday) weather(s *draw.Scene, from, until time.Time, x func(time.Time) float64, each float64, step int) []string {
	s.Layer("gate")
	skin, wind := "skin, °C", "wind at the roof, m/s"
	if d.imperial {
		skin, wind = "skin, °F", "wind at the roof, mph"
	}
	for i, name := range []string{"gate", skin, "humidity, %", wind} {
		y := hoursHigh + weatherHigh*float64(i)
		s.Write(draw.Text{At: draw.Point{X: 0, Y: y + 3}, Text: name, Size: 2.6})
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.12}, draw.Point{X: 0, Y: y + weatherHigh}, draw.Point{X: x(until), Y: y + weatherHigh})
	}
	legend := []string{}
	n := -1
	for _, h := range d.plan.Hours {
		if h.From.Before(from) || !h.From.Before(until) {
			continue
		}
		n++
		a := x(h.From)
		box := []draw.Point{{X: a, Y: hoursHigh + 0.3}, {X: a + each, Y: hoursHigh + 0.3}, {X: a + each, Y: hoursHigh + weatherHigh - 0.3}, {X: a, Y: hoursHigh + weatherHigh - 0.3}}
		st := draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.White}
		text := "open"
		if h.Open {
			st.Fill = draw.SunPale
		} else {
			letters, words := shutBy(h)
			text = letters
			for _, w := range words {
				if !slices.Contains(legend, w) {
					legend = append(legend, w)
				}
			}
		}
		s.Polygon(st, box...)
		mid := a + each/2
		fits := func(t string) bool { return draw.Width(draw.Mono, 2.4, t) < each*float64(step)-0.8 }
		if n%step == 0 && fits(text) {
			s.Write(draw.Text{At: draw.Point{X: mid, Y: hoursHigh + 3}, Text: text, Size: 2.4, Face: draw.Mono, Anchor: draw.Middle})
		}
		degrees, speed := h.Skin.Celsius(), number(h.Wind.MetresPerSecond(), 2)
		if d.imperial {
			degrees, speed = h.Skin.Fahrenheit(), number(h.Wind.MetresPerSecond()/milePerHour, 2)
		}
		for i, t := range []string{whole(degrees), whole(h.Humidity.Percent()), speed} {
			if n%step == 0 && fits(t) {
				s.Write(draw.Text{At: draw.Point{X: mid, Y: hoursHigh + weatherHigh*float64(i+1) + 3}, Text: t, Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
			}
		}
	}
	if len(legend) == 0 {
		return []string{"nothing between these hours"}
	}
	return legend
}

// milePerHour is one mile an hour in metres a second, exact.
var milePerHour = (1 * quantity.MilePerHour).MetresPerSecond()
