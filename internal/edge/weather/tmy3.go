package weather

import (
	"bytes"
	"math"
	"strings"
)

// tmy3Columns are the columns of a TMY3 file: the beginning of the name, upper case, and the place
// from 0 where the second line does not name them. Source: Wilcox and Marion 2008, table 1-3.
var tmy3Columns = [kinds]struct {
	name  string
	at    int
	scale float64
}{
	global: {"GHI (", 4, 1}, beam: {"DNI (", 7, 1}, diffuse: {"DHI (", 10, 1}, air: {"DRY-BULB (", 31, 1}, dew: {"DEW-POINT (", 34, 1},
	wind: {"WSPD (", 46, 1}, pressure: {"PRESSURE (", 40, 100}, // mbar
}

// tmy3 reads a TMY3 file: a line of the station, a line of column names, then rows.
func (l *lines) tmy3() *Series {
	s, t := &Series{}, newTable()
	row := l.next()
	s.Name = field(row, 1)
	lat, ok1 := real(field(row, 4))
	lon, ok2 := real(field(row, 5))
	if !ok1 || !ok2 || math.Abs(lat) > 90 || math.Abs(lon) > 180 {
		if l.err == nil {
			l.fatal(max(1, l.number), clip([]byte(field(row, 4)+","+field(row, 5))), "station, name, state, zone, latitude within ±90, longitude within ±180, elevation in the first line")
		}
	} else {
		l.position(s, lat, lon, field(row, 3), field(row, 6))
	}
	row = l.next()
	places, ok := l.columns(s, row)
	if !ok {
		return s
	}
	if row != nil && !strings.ContainsAny(field(row, 0), "/-") || strings.Contains(strings.ToUpper(field(row, 0)), "DATE") {
		row = l.next()
	}
	for ; row != nil; row = l.next() {
		l.tmy3Row(t, row, &places)
	}
	if l.err == nil && !l.bad {
		t.finish(l, s)
	}
	return s
}

// columns returns where each kind stands, -1 for a kind that is not there.
func (l *lines) columns(s *Series, row [][]byte) ([kinds]int, bool) {
	var at [kinds]int
	found := 0
	for k, c := range tmy3Columns {
		at[k] = -1
		for i, f := range row {
			if bytes.HasPrefix(bytes.ToUpper(f), []byte(c.name)) {
				at[k] = i
				found++
				break
			}
		}
	}
	if found == 0 {
		for k, c := range tmy3Columns {
			at[k] = c.at
		}
		s.note("columns not named: taken in the order of the format")
		return at, true
	}
	for _, k := range []kind{global, air} {
		if at[k] < 0 {
			l.fatal(l.number, "", "a column of "+columns[k].name+" whose name begins with "+tmy3Columns[k].name)
		}
	}
	return at, !l.bad
}

// tmy3Row puts one row: date month/day/year, time hour:minute, values.
func (l *lines) tmy3Row(t *table, row [][]byte, places *[kinds]int) {
	month, day, ok1 := date(field(row, 0))
	hour, ok2 := clock(field(row, 1))
	if !ok1 || !ok2 {
		l.fault(clip([]byte(field(row, 0)+","+field(row, 1))), "a date as month/day/year and a time as hour:minute")
		return
	}
	at := t.place(l, month, day, hour, clip([]byte(field(row, 0)+","+field(row, 1))))
	if at < 0 {
		return
	}
	for k, c := range places {
		if c >= 0 && c < len(row) {
			t.put(l, at, kind(k), row[c], tmy3Columns[k].scale)
		}
	}
}

// date reads month/day/year, or year-month-day.
func date(s string) (month, day int, ok bool) {
	a, rest, ok := strings.Cut(s, "/")
	b, c, ok2 := strings.Cut(rest, "/")
	if !ok || !ok2 {
		c, rest, ok = strings.Cut(s, "-")
		a, b, ok2 = strings.Cut(rest, "-")
		if !ok || !ok2 {
			return 0, 0, false
		}
	}
	month, ok1 := whole([]byte(a))
	day, ok2 = whole([]byte(b))
	_, ok3 := whole([]byte(c))
	return month, day, ok1 && ok2 && ok3
}

// clock reads hour:minute or hour:minute:second at a full hour.
func clock(s string) (hour int, ok bool) {
	a, rest, ok := strings.Cut(s, ":")
	if !ok {
		return 0, false
	}
	for part := range strings.SplitSeq(rest, ":") {
		if v, ok := whole([]byte(part)); !ok || v != 0 {
			return 0, false
		}
	}
	hour, ok = whole([]byte(a))
	return hour, ok
}
