package weather

import (
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
)

// Series is a year of 8760 hours at a place.
type Series struct {
	Name                string
	Format              string // "EPW" or "TMY3"
	Latitude, Longitude quantity.Angle
	Elevation           quantity.Length
	Hours               []Hour       // from 1 January, 0 h; 29 February is left out
	Design              *Design      // nil: the header has none
	Filled              int          // values that were not in the file; Notes say which and how
	Problems            problem.List // faults that were got over
	Notes               []string

	offset time.Duration
}

// Hour is the means of one hour of local standard time.
type Hour struct {
	Month    time.Month
	Day      int
	Start    int // hour of the day at which it begins, 0 to 23
	Global   quantity.Irradiance
	Beam     quantity.Irradiance // facing the sun
	Diffuse  quantity.Irradiance // on the level
	Air      quantity.Temperature
	DewPoint quantity.Temperature
	Wind     quantity.Speed
	Pressure quantity.Pressure
}

// Design is the design temperatures that a header carries.
type Design struct {
	Source       string // the edition, as the header names it
	ColdestMonth time.Month
	Heating996   quantity.Temperature // exceeded in 99.6 % of the hours of the year
	Heating99    quantity.Temperature // in 99 %
	Extremes     *Extremes            // nil: not given
}

// Extremes is the extreme yearly air temperatures of a header.
type Extremes struct {
	MeanMinimum, MeanMaximum                  quantity.Temperature // of the years' extremes
	MinimumDeviation, MaximumDeviation        quantity.TempDiff    // standard deviations of them
	Lowest5, Lowest10, Lowest20, Lowest50     quantity.Temperature // with a return period of so many years
	Highest5, Highest10, Highest20, Highest50 quantity.Temperature
}

// yearHours is the hours of a year without a leap day.
const yearHours = 8760

// ZoneOffset returns the file's standard time less UTC.
func (s *Series) ZoneOffset() time.Duration { return s.offset }

// At returns the hour of a month, day and hour of the day in the file's standard time, the hour that
// begins then. 29 February is the 28th. It reports false for what is no date or hour.
func (s *Series) At(m time.Month, day, hour int) (Hour, bool) {
	if m == time.February && day == 29 {
		day = 28
	}
	at := slot(int(m), day, hour)
	if at < 0 || at >= len(s.Hours) {
		return Hour{}, false
	}
	return s.Hours[at], true
}

// Hour returns the means of the hour that holds t, an instant of any year. 29 February is the 28th.
// It interpolates nothing.
func (s *Series) Hour(t time.Time) (global, beam, diffuse quantity.Irradiance, air quantity.Temperature, wind quantity.Speed) {
	t = t.UTC().Add(s.offset)
	_, month, day := t.Date()
	if month == time.February && day == 29 {
		day = 28
	}
	h := &s.Hours[slot(int(month), day, t.Hour())]
	return h.Global, h.Beam, h.Diffuse, h.Air, h.Wind
}

// Coldest returns the lowest air temperature of the year's hours.
func (s *Series) Coldest() quantity.Temperature {
	low := s.Hours[0].Air
	for i := range s.Hours {
		if s.Hours[i].Air.Before(low) {
			low = s.Hours[i].Air
		}
	}
	return low
}

// monthStart is the days before each month of a year without a leap day, and monthDays its days.
var (
	monthStart = [13]int{0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365}
	monthDays  = [12]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
)

// slot returns the index of the hour that begins at hour 0 to 23 of a day, or -1.
func slot(month, day, hour int) int {
	if month < 1 || month > 12 || day < 1 || day > monthDays[month-1] || hour < 0 || hour > 23 {
		return -1
	}
	return 24*(monthStart[month-1]+day-1) + hour
}

// dateOf returns month, day and hour of a slot.
func dateOf(at int) (time.Month, int, int) {
	day, m := at/24, 0
	for day >= monthStart[m+1] {
		m++
	}
	return time.Month(m + 1), day - monthStart[m] + 1, at % 24
}
