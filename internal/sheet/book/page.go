package book

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

// Paper is a size of paper.
type Paper int

const (
	A4 Paper = iota
	Letter
)

// size returns width and height of a page on its long side, in millimetres.
func (p Paper) size() (width, height float64) {
	if p == Letter {
		return 279.4, 215.9
	}
	return 297, 210
}

// Stamp is what every title block says.
type Stamp struct {
	Build    string
	Revision string    // a mark made from the file's text
	Made     time.Time // in the reader's zone
	Program  string    // its version
	Paper    Paper
}

// The frame of a page, in millimetres.
const (
	edge   = 9.0  // paper beyond the frame
	margin = 66.0 // column at the right for what is said beside a drawing
	foot   = 13.0 // title block
	head   = 15.0 // title and lead
	inside = 3.5  // between frame and print
)

// block is a piece of a column.
type block struct {
	high float64
	draw func(s *draw.Scene, x, y float64)
	head *block // repeated at the top of the next column when the block begins it
	keep bool   // stays with the next block

	column bool // begins a column
}

// laid is a page being filled.
type laid struct {
	scene *draw.Scene
	name  string
	scale string
	low   float64 // where its print ends, when the whole width under it is free; 0: nothing goes under it
}

// column is where blocks go.
type column struct{ x, y, w, h float64 }

// stub is the height under which a column takes nothing that does not stay together in it.
const stub = 60.0

// flow puts blocks into columns and returns those that found no place, and the lowest place used. Without a
// scene it only measures.
func flow(s *draw.Scene, columns []column, blocks []block) (rest []block, low float64) {
	for _, c := range columns {
		y := c.y
		low = max(low, y)
		for n := 0; len(blocks) > 0; n++ {
			b := blocks[0]
			need := b.high
			if n == 0 && b.head != nil {
				need += b.head.high
			}
			for k := 0; k+1 < len(blocks) && blocks[k].keep; k++ {
				need += blocks[k+1].high
			}
			if full := y+need > c.y+c.h+0.01; n > 0 && (b.column || full) || full && c.h < stub {
				break
			}
			if n == 0 && b.head != nil {
				if s != nil {
					b.head.draw(s, c.x, y)
				}
				y += b.head.high
			}
			if s != nil {
				b.draw(s, c.x, y)
			}
			y += b.high
			low = max(low, y)
			blocks = blocks[1:]
		}
	}
	return blocks, low
}

// needed returns the height columns must have to take all blocks, at most the given one; false when that
// is not enough.
func needed(columns []column, blocks []block, most float64) (float64, bool) {
	for h := 8.0; h <= most; h += 3 {
		list := make([]column, len(columns))
		for i, c := range columns {
			c.h = h
			list[i] = c
		}
		if rest, low := flow(nil, list, blocks); len(rest) == 0 {
			return min(most, max(h, low-columns[0].y)), true
		}
	}
	return most, len(blocks) == 0
}

// lines returns blocks for a text, one a line.
func lines(t draw.Text, width, leading, after float64, text string) []block {
	if t.Size <= 0 {
		t.Size = 2.8
	}
	var out []block
	list := draw.Wrap(t.Face, t.Size, width, text)
	for i, l := range list {
		b := block{high: leading, keep: i < len(list)-1 && len(list) < 7, draw: func(s *draw.Scene, x, y float64) {
			u := t
			u.At, u.Text = draw.Point{X: x + t.At.X, Y: y + t.At.Y + t.Size}, l
			s.Write(u)
		}}
		if i == len(list)-1 {
			b.high += after
		}
		out = append(out, b)
	}
	return out
}

// heading returns the block of a title, which stays with what follows.
func heading(text string, width float64) []block {
	out := lines(draw.Text{Size: 3.1, Face: draw.Bold}, width, 4.2, 0.6, text)
	for i := range out {
		out[i].keep = true
	}
	return out
}

// listBlocks sets a list: to tick, or as plain paragraphs.
func listBlocks(l sheet.List, width float64) []block {
	small := width < 70 && !l.Tick
	out := heading(l.Title, width)
	if l.Why != "" {
		why := lines(draw.Text{Size: 2.7, Ink: draw.Fine}, width, 3.5, 1, l.Why)
		for i := range why {
			why[i].keep = true
		}
		out = append(out, why...)
	}
	for _, text := range l.Lines {
		indent := 0.0
		if l.Tick {
			indent = 5
		}
		size, after := 2.8, 1.3
		if small {
			size, after = 2.5, 0.9
		}
		switch {
		case l.Tick && width > 70:
			size = 3.4
		case l.Tick:
			after = 0.8
		}
		b := lines(draw.Text{At: draw.Point{X: indent}, Size: size}, width-indent, size+0.8, after, text)
		if l.Tick && len(b) > 0 {
			first := b[0].draw
			b[0].draw = func(s *draw.Scene, x, y float64) {
				s.Rect(draw.Style{Stroke: draw.Line, Width: 0.25, Fill: draw.White}, draw.Point{X: x + 0.2, Y: y + 0.3}, 2.8, 2.8)
				first(s, x, y)
			}
		}
		out = append(out, b...)
	}
	if len(out) > 0 {
		out[len(out)-1].high += 1.8
	}
	return out
}

// small is how many rows stay together in one column.
const small = 5

// tableBlocks sets a table: columns as wide as they need, the widest wrapped until all fit.
func tableBlocks(t sheet.Table, width float64) []block {
	size, gap, leading := 2.7, 3.0, 3.5
	if t.Fine {
		size, leading = 2.4, 3.0
	}
	n := len(t.Head)
	room := width
	bar := 30.0
	if t.Shares != nil {
		room -= bar + gap
	}
	wide := make([]float64, n)
	right := make([]bool, n)
	for _, r := range t.Right {
		right[r] = true
	}
	face := func(c int) draw.Face {
		if right[c] {
			return draw.Mono
		}
		return draw.Regular
	}
	for c, h := range t.Head {
		wide[c] = draw.Width(draw.Bold, size, h)
		for _, r := range t.Rows {
			wide[c] = max(wide[c], draw.Width(face(c), size, r[c]))
		}
	}
	sum := func() float64 {
		w := gap * float64(n-1)
		for _, v := range wide {
			w += v
		}
		return w
	}
	if over := sum() - room; t.Shares != nil && over > 0 { // words before bars
		less := min(over, bar-14)
		bar, room = bar-less, room+less
	}
	if t.Fine && sum() > room {
		least := make([]float64, n) // the longest word
		for c, h := range t.Head {
			least[c] = draw.Width(draw.Bold, size, h)
			for _, r := range t.Rows {
				if right[c] { // figures and their units stay together
					least[c] = max(least[c], min(20, draw.Width(face(c), size, r[c])))
				}
				for word := range strings.FieldsSeq(r[c]) {
					least[c] = max(least[c], draw.Width(face(c), size, word))
				}
			}
		}
		wide = shared(t, wide, least, sum()-room, func(c int, width float64, text string) int { return len(draw.Wrap(face(c), size, width+0.05, text)) })
	}
	for over := sum() - room; over > 0.01; over = sum() - room {
		widest, next := 0, 0.0
		for c := range wide {
			if wide[c] > wide[widest] {
				widest = c
			}
		}
		for c := range wide {
			if c != widest {
				next = max(next, wide[c])
			}
		}
		cut := min(over, max(0.5, wide[widest]-next))
		if wide[widest]-cut < 8 {
			break
		}
		wide[widest] -= cut
	}
	place := func(row []string, f func(c int) draw.Face, share float64, bars bool) block {
		var cells [][]string
		most := 1
		for c := range n {
			l := draw.Wrap(f(c), size, wide[c]+0.05, row[c])
			cells = append(cells, l)
			most = max(most, len(l))
		}
		return block{high: leading*float64(most) + 0.7, draw: func(s *draw.Scene, x, y float64) {
			at := x
			for c := range n {
				for k, l := range cells[c] {
					w := draw.Text{At: draw.Point{X: at, Y: y + size + leading*float64(k)}, Text: l, Size: size, Face: f(c)}
					if right[c] {
						w.At.X, w.Anchor = at+wide[c], draw.End
					}
					s.Write(w)
				}
				at += wide[c] + gap
			}
			if bars {
				s.Rect(draw.Style{Stroke: draw.Line, Width: 0.2, Fill: draw.SunPale}, draw.Point{X: at, Y: y + 0.5}, math.Max(0.2, bar*min(1, math.Abs(share))), 2.2)
			}
			s.Path(draw.Style{Stroke: draw.Faint, Width: 0.1}, draw.Point{X: x, Y: y + leading*float64(most) + 0.4}, draw.Point{X: x + width, Y: y + leading*float64(most) + 0.4})
		}}
	}
	bold := func(int) draw.Face { return draw.Bold }
	top := place(t.Head, bold, 0, false)
	top.keep = true
	out := heading(t.Title, width)
	if strings.Join(t.Head, "") != "" {
		out = append(out, top)
	}
	for i, r := range t.Rows {
		share := 0.0
		if t.Shares != nil {
			share = t.Shares[i]
		}
		b := place(r, face, share, t.Shares != nil)
		b.keep = len(t.Rows) <= small && i < len(t.Rows)-1 || i == len(t.Rows)-2 // the last row never stands alone
		b.head = &top
		if i == 0 || strings.Join(t.Head, "") == "" {
			b.head = nil
		}
		out = append(out, b)
	}
	out[len(out)-1].high += 2.2
	return out
}

// shared takes from columns what they are too wide together, a millimetre at a time and each time where it
// makes the fewest lines, from the widest among equals; none gets under its least.
func shared(t sheet.Table, wide, least []float64, over float64, lines func(c int, width float64, text string) int) []float64 {
	wide = slices.Clone(wide)
	rows := func(c int, width float64) []int {
		out := make([]int, len(t.Rows))
		for i, r := range t.Rows {
			out[i] = lines(c, width, r[c])
		}
		return out
	}
	now := make([][]int, len(wide))
	next := make([][]int, len(wide))
	for c := range wide {
		now[c], next[c] = rows(c, wide[c]), rows(c, wide[c]-1)
	}
	for ; over > 0.01; over-- {
		best, cost := -1, 0
		for c := range wide {
			if wide[c]-1 < least[c] {
				continue
			}
			sum := 0
			for i := range t.Rows {
				most := next[c][i]
				for k := range wide {
					if k != c {
						most = max(most, now[k][i])
					}
				}
				sum += most
			}
			if best < 0 || sum < cost || sum == cost && wide[c] > wide[best] {
				best, cost = c, sum
			}
		}
		if best < 0 {
			break
		}
		wide[best]--
		now[best], next[best] = next[best], rows(best, wide[best]-1)
	}
	return wide
}

// marginBlocks sets what stands beside a drawing: values, verdicts with what fails first, cautions, notes.
func marginBlocks(s *sheet.Sheet, width float64) []block {
	var out []block
	for _, v := range s.Values {
		room := width - draw.Width(draw.Mono, 2.8, v.Text) - 2
		if room < draw.Width(draw.Regular, 2.7, v.Name) { // on two lines
			out = append(out, lines(draw.Text{Size: 2.7, Ink: draw.Fine}, width, 3.6, 0, v.Name)...)
			for i := range out {
				out[i].keep = out[i].keep || i == len(out)-1
			}
			out = append(out, block{high: 4.2, draw: func(sc *draw.Scene, x, y float64) {
				sc.Write(draw.Text{At: draw.Point{X: x + width, Y: y + 2.8}, Text: v.Text, Size: 2.8, Face: draw.Mono, Anchor: draw.End})
			}})
			continue
		}
		out = append(out, block{high: 4.2, draw: func(sc *draw.Scene, x, y float64) {
			sc.Write(draw.Text{At: draw.Point{X: x, Y: y + 2.8}, Text: v.Name, Size: 2.7, Ink: draw.Fine})
			sc.Write(draw.Text{At: draw.Point{X: x + width, Y: y + 2.8}, Text: v.Text, Size: 2.8, Face: draw.Mono, Anchor: draw.End})
		}})
	}
	if len(out) > 0 {
		out[len(out)-1].high += 2.5
	}
	for _, v := range sheet.Beside(s.Verdicts) {
		out = append(out, verdictBlocks(v, width)...)
	}
	for i, c := range s.Cautions {
		title, text, _ := strings.Cut(c, ". ")
		b := lines(draw.Text{At: draw.Point{X: 3}, Size: 2.6, Face: draw.Bold}, width-3, 3.4, 0, title+".")
		b = append(b, lines(draw.Text{At: draw.Point{X: 3}, Size: 2.6}, width-3, 3.3, 1.5, text)...)
		for k := range b {
			inner := b[k].draw
			b[k].keep = k < len(b)-1
			b[k].draw = func(sc *draw.Scene, x, y float64) {
				sc.Path(draw.Style{Stroke: draw.Line, Width: 0.5}, draw.Point{X: x + 0.8, Y: y}, draw.Point{X: x + 0.8, Y: y + 3.4})
				inner(sc, x, y)
			}
		}
		if i == 0 {
			b = append(heading("Cautions", width), b...)
		}
		out = append(out, b...)
	}
	for i, n := range s.Notes {
		if i == 0 {
			out = append(out, heading("Notes", width)...)
		}
		out = append(out, lines(draw.Text{Size: 2.6, Ink: draw.Fine}, width, 3.3, 1.3, n)...)
	}
	return out
}

// verdictBlocks sets one verdict: number, figure first, reason, source; a heavy bar where it fails.
func verdictBlocks(v sheet.Verdict, width float64) []block {
	const in = 7.0
	first := lines(draw.Text{At: draw.Point{X: in}, Size: 2.8, Face: draw.Bold}, width-in, 3.6, 0, v.Title)
	word := v.Word
	if v.Figure != "" {
		word = v.Figure + ": " + v.Word
	}
	first = append(first, lines(draw.Text{At: draw.Point{X: in}, Size: 2.8}, width-in, 3.6, 0.3, word)...)
	first = append(first, lines(draw.Text{At: draw.Point{X: in}, Size: 2.6}, width-in, 3.3, 0.3, v.Reason)...)
	first = append(first, lines(draw.Text{At: draw.Point{X: in}, Size: 2.4, Ink: draw.Fine}, width-in, 3.1, 0, v.Source)...)
	for i := range first {
		inner, high := first[i].draw, first[i].high
		first[i].keep = i < len(first)-1
		first[i].draw = func(s *draw.Scene, x, y float64) {
			if v.Heavy {
				s.Rect(draw.Style{Fill: draw.Line}, draw.Point{X: x - 2.6, Y: y}, 1.3, high)
			}
			if i == 0 && v.Mark > 0 {
				s.Mark(v.Mark, draw.Point{X: x + 2.4, Y: y + 2})
			}
			inner(s, x, y)
		}
	}
	first[len(first)-1].keep = false
	first[len(first)-1].high += 2.6
	return first
}

// frame draws the ground of the margin, when wanted, between two heights, and on a page's first sheet the frame
// and the foot.
func frame(s *draw.Scene, top, bottom, w, h float64, withMargin bool) {
	s.Layer("frame")
	if withMargin {
		s.Rect(draw.Style{Fill: draw.Paper}, draw.Point{X: w - edge - margin, Y: top}, margin, bottom-top)
		s.Path(draw.Style{Stroke: draw.Line, Width: 0.2}, draw.Point{X: w - edge - margin, Y: top}, draw.Point{X: w - edge - margin, Y: bottom})
	}
	if top > edge {
		return
	}
	s.Rect(draw.Style{Fill: draw.Paper}, draw.Point{X: edge, Y: h - edge - foot}, w-2*edge, foot)
	s.Rect(draw.Style{Stroke: draw.Line, Width: 0.45}, draw.Point{X: edge, Y: edge}, w-2*edge, h-2*edge)
	s.Path(draw.Style{Stroke: draw.Line, Width: 0.45}, draw.Point{X: edge, Y: h - edge - foot}, draw.Point{X: w - edge, Y: h - edge - foot})
}

// titleBlock fills the foot of a page.
func titleBlock(s *draw.Scene, st Stamp, w, h float64, name, scale string, page, pages int) {
	s.Layer("title block")
	if scale == "" {
		scale = "none"
	}
	cells := []struct {
		share     float64
		name, say string
	}{
		{0.27, "build", st.Build}, {0.22, "sheet", name}, {0.09, "scale", scale}, {0.20, "revision, date", st.Revision + ", " + st.Made.Format("2 Jan 2006")},
		{0.15, "checked against", "rules named; no licence"}, {0.07, "page", fmt.Sprintf("%d of %d", page, pages)},
	}
	x := edge
	for i, c := range cells {
		cw := (w - 2*edge) * c.share
		if i > 0 {
			s.Path(draw.Style{Stroke: draw.Faint, Width: 0.2}, draw.Point{X: x, Y: h - edge - foot + 0.6}, draw.Point{X: x, Y: h - edge - 0.6})
		}
		s.Write(draw.Text{At: draw.Point{X: x + 2.5, Y: h - edge - foot + 4}, Text: c.name, Size: 2.4, Ink: draw.Fine})
		size := 3.4
		for size > 2.2 && draw.Width(draw.Regular, size, c.say) > cw-4 {
			size -= 0.1
		}
		say := c.say
		if l := draw.Wrap(draw.Regular, size, cw-4, say); len(l) > 1 {
			say = l[0] + " …"
		}
		s.Write(draw.Text{At: draw.Point{X: x + 2.5, Y: h - edge - foot + 9.4}, Text: say, Size: size})
		x += cw
	}
}
