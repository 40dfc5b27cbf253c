package weather

import (
	"strings"
	"testing"
)

// FuzzDecode: no input makes the readers panic, and a series that is returned is whole.
func FuzzDecode(f *testing.F) {
	f.Add("LOCATION,Town,-,XXX,TMY3,000001,40.0,-105.0,-7.0,1800.0\n")
	f.Add("724666,\"TOWN\",CO,-7.0,39.743,-105.178,1829\nDate,Time\n01/01/1995,01:00,0,0\n")
	f.Add("\ufeffLOCATION\r\n,,,\r\n")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Decode(strings.NewReader(text), "fuzz")
		if (s == nil) == (err == nil) {
			t.Fatalf("series %v and error %v", s, err)
		}
		if s != nil && len(s.hours) != hoursOfYear {
			t.Fatalf("%d hours", len(s.hours))
		}
	})
}
