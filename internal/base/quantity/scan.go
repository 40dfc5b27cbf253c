package quantity

import (
	"math"
	"strconv"
	"strings"
)

// most is the largest magnitude read, in any unit: beyond it is a slip of the keyboard.
const most = 1e12

// longest is the longest text read, in bytes.
const longest = 80

// Manner is how strictly a text is read.
type Manner int

const (
	Strict  Manner = iota // of files: the decimal point only, no marks between thousands
	Lenient               // of forms: a decimal comma and marks between thousands pass where they can mean one thing only
)

// ParseError says why a text is no quantity.
type ParseError struct {
	Found  string // the text as written
	Want   string // what is wanted, one clause
	Likely string // the value most likely meant; may be empty
}

// Error returns the fault in one line.
func (e *ParseError) Error() string {
	s := strconv.Quote(e.Found) + ": " + e.Want
	if e.Likely != "" {
		s += "; most likely " + e.Likely
	}
	return s
}

// term is one number with the unit behind it, "5 ft" of "5 ft 6 in".
type term struct {
	value  float64
	digits string // the number as a plain text
	raw    string // the unit as written
	unit   string // the unit in the one spelling that plain gives
}

// superscripts are raised signs and what they stand for.
var superscripts = map[rune]string{'⁰': "0", '¹': "1", '²': "2", '³': "3", '⁴': "4", '⁵': "5", '⁶': "6", '⁷': "7", '⁸': "8", '⁹': "9", '⁻': "-", '⁺': "+"}

// fractions are fractions with a sign of their own.
var fractions = map[rune]string{'½': "1/2", '¼': "1/4", '¾': "3/4", '⅓': "1/3", '⅔': "2/3", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8"}

// tidy brings the many ways of typing a sign to one: minus, micro, ohm, degree, spaces, raised digits.
func tidy(s string) string {
	var b strings.Builder
	last := ' '
	for _, r := range s {
		switch r {
		case '−', '–', '‐', '‑', '－':
			r = '-'
		case '＋':
			r = '+'
		case '\u03bc': // mu for micro
			r = 'µ'
		case '\u2126': // the ohm sign
			r = '\u03a9'
		case 'º', '˚':
			r = '°'
		case '\u00a0', '\u202f', '\u2009', '\u2007', '\u2002', '\u2003', '\u200a', '\t', '\n', '\r':
			r = ' '
		case '\u200b', '\ufeff':
			continue
		case '′', '’', '‘':
			r = '\''
		case '″', '”', '“':
			r = '"'
		case '×', '✕':
			r = '×'
		case '⋅', '∙', '•':
			r = '·'
		case '⁄', '∕':
			r = '/'
		case '℃':
			b.WriteString("°C")
			last = 'C'
			continue
		case '℉':
			b.WriteString("°F")
			last = 'F'
			continue
		}
		if raised, ok := superscripts[r]; ok {
			if last >= '0' && last <= '9' {
				b.WriteByte('^')
			}
			b.WriteString(raised)
			last = 'x'
			continue
		}
		if f, ok := fractions[r]; ok {
			if last >= '0' && last <= '9' {
				b.WriteByte(' ')
			}
			b.WriteString(f)
			last = r
			continue
		}
		b.WriteRune(r)
		last = r
	}
	return strings.ReplaceAll(strings.TrimSpace(b.String()), "''", `"`)
}

// plain brings the spellings of a unit to one: no spaces, dots, powers' marks or brackets; "per" is
// a stroke.
func plain(unit string) string {
	s := strings.ReplaceAll(" "+unit+" ", " per ", "/")
	return unitMarks.Replace(s)
}

var unitMarks = strings.NewReplacer(" ", "", ".", "", "·", "", "*", "", "^", "", "(", "", ")", "")

func digit(s string, i int) bool { return i >= 0 && i < len(s) && s[i] >= '0' && s[i] <= '9' }

func letter(s string, i int) bool {
	return i >= 0 && i < len(s) && (s[i]|0x20 >= 'a' && s[i]|0x20 <= 'z' || s[i] >= 0x80)
}

// spaces returns the index of the first byte from i that is no space.
func spaces(s string, i int) int {
	for i < len(s) && s[i] == ' ' {
		i++
	}
	return i
}

// run returns the index after the digits from i.
func run(s string, i int) int {
	for digit(s, i) {
		i++
	}
	return i
}

// starts reports whether a number starts at i inside a unit's text.
func starts(s string, from, i int) bool {
	if s[i] == '+' || s[i] == '-' {
		return digit(s, i+1) && (i == from || s[i-1] == ' ')
	}
	if s[i] == '.' {
		return digit(s, i+1) && s[i-1] == ' '
	}
	if !digit(s, i) {
		return false
	}
	if i == from {
		return true
	}
	switch prev := s[i-1]; {
	case prev == '^', prev == '-', prev == '+', digit(s, i-1):
		return false // a power
	case prev == '/':
		return false
	case strings.HasSuffix(s[:i], "°"):
		return true
	case letter(s, i-1) && (s[i] == '2' || s[i] == '3'): // the 2 of mm2, but not of 3ft2in
		return digit(s, i+1) || i+1 < len(s) && (s[i+1] == '.' || s[i+1] == ',') || letter(s, i+1) && !strings.Contains(s[from:i], "/")
	}
	return true
}

// joints are words between two terms.
var joints = []string{" at", "@", " and", ",", "×", " x", "*", ";"}

// scanner reads the terms of one text.
type scanner struct {
	text    string // as written
	s       string // tidied
	manner  Manner
	example string
}

func (c *scanner) fail(want, likely string) error {
	found := c.text
	if len(found) > longest {
		found = strings.ToValidUTF8(found[:longest/2], "") + "…"
	}
	return &ParseError{Found: found, Want: want, Likely: likely}
}

// scan divides a text into terms, at least one.
func scan(text, example string, manner Manner) ([]term, error) {
	c := &scanner{text: text, manner: manner, example: example}
	if len(text) > longest {
		return nil, c.fail("a number and a unit, such as "+example, "")
	}
	c.s = tidy(text)
	var terms []term
	i := 0
	for i < len(c.s) {
		var t term
		var err error
		if i, err = c.number(i, &t); err != nil {
			return nil, err
		}
		i = spaces(c.s, i)
		end := i
		if strings.HasPrefix(c.s[i:], "1/") && letter(c.s, i+2) || strings.HasPrefix(c.s[i:], "1/°") {
			end++ // the 1 of 1/K
		}
		for end < len(c.s) && (end == i+1 && c.s[i] == '1' || !starts(c.s, i, end)) {
			end++
		}
		t.raw = strings.TrimSpace(c.s[i:end])
		if end < len(c.s) {
			padded := " " + t.raw
			for _, j := range joints {
				if cut, ok := strings.CutSuffix(padded, j); ok {
					t.raw = strings.TrimSpace(cut)
					break
				}
			}
		}
		t.unit = plain(strings.TrimPrefix(t.raw, "1/"))
		if strings.HasPrefix(t.raw, "1/") {
			t.unit = "/" + t.unit
		}
		terms = append(terms, t)
		if len(terms) > 3 {
			return nil, c.fail("one value, such as "+example, "")
		}
		i = end
	}
	if len(terms) == 0 {
		return nil, c.fail("a number and a unit, such as "+example, "")
	}
	return terms, nil
}

// number reads a number from i: a sign, digits in groups or not, a fraction, a power of ten. It
// returns the index after it.
func (c *scanner) number(i int, t *term) (int, error) {
	s, from := c.s, i
	sign := ""
	if s[i] == '+' || s[i] == '-' {
		if s[i] == '-' {
			sign = "-"
		}
		i = spaces(s, i+1)
	}
	start := i
	for i < len(s) && (digit(s, i) || (s[i] == '.' || s[i] == ',') && (digit(s, i+1) || digit(s, i-1) && i > start)) {
		if s[i] == ',' && !digit(s, i+1) {
			break
		}
		i++
	}
	if i == start {
		return i, c.fail("a number and a unit, such as "+c.example, "")
	}
	body := s[start:i]
	if len(body) <= 3 && strings.Trim(body, "0123456789") == "" { // groups of three, as ISO 80000-1 writes them
		for i+3 < len(s) && s[i] == ' ' && run(s, i+1) == i+4 && !(i+4 < len(s) && s[i+4] == '/') {
			body += s[i+1 : i+4]
			i += 4
		}
		if i > start+3 && i < len(s) && s[i] == '.' && digit(s, i+1) {
			end := run(s, i+1)
			body += s[i:end]
			i = end
		}
	}
	clean, err := c.marks(body, s[start:i])
	if err != nil {
		return i, err
	}
	whole := strings.Trim(clean, "0123456789") == ""
	fraction := 0.0
	if whole { // 41 1/2, 41-1/2, 1/2
		j := i
		if j < len(s) && (s[j] == ' ' || s[j] == '-') && digit(s, j+1) {
			j++
		}
		mid := run(s, j)
		if j == i {
			mid = i
		}
		if mid < len(s) && s[mid] == '/' && digit(s, mid+1) {
			end := run(s, mid+1)
			top, bottom := s[j:mid], s[mid+1:end]
			if j == i {
				top = clean
			}
			a, e1 := strconv.ParseFloat(top, 64)
			b, e2 := strconv.ParseFloat(bottom, 64)
			if e1 != nil || e2 != nil || b <= 0 || b > 1024 || j != i && a >= b {
				return i, c.fail("a fraction such as 41 1/2 in", "")
			}
			fraction = a / b
			if j == i {
				clean = "0"
			}
			i = end
		}
	}
	if fraction == 0 && i < len(s) && s[i]|0x20 == 'e' {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if digit(s, j) {
			clean += "e" + s[i+1:run(s, j)]
			i = run(s, j)
		}
	}
	if power, end := powerOfTen(s, i); fraction == 0 && end > i && !strings.Contains(clean, "e") {
		clean += "e" + power
		i = end
	}
	v, perr := strconv.ParseFloat(clean, 64)
	v += fraction
	if perr != nil || math.IsNaN(v) || v > most {
		return i, c.fail("a number of ordinary size and a unit, such as "+c.example, "")
	}
	if sign != "" {
		v = -v
	}
	t.value, t.digits = v, strings.TrimSpace(s[from:i])
	return i, nil
}

// powerOfTen reads "×10^-6" from i and returns the exponent and the index after it, or i.
func powerOfTen(s string, i int) (string, int) {
	j := spaces(s, i)
	for _, times := range []string{"×", "x", "*", "·"} {
		rest, ok := strings.CutPrefix(s[j:], times)
		if !ok {
			continue
		}
		k := spaces(s, len(s)-len(rest))
		if !strings.HasPrefix(s[k:], "10^") {
			return "", i
		}
		k += 3
		e := k
		if e < len(s) && (s[e] == '+' || s[e] == '-') {
			e++
		}
		if end := run(s, e); end > e {
			return s[k:end], end
		}
	}
	return "", i
}

// marks makes a number with points and commas a plain one, or says which reading is likely.
func (c *scanner) marks(body, written string) (string, error) {
	commas, points := strings.Count(body, ","), strings.Count(body, ".")
	likely := func(n string) string { return strings.Join(strings.Fields(strings.Replace(c.s, written, n, 1)), " ") }
	switch {
	case commas == 0 && points <= 1:
		return body, nil
	case commas == 1 && points == 0:
		a, b, _ := strings.Cut(body, ",")
		point := a + "." + b
		if len(b) == 3 && len(a) > 0 && len(a) <= 3 && a[0] != '0' {
			return "", c.fail("a decimal point and no marks between thousands: "+body+" may be "+a+b+" or "+point, likely(a+b))
		}
		if c.manner == Lenient {
			return point, nil
		}
		return "", c.fail("a decimal point, not a comma", likely(point))
	}
	// Both marks, or one mark several times: the last one is decimal when it stands once.
	decimal := ""
	if commas > 0 && points > 0 {
		decimal = ","
		if strings.LastIndex(body, ".") > strings.LastIndex(body, ",") {
			decimal = "."
		}
	}
	head, tail := body, ""
	if decimal != "" {
		at := strings.LastIndex(body, decimal)
		head, tail = body[:at], "."+body[at+1:]
		if strings.Contains(head, decimal) {
			return "", c.fail("one number, with one decimal point", "")
		}
	}
	groups := strings.FieldsFunc(head, func(r rune) bool { return r == ',' || r == '.' })
	for i, g := range groups {
		if i > 0 && len(g) != 3 || i == 0 && len(g) > 3 {
			return "", c.fail("one number, with one decimal point", "")
		}
	}
	joined := strings.Join(groups, "") + tail
	if c.manner == Lenient {
		return joined, nil
	}
	return "", c.fail("a decimal point and no marks between thousands", likely(joined))
}
