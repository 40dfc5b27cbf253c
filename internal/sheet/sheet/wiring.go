package sheet

import (
	"fmt"
	"strings"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/wiring"
	"noonmark/internal/sheet/draw"
)

// Wiring returns the sheet of the wiring drawing.
func Wiring(j Job) Sheet {
	b := j.Build
	s := Sheet{Key: "wiring", Title: "Wiring", Verdicts: j.verdicts("wiring"), Cautions: cautionsOf("wiring")}
	s.Figures = []Figure{{Title: "Wiring from the modules to the battery", Share: 0.44, Least: 30 + 13*float64(len(b.Strings)), Draw: func(w, h float64) *draw.Scene { return wires(b, s.Verdicts, w, h) }}}
	t := Table{Title: "Runs", Head: []string{"run", "from, to", "size", "one way", "lies at", "fuse"}, Right: []int{3, 4, 5}, Fine: true}
	add := func(r build.Run, way string) {
		if r.Length <= 0 {
			return
		}
		fuse := "none"
		if r.Fuse != nil {
			fuse = r.Fuse.String()
		}
		t.Rows = append(t.Rows, []string{r.Name, way, size(r), r.Length.Text(style(b)), r.Temperature.Text(style(b)), fuse})
	}
	open, working := 0.0, 0.0
	for i := range b.Strings {
		add(b.Strings[i].Cable, "string "+b.Strings[i].Name+" to the joint")
	}
	for i := range b.Chargers {
		c := &b.Chargers[i]
		add(c.InputCable, "roof to "+c.Name)
		add(c.BatteryCable, c.Name+" to battery")
		for _, si := range c.Strings {
			o, w := volts(b, si)
			open, working = max(open, o), max(working, w)
		}
	}
	if len(t.Rows) > 0 {
		s.Tables = []Table{t}
	}
	s.Tables = append(s.Tables, unknowns(s.Verdicts)...)
	s.Values = []Value{{"string open, 25 °C", number(open, 3) + " V"}, {"string working, 25 °C", number(working, 3) + " V"},
		{"battery", fmt.Sprintf("%s V, %s", number(b.Battery.Voltage.Volts(), 3), wattHours(b.Battery.Energy))}}
	for i := range b.Chargers {
		c := &b.Chargers[i]
		s.Values = append(s.Values, Value{"charger " + c.Name + " stands", number(c.InputMax.Volts(), 3) + " V"}, Value{"charger " + c.Name + " gives", number(c.OutputCurrent.Amperes(), 3) + " A"})
	}
	s.Lead = fmt.Sprintf("%s on %s. %s", plural(len(b.Strings), "string"), plural(len(b.Chargers), "solar input"), count(s.Verdicts))
	s.Notes = []string{"Plus is red and a full line, minus is black and dashed: the drawing reads without colour.",
		"The modules' own leads fix which half of a plug is on which pole: look at them before you crimp, and try plus and minus with the meter before anything is joined.",
		"Lengths are one way; the current goes there and back."}
	s.Sources = sourcesOf(s.Verdicts)
	return s
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// volts returns a string's open and working volts by its labels.
func volts(b *build.Build, si int) (open, working float64) {
	for _, m := range b.Strings[si].Modules {
		t := &b.Types[b.Modules[m].Type]
		open += t.Voc.Volts()
		working += t.Vmp.Volts()
	}
	return open, working
}

// size names a run's conductor, gauge first where it is one.
func size(r build.Run) string {
	if r.Area <= 0 {
		return "size?"
	}
	for _, z := range wiring.Sizes() {
		if d := z.Area.SquareMillimetres() - r.Area.SquareMillimetres(); d < 0.02 && d > -0.02 {
			return z.Name
		}
	}
	return r.Area.String()
}

var (
	plusWire  = draw.Style{Stroke: draw.Plus, Width: 0.55}
	minusWire = draw.Style{Stroke: draw.Minus, Width: 0.55, Dash: []float64{2.4, 1}}
	device    = draw.Style{Stroke: draw.Line, Width: 0.4, Fill: draw.White}
)

// wires draws the diagram, a band for each charger: strings at the left, charger, battery at the right.
func wires(b *build.Build, verdicts []Verdict, width, height float64) *draw.Scene {
	s := draw.New("Wiring from the modules to the battery", width, height)
	var told []string
	var places []place // what verdicts may speak of
	n := len(b.Chargers)
	if n == 0 {
		s.Write(draw.Text{At: draw.Point{X: 8, Y: 12}, Text: "no solar input in the build", Size: 3.2})
		s.Text = "No solar input in the build."
		return s
	}
	band := height / float64(n)
	var taps []float64
	batteryX := width - 34
	for i := range b.Chargers {
		c := &b.Chargers[i]
		top := band * float64(i)
		mid := top + band/2
		cx, cw := width*0.53, 34.0
		ch := min(44.0, band-14)
		plusY, minusY := mid-ch/4, mid+ch/4
		s.Layer("strings")
		k := len(c.Strings)
		row := (band - 6) / float64(max(1, k))
		const busX = 0.40
		px, mx := width*busX, width*busX-4
		low, high := mid, mid
		for q, si := range c.Strings {
			y := top + 3 + row*(float64(q)+0.5)
			low, high = min(low, y), max(high, y)
			places = append(places, place{"string " + b.Strings[si].Name, stringRow(s, b, si, 6, y, px-12, min(row, 44), px, mx)})
		}
		s.Layer("runs")
		// The joints of the strings, and the run down to the charger.
		lowJoint, highJoint := plusY, minusY
		for q := range c.Strings {
			y := top + 3 + row*(float64(q)+0.5)
			rise := min(row, 44) * 0.36
			lowJoint, highJoint = min(lowJoint, y-rise), max(highJoint, y+rise)
			s.Circle(draw.Style{Fill: draw.Plus}, draw.Point{X: px, Y: y - rise}, 0.6)
			s.Circle(draw.Style{Fill: draw.Minus}, draw.Point{X: mx, Y: y + rise}, 0.6)
		}
		first := top + 3 + row*0.5 - min(row, 44)*0.36
		lastMinus := top + 3 + row*(float64(k)-0.5) + min(row, 44)*0.36
		s.Path(plusWire, draw.Point{X: px, Y: min(first, plusY)}, draw.Point{X: px, Y: max(top+3+row*(float64(k)-0.5)-min(row, 44)*0.36, plusY)})
		s.Path(minusWire, draw.Point{X: mx, Y: min(top+3+row*0.5+min(row, 44)*0.36, minusY)}, draw.Point{X: mx, Y: max(lastMinus, minusY)})
		s.Path(plusWire, draw.Point{X: px, Y: plusY}, draw.Point{X: cx, Y: plusY})
		s.Path(minusWire, draw.Point{X: mx, Y: minusY}, draw.Point{X: cx, Y: minusY})
		disconnect(s, px+(cx-px)*0.45, plusY, minusY)
		if c.InputCable.Fuse != nil {
			fuse(s, px+(cx-px)*0.8, plusY, c.InputCable.Fuse)
		}
		label(s, c.InputCable, b, (px+cx)/2, minusY+7.5)
		places = append(places, place{"cable " + c.InputCable.Name, draw.Point{X: (px + cx) / 2, Y: minusY + 15}}, place{"charger " + c.Name, draw.Point{X: cx + 3, Y: mid - ch/2 - 3.2}})
		s.Layer("devices")
		s.Rect(device, draw.Point{X: cx, Y: mid - ch/2}, cw, ch)
		s.Write(draw.Text{At: draw.Point{X: cx + cw/2, Y: mid - 2.4}, Text: fit(c.Name, cw-6, draw.Bold, 3.4), Size: 3.4, Face: draw.Bold, Anchor: draw.Middle})
		s.Write(draw.Text{At: draw.Point{X: cx + cw/2, Y: mid + 1.6}, Text: "in to " + number(c.InputMax.Volts(), 3) + " V", Size: 2.7, Ink: draw.Fine, Anchor: draw.Middle})
		s.Write(draw.Text{At: draw.Point{X: cx + cw/2, Y: mid + 5.2}, Text: "out " + number(c.OutputCurrent.Amperes(), 3) + " A", Size: 2.7, Ink: draw.Fine, Anchor: draw.Middle})
		poles(s, cx+2, plusY, minusY)
		s.Layer("runs")
		taps = append(taps, plusY, minusY)
		s.Path(plusWire, draw.Point{X: cx + cw, Y: plusY}, draw.Point{X: batteryX, Y: plusY})
		s.Path(minusWire, draw.Point{X: cx + cw, Y: minusY}, draw.Point{X: batteryX, Y: minusY})
		if !c.Integrated {
			poles(s, cx+cw-2, plusY, minusY)
			amps := c.BatteryCable.Fuse
			fuse(s, batteryX-7, plusY, amps)
			label(s, c.BatteryCable, b, (cx+cw+batteryX)/2, minusY+7.5)
			places = append(places, place{"cable " + c.BatteryCable.Name, draw.Point{X: (cx + cw + batteryX) / 2, Y: minusY + 15}})
		} else {
			s.Box(draw.Text{At: draw.Point{X: (cx + cw + batteryX) / 2, Y: mid + 1}, Text: "one housing", Size: 2.5, Ink: draw.Fine, Anchor: draw.Middle})
		}
		told = append(told, chargerWords(b, i))
	}
	s.Layer("devices")
	top, bottom := taps[0], taps[len(taps)-1]
	s.Rect(device, draw.Point{X: batteryX, Y: top - 10}, 30, bottom-top+20)
	mid := (top + bottom) / 2
	s.Write(draw.Text{At: draw.Point{X: batteryX + 15, Y: mid - 2.4}, Text: fit(b.Battery.Name, 24, draw.Bold, 3.4), Size: 3.4, Face: draw.Bold, Anchor: draw.Middle})
	s.Write(draw.Text{At: draw.Point{X: batteryX + 15, Y: mid + 1.6}, Text: number(b.Battery.Voltage.Volts(), 3) + " V", Size: 2.7, Ink: draw.Fine, Anchor: draw.Middle})
	s.Write(draw.Text{At: draw.Point{X: batteryX + 15, Y: mid + 5.2}, Text: wattHours(b.Battery.Energy), Size: 2.7, Ink: draw.Fine, Anchor: draw.Middle})
	for k := 0; k+1 < len(taps); k += 2 {
		poles(s, batteryX+2, taps[k], taps[k+1])
	}
	places = append(places, place{"battery", draw.Point{X: batteryX + 5, Y: top - 6}})
	tie(s, places, verdicts)
	s.Text = strings.Join(told, " ")
	return s
}

// place is where marks stand that speak of a thing.
type place struct {
	name string
	at   draw.Point
}

// tie marks each verdict at the thing its subject names, the longest name first, at most four at one.
func tie(s *draw.Scene, places []place, verdicts []Verdict) {
	s.Layer("marks")
	taken := map[string]int{}
	for _, v := range verdicts {
		if v.Mark == 0 {
			continue
		}
		best := place{}
		for _, p := range places {
			if strings.Contains(v.subject, p.name) && len(p.name) > len(best.name) {
				best = p
			}
		}
		if n := taken[best.name]; best.name != "" && n < 4 {
			s.Mark(v.Mark, draw.Point{X: best.at.X + 5.2*float64(n), Y: best.at.Y})
			taken[best.name]++
		}
	}
}

// fit cuts a name to a width.
func fit(name string, width float64, f draw.Face, size float64) string {
	if l := draw.Wrap(f, size, width, name); len(l) > 1 {
		return l[0] + " …"
	}
	return name
}

func chargerWords(b *build.Build, i int) string {
	c := &b.Chargers[i]
	var t strings.Builder
	for _, si := range c.Strings {
		var names []string
		for _, m := range b.Strings[si].Modules {
			names = append(names, b.Modules[m].Name)
		}
		open, _ := volts(b, si)
		fmt.Fprintf(&t, "String %s, from plus to minus: %s; %s volts open. ", b.Strings[si].Name, strings.Join(names, ", "), number(open, 3))
	}
	fmt.Fprintf(&t, "To %s by %s, %s one way", c.Name, size(c.InputCable), c.InputCable.Length.Text(style(b)))
	if c.BatteryCable.Length > 0 {
		fmt.Fprintf(&t, "; to the battery by %s, %s one way", size(c.BatteryCable), c.BatteryCable.Length.Text(style(b)))
	}
	return t.String() + "."
}

// stringRow draws a string's modules in series, plus at the right and above, minus back below, and returns
// where its marks go.
func stringRow(s *draw.Scene, b *build.Build, si int, x, y, end, row, px, mx float64) draw.Point {
	list := b.Strings[si].Modules
	n := len(list)
	if n == 0 {
		return draw.Point{X: x + 3, Y: y}
	}
	w := min(34.0, (end-x)/float64(n)-4)
	h := min(18.0, row-12)
	rise := row * 0.36
	pitch := (end - x) / float64(n)
	for k, m := range list {
		// The first of the list carries the plus: it stands nearest the charger.
		at := draw.Point{X: end - pitch*float64(k) - w, Y: y - h/2}
		s.Rect(device, at, w, h)
		for c := 1; c < 3; c++ {
			s.Path(draw.Style{Stroke: draw.Faint, Width: 0.15}, draw.Point{X: at.X + w*float64(c)/3, Y: at.Y}, draw.Point{X: at.X + w*float64(c)/3, Y: at.Y + h})
		}
		t := &b.Types[b.Modules[m].Type]
		s.Box(draw.Text{At: draw.Point{X: at.X + w/2, Y: y + 0.2}, Text: fit(b.Modules[m].Name, w-9, draw.Bold, 3), Size: 3, Face: draw.Bold, Anchor: draw.Middle})
		if w > 22 {
			s.Box(draw.Text{At: draw.Point{X: at.X + w/2, Y: y + 3.8}, Text: whole(t.Pmax.Watts()) + " W", Size: 2.5, Ink: draw.Fine, Anchor: draw.Middle})
		}
		s.Write(draw.Text{At: draw.Point{X: at.X + w - 1.9, Y: y + 1.1}, Text: "+", Size: 3.2, Face: draw.Bold, Ink: draw.Plus, Anchor: draw.Middle})
		s.Write(draw.Text{At: draw.Point{X: at.X + 1.9, Y: y + 1.1}, Text: "−", Size: 3.2, Face: draw.Bold, Anchor: draw.Middle})
		if k > 0 {
			s.Path(draw.Style{Stroke: draw.Line, Width: 0.5}, draw.Point{X: at.X + w, Y: y}, draw.Point{X: at.X + pitch, Y: y})
			plug(s, at.X+w+(pitch-w)/2, y)
		}
	}
	lead := end + 3
	s.Path(plusWire, draw.Point{X: end, Y: y}, draw.Point{X: lead, Y: y}, draw.Point{X: lead, Y: y - rise}, draw.Point{X: px, Y: y - rise})
	last := end - pitch*float64(n-1) - w
	s.Path(minusWire, draw.Point{X: last, Y: y}, draw.Point{X: last - 2.5, Y: y}, draw.Point{X: last - 2.5, Y: y + rise}, draw.Point{X: mx, Y: y + rise})
	plug(s, lead+2.5, y-rise)
	plug(s, end-6, y+rise)
	if f := b.Strings[si].Cable.Fuse; f != nil {
		fuse(s, px-4.5, y-rise, f)
	}
	open, _ := volts(b, si)
	text := fmt.Sprintf("string %s: %s in series, %s V open", b.Strings[si].Name, plural(n, "module"), number(open, 3))
	if r := b.Strings[si].Cable; r.Length > 0 {
		text += fmt.Sprintf("; %s, %s one way", size(r), r.Length.Text(style(b)))
	}
	if first, second, two := strings.Cut(text, "; "); two && draw.Width(draw.Regular, 2.7, text) > end-x && row*0.14 > 4.2 { // the rows leave room for two lines
		s.Write(draw.Text{At: draw.Point{X: x, Y: y - rise - 4.5}, Text: fit(first, end-x, draw.Regular, 2.7), Size: 2.7})
		text = second
	}
	s.Write(draw.Text{At: draw.Point{X: x, Y: y - rise - 1.2}, Text: fit(text, end-x, draw.Regular, 2.7), Size: 2.7})
	return draw.Point{X: x + 3, Y: y + rise - 3.2}
}

// plug draws two halves of a plug that mate.
func plug(s *draw.Scene, x, y float64) {
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.White}, draw.Point{X: x - 1.6, Y: y - 0.9}, draw.Point{X: x, Y: y - 0.9}, draw.Point{X: x, Y: y + 0.9}, draw.Point{X: x - 1.6, Y: y + 0.9})
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.Line}, draw.Point{X: x, Y: y - 0.6}, draw.Point{X: x + 1.6, Y: y - 0.6}, draw.Point{X: x + 1.6, Y: y + 0.6}, draw.Point{X: x, Y: y + 0.6})
}

// fuse draws a fuse on a plus line with its size over it; nil: none is given.
func fuse(s *draw.Scene, x, y float64, amps *quantity.Current) {
	text, st := "fuse?", draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White, Dash: []float64{0.8, 0.6}}
	if amps != nil {
		text, st.Dash = number(amps.Amperes(), 4)+" A", nil
	}
	s.Rect(st, draw.Point{X: x - 2.8, Y: y - 1.1}, 5.6, 2.2)
	if amps != nil {
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.2}, draw.Point{X: x - 2.8, Y: y}, draw.Point{X: x + 2.8, Y: y})
	}
	s.Write(draw.Text{At: draw.Point{X: x, Y: y - 2}, Text: text, Size: 2.7, Face: draw.Mono, Anchor: draw.Middle})
}

// disconnect draws a two-pole switch, open.
func disconnect(s *draw.Scene, x, plusY, minusY float64) {
	for _, y := range []float64{plusY, minusY} {
		s.Rect(draw.Style{Fill: draw.White}, draw.Point{X: x - 2.5, Y: y - 0.5}, 5, 1)
		s.Circle(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}, draw.Point{X: x - 2.5, Y: y}, 0.6)
		s.Circle(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}, draw.Point{X: x + 2.5, Y: y}, 0.6)
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.4}, draw.Point{X: x - 2, Y: y - 0.3}, draw.Point{X: x + 2.1, Y: y - 2.6})
	}
	s.Path(draw.Style{Stroke: draw.Fine, Width: 0.2, Dash: []float64{0.8, 0.8}}, draw.Point{X: x, Y: plusY - 1.4}, draw.Point{X: x, Y: minusY - 1.4})
	s.Write(draw.Text{At: draw.Point{X: x, Y: plusY - 4.4}, Text: "disconnect", Size: 2.6, Anchor: draw.Middle})
}

func poles(s *draw.Scene, x, plusY, minusY float64) {
	s.Write(draw.Text{At: draw.Point{X: x, Y: plusY + 1.1}, Text: "+", Size: 3.2, Face: draw.Bold, Ink: draw.Plus, Anchor: draw.Middle})
	s.Write(draw.Text{At: draw.Point{X: x, Y: minusY + 1.1}, Text: "−", Size: 3.2, Face: draw.Bold, Anchor: draw.Middle})
}

// label writes a run's size and length under it, in two lines.
func label(s *draw.Scene, r build.Run, b *build.Build, x, y float64) {
	if r.Length <= 0 {
		s.Write(draw.Text{At: draw.Point{X: x, Y: y}, Text: "length not given", Size: 2.7, Ink: draw.Fine, Anchor: draw.Middle})
		return
	}
	s.Write(draw.Text{At: draw.Point{X: x, Y: y}, Text: "2 × " + size(r), Size: 2.7, Face: draw.Mono, Anchor: draw.Middle})
	s.Write(draw.Text{At: draw.Point{X: x, Y: y + 3.5}, Text: r.Length.Text(style(b)) + " one way", Size: 2.6, Ink: draw.Fine, Anchor: draw.Middle})
}
