package weather

import (
	"math"
	"strings"
	"testing"
)

// checkWhole fails unless s is a year of finite hours, or err says why there is none.
func checkWhole(t testing.TB, s *Series, err error) {
	t.Helper()
	if (s == nil) == (err == nil) {
		t.Fatalf("series %v and error %v", s, err)
	}
	if s == nil {
		return
	}
	if len(s.Hours) != yearHours {
		t.Fatalf("%d hours", len(s.Hours))
	}
	for at, h := range s.Hours {
		sum := h.Global.WattsPerSquareMetre() + h.Beam.WattsPerSquareMetre() + h.Diffuse.WattsPerSquareMetre() + h.Air.Celsius() + h.DewPoint.Celsius() +
			h.Wind.MetresPerSecond() + h.Pressure.Pascals()
		if math.IsNaN(sum) || math.IsInf(sum, 0) {
			t.Fatalf("hour %d: %+v", at, h)
		}
		if h.Global < 0 || h.Beam < 0 || h.Diffuse < 0 || h.Wind < 0 {
			t.Fatalf("hour %d below nothing: %+v", at, h)
		}
	}
}

// A text of few rows never makes a year; what the filling does with a year is in property_test.go.
func FuzzEPW(f *testing.F) {
	f.Add("LOCATION,Town,-,XXX,TMY3,000001,40.0,-105.0,-7.0,1800.0\n1999,1,1,1,0,?,5.6,-2.9,53,92100,0,0,272,10,0,10,0,0,0,0,190,6.2,1\n")
	f.Add("\ufeffLOCATION\r\n,,,\r\n")
	f.Add("LOCATION,a,b,c,d,e,-90,180,99,-9999\nDESIGN CONDITIONS,1,x,,Heating,1,-5,-3,Extremes,1,2,3,-4\n0,2,29,24,0,,1,NaN,,1e300,,,,9999,500,9999,,,,,,-1")
	f.Add("LOCATION,a,\"b,c,d,e,71,0,0,0\nDATA PERIODS,1,4\n0,12,31,0,0,,1,,,,,,,500,,,,,,,,")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ReadEPW(strings.NewReader(text), "fuzz")
		checkWhole(t, s, err)
		s, err = read(strings.NewReader(text), "fuzz", "")
		checkWhole(t, s, err)
	})
}

func FuzzTMY3(f *testing.F) {
	f.Add("724666,\"TOWN\",CO,-7.0,39.743,-105.178,1829\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C)\n1/1/1999,24:00,100,5\n")
	f.Add("1,x,,,0,0,\nDate,GHI (,DRY-BULB (,DHI (\n1999-12-31,0:00:00,-9900,3,")
	f.Add("")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ReadTMY3(strings.NewReader(text), "fuzz")
		checkWhole(t, s, err)
	})
}
