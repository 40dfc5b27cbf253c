package weather

import (
	"math"
	"strings"
	"testing"
)

// checkWhole fails unless s is a year of finite hours, or err says why there is none.
func checkWhole(t *testing.T, s *Series, err error) {
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
	}
}

// stretch returns a file of a whole year made of one row, so that fuzzing reaches the filling.
func stretch(head, row string) string {
	var b strings.Builder
	b.WriteString(head)
	b.WriteByte('\n')
	for at := range yearHours {
		m, d, h := dateOf(at)
		b.WriteString(strings.NewReplacer("{m}", itoa(int(m)), "{d}", itoa(d), "{h}", itoa(h+1)).Replace(row))
		b.WriteByte('\n')
	}
	return b.String()
}

func itoa(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }

func FuzzEPW(f *testing.F) {
	f.Add("LOCATION,Town,-,XXX,TMY3,000001,40.0,-105.0,-7.0,1800.0", "1999,{m},{d},{h},0,?,5.6,-2.9,53,92100,0,0,272,10,0,10,0,0,0,0,190,6.2,1")
	f.Add("\ufeffLOCATION\r\n,,,\r\n", "1999,{m},{d},{h}")
	f.Add("LOCATION,a,b,c,d,e,-90,180,99,-9999\nDESIGN CONDITIONS,1,x,,Heating,1,-5,-3,Extremes,1,2,3,-4", "0,{m},{d},{h},0,,1,NaN,,1e300,,,,9999,500,9999,,,,,,-1")
	f.Add("LOCATION,a,b,c,d,e,71,0,0,0\nDATA PERIODS,1,4", "0,{m},{d},0,0,,1,,,,,,,500,,,,,,,,")
	f.Fuzz(func(t *testing.T, head, row string) {
		s, err := ReadEPW(strings.NewReader(head+"\n"+row), "fuzz")
		checkWhole(t, s, err)
		if len(row) < 200 {
			s, err = ReadEPW(strings.NewReader(stretch(head, row)), "fuzz")
			checkWhole(t, s, err)
		}
	})
}

func FuzzTMY3(f *testing.F) {
	f.Add("724666,\"TOWN\",CO,-7.0,39.743,-105.178,1829\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C)", "{m}/{d}/1999,{h}:00,100,5")
	f.Add("1,x,,,0,0,\nDate,GHI (,DRY-BULB (,DHI (", "1999-{m}-{d},-9900,3,")
	f.Add("", "")
	f.Fuzz(func(t *testing.T, head, row string) {
		s, err := ReadTMY3(strings.NewReader(head+"\n"+row), "fuzz")
		checkWhole(t, s, err)
		if len(row) < 200 {
			s, err = ReadTMY3(strings.NewReader(stretch(head, row)), "fuzz")
			checkWhole(t, s, err)
		}
	})
}
