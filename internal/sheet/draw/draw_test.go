package draw

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os/exec"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
)

// everything draws one of each.
func everything() *Scene {
	s := New(`a "title" & <more>`, 200, 120)
	s.Text = "what it shows"
	s.Layer("lines")
	s.Path(Thin, Point{10, 10}, Point{50, 10})
	s.Polygon(Style{Stroke: Line, Fill: White}, Point{10, 20}, Point{40, 20}, Point{40, 40})
	s.Rect(Thick, Point{60, 20}, 20, 10)
	s.Circle(Style{Fill: Sun}, Point{100, 30}, 5)
	s.Arc(Thin, Point{100, 30}, 9, 0, 90)
	s.Hatch(Thin, 45, 2, Point{120, 20}, Point{150, 20}, Point{150, 40}, Point{120, 40})
	s.Layer("words & marks")
	s.Dim(Dimension{From: Point{10, 60}, To: Point{90, 60}, Off: 6, Figure: "1700"})
	s.Dim(Dimension{From: Point{170, 20}, To: Point{170, 60}, Off: -6, Figure: "350"})
	s.Arrow(Thick, Point{10, 80}, Point{40, 80})
	s.Mark(3, Point{60, 80})
	s.Write(Text{At: Point{10, 100}, Text: `Ω ² ° − → ≤ µ "é" <b> & c`, Face: Bold})
	s.Write(Text{At: Point{120, 100}, Text: "turned", Turn: 90, Face: Mono})
	return s
}

// The SVG is well-formed, has title and description for a screen reader, and says every word.
func TestSVG(t *testing.T) {
	s := everything()
	d := xml.NewDecoder(bytes.NewReader(s.SVG("roof sheet")))
	inside, text := map[string]string{}, ""
	name := ""
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch v := tok.(type) {
		case xml.StartElement:
			name = v.Name.Local
			if name == "svg" {
				for _, a := range v.Attr {
					if a.Name.Local == "viewBox" && a.Value != "0 0 200 120" {
						t.Errorf("viewBox %s, want millimetres", a.Value)
					}
				}
			}
		case xml.CharData:
			inside[name] += string(v)
			if name == "text" {
				text += string(v)
			}
		}
	}
	if !strings.HasPrefix(inside["title"], s.Title) || !strings.HasPrefix(inside["desc"], s.Text) {
		t.Errorf("title %q, description %q", inside["title"], inside["desc"])
	}
	for _, w := range s.Words() {
		if !strings.Contains(text, w) {
			t.Errorf("%q is not in the SVG", w)
		}
	}
	if got := strings.Join(s.Layers(), ","); got != "lines,words & marks" {
		t.Errorf("layers %s", got)
	}
}

// The PDF has the page's size and every word, and equal scenes give equal bytes.
func TestPDF(t *testing.T) {
	make := func() []byte {
		d := NewDocument(About{Title: "t", Made: time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC)})
		d.Page(everything())
		d.Page(New("second", 279.4, 215.9))
		if d.Pages() != 2 {
			t.Errorf("%d pages", d.Pages())
		}
		var b bytes.Buffer
		if n, err := d.WriteTo(&b); err != nil || n != int64(b.Len()) {
			t.Fatal(n, err)
		}
		return b.Bytes()
	}
	pdf := make()
	if !bytes.Equal(pdf, make()) {
		t.Error("equal scenes give different bytes")
	}
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is missing")
	}
	c := exec.Command("pdftotext", "-layout", "-", "-")
	c.Stdin = bytes.NewReader(pdf)
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range []string{"1700", "350", `Ω ² ° − → ≤ µ "é" <b> & c`, "turned"} {
		if !strings.Contains(string(out), w) {
			t.Errorf("%q is not in the PDF: %s", w, out)
		}
	}
	c = exec.Command("pdfinfo", "-f", "1", "-l", "2", "-")
	c.Stdin = bytes.NewReader(pdf)
	if out, err = c.Output(); err != nil {
		t.Fatal(err)
	}
	// 200 mm and 120 mm in points of 1/72 in; Letter is 11 in by 8.5 in.
	for _, want := range []string{"Pages:           2", "566.93 x 340.16", "792 x 612"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("%s is not in %s", want, out)
		}
	}
}

// Letters the type lacks are told, not lost in silence.
func TestMissing(t *testing.T) {
	s := New("x", 50, 50)
	s.Write(Text{At: Point{5, 20}, Text: "Ω → 漢 ok 漢"})
	if got := string(s.Missing()); got != "漢" {
		t.Errorf("missing %q", got)
	}
	if printable(Regular, "a漢b") != "a?b" {
		t.Error(printable(Regular, "a漢b"))
	}
}

// Hatch lines stay inside a convex outline and lie at their distance.
func TestHatchInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(0, 50).Draw(t, "x"), rapid.Float64Range(0, 50).Draw(t, "y")
		w, h := rapid.Float64Range(1, 60).Draw(t, "w"), rapid.Float64Range(1, 60).Draw(t, "h")
		angle := rapid.Float64Range(-180, 180).Draw(t, "angle")
		s := New("h", 200, 200)
		s.Hatch(Thin, angle, 1.5, Point{x, y}, Point{x + w, y}, Point{x + w, y + h}, Point{x, y + h})
		total := 0.0
		for _, i := range s.items {
			for _, p := range i.points {
				if p.X < x-1e-6 || p.X > x+w+1e-6 || p.Y < y-1e-6 || p.Y > y+h+1e-6 {
					t.Fatalf("%v outside [%g, %g] by [%g, %g]", p, x, x+w, y, y+h)
				}
			}
			total += math.Hypot(i.points[1].X-i.points[0].X, i.points[1].Y-i.points[0].Y)
		}
		// The lines' length times their distance is the area, within one line at each side.
		if most := math.Hypot(w, h) * 1.5 * 1.5; math.Abs(total*1.5-w*h) > most {
			t.Fatalf("lines cover %g mm², the outline %g", total*1.5, w*h)
		}
	})
}

// Wrapped lines fit, and hold every letter in order.
func TestWrap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-zé .,_/0-9-]{0,120}`).Draw(t, "text")
		width := rapid.Float64Range(6, 80).Draw(t, "width")
		lines := Wrap(Regular, 3, width, text)
		for _, l := range lines {
			if w := Width(Regular, 3, l); w > width+1e-9 {
				t.Fatalf("%q is %g wide, want at most %g", l, w, width)
			}
		}
		bare := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if bare(strings.Join(lines, " ")) != bare(text) {
			t.Fatalf("%q became %q", text, lines)
		}
	})
}

// The scale chosen is the largest that fits.
func TestScale(t *testing.T) {
	l, w := 2100*quantity.Millimetre, 1350*quantity.Millimetre
	if got := ScaleFor(l, w, 158, 95); got.String() != "1 : 15" || got.Of(l) != 140 {
		t.Errorf("%s, %g mm", got, got.Of(l))
	}
	if got := ScaleFor(l, w, 139, 95); got.String() != "1 : 20" {
		t.Error(got)
	}
	if got := ScaleFor(1e6*quantity.Metre, w, 10, 10); got != 1000 {
		t.Error(got)
	}
}

// A drawing's faults are found: texts over each other, and beyond the edge.
func TestFaultsFound(t *testing.T) {
	s := New("x", 50, 50)
	s.Write(Text{At: Point{5, 20}, Text: "one"})
	s.Write(Text{At: Point{6, 20.5}, Text: "two"})
	s.Write(Text{At: Point{45, 40}, Text: "beyond"})
	if len(s.Clashes()) != 1 || len(s.Outside()) != 1 {
		t.Error(s.Clashes(), s.Outside())
	}
	for name, f := range map[string]func(){
		"a sheet without size": func() { New("x", 0, 1) },
		"no number":            func() { s.Path(Thin, Point{0, math.NaN()}, Point{1, 1}) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s: no panic", name)
				}
			}()
			f()
		}()
	}
}

// A short dimension line has its figure beside it, and figures on upright lines read from the right.
func TestDimension(t *testing.T) {
	s := New("x", 100, 100)
	s.Dim(Dimension{From: Point{20, 50}, To: Point{24, 50}, Off: 5, Figure: "1700"})
	s.Dim(Dimension{From: Point{60, 20}, To: Point{60, 80}, Off: -5, Figure: "900"})
	var found int
	for _, i := range s.items {
		if i.kind != words {
			continue
		}
		found++
		switch i.text.Text {
		case "1700":
			if i.text.At.X <= 24 {
				t.Errorf("figure at %v, want beside the line", i.text.At)
			}
		case "900":
			if i.text.Turn != 90 {
				t.Errorf("turn %g", i.text.Turn)
			}
		}
	}
	if found != 2 {
		t.Errorf("%d figures", found)
	}
}
