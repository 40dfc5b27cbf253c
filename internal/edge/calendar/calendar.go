// Package calendar writes days to be reminded of as an iCalendar text, for any calendar program to take in.
//
// Left out: times of day, zones, attendees, reading.
package calendar

import (
	"fmt"
	"hash/fnv"
	"strings"
	"time"
	"unicode/utf8"
)

// Event is something on a whole day.
type Event struct {
	Day   time.Time // its date in its own location
	Title string
	Text  string
	Every int // months; 0: once
}

// Text returns the events as an iCalendar object: whole days, an alarm at eight in the morning, lines
// folded at 75 octets. stamp is the instant it was made. Source: RFC 5545, clauses 3.1, 3.3.11, 3.4, 3.6.1
// and 3.6.6.
func Text(events []Event, stamp time.Time) string {
	var b strings.Builder
	line := func(format string, args ...any) { b.WriteString(fold(fmt.Sprintf(format, args...))) }
	line("BEGIN:VCALENDAR")
	line("VERSION:2.0")
	line("PRODID:-//noonmark//reminders//EN")
	for _, e := range events {
		h := fnv.New64a()
		h.Write([]byte(e.Title + "\x00" + e.Text + e.Day.Format("20060102")))
		line("BEGIN:VEVENT")
		line("UID:%016x@noonmark", h.Sum64())
		line("DTSTAMP:%s", stamp.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE:%s", e.Day.Format("20060102"))
		line("DTEND;VALUE=DATE:%s", e.Day.AddDate(0, 0, 1).Format("20060102"))
		if e.Every > 0 {
			line("RRULE:FREQ=MONTHLY;INTERVAL=%d", e.Every)
		}
		line("SUMMARY:%s", escape(e.Title))
		if e.Text != "" {
			line("DESCRIPTION:%s", escape(e.Text))
		}
		line("TRANSP:TRANSPARENT")
		line("BEGIN:VALARM")
		line("ACTION:DISPLAY")
		line("DESCRIPTION:%s", escape(e.Title))
		line("TRIGGER:PT8H")
		line("END:VALARM")
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	return b.String()
}

// escape marks the letters that have a meaning of their own. Source: RFC 5545, clause 3.3.11.
func escape(s string) string {
	s = strings.ReplaceAll(s, "\r", "")
	return strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`).Replace(s)
}

// fold cuts a content line at 75 octets, never within a letter. Source: RFC 5545, clause 3.1.
func fold(s string) string {
	var b strings.Builder
	room := 75
	for _, r := range s {
		n := utf8.RuneLen(r)
		if n < 0 {
			r, n = utf8.RuneError, 3
		}
		if n > room {
			b.WriteString("\r\n ")
			room = 74
		}
		b.WriteRune(r)
		room -= n
	}
	return b.String() + "\r\n"
}
