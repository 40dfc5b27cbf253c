package tabular

import (
	"strconv"
	"strings"
	"time"
)

// Order is which of day and month a date writes first.
type Order int

const (
	UnknownOrder Order = iota
	DayFirst
	MonthFirst
)

// String returns the order in words.
func (o Order) String() string {
	return [...]string{"not known", "day first", "month first"}[o]
}

// stamp is a date and a time as written; what is missing is -1.
type stamp struct {
	year, a, b, month, day int // a and b: the two numbers of a date whose order the file must tell
	hour, minute           int
	nanosecond             int64          // within the minute
	zone                   *time.Location // nil: the clock's own
	dots                   bool
	epoch                  float64
	isEpoch                bool
}

// months are the first three letters of months in seven languages, accents taken off.
var months = map[string]int{"jan": 1, "gen": 1, "ene": 1, "feb": 2, "fev": 2, "fe": 2, "mar": 3, "mae": 3, "mrz": 3, "maa": 3, "mrt": 3, "apr": 4, "avr": 4, "abr": 4,
	"may": 5, "mai": 5, "mag": 5, "mei": 5, "jun": 6, "jui": 0, "giu": 6, "jul": 7, "lug": 7, "aug": 8, "aou": 8, "ago": 8, "sep": 9, "set": 9, "oct": 10, "okt": 10, "ott": 10, "out": 10,
	"nov": 11, "dec": 12, "dez": 12, "dic": 12}

// parseStamp takes a date, a time or both apart; ok is false for what is none.
func parseStamp(text string) (s stamp, ok bool) {
	s = stamp{year: -1, a: -1, b: -1, month: -1, day: -1, hour: -1}
	text = strings.TrimSpace(strings.ReplaceAll(text, "\u202f", " "))
	if len(text) > 60 || text == "" {
		return s, false
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil {
		if v >= 1e11 && v < 1e14 {
			v /= 1000
		}
		if v < 0 || v >= 1e11 {
			return s, false
		}
		s.epoch, s.isEpoch = v, true
		return s, true
	}
	date, clock := text, ""
	if at := strings.IndexAny(text, "Tt"); at >= 8 && at+1 < len(text) && isDigit(text[at-1]) && isDigit(text[at+1]) {
		date, clock = text[:at], text[at+1:]
	} else if at := strings.IndexByte(text, ':'); at > 0 {
		from := at
		for from > 0 && isDigit(text[from-1]) {
			from--
		}
		date, clock = strings.TrimSpace(text[:from]), text[from:]
	} else if at := strings.IndexAny(text, "hH"); at > 0 && at <= 2 && isDigit(text[at-1]) { // 12h30
		date, clock = "", text[:at]+":"+strings.TrimSpace(text[at+1:])
		if strings.HasSuffix(clock, ":") {
			clock += "00"
		}
	}
	date = strings.Trim(date, " ,")
	if date != "" && !s.date(date) {
		return s, false
	}
	if clock != "" && !s.clock(strings.TrimSpace(clock)) {
		return s, false
	}
	return s, date != "" || clock != ""
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// date reads a date; weekdays before it are passed over.
func (s *stamp) date(text string) bool {
	parts := strings.FieldsFunc(accents.Replace(strings.ToLower(text)), func(r rune) bool { return strings.ContainsRune(" ,./-", r) })
	s.dots = strings.Contains(text, ".")
	var n []int
	for i, p := range parts {
		v, err := strconv.Atoi(p)
		switch {
		case err == nil && v >= 0 && v < 10000:
			n = append(n, v)
		case len(p) >= 3 && (strings.HasPrefix(p, "juin") || strings.HasPrefix(p, "juil")):
			s.month = 6
			if p[3] == 'l' {
				s.month = 7
			}
		case len(p) >= 3 && months[p[:3]] > 0 && s.month < 0:
			s.month = months[p[:3]]
		case i == 0 && len(parts) > 3, p == "de":
		default:
			return false
		}
	}
	if s.month > 0 && len(n) == 2 {
		s.day, s.year = n[0], n[1]
		if n[0] > 31 {
			s.day, s.year = n[1], n[0]
		}
		return s.sane()
	}
	if len(n) != 3 || s.month > 0 {
		return false
	}
	if n[0] > 31 {
		s.year, s.month, s.day = n[0], n[1], n[2]
		return s.sane()
	}
	s.a, s.b, s.year = n[0], n[1], n[2]
	return s.sane() && s.a >= 1 && s.b >= 1 && s.a <= 31 && s.b <= 31 && (s.a <= 12 || s.b <= 12)
}

// sane checks the ranges of what is known and completes a year of two digits.
func (s *stamp) sane() bool {
	if s.year < 100 {
		s.year += 2000
	}
	return s.year >= 1900 && s.year <= 2200 && (s.month < 0 || s.month >= 1 && s.month <= 12) && (s.day < 0 || s.day >= 1 && s.day <= 31)
}

// clock reads "14:05", "14:05:30.5", "2:05 PM", with a zone behind it or none.
func (s *stamp) clock(text string) bool {
	upper := strings.ToUpper(text)
	half := -1
	for i, m := range []string{"AM", "PM"} {
		if at := strings.Index(strings.ReplaceAll(upper, ".", ""), m); at > 0 && strings.HasSuffix(strings.ReplaceAll(upper, ".", ""), m) {
			half = i
			upper = strings.TrimSpace(upper[:strings.LastIndexByte(upper, "AP"[i])])
			break
		}
	}
	if z, ok := strings.CutSuffix(upper, "UTC"); ok {
		upper = strings.TrimSpace(z) + "Z"
	}
	if z, ok := strings.CutSuffix(upper, "Z"); ok {
		upper, s.zone = strings.TrimSpace(z), time.UTC
	} else if at := strings.IndexAny(upper, "+-"); at > 0 {
		d := strings.ReplaceAll(upper[at+1:], ":", "")
		if len(d) == 2 {
			d += "00"
		}
		v, err := strconv.Atoi(d)
		if err != nil || len(d) != 4 || v > 1500 || v%100 > 59 {
			return false
		}
		seconds := (v/100*60 + v%100) * 60
		if upper[at] == '-' {
			seconds = -seconds
		}
		s.zone = time.FixedZone("", seconds)
		upper = strings.TrimSpace(upper[:at])
	}
	parts := strings.Split(upper, ":")
	if len(parts) < 2 || len(parts) > 3 {
		return false
	}
	h, err1 := strconv.Atoi(parts[0])
	m, err2 := strconv.Atoi(strings.TrimSpace(parts[1]))
	if err1 != nil || err2 != nil || h < 0 || h > 24 || m < 0 || m > 59 {
		return false
	}
	if half >= 0 {
		if h < 1 || h > 12 {
			return false
		}
		h = h%12 + 12*half
	}
	if len(parts) == 3 {
		sec, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(parts[2]), ",", ".", 1), 64)
		if err != nil || !(sec >= 0 && sec < 61) {
			return false
		}
		s.nanosecond = int64(sec * 1e9)
	}
	s.hour, s.minute = h, m
	return h < 24 || m == 0 && s.nanosecond == 0
}

// settle gives a date whose order the file must tell its day and month; false where that is no date.
func (s *stamp) settle(o Order) bool {
	if s.a < 0 {
		return true
	}
	s.day, s.month = s.a, s.b
	if o == MonthFirst {
		s.day, s.month = s.b, s.a
	}
	return s.month <= 12
}

// real reports whether a settled date is in the calendar.
func (s *stamp) real() bool {
	return s.isEpoch || s.year < 0 || time.Date(s.year, time.Month(s.month), s.day, 0, 0, 0, 0, time.UTC).Day() == s.day
}

// doubtful reports whether day and month could change places for another date.
func (s *stamp) doubtful() bool { return s.a >= 1 && s.a <= 12 && s.b <= 12 && s.a != s.b }

// instant returns the instant of a settled stamp in a zone: gap says that the clock never showed it, twice
// that it showed it twice, and the first is taken.
func (s *stamp) instant(zone *time.Location) (t time.Time, gap, twice bool) {
	if s.isEpoch {
		return time.Unix(int64(s.epoch), int64((s.epoch-float64(int64(s.epoch)))*1e9)).UTC(), false, false
	}
	if s.zone != nil {
		zone = s.zone
	}
	hour := max(0, s.hour)
	t = time.Date(s.year, time.Month(s.month), s.day, hour, s.minute, 0, 0, zone).Add(time.Duration(s.nanosecond))
	wall := time.Date(s.year, time.Month(s.month), s.day, hour, s.minute, 0, 0, time.UTC).Add(time.Duration(s.nanosecond))
	shown := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
	}
	if !shown(t).Equal(wall) {
		return t, true, false
	}
	for _, shift := range []time.Duration{-2 * time.Hour, -time.Hour, -30 * time.Minute, 30 * time.Minute, time.Hour, 2 * time.Hour} {
		if other := t.Add(shift); shown(other).Equal(wall) {
			if other.Before(t) {
				t = other
			}
			return t.UTC(), false, true
		}
	}
	return t.UTC(), false, false
}
