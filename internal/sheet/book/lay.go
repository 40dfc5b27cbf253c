package book

import (
	"fmt"
	"strings"

	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

const gutter = 6.0

// lay puts a sheet on pages: figures on the first with the margin beside, then tables and lists, then what
// the margin could not hold. It begins under what stands on the page on, when that is not nil.
func lay(st Stamp, number int, s *sheet.Sheet, on *laid) []laid {
	w, h := st.Paper.size()
	start := edge
	if on != nil {
		start = on.divide(st, fmt.Sprintf("%d %s", number, s.Title))
	}
	side := marginBlocks(s, margin-2*inside-1.5)
	withMargin := len(side) > 0
	field := w - 2*edge
	if withMargin {
		field -= margin
	}
	top, bottom := start+inside+6.4, h-edge-foot-inside
	lead := draw.Wrap(draw.Regular, 3.1, field-2*inside, s.Lead)
	begin := max(top+4.1*float64(len(lead))+1.5, start+head)
	// Text that fits under the figures is set in the field; more of it has the next pages' whole width.
	full := field
	cw := columnWidth(full, s.Columns)
	body := bodyBlocks(s, cw)
	groups := grouped(s.Figures)
	under, fits, split := 0.0, len(groups) < 2, false
	if len(groups) > 1 {
		full = w - 2*edge
		cw = columnWidth(full, s.Columns)
		body = bodyBlocks(s, cw)
	} else if len(s.Figures) > 0 && len(body) > 0 {
		most, total := bottom-begin-leastOf(groups[0])-3, shares(s.Figures)
		under, fits = needed(columnsIn(full, begin, bottom, cw), body, min(max(0.5, 1-0.5*total)*(bottom-begin), most))
		if !fits && total <= 0.6 && most > 14 { // begins under them and goes on
			split = true
			if s.Columns > 1 { // so wide that a page without a margin holds one more
				cw = min(cw, columnWidth(w-2*edge, s.Columns+1))
				body = bodyBlocks(s, cw)
			}
			under = min(most, (1-total)*(bottom-begin))
		} else if !fits {
			under, full = 0, w-2*edge
			cw = columnWidth(full, s.Columns)
			body = bodyBlocks(s, cw)
		}
	}
	var out []laid
	for n := 0; n == 0 || n < len(groups) || len(body) > 0 || len(side) > 0; n++ {
		first := n == 0
		p := laid{name: fmt.Sprintf("%d %s", number, s.Title)}
		if first && on != nil {
			p = *on
		} else {
			p.scene, start = draw.New(s.Title, w, h), edge
		}
		wide := w - 2*edge
		beside := first && withMargin || n < len(groups) && len(side) > 0
		if split && !beside && len(side) > 0 { // beside a long table, under a short one
			from := edge + inside + 9.4
			high, all := needed(columnsIn(w-2*edge, from, bottom, cw), body, bottom-from)
			_, ok := needed(columnsIn(w-2*edge, from+high+3, bottom, margin-2*inside-1.5), side, bottom-from-high-3)
			beside = !(all && ok) && high > 60
		}
		if first || beside || split && len(body) > 0 && s.Columns < 2 {
			wide = field
		}
		end := bottom // of the margin's print
		if !first && n >= len(groups) && beside {
			_, end = flow(nil, columnsIn(wide, edge+inside+9.4, bottom, cw), body)
			_, low := flow(nil, []column{{0, start + inside, margin - 2*inside - 1.5, bottom - start - inside}}, side)
			end = max(end, low)
		}
		frame(p.scene, start, end+inside, w, h, beside)
		p.scene.Layer("title")
		title := fmt.Sprintf("%d  %s", number, s.Title)
		y := begin
		if first {
			for i, l := range lead {
				p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: top + 3.1 + 4.1*float64(i)}, Text: l, Size: 3.1})
			}
		} else {
			title += ", continued"
			p.name += ", continued"
			y = edge + inside + 9.4
		}
		p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: start + inside + 4.2}, Text: title, Size: 5, Face: draw.Bold})
		narrow := margin - 2*inside - 1.5
		if beside {
			p.scene.Layer("margin")
			side, _ = flow(p.scene, []column{{w - edge - margin + inside + 1.5, start + inside, narrow, h - edge - start - foot - 2*inside}}, side)
		}
		if n < len(groups) {
			if first && fits && len(side) > 0 {
				room := min((1-0.5*shares(groups[n]))*(bottom-y), bottom-y-leastOf(groups[n])) - under - 5
				if more, ok := needed(columnsIn(wide, y, bottom, narrow), side, room); ok {
					under += more + 3
				} else if room > 30 { // as much as goes there
					under += room
				}
			}
			if under > 0 && !split {
				under += 2
			}
			y = figures(&p, groups[n], edge+inside, y, wide-2*inside, bottom-under)
		}
		p.scene.Layer("text")
		if first && cards(s) {
			for _, c := range columnsIn(wide, y, bottom, cw)[1:] {
				x := c.x - gutter/2
				p.scene.Path(draw.Style{Stroke: draw.Fine, Width: 0.2, Dash: []float64{2, 1.5}}, draw.Point{X: x, Y: c.y}, draw.Point{X: x, Y: bottom})
			}
		}
		if n >= len(groups) || first && (fits || split) {
			cols := columnsIn(wide, y, bottom, cw)
			if balanced, ok := needed(cols, body, bottom-y); ok {
				for i := range cols {
					cols[i].h = balanced
				}
			}
			body, y = flow(p.scene, cols, body)
		}
		if (n >= len(groups) || first && fits) && len(body) == 0 && len(side) > 0 && bottom-y > 14 {
			cols := columnsIn(wide, y+3, bottom, narrow)
			if balanced, ok := needed(cols, side, bottom-y-3); ok {
				for i := range cols {
					cols[i].h = balanced
				}
			}
			side, y = flow(p.scene, cols, side)
		}
		if !beside && !(first && withMargin) && !cards(s) {
			p.low = y
		} else if end < bottom {
			p.low = end
		}
		out = append(out, p)
	}
	return out
}

// columnWidth returns how wide n columns are on a field.
func columnWidth(field float64, n int) float64 {
	n = max(1, n)
	return (field - 2*inside - gutter*float64(n-1)) / float64(n)
}

// columnsIn returns as many columns of a width as a field holds, from y down to bottom.
func columnsIn(field, y, bottom, wide float64) []column {
	var out []column
	for x := edge + inside; x+wide <= edge+field-inside+0.1; x += wide + gutter {
		out = append(out, column{x, y, wide, bottom - y})
	}
	return out
}

// bodyBlocks sets a sheet's tables and lists. As many lists as columns have a column each.
func bodyBlocks(s *sheet.Sheet, cw float64) []block {
	var out []block
	for _, t := range s.Tables {
		if len(t.Rows) > 0 {
			out = append(out, tableBlocks(t, cw)...)
		}
	}
	for i, l := range s.Lists {
		list := listBlocks(l, cw)
		list[0].column = cards(s) && i > 0
		out = append(out, list...)
	}
	return out
}

// grouped splits figures into pages: those whose shares together are one page at most.
func grouped(list []sheet.Figure) [][]sheet.Figure {
	var out [][]sheet.Figure
	sum := 0.0
	for _, f := range list {
		if len(out) == 0 || sum+f.Share > 1.001 {
			out, sum = append(out, nil), 0
		}
		out[len(out)-1] = append(out[len(out)-1], f)
		sum += f.Share
	}
	return out
}

// shares returns the height that figures ask for, 1 for a page.
func shares(list []sheet.Figure) float64 {
	sum := 0.0
	for _, f := range list {
		sum += f.Share
	}
	return sum
}

// heights shares a height among figures by what they ask for, no less than their least where that can be.
func heights(list []sheet.Figure, whole float64) []float64 {
	out := make([]float64, len(list))
	if short := leastOf(list) / whole; short >= 1 { // all a little under their least
		for i, f := range list {
			out[i] = leastOf([]sheet.Figure{f})/short - 5
		}
		return out
	}
	held := make([]bool, len(list)) // to its least
	for range list {
		room, sum := whole, 0.0
		for i, f := range list {
			if held[i] {
				room -= f.Least + 5
			} else {
				sum += f.Share
			}
		}
		again := false
		for i, f := range list {
			if held[i] {
				out[i] = f.Least
				continue
			}
			out[i] = room*f.Share/sum - 5
			if out[i] < f.Least {
				held[i], again = true, true
			}
		}
		if !again {
			break
		}
	}
	return out
}

// figures draws figures one under the other, by their shares of the height, and returns where they
// end.
func figures(p *laid, list []sheet.Figure, x, y, w, bottom float64) float64 {
	all := heights(list, bottom-y)
	for i, f := range list {
		high := all[i]
		p.scene.Layer("figure")
		p.scene.Write(draw.Text{At: draw.Point{X: x, Y: y + 3}, Text: f.Title, Size: 3.1, Face: draw.Bold})
		fig := f.Draw(w, high)
		p.scene.Place(fig, draw.Point{X: x, Y: y + 5})
		p.scene.Text += " " + f.Title + ". " + fig.Text
		if fig.Scale != "" && !strings.Contains(p.scale, fig.Scale) {
			if p.scale != "" {
				p.scale += "; "
			}
			p.scale += fig.Scale
		}
		y += high + 5
	}
	return y + 1
}

// cover is the first page: what it is for, the sheets, and how to read them.
func cover(st Stamp, sheets []sheet.Sheet, starts []int, total int) *draw.Scene {
	w, h := st.Paper.size()
	s := draw.New(st.Build, w, h)
	frame(s, edge, h-edge-foot, w, h, true)
	x := edge + 10.0
	s.Layer("title")
	y := edge + 26
	for _, l := range draw.Wrap(draw.Bold, 10, w-2*edge-margin-20, st.Build) {
		s.Write(draw.Text{At: draw.Point{X: x, Y: y}, Text: l, Size: 10, Face: draw.Bold})
		y += 12
	}
	s.Write(draw.Text{At: draw.Point{X: x, Y: y - 2}, Text: "Solar power on a vehicle: drawings, rules, cuts, days and cautions, to build from", Size: 3.8, Ink: draw.Fine})
	y += 9
	for i, sh := range sheets {
		s.Write(draw.Text{At: draw.Point{X: x + 6, Y: y}, Text: fmt.Sprint(i + 1), Size: 3.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.End})
		s.Write(draw.Text{At: draw.Point{X: x + 10, Y: y}, Text: sh.Title, Size: 3.4})
		end := x + 110.0
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.2, Dash: []float64{0.4, 1.2}}, draw.Point{X: x + 12 + draw.Width(draw.Regular, 3.4, sh.Title), Y: y}, draw.Point{X: end - 8, Y: y})
		s.Write(draw.Text{At: draw.Point{X: end, Y: y}, Text: fmt.Sprint(starts[i]), Size: 3.4, Face: draw.Mono, Anchor: draw.End})
		y += min(5.2, (h-edge-foot-10-y)/float64(max(1, len(sheets)-i)))
	}
	if room := h - edge - foot - 3 - y; room > 45 {
		for i := range sheets {
			if sheets[i].Key == "roof" && len(sheets[i].Figures) > 0 {
				if d := sheets[i].Figures[0].Draw(w-2*edge-margin-8, room); len(d.Clashes()) == 0 { // where it is not too small for its words
					s.Place(d, draw.Point{X: edge + 4, Y: y})
				}
			}
		}
	}
	s.Layer("margin")
	width := margin - 2*inside - 1.5
	var side []block
	side = append(side, heading("How to read it", width)...)
	for _, t := range []string{"Print at 100 %, not fitted to the page: drawings are to the scale in their title block.",
		"A number in a circle on a drawing is the verdict of that number in the margin. What fails has a heavy bar and comes first.",
		"Within the stated rule means that one rule, with its source. It is not more than that.",
		"Light is warm, shadow is cool and hatched, plus is red and full, minus black and dashed. Nothing depends on the colour.",
		"What was not given was assumed and is listed; a source from memory is marked so.",
		"Codes differ by country and edition: check the edition in force where you are."} {
		side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.8, t)...)
	}
	side = append(side, heading("What needs a mend", width)...)
	n := 0
	for i := range sheets {
		for _, v := range sheet.Beside(sheets[i].Verdicts) {
			if v.Heavy {
				n++
				side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.2, fmt.Sprintf("Sheet %d, mark %d: %s. %s.", i+1, v.Mark, v.Title, v.Figure))...)
			}
		}
	}
	if n == 0 {
		side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.2, "No rule that was applied fails. Those that are close or unknown stand on their sheets.")...)
	}
	rest, _ := flow(s, []column{{w - edge - margin + inside + 1.5, edge + inside, width, h - 2*edge - foot - 2*inside - 5}}, side)
	if len(rest) > 0 {
		s.Write(draw.Text{At: draw.Point{X: w - edge - margin + inside + 1.5, Y: h - edge - foot - inside}, Text: "and more, on their sheets", Size: 2.6, Ink: draw.Fine})
	}
	titleBlock(s, st, w, h, "all sheets", "", 1, total)
	s.Title = st.Build
	return s
}
