package place

import (
	"strings"
	"unicode"
)

// plain are letters with marks and the letters they are typed as.
var plain = func() map[rune]string {
	m := map[rune]string{'ß': "ss", 'æ': "ae", 'œ': "oe", 'þ': "th", '&': " and "}
	for to, from := range map[string]string{
		"a": "áàâäãåāăąạảấầẩậẫắằẳẵặǎа", "b": "ḃб", "c": "çćčċĉ", "d": "ďđḍḏḑðд", "e": "éèêëēėęěĕẽếềểễệəẹеё", "f": "ф",
		"g": "ğġģĝǧг", "h": "ħḥḩẖĥ", "i": "íìîïīįıĩĭịỉḯǐи", "j": "ĵй", "k": "ķḳк", "l": "łļľĺḷл", "m": "ṃм", "n": "ñńňņṅṇǹн",
		"o": "óòôöõøōŏőơǫọỏốồổộớờởợǒо", "p": "ṗп", "r": "řŕŗṛṟр", "s": "śšşșŝṣс", "t": "ťţțṭṯŧт", "u": "úùûüūŭůűųưụủũứừửữựǔу", "v": "в",
		"w": "ŵẁẃ", "y": "ýÿŷỳỹỵы", "z": "źžżẓẕз",
	} {
		for _, r := range from {
			m[r] = to
		}
	}
	return m
}()

// fold returns name as it is compared: lower case, no marks, words parted by one blank, saint as st.
func fold(name string) string {
	var b strings.Builder
	b.Grow(len(name))
	gap := false
	for _, r := range name {
		r = unicode.ToLower(r)
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			b.WriteRune(r)
		case r == '\'' || r == '’' || r == '‘' || r == 'ʻ' || r == '`' || r == 'ʼ' || unicode.Is(unicode.Mn, r):
		default:
			s, known := plain[r]
			if !known {
				if !unicode.IsLetter(r) {
					gap = true
					continue
				}
				s = string(r)
			}
			if gap && b.Len() > 0 || r == '&' {
				b.WriteByte(' ')
			}
			gap = r == '&'
			b.WriteString(strings.TrimSpace(s))
		}
	}
	s := b.String()
	if strings.Contains(s, "saint") || strings.Contains(s, "sankt") {
		words := strings.Fields(s)
		for i, w := range words {
			if len(words) > 1 && (w == "saint" || w == "sankt") {
				words[i] = "st"
			}
		}
		s = strings.Join(words, " ")
	}
	return s
}

// umlauts spells them out, as German does where they cannot be typed.
var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ø", "oe", "Ø", "Oe", "å", "aa", "Å", "Aa")

// distance returns the number of single edits (a letter more, less, other, or two swapped) between a
// and b, or limit+1 when it is more than limit.
func distance(a, b []byte, limit int, rows *[3][]int) int {
	if len(a)-len(b) > limit || len(b)-len(a) > limit {
		return limit + 1
	}
	for k := range rows {
		if cap(rows[k]) < len(b)+1 {
			rows[k] = make([]int, 2*len(b)+2)
		}
		rows[k] = rows[k][:len(b)+1]
	}
	old, last, next := rows[0], rows[1], rows[2]
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		next[0] = i
		least := i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			d := min(last[j]+1, next[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, old[j-2]+1)
			}
			next[j] = d
			least = min(least, d)
		}
		if least > limit {
			return limit + 1
		}
		old, last, next = last, next, old
	}
	return min(last[len(b)], limit+1)
}
