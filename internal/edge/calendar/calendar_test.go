package calendar

import (
	"strings"
	"testing"
	"time"
)

// Lines are at most 75 octets and end in CRLF; unfolded and unescaped the text is the one given; days are
// days.
func TestText(t *testing.T) {
	title, text := `Baseline; ratio, of twins \ again`, strings.Repeat("Edges lifting, plugs – clips; ", 9)+"\nsecond line"
	day := time.Date(2027, 12, 31, 13, 0, 0, 0, time.FixedZone("", 3600))
	s := Text([]Event{{Day: day, Title: title, Text: text, Every: 12}, {Day: day, Title: "once"}}, time.Date(2027, 6, 21, 11, 0, 0, 0, time.UTC))
	for _, l := range strings.Split(strings.TrimSuffix(s, "\r\n"), "\r\n") {
		if len(l) > 75 || strings.ContainsAny(l, "\r\n") {
			t.Errorf("a line of %d octets: %q", len(l), l)
		}
	}
	flat := strings.ReplaceAll(s, "\r\n ", "")
	found := map[string]string{}
	for l := range strings.SplitSeq(flat, "\r\n") {
		if k, v, ok := strings.Cut(l, ":"); ok && found[k] == "" {
			found[k] = v
		}
	}
	plain := strings.NewReplacer(`\\`, `\`, `\;`, ";", `\,`, ",", `\n`, "\n").Replace
	if got := plain(found["SUMMARY"]); got != title {
		t.Errorf("title %q, want %q", got, title)
	}
	if got := plain(found["DESCRIPTION"]); got != text {
		t.Errorf("text %q, want %q", got, text)
	}
	for k, want := range map[string]string{"DTSTART;VALUE=DATE": "20271231", "DTEND;VALUE=DATE": "20280101", "DTSTAMP": "20270621T110000Z", "RRULE": "FREQ=MONTHLY;INTERVAL=12"} {
		if found[k] != want {
			t.Errorf("%s: %q, want %q", k, found[k], want)
		}
	}
	if n := strings.Count(flat, "RRULE"); n != 1 {
		t.Errorf("%d rules of repetition, want 1", n)
	}
	if strings.Count(flat, "BEGIN:") != strings.Count(flat, "END:") {
		t.Error("a part is not closed")
	}
}
