package book

import (
	"fmt"
	"io"
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// Cut says what a template shows.
type Cut struct {
	Surface int
	Module  string // one module's name; empty: all on the surface
	Mirror  bool   // for marking from below
}

// maskOff is how far outside the module the masking tape lies. Source: handbook A3, 2 to 5 mm, common practice.
const maskOff = 3.0 // mm

// tile is the part of a page that carries the drawing, in millimetres; neighbours share its edges.
type tiling struct {
	w, h       float64 // of a tile
	x, y       float64 // its upper left corner on the page
	cols, rows int
}

func tilingFor(p Paper, width, height float64) tiling {
	pw, ph := p.size()
	t := tiling{w: math.Floor((pw-32)/10) * 10, h: math.Floor((ph-30)/10) * 10}
	t.x, t.y = (pw-t.w)/2, (ph-t.h)/2-3
	t.cols, t.rows = int(math.Ceil(width/t.w-1e-9)), int(math.Ceil(height/t.h-1e-9))
	return t
}

// stroke is a line of the template, in millimetres from its upper left corner.
type stroke struct {
	a, b  draw.Point
	style draw.Style
}

// note is a text of the template at a point.
type note struct {
	at   draw.Point
	text string
	bold bool
}

// pattern is a template before it is cut into tiles.
type pattern struct {
	width, height float64
	strokes       []stroke
	notes         []note
}

func (p *pattern) line(st draw.Style, x1, y1, x2, y2 float64) {
	p.strokes = append(p.strokes, stroke{draw.Point{X: x1, Y: y1}, draw.Point{X: x2, Y: y2}, st})
}

func (p *pattern) rect(st draw.Style, x1, y1, x2, y2 float64) {
	p.line(st, x1, y1, x2, y1)
	p.line(st, x2, y1, x2, y2)
	p.line(st, x2, y2, x1, y2)
	p.line(st, x1, y2, x1, y1)
}

// ErrNothing says that a template has nothing to show.
var ErrNothing = fmt.Errorf("no module to make a template of")

// patternOf draws the modules in their own size, with the mask, the cells' edge, and feet where they stand.
func patternOf(b *build.Build, c Cut) (*pattern, error) {
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	var list []*build.Module
	for i := range b.Modules {
		m := &b.Modules[i]
		if m.Surface != c.Surface && c.Module == "" || c.Module != "" && m.Name != c.Module {
			continue
		}
		list = append(list, m)
		l, h := b.Footprint(m)
		low = [2]float64{min(low[0], l.X.Millimetres()), min(low[1], l.Y.Millimetres())}
		high = [2]float64{max(high[0], h.X.Millimetres()), max(high[1], h.Y.Millimetres())}
	}
	if len(list) == 0 {
		return nil, ErrNothing
	}
	const around = 5.0 // mm beside the modules: the mask and a little
	p := &pattern{width: high[0] - low[0] + 2*around, height: high[1] - low[1] + 2*around}
	x := func(l quantity.Length) float64 { return l.Millimetres() - low[0] + around }
	y := func(l quantity.Length) float64 { return l.Millimetres() - low[1] + around }
	body := draw.Style{Stroke: draw.Line, Width: 0.35}
	mask := draw.Style{Stroke: draw.Line, Width: 0.25, Dash: []float64{5, 2}}
	thin := draw.Style{Stroke: draw.Fine, Width: 0.15, Dash: []float64{1, 2}}
	for _, m := range list {
		t := &b.Types[m.Type]
		l, h := b.Footprint(m)
		x1, y1, x2, y2 := x(l.X), y(l.Y), x(h.X), y(h.Y)
		p.rect(body, x1, y1, x2, y2)
		if m.Attachment == build.Bonded || m.Attachment == build.FoamTape {
			p.rect(mask, x1-maskOff, y1-maskOff, x2+maskOff, y2+maskOff)
		}
		if g := t.Cells.Margin.Millimetres(); g > 0 {
			p.rect(thin, x1+g, y1+g, x2-g, y2-g)
		}
		mx, my := (x1+x2)/2, (y1+y2)/2
		p.line(thin, mx, y1, mx, y1+15)
		p.line(thin, mx, y2-15, mx, y2)
		p.line(thin, x1, my, x1+15, my)
		p.line(thin, x2-15, my, x2, my)
		if m.Attachment == build.StandOff || m.Attachment == build.Rack {
			for _, q := range []float64{x1 + (x2-x1)/5, x2 - (x2-x1)/5} {
				for _, r := range []float64{y1 + 20, y2 - 20} {
					p.line(body, q-8, r, q+8, r)
					p.line(body, q, r-8, q, r+8)
					p.rect(thin, q-20, r-15, q+20, r+15)
				}
			}
			p.notes = append(p.notes, note{draw.Point{X: x1 + (x2-x1)/5 + 12, Y: y1 + 45}, "foot: a suggestion; the frame's own holes have the last word", false})
		}
		p.notes = append(p.notes,
			note{draw.Point{X: x1 + 5, Y: y1 + 9}, m.Name + ", front left corner", true}, note{draw.Point{X: x2 - 8 - draw.Width(draw.Bold, 4, m.Name+", rear left corner"), Y: y1 + 9}, m.Name + ", rear left corner", true},
			note{draw.Point{X: x1 + 5, Y: y2 - 5}, m.Name + ", front right corner", true}, note{draw.Point{X: x2 - 8 - draw.Width(draw.Bold, 4, m.Name+", rear right corner"), Y: y2 - 5}, m.Name + ", rear right corner", true},
			note{draw.Point{X: mx + 3, Y: my}, m.Name, true},
			note{draw.Point{X: x1 + 5, Y: y1 + 16}, "full: edge of the module; dashed: masking tape, 3 mm out; dotted: cells", false})
	}
	for i := range b.Obstacles {
		o := &b.Obstacles[i]
		if o.Surface != list[0].Surface {
			continue
		}
		for k, q := range o.Outline {
			r := o.Outline[(k+1)%len(o.Outline)]
			p.line(draw.Style{Stroke: draw.Fine, Width: 0.3}, x(q.X), y(q.Y), x(r.X), y(r.Y))
		}
	}
	if c.Mirror {
		for i := range p.strokes {
			s := &p.strokes[i]
			s.a.X, s.b.X = p.width-s.a.X, p.width-s.b.X
		}
		for i := range p.notes {
			n := &p.notes[i]
			n.at.X = p.width - n.at.X - draw.Width(draw.Bold, 4, n.text)
		}
	}
	return p, nil
}

// cut returns the part of a line inside a box, by Liang and Barsky; false when none is.
func cut(s stroke, x1, y1, x2, y2 float64) (a, b draw.Point, ok bool) {
	dx, dy := s.b.X-s.a.X, s.b.Y-s.a.Y
	t0, t1 := 0.0, 1.0
	for _, e := range [][2]float64{{-dx, s.a.X - x1}, {dx, x2 - s.a.X}, {-dy, s.a.Y - y1}, {dy, y2 - s.a.Y}} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return a, b, false
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	if t0 >= t1 {
		return a, b, false
	}
	return draw.Point{X: s.a.X + t0*dx, Y: s.a.Y + t0*dy}, draw.Point{X: s.a.X + t1*dx, Y: s.a.Y + t1*dy}, true
}

// TemplatePages returns the pages of a template: a map of the tiles, then every tile that has a line on it.
// The error is ErrNothing when no module fits the cut.
func TemplatePages(st Stamp, b *build.Build, c Cut) ([]*draw.Scene, error) {
	p, err := patternOf(b, c)
	if err != nil {
		return nil, err
	}
	t := tilingFor(st.Paper, p.width, p.height)
	var out []*draw.Scene
	empty := map[[2]int]bool{}
	for r := range t.rows {
		for k := range t.cols {
			s, used := tilePage(st, p, t, k, r)
			if !used {
				empty[[2]int{k, r}] = true
				continue
			}
			out = append(out, s)
		}
	}
	return append([]*draw.Scene{mapPage(st, b, p, t, empty, c)}, out...), nil
}

// Template writes a template as a PDF in the modules' own size.
func Template(w io.Writer, st Stamp, b *build.Build, c Cut) error {
	pages, err := TemplatePages(st, b, c)
	if err != nil {
		return err
	}
	d := draw.NewDocument(draw.About{Title: st.Build + ": template", Subject: "print at 100 %, not fitted to the page", Made: st.Made})
	for _, p := range pages {
		d.Page(p)
	}
	_, err = d.WriteTo(w)
	return err
}

// tileName is "B3": column letter, row number.
func tileName(k, r int) string {
	name := ""
	for k++; k > 0; k = (k - 1) / 26 {
		name = string(rune('A'+(k-1)%26)) + name
	}
	return name + fmt.Sprint(r+1)
}

func tilePage(st Stamp, p *pattern, t tiling, k, r int) (*draw.Scene, bool) {
	pw, ph := st.Paper.size()
	s := draw.New("tile "+tileName(k, r), pw, ph)
	s.Scale = "1 : 1"
	x0, y0 := t.w*float64(k), t.h*float64(r)
	const over = 4.0 // drawn beyond the tile's edge, to see the join
	used := false
	s.Layer("pattern")
	for _, l := range p.strokes {
		if a, b, ok := cut(l, x0-over, y0-over, x0+t.w+over, y0+t.h+over); ok {
			s.Path(l.style, draw.Point{X: a.X - x0 + t.x, Y: a.Y - y0 + t.y}, draw.Point{X: b.X - x0 + t.x, Y: b.Y - y0 + t.y})
			if _, _, inside := cut(l, x0, y0, x0+t.w, y0+t.h); inside {
				used = true
			}
		}
	}
	for _, n := range p.notes {
		face := draw.Regular
		if n.bold {
			face = draw.Bold
		}
		text := n.text
		if n.at.X < x0 || n.at.X > x0+t.w || n.at.Y < y0+4 || n.at.Y > y0+t.h-1 {
			continue
		}
		at := draw.Point{X: n.at.X - x0 + t.x, Y: n.at.Y - y0 + t.y}
		at.X = min(at.X, t.x+t.w-2-draw.Width(face, 4, text))
		s.Write(draw.Text{At: at, Text: text, Size: 4, Face: face})
	}
	s.Layer("registration")
	for _, q := range []draw.Point{{X: t.x, Y: t.y}, {X: t.x + t.w, Y: t.y}, {X: t.x, Y: t.y + t.h}, {X: t.x + t.w, Y: t.y + t.h}} {
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.15}, draw.Point{X: q.X - 5, Y: q.Y}, draw.Point{X: q.X + 5, Y: q.Y})
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.15}, draw.Point{X: q.X, Y: q.Y - 5}, draw.Point{X: q.X, Y: q.Y + 5})
		s.Circle(draw.Style{Stroke: draw.Line, Width: 0.15}, q, 2.5)
	}
	s.Rect(draw.Style{Stroke: draw.Faint, Width: 0.1}, draw.Point{X: t.x, Y: t.y}, t.w, t.h)
	join := func(dk, dr int, at draw.Point, anchor draw.Anchor, turn float64) {
		if k+dk < 0 || r+dr < 0 || k+dk >= t.cols || r+dr >= t.rows {
			return
		}
		s.Write(draw.Text{At: at, Text: "joins " + tileName(k+dk, r+dr), Size: 2.8, Ink: draw.Fine, Anchor: anchor, Turn: turn})
	}
	join(0, -1, draw.Point{X: t.x + t.w/2, Y: t.y - 5}, draw.Middle, 0)
	join(0, 1, draw.Point{X: t.x + t.w*0.75, Y: t.y + t.h + 7.5}, draw.Middle, 0)
	join(-1, 0, draw.Point{X: t.x - 5.5, Y: t.y + t.h/2}, draw.Middle, 90)
	join(1, 0, draw.Point{X: t.x + t.w + 8, Y: t.y + t.h/2}, draw.Middle, 90)
	s.Write(draw.Text{At: draw.Point{X: t.x + 8, Y: t.y - 5}, Text: "tile " + tileName(k, r), Size: 4, Face: draw.Bold})
	s.Write(draw.Text{At: draw.Point{X: t.x + t.w - 8, Y: t.y - 5}, Text: st.Build + ", " + st.Revision, Size: 2.8, Ink: draw.Fine, Anchor: draw.End})
	scaleBar(s, draw.Point{X: t.x + 8, Y: t.y + t.h + 8})
	return s, used
}

// scaleBar draws 100 mm in tens with its words beside it.
func scaleBar(s *draw.Scene, at draw.Point) {
	s.Layer("scale bar")
	for i := range 10 {
		fill := draw.White
		if i%2 == 0 {
			fill = draw.Line
		}
		s.Rect(draw.Style{Stroke: draw.Line, Width: 0.15, Fill: fill}, draw.Point{X: at.X + 10*float64(i), Y: at.Y}, 10, 2)
	}
	s.Write(draw.Text{At: draw.Point{X: at.X + 102.5, Y: at.Y + 2.2}, Text: "100 mm: measure it; print at 100 %", Size: 2.8})
}

// mapPage is the first page of a template: the tiles on the modules, and how to use them.
func mapPage(st Stamp, b *build.Build, p *pattern, t tiling, empty map[[2]int]bool, c Cut) *draw.Scene {
	pw, ph := st.Paper.size()
	s := draw.New("template, map of the tiles", pw, ph)
	frame(s, edge, ph-edge-foot, pw, ph, true)
	field := pw - 2*edge - margin
	scale := draw.ScaleFor(quantity.Length(t.w*float64(t.cols)/1000), quantity.Length(t.h*float64(t.rows)/1000), field-16, ph-2*edge-foot-34)
	f := 1 / float64(scale)
	x0, y0 := edge+8.0, edge+24.0
	s.Write(draw.Text{At: draw.Point{X: edge + inside, Y: edge + 8}, Text: "Template: map of the tiles", Size: 5, Face: draw.Bold})
	what := "all modules of " + b.Surfaces[c.Surface].Name
	if c.Module != "" {
		what = "module " + c.Module
	}
	if c.Mirror {
		what += ", mirrored: seen from below"
	}
	s.Write(draw.Text{At: draw.Point{X: edge + inside, Y: edge + 14}, Text: what, Size: 3.4})
	for _, l := range p.strokes {
		if a, z, ok := cut(l, 0, 0, p.width, p.height); ok {
			st := l.style
			st.Dash = nil
			s.Path(st, draw.Point{X: x0 + a.X*f, Y: y0 + a.Y*f}, draw.Point{X: x0 + z.X*f, Y: y0 + z.Y*f})
		}
	}
	tiles := 0
	for r := range t.rows {
		for k := range t.cols {
			q := draw.Point{X: x0 + t.w*float64(k)*f, Y: y0 + t.h*float64(r)*f}
			s.Rect(draw.Style{Stroke: draw.Fine, Width: 0.15, Dash: []float64{1.5, 1}}, q, t.w*f, t.h*f)
			name := tileName(k, r)
			if empty[[2]int{k, r}] {
				name = "–"
			} else {
				tiles++
			}
			size := min(4, t.w*f/4)
			s.Box(draw.Text{At: draw.Point{X: q.X + t.w*f/2, Y: q.Y + t.h*f/2 + size/3}, Text: name, Size: size, Anchor: draw.Middle})
		}
	}
	width := margin - 2*inside - 1.5
	side := heading("How to use it", width)
	for _, l := range []string{
		fmt.Sprintf("%d tiles, each %g by %g mm between its crosses. A dash on the map is a tile with no line on it: not printed.", tiles, t.w, t.h),
		"Print at 100 %, never fitted to the page. Then measure the bar on one tile: 100 mm, within half a millimetre. A printer at 97 % loses 50 mm on a long module.",
		"Cut two sides of each tile on the thin frame, lay cross on cross, tape on the flat. Check one long side and both diagonals with a steel rule.",
		"Lay it dry on the roof, front to the front. Check against rivets, ribs, vents that open, the bulge of a junction box and its leads.",
		"Mask on the dashed line, 3 mm outside the module; off before the primer has set. Nothing is bonded before the test patch has been pulled.",
		"Look under the skin before you drill: cable, strut, lining, gas. A hole is on the far side of what you see.",
		"The front left corner of each module is measured from the front left corner of the surface:"} {
		side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.8, l)...)
	}
	for i := range b.Modules {
		m := &b.Modules[i]
		if m.Surface == c.Surface && (c.Module == "" || c.Module == m.Name) {
			side = append(side, lines(draw.Text{Size: 2.8, Face: draw.Mono}, width, 3.7, 0.6, fmt.Sprintf("%s: %.0f, %.0f mm", m.Name, m.X.Millimetres(), m.Y.Millimetres()))...)
		}
	}
	flow(s, []column{{pw - edge - margin + inside + 1.5, edge + inside, width, ph - 2*edge - foot - 2*inside}}, side)
	scaleBar(s, draw.Point{X: edge + 8, Y: ph - edge - foot - 6})
	titleBlock(s, st, pw, ph, "template", scale.String()+", tiles 1 : 1", 1, tiles+1)
	s.Title = "template, map of the tiles"
	s.Text = fmt.Sprintf("%d tiles of %g by %g mm, %d columns by %d rows.", tiles, t.w, t.h, t.cols, t.rows)
	return s
}
