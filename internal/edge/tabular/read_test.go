package tabular

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"noonmark/internal/testkit"
)

func read(t *testing.T, text string, o Options) *Table {
	t.Helper()
	o.Name = "t.csv"
	tab, err := Read(strings.NewReader(text), o)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

func shared(t *testing.T, name string, o Options) *Table {
	t.Helper()
	f, err := os.Open(testkit.Shared(t, "../cases/"+name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	o.Name = name
	tab, err := Read(f, o)
	if err != nil {
		t.Fatal(err)
	}
	return tab
}

// faults returns the problems as one text.
func faults(t *Table) string {
	var b strings.Builder
	for _, p := range t.Problems.All() {
		b.WriteString(p.String() + "\n")
	}
	return b.String()
}

func volts(t *testing.T, tab *Table, row int, field string) float64 {
	t.Helper()
	v, ok := tab.Voltage(row, field)
	if !ok {
		t.Fatalf("row %d: %s was not read: %q; %s", row, field, tab.Text(row, field), faults(tab))
	}
	return v.Volts()
}

var utc = Options{Zone: time.UTC}

// The same readings in many layouts come out the same.
func TestLayouts(t *testing.T) {
	rome, err := time.LoadLocation("Europe/Rome")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		text string
		o    Options
	}{
		"plain":            {"time,module,Voc (V),Isc (A),irradiance W/m2,back temp °C\n2027-06-21T11:05:00Z,A,21.4,5.31,905,47.5\n", utc},
		"german":           {"Zeit;Modul;Leerlaufspannung [V];Kurzschlussstrom [mA];Einstrahlung kW/m²;Modultemperatur °C\r\n21.06.2027 13:05;A;21,4;5310;0,905;47,5\r\n", Options{Zone: rome}},
		"french, °F":       {"Heure\tPanneau\tTension à vide\tCourant de court-circuit\tEnsoleillement\tTempérature module\n2027-06-21 11:05 UTC\tA\t21,4 V\t5,31 A\t905 W/m²\t117.5 °F\n", Options{Zone: rome}},
		"spanish":          {"fecha y hora;módulo;tensión circuito abierto;corriente de cortocircuito;irradiancia;temperatura módulo\n21 jun 2027 11:05;A;21,4;5,31;905;47,5\n", utc},
		"units row":        {"time,module,voc,isc,light,back\n,,mV,A,W/m²,K\n2027-06-21 11:05,A,21400,5.31,905,320.65\n", utc},
		"preamble":         {"sep=;\nMy meter;\ncalibrated 2026;\ntime;module;Uoc;Ik;G;T mod\n2027-06-21 11:05;A;21.4;5.31;905;47.5\n", utc},
		"twelve hours":     {"when|panel|open volts|amps short|sun|back\n6/21/2027 11:05 AM|A|21.4|5.31|905|47.5 C\n", utc},
		"date and time":    {"date,time,module,voc,isc,irradiance,module temp\n2027-06-21,11:05:00,A,21.4,5.31,905,47.5\n", utc},
		"no date":          {"time,module,voc,isc,irradiance,module temp\n11h05,A,21.4,5.31,905,47.5\n", Options{Zone: time.UTC, Date: time.Date(2027, 6, 21, 0, 0, 0, 0, time.UTC)}},
		"mapped":           {"when it was,what,first,second,third,fourth\n2027-06-21 11:05,A,21.4,5.31,905,47.5\n", Options{Zone: time.UTC, Map: map[string]string{"time": "when it was", "module": "2", "voc": "first", "isc": "4", "irradiance": "third", "module_temperature": "6"}}},
		"numbers, no head": {"2027-06-21 11:05,A,21.4,5.31,905,47.5\n", Options{Zone: time.UTC, Map: map[string]string{"time": "1", "module": "2", "voc": "3", "isc": "4", "irradiance": "5", "module_temperature": "6"}}},
	} {
		tab := read(t, c.text, c.o)
		if len(tab.Rows) != 1 {
			t.Errorf("%s: %d rows, want 1", name, len(tab.Rows))
			continue
		}
		if f := faults(tab); f != "" {
			t.Errorf("%s: problems: %s", name, f)
		}
		voc, _ := tab.Voltage(0, "voc")
		isc, _ := tab.Current(0, "isc")
		g, _ := tab.Irradiance(0, "irradiance")
		temp, _ := tab.Temperature(0, "module_temperature")
		at := tab.Rows[0].Time
		if math.Abs(voc.Volts()-21.4) > 1e-9 || math.Abs(isc.Amperes()-5.31) > 1e-9 || math.Abs(g.WattsPerSquareMetre()-905) > 1e-9 || math.Abs(temp.Celsius()-47.5) > 1e-9 ||
			!at.Equal(time.Date(2027, 6, 21, 11, 5, 0, 0, time.UTC)) || tab.Text(0, "module") != "A" {
			t.Errorf("%s: got %v %v %v %v %v %q", name, voc, isc, g, temp, at, tab.Text(0, "module"))
		}
	}
}

// Encodings come out as the same text.
func TestEncodings(t *testing.T) {
	text := "Zeit;Rückseite °C;Uoc V\n2027-06-21 11:05;47,5;21,4\n"
	var little, big []byte
	for _, r := range text {
		little = append(little, byte(r), byte(r>>8))
		big = append(big, byte(r>>8), byte(r))
	}
	western := []byte(strings.NewReplacer("ü", "\xfc", "°", "\xb0").Replace(text))
	for name, b := range map[string][]byte{
		"UTF-8": []byte(text), "UTF-8 with a byte-order mark": append([]byte("\xef\xbb\xbf"), text...),
		"UTF-16, little end first": append([]byte("\xff\xfe"), little...), "UTF-16, big end first": big, "Windows-1252": western,
	} {
		tab := read(t, string(b), utc)
		if tab.Layout.Encoding != name {
			t.Errorf("%s: taken as %s", name, tab.Layout.Encoding)
		}
		if c, ok := tab.Temperature(0, "module_temperature"); !ok || math.Abs(c.Celsius()-47.5) > 1e-9 {
			t.Errorf("%s: got %v %v; %s", name, c, ok, faults(tab))
		}
	}
}

// Every cell that cannot be read is listed with its line and column; OL is no reading.
func TestFaults(t *testing.T) {
	tab := read(t, "time,module,voc,isc\n2027-06-21 11:05,A,OL,5.31\n2027-06-21 11:06,A,2l.4,-5.31 A\n2027-06-21 11:07,A,21.4 A,n/a\n2027-13-21 11:08,A,#REF!,5.3,extra\n", utc)
	text := faults(tab)
	for _, want := range []string{`t.csv:2:3: voc: "OL": a value within the meter's range`, `t.csv:3:3: voc: "2l.4"`, `t.csv:4:3: voc: "21.4 A"`, `t.csv:5:1: time: "2027-13-21 11:08"`, `t.csv:5:3: voc: "#REF!"`, `t.csv:5:5: "extra"`} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	if n := tab.Problems.Len(); n != 6 {
		t.Errorf("%d problems, want 6:\n%s", n, text)
	}
	if s := tab.Cell(0, "voc").State; s != Over {
		t.Errorf("OL: state %v", s)
	}
	if i, ok := tab.Current(1, "isc"); !ok || i.Amperes() != -5.31 {
		t.Errorf("reversed amperes: %v %v", i, ok)
	}
	if tab.Cell(2, "isc").State != Blank {
		t.Error("n/a is no blank")
	}
}

// What can be read in two ways is not read, and both readings stand in the problem.
func TestDoubts(t *testing.T) {
	tab := read(t, "time,voc\n03/04/2027 11:05,21.4\n05/04/2027 11:05,21.5\n", utc)
	if tab.Rows[0].Timely != Unread || !tab.Rows[0].Time.IsZero() || !strings.Contains(faults(tab), "day or month") {
		t.Errorf("3/4 was guessed: %v, %s", tab.Rows[0].Time, faults(tab))
	}
	tab = read(t, "time,voc\n03/04/2027 11:05,21.4\n13/04/2027 11:05,21.5\n", utc)
	if got := tab.Rows[0].Time; got.Month() != time.April || got.Day() != 3 || tab.Layout.Dates != "day first" {
		t.Errorf("13/4 settles the file: got %v, %q", got, tab.Layout.Dates)
	}
	tab = read(t, "time,voc\n03/04/2027 11:05,21.4\n", Options{Zone: time.UTC, Order: MonthFirst})
	if got := tab.Rows[0].Time; got.Month() != time.March {
		t.Errorf("month first as given: got %v", got)
	}
	tab = read(t, "time;voc\n2027-06-21 11:05;1,2\n2027-06-21 11:06;1.200\n2027-06-21 11:07;0.95\n", utc)
	if tab.Cell(1, "voc").State != Unread || !strings.Contains(faults(tab), "1200 or 1.200") {
		t.Errorf("1.200 beside 1,2 was guessed: %s", faults(tab))
	}
	if got := volts(t, tab, 0, "voc"); got != 1.2 {
		t.Errorf("1,2: got %v", got)
	}
	tab = read(t, "time,voc\n11:05,21.4\n", utc)
	if tab.Rows[0].Timely != Unread || !strings.Contains(faults(tab), "the day") {
		t.Errorf("a time without a date was read: %s", faults(tab))
	}
	tab = read(t, "time,voc\n2027-06-21 11:05,21.4\n", Options{})
	if tab.Rows[0].Timely != Unread || !strings.Contains(faults(tab), "time zone") {
		t.Errorf("a time without a zone was read: %s", faults(tab))
	}
	tab = read(t, "time,back temp\n2027-06-21 11:05,118\n", utc)
	if tab.Cell(0, "module_temperature").State != Unread || !strings.Contains(faults(tab), "most likely °F") {
		t.Errorf("118 degrees of what: %s", faults(tab))
	}
}

// Marks between thousands.
func TestNumbers(t *testing.T) {
	for _, c := range []struct {
		text string
		m    mark
		want float64
		ok   bool
	}{
		{"1,203,870", pointMark, 1203870, true}, {"1.203.870,5", commaMark, 1203870.5, true}, {"1'234.5", pointMark, 1234.5, true}, {"1 234,5", commaMark, 1234.5, true},
		{"1,203", pointMark, 1203, true}, {"1,203", commaMark, 1.203, true}, {"0,203", unknownMark, 0.203, true}, {"1,203", unknownMark, 0, false}, {"1.203", unknownMark, 1.203, true},
		{"-0.0", pointMark, 0, true}, {"−12.5", pointMark, -12.5, true}, {"1.2e-3", pointMark, 0.0012, true}, {"1,2,3", pointMark, 0, false}, {"12,34,567", pointMark, 0, false}, {".5", pointMark, 0.5, true},
	} {
		digits, rest := numeral(c.text)
		got, _, ok := value(digits, c.m)
		if rest != "" || ok != c.ok || got != c.want {
			t.Errorf("%q with %v: got %v %v, rest %q, want %v %v", c.text, c.m, got, ok, rest, c.want, c.ok)
		}
	}
}

// The shared file F02: UTC times, every row read.
func TestYieldCounter(t *testing.T) {
	tab := shared(t, "F02_yield_counter_resets_midnight_sun.csv", Options{})
	if tab.Problems.Len() != 0 || len(tab.Rows) < 49 {
		t.Fatalf("%d rows; %s", len(tab.Rows), faults(tab))
	}
	// Sum of positive steps, and the first value after each reset: 1470 Wh, as its page says.
	sum, last := 0.0, 0.0
	resets := 0
	for i := range tab.Rows {
		e, ok := tab.Energy(i, "yield")
		p, okP := tab.Power(i, "power")
		if !ok || !okP || p.Watts() < 2 && i > 0 && p.Watts() != 2 {
			t.Fatalf("row %d: %v %v %v", i, e, ok, p)
		}
		wh := e.WattHours()
		if wh < last {
			resets++
			sum += wh
		} else {
			sum += wh - last
		}
		last = wh
	}
	if math.Abs(sum-1470) > 1e-6 || resets != 3 {
		t.Errorf("got %v Wh and %d resets, want 1470 and 3", sum, resets)
	}
}

// The shared file F03: registers as signed numbers, a clock not set, a repeat, no sensor, charge unknown.
func TestRegisters(t *testing.T) {
	tab := shared(t, "F03_registers_twos_complement.csv", Options{Units: map[string]string{"battery_current": "0.01 A", "battery_temperature": "0.1 °C"}})
	byTime := map[int64]int{}
	unset, repeats := 0, 0
	for i, r := range tab.Rows {
		if r.Timely == Unread {
			unset++
		}
		if r.Repeat {
			repeats++
			continue
		}
		byTime[r.Time.Unix()] = i
	}
	if unset != 3 || repeats != 1 {
		t.Errorf("%d rows of an unset clock and %d repeats, want 3 and 1; %s", unset, repeats, faults(tab))
	}
	for at, want := range map[int64]float64{1736496120: -0.50, 1736496240: -3.85, 1736497380: -12.60, 1736496000: 0.42} {
		if i, ok := tab.Current(byTime[at], "battery_current"); !ok || math.Abs(i.Amperes()-want) > 1e-9 {
			t.Errorf("%d: got %v %v, want %v A", at, i, ok, want)
		}
	}
	if c, ok := tab.Temperature(byTime[1736496000], "battery_temperature"); !ok || math.Abs(c.Celsius()+1.5) > 1e-9 {
		t.Errorf("temperature %v %v, want -1.5 °C", c, ok)
	}
	if tab.Cell(byTime[1736496660], "battery_temperature").State != Blank {
		t.Error("32767 is a temperature")
	}
	if !strings.Contains(faults(tab), `"255": a share of 0 to 100 %`) {
		t.Errorf("255 %% of charge: %s", faults(tab))
	}
	if v, ok := tab.Voltage(byTime[1736496000], "battery_voltage"); !ok || math.Abs(v.Volts()-13.19) > 1e-9 {
		t.Errorf("battery volts %v %v, want 13.19", v, ok)
	}
	bare := shared(t, "F03_registers_twos_complement.csv", Options{})
	if bare.Cell(byTime[1736496000], "battery_current").State != Unread || !strings.Contains(faults(bare), "the step of this register") {
		t.Errorf("a register without a step was read: %s", faults(bare))
	}
}

// The shared file F09 with fields of its own: 1,2 is read, 1.200 asked.
func TestLoadList(t *testing.T) {
	tab := shared(t, "F09_load_list_mixed.tsv", Options{Match: []Field{{"load", Words, "load"}, {"value", Number, "value"}, {"unit", Words, "unit"}, {"duty", Words, "hours or duty"}, {"note", Words, "notes"}}})
	if tab.Layout.Delimiter != '\t' {
		t.Errorf("delimiter %q", tab.Layout.Delimiter)
	}
	for i := range tab.Rows {
		v, ok := tab.Number(i, "value")
		switch tab.Text(i, "load") {
		case "LED lights":
			if !ok || v != 1.2 {
				t.Errorf("lights: %v %v", v, ok)
			}
		case "roof fan":
			if ok {
				t.Errorf("the fan's 1.200 was read as %v", v)
			}
		}
	}
}

// The shared file F11: month first, a day of 23 hours, a clock not set, two values of one time, °F that
// turns into °C.
func TestSpringGap(t *testing.T) {
	denver, err := time.LoadLocation("America/Denver")
	if err != nil {
		t.Fatal(err)
	}
	asked := shared(t, "F11_us_log_spring_gap.csv", Options{Zone: denver})
	if !strings.Contains(faults(asked), "day or month") {
		t.Errorf("3/9 was guessed: %s", faults(asked))
	}
	tab := shared(t, "F11_us_log_spring_gap.csv", Options{Zone: denver, Order: MonthFirst})
	var first, last int = -1, 0
	unset := 0
	for i, r := range tab.Rows {
		if r.Timely == Unread {
			unset++
			continue
		}
		if first < 0 {
			first = i
		}
		last = i
	}
	a, _ := tab.Energy(first, "yield")
	b, ok := tab.Energy(last, "yield")
	if d := b.WattHours() - a.WattHours(); !ok || math.Abs(d-1303) > 1e-6 || unset != 2 {
		t.Errorf("the counter says %v Wh with %d rows of an unset clock, want 1303 and 2; %s", d, unset, faults(tab))
	}
	if d := tab.Rows[last].Time.Sub(tab.Rows[first].Time); d > 23*time.Hour || d < 22*time.Hour {
		t.Errorf("the day has %v", d)
	}
	if !strings.Contains(strings.Join(tab.Notes, "\n"), "same time") {
		t.Errorf("two values of one time are not said: %v", tab.Notes)
	}
	if !strings.Contains(faults(tab), "most likely °F") {
		t.Errorf("the unit of the first temperatures: %s", faults(tab))
	}
	tab = shared(t, "F11_us_log_spring_gap.csv", Options{Zone: denver, Order: MonthFirst, Units: map[string]string{"battery_temperature": "°F"}})
	warmest := -100.0
	for i := range tab.Rows {
		if c, ok := tab.Temperature(i, "battery_temperature"); ok {
			warmest = math.Max(warmest, c.Celsius())
		}
	}
	if math.Abs(warmest-(53-32)/1.8) > 1e-6 {
		t.Errorf("warmest %v °C, want 53 °F", warmest)
	}
	gap := read(t, "time,power\n2025-03-09 02:30,5\n", Options{Zone: denver})
	if gap.Rows[0].Timely != Unread || !strings.Contains(faults(gap), "put forward") {
		t.Errorf("02:30 was no time: %s", faults(gap))
	}
}

// A file larger than allowed, an empty one and one without headers say so.
func TestRefused(t *testing.T) {
	for text, want := range map[string]string{"": "empty", "hello\nworld\n": "headers"} {
		if _, err := Read(strings.NewReader(text), utc); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
	if _, err := Read(strings.NewReader(strings.Repeat("a,b\n", 1000)), Options{Most: 100}); err == nil || !strings.Contains(err.Error(), "too large") {
		t.Errorf("too large: got %v", err)
	}
	if _, err := Read(strings.NewReader("voc\n21\n"), Options{Map: map[string]string{"voc": "9", "nothing": "1"}}); err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("a bad map: got %v, want both problems", err)
	}
}

// FuzzRead: no text makes it panic, and no value is infinite.
func FuzzRead(f *testing.F) {
	f.Add("time,module,voc,isc\n2027-06-21 11:05,A,OL,5.31\n")
	f.Add("Zeit;Modul;Uoc [V]\n21.06.2027 13:05;A;21,4\n")
	f.Add("t|\"a\nb\"|V\n1|2|3e999\n")
	f.Add("\xff\xfea\x00,\x00b\x00")
	f.Add("date,time,raw i bat\n3/4/27,25:00,65535\n")
	f.Fuzz(func(t *testing.T, text string) {
		for _, o := range []Options{{}, {Zone: time.UTC, Date: time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC), Map: map[string]string{"voc": "1"}}} {
			tab, err := Read(strings.NewReader(text), o)
			if err != nil {
				continue
			}
			for i := range tab.Rows {
				if v, ok := tab.Voltage(i, "voc"); ok && (math.IsNaN(v.Volts()) || math.IsInf(v.Volts(), 0)) {
					t.Fatalf("%q: %v", text, v)
				}
			}
		}
	})
}

func BenchmarkRead(b *testing.B) {
	var s strings.Builder
	s.WriteString("time,module,voc,isc,irradiance,back temp\n")
	for i := range 1000 {
		s.WriteString(time.Date(2027, 6, 21, 8, 0, i, 0, time.UTC).Format("2006-01-02 15:04:05") + ",A,21.4,5.31,905,47.5\n")
	}
	text := s.String()
	for b.Loop() {
		if _, err := Read(strings.NewReader(text), utc); err != nil {
			b.Fatal(err)
		}
	}
}
