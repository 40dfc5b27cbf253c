package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// breaks returns the places along x (or y) where a surface or a module begins or ends, those of obstacles
// left out, at least a millimetre apart.
func breaks(b *build.Build, surface int, across bool) []quantity.Length {
	pick := func(p build.Point) quantity.Length {
		if across {
			return p.Y
		}
		return p.X
	}
	low, high := bounds(b.Surfaces[surface].Outline)
	list := []quantity.Length{pick(low), pick(high)}
	for i := range b.Modules {
		if m := &b.Modules[i]; m.Surface == surface {
			l, h := b.Footprint(m)
			list = append(list, pick(l), pick(h))
		}
	}
	slices.Sort(list)
	return slices.CompactFunc(list, func(a, c quantity.Length) bool { return math.Abs((c - a).Millimetres()) < 1 })
}

// dimensions draws the whole length and width, and a chain of each through the modules.
func dimensions(s *draw.Scene, b *build.Build, surface int, v view, w, h float64) {
	low, high := bounds(b.Surfaces[surface].Outline)
	top := v.at.Y
	right := v.at.X + w
	xs, ys := breaks(b, surface, false), breaks(b, surface, true)
	s.Dim(draw.Dimension{From: draw.Point{X: v.at.X, Y: top}, To: draw.Point{X: right, Y: top}, Off: 12, Figure: measure(b, high.X-low.X)})
	s.Dim(draw.Dimension{From: draw.Point{X: right, Y: top}, To: draw.Point{X: right, Y: top + h}, Off: 18, Figure: measure(b, high.Y-low.Y)})
	if len(xs) > 2 && len(xs) < 12 {
		chain(s, b, xs, func(l quantity.Length) draw.Point {
			return draw.Point{X: v.point(build.Point{X: l, Y: low.Y}).X, Y: top}
		}, false)
	}
	if len(ys) > 2 && len(ys) < 12 {
		chain(s, b, ys, func(l quantity.Length) draw.Point {
			return draw.Point{X: right, Y: v.point(build.Point{X: low.X, Y: l}).Y}
		}, true)
	}
}

// chain draws dimensions in a row; where two figures would touch the second stands a step out, or across
// when the chain runs down the sheet.
func chain(s *draw.Scene, b *build.Build, at []quantity.Length, place func(quantity.Length) draw.Point, down bool) {
	const off, size = 5, 2.6
	free := math.Inf(-1)
	for i := 1; i < len(at); i++ {
		s.Dim(draw.Dimension{From: place(at[i-1]), To: place(at[i]), Off: off})
	}
	for i := 1; i < len(at); i++ {
		p, q := place(at[i-1]), place(at[i])
		text := measure(b, at[i]-at[i-1])
		w := draw.Width(draw.Mono, size, text)
		t := draw.Text{Text: text, Size: size, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle}
		if !down {
			mid := (p.X + q.X) / 2
			y := p.Y - off - 0.9
			if q.X-p.X < w+1.5 { // too narrow: beside the chain, under it
				y = p.Y - off + 3.2
				mid = max(mid, free+w/2+0.8)
			}
			free = max(free, mid+w/2)
			t.At = draw.Point{X: mid, Y: y}
			if q.X-p.X < w+1.5 { // over its own lines
				s.Box(t)
				continue
			}
		} else {
			mid := (p.Y + q.Y) / 2
			if q.Y-p.Y < w+1.5 {
				y := max(mid+0.9, free+3.1)
				free = y
				t.At, t.Anchor = draw.Point{X: p.X + off + 1.6, Y: y}, draw.Start
			} else {
				t.At, t.Turn = draw.Point{X: p.X + off - 0.9, Y: mid}, 90
			}
		}
		s.Write(t)
	}
}

// standingOn returns what stands on a surface, from the front.
func standingOn(b *build.Build, surface int) []build.Obstacle {
	var out []build.Obstacle
	for _, o := range b.Obstacles {
		if o.Surface == surface && len(o.Outline) > 0 {
			out = append(out, o)
		}
	}
	slices.SortStableFunc(out, func(a, c build.Obstacle) int {
		al, ah := bounds(a.Outline)
		cl, ch := bounds(c.Outline)
		return cmp.Compare((al.X + ah.X).Metres(), (cl.X + ch.X).Metres())
	})
	return out
}

// section draws a surface seen from the left, front to the left, to scale: what stands up from it, the
// modules thickened to be seen, and the surface tilted as its postures say.
func section(b *build.Build, surface int, width, height float64) *draw.Scene {
	f := &b.Surfaces[surface]
	s := draw.New("Section of the "+f.Name+" from the left", width, height)
	low, high := bounds(f.Outline)
	tall := quantity.Length(0)
	for _, o := range b.Obstacles {
		if o.Surface == surface {
			tall = max(tall, o.Height)
		}
	}
	length := (high.X - low.X).Metres()
	rise, turn, about, name := 0.0, 0.0, build.Front, ""
	for _, p := range b.Postures {
		for _, t := range p.Tilts {
			if a := t.Angle.Radians(); t.Surface == surface && math.Abs(a) > turn && (t.About == build.Front || t.About == build.Rear) {
				turn, about, name = math.Abs(a), t.About, p.Name
				rise = length * math.Sin(a)
			}
		}
	}
	const left, top, right, bottom = 16, 5, 32, 9
	scale := draw.ScaleFor(high.X-low.X, quantity.Length(max(tall.Metres(), rise+tall.Metres()/2)+0.05), width-left-right, height-top-bottom)
	s.Scale = scale.String()
	w := scale.Of(high.X - low.X)
	x0, y0 := left+(width-left-right-w)/2, height-bottom
	px := func(l quantity.Length) float64 { return x0 + scale.Of(l-low.X) }
	s.Layer("skin")
	camber := 0.0
	if f.Camber != nil && !f.Camber.Across {
		camber = scale.Of(f.Camber.Sagitta)
	}
	bow := func(q float64) float64 { return 4 * camber * q * (1 - q) }
	var skin []draw.Point
	for k := range 25 {
		q := float64(k) / 24
		skin = append(skin, draw.Point{X: x0 + w*q, Y: y0 - bow(q)})
	}
	s.Path(draw.Style{Stroke: draw.Line, Width: 0.6}, skin...)
	under := []draw.Point{{X: x0, Y: y0}, {X: x0 + w, Y: y0}, {X: x0 + w, Y: y0 + 1.6}, {X: x0, Y: y0 + 1.6}}
	s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.12}, 45, 1.1, under...)
	s.Layer("tilted")
	if turn > 0 {
		ghost := draw.Style{Stroke: draw.Line, Width: 0.25, Dash: []float64{2.4, 1}}
		h, e := draw.Point{X: x0, Y: y0}, draw.Point{X: x0 + w*math.Cos(turn), Y: y0 - w*math.Sin(turn)}
		if about == build.Rear {
			h, e = draw.Point{X: x0 + w, Y: y0}, draw.Point{X: x0 + w - w*math.Cos(turn), Y: y0 - w*math.Sin(turn)}
		}
		s.Path(ghost, h, e)
		r := min(w*0.3, 40.0)
		if about == build.Front {
			s.Arc(draw.Thin, h, r, -turn*180/math.Pi, 0)
		} else {
			s.Arc(draw.Thin, h, r, 180, 180+turn*180/math.Pi)
		}
		text := fmt.Sprintf("%s: %s°, rises %s", name, number(turn*180/math.Pi, 3), measure(b, quantity.Length(math.Abs(rise))))
		at, anchor := draw.Point{X: e.X, Y: e.Y - 1.5}, draw.End
		if about == build.Rear {
			anchor = draw.Start
		}
		s.Write(draw.Text{At: at, Text: text, Size: 2.7, Ink: draw.Fine, Anchor: anchor})
	}
	s.Layer("obstacles")
	standing := standingOn(b, surface)
	var words []draw.Text
	free := [2]float64{math.Inf(-1), math.Inf(-1)}
	for _, o := range standing {
		l, h := bounds(o.Outline)
		a, z := px(l.X), px(h.X)
		q := ((a+z)/2 - x0) / w
		base := y0 - bow(q) - scale.Of(o.Base)
		p := []draw.Point{{X: a, Y: base}, {X: z, Y: base}, {X: z, Y: y0 - bow(q) - scale.Of(o.Height)}, {X: a, Y: y0 - bow(q) - scale.Of(o.Height)}}
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.White}, p...)
		s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.1}, 45, 1.8, p...)
		text := o.Name + " " + measure(b, o.Height)
		half := draw.Width(draw.Regular, 2.6, text) / 2
		level, at := 0, (a+z)/2
		if at-half < free[0]+3 {
			level = 1
		}
		at = max(at, free[level]+3+half)
		free[level] = at + half
		y := y0 + 5 + 3.2*float64(level)
		s.Path(draw.Thin, draw.Point{X: (a + z) / 2, Y: y0 + 1.8}, draw.Point{X: (a + z) / 2, Y: y - 2.1})
		words = append(words, draw.Text{At: draw.Point{X: at, Y: y}, Text: text, Size: 2.6, Anchor: draw.Middle})
	}
	for _, t := range words { // over the leaders
		s.Box(t)
	}
	s.Layer("modules")
	for i := range b.Modules {
		m := &b.Modules[i]
		if m.Surface != surface {
			continue
		}
		l, h := b.Footprint(m)
		a, z := px(l.X), px(h.X)
		lift := 0.0
		if m.Attachment == build.StandOff {
			lift = scale.Of(m.Gap)
		}
		n := max(2, int((z-a)/4))
		var upper, lower []draw.Point
		for k := range n + 1 {
			x := a + (z-a)*float64(k)/float64(n)
			y := y0 - bow((x-x0)/w) - lift
			upper, lower = append(upper, draw.Point{X: x, Y: y - 1}), append(lower, draw.Point{X: x, Y: y - 0.35})
		}
		slices.Reverse(lower)
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.15, Fill: draw.Shade}, append(upper, lower...)...)
	}
	s.Layer("dimensions")
	s.Dim(draw.Dimension{From: draw.Point{X: x0 + w + 2, Y: y0}, To: draw.Point{X: x0 + w + 2, Y: y0 - scale.Of(tall)}, Off: -4, Figure: measure(b, tall)})
	over := draw.Text{At: draw.Point{X: 0, Y: 4}, Text: fmt.Sprintf("skin %s over the ground, level", f.Height.Text(style(b))), Size: 2.6, Ink: draw.Fine}
	if about == build.Rear && turn > 0 {
		over.At.X, over.Anchor = width, draw.End
	}
	s.Write(over)
	s.Write(draw.Text{At: draw.Point{X: x0 - 1.5, Y: y0 + 1}, Text: "front", Size: 3, Anchor: draw.End})
	s.Text = fmt.Sprintf("Scale %s, front to the left, modules drawn thicker than they are. The highest thing stands %s %s over the skin, and the skin %s over the ground.", scale, measure(b, tall), unitOf(b), f.Height.Text(style(b)))
	return s
}
