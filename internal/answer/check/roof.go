package check

import (
	"fmt"
	"math"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
)

// Roof returns the findings on how modules lie and what carries them: place and gaps, bend, span and the
// way to walk by surface, masses and struts, and the vehicle's height.
func Roof(b *build.Build) []Finding {
	var out []Finding
	e := ExtremesOf(b)
	for i := range b.Surfaces {
		on := modulesOn(b, i)
		if len(on) == 0 {
			continue
		}
		out = append(out, placed(b, i, on)...)
		out = append(out, gaps(b, i, on, e)...)
		out = append(out, bends(b, i, on)...)
		out = append(out, spans(b, i, on)...)
		out = append(out, walking(b, i, on))
		out = append(out, surfaceLoads(b, i, on)...)
		out = append(out, struts(b, i, on, e)...)
	}
	out = append(out, roofLoads(b)...)
	return append(out, heights(b)...)
}

// box is a footprint in plan, m.
type box struct{ x0, y0, x1, y1 float64 }

func boxOf(b *build.Build, m int) box {
	low, high := b.Footprint(&b.Modules[m])
	return box{low.X.Metres(), low.Y.Metres(), high.X.Metres(), high.Y.Metres()}
}

// apart returns the distance between two boxes; below zero they overlap, by as much.
func (a box) apart(c box) float64 {
	dx, dy := max(c.x0-a.x1, a.x0-c.x1), max(c.y0-a.y1, a.y0-c.y1)
	if dx > 0 && dy > 0 {
		return math.Hypot(dx, dy)
	}
	return max(dx, dy)
}

// extent returns the box round an outline.
func extent(outline []build.Point) box {
	e := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range outline {
		x, y := p.X.Metres(), p.Y.Metres()
		e = box{min(e.x0, x), min(e.y0, y), max(e.x1, x), max(e.y1, y)}
	}
	return e
}

// modulesOn returns the modules that lie on a surface.
func modulesOn(b *build.Build, surface int) []int {
	var out []int
	for m := range b.Modules {
		if b.Modules[m].Surface == surface && b.Modules[m].Type < len(b.Types) {
			out = append(out, m)
		}
	}
	return out
}

// margin returns how far a box lies inside an outline, below zero when it reaches over it: the least
// distance of its sides from the outline's.
func (a box) margin(outline []build.Point) float64 {
	least := math.Inf(1)
	corners := [4][2]float64{{a.x0, a.y0}, {a.x1, a.y0}, {a.x1, a.y1}, {a.x0, a.y1}}
	for i := range outline {
		p, q := outline[i], outline[(i+1)%len(outline)]
		px, py, qx, qy := p.X.Metres(), p.Y.Metres(), q.X.Metres(), q.Y.Metres()
		for k, c := range corners {
			d := corners[(k+1)%4]
			least = min(least, toSide(c[0], c[1], px, py, qx, qy), toSide(px, py, c[0], c[1], d[0], d[1]))
		}
	}
	// A side of the outline through the box, or a corner of the box outside, is over the edge.
	for _, c := range corners {
		if !contains(outline, c[0], c[1]) {
			return -least
		}
	}
	for _, p := range outline {
		if x, y := p.X.Metres(), p.Y.Metres(); x > a.x0 && x < a.x1 && y > a.y0 && y < a.y1 {
			return -least
		}
	}
	return least
}

// toSide returns the distance of a point from a side.
func toSide(x, y, ax, ay, bx, by float64) float64 {
	dx, dy := bx-ax, by-ay
	t := 0.0
	if n := dx*dx + dy*dy; n > 0 {
		t = min(1, max(0, ((x-ax)*dx+(y-ay)*dy)/n))
	}
	return math.Hypot(x-ax-t*dx, y-ay-t*dy)
}

// contains reports whether a point lies in an outline; within a tenth of a millimetre of it counts.
func contains(outline []build.Point, x, y float64) bool {
	in := false
	for i := range outline {
		p, q := outline[i], outline[(i+1)%len(outline)]
		ax, ay, bx, by := p.X.Metres(), p.Y.Metres(), q.X.Metres(), q.Y.Metres()
		if toSide(x, y, ax, ay, bx, by) < 1e-4 {
			return true
		}
		if (ay > y) != (by > y) && x < ax+(y-ay)/(by-ay)*(bx-ax) {
			in = !in
		}
	}
	return in
}

// hingeDistance returns how far a box lies from the edge a surface turns about.
func hingeDistance(s *build.Surface, a box) float64 {
	e := extent(s.Outline)
	switch s.Hinge {
	case build.Front:
		return a.x0 - e.x0
	case build.Rear:
		return e.x1 - a.x1
	case build.Left:
		return a.y0 - e.y0
	}
	return e.y1 - a.y1
}

// awayFromHinge returns a box cut short on the side of a surface's hinge, which has a rule of its own.
func awayFromHinge(s *build.Surface, a box) box {
	x, y := (a.x0+a.x1)/2, (a.y0+a.y1)/2
	switch {
	case !s.HasHinge:
	case s.Hinge == build.Front:
		a.x0 = x
	case s.Hinge == build.Rear:
		a.x1 = x
	case s.Hinge == build.Left:
		a.y0 = y
	default:
		a.y1 = y
	}
	return a
}

// Gaps by practice, mm.
const (
	practiceGap  = 3  // between modules, the least of 3 to 10
	practiceEdge = 10 // at edges, the least of 10 to 25
	hingeEdge    = 25 // at a hinge, the most of the same
)

// neighbourly is how far apart two modules are neighbours, m: beyond, the gap is no question.
const neighbourly = 0.1

var gapPractice = practice("gaps of the trade: 3 to 10 mm between modules, 10 to 25 mm at edges, rivets and hinges")

// placed judges whether each module lies inside its surface and clear of what stands there.
func placed(b *build.Build, surface int, on []int) []Finding {
	var out []Finding
	s := &b.Surfaces[surface]
	for _, m := range on {
		a := boxOf(b, m)
		subject := "module " + b.Modules[m].Name
		f := Finding{ID: "fits", Subject: subject, Value: 1000 * a.margin(s.Outline), Unit: "mm", Source: from("geometry of the plan", "", cite.LookedUp),
			Reason: "of the module inside the outline of " + s.Name + "; below zero it reaches over"}
		out = append(out, f.atLeast(1))
		near, what := math.Inf(1), ""
		for o := range b.Obstacles {
			if x := &b.Obstacles[o]; x.Surface == surface && x.Base <= 0 && len(x.Outline) > 0 {
				if d := a.apart(extent(x.Outline)); d < near {
					near, what = d, x.Name
				}
			}
		}
		if what == "" {
			continue
		}
		k := Finding{ID: "keep-out", Subject: subject, Value: 1000 * near, Limit: practiceEdge, Unit: "mm", Source: gapPractice,
			Reason: "from " + what + ": room for its seal, a cable and a cleaning hand"}
		switch {
		case near < -1e-4:
			k.Verdict = Fail
		default:
			k = k.atLeast(1).beside()
		}
		out = append(out, k)
	}
	return out
}

// laminateOf returns what a module's body is, for its expansion.
func laminateOf(t *build.ModuleType) catalog.Laminate {
	switch {
	case t.Front == build.FloatGlass || t.Front == build.TexturedGlass:
		return catalog.GlassBody
	case t.Technology == build.CIGSFoil:
		return catalog.FoilBody
	}
	return catalog.PolymerSheet
}

// swing is the range of temperature a module and its skin see, K: the coldest air to the hottest bonded
// hour. Without a place it is the 60 K of the trade.
func swing(b *build.Build, m int, e Extremes) float64 {
	if e.LowAt == "" {
		return 60
	}
	full := 1000 * quantity.WattPerSquareMetre
	plate := forecast.PlateOf(&b.Types[b.Modules[m].Type], b.Modules[m].Attachment, b.Modules[m].Gap)
	return plate.Steady(full, e.High, 0).Celsius() - e.Low.Celsius()
}

// movement returns the most by which a length of module and its skin part over a swing, mm; false when
// the skin's expansion is not in the catalog.
func movement(b *build.Build, m int, length float64, e Extremes) (float64, cite.Source, bool) {
	skin, ok := catalog.SkinExpansion(b.Surfaces[b.Modules[m].Surface].Skin)
	if !ok {
		return 0, skin.Source, false
	}
	body := catalog.LaminateExpansion(laminateOf(&b.Types[b.Modules[m].Type]))
	return parting(body, skin, length, swing(b, m, e)), skin.Source, true
}

// parting returns the most by which a length, m, of two materials parts over a swing, K, in mm: the far
// ends of their ranges. Source: handbook A5; both are taken at one temperature.
func parting(a, c catalog.Expansion, length, kelvin float64) float64 {
	apart := max(math.Abs(c.High.PerKelvin()-a.Low.PerKelvin()), math.Abs(a.High.PerKelvin()-c.Low.PerKelvin()))
	return 1000 * length * apart * kelvin
}

// gaps judges the gaps at edges, at the hinge, and between neighbours, by expansion and by practice.
func gaps(b *build.Build, surface int, on []int, e Extremes) []Finding {
	var out []Finding
	s := &b.Surfaces[surface]
	judge := func(id, subject string, gap, need, least float64, source cite.Source, known bool, what string) {
		f := Finding{ID: id, Subject: subject, Value: gap, Limit: need, Unit: "mm", Source: source,
			Reason: fmt.Sprintf("%s: %s and its skin move %.1f mm against each other from the coldest to the hottest hour; practice asks %.0f mm at least, for drain, dirt and a later cut", what, subject, need, least)}
		if !known {
			f.Limit, f.Source = least, gapPractice
			f.Reason = fmt.Sprintf("%s: practice asks %.0f mm at least; how %s expands is not in the catalog", what, least, s.Skin)
			out = append(out, f.atLeast(1).beside())
			return
		}
		f = f.atLeast(1)
		if f.Verdict == Pass && gap < least*(1-1e-9) {
			f.Limit, f.Verdict, f.Source = least, Warn, gapPractice
		}
		out = append(out, f)
	}
	for i, m := range on {
		a := boxOf(b, m)
		subject := "module " + b.Modules[m].Name
		long := max(a.x1-a.x0, a.y1-a.y0)
		half, source, known := movement(b, m, long/2, e)
		judge("edge-gap", subject, 1000*awayFromHinge(s, a).margin(s.Outline), half, practiceEdge, source, known, "to the edge of "+s.Name)
		if s.HasHinge {
			judge("hinge-gap", subject, 1000*hingeDistance(s, a), half, hingeEdge, source, known, "to the hinge of "+s.Name)
		}
		for _, n := range on[i+1:] {
			c := boxOf(b, n)
			gap := a.apart(c)
			across := a.x1 - a.x0 // the side along which the two move apart
			if max(c.y0-a.y1, a.y0-c.y1) >= max(c.x0-a.x1, a.x0-c.x1) {
				across = a.y1 - a.y0
			}
			need, source, known := movement(b, m, across, e)
			if gap < neighbourly {
				judge("module-gap", subject, 1000*gap, need, practiceGap, source, known, "to module "+b.Modules[n].Name)
			}
		}
	}
	return out
}

// bends judges the bend of modules on a curved surface.
func bends(b *build.Build, surface int, on []int) []Finding {
	s := &b.Surfaces[surface]
	if s.Camber == nil {
		return nil
	}
	e := extent(s.Outline)
	chord := e.y1 - e.y0
	if !s.Camber.Across {
		chord = e.x1 - e.x0
	}
	rise := s.Camber.Sagitta.Metres()
	if rise <= 0 {
		return nil
	}
	radius := (chord*chord/4 + rise*rise) / (2 * rise)
	var out []Finding
	for _, m := range on {
		t := &b.Types[b.Modules[m].Type]
		f := Finding{ID: "bend-radius", Subject: "module " + b.Modules[m].Name, Value: radius, Limit: t.MinBendRadius.Metres(), Unit: "m",
			Source: from("module sheet", "smallest bend", cite.CommonPractice), Reason: fmt.Sprintf("bend of %s, which rises %.0f mm over %.2f m, against the module's smallest", s.Name, 1000*rise, chord)}
		held := b.Modules[m].Attachment
		a := boxOf(b, m)
		width := a.y1 - a.y0
		if !s.Camber.Across {
			width = a.x1 - a.x0
		}
		switch {
		case t.MinBendRadius > 0:
			f = f.atLeast(1)
		case held == build.StandOff || held == build.Rack:
			f.ID, f.Unit, f.Value, f.Limit = "bend-clearance", "mm", b.Modules[m].Gap.Millimetres(), 1000*(radius-math.Sqrt(max(0, radius*radius-width*width/4)))
			f.Reason = "gap behind a stiff module against the rise of the curve under it"
			if held == build.Rack {
				continue
			}
			f = f.atLeast(1)
		case t.Front == build.FloatGlass || t.Front == build.TexturedGlass:
			f.Value, f.Limit, f.Unit, f.Verdict = 1000*rise, 0, "mm", Fail
			f.Reason = "glass lies flat on a curve: it bears on the middle and breaks; give it stand-offs"
		default:
			f = f.missing("the smallest bend of type "+t.Name+" (bend_radius)", "read the module's sheet")
		}
		out = append(out, f)
	}
	return out
}

// spans judges what a thin module bridges between ribs.
func spans(b *build.Build, surface int, on []int) []Finding {
	s := &b.Surfaces[surface]
	var out []Finding
	for _, m := range on {
		t, held := &b.Types[b.Modules[m].Type], b.Modules[m].Attachment
		if t.Front == build.FloatGlass || t.Front == build.TexturedGlass || held == build.StandOff || held == build.Rack {
			continue // stiff, or carried by its own feet
		}
		f := Finding{ID: "span", Subject: "module " + b.Modules[m].Name, Unit: "mm", Source: from("module sheet", "support", cite.CommonPractice),
			Reason: "clear span between ribs against what the module may bridge: a foot, hail or a hand cracks cells over a hollow"}
		switch {
		case s.Ribs == nil:
			f = f.missing("the clear span between ribs of "+s.Name+" (ribs)", "lay a straight edge across; 0 mm for a flat skin")
		case *s.Ribs == 0:
			f.Reason = "the skin is flat: nothing is bridged"
		case t.MaxSpan == nil:
			f = f.missing("the widest gap type "+t.Name+" may bridge (max_span)", "ask its maker; otherwise fill the hollows")
		default:
			f.Value, f.Limit = s.Ribs.Millimetres(), t.MaxSpan.Millimetres()
			f = f.atMost(1)
		}
		out = append(out, f)
	}
	return out
}

// walkWidth is the strip a boot needs, mm. Our own choice.
const walkWidth = 300

// walking judges whether a surface that is walked on has a strip along it free of modules.
func walking(b *build.Build, surface int, on []int) Finding {
	s := &b.Surfaces[surface]
	f := Finding{ID: "walking-strip", Subject: "surface " + s.Name, Unit: "mm", Limit: walkWidth, Source: from("a strip for one boot beside the other", "", cite.Judgement),
		Reason: "widest strip from front to rear free of modules; nobody steps on a module, and roofs of tents are not for standing"}
	if s.Walked == nil {
		return f.missing("whether somebody walks on "+s.Name+" (walked)", "say true or false")
	}
	if !*s.Walked {
		f.Limit, f.Reason = 0, "nobody walks on it: wash and mend it from a ladder or a platform"
		return f
	}
	if s.HasHinge {
		f.Verdict, f.Reason = Fail, "a lid is not for walking on: wash and mend it from a ladder or a platform"
		return f
	}
	e := extent(s.Outline)
	taken := make([][2]float64, 0, len(on))
	for _, m := range on {
		a := boxOf(b, m)
		taken = append(taken, [2]float64{a.y0, a.y1})
	}
	widest, at := 0.0, e.y0
	for at < e.y1 {
		next, until := e.y1, e.y1
		for _, t := range taken {
			if t[1] > at && t[0] < next {
				next, until = t[0], t[1]
			}
		}
		widest = max(widest, next-at)
		at = max(until, at+1e-6)
		for _, t := range taken { // what overlaps further on
			if t[0] <= at && t[1] > at {
				at = t[1]
			}
		}
	}
	f.Value = 1000 * widest
	return f.atLeast(1).beside()
}
