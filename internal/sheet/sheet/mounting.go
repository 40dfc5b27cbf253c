package sheet

import (
	"strings"

	"noonmark/internal/answer/dayplan"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// bondTable lists what the bonds of modules that take alike need, each.
func bondTable(j Job) Table {
	t := Table{Title: "What the bonds take, each module", Head: []string{"modules", "held", "adhesive", "area", "25 mm tape", "for its mass at least", "primer"}, Right: []int{3, 4, 5, 6}}
	st := style(j.Build)
	seen := map[string]int{}
	for _, o := range dayplan.Bonds(j.Build) {
		tape, primer := "whole face", "–"
		if o.Tape > 0 {
			tape = o.Tape.Text(st)
		}
		if o.PrimerMost > 0 {
			primer = o.PrimerMost.Text(st)
			if o.Porous {
				primer = o.PrimerLeast.Text(st) + " to " + primer
			}
		}
		row := []string{o.Module, holding(o.Attachment), o.Adhesive, o.Area.Text(st), tape, o.Least.Text(st), primer}
		key := strings.Join(row[1:], "|")
		if at, ok := seen[key]; ok {
			t.Rows[at][0] += ", " + o.Module
			continue
		}
		seen[key] = len(t.Rows)
		t.Rows = append(t.Rows, row)
	}
	return t
}

// stack is a layer of a section, from the top.
type stack struct {
	name   string
	thick  float64
	fill   draw.Ink
	hatch  float64 // angle; 0: none
	broken bool    // pieces with gaps between
}

// stacks are the layers of each attachment.
var stacks = map[build.Attachment][]stack{
	build.Bonded:       {{"module", 3, draw.Shade, 0, false}, {"adhesive, full area", 1.8, draw.SunPale, 0, false}, {"skin, prepared", 2.6, draw.White, 45, false}},
	build.FoamTape:     {{"module", 3, draw.Shade, 0, false}, {"foam tape in strips, still air between", 3, draw.SunPale, 0, true}, {"skin, prepared", 2.6, draw.White, 45, false}},
	build.StandOff:     {{"module in its frame", 4, draw.Shade, 0, false}, {"feet, air passes between", 9, draw.White, 90, true}, {"skin, backed where a fastener goes through", 2.6, draw.White, 45, false}},
	build.Rack:         {{"module in its frame", 4, draw.Shade, 0, false}, {"rack, open behind", 12, draw.White, 90, true}, {"roof or bars", 2.6, draw.White, 45, false}},
	build.FabricPocket: {{"front cover, off the cells", 1, draw.White, 90, false}, {"module", 3, draw.Shade, 0, false}, {"fabric pocket with drain", 1.6, draw.White, 135, false}},
	build.LooseFlat:    {{"module, not held: never while driving", 3, draw.Shade, 0, false}, {"ground or roof", 2.6, draw.White, 45, false}},
}

// layers draws a section for each attachment of the build.
func layers(kinds []build.Attachment, width, height float64) *draw.Scene {
	s := draw.New("Section through the mounting, not to scale", width, height)
	n := float64(max(1, len(kinds)))
	band := height / n
	for i, k := range kinds {
		list := stacks[k]
		tall := 0.0
		for _, l := range list {
			tall += l.thick
		}
		zoom := min(4, (band-22)/tall)
		x, w := 16.0, width*0.5
		y := band*float64(i) + (band-tall*zoom)/2 + 2
		s.Write(draw.Text{At: draw.Point{X: x, Y: y - 6}, Text: holding(k), Size: 3.4, Face: draw.Bold})
		first := y
		for q, l := range list {
			h := l.thick * zoom
			left := x
			if q < len(list)-1 {
				left = x + 12
			}
			pieces := [][2]float64{{left, x + w}}
			if l.broken {
				pieces = [][2]float64{{left, left + 9}, {left + (x+w-left)/2 - 4.5, left + (x+w-left)/2 + 4.5}, {x + w - 12, x + w - 3}}
			}
			for _, p := range pieces {
				box := []draw.Point{{X: p[0], Y: y}, {X: p[1], Y: y}, {X: p[1], Y: y + h}, {X: p[0], Y: y + h}}
				s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: l.fill}, box...)
				if l.hatch != 0 {
					s.Hatch(draw.Style{Stroke: draw.Fine, Width: 0.12}, l.hatch, 1.5, box...)
				}
			}
			s.Path(draw.Thin, draw.Point{X: x + w - 4, Y: y + h/2}, draw.Point{X: x + w + 8, Y: y + h/2})
			s.Write(draw.Text{At: draw.Point{X: x + w + 9.5, Y: y + h/2 + 1}, Text: fit(l.name, width-x-w-11, draw.Regular, 2.9), Size: 2.9})
			y += h
		}
		if k == build.Bonded || k == build.FoamTape {
			wedge := []draw.Point{{X: x + 12, Y: first}, {X: x + 12, Y: y - list[len(list)-1].thick*zoom}, {X: x + 5, Y: y - list[len(list)-1].thick*zoom}}
			s.Polygon(draw.Style{Stroke: draw.Line, Width: 0.3, Fill: draw.Paper}, wedge...)
			s.Arrow(draw.Style{Stroke: draw.Line, Width: 0.3}, draw.Point{X: 2, Y: first + 2}, draw.Point{X: x + 3, Y: first + 2})
			s.Write(draw.Text{At: draw.Point{X: 2, Y: first}, Text: "wind", Size: 2.6, Ink: draw.Fine})
			s.Path(draw.Thin, draw.Point{X: x + 9, Y: first + 3}, draw.Point{X: x + 20, Y: y + 4.2})
			s.Write(draw.Text{At: draw.Point{X: x + 21, Y: y + 5.4}, Text: "front-edge cover: sealed ramp, off the cells", Size: 2.8})
		}
		s.Text += holding(k) + ", from the top:"
		for _, l := range list {
			s.Text += " " + l.name + ";"
		}
	}
	return s
}
