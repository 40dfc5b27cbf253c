package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// bounds returns the least and greatest coordinates of a plan.
func bounds(outline []build.Point) (low, high build.Point) {
	if len(outline) == 0 {
		return
	}
	low, high = outline[0], outline[0]
	for _, p := range outline {
		low.X, low.Y, high.X, high.Y = min(low.X, p.X), min(low.Y, p.Y), max(high.X, p.X), max(high.Y, p.Y)
	}
	return low, high
}

// used returns the surfaces that carry a module, in the order of the build.
func used(b *build.Build) []int {
	var out []int
	for i := range b.Surfaces {
		if len(b.Surfaces[i].Outline) > 2 && slices.ContainsFunc(b.Modules, func(m build.Module) bool { return m.Surface == i }) {
			out = append(out, i)
		}
	}
	return out
}

// Roof returns the sheet of the roof plan.
func Roof(j Job) Sheet {
	b := j.Build
	s := Sheet{Key: "roof", Title: "Roof", Verdicts: j.verdicts("roof"), Cautions: cautionsOf("roof")}
	mass, power := 0.0, 0.0
	for _, m := range b.Modules {
		mass += b.Types[m.Type].Mass.Kilograms()
		power += b.Types[m.Type].Pmax.Watts()
	}
	surfaces := used(b)
	for _, i := range surfaces {
		f := &b.Surfaces[i]
		s.Figures = append(s.Figures,
			Figure{Title: "Plan of the " + f.Name + " from above", Share: 0.72, Least: 60, Wanted: screenHeight(f), Draw: func(w, h float64) *draw.Scene { return plan(b, i, s.Verdicts, w, h) }},
			Figure{Title: "Section of the " + f.Name + " from the left", Share: 0.26, Least: 22, Draw: func(w, h float64) *draw.Scene { return section(b, i, w, h) }})
	}
	st := style(b)
	s.Values = []Value{{"modules", fmt.Sprintf("%d, %s W", len(b.Modules), whole(power))}, {"mass of the modules", quantity.Mass(mass).Text(st)}}
	for _, i := range surfaces {
		f := &b.Surfaces[i]
		low, high := bounds(f.Outline)
		s.Values = append(s.Values, Value{f.Name, fmt.Sprintf("%s × %s %s", measure(b, high.X-low.X), measure(b, high.Y-low.Y), unitOf(b))})
		top, what := quantity.Length(0), ""
		for _, o := range b.Obstacles {
			if o.Surface == i && o.Height > top {
				top, what = o.Height, o.Name
			}
		}
		if what != "" {
			s.Values = append(s.Values, Value{"highest point, " + what, quantity.Length(f.Height.Metres() + top.Metres()).Text(st)})
		}
		if f.LoadMoving != nil {
			s.Values = append(s.Values, Value{f.Name + " carries, moving", f.LoadMoving.Text(st)})
		}
		if f.LoadStanding != nil {
			s.Values = append(s.Values, Value{f.Name + " carries, standing", f.LoadStanding.Text(st)})
		}
	}
	places := Table{Title: "Modules in their places, " + unitOf(b), Head: []string{"module", "type", "from front", "from left", "size", "held"}, Right: []int{2, 3, 4}}
	for i := range b.Modules {
		m := &b.Modules[i]
		low, high := b.Footprint(m)
		origin, _ := bounds(b.Surfaces[m.Surface].Outline)
		places.Rows = append(places.Rows, []string{m.Name, b.Types[m.Type].Name, measure(b, low.X-origin.X), measure(b, low.Y-origin.Y),
			measure(b, high.X-low.X) + " × " + measure(b, high.Y-low.Y), holding(m.Attachment)})
	}
	if len(b.Modules) > 8 {
		s.Tables = append(s.Tables, places)
	} else {
		for _, r := range places.Rows {
			s.Values = append(s.Values, Value{r[0] + ", from front and left", r[2] + ", " + r[3]})
		}
	}
	s.Tables = append(s.Tables, unknowns(s.Verdicts)...)
	s.Lead = fmt.Sprintf("%d modules, %s W and %s, on the %s. %s", len(b.Modules), whole(power), quantity.Mass(mass).Text(st), surfaceNames(b, surfaces), count(s.Verdicts))
	s.Notes = []string{"Dimensions in " + unitOf(b) + ", from the front left corner. Check them on the vehicle before you cut: roofs are seldom square.",
		"Cables are drawn to where they would leave the roof: the build gives their length and not their way.",
		"Full lines inside a module are cells, long dashes divide its bypass groups; hatched shapes stand up from the roof."}
	s.Sources = sourcesOf(s.Verdicts)
	return s
}

func surfaceNames(b *build.Build, list []int) string {
	var out []string
	for _, i := range list {
		out = append(out, b.Surfaces[i].Name)
	}
	return strings.Join(out, " and the ")
}

func holding(a build.Attachment) string {
	return [...]string{"bonded", "foam tape", "stand-off", "rack", "fabric pocket", "loose"}[a]
}

// view maps a plan's points to the sheet.
type view struct {
	scale  draw.Scale
	origin build.Point
	at     draw.Point
}

func (v view) point(p build.Point) draw.Point {
	return draw.Point{X: v.at.X + v.scale.Of(p.X-v.origin.X), Y: v.at.Y + v.scale.Of(p.Y-v.origin.Y)}
}

func (v view) points(list []build.Point) []draw.Point {
	out := make([]draw.Point, len(list))
	for i, p := range list {
		out[i] = v.point(p)
	}
	return out
}

// planView returns where the plan of a surface lies on a sheet of the given size, and how large it is there.
func planView(f *build.Surface, width, height float64) (v view, w, h float64) {
	low, high := bounds(f.Outline)
	const left, top, right, bottom = 16, 15, 30, 4.5
	v = view{scale: draw.ScaleFor(high.X-low.X, high.Y-low.Y, width-left-right, height-top-bottom), origin: low}
	w, h = v.scale.Of(high.X-low.X), v.scale.Of(high.Y-low.Y)
	v.at = draw.Point{X: left + (width-left-right-w)/2, Y: top + (height-top-bottom-h)/2}
	return v, w, h
}

// screenWidth is the width of a drawing on a screen, in millimetres of the sheet: the field of an A4 page on
// its long side.
const screenWidth = 206

// screenHeight returns the height that lets a surface's plan have the scale its width allows, within reason.
func screenHeight(f *build.Surface) float64 {
	v, _, _ := planView(f, screenWidth, 10000)
	low, high := bounds(f.Outline)
	return math.Min(150, math.Max(70, math.Ceil(v.scale.Of(high.Y-low.Y)+19.5+2)))
}

// PlanFrame is where the plan drawing of a surface puts the roof's points.
type PlanFrame struct {
	Surface int
	Scale   draw.Scale
	Width   float64 // of the drawing, millimetres
	Height  float64
	v       view
}

// PlanFrames returns, for each plan drawing of the roof sheet in its order, where it puts points on a screen.
func PlanFrames(b *build.Build) []PlanFrame {
	var out []PlanFrame
	for _, i := range used(b) {
		h := screenHeight(&b.Surfaces[i])
		v, _, _ := planView(&b.Surfaces[i], screenWidth, h)
		out = append(out, PlanFrame{Surface: i, Scale: v.scale, Width: screenWidth, Height: h, v: v})
	}
	return out
}

// Point returns a point of the roof on the drawing.
func (f PlanFrame) Point(p build.Point) draw.Point { return f.v.point(p) }

// plan draws a surface from above, front to the left.
func plan(b *build.Build, surface int, verdicts []Verdict, width, height float64) *draw.Scene {
	f := &b.Surfaces[surface]
	s := draw.New("Plan of the "+f.Name+" from above", width, height)
	v, w, h := planView(f, width, height)
	s.Scale = v.scale.String()
	s.Layer("outline")
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.45, Fill: draw.White}, v.points(f.Outline)...)
	edge(s, f, v.at, w, h)
	s.Layer("modules")
	for i := range b.Modules {
		if b.Modules[i].Surface == surface {
			module(s, b, i, v)
		}
	}
	s.Layer("cables")
	cables(s, b, surface, v, w, h)
	s.Layer("obstacles")
	for i := range b.Obstacles {
		if b.Obstacles[i].Surface == surface {
			obstacle(s, b, i, v)
		}
	}
	s.Layer("dimensions")
	dimensions(s, b, surface, v, w, h)
	s.Layer("marks")
	marks(s, b, surface, verdicts, v)
	s.Text = planWords(b, surface, v.scale)
	return s
}

func planWords(b *build.Build, surface int, scale draw.Scale) string {
	f := &b.Surfaces[surface]
	low, high := bounds(f.Outline)
	var t strings.Builder
	fmt.Fprintf(&t, "Scale %s, front to the left. The %s is %s by %s %s.", scale, f.Name, measure(b, high.X-low.X), measure(b, high.Y-low.Y), unitOf(b))
	for i := range b.Modules {
		if m := &b.Modules[i]; m.Surface == surface {
			l, h := b.Footprint(m)
			fmt.Fprintf(&t, " Module %s lies %s from the front and %s from the left, %s by %s.", m.Name, measure(b, l.X-low.X), measure(b, l.Y-low.Y), measure(b, h.X-l.X), measure(b, h.Y-l.Y))
		}
	}
	for _, o := range b.Obstacles {
		if o.Surface == surface {
			l, _ := bounds(o.Outline)
			fmt.Fprintf(&t, " %s, %s high, begins %s from the front and %s from the left.", o.Name, measure(b, o.Height), measure(b, l.X-low.X), measure(b, l.Y-low.Y))
		}
	}
	return t.String()
}

// edge draws the front and the hinge.
func edge(s *draw.Scene, f *build.Surface, at draw.Point, w, h float64) {
	heavy := draw.Style{Stroke: draw.Line, Width: 1.1, Dash: []float64{3.4, 1.6}}
	front := "front"
	if f.HasHinge {
		switch f.Hinge {
		case build.Front:
			s.Path(heavy, draw.Point{X: at.X - 1.8, Y: at.Y + 2}, draw.Point{X: at.X - 1.8, Y: at.Y + h - 2})
			front = "front, hinge"
		case build.Rear:
			s.Path(heavy, draw.Point{X: at.X + w + 1.8, Y: at.Y + 2}, draw.Point{X: at.X + w + 1.8, Y: at.Y + h - 2})
		case build.Left:
			s.Path(heavy, draw.Point{X: at.X + 2, Y: at.Y - 1.8}, draw.Point{X: at.X + w - 2, Y: at.Y - 1.8})
		case build.Right:
			s.Path(heavy, draw.Point{X: at.X + 2, Y: at.Y + h + 1.8}, draw.Point{X: at.X + w - 2, Y: at.Y + h + 1.8})
		}
	}
	s.Write(draw.Text{At: draw.Point{X: at.X - 4.2, Y: at.Y + h/2}, Text: front, Size: 3, Anchor: draw.Middle, Turn: 90})
	s.Arrow(draw.Thick, draw.Point{X: at.X - 8, Y: at.Y + h/2 + 12}, draw.Point{X: at.X - 14, Y: at.Y + h/2 + 12})
	s.Write(draw.Text{At: draw.Point{X: at.X - 9.6, Y: at.Y + h/2}, Text: "drives this way", Size: 2.4, Ink: draw.Fine, Anchor: draw.Middle, Turn: 90})
	if f.HasHinge && f.Hinge != build.Front {
		name := map[build.Edge]string{build.Rear: "hinge, rear", build.Left: "hinge, left", build.Right: "hinge, right"}[f.Hinge]
		s.Write(draw.Text{At: draw.Point{X: at.X + w/2, Y: at.Y + h + 4}, Text: name, Size: 2.6, Anchor: draw.Middle})
	}
}

// module draws a module with its cells and bypass groups, its name and its poles.
func module(s *draw.Scene, b *build.Build, i int, v view) {
	m := &b.Modules[i]
	t := &b.Types[m.Type]
	low, high := b.Footprint(m)
	a, z := v.point(low), v.point(high)
	s.Rect(draw.Style{Stroke: draw.Line, Width: 0.35, Fill: draw.White}, a, z.X-a.X, z.Y-a.Y)
	turned := int(math.Round(m.Turn.Degrees()/90))%2 != 0
	g := t.Cells
	margin := v.scale.Of(g.Margin)
	if margin <= 0 {
		margin = v.scale.Of(15 * quantity.Millimetre)
	}
	x, y, w, h := a.X+margin, a.Y+margin, z.X-a.X-2*margin, z.Y-a.Y-2*margin
	columns, rows := g.Columns, g.Rows
	if turned {
		columns, rows = rows, columns
	}
	if columns > 0 && rows > 0 && w > 0 && h > 0 {
		s.Rect(draw.Style{Fill: draw.Pale, Stroke: draw.Faint, Width: 0.1}, draw.Point{X: x, Y: y}, w, h)
		cell := draw.Style{Stroke: draw.Faint, Width: 0.12}
		for c := 1; c < columns; c++ {
			s.Path(cell, draw.Point{X: x + w*float64(c)/float64(columns), Y: y}, draw.Point{X: x + w*float64(c)/float64(columns), Y: y + h})
		}
		for r := 1; r < rows; r++ {
			s.Path(cell, draw.Point{X: x, Y: y + h*float64(r)/float64(rows)}, draw.Point{X: x + w, Y: y + h*float64(r)/float64(rows)})
		}
		if !g.DiodePerCell && g.Groups > 1 {
			dash := draw.Style{Stroke: draw.Line, Width: 0.25, Dash: []float64{2, 1.2}}
			// Series order along the length makes groups of rows, else groups of columns.
			across := g.AlongLength != turned
			for k := 1; k < g.Groups; k++ {
				q := float64(k) / float64(g.Groups)
				if across {
					s.Path(dash, draw.Point{X: x, Y: y + h*q}, draw.Point{X: x + w, Y: y + h*q})
				} else {
					s.Path(dash, draw.Point{X: x + w*q, Y: y}, draw.Point{X: x + w*q, Y: y + h})
				}
			}
		}
	}
	groups := fmt.Sprintf("%d bypass groups", g.Groups)
	switch {
	case g.DiodePerCell:
		groups = "a diode over each cell"
	case g.Groups == 0:
		groups = "no bypass diode"
	case g.Groups == 1:
		groups = "one bypass diode"
	}
	mid := draw.Point{X: (a.X + z.X) / 2, Y: (a.Y + z.Y) / 2}
	if z.X-a.X > 40 && z.Y-a.Y > 9 {
		s.Box(draw.Text{At: draw.Point{X: mid.X, Y: mid.Y - 0.4}, Text: m.Name, Size: 3.6, Face: draw.Bold, Anchor: draw.Middle})
		s.Box(draw.Text{At: draw.Point{X: mid.X, Y: mid.Y + 3.4}, Text: fmt.Sprintf("%s W, %s", whole(t.Pmax.Watts()), groups), Size: 2.5, Ink: draw.Fine, Anchor: draw.Middle})
	} else {
		s.Box(draw.Text{At: draw.Point{X: mid.X, Y: mid.Y + 1}, Text: m.Name, Size: 3, Face: draw.Bold, Anchor: draw.Middle})
	}
}

// obstacle draws what stands on the roof, hatched, with its height.
func obstacle(s *draw.Scene, b *build.Build, i int, v view) {
	o := &b.Obstacles[i]
	p := v.points(o.Outline)
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Paper}, p...)
	s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.8, p...)
	low, high := bounds(o.Outline)
	a, z := v.point(low), v.point(high)
	mid := draw.Point{X: (a.X + z.X) / 2, Y: (a.Y + z.Y) / 2}
	text := o.Name + ", " + measure(b, o.Height) + " high"
	const size = 2.6
	switch w := draw.Width(draw.Regular, size, text); {
	case w+2 < z.X-a.X && z.Y-a.Y > 4:
		s.Box(draw.Text{At: draw.Point{X: mid.X, Y: mid.Y + 0.9}, Text: text, Size: size, Anchor: draw.Middle})
	case z.X-a.X < 8 && w+2 < z.Y-a.Y: // a bar across
		x := a.X - 1
		_, end := bounds(b.Surfaces[o.Surface].Outline)
		for k := range b.Modules {
			l, h := b.Footprint(&b.Modules[k])
			if b.Modules[k].Surface == o.Surface && v.point(h).X > a.X-4 && v.point(l).X < a.X && v.point(l).Y < mid.Y+w/2 && v.point(h).Y > mid.Y-w/2 && z.X+3.4 < v.point(end).X { // behind the roof stand its dimensions
				x = z.X + 3
			}
		}
		s.Box(draw.Text{At: draw.Point{X: x, Y: mid.Y}, Text: text, Size: size, Anchor: draw.Middle, Turn: 90})
	case w+2 < z.X-a.X && w+2 > 3*(z.Y-a.Y): // a bar along: over it, where the roof goes on
		y := a.Y - 1
		if from, _ := bounds(b.Surfaces[o.Surface].Outline); y-size < v.point(from).Y {
			y = z.Y + 1 + size
		}
		s.Box(draw.Text{At: draw.Point{X: mid.X, Y: y}, Text: text, Size: size, Anchor: draw.Middle})
	default:
		lines := []string{o.Name, measure(b, o.Height) + " high"}
		for k, l := range lines {
			s.Box(draw.Text{At: draw.Point{X: mid.X, Y: mid.Y - 0.5 + 3.1*float64(k)}, Text: l, Size: size, Anchor: draw.Middle})
		}
	}
}

// cables draws the links inside strings, and each string's two ends to the edge they would leave by.
func cables(s *draw.Scene, b *build.Build, surface int, v view, w, h float64) {
	plus := draw.Style{Stroke: draw.Plus, Width: 0.5}
	minus := draw.Style{Stroke: draw.Minus, Width: 0.5, Dash: []float64{2.2, 0.9}}
	f := &b.Surfaces[surface]
	told := false
	for n := range b.Strings {
		list := b.Strings[n].Modules
		if len(list) == 0 || b.Modules[list[0]].Surface != surface {
			continue
		}
		front := !(f.HasHinge && f.Hinge == build.Rear)
		end := func(m int) draw.Point { // where a module's leads come out: its end toward the hinge or the front
			low, high := b.Footprint(&b.Modules[m])
			a, z := v.point(low), v.point(high)
			if front {
				return draw.Point{X: a.X, Y: (a.Y + z.Y) / 2}
			}
			return draw.Point{X: z.X, Y: (a.Y + z.Y) / 2}
		}
		sign, edge := -1.0, v.at.X
		if !front {
			sign, edge = 1, v.at.X+w
		}
		room := math.Abs(end(list[0]).X-edge) / 4
		step := min(1.6, max(0.5, room))
		for k := 1; k < len(list); k++ {
			p, q := end(list[k-1]), end(list[k])
			p.Y, q.Y = p.Y+1.4, q.Y-1.4
			if math.Abs(p.X-q.X) < 12 {
				s.Path(draw.Style{Stroke: draw.Line, Width: 0.4}, p, draw.Point{X: p.X + sign*step, Y: p.Y}, draw.Point{X: p.X + sign*step, Y: q.Y}, q)
			} else {
				low, high := b.Footprint(&b.Modules[list[k-1]])
				a := v.point(build.Point{X: high.X, Y: low.Y})
				z := v.point(high)
				y := (a.Y + z.Y) / 2
				s.Path(draw.Style{Stroke: draw.Line, Width: 0.4}, draw.Point{X: z.X, Y: y}, draw.Point{X: q.X, Y: y})
			}
		}
		first, last := end(list[0]), end(list[len(list)-1])
		first.Y, last.Y = first.Y-2.2, last.Y+2.2
		out := edge - sign*1.5
		y := v.at.Y + h - 3.5
		minusAt := draw.Point{X: last.X - sign*1.5, Y: last.Y + 1}
		if math.Abs(first.X-last.X) > 12 { // a row: the far end comes back along the modules' lower side
			low, high := b.Footprint(&b.Modules[list[len(list)-1]])
			z := v.point(high)
			a := v.point(low)
			back := z.Y + 1.6
			if above := a.Y - 1.6; crossings(b, surface, v, above) < crossings(b, surface, v, back) {
				back = above
			}
			far := z.X
			if !front {
				far = a.X
			}
			minusAt = draw.Point{X: far + sign*1.5, Y: (a.Y+z.Y)/2 + 3}
			s.Path(minus, draw.Point{X: far, Y: (a.Y+z.Y)/2 + 2}, draw.Point{X: far - sign*1.5, Y: (a.Y+z.Y)/2 + 2}, draw.Point{X: far - sign*1.5, Y: back}, draw.Point{X: out - sign*1, Y: back}, draw.Point{X: out - sign*1, Y: y + 2}, draw.Point{X: out, Y: y + 2})
		} else {
			s.Path(minus, last, draw.Point{X: last.X + sign*2*step, Y: last.Y}, draw.Point{X: last.X + sign*2*step, Y: y + 2}, draw.Point{X: out, Y: y + 2})
		}
		s.Path(plus, first, draw.Point{X: first.X + sign*3*step, Y: first.Y}, draw.Point{X: first.X + sign*3*step, Y: y}, draw.Point{X: out, Y: y})
		s.Write(draw.Text{At: draw.Point{X: first.X - sign*1.5, Y: first.Y + 1}, Text: "+", Size: 3.4, Face: draw.Bold, Ink: draw.Plus, Anchor: draw.Middle})
		s.Write(draw.Text{At: minusAt, Text: "−", Size: 3.4, Face: draw.Bold, Anchor: draw.Middle})
		s.Circle(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Paper}, draw.Point{X: out, Y: y + 1}, 1.9)
		if !told {
			told = true
			t := draw.Text{At: draw.Point{X: edge, Y: v.at.Y + h + 4}, Text: "entry, drip loop", Size: 2.6}
			if !front {
				t.Anchor = draw.End
			}
			s.Write(t)
		}
	}
}

// crossings counts the obstacles that a line along the surface at the given height of the sheet would meet.
func crossings(b *build.Build, surface int, v view, y float64) int {
	n := 0
	for _, o := range b.Obstacles {
		low, high := bounds(o.Outline)
		if o.Surface == surface && v.point(low).Y < y && y < v.point(high).Y {
			n++
		}
	}
	return n
}

// marks ties verdicts to what they speak of, as far as their subject names a module or an obstacle.
func marks(s *draw.Scene, b *build.Build, surface int, verdicts []Verdict, v view) {
	taken := map[string]int{}
	var stand []draw.Point
	for _, d := range verdicts {
		if d.Mark == 0 {
			continue
		}
		words := " " + d.subject + " "
		at, name := draw.Point{}, ""
		for i := range b.Modules {
			if m := &b.Modules[i]; m.Surface == surface && strings.Contains(words, " "+m.Name+" ") {
				low, _ := b.Footprint(m)
				at, name = v.point(low), m.Name
				at = draw.Point{X: at.X + 4, Y: at.Y + 4}
			}
		}
		for i := range b.Obstacles {
			if o := &b.Obstacles[i]; o.Surface == surface && strings.Contains(words, " "+o.Name+" ") {
				low, _ := bounds(o.Outline)
				at, name = v.point(low), o.Name
			}
		}
		if name == "" && strings.Contains(words, " "+b.Surfaces[surface].Name+" ") {
			at, name = draw.Point{X: v.at.X + 4, Y: v.at.Y + 4}, b.Surfaces[surface].Name
		}
		if name != "" && taken[name] < 4 {
			for at.X += 5.2 * float64(taken[name]); slices.ContainsFunc(stand, func(o draw.Point) bool { return math.Hypot(o.X-at.X, o.Y-at.Y) < 5 }); at.X += 2.6 {
			}
			s.Mark(d.Mark, at)
			stand = append(stand, at)
			taken[name]++
		}
	}
}
