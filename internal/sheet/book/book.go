package book

import (
	"fmt"
	"io"
	"strings"

	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

// Write writes the sheets as a PDF, with a first page that lists them. Equal sheets and an equal stamp give
// equal bytes.
func Write(w io.Writer, st Stamp, sheets []sheet.Sheet) error {
	d := draw.NewDocument(draw.About{Title: st.Build + ": the book", Subject: "sheets of a solar charging system, made by noonmark " + st.Program, Made: st.Made})
	for _, p := range Pages(st, sheets) {
		d.Page(p)
	}
	_, err := d.WriteTo(w)
	return err
}

// Pages returns the pages of a book as scenes.
func Pages(st Stamp, sheets []sheet.Sheet) []*draw.Scene {
	type set struct {
		name  string
		pages []laid
	}
	var all []set
	total := 1
	starts := make([]int, len(sheets))
	for i := range sheets {
		starts[i] = total + 1
		p := lay(st, i+1, &sheets[i])
		all = append(all, set{fmt.Sprintf("%d %s", i+1, sheets[i].Title), p})
		total += len(p)
	}
	out := []*draw.Scene{cover(st, sheets, starts, total)}
	w, h := st.Paper.size()
	for _, s := range all {
		for k, p := range s.pages {
			name := s.name
			if k > 0 {
				name += ", continued"
			}
			titleBlock(p.scene, st, w, h, name, p.scale, len(out)+1, total)
			p.scene.Title = name
			out = append(out, p.scene)
		}
	}
	return out
}

// Single returns the pages of one sheet, as its own drawing.
func Single(st Stamp, number int, s sheet.Sheet) []*draw.Scene {
	w, h := st.Paper.size()
	list := lay(st, number, &s)
	var out []*draw.Scene
	for k, p := range list {
		name := fmt.Sprintf("%d %s", number, s.Title)
		if k > 0 {
			name += ", continued"
		}
		titleBlock(p.scene, st, w, h, name, p.scale, k+1, len(list))
		p.scene.Title = name
		p.scene.Text = strings.TrimSpace(s.Lead + " " + p.scene.Text)
		out = append(out, p.scene)
	}
	return out
}

// lay puts a sheet on pages: figures on the first, tables and lists after them, the margin beside.
func lay(st Stamp, number int, s *sheet.Sheet) []laid {
	w, h := st.Paper.size()
	side := marginBlocks(s, margin-2*inside-1.5)
	withMargin := len(side) > 0
	field := w - 2*edge
	if withMargin {
		field -= margin
	}
	columns := max(1, s.Columns)
	const gutter = 6.0
	cw := (field - 2*inside - gutter*float64(columns-1)) / float64(columns)
	var body []block
	for _, t := range s.Tables {
		if len(t.Rows) > 0 {
			body = append(body, tableBlocks(t, cw)...)
		}
	}
	for _, l := range s.Lists {
		body = append(body, listBlocks(l, cw)...)
	}
	var out []laid
	for first := true; first || len(body) > 0 || len(side) > 0; first = false {
		p := laid{scene: draw.New(s.Title, w, h)}
		full := field
		show := withMargin && (first || len(side) > 0)
		if !show {
			full = w - 2*edge
		}
		frame(p.scene, w, h, show)
		y := edge + inside
		p.scene.Layer("title")
		title := fmt.Sprintf("%d  %s", number, s.Title)
		if !first {
			title += ", continued"
		}
		p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: y + 4.2}, Text: title, Size: 5, Face: draw.Bold})
		y += 6.4
		if first {
			for _, l := range draw.Wrap(draw.Regular, 3.1, field-2*inside, s.Lead) {
				p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: y + 3.1}, Text: l, Size: 3.1})
				y += 4.1
			}
			y = max(y+1.5, edge+head)
		} else {
			y += 3
		}
		bottom := h - edge - foot - inside
		if first {
			y = figures(&p, s, edge+inside, y, field-2*inside, bottom, len(body) > 0)
		}
		// Columns keep their width on every page, so that blocks set once fit everywhere.
		var cols []column
		for c := 0; ; c++ {
			x := edge + inside + (cw+gutter)*float64(c)
			if x+cw > edge+full-inside+0.1 {
				break
			}
			cols = append(cols, column{x, y, cw, bottom - y})
		}
		p.scene.Layer("text")
		if bottom-y > 14 {
			body = flow(p.scene, cols, body)
		}
		if show {
			p.scene.Layer("margin")
			side = flow(p.scene, []column{{w - edge - margin + inside + 1.5, edge + inside, margin - 2*inside - 1.5, h - 2*edge - foot - 2*inside}}, side)
		}
		out = append(out, p)
	}
	return out
}

// figures draws a sheet's figures one under the other and returns where they end. Their shares are of the
// whole field; without anything under them they take all of it.
func figures(p *laid, s *sheet.Sheet, x, y, w, bottom float64, more bool) float64 {
	if len(s.Figures) == 0 {
		return y
	}
	sum := 0.0
	for _, f := range s.Figures {
		sum += f.Share
	}
	whole := bottom - y
	if !more {
		sum = min(sum, 1)
	}
	scales := map[string]bool{}
	for _, f := range s.Figures {
		share := f.Share
		if !more && sum > 0 {
			share = f.Share / sum
		}
		if sum > 1 {
			share /= sum
		}
		high := whole*share - 5
		p.scene.Layer("figure")
		p.scene.Write(draw.Text{At: draw.Point{X: x, Y: y + 3}, Text: f.Title, Size: 3.1, Face: draw.Bold})
		fig := f.Draw(w, high)
		p.scene.Place(fig, draw.Point{X: x, Y: y + 5})
		p.scene.Text += " " + f.Title + ". " + fig.Text
		if fig.Scale != "" {
			if p.scale != "" && !scales[fig.Scale] {
				p.scale += "; " + fig.Scale
			} else if p.scale == "" {
				p.scale = fig.Scale
			}
			scales[fig.Scale] = true
		}
		y += whole * share
	}
	return y + 1
}

// cover is the first page: what it is for, the sheets, and how to read them.
func cover(st Stamp, sheets []sheet.Sheet, starts []int, total int) *draw.Scene {
	w, h := st.Paper.size()
	s := draw.New(st.Build, w, h)
	frame(s, w, h, true)
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
		y += min(6, (h-edge-foot-10-y)/float64(max(1, len(sheets)-i)))
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
		for _, v := range sheets[i].Verdicts {
			if v.Heavy {
				n++
				side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.2, fmt.Sprintf("Sheet %d, mark %d: %s. %s.", i+1, v.Mark, v.Title, v.Figure))...)
			}
		}
	}
	if n == 0 {
		side = append(side, lines(draw.Text{Size: 2.8}, width, 3.7, 1.2, "No rule that was applied fails. Those that are close or unknown stand on their sheets.")...)
	}
	rest := flow(s, []column{{w - edge - margin + inside + 1.5, edge + inside, width, h - 2*edge - foot - 2*inside - 5}}, side)
	if len(rest) > 0 {
		s.Write(draw.Text{At: draw.Point{X: w - edge - margin + inside + 1.5, Y: h - edge - foot - inside}, Text: "and more, on their sheets", Size: 2.6, Ink: draw.Fine})
	}
	titleBlock(s, st, w, h, "all sheets", "", 1, total)
	s.Title = st.Build
	return s
}
