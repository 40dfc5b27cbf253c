package draw

import (
	"math"
	"slices"
	"strings"
)

// Point is a place on the sheet, in millimetres from its upper left corner.
type Point struct{ X, Y float64 }

// Ink is a colour of the drawing office: few, each with one meaning.
type Ink int

const (
	None    Ink = iota
	Line        // ink, nearly black
	Fine        // thin lines and second text
	Faint       // rules and grids
	Paper       // warm sheet
	White       // the thing itself
	Sun         // light, the one warm accent
	SunPale     // filled light
	Shade       // shadow, the one cool accent
	Pale        // cells and filled shade
	Plus        // positive pole only
	Minus       // negative pole only
)

// inks are the colours as red, green, blue. Text and fine lines keep at least 4.5:1 against the paper.
var inks = [...][3]uint8{
	None: {}, Line: {0x20, 0x24, 0x2a}, Fine: {0x5b, 0x56, 0x48}, Faint: {0xc9, 0xc1, 0xad}, Paper: {0xfa, 0xf7, 0xef}, White: {0xff, 0xff, 0xff},
	Sun: {0xb8, 0x6a, 0x08}, SunPale: {0xf1, 0xd9, 0xa8}, Shade: {0x47, 0x68, 0x8a}, Pale: {0xdf, 0xe6, 0xec}, Plus: {0xb3, 0x26, 0x1e}, Minus: {0, 0, 0},
}

// Style is how a shape is drawn.
type Style struct {
	Stroke Ink
	Width  float64 // of the stroke, mm; 0: 0.18
	Fill   Ink
	Dash   []float64 // mm on, mm off; nil: a full line
}

// Thin, Thick and Filled are the usual styles.
var (
	Thin  = Style{Stroke: Fine, Width: 0.15}
	Thick = Style{Stroke: Line, Width: 0.35}
)

// Face is a cut of the type.
type Face int

const (
	Regular Face = iota
	Bold
	Mono
)

// Anchor is which end of a text stands at its point.
type Anchor int

const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of type.
type Text struct {
	At     Point // of its baseline
	Text   string
	Size   float64 // of the em, mm; 0: 3
	Face   Face
	Ink    Ink // None: Line
	Anchor Anchor
	Turn   float64 // degrees, anticlockwise
}

type kind int

const (
	path kind = iota
	circle
	words
)

// item is one mark on the sheet.
type item struct {
	kind   kind
	layer  string
	points []Point
	closed bool
	radius float64
	style  Style
	text   Text
}

// Scene is a drawing. New makes one.
type Scene struct {
	Title string // for screen readers and the file's title
	Text  string // what the drawing shows, in words
	Scale string // "1 : 15", or empty when nothing is to scale
	Width float64
	High  float64
	items []item
	layer string
}

// New returns an empty scene of the given size in millimetres; it panics unless both are above 0.
func New(title string, width, height float64) *Scene {
	if !(width > 0 && height > 0) || math.IsInf(width, 0) || math.IsInf(height, 0) {
		panic("draw: a sheet without size")
	}
	return &Scene{Title: title, Width: width, High: height}
}

// Layer names the layer of all that is drawn next.
func (s *Scene) Layer(name string) { s.layer = name }

// Layers returns the names of the layers in the order they were begun.
func (s *Scene) Layers() []string {
	var out []string
	for _, i := range s.items {
		if i.layer != "" && !slices.Contains(out, i.layer) {
			out = append(out, i.layer)
		}
	}
	return out
}

// add appends an item; it panics when a place is not a number, which is the caller's bug.
func (s *Scene) add(i item) {
	for _, p := range i.points {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			panic("draw: a place that is no number")
		}
	}
	if i.style.Width <= 0 {
		i.style.Width = 0.18
	}
	i.layer = s.layer
	s.items = append(s.items, i)
}

// Path draws a line through the points.
func (s *Scene) Path(st Style, points ...Point) {
	if len(points) > 1 {
		s.add(item{kind: path, points: slices.Clone(points), style: st})
	}
}

// Polygon draws a closed outline.
func (s *Scene) Polygon(st Style, points ...Point) {
	if len(points) > 2 {
		s.add(item{kind: path, points: slices.Clone(points), closed: true, style: st})
	}
}

// Rect draws a rectangle from its upper left corner.
func (s *Scene) Rect(st Style, at Point, width, height float64) {
	s.Polygon(st, at, Point{at.X + width, at.Y}, Point{at.X + width, at.Y + height}, Point{at.X, at.Y + height})
}

// Circle draws a circle.
func (s *Scene) Circle(st Style, at Point, radius float64) {
	s.add(item{kind: circle, points: []Point{at}, radius: radius, style: st})
}

// Arc draws part of a circle, between two angles in degrees, clockwise from the x axis.
func (s *Scene) Arc(st Style, at Point, radius, from, to float64) {
	n := max(2, int(math.Ceil(math.Abs(to-from)/4)))
	points := make([]Point, 0, n+1)
	for i := range n + 1 {
		a := (from + (to-from)*float64(i)/float64(n)) * math.Pi / 180
		points = append(points, Point{at.X + radius*math.Cos(a), at.Y + radius*math.Sin(a)})
	}
	s.Path(st, points...)
}

// Plain puts letters of the trade that the type lacks in other words.
func Plain(text string) string { return strings.ReplaceAll(text, "⎓", "DC") }

// Write sets a line of type. A letter the type does not have is printed as a question mark and stands
// in Missing.
func (s *Scene) Write(t Text) {
	if t.Size <= 0 {
		t.Size = 3
	}
	if t.Ink == None {
		t.Ink = Line
	}
	t.Text = strings.Join(strings.Fields(Plain(t.Text)), " ")
	if t.Text != "" {
		s.add(item{kind: words, points: []Point{t.At}, text: t})
	}
}

// Place copies another scene with its upper left corner at the given place.
func (s *Scene) Place(o *Scene, at Point) {
	for _, i := range o.items {
		i.points = slices.Clone(i.points)
		for k := range i.points {
			i.points[k].X += at.X
			i.points[k].Y += at.Y
		}
		i.text.At = i.points[0]
		s.items = append(s.items, i)
	}
}

// Words returns every text of the scene, in the order written.
func (s *Scene) Words() []string {
	var out []string
	for _, i := range s.items {
		if i.kind == words {
			out = append(out, i.text.Text)
		}
	}
	return out
}

// Missing returns the letters the type does not have, each once.
func (s *Scene) Missing() []rune {
	var out []rune
	for _, i := range s.items {
		if i.kind == words {
			for _, r := range i.text.Text {
				if !has(i.text.Face, r) && !slices.Contains(out, r) {
					out = append(out, r)
				}
			}
		}
	}
	return out
}

// Outside returns the texts that reach beyond the sheet's edge: a fault of the drawing.
func (s *Scene) Outside() []string {
	var out []string
	for _, i := range s.items {
		if i.kind != words {
			continue
		}
		if l, h := i.text.box(); l.X < -0.1 || l.Y < -0.1 || h.X > s.Width+0.1 || h.Y > s.High+0.1 {
			out = append(out, i.text.Text)
		}
	}
	return out
}

// Clashes returns pairs of texts that lie over each other: a fault of the drawing.
func (s *Scene) Clashes() [][2]string {
	var out [][2]string
	for n, a := range s.items {
		if a.kind != words {
			continue
		}
		al, ah := a.text.box()
		for _, b := range s.items[n+1:] {
			if b.kind != words {
				continue
			}
			if bl, bh := b.text.box(); al.X < bh.X-0.2 && bl.X < ah.X-0.2 && al.Y < bh.Y-0.2 && bl.Y < ah.Y-0.2 {
				out = append(out, [2]string{a.text.Text, b.text.Text})
			}
		}
	}
	return out
}

// box returns the corners of a text's letters, from the top of a capital to the baseline.
func (t Text) box() (low, high Point) {
	w := Width(t.Face, t.Size, t.Text)
	x := -w * [...]float64{0, 0.5, 1}[t.Anchor]
	sin, cos := math.Sincos(-t.Turn * math.Pi / 180)
	low, high = Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}
	for _, c := range []Point{{x, 0}, {x + w, 0}, {x, -0.7 * t.Size}, {x + w, -0.7 * t.Size}} {
		p := Point{t.At.X + c.X*cos - c.Y*sin, t.At.Y + c.X*sin + c.Y*cos}
		low, high = Point{min(low.X, p.X), min(low.Y, p.Y)}, Point{max(high.X, p.X), max(high.Y, p.Y)}
	}
	return low, high
}
