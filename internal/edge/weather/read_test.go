package weather

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/problem"
	"noonmark/internal/testkit"
)

// sample returns an EPW file of a made-up place, and lets edit change or drop ("-") any row.
func sample(edit func(at int, f []string) []string) string {
	var b strings.Builder
	b.WriteString("LOCATION,Heron Flat,XX,YYY,made up,000001,40.0,-105.0,-7.0,1600.0\nCOMMENTS 1,\"one, two\"\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n")
	for at := range yearHours {
		m, d, h := dateOf(at)
		sun := math.Max(0, math.Sin(math.Pi*float64(h-6)/12))
		f := make([]string, 35)
		for i := range f {
			f[i] = "0"
		}
		f[0], f[1], f[2], f[3] = "1999", fmt.Sprint(int(m)), fmt.Sprint(d), fmt.Sprint(h+1)
		f[6], f[7], f[9] = fmt.Sprint(d), fmt.Sprint(d-5), "83000"
		f[13], f[14], f[15], f[21] = fmt.Sprintf("%.0f", 700*sun), fmt.Sprintf("%.0f", 600*sun), fmt.Sprintf("%.0f", 150*sun), "3.5"
		if edit != nil {
			if f = edit(at, f); f == nil {
				continue
			}
		}
		b.WriteString(strings.Join(f, ","))
		b.WriteByte('\n')
	}
	return b.String()
}

func mustRead(t *testing.T, text string) *Series {
	t.Helper()
	s, err := ReadEPW(strings.NewReader(text), "sample.epw")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSample(t *testing.T) {
	s := mustRead(t, sample(nil))
	if s.Filled != 0 || s.Notes != nil || s.Problems.Len() != 0 || s.Name != "Heron Flat" || s.Format != "EPW" {
		t.Fatalf("%+v", s)
	}
	// The row labelled 13 is the hour from 12 to 13.
	h, ok := s.At(time.May, 4, 12)
	if !ok || h.Month != time.May || h.Day != 4 || h.Start != 12 || h.Global != 700 || h.Beam != 600 || h.Diffuse != 150 || h.Air.Celsius() != 4 || h.Wind != 3.5 || h.Pressure != 83000 {
		t.Errorf("4 May 12 h: %+v", h)
	}
	// The same by instants: 19:30 UTC is 12:30 at UTC-7, whatever the year and the zone of t.
	for _, when := range []time.Time{time.Date(2031, 5, 4, 19, 30, 0, 0, time.UTC), time.Date(1990, 5, 4, 21, 0, 0, 0, time.FixedZone("", 7200))} {
		g, b, d, air, wind := s.Hour(when)
		if g != 700 || b != 600 || d != 150 || math.Abs(air.Celsius()-4) > 1e-9 || wind != 3.5 {
			t.Errorf("%v: %v %v %v %v %v", when, g, b, d, air, wind)
		}
	}
	if _, _, _, air, _ := s.Hour(time.Date(2028, 2, 29, 20, 0, 0, 0, time.UTC)); math.Abs(air.Celsius()-28) > 1e-9 {
		t.Errorf("29 February reads %v", air.Celsius())
	}
	if h, ok := s.At(time.February, 29, 3); !ok || h.Day != 28 {
		t.Errorf("At 29 February: %+v %t", h, ok)
	}
	for _, bad := range [][3]int{{0, 1, 1}, {13, 1, 1}, {4, 31, 0}, {1, 0, 0}, {1, 1, 24}, {1, 1, -1}} {
		if _, ok := s.At(time.Month(bad[0]), bad[1], bad[2]); ok {
			t.Errorf("At%v is an hour", bad)
		}
	}
}

// The same file with a mark, CRLF, gzip, blank lines, no newline at the end and 0-based hours reads alike.
func TestWrappings(t *testing.T) {
	plain := sample(nil)
	want := mustRead(t, plain)
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write([]byte(plain)); err != nil || z.Close() != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"mark": "\ufeff" + plain, "CRLF": strings.ReplaceAll(plain, "\n", "\r\n"), "gzip": packed.String(), "blank lines": "\n\n" + strings.ReplaceAll(plain, "\n", "\n\n"),
		"no last newline": strings.TrimRight(plain, "\n"), "quotes": strings.ReplaceAll(plain, "Heron Flat", `"Heron Flat"`),
		"hours from 0":   sample(func(at int, f []string) []string { f[3] = fmt.Sprint(at % 24); return f }),
		"only LOCATION":  plain[:strings.IndexByte(plain, '\n')+1] + plain[strings.Index(plain, "1999"):],
		"cut after wind": sample(func(_ int, f []string) []string { return f[:22] }),
		"leading zeros":  sample(func(_ int, f []string) []string { f[1], f[3] = "0"+f[1], "0"+f[3]; return f }),
	} {
		got := mustRead(t, text)
		for at := range want.Hours {
			if got.Hours[at] != want.Hours[at] {
				t.Errorf("%s: hour %d is %+v, want %+v", name, at, got.Hours[at], want.Hours[at])
				break
			}
		}
	}
}

// Missing values are filled and counted, by what stands beside.
func TestGaps(t *testing.T) {
	s := mustRead(t, sample(func(at int, f []string) []string {
		switch {
		case at >= 100 && at < 103: // 5 January, 4 to 7 h
			f[6], f[21] = "99.9", "999"
		case at >= 24*40 && at < 24*42: // two days
			f[6] = "99.9"
		case at == 24*200+12:
			f[13] = "9999"
		case at == 24*201+12:
			f[14], f[15] = "9999", "9999"
		case at == 24*202+12:
			f[13], f[14], f[15] = "9999", "9999", ""
		case at == 24*203:
			return nil
		}
		f[7], f[9] = "99.9", "999999"
		return f
	}))
	if s.Filled == 0 || len(s.Notes) < 5 {
		t.Errorf("%d filled, notes %q", s.Filled, s.Notes)
	}
	if s.Problems.Len() != 0 {
		t.Errorf("problems: %v", s.Problems.Err())
	}
	if a := s.Hours[101].Air.Celsius(); math.Abs(a-5) > 1e-9 {
		t.Errorf("short gap of air: %g °C, want 5", a)
	}
	if a := s.Hours[24*40+5].Air.Celsius(); math.Abs(a-s.Hours[24*39+5].Air.Celsius()) > 1e-9 {
		t.Errorf("long gap of air: %g °C", a)
	}
	if g := s.Hours[24*200+12].Global.WattsPerSquareMetre(); g < 600 || g > 760 {
		t.Errorf("global from beam and diffuse: %g W/m²", g)
	}
	if h := s.Hours[24*201+12]; h.Beam <= 0 || h.Diffuse <= 0 || h.Diffuse >= h.Global {
		t.Errorf("split of global: %+v", h)
	}
	if h := s.Hours[24*202+12]; h.Global != s.Hours[24*203+12].Global && h.Global != s.Hours[24*201+12].Global {
		t.Errorf("light from the nearest day: %+v", h)
	}
	if p := s.Hours[0].Pressure.Hectopascals(); math.Abs(p-835) > 2 { // standard atmosphere, 1600 m
		t.Errorf("pressure %g hPa", p)
	}
	if d := s.Hours[3]; d.DewPoint.Celsius() > d.Air.Celsius() {
		t.Errorf("dew point above the air: %+v", d)
	}
	for at, h := range s.Hours {
		for _, v := range []float64{h.Global.WattsPerSquareMetre(), h.Beam.WattsPerSquareMetre(), h.Diffuse.WattsPerSquareMetre(), h.Air.Celsius(), h.DewPoint.Celsius(), h.Wind.MetresPerSecond(), h.Pressure.Pascals()} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("hour %d: %+v", at, h)
			}
		}
	}
}

// Faults of single rows are listed with their lines and got over.
func TestRowFaults(t *testing.T) {
	s := mustRead(t, sample(func(at int, f []string) []string {
		switch at {
		case 10:
			f[6] = "warm"
		case 20:
			f[13] = "2000"
		case 30:
			f[1] = "13"
		case 40:
			return f[:9]
		case 50:
			f[21] = "-3"
		}
		return f
	}))
	all := s.Problems.All()
	if len(all) != 5 {
		t.Fatalf("%d problems: %v", len(all), s.Problems.Err())
	}
	for i, line := range []int{14, 24, 34, 44, 54} { // three lines of header, counted from 1
		if all[i].Line != line || all[i].Want == "" || all[i].File != "sample.epw" {
			t.Errorf("problem %d: %v, want line %d", i, all[i], line)
		}
	}
}

// What cannot serve is refused with every reason.
func TestRefused(t *testing.T) {
	head := "LOCATION,Heron Flat,XX,YYY,made up,000001,40.0,-105.0,-7.0,1600.0\n"
	for name, c := range map[string]struct{ text, want string }{
		"empty": {"", "EPW"}, "prose": {"What a day.\nIndeed.\n", "EPW"}, "header only": {head, "none"}, "short LOCATION": {"LOCATION,Heron Flat\n1999,1,1,1\n", "latitude"},
		"far north": {strings.Replace(sample(nil), "40.0", "140.0", 1), "latitude"},
		"half a year": {sample(func(at int, f []string) []string {
			if at > 4000 {
				return nil
			}
			return f
		}), "8760"},
		"no light":       {sample(func(_ int, f []string) []string { f[13], f[14] = "9999", "9999"; return f }), "global"},
		"UTF-16":         {"\xff\xfeL\x00O\x00", "UTF-8"},
		"endless header": {head + strings.Repeat("COMMENTS\n", 1000), "rows"},
		"TMY3, no light": {"724666,X,CO,-7,39.7,-105.2,1829\nDate (MM/DD/YYYY),Time (HH:MM),DNI (W/m^2)\n", "GHI"},
		"TMY3, no place": {"724666,X\nDate (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C)\n", "latitude"},
	} {
		s, err := read(strings.NewReader(c.text), "bad", "")
		var p *problem.Error
		if !errors.As(err, &p) || !strings.Contains(err.Error(), c.want) || s != nil {
			t.Errorf("%s: %v, want a problem that names %s", name, err, c.want)
		}
	}
	if _, err := Read("no such file"); !errors.Is(err, os.ErrNotExist) {
		t.Error(err)
	}
}

// endless gives zeros for ever.
type endless struct{ b byte }

func (e endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.b
	}
	return len(p), nil
}

func TestTooLarge(t *testing.T) {
	for name, r := range map[string]io.Reader{"one line": endless{'0'}, "blank lines": endless{'\n'}} {
		if _, err := ReadEPW(io.MultiReader(strings.NewReader(sample(nil)), r), "large"); err == nil || !strings.Contains(err.Error(), "over 100 MB") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Odd headers: no zone, no height, a comma in the name; a leap day; two years; quarter hours.
func TestOddities(t *testing.T) {
	plain := sample(nil)
	s := mustRead(t, strings.Replace(plain, "-7.0,1600.0", ",", 1))
	if s.ZoneOffset() != -7*time.Hour || s.Elevation != 0 || len(s.Notes) != 2 {
		t.Errorf("short header: %v %v %q", s.ZoneOffset(), s.Elevation, s.Notes)
	}
	s = mustRead(t, strings.Replace(plain, "Heron Flat", "Heron Flat, lower", 1))
	if math.Abs(s.Latitude.Degrees()-40) > 1e-9 || s.Elevation != 1600 {
		t.Errorf("comma in the name: %v %v", s.Latitude, s.Elevation)
	}
	s = mustRead(t, strings.Replace(plain, "-7.0", "5.5", 1))
	if s.ZoneOffset() != 5*time.Hour+30*time.Minute {
		t.Errorf("half-hour zone: %v", s.ZoneOffset())
	}
	march := strings.Index(plain, "1999,3,1,1,")
	leap := strings.ReplaceAll(plain[strings.Index(plain, "1999,2,28,1,"):march], "1999,2,28,", "1999,2,29,")
	s = mustRead(t, plain[:march]+leap+plain[march:])
	if len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "24 rows of 29 February") || s.Filled != 0 {
		t.Errorf("leap day: %q", s.Notes)
	}
	s = mustRead(t, plain+plain[strings.Index(plain, "1999,1,1,"):])
	if len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "8760 rows") {
		t.Errorf("two years: %q", s.Notes)
	}
	s = mustRead(t, strings.Replace(sample(func(_ int, f []string) []string {
		half := append([]string(nil), f...)
		half[4], half[6] = "30", f[6]+".8"
		f[4] = "60"
		return append(half[:34], "0\n"+strings.Join(f, ","))
	}), "DATA PERIODS,1,1", "DATA PERIODS,1,2", 1))
	if a := s.Hours[9].Air.Celsius(); math.Abs(a-1.4) > 1e-9 || s.Filled != 0 || len(s.Notes) != 1 {
		t.Errorf("half hours: %g °C, want 1.4; %d filled, %q", a, s.Filled, s.Notes)
	}
}

// TMY3 with the midnight of the next day, ISO dates and its missing codes.
func TestTMY3(t *testing.T) {
	want := shared(t, "USA_CO_Golden.724666_TMY3.csv.gz")
	if want.Filled != 0 && len(want.Notes) == 0 {
		t.Errorf("%d filled without a note", want.Filled)
	}
	f, err := os.Open(testkit.Shared(t, "weather-hourly/USA_CO_Golden.724666_TMY3.csv.gz"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for n, line := range strings.Split(strings.TrimSpace(string(raw)), "\n") {
		f := strings.Split(line, ",")
		if n >= 2 {
			var m, d, y, h int
			if _, err := fmt.Sscanf(f[0]+" "+f[1], "%d/%d/%d %d:00", &m, &d, &y, &h); err != nil {
				t.Fatal(err)
			}
			when := time.Date(2001, time.Month(m), d, h, 0, 0, 0, time.UTC)
			f[0], f[1] = when.Format("2006-01-02"), when.Format("15:04:05")
		}
		out = append(out, strings.Join(f, ","))
	}
	got, err := read(strings.NewReader(strings.Join(out, "\r\n")), "golden", "")
	if err != nil {
		t.Fatal(err)
	}
	for at := range want.Hours {
		if got.Hours[at] != want.Hours[at] {
			t.Fatalf("hour %d: %+v, want %+v", at, got.Hours[at], want.Hours[at])
		}
	}
}

// All the files at hand are whole, and their light is that of their place: no hour brighter than the
// light beyond the atmosphere, none at night.
func TestShared(t *testing.T) {
	for _, f := range files {
		file := f.file
		s := shared(t, file)
		if s.Problems.Len() > 0 {
			t.Errorf("%s: %v", file, s.Problems.Err())
		}
		bright := 0
		for at, h := range s.Hours {
			up, beyond := s.sine(at)
			if g := h.Global.WattsPerSquareMetre(); g > 1.1*beyond*up+25 {
				bright++
			}
		}
		if bright > 20 {
			t.Errorf("%s: %d hours brighter than the sky allows: are labels ends of hours?", file, bright)
		}
		t.Logf("%s: %d filled, %q, %d bright", file, s.Filled, s.Notes, bright)
	}
}

func BenchmarkRead(b *testing.B) {
	path := testkit.Shared(b, "weather-hourly/USA_AZ_Davis-Monthan.AFB.722745_TMY3.epw.gz")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(path); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkHour(b *testing.B) {
	s, err := ReadEPW(strings.NewReader(sample(nil)), "sample.epw")
	if err != nil {
		b.Fatal(err)
	}
	when := time.Date(2027, 6, 21, 12, 0, 0, 0, time.UTC)
	b.ReportAllocs()
	for b.Loop() {
		s.Hour(when)
	}
}
