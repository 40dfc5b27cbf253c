package weather

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
)

// largest is the largest file read, in bytes after unpacking.
const largest = 100 << 20

// hoursOfYear is the number of hours a file must have, without the leap day.
const hoursOfYear = 8760

// Hour is the means of an hour.
type Hour struct {
	Global, Beam, Diffuse quantity.Irradiance
	Air, DewPoint         quantity.Temperature
	Wind                  quantity.Speed
}

// Series is a typical year.
type Series struct {
	Name                string
	Latitude, Longitude quantity.Angle
	Elevation           quantity.Length
	zone                time.Duration
	hours               []Hour // of a year of 365 days, from 1 January 0 to 1 o'clock standard time
	Filled              int    // values that carried a missing-value code
	Notes               []string
}

// ZoneOffset returns the file's standard time over UTC.
func (s *Series) ZoneOffset() time.Duration { return s.zone }

// Hour returns the means of the hour that holds t, whatever its year; 29 February reads the 28th.
func (s *Series) Hour(t time.Time) (global, beam, diffuse quantity.Irradiance, air quantity.Temperature, wind quantity.Speed) {
	h := s.hours[s.index(t)]
	return h.Global, h.Beam, h.Diffuse, h.Air, h.Wind
}

func (s *Series) index(t time.Time) int {
	local := t.UTC().Add(s.zone)
	month, day := local.Month(), local.Day()
	if month == time.February && day == 29 {
		day = 28
	}
	return hourOf(int(month), day, local.Hour())
}

// hourOf returns the hour's place in a year of 365 days.
func hourOf(month, day, hour int) int {
	return (time.Date(2023, time.Month(month), day, 0, 0, 0, 0, time.UTC).YearDay()-1)*24 + hour
}

// Read reads the file at path, gzip or plain, EPW or TMY3 by its first line.
func Read(path string) (*Series, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var r io.Reader = bufio.NewReader(f)
	if head, err := r.(*bufio.Reader).Peek(2); err == nil && head[0] == 0x1f && head[1] == 0x8b {
		if r, err = gzip.NewReader(r); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
	}
	return Decode(r, path)
}

// Decode reads a stream, EPW or TMY3 by its first line; name is its name in messages.
func Decode(r io.Reader, name string) (*Series, error) {
	data, err := io.ReadAll(io.LimitReader(r, largest+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(data) > largest {
		return nil, fmt.Errorf("%s: over %d MB, no hourly year is", name, largest>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if bytes.HasPrefix(bytes.ToUpper(data[:min(len(data), 9)]), []byte("LOCATION,")) {
		return decode(data, name, epw)
	}
	return decode(data, name, tmy3)
}

// column is where a value stands in a row, and how it reads.
type column struct {
	at        int
	missing   float64 // values at or over it are missing
	low, high float64
}

// layout is a format.
type layout struct {
	heads                                 int // header lines before the rows
	global, beam, diffuse, air, dew, wind column
	head                                  func(s *Series, rows [][]string, p *problem.List)
	stamp                                 func(row []string) (month, day, hour int, ok bool)
	least                                 int // columns a row must have
}

// reader gathers the rows of a file.
type reader struct {
	l        layout
	s        *Series
	seen     []bool
	problems problem.List
	name     string
	last     Hour
}

// mostProblems is how many problems of rows are listed one by one.
const mostProblems = 30

func decode(data []byte, name string, l layout) (*Series, error) {
	r := &reader{l: l, name: name, s: &Series{Name: name, hours: make([]Hour, hoursOfYear)}, seen: make([]bool, hoursOfYear)}
	c := csv.NewReader(bytes.NewReader(data))
	c.FieldsPerRecord, c.LazyQuotes, c.ReuseRecord = -1, true, true
	var heads [][]string
	for {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		line, _ := c.FieldPos(0)
		if err != nil {
			r.wrong(line, "", "a line of commas: "+err.Error())
			break
		}
		if len(heads) < l.heads {
			heads = append(heads, append([]string(nil), row...))
			continue
		}
		r.row(row, line)
		if r.problems.Len() > mostProblems {
			r.wrong(line, "", "fewer faults; the rest is not listed")
			break
		}
	}
	l.head(r.s, heads, &r.problems)
	missing := 0
	for _, ok := range r.seen {
		if !ok {
			missing++
		}
	}
	if missing > 0 && r.problems.Len() <= mostProblems {
		r.problems.Add(problem.Problem{File: name, Want: fmt.Sprintf("every hour of a year: %d of %d are missing", missing, hoursOfYear)})
	}
	if err := r.problems.Err(); err != nil {
		return nil, err
	}
	if r.s.Filled > 0 {
		r.s.Notes = append(r.s.Notes, fmt.Sprintf("%d values carried a missing-value code and were filled from the hour before, light with darkness", r.s.Filled))
	}
	return r.s, nil
}

func (r *reader) wrong(line int, found, want string) {
	r.problems.Add(problem.Problem{File: r.name, Line: line, Found: found, Want: want})
}

// row reads an hour.
func (r *reader) row(row []string, line int) {
	if len(row) == 1 && strings.TrimSpace(row[0]) == "" {
		return
	}
	if len(row) < r.l.least {
		r.wrong(line, "", fmt.Sprintf("a row of at least %d columns, not %d", r.l.least, len(row)))
		return
	}
	month, day, hour, ok := r.l.stamp(row)
	if !ok {
		r.wrong(line, strings.Join(row[:min(5, len(row))], ","), "a date and an hour")
		return
	}
	if month == 2 && day == 29 {
		return
	}
	if t := time.Date(2023, time.Month(month), day, 0, 0, 0, 0, time.UTC); int(t.Month()) != month {
		r.wrong(line, fmt.Sprintf("%d/%d", month, day), "a date of the calendar")
		return
	}
	h := Hour{
		Global:  quantity.Irradiance(r.value(row, line, r.l.global, 0)),
		Beam:    quantity.Irradiance(r.value(row, line, r.l.beam, 0)),
		Diffuse: quantity.Irradiance(r.value(row, line, r.l.diffuse, 0)),
		Wind:    quantity.Speed(r.value(row, line, r.l.wind, r.last.Wind.MetresPerSecond())),
	}
	air, dew := 10.0, 5.0
	if r.last.Air.Kelvin() > 0 {
		air, dew = r.last.Air.Celsius(), r.last.DewPoint.Celsius()
	}
	h.Air = quantity.Celsius(r.value(row, line, r.l.air, air))
	h.DewPoint = quantity.Celsius(r.value(row, line, r.l.dew, dew))
	k := hourOf(month, day, hour-1)
	if r.seen[k] {
		r.wrong(line, "", "each hour once")
		return
	}
	r.seen[k], r.s.hours[k], r.last = true, h, h
}

// value reads a number of a row; fill stands where the file marks it missing.
func (r *reader) value(row []string, line int, c column, fill float64) float64 {
	text := strings.TrimSpace(row[c.at])
	v, err := strconv.ParseFloat(text, 64)
	switch {
	case err == nil && v >= c.missing, text == "", err == nil && v <= -9000:
		r.s.Filled++
		return fill
	case err != nil || !(v >= c.low && v <= c.high):
		r.wrong(line, text, fmt.Sprintf("a number from %g to %g in column %d", c.low, c.high, c.at+1))
		return fill
	}
	return v
}

// epw is the EPW format: 8 header lines, then rows of at least 22 columns. Source: EnergyPlus auxiliary
// programs documentation, weather data dictionary, with its missing-value codes.
var epw = layout{
	heads: 8, least: 22,
	air: column{6, 99.9, -90, 70}, dew: column{7, 99.9, -90, 70}, global: column{13, 9999, 0, 1500},
	beam: column{14, 9999, 0, 1500}, diffuse: column{15, 9999, 0, 1200}, wind: column{21, 999, 0, 100},
	head: func(s *Series, rows [][]string, p *problem.List) {
		if len(rows) == 0 || len(rows[0]) < 10 {
			p.Add(problem.Problem{File: s.Name, Line: 1, Want: "LOCATION with ten fields: place, position, zone, height"})
			return
		}
		s.locate(rows[0][6], rows[0][7], rows[0][8], rows[0][9], p)
		s.Name = strings.TrimSpace(rows[0][1])
	},
	stamp: func(row []string) (month, day, hour int, ok bool) {
		return stampOf(row[1], row[2], row[3])
	},
}

// tmy3 is the TMY3 format as CSV: a line for the station, a line of column names, rows dated month/day/year
// with hours 01:00 to 24:00. Source: Wilcox & Marion 2008, NREL/TP-581-43156, tables 1-1 to 1-4.
var tmy3 = layout{
	heads: 2, least: 47,
	global: column{4, 9900, 0, 1500}, beam: column{7, 9900, 0, 1500}, diffuse: column{10, 9900, 0, 1200},
	air: column{31, 9900, -90, 70}, dew: column{34, 9900, -90, 70}, wind: column{46, 9900, 0, 100},
	head: func(s *Series, rows [][]string, p *problem.List) {
		if len(rows) == 0 || len(rows[0]) < 7 {
			p.Add(problem.Problem{File: s.Name, Line: 1, Want: "an EPW file, or a TMY3 file whose first line has the station, its zone, position and height"})
			return
		}
		s.locate(rows[0][4], rows[0][5], rows[0][3], rows[0][6], p)
		s.Name = strings.TrimSpace(rows[0][1])
	},
	stamp: func(row []string) (month, day, hour int, ok bool) {
		date := strings.Split(strings.TrimSpace(row[0]), "/")
		if len(date) != 3 {
			return 0, 0, 0, false
		}
		clock, _, _ := strings.Cut(strings.TrimSpace(row[1]), ":")
		return stampOf(date[0], date[1], clock)
	},
}

// stampOf reads month, day and the hour 1 to 24 that ends at the stamp.
func stampOf(m, d, h string) (month, day, hour int, ok bool) {
	month, e1 := strconv.Atoi(strings.TrimSpace(m))
	day, e2 := strconv.Atoi(strings.TrimSpace(d))
	hour, e3 := strconv.Atoi(strings.TrimSpace(h))
	ok = e1 == nil && e2 == nil && e3 == nil && month >= 1 && month <= 12 && day >= 1 && day <= 31 && hour >= 1 && hour <= 24
	return month, day, hour, ok
}

// locate reads the station's position, zone and height.
func (s *Series) locate(lat, lon, zone, height string, p *problem.List) {
	number := func(text, what string, low, high float64) float64 {
		v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
		if err != nil || !(v >= low && v <= high) {
			p.Add(problem.Problem{File: s.Name, Line: 1, Found: text, Want: fmt.Sprintf("%s from %g to %g", what, low, high)})
			return 0
		}
		return v
	}
	s.Latitude = quantity.Angle(number(lat, "a latitude", -90, 90)) * quantity.Degree
	s.Longitude = quantity.Angle(number(lon, "a longitude", -180, 180)) * quantity.Degree
	s.zone = time.Duration(number(zone, "a zone in hours", -14, 14) * float64(time.Hour))
	s.Elevation = quantity.Length(number(height, "a height in metres", -500, 9000))
}
