package draw

import (
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// faces are the font files, an open type embedded in the program.
var faces = [...][]byte{Regular: goregular.TTF, Bold: gobold.TTF, Mono: gomono.TTF}

// measured is a font with the advance of every letter looked up so far.
type measured struct {
	mu      sync.Mutex
	font    *sfnt.Font
	buffer  sfnt.Buffer
	advance map[rune]float64 // in ems; below 0: the font has no such letter
}

// fonts parses the embedded files once.
var fonts = sync.OnceValue(func() []*measured {
	var out []*measured
	for _, b := range faces {
		f, err := sfnt.Parse(b)
		if err != nil {
			panic("draw: embedded type: " + err.Error())
		}
		out = append(out, &measured{font: f, advance: map[rune]float64{}})
	}
	return out
})

// of returns the advance of a letter in ems, below 0 when the font lacks it.
func (m *measured) of(r rune) float64 {
	m.mu.Lock()
	defer m.mu.Unlock()
	if a, ok := m.advance[r]; ok {
		return a
	}
	a := -1.0
	if g, err := m.font.GlyphIndex(&m.buffer, r); err == nil && g != 0 {
		const em = 2048
		if w, err := m.font.GlyphAdvance(&m.buffer, g, fixed.I(em), 0); err == nil {
			a = float64(w) / 64 / em
		}
	}
	m.advance[r] = a
	return a
}

// has reports whether a face has a letter.
func has(f Face, r rune) bool { return fonts()[f].of(r) >= 0 }

// printable replaces letters the face lacks by a question mark.
func printable(f Face, text string) string {
	return strings.Map(func(r rune) rune {
		if has(f, r) {
			return r
		}
		return '?'
	}, text)
}

// Width returns the width of a line of type, in millimetres.
func Width(f Face, size float64, text string) float64 {
	w, m := 0.0, fonts()[f]
	for _, r := range text {
		a := m.of(r)
		if a < 0 {
			a = m.of('?')
		}
		w += a * size
	}
	return w
}

// Wrap breaks a text into lines no wider than the given millimetres; a word wider than that is cut.
func Wrap(f Face, size, width float64, text string) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(Plain(text)) {
		joined := word
		if line != "" {
			joined = line + " " + word
		}
		if Width(f, size, joined) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; Width(f, size, line) > width; {
			cut, n := 0, 0.0
			for i, r := range line {
				n += Width(f, size, string(r))
				if n > width && i > 0 {
					break
				}
				cut = i + len(string(r))
			}
			if cut >= len(line) {
				break
			}
			if i := strings.LastIndexAny(line[:cut], "._/-"); i > cut/3 {
				cut = i + 1
			}
			lines, line = append(lines, line[:cut]), line[cut:]
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
