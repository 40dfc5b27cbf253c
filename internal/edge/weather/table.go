package weather

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"noonmark/internal/base/quantity"
)

// kind is a column of the table.
type kind int

const (
	global kind = iota
	beam
	diffuse
	air
	dew
	wind
	pressure
	kinds
)

// columns say, for each kind, its name, its unit, the least and the greatest value that can be real
// as the mean of an hour, in the table's unit.
var columns = [kinds]struct {
	name, unit  string
	least, most float64
}{
	{"global irradiance", "W/m²", -20, 1500}, // instruments at night read a little below 0
	{"beam irradiance", "W/m²", -20, 1420},
	{"diffuse irradiance", "W/m²", -20, 1200},
	{"air temperature", "°C", -90, 60},
	{"dew point", "°C", -95, 45},
	{"wind speed", "m/s", 0, 75},
	{"pressure", "Pa", 30000, 115000},
}

// code reports whether v is one of the values that stand for a missing one: nines, or -9900.
func code(v float64) bool {
	switch math.Abs(v) {
	case 99, 99.9, 99.99, 999, 999.9, 9999, 9999.9, 99999, 99999.9, 999999, 9999999, 99999999, 999999999, 9900, 99990, 999900:
		return true
	}
	return false
}

// table gathers the rows of a file by the hour. Sums of what was read, and how many.
type table struct {
	sum      [kinds][]float64
	count    [kinds][]uint16
	rows     []uint16 // of each hour
	perHour  int      // records an hour should have
	read     int      // rows put
	leap     int      // rows of 29 February, left out
	repeated int      // rows for an hour that was full
	first    int      // label of the first row, hours
	zeroes   int      // rows labelled hour 0
	last     int      // rows labelled hour 24
}

func newTable() *table {
	t := &table{perHour: 1, rows: make([]uint16, yearHours)}
	for k := range t.sum {
		t.sum[k] = make([]float64, yearHours)
		t.count[k] = make([]uint16, yearHours)
	}
	return t
}

// place returns the slot of a row whose label is hour 0 to 24 of a day, or -1 when it is not to be
// put. Labels are ends of hours: hour 0 is the last of the day before.
func (t *table) place(l *lines, month, day, hour int, label string) int {
	if month == 2 && day == 29 {
		t.leap++
		return -1
	}
	at := slot(month, day, 0)
	if at < 0 || hour < 0 || hour > 24 {
		l.fault(label, "month, day and hour of a year, hours 1 to 24")
		return -1
	}
	if t.read == 0 {
		t.first = hour
	}
	t.read++
	switch hour {
	case 0:
		t.zeroes++
	case 24:
		t.last++
	}
	at = (at + hour - 1 + yearHours) % yearHours
	if int(t.rows[at]) >= t.perHour {
		t.repeated++
		return -1
	}
	t.rows[at]++
	return at
}

// put adds a field to a slot; scale brings it to the table's unit.
func (t *table) put(l *lines, at int, k kind, field []byte, scale float64) {
	if len(field) == 0 {
		return
	}
	raw, err := strconv.ParseFloat(string(field), 64)
	c := &columns[k]
	if err != nil || math.IsInf(raw, 0) {
		l.fault(clip(field), "a number: "+c.name)
		return
	}
	v := raw * scale
	if !(v >= c.least && v <= c.most) {
		if !code(raw) && !math.IsNaN(raw) {
			l.fault(clip(field), fmt.Sprintf("%s from %g to %g %s", c.name, c.least, c.most, c.unit))
		}
		return
	}
	if k <= diffuse {
		v = math.Max(0, v)
	}
	t.sum[k][at] += v
	t.count[k][at]++
}

// finish turns the table into the hours of s: labels settled, sub-hours averaged, gaps filled.
func (t *table) finish(l *lines, s *Series) {
	if t.read == 0 {
		l.fatal(0, "", "rows of hourly values; there are none")
		return
	}
	value := func(k kind, at int) float64 {
		if n := t.count[k][at]; n > 0 {
			return t.sum[k][at] / float64(n)
		}
		return math.NaN()
	}
	var v [kinds][]float64
	turn := 0
	if t.zeroes > 0 && t.last == 0 && t.first == 0 {
		turn = 1
		s.note("hours run from 0 to 23: taken as the start of the hour")
	}
	for k := range v {
		v[k] = make([]float64, yearHours)
		for at := range v[k] {
			v[k][(at+turn)%yearHours] = value(kind(k), at)
		}
	}
	if t.perHour > 1 {
		s.note("%d records an hour: averaged, radiation read as W/m²", t.perHour)
	}
	if t.leap > 0 {
		s.note("%d rows of 29 February left out", t.leap)
	}
	if t.repeated > 0 {
		s.note("%d rows for an hour already read left out: the first was kept", t.repeated)
	}
	absent := 0
	for _, n := range t.rows {
		if n == 0 {
			absent++
		}
	}
	if absent > 0 {
		s.note("%d of %d hours have no row", absent, yearHours)
	}
	if !enough(l, &v) {
		return
	}
	s.fill(&v)
	s.Hours = make([]Hour, yearHours)
	for at := range s.Hours {
		m, d, h := dateOf(at)
		s.Hours[at] = Hour{Month: m, Day: d, Start: h,
			Global: quantity.Irradiance(v[global][at]), Beam: quantity.Irradiance(v[beam][at]), Diffuse: quantity.Irradiance(v[diffuse][at]),
			Air: quantity.Celsius(v[air][at]), DewPoint: quantity.Celsius(v[dew][at]),
			Wind: quantity.Speed(v[wind][at]), Pressure: quantity.Pressure(v[pressure][at])}
	}
}

// note adds a note.
func (s *Series) note(format string, args ...any) {
	s.Notes = append(s.Notes, fmt.Sprintf(format, args...))
}

// setZone sets the zone from hours east of UTC, or by longitude when ok is false.
func (s *Series) setZone(hours float64, ok bool) {
	if !ok {
		hours = math.Round(s.Longitude.Degrees() / 15)
		s.note("no time zone in the header: UTC%+g by longitude", hours)
	}
	s.offset = time.Duration(math.Round(hours*60)) * time.Minute
}
