package tabular

import (
	"strconv"
	"strings"
)

// mark is how a file writes decimals.
type mark int

const (
	unknownMark mark = iota
	pointMark
	commaMark
	mixedMark // both are found: what could be either is not read
)

// String returns the mark's name.
func (m mark) String() string {
	return [...]string{"no decimals found", "decimal point", "decimal comma", "decimal points and decimal commas"}[m]
}

// signs are minus signs, spaces and apostrophes as typed, and the plain ones; spaces between thousands go.
var (
	signs  = strings.NewReplacer("−", "-", "–", "-", "\u00a0", " ", "\u202f", " ", "’", "'")
	spaces = strings.NewReplacer("'", "", " ", "")
)

// numeral returns the digits at the start of a text, with the signs and marks among them, and what follows.
func numeral(text string) (digits, rest string) {
	text = strings.TrimSpace(text)
	text = signs.Replace(text)
	i, seen := 0, false
	for i < len(text) {
		c := text[i]
		switch {
		case c >= '0' && c <= '9':
			seen = true
		case (c == '+' || c == '-') && i == 0:
		case c == '-' || c == '+':
			if e := text[i-1]; e != 'e' && e != 'E' {
				return text[:i], text[i:]
			}
		case c == '.' || c == ',':
		case (c == '\'' || c == ' ') && seen && group(text[i+1:]):
		case (c == 'e' || c == 'E') && seen && exponent(text[i+1:]):
		case c == ' ' && !seen:
		default:
			return strings.TrimSpace(text[:i]), strings.TrimSpace(text[i:])
		}
		i++
	}
	return strings.TrimSpace(text), ""
}

// group reports whether a text begins with exactly three digits.
func group(s string) bool {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n == 3
}

// exponent reports whether a text begins with digits, a sign before them or none.
func exponent(s string) bool {
	s = strings.TrimLeft(s, "+-")
	return s != "" && s[0] >= '0' && s[0] <= '9'
}

// evidence says which decimal mark a numeral shows beyond doubt.
func evidence(digits string) mark {
	digits, _, _ = strings.Cut(strings.ToLower(digits), "e")
	comma, point := strings.Count(digits, ","), strings.Count(digits, ".")
	switch {
	case comma == 0 && point == 0:
		return unknownMark
	case comma > 0 && point > 0:
		if strings.LastIndex(digits, ",") > strings.LastIndex(digits, ".") {
			return commaMark
		}
		return pointMark
	case comma > 1:
		return pointMark // marks between thousands
	case point > 1:
		return commaMark
	case either(digits):
		return unknownMark
	case comma == 1:
		return commaMark
	}
	return pointMark
}

// either reports whether the one mark of a numeral could stand before thousands: three digits follow it
// and one to three, not 0 alone, lead it.
func either(digits string) bool {
	at := strings.IndexAny(digits, ".,")
	lead := strings.TrimLeft(digits[:at], "+-")
	return len(digits)-at-1 == 3 && len(lead) >= 1 && len(lead) <= 3 && lead[0] != '0'
}

// value reads a numeral in a file of a decimal mark. doubt is the other reading where there are two.
func value(digits string, m mark) (v float64, doubt string, ok bool) {
	s := spaces.Replace(digits)
	body, _, _ := strings.Cut(strings.ToLower(s), "e")
	comma, point := strings.Count(body, ","), strings.Count(body, ".")
	drop := "" // the mark between thousands
	switch {
	case comma > 0 && point > 0:
		drop = ","
		if strings.LastIndex(body, ",") > strings.LastIndex(body, ".") {
			drop = "."
		}
		if strings.Count(body, ",.") > 0 || drop == "," && point > 1 || drop == "." && comma > 1 {
			return 0, "", false
		}
	case comma > 1:
		drop = ","
	case point > 1:
		drop = "."
	case comma+point == 1 && either(body):
		switch {
		case comma == 1 && m == pointMark:
			drop = ","
		case point == 1 && m == commaMark:
			drop = "."
		case m == mixedMark, comma == 1 && m == unknownMark:
			return 0, strings.NewReplacer(",", "", ".", "").Replace(s) + " or " + strings.Replace(s, ",", ".", 1), false
		}
	}
	if drop != "" {
		for i, part := range strings.Split(strings.TrimLeft(cutAtDecimal(body, drop), "+-"), drop) {
			if i > 0 && len(part) != 3 || len(part) == 0 || len(part) > 3 {
				return 0, "", false
			}
		}
		s = strings.ReplaceAll(s, drop, "")
	}
	s = strings.Replace(s, ",", ".", 1)
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v > 1e15 || v < -1e15 {
		return 0, "", false
	}
	return v + 0, "", true // -0 becomes 0
}

// cutAtDecimal returns the whole part of a numeral whose thousands are marked by drop.
func cutAtDecimal(body, drop string) string {
	other := "."
	if drop == "." {
		other = ","
	}
	whole, _, _ := strings.Cut(body, other)
	return whole
}
