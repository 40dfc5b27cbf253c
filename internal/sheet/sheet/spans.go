package sheet

import (
	"math"

	"noonmark/internal/sheet/draw"
)

// span is a value with its band on a scale.
type span struct {
	label          string
	mid, low, high float64
	open           bool // an open mark: the value is no verdict's
	square         bool // a square mark, for a second series
}

// spans draws values with their bands in rows, the labels at the left, against a scale with ticks; bounds
// are dashed lines with a word.
type spans struct {
	rows     []span
	from, to float64
	ticks    []float64
	text     func(v float64) string
	bounds   []bound
	second   []span // a mark more in each row; not a number: none
	foot     string
}

// bound is a limit on the scale.
type bound struct {
	at   float64
	text string
}

// draw draws the rows in a box; values beyond the scale are drawn at its end with an arrow's head.
func (c spans) draw(s *draw.Scene, x, y, w, h float64) {
	left := 0.0
	for _, r := range c.rows {
		left = max(left, draw.Width(draw.Regular, 2.7, r.label))
	}
	left = min(left, 0.45*w) + 3
	place := func(v float64) float64 {
		return x + left + (w-left-6)*(min(max(v, c.from), c.to)-c.from)/(c.to-c.from)
	}
	top, bottom := y+5, y+h-9
	row := (bottom - top) / float64(max(1, len(c.rows)))
	wide, every := 0.0, 1 // one tick of so many has its figure: figures side by side would read as one
	for _, v := range c.ticks {
		wide = max(wide, draw.Width(draw.Mono, 2.5, c.text(v))+1.5)
	}
	for every < len(c.ticks) && place(c.ticks[every])-place(c.ticks[0]) < wide {
		every++
	}
	for i, v := range c.ticks {
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.12}, draw.Point{X: place(v), Y: top}, draw.Point{X: place(v), Y: bottom})
		if i%every != 0 {
			continue
		}
		s.Write(draw.Text{At: draw.Point{X: place(v), Y: bottom + 3.6}, Text: c.text(v), Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	for _, b := range c.bounds {
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.3, Dash: []float64{2, 1}}, draw.Point{X: place(b.at), Y: top - 1}, draw.Point{X: place(b.at), Y: bottom})
		anchor := draw.Middle
		if half := draw.Width(draw.Regular, 2.5, b.text) / 2; place(b.at)+half > x+w {
			anchor = draw.End
		} else if place(b.at)-half < x {
			anchor = draw.Start
		}
		s.Write(draw.Text{At: draw.Point{X: place(b.at), Y: y + 2.8}, Text: b.text, Size: 2.5, Anchor: anchor})
	}
	size := min(2.7, 0.9*row)
	for i, r := range c.rows {
		at := top + row*(float64(i)+0.5)
		if r.label != "" {
			s.Write(draw.Text{At: draw.Point{X: x + left - 3, Y: at + 0.35*size}, Text: shorten(r.label, size, left-3), Size: size, Anchor: draw.End})
		}
		line := draw.Style{Stroke: draw.Line, Width: 0.4}
		if r.high > r.low {
			s.Path(line, draw.Point{X: place(r.low), Y: at}, draw.Point{X: place(r.high), Y: at})
			for _, v := range []float64{r.low, r.high} {
				if v >= c.from && v <= c.to {
					s.Path(line, draw.Point{X: place(v), Y: at - min(1, row/3)}, draw.Point{X: place(v), Y: at + min(1, row/3)})
				}
			}
		}
		if i < len(c.second) && !math.IsNaN(c.second[i].mid) {
			c.mark(s, c.second[i], place(c.second[i].mid), at, row)
		}
		c.mark(s, r, place(r.mid), at, row)
	}
	if c.foot != "" {
		s.Write(draw.Text{At: draw.Point{X: x + w, Y: y + h - 1.2}, Text: c.foot, Size: 2.5, Ink: draw.Fine, Anchor: draw.End})
	}
}

// mark draws a value's mark.
func (c spans) mark(s *draw.Scene, r span, x, y, row float64) {
	st := draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Sun}
	if r.open || r.square {
		st.Fill = draw.White
	}
	d := min(0.9, row/3)
	switch {
	case r.mid > c.to || r.mid < c.from:
		dx := d
		if r.mid < c.from {
			dx = -d
		}
		s.Polygon(st, draw.Point{X: x + 1.5*dx, Y: y}, draw.Point{X: x - dx, Y: y - d}, draw.Point{X: x - dx, Y: y + d})
	case r.square:
		s.Rect(st, draw.Point{X: x - 0.8*d, Y: y - 0.8*d}, 1.6*d, 1.6*d)
	default:
		s.Circle(st, draw.Point{X: x, Y: y}, d)
	}
}

// shorten cuts a text to a width, with three dots.
func shorten(text string, size, width float64) string {
	if draw.Width(draw.Regular, size, text) <= width {
		return text
	}
	r := []rune(text)
	for len(r) > 1 && draw.Width(draw.Regular, size, string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// steps returns round ticks that cover a range, at most about n.
func steps(low, high float64, n int) []float64 {
	if !(high > low) {
		return []float64{low}
	}
	d := math.Pow10(int(math.Floor(math.Log10((high - low) / float64(n)))))
	for _, m := range []float64{1, 2, 5, 10} {
		if (high-low)/(m*d) <= float64(n) {
			d *= m
			break
		}
	}
	var out []float64
	for v := math.Ceil(low/d-1e-9) * d; v <= high+1e-9*d; v += d {
		out = append(out, v)
	}
	return out
}
