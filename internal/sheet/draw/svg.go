package draw

import (
	"fmt"
	"strconv"
	"strings"
)

// families name the type for a browser, its own first.
var families = [...]string{Regular: "Go, B612, 'DejaVu Sans', sans-serif", Bold: "Go, B612, 'DejaVu Sans', sans-serif", Mono: "'Go Mono', 'B612 Mono', 'DejaVu Sans Mono', monospace"}

// SVG returns the scene as an SVG document whose user unit is a millimetre, with title and description for
// screen readers. The id begins the names inside it, so that several may stand in one page.
func (s *Scene) SVG(id string) []byte {
	var b strings.Builder
	id = name(id)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-desc">`+"\n",
		mm(s.Width), mm(s.High), mm(s.Width), mm(s.High), id, id)
	fmt.Fprintf(&b, "<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", id, escape(s.Title), id, escape(s.Text))
	fmt.Fprintf(&b, "<rect width=\"%s\" height=\"%s\" fill=\"%s\"/>\n", mm(s.Width), mm(s.High), hex(Paper))
	layer, open := "", false
	for _, i := range s.items {
		if !open || i.layer != layer {
			if open {
				b.WriteString("</g>\n")
			}
			layer, open = i.layer, true
			fmt.Fprintf(&b, "<g data-layer=\"%s\">\n", escape(layer))
		}
		i.svg(&b)
	}
	if open {
		b.WriteString("</g>\n")
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

func (i *item) svg(b *strings.Builder) {
	switch i.kind {
	case path:
		b.WriteString(`<path d="`)
		for k, p := range i.points {
			b.WriteString([...]string{"M", "L"}[min(k, 1)] + mm(p.X) + " " + mm(p.Y))
		}
		if i.closed {
			b.WriteString("Z")
		}
		fmt.Fprintf(b, "\"%s/>\n", i.style.svg())
	case circle:
		fmt.Fprintf(b, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\"%s/>\n", mm(i.points[0].X), mm(i.points[0].Y), mm(i.radius), i.style.svg())
	case words:
		t := &i.text
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s" font-family="%s" fill="%s"`, mm(t.At.X), mm(t.At.Y), mm(t.Size), families[t.Face], hex(t.Ink))
		// The width holds even where the browser has another type.
		fmt.Fprintf(b, ` textLength="%s" lengthAdjust="spacingAndGlyphs"`, mm(Width(t.Face, t.Size, t.Text)))
		if t.Face == Bold {
			b.WriteString(` font-weight="700"`)
		}
		if t.Anchor != Start {
			fmt.Fprintf(b, ` text-anchor="%s"`, [...]string{"start", "middle", "end"}[t.Anchor])
		}
		if t.Turn != 0 {
			fmt.Fprintf(b, ` transform="rotate(%s %s %s)"`, mm(-t.Turn), mm(t.At.X), mm(t.At.Y))
		}
		fmt.Fprintf(b, ">%s</text>\n", escape(t.Text))
	}
}

func (st Style) svg() string {
	out := ` fill="` + hex(st.Fill) + `"`
	if st.Stroke == None {
		return out
	}
	out += ` stroke="` + hex(st.Stroke) + `" stroke-width="` + mm(st.Width) + `"`
	if len(st.Dash) > 0 {
		dashes := make([]string, len(st.Dash))
		for i, d := range st.Dash {
			dashes[i] = mm(d)
		}
		out += ` stroke-dasharray="` + strings.Join(dashes, " ") + `"`
	}
	return out
}

// mm prints a length to a hundredth of a millimetre.
func mm(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

func hex(i Ink) string {
	if i == None {
		return "none"
	}
	c := inks[i]
	return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2])
}

// escape makes a text fit for XML: the five signs as entities, control characters out.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\n' || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, s)
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(s)
}

// name keeps the letters, digits and hyphens of an id, after a letter.
func name(id string) string {
	id = strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, id)
	return "s-" + id
}
