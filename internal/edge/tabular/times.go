package tabular

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// stamps reads the cells of date and time of a row; ok is false where there is nothing or no time.
func (in *reader) stamps(i int) (s stamp, found string, column int, ok bool) {
	if in.stamped == nil {
		in.stamped = make([]stamped, len(in.t.Rows))
		for k := range in.stamped {
			m := &in.stamped[k]
			m.stamp, m.found, m.column, m.ok = in.parse(k)
		}
	}
	m := in.stamped[i]
	return m.stamp, m.found, m.column, m.ok
}

// stamped is a row's date and time as written.
type stamped struct {
	stamp  stamp
	found  string
	column int
	ok     bool
}

// parse reads what stamps returns.
func (in *reader) parse(i int) (s stamp, found string, column int, ok bool) {
	row := &in.t.Rows[i]
	tc, hasTime := in.t.at["time"]
	dc, hasDate := in.t.at["date"]
	switch {
	case hasTime && hasDate && row.Cells[dc].Text != "":
		found, column = strings.TrimSpace(row.Cells[dc].Text+" "+row.Cells[tc].Text), dc+1
		d, ok1 := parseStamp(row.Cells[dc].Text)
		if row.Cells[tc].Text == "" {
			return d, found, column, ok1
		}
		t, ok2 := parseStamp(row.Cells[tc].Text)
		if !ok1 || !ok2 || d.isEpoch || t.isEpoch {
			return s, found, column, false
		}
		if t.year >= 0 {
			return t, found, column, true // the time has a date of its own
		}
		d.hour, d.minute, d.nanosecond, d.zone = t.hour, t.minute, t.nanosecond, t.zone
		return d, found, column, true
	case hasTime:
		found, column = row.Cells[tc].Text, tc+1
	case hasDate:
		found, column = row.Cells[dc].Text, dc+1
	}
	if found == "" {
		return s, "", column, false
	}
	s, ok = parseStamp(found)
	return s, found, column, ok
}

// order returns the order of day and month of the file: as given, or as its dates show.
func (in *reader) order() Order {
	if in.o.Order != UnknownOrder {
		return in.o.Order
	}
	for i := range in.t.Rows {
		s, _, _, ok := in.stamps(i)
		switch {
		case !ok || s.a < 0:
		case s.dots, s.a > 12: // dotted dates put the day first everywhere
			return DayFirst
		case s.b > 12:
			return MonthFirst
		}
	}
	return UnknownOrder
}

// times reads the instants of the rows.
func (in *reader) times() {
	if !in.t.Has("time") && !in.t.Has("date") {
		in.note("no column of times")
		return
	}
	zone := in.o.Zone
	for _, c := range in.t.Columns {
		if (c.Field == "time" || c.Field == "date") && strings.Contains(" "+plainHead(c.Header)+" ", " utc ") {
			zone = time.UTC
		}
	}
	order := in.order()
	doubtful := 0
	var last, day time.Time
	day = in.o.Date
	once := map[string]bool{}
	complain := func(i, column int, found, want, likely string) {
		in.t.Rows[i].Timely = Unread
		if once[want] {
			in.t.More++
			return
		}
		in.fault(in.t.Rows[i].Line, column, "time", found, want, likely)
	}
	twice := 0
	for i := range in.t.Rows {
		row := &in.t.Rows[i]
		s, found, column, ok := in.stamps(i)
		if found == "" {
			continue
		}
		const noZone = "the clock's time zone: the file does not say it and none was given; no time was read"
		switch {
		case !ok:
			complain(i, column, found, "a date and time, such as 2027-06-21 13:05", "")
			continue
		case !s.isEpoch && s.zone == nil && zone == nil:
			complain(i, column, found, noZone, "")
			once[noZone] = true
			continue
		case s.year < 0 && !s.isEpoch && day.IsZero():
			want := "the day: the file has times without a date and none was given; no time was read"
			complain(i, column, found, want, "")
			once[want] = true
			continue
		case s.year < 0 && !s.isEpoch:
			s.year, s.month, s.day = day.Year(), int(day.Month()), day.Day()
		case s.a >= 0 && order == UnknownOrder:
			if s.doubtful() {
				doubtful++
				want := fmt.Sprintf("which comes first, day or month: %d/%d can be either, and no date of the file settles it; no doubtful date was read", s.a, s.b)
				if doubtful == 1 {
					complain(i, column, found, want, in.rising())
				} else {
					row.Timely = Unread
					in.t.More++
				}
				continue
			}
			s.settle(DayFirst)
		case s.a >= 0 && !s.settle(order):
			complain(i, column, found, "a date with the "+order.String()+", as the rest of the file", "")
			continue
		}
		if !s.real() {
			complain(i, column, found, "a day that is in the calendar", "")
			continue
		}
		t, gap, two := s.instant(zone)
		if s.year >= 0 && in.dateless(i) && !last.IsZero() && last.Sub(t) > 6*time.Hour { // past midnight
			day = day.AddDate(0, 0, 1)
			t = t.AddDate(0, 0, 1)
		}
		switch {
		case gap:
			complain(i, column, found, "a time that the clock showed: it was put forward over it", "")
			continue
		case t.Year() < 2000:
			complain(i, column, found, "a clock that is set: a year before 2000 is a device's start", "")
			continue
		case t.Year() > 2100:
			complain(i, column, found, "a year up to 2100", "")
			continue
		}
		if two {
			twice++
			if !last.IsZero() && t.Before(last) {
				t = t.Add(time.Hour)
			}
		}
		row.Time, row.Timely = t, Known
		last = t
	}
	if order != UnknownOrder && in.slashed() {
		in.t.Layout.Dates = order.String()
	}
	if twice > 0 {
		in.note("%d times were shown twice by the clock as it was put back: the first is taken, the second where the rows before show it", twice)
	}
}

// dateless reports whether a row's time has no date beside it.
func (in *reader) dateless(i int) bool {
	s, _, _, ok := in.stamps(i)
	return ok && s.year < 0 && !s.isEpoch
}

// slashed reports whether a date's order mattered.
func (in *reader) slashed() bool {
	for i := range in.t.Rows {
		if s, _, _, ok := in.stamps(i); ok {
			return s.a >= 0
		}
	}
	return false
}

// rising names the order of day and month under which times never fall, where one alone does.
func (in *reader) rising() string {
	fits := func(o Order) bool {
		var last time.Time
		for i := range in.t.Rows {
			s, _, _, ok := in.stamps(i)
			if !ok || s.a < 0 || !s.settle(o) {
				continue
			}
			t, _, _ := s.instant(time.UTC)
			if t.Before(last) {
				return false
			}
			last = t
		}
		return true
	}
	day, month := fits(DayFirst), fits(MonthFirst)
	switch {
	case day && !month:
		return DayFirst.String() + ": only so do times rise"
	case month && !day:
		return MonthFirst.String() + ": only so do times rise"
	}
	return ""
}

// repeats marks rows that say the same again and lists those of one time and module that do not.
func (in *reader) repeats() {
	seen := map[string]int{}
	same := 0
	for i := range in.t.Rows {
		row := &in.t.Rows[i]
		if row.Time.IsZero() {
			continue
		}
		key := row.Time.UTC().Format(time.RFC3339Nano)
		for _, f := range []string{"module", "kind", "position"} {
			key += "\x00" + in.t.Text(i, f)
		}
		before, ok := seen[key]
		if !ok {
			seen[key] = i
			continue
		}
		if slices.EqualFunc(row.Cells, in.t.Rows[before].Cells, func(a, b Cell) bool { return a.Text == b.Text }) {
			row.Repeat = true
			same++
			continue
		}
		in.note("line %d has the same time as line %d and other values: both are kept", row.Line, in.t.Rows[before].Line)
	}
	if same > 0 {
		in.note("%d rows say the same as a row before and are marked as repeats", same)
	}
}
