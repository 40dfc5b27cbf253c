package sheet

import (
	"math"

	"noonmark/internal/sheet/draw"
)

// chart is a frame of bars and lines from 0 up to top.
type chart struct {
	s          *draw.Scene
	x, y, w, h float64
	top        float64
}

// nice returns the next round number at or over v, at least 1.
func nice(v float64) float64 {
	if !(v > 1) {
		return 1
	}
	p := math.Pow10(int(math.Floor(math.Log10(v))))
	for _, m := range []float64{1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10} {
		if m*p >= v*0.999 {
			return m * p
		}
	}
	return 10 * p
}

// level returns the height on the sheet of a value.
func (c *chart) level(v float64) float64 { return c.y + c.h*(1-v/c.top) }

// grid draws the base line, four levels and their figures.
func (c *chart) grid(unit string) {
	for i := range 5 {
		v := c.top * float64(i) / 4
		y := c.level(v)
		st := draw.Style{Stroke: draw.Faint, Width: 0.12}
		if i == 0 {
			st = draw.Style{Stroke: draw.Line, Width: 0.3}
		}
		c.s.Path(st, draw.Point{X: c.x, Y: y}, draw.Point{X: c.x + c.w, Y: y})
		text := number(v, 3)
		if i == 4 {
			text += " " + unit
		}
		c.s.Write(draw.Text{At: draw.Point{X: c.x - 1.2, Y: y + 0.9}, Text: text, Size: 2.5, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.End})
	}
}

// slot returns the left end and the width of the i-th of n columns.
func (c *chart) slot(i, n int) (x, w float64) {
	w = c.w / float64(n)
	return c.x + w*float64(i), w
}

// box returns the corners of a bar from one value to another.
func (c *chart) box(x, w, from, to float64) []draw.Point {
	a, b := c.level(from), c.level(to)
	return []draw.Point{{X: x, Y: a}, {X: x + w, Y: a}, {X: x + w, Y: b}, {X: x, Y: b}}
}

// bars draws n bars.
func (c *chart) bars(n int, value func(i int) (float64, draw.Style)) {
	for i := range n {
		x, w := c.slot(i, n)
		if v, st := value(i); v > 0 {
			c.s.Polygon(st, c.box(x, w, 0, min(v, c.top))...)
		}
	}
}
