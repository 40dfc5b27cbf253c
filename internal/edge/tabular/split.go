package tabular

import (
	"strings"
)

// record is a line of a file cut into fields; a quoted field may hold line breaks.
type record struct {
	line   int // 1-based, of its first line
	fields []string
}

// mostQuoted is the lines a quoted field may run over: beyond, its quote is an inch or a slip.
const mostQuoted = 20

// delimiters are the marks between fields, the ones that stand in texts least first.
var delimiters = []rune{'\t', ';', '|', ','}

// lines cuts a text at CR, LF and CRLF.
func lines(text string) []string {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	return strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n")
}

// cut cuts lines into records; blank lines and remarks, which begin with # and a space, are left out.
func cut(all []string, delimiter rune) []record {
	var out []record
	for i := 0; i < len(all); {
		if t := strings.TrimSpace(all[i]); t == "" || strings.HasPrefix(t, "# ") || strings.HasPrefix(t, "#") && !strings.ContainsRune(t, delimiter) {
			i++
			continue
		}
		fields, used := fieldsOf(all[i:], delimiter)
		out = append(out, record{i + 1, fields})
		i += used
	}
	return out
}

// fieldsOf cuts the first record of some lines and tells how many of them it took.
func fieldsOf(all []string, delimiter rune) (fields []string, used int) {
	used = 1
	rest := all[0]
	for {
		rest = strings.TrimLeft(rest, " \u00a0")
		if strings.HasPrefix(rest, `"`) {
			if field, after, more, ok := quoted(rest[1:], all[used:], delimiter); ok {
				fields = append(fields, strings.TrimSpace(field))
				used += more
				if after == "" {
					return fields, used
				}
				rest = after[1:] // the delimiter
				continue
			}
		}
		at := strings.IndexRune(rest, delimiter)
		if at < 0 {
			return append(fields, strings.TrimSpace(rest)), used
		}
		fields = append(fields, strings.TrimSpace(rest[:at]))
		rest = rest[at+1:]
	}
}

// quoted reads a field after its opening quote: its text, what follows it, the further lines it took. It
// is not ok where no quote stands before a delimiter or an end of line.
func quoted(rest string, next []string, delimiter rune) (field, after string, more int, ok bool) {
	var b strings.Builder
	for {
		at := strings.IndexByte(rest, '"')
		switch {
		case at < 0 && (more >= mostQuoted || more >= len(next)):
			return "", "", 0, false
		case at < 0:
			b.WriteString(rest + " ")
			rest = next[more]
			more++
			continue
		}
		b.WriteString(rest[:at])
		rest = rest[at+1:]
		if strings.HasPrefix(rest, `"`) {
			b.WriteByte('"')
			rest = rest[1:]
			continue
		}
		after = strings.TrimLeft(rest, " ")
		if after == "" || strings.HasPrefix(after, string(delimiter)) {
			return b.String(), after, more, true
		}
		b.WriteByte('"') // an inch in the middle
	}
}

// sniff returns the delimiter: the one that cuts most lines into the same number of fields, two or more;
// of equals the one that stands in texts least. A first line "sep=;" settles it and is taken off.
func sniff(all []string) (delimiter rune, rest []string) {
	if len(all) > 0 {
		if s, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(all[0])), "sep="); ok && len(s) <= 1 {
			all = append([]string{""}, all[1:]...) // lines keep their numbers
			if s == "" {
				return '\t', all
			}
			if strings.ContainsAny(s, "\t;|,") {
				return rune(s[0]), all
			}
		}
	}
	head := all[:min(len(all), 200)]
	best, delimiter := 0.0, ','
	for _, d := range delimiters {
		records := cut(head, d)
		counts := map[int]int{}
		for _, r := range records {
			counts[len(r.fields)]++
		}
		for n, c := range counts {
			if n < 2 {
				continue
			}
			score := float64(c) / float64(len(records))
			if score > best+0.1 || score > best && d == delimiter {
				best, delimiter = score, d
			}
		}
	}
	return delimiter, all
}
