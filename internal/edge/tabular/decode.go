package tabular

import (
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// high is the text of the bytes 0x80 to 0x9f in Windows-1252; the five unused are kept as they are.
// Source: The Unicode Consortium, CP1252.TXT (1998).
const high = "€\u0081‚ƒ„…†‡ˆ‰Š‹Œ\u008dŽ\u008f\u0090‘’“”•–—˜™š›œ\u009džŸ"

// decode returns the bytes of a file as text and names the encoding: by the byte-order mark, by the
// zeroes of UTF-16, as UTF-8 where it is valid, else Windows-1252, of which every byte is some letter.
func decode(b []byte) (text, encoding string) {
	switch {
	case len(b) >= 3 && b[0] == 0xef && b[1] == 0xbb && b[2] == 0xbf:
		return strings.ToValidUTF8(string(b[3:]), "\ufffd"), "UTF-8 with a byte-order mark"
	case len(b) >= 2 && b[0] == 0xff && b[1] == 0xfe:
		return wide(b[2:], 0), "UTF-16, little end first"
	case len(b) >= 2 && b[0] == 0xfe && b[1] == 0xff:
		return wide(b[2:], 1), "UTF-16, big end first"
	}
	var zero [2]int
	for i, c := range b[:min(len(b), 1000)] {
		if c == 0 {
			zero[i%2]++
		}
	}
	n := min(len(b), 1000) / 2
	switch {
	case n > 1 && zero[1] > n/2 && zero[0] <= n/10:
		return wide(b, 0), "UTF-16, little end first"
	case n > 1 && zero[0] > n/2 && zero[1] <= n/10:
		return wide(b, 1), "UTF-16, big end first"
	case utf8.Valid(b):
		return string(b), "UTF-8"
	}
	table := []rune(high)
	var s strings.Builder
	for _, c := range b {
		if c >= 0x80 && c < 0xa0 {
			s.WriteRune(table[c-0x80])
		} else {
			s.WriteRune(rune(c))
		}
	}
	return s.String(), "Windows-1252"
}

// wide returns UTF-16 as text; big is 1 with the big end first. An odd byte at the end is dropped.
func wide(b []byte, big int) string {
	u := make([]uint16, len(b)/2)
	for i := range u {
		u[i] = uint16(b[2*i+big]) | uint16(b[2*i+1-big])<<8
	}
	return string(utf16.Decode(u))
}
