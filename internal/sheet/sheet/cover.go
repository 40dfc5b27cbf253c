package sheet

import (
	"fmt"
	"math"
	"strings"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// covers returns the front-edge covers to sew, each pattern once, with the modules it is for.
func covers(b *build.Build) []dayplan.Cover {
	var out []dayplan.Cover
next:
	for _, c := range dayplan.MaterialsOf(b, 0).Covers {
		if c.Kind != "fabric" { // cut to length
			continue
		}
		for i := range out {
			same := out[i]
			same.Module = c.Module
			if same == c {
				out[i].Module += ", " + c.Module
				continue next
			}
		}
		out = append(out, c)
	}
	return out
}

// hem is what sewn fabric is turned in by, all round, mm. Common practice, no source.
const hem = 20.0

func coverTitle(c dayplan.Cover) string {
	return "Cutting pattern of the front-edge cover, " + modulesWord(c.Module)
}

// modulesWord names one module, or several parted by commas.
func modulesWord(names string) string {
	if strings.Contains(names, ", ") {
		return "modules " + names
	}
	return "module " + names
}

// coverPattern draws a front-edge cover as it is cut, its length to scale and its depth twice as large: what
// lies on the module and on the skin, the first cells behind it, hook-and-loop and the gaps that drain.
func coverPattern(b *build.Build, c dayplan.Cover, width, height float64) *draw.Scene {
	s := draw.New(coverTitle(c), width, height)
	wide, deep := c.Width.Millimetres(), c.Depth.Millimetres()
	on, off := c.OnModule.Millimetres(), math.Max(0, c.OffCells.Millimetres())
	const left, right, top = 20.0, 58.0, 9.0
	scale := (width - left - right) / (wide + 2*hem)
	tall := math.Min(2*scale, (height-top-13)/(deep+2*hem+off+12))
	x, y := left, top
	w, h := (wide+2*hem)*scale, (deep+2*hem)*tall
	box := func(x, y, w, h float64) []draw.Point {
		return []draw.Point{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}}
	}
	say := func(y float64, text string) {
		s.Path(draw.Thin, draw.Point{X: x + w, Y: y}, draw.Point{X: x + w + 4, Y: y})
		s.Write(draw.Text{At: draw.Point{X: x + w + 5, Y: y + 1}, Text: fit(text, right-6, draw.Regular, 2.7), Size: 2.7})
	}
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.35, Fill: draw.White}, box(x, y, w, h)...)
	inner := box(x+hem*scale, y+hem*tall, wide*scale, deep*tall)
	s.Path(draw.Style{Stroke: draw.Fine, Width: 0.2, Dash: []float64{1.5, 1}}, append(inner, inner[0])...)
	say(y+hem*tall/2, fmt.Sprintf("hem, turned in %s all round", lengthOf(b, hem)))
	onRoof := (deep - on) * tall
	front := inner[0].Y + onRoof // where the module's front edge lies
	s.Path(draw.Style{Stroke: draw.Line, Width: 0.2, Dash: []float64{3, 1}}, draw.Point{X: x, Y: front}, draw.Point{X: x + w, Y: front})
	strip := box(inner[0].X, inner[0].Y+onRoof*0.25, wide*scale, onRoof*0.5)
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.2}, strip...)
	s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.12}, 45, 1.4, strip...)
	say(inner[0].Y+onRoof*0.5, "hook and loop on the skin")
	say(front+on*tall/2, fmt.Sprintf("on the module, %s", lengthOf(b, on)))
	cells := y + h + off*tall // behind the finished edge by as much, once the hem is turned in
	field := box(x+w*0.04, cells, w*0.92, 6)
	s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.2}, field...)
	s.Hatch(draw.Style{Stroke: draw.Shade, Width: 0.15}, 0, 1.2, field...)
	if c.OffCells < 0 {
		say(cells+3, "first cells: the cover shades them")
	} else {
		say(cells+3, fmt.Sprintf("first cells, %s off the finished edge", lengthOf(b, off)))
	}
	for i := range c.Drains {
		at := inner[0].X + (float64(i)+0.5)/float64(c.Drains)*wide*scale
		s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.Shade}, draw.Point{X: at - 1.2, Y: inner[2].Y}, draw.Point{X: at + 1.2, Y: inner[2].Y}, draw.Point{X: at, Y: inner[2].Y - 2})
	}
	s.Dim(draw.Dimension{From: draw.Point{X: x, Y: y}, To: draw.Point{X: x + w, Y: y}, Off: 4, Figure: lengthOf(b, wide+2*hem)})
	s.Dim(draw.Dimension{From: draw.Point{X: x, Y: y + h}, To: draw.Point{X: x, Y: y}, Off: 5, Figure: lengthOf(b, deep+2*hem)})
	s.Write(draw.Text{At: draw.Point{X: x, Y: min(height-2, cells+12)}, Text: fmt.Sprintf("From above, front at the top. Dark: %d drains, gaps of 10 mm in the sealant. Depth drawn larger than length.", c.Drains), Size: 2.6, Ink: draw.Fine})
	s.Text = fmt.Sprintf("A strip of %s, %s long and %s deep, for %s: %s lie on the module, %s short of the first cells; %d drains.", c.Kind, lengthOf(b, wide+2*hem), lengthOf(b, deep+2*hem), modulesWord(c.Module), lengthOf(b, on), lengthOf(b, off), c.Drains)
	return s
}

// lengthOf prints millimetres with their unit, inches where the build counts so.
func lengthOf(b *build.Build, mm float64) string {
	if b.Units == build.Imperial {
		return number(math.Round(mm/25.4*10)/10, 4) + " in"
	}
	return whole(mm) + " mm"
}
