package book

import (
	"fmt"
	"io"
	"slices"
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

// Sheets returns what a book holds: every sheet of the job, the papers to ask about and the cards to cut out.
func Sheets(j sheet.Job) []sheet.Sheet {
	all := sheet.All(j)
	for i := range all {
		if all[i].Key == "battery" { // its tables say what its drawings do, and a page is saved
			all[i] = all[i].InWords()
		}
	}
	return append(all, Papers(), Cards(looseEdge(j.Findings)))
}

// Pages returns the pages of a book as scenes.
func Pages(st Stamp, sheets []sheet.Sheet) []*draw.Scene {
	var all []laid
	starts := make([]int, len(sheets))
	for i := range sheets {
		starts[i] = len(all) + 2
		if runsOn(st, &sheets[i], all) {
			starts[i]--
		}
		all = layOn(st, i+1, &sheets[i], all)
	}
	total := len(all) + 1
	out := []*draw.Scene{cover(st, sheets, starts, total)}
	for i := range all {
		out = append(out, all[i].finish(st, i+2, total))
	}
	return out
}

// finish puts the title block on a page.
func (p *laid) finish(st Stamp, page, pages int) *draw.Scene {
	w, h := st.Paper.size()
	titleBlock(p.scene, st, w, h, p.name, p.scale, page, pages)
	p.scene.Title = p.name
	return p.scene
}

// Single returns the pages of one sheet, as its own drawing.
func Single(st Stamp, number int, s sheet.Sheet) []*draw.Scene {
	list := layOn(st, number, &s, nil)
	var out []*draw.Scene
	for k := range list {
		p := list[k].finish(st, k+1, len(list))
		p.Text = strings.TrimSpace(s.Lead + " " + p.Text)
		out = append(out, p)
	}
	return out
}

// words reports whether a sheet is of tables and lists alone: it begins where the sheet before it ends.
func words(s *sheet.Sheet) bool {
	return len(s.Figures) == 0 && !cards(s) && len(s.Values)+len(s.Cautions)+len(s.Notes)+len(sheet.Beside(s.Verdicts)) == 0
}

// cards reports whether a sheet is of lists to cut apart, each in its column.
func cards(s *sheet.Sheet) bool {
	return s.Columns > 1 && s.Columns == len(s.Lists) && len(s.Tables) == 0
}

// The room under a sheet, as a share of a page, at which another begins on the same page: one of words, and one
// with figures.
const leastWords, leastFigures = 0.22, 0.5

// runsOn reports whether the last page has room for the beginning of a sheet.
func runsOn(st Stamp, s *sheet.Sheet, pages []laid) bool {
	if len(pages) == 0 || pages[len(pages)-1].low == 0 || cards(s) {
		return false
	}
	_, h := st.Paper.size()
	room := h - edge - foot - inside - pages[len(pages)-1].low
	if words(s) {
		return room > leastWords*(h-2*edge-foot)
	}
	groups := grouped(s.Figures)
	return room > leastFigures*(h-2*edge-foot) && len(groups) == 1 && room > head+leastOf(groups[0])+leastUnder
}

// leastUnder is the room that a sheet's words have under its figures where it begins under another.
const leastUnder = 24.0

// leastOf returns the height that figures one under the other ask for.
func leastOf(list []sheet.Figure) float64 {
	sum := 0.0
	for _, f := range list {
		least := f.Least
		if least <= 0 {
			least = 28
		}
		sum += least + 5
	}
	return sum
}

// layOn puts a sheet on the room the last page has, when it is enough, and on more pages.
func layOn(st Stamp, number int, s *sheet.Sheet, pages []laid) []laid {
	if words(s) {
		return layWords(st, number, s, pages)
	}
	if !runsOn(st, s, pages) {
		s = tight(s, func(s *sheet.Sheet) []laid { return lay(st, number, s, nil) })
		return append(pages, lay(st, number, s, nil)...)
	}
	last := len(pages) - 1
	w, h := st.Paper.size()
	s = tight(s, func(s *sheet.Sheet) []laid {
		return lay(st, number, s, &laid{scene: draw.New("", w, h), low: pages[last].low})
	})
	return append(pages[:last], lay(st, number, s, &pages[last])...)
}

// tight returns a sheet whose figures give way, no further than their least heights, where that saves a last
// page that would hold next to nothing; the sheet as it is where it does not. Try lays it out on the side.
func tight(s *sheet.Sheet, try func(*sheet.Sheet) []laid) *sheet.Sheet {
	const little = 0.4 // of a page
	out := try(s)
	last := out[len(out)-1]
	if len(out) < 2 || last.low == 0 || last.low > edge+little*(last.scene.High-2*edge-foot) {
		return s
	}
	for _, smaller := range []float64{0.8, 0.62, 0.45} {
		less := *s
		less.Figures = slices.Clone(s.Figures)
		for i := range less.Figures {
			less.Figures[i].Share *= smaller
		}
		if len(try(&less)) < len(out) {
			return &less
		}
	}
	return s
}

// divide draws the line between a sheet and the one under it, and returns where the second begins.
func (p *laid) divide(st Stamp, name string) float64 {
	w, _ := st.Paper.size()
	y := p.low + 4
	p.scene.Layer("title")
	p.scene.Path(draw.Style{Stroke: draw.Line, Width: 0.3}, draw.Point{X: edge, Y: y - 2}, draw.Point{X: w - edge, Y: y - 2})
	p.name += "; " + name
	p.low = 0
	return y - 2
}

// layWords puts a sheet of words on the room the last page has, and on more pages.
func layWords(st Stamp, number int, s *sheet.Sheet, pages []laid) []laid {
	w, h := st.Paper.size()
	bottom := h - edge - foot - inside
	cw := columnWidth(w-2*edge, s.Columns)
	body := bodyBlocks(s, cw)
	lead := draw.Wrap(draw.Regular, 3.1, w-2*edge-2*inside, s.Lead)
	for n := 0; n == 0 || len(body) > 0; n++ {
		y := edge + inside
		title := fmt.Sprintf("%d  %s", number, s.Title)
		if n > 0 {
			title += ", continued"
		}
		if n == 0 && runsOn(st, s, pages) {
			y = pages[len(pages)-1].divide(st, fmt.Sprintf("%d %s", number, s.Title)) + inside
		} else {
			p := laid{scene: draw.New(s.Title, w, h), name: strings.ReplaceAll(title, "  ", " ")}
			frame(p.scene, edge, h-edge-foot, w, h, false)
			pages = append(pages, p)
		}
		p := &pages[len(pages)-1]
		p.scene.Layer("title")
		p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: y + 4.2}, Text: title, Size: 5, Face: draw.Bold})
		y += 6.4
		if n == 0 {
			for _, l := range lead {
				p.scene.Write(draw.Text{At: draw.Point{X: edge + inside, Y: y + 3.1}, Text: l, Size: 3.1})
				y += 4.1
			}
		}
		y += 2
		p.scene.Layer("text")
		cols := columnsIn(w-2*edge, y, bottom, cw)
		if balanced, ok := needed(cols, body, bottom-y); ok {
			for i := range cols {
				cols[i].h = balanced
			}
		}
		body, p.low = flow(p.scene, cols, body)
	}
	return pages
}
