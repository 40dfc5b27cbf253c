package draw

import (
	"bytes"
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// Document is a PDF in the making: scenes become its pages, each of its own size.
type Document struct {
	pdf   *fpdf.Fpdf
	pages int
}

// About is what a PDF says of itself.
type About struct {
	Title, Subject string
	Made           time.Time // written into the file; equal input gives equal bytes
}

// families of fpdf; its bold is a family of its own here, so that no synthetic one can slip in.
var pdfFaces = [...]string{Regular: "go", Bold: "gobold", Mono: "gomono"}

// NewDocument returns an empty PDF.
func NewDocument(a About) *Document {
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: 210, Ht: 297}})
	p.SetMargins(0, 0, 0)
	p.SetAutoPageBreak(false, 0)
	p.SetCatalogSort(true)
	p.SetCreationDate(a.Made)
	p.SetModificationDate(a.Made)
	p.SetTitle(a.Title, true)
	p.SetSubject(a.Subject, true)
	p.SetCreator("noonmark", true)
	p.SetProducer("noonmark", true)
	p.SetLang("en")
	p.SetDisplayMode("fullpage", "single")
	for f, b := range faces {
		p.AddUTF8FontFromBytes(pdfFaces[f], "", bytes.Clone(b)) // the library writes into what it is given
	}
	p.SetLineCapStyle("butt")
	p.SetLineJoinStyle("miter")
	return &Document{pdf: p}
}

// Page appends a scene as a page of the scene's size, with a bookmark of its title when it has one.
func (d *Document) Page(s *Scene) {
	p := d.pdf
	// The size goes in as upright and is turned by the page's own measures, never by a flag.
	p.AddPageFormat("P", fpdf.SizeType{Wd: s.Width, Ht: s.High})
	d.pages++
	if s.Title != "" {
		p.Bookmark(s.Title, 0, 0)
	}
	for i := range s.items {
		s.items[i].pdf(p)
	}
}

// Pages returns how many pages there are.
func (d *Document) Pages() int { return d.pages }

// WriteTo writes the PDF.
func (d *Document) WriteTo(w io.Writer) (int64, error) {
	c := &counter{w: w}
	if err := d.pdf.Output(c); err != nil {
		return c.n, fmt.Errorf("draw: pdf: %w", err)
	}
	return c.n, nil
}

type counter struct {
	w io.Writer
	n int64
}

func (c *counter) Write(b []byte) (int, error) {
	n, err := c.w.Write(b)
	c.n += int64(n)
	return n, err
}

func (i *item) pdf(p *fpdf.Fpdf) {
	mode := ""
	if i.kind != words {
		if i.style.Fill != None {
			c := inks[i.style.Fill]
			p.SetFillColor(int(c[0]), int(c[1]), int(c[2]))
			mode = "F"
		}
		if i.style.Stroke != None {
			c := inks[i.style.Stroke]
			p.SetDrawColor(int(c[0]), int(c[1]), int(c[2]))
			p.SetLineWidth(i.style.Width)
			p.SetDashPattern(i.style.Dash, 0)
			mode += "D"
		}
		if mode == "" {
			return
		}
	}
	switch i.kind {
	case path:
		p.MoveTo(i.points[0].X, i.points[0].Y)
		for _, q := range i.points[1:] {
			p.LineTo(q.X, q.Y)
		}
		if i.closed {
			p.ClosePath()
		}
		p.DrawPath(mode)
	case circle:
		p.Circle(i.points[0].X, i.points[0].Y, i.radius, mode)
	case words:
		t := &i.text
		const point = 25.4 / 72 // mm, exact
		text := printable(t.Face, t.Text)
		p.SetFont(pdfFaces[t.Face], "", t.Size/point)
		c := inks[t.Ink]
		p.SetTextColor(int(c[0]), int(c[1]), int(c[2]))
		x := -Width(t.Face, t.Size, text) * [...]float64{0, 0.5, 1}[t.Anchor]
		if t.Turn == 0 {
			p.Text(t.At.X+x, t.At.Y, text)
			return
		}
		p.TransformBegin()
		p.TransformRotate(t.Turn, t.At.X, t.At.Y)
		p.Text(t.At.X+x, t.At.Y, text)
		p.TransformEnd()
	}
}
