package weather

import (
	"bytes"
	"math"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/base/quantity"
)

// epwColumns are the fields of an EPW row, from 0. Source: Crawley, Hand and Lawrie 1999, table 1.
var epwColumns = [kinds]int{global: 13, beam: 14, diffuse: 15, air: 6, dew: 7, wind: 21, pressure: 9}

// epwLeast is the fields a row must have: up to diffuse light. Wind may be cut off.
const epwLeast = 16

// epw reads an EPW file: header lines in any number and order, then rows.
func (l *lines) epw() *Series {
	s, t := &Series{}, newTable()
	located := false
	row := l.next()
	for ; row != nil && !isRow(row); row = l.next() {
		if l.number > mostHeader {
			l.fatal(l.number, "", "rows of hourly values after the header")
			return s
		}
		switch strings.ToUpper(string(row[0])) {
		case "LOCATION":
			located = true
			l.location(s, row)
		case "DESIGN CONDITIONS":
			l.design(s, row)
		case "DATA PERIODS":
			if n, err := strconv.Atoi(field(row, 2)); err == nil && n > 1 && n <= 60 {
				t.perHour = n
			}
		}
	}
	if l.err == nil && !located {
		l.fatal(1, "", "a line LOCATION,town,state,country,source,station,latitude,longitude,zone,elevation")
	}
	for ; row != nil; row = l.next() {
		l.epwRow(t, row)
	}
	if l.err == nil && !l.bad {
		t.finish(l, s)
	}
	return s
}

// epwRow puts one row.
func (l *lines) epwRow(t *table, row [][]byte) {
	if len(row) < epwLeast {
		l.fault("", "a row of 35 values; this has "+strconv.Itoa(len(row)))
		return
	}
	month, ok1 := whole(row[1])
	day, ok2 := whole(row[2])
	hour, ok3 := whole(row[3])
	if !ok1 || !ok2 || !ok3 {
		month = 0
	}
	at := t.place(l, month, day, hour, clip(bytes.Join(row[1:4], []byte(","))))
	if at < 0 {
		return
	}
	for k, c := range epwColumns {
		if c < len(row) {
			t.put(l, at, kind(k), row[c], 1)
		}
	}
}

// isRow reports whether a line is of hourly values: it begins with a year and a month.
func isRow(row [][]byte) bool {
	if len(row) < 4 {
		return false
	}
	_, ok1 := whole(row[0])
	_, ok2 := whole(row[1])
	return ok1 && ok2
}

// whole reads a whole number, "7", "07" or "7.0".
func whole(b []byte) (int, bool) {
	if len(b) == 0 || len(b) > 12 {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(b), 64)
	if err != nil || v != math.Trunc(v) || math.Abs(v) > 1e6 {
		return 0, false
	}
	return int(v), true
}

// field returns field i of a row, "" beyond its end.
func field(row [][]byte, i int) string {
	if i >= len(row) {
		return ""
	}
	return text(row[i])
}

// real reads a finite number.
func real(s string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// location reads the line LOCATION. A name with a comma of its own pushes the rest to the right.
func (l *lines) location(s *Series, row [][]byte) {
	s.Name = field(row, 1)
	for _, strict := range []bool{true, false} {
		for shift := 0; shift <= 3; shift++ {
			lat, ok1 := real(field(row, 6+shift))
			lon, ok2 := real(field(row, 7+shift))
			zone, ok3 := real(field(row, 8+shift))
			if !ok1 || !ok2 || math.Abs(lat) > 90 || math.Abs(lon) > 180 || strict && (!ok3 || math.Abs(zone) > 14) {
				continue
			}
			l.position(s, lat, lon, field(row, 8+shift), field(row, 9+shift))
			return
		}
	}
	l.fatal(l.number, clip([]byte(field(row, 6)+","+field(row, 7))), "latitude within ±90 and longitude within ±180 degrees in fields 7 and 8")
}

// position sets place, zone and height; the last two may be missing.
func (l *lines) position(s *Series, lat, lon float64, zone, height string) {
	s.Latitude, s.Longitude = quantity.Angle(lat)*quantity.Degree, quantity.Angle(lon)*quantity.Degree
	z, ok := real(zone)
	if !ok || math.Abs(z) > 14 {
		if zone != "" {
			l.fault(clip([]byte(zone)), "time zone, hours from UTC, within ±14")
		}
		ok = false
	}
	s.setZone(z, ok)
	h, ok := real(height)
	if ok && h >= -500 && h <= 9000 {
		s.Elevation = quantity.Length(h)
		return
	}
	if height != "" && !code(h) {
		l.fault(clip([]byte(height)), "elevation from -500 to 9000 m")
	}
	s.note("no elevation in the header: sea level taken")
}

// design reads the line DESIGN CONDITIONS: after the word Heating the coldest month and the 99.6 and
// 99 % temperatures; after Extremes three wind speeds, in older editions a wet-bulb temperature,
// then mean and standard deviation of the years' extremes and pairs for 5, 10, 20 and 50 years.
// What does not hold together is left out. Source: ASHRAE Handbook Fundamentals, chapter 14 (2009,
// 2017), as laid out in EPW headers.
func (l *lines) design(s *Series, row [][]byte) {
	var d Design
	d.Source = field(row, 2)
	numbers := func(word string) []float64 {
		for i, f := range row {
			if !strings.EqualFold(string(f), word) {
				continue
			}
			var out []float64
			for _, f := range row[i+1:] {
				v, ok := real(text(f))
				if !ok {
					break
				}
				out = append(out, v)
			}
			return out
		}
		return nil
	}
	sane := func(v ...float64) bool {
		for _, x := range v {
			if !(x >= -90 && x <= 60) {
				return false
			}
		}
		return true
	}
	h := numbers("Heating")
	if len(h) < 3 || !sane(h[1], h[2]) || h[1] > h[2] {
		return
	}
	if h[0] >= 1 && h[0] <= 12 {
		d.ColdestMonth = time.Month(h[0])
	}
	d.Heating996, d.Heating99 = quantity.Celsius(h[1]), quantity.Celsius(h[2])
	e := numbers("Extremes")
	for _, from := range []int{3, 4} {
		if len(e) < from+12 {
			continue
		}
		x := e[from : from+12]
		ordered := sane(x[0], x[1]) && x[0] < x[1] && x[2] >= 0 && x[3] >= 0 && x[2] < 30 && x[3] < 30
		for i := 4; i < 12; i += 2 {
			ordered = ordered && sane(x[i], x[i+1]) && x[i] < x[0] && x[i+1] > x[1]
			if i > 4 {
				ordered = ordered && x[i] <= x[i-2] && x[i+1] >= x[i-1]
			}
		}
		if !ordered {
			continue
		}
		c := quantity.Celsius
		d.Extremes = &Extremes{MeanMinimum: c(x[0]), MeanMaximum: c(x[1]), MinimumDeviation: quantity.TempDiff(x[2]), MaximumDeviation: quantity.TempDiff(x[3]),
			Lowest5: c(x[4]), Highest5: c(x[5]), Lowest10: c(x[6]), Highest10: c(x[7]), Lowest20: c(x[8]), Highest20: c(x[9]), Lowest50: c(x[10]), Highest50: c(x[11])}
		break
	}
	s.Design = &d
}
