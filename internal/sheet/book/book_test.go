package book

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
	"noonmark/internal/sheet/sheet"
)

var stamp = Stamp{Build: "test van", Revision: "0123abcd", Made: time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), Program: "0"}

// long is a sheet with more of everything than a page holds.
func long() sheet.Sheet {
	s := sheet.Sheet{Key: "long", Title: "Long", Lead: strings.Repeat("a lead of many words ", 20), Columns: 2}
	for range 30 {
		s.Values = append(s.Values, sheet.Value{Name: "a value with a long name that wraps", Text: "12 345 Wh and more"})
		s.Verdicts = append(s.Verdicts, sheet.Verdict{Word: "fails", Heavy: true, Title: "cold voltage, string lid", Figure: "64.1 V, limit 60 V", Reason: strings.Repeat("because of this ", 8), Source: "NEC 690.7(A)", Mark: 1})
		s.Cautions = append(s.Cautions, "Live in light. "+strings.Repeat("cover it ", 12))
	}
	t := sheet.Table{Title: "Rows", Head: []string{"name", "number", "words"}, Right: []int{1}, Shares: []float64{}}
	for i := range 90 {
		t.Rows = append(t.Rows, []string{strings.Repeat("n", 1+i%40), "12.5 m", strings.Repeat("word ", i%30)})
		t.Shares = append(t.Shares, float64(i)/90)
	}
	s.Tables = []sheet.Table{t}
	s.Figures = []sheet.Figure{{Title: "A drawing", Share: 0.5, Draw: func(w, h float64) *draw.Scene {
		d := draw.New("A drawing", w, h)
		d.Scale = "1 : 15"
		d.Write(draw.Text{At: draw.Point{X: 5, Y: 5}, Text: "here"})
		return d
	}}}
	return s
}

// Nothing is lost, nothing leaves the page, nothing lies over anything else, on both papers.
func TestPagesHoldEverything(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		st := stamp
		st.Paper = paper
		s := long()
		sheets := []sheet.Sheet{s, Cards("limit"), Papers()}
		pages := Pages(st, sheets)
		var all strings.Builder
		for n, p := range pages {
			w, h := paper.size()
			if p.Width != w || p.High != h {
				t.Errorf("page %d is %g by %g", n+1, p.Width, p.High)
			}
			if out := p.Outside(); len(out) > 0 {
				t.Errorf("page %d: beyond the edge: %q", n+1, out)
			}
			if c := p.Clashes(); len(c) > 0 {
				t.Errorf("page %d: over each other: %q", n+1, c)
			}
			if m := p.Missing(); len(m) > 0 {
				t.Errorf("page %d: the type has no %q", n+1, m)
			}
			words := strings.Join(p.Words(), " ")
			all.WriteString(words + " ")
			for _, want := range []string{"test van", "0123abcd, 1 Mar 2027", "checked against", "scale"} {
				if !strings.Contains(words, want) {
					t.Errorf("page %d has no %q", n+1, want)
				}
			}
		}
		text := all.String()
		if got := strings.Count(text, "cold voltage, string lid"); got < 30 {
			t.Errorf("%d verdicts printed, of 30 (and the cover's)", got)
		}
		if got := strings.Count(text, "12.5 m"); got != 90 {
			t.Errorf("%d rows printed, of 90", got)
		}
		if got := strings.Count(text, "Live in light."); got != 30 {
			t.Errorf("%d cautions printed, of 30", got)
		}
		flat := strings.Join(strings.Fields(text), " ")
		for _, s := range sheets[1:] {
			for _, l := range s.Lists {
				if !strings.Contains(flat, l.Title) {
					t.Errorf("no %s", l.Title)
				}
			}
		}
	}
}

// Equal input gives equal bytes.
func TestBookRepeats(t *testing.T) {
	var a, b bytes.Buffer
	if err := Write(&a, stamp, []sheet.Sheet{long()}); err != nil {
		t.Fatal(err)
	}
	if err := Write(&b, stamp, []sheet.Sheet{long()}); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("two books of the same differ")
	}
}

// roof is a build of two modules for the template.
func roof() *build.Build {
	return &build.Build{
		Surfaces: []build.Surface{{Name: "lid"}},
		Types:    []build.ModuleType{{Name: "foil", Length: 1.7 * quantity.Metre, Width: 0.35 * quantity.Metre, Cells: build.CellGrid{Rows: 2, Columns: 21, Margin: 12 * quantity.Millimetre}}},
		Modules:  []build.Module{{Name: "A", Attachment: build.Bonded}, {Name: "B", Y: 0.358 * quantity.Metre, Attachment: build.StandOff}},
	}
}

// Put together, the tiles carry every line of the template once and in its own length.
func TestTilesJoin(t *testing.T) {
	for _, paper := range []Paper{A4, Letter} {
		p, err := patternOf(roof(), Cut{})
		if err != nil {
			t.Fatal(err)
		}
		grid := tilingFor(paper, p.width, p.height)
		pw, ph := paper.size()
		if grid.x < 8 || grid.y < 8 || grid.x+grid.w > pw-8 || grid.y+grid.h > ph-8 {
			t.Errorf("a tile of %g by %g does not keep clear of the paper's edge", grid.w, grid.h)
		}
		if float64(grid.cols)*grid.w < p.width || float64(grid.rows)*grid.h < p.height {
			t.Errorf("%d by %d tiles do not cover %g by %g mm", grid.cols, grid.rows, p.width, p.height)
		}
		for _, l := range p.strokes {
			want, got := math.Hypot(l.b.X-l.a.X, l.b.Y-l.a.Y), 0.0
			for r := range grid.rows {
				for k := range grid.cols {
					if a, b, ok := cut(l, grid.w*float64(k), grid.h*float64(r), grid.w*float64(k+1), grid.h*float64(r+1)); ok {
						got += math.Hypot(b.X-a.X, b.Y-a.Y)
					}
				}
			}
			// A line on the very join of two tiles is on both.
			if math.Abs(got-want) > 1e-6 && math.Abs(got-2*want) > 1e-6 {
				t.Errorf("a line of %g mm has %g mm on the tiles", want, got)
			}
		}
	}
}

// A template has its map, the bar of 100 mm, the crosses and the mask; a module that is not there is an error.
func TestTemplate(t *testing.T) {
	pages, err := TemplatePages(stamp, roof(), Cut{Module: "A"})
	if err != nil {
		t.Fatal(err)
	}
	for n, p := range pages {
		words := strings.Join(p.Words(), "|")
		if !strings.Contains(words, "100 mm") {
			t.Errorf("page %d has no scale bar", n+1)
		}
		if out := p.Outside(); len(out) > 0 {
			t.Errorf("page %d: beyond the edge: %q", n+1, out)
		}
		if c := p.Clashes(); len(c) > 0 {
			t.Errorf("page %d: over each other: %q", n+1, c)
		}
		if n > 0 && !strings.Contains(words, "joins") {
			t.Errorf("page %d does not say what it joins", n+1)
		}
	}
	var b bytes.Buffer
	if err := Template(&b, stamp, roof(), Cut{Mirror: true}); err != nil || !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) {
		t.Error(err)
	}
	if _, err := TemplatePages(stamp, roof(), Cut{Module: "Z"}); err != ErrNothing {
		t.Errorf("got %v", err)
	}
	// Mirrored lines are the same ones seen from below.
	p, _ := patternOf(roof(), Cut{})
	q, _ := patternOf(roof(), Cut{Mirror: true})
	for i := range p.strokes {
		if math.Abs(p.strokes[i].a.X+q.strokes[i].a.X-p.width) > 1e-9 || p.strokes[i].a.Y != q.strokes[i].a.Y {
			t.Fatalf("line %d is not mirrored", i)
		}
	}
}

func TestTileNames(t *testing.T) {
	for k, want := range map[int]string{0: "A1", 25: "Z1", 26: "AA1", 51: "AZ1", 52: "BA1"} {
		if got := tileName(k, 0); got != want {
			t.Errorf("column %d: %s, want %s", k, got, want)
		}
	}
}
