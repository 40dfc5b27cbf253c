package sheet

import (
	"bytes"
	"context"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/answer/diagnose"
	"noonmark/internal/answer/track"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// drawn holds a sheet to its form: rows under their heads, bars for rows, figures that draw at three sizes
// within their edges and without one text over another.
func drawn(t *testing.T, s Sheet) {
	t.Helper()
	if s.Key == "" || s.Title == "" || s.Lead == "" {
		t.Errorf("%q %q %q", s.Key, s.Title, s.Lead)
	}
	for _, f := range s.Figures {
		for _, size := range [][2]float64{{206, 110}, {206, max(40, f.Least)}, {100, max(60, f.Least)}} {
			d := f.Draw(size[0], size[1])
			if d.Title != f.Title || d.Text == "" {
				t.Errorf("%s: %q, %q", f.Title, d.Title, d.Text)
			}
			if m := d.Missing(); len(m) > 0 {
				t.Errorf("%s: the type has no %q", f.Title, m)
			}
			if size[0] > 150 {
				if out := d.Outside(); len(out) > 0 {
					t.Errorf("%s, %v: beyond the edge: %q", f.Title, size, out)
				}
				if c := d.Clashes(); len(c) > 0 {
					t.Errorf("%s, %v: one over the other: %q", f.Title, size, c)
				}
			}
		}
	}
	for _, tab := range s.Tables {
		for _, r := range tab.Rows {
			if len(r) != len(tab.Head) {
				t.Errorf("%s, %s: row of %d under %d heads", s.Key, tab.Title, len(r), len(tab.Head))
			}
		}
		if tab.Shares != nil && len(tab.Shares) != len(tab.Rows) {
			t.Errorf("%s, %s: %d bars for %d rows", s.Key, tab.Title, len(tab.Shares), len(tab.Rows))
		}
	}
	for _, text := range append(append([]string{s.Lead}, s.Notes...), s.Cautions...) {
		if strings.Contains(strings.ToLower(text), " safe") {
			t.Errorf("says safe: %s", text)
		}
	}
}

// has reports whether a sheet says a text anywhere.
func says(s Sheet, text string) bool {
	all := s.Lead
	for _, v := range s.Verdicts {
		all += "\n" + v.Word + " " + v.Title + " " + v.Figure + " " + v.Reason
	}
	for _, t := range s.Tables {
		all += "\n" + t.Title
		for _, r := range t.Rows {
			all += "\n" + strings.Join(r, " ")
		}
	}
	for _, l := range s.Lists {
		all += "\n" + l.Title + "\n" + strings.Join(l.Lines, "\n")
	}
	return strings.Contains(all, text)
}

// benched is a day of two modules logged every five minutes: B gives nine tenths of A, and nothing for an
// hour of shade.
func benched(t *testing.T) BenchJob {
	b := van(t)
	set := bench.Setting{Place: &b.Trip.Legs[0].Place, Wind: 2 * quantity.MetrePerSecond, Albedo: 20 * quantity.Percent, SkySaid: true}
	begin := time.Date(2027, 3, 21, 8, 0, 0, 0, time.UTC)
	var list []bench.Sample
	for i := range 96 {
		at := begin.Add(time.Duration(i) * 5 * time.Minute)
		p := 75 * math.Sin(math.Pi*float64(i+4)/104)
		for k, name := range []string{"A", "B"} {
			w := quantity.Power(p * []float64{1, 0.9}[k])
			if name == "B" && i >= 60 && i < 72 {
				w = quantity.Power(0.1 * p)
			}
			g := quantity.Irradiance(900 * math.Sin(math.Pi*float64(i+4)/104))
			list = append(list, bench.Sample{Line: 2 + 2*i + k, Time: at, Module: name, Watts: &w, Light: &g})
		}
	}
	r, err := bench.Examine(bench.Question{Samples: list, Default: &b.Types[0], Setting: set})
	if err != nil {
		t.Fatal(err)
	}
	return BenchJob{Report: r, Unread: []string{"line 7, column 3: \"abc\": wanted watts"}, Paid: "the tester"}
}

func TestBenchSheet(t *testing.T) {
	j := benched(t)
	s := Bench(j)
	drawn(t, s)
	if j.Report.Day == nil || len(s.Figures) != 2 {
		t.Fatalf("no day was found; %d figures", len(s.Figures))
	}
	for _, want := range []string{"module B", "the whole day", "dawn", "scatter of the readings", "abc", "Who wins when", "Settled by"} {
		if !says(s, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	if d := s.Figures[1].Draw(206, 100); !strings.Contains(strings.Join(d.Words(), "|"), "12:00") {
		t.Errorf("no hours: %q", d.Words())
	}
	drawn(t, Bench(BenchJob{}))
}

func TestRecordSheet(t *testing.T) {
	b := van(t)
	place := b.Trip.Legs[0].Place
	r, err := bench.Commission(b, bench.Setting{Place: &place, Albedo: 20 * quantity.Percent}, time.Date(2027, 3, 21, 13, 0, 0, 0, time.UTC))
	if err != nil {
		t.Fatal(err)
	}
	steps, err := bench.Incoming(&b.Types[0])
	if err != nil {
		t.Fatal(err)
	}
	s := Record(RecordJob{Record: r, Zone: place.Zone, Incoming: []Incoming{{"foil", steps}}})
	drawn(t, s)
	for _, want := range []string{"insulation", "tested by", "signature", "open volts", "First days of foil", "Lisbon"} {
		if !says(s, want) && !strings.Contains(strings.Join(s.Tables[1].Head, " "), want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	if rows := s.Tables[0].Rows; len(rows) != len(r.Entries) || !strings.HasPrefix(rows[0][6], "....") {
		t.Errorf("%d rows for %d tests", len(rows), len(r.Entries))
	}
}

// diagnosed is module B of the van with a third of its current.
func diagnosed(t *testing.T, b *build.Build) (FaultJob, diagnose.Options) {
	b.Types[0].Cells.DiodePerCell, b.Types[0].Cells.Groups = true, 0
	readings := []diagnose.Reading{{Kind: diagnose.WorkVoltage, Value: 26.4}, {Kind: diagnose.WorkCurrent, Value: 1.88}, {Kind: diagnose.ModuleOpen, At: "A", Value: 25.8}, {Kind: diagnose.ModuleShort, At: "A", Value: 4.0},
		{Kind: diagnose.ModuleOpen, At: "B", Value: 25.7}, {Kind: diagnose.ModuleShort, At: "B", Value: 2.02}, {Kind: diagnose.SeenShadow, At: "B"}, {Kind: diagnose.JointDrop, At: "lid", Joint: 1, Value: 0.004}}
	o := diagnose.Options{Light: 870 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(51)}
	a, err := diagnose.Run(b, readings, o)
	if err != nil {
		t.Fatal(err)
	}
	return FaultJob{Answer: a, Readings: readings}, o
}

func TestFaultSheet(t *testing.T) {
	j, o := diagnosed(t, van(t))
	s := Fault(j)
	drawn(t, s)
	for _, want := range []string{"burnt busbar", "module B", "Would overturn it", "2.02 A", "lid 1"} {
		if !says(s, want) {
			t.Errorf("%q is not on the sheet", want)
		}
	}
	drawn(t, Sheet{Key: "x", Title: "x", Lead: "x", Figures: []Figure{Calibration()}})
	few, err := diagnose.Run(van(t), j.Readings[:2], o)
	if err != nil {
		t.Fatal(err)
	}
	s = Fault(FaultJob{Answer: few, Readings: j.Readings[:2], Texts: []string{"26,4 V", ""}})
	drawn(t, s)
	if !says(s, "Next test") || !says(s, "Caution") || !says(s, "26,4 V") {
		t.Errorf("no next test: %+v", s.Lists)
	}
}

func TestClaimSheets(t *testing.T) {
	b := van(t)
	j, o := diagnosed(t, b)
	c := diagnose.Claim{Build: b, Module: 1, Readings: j.Readings, Texts: make([]string, len(j.Readings)), When: time.Date(2027, 6, 21, 12, 0, 0, 0, time.UTC), Dated: true,
		Terms: map[string][]string{"bought": {"2025-03-02"}, "mobile_use": {"excluded"}, "event": {"2026-04-10 bonded"}}}
	if err := c.Weigh(o); err != nil {
		t.Fatal(err)
	}
	c.List()
	c.Hold(diagnose.Guarantee{First: 98 * quantity.Percent, PerYear: 0.7 * quantity.Percent, Years: 10}, time.Date(2025, 3, 2, 0, 0, 0, 0, time.UTC))
	pages := Claim(&c, nil)
	for _, s := range pages {
		drawn(t, s)
	}
	for n, want := range []string{"under what is promised", "a sound one", "The terms exclude mobile use"} {
		if s := pages[n]; !says(s, want) && !strings.Contains(strings.Join(append(s.Notes, s.Tables[0].Head...), " "), want) {
			t.Errorf("page %d lacks %q", n+1, want)
		}
	}
	if !says(pages[0], "serial: ") || says(pages[0], "bought: ") || says(pages[0], "twin: ") {
		t.Errorf("missing: %q", c.Missing)
	}
}

// The drawing of docs/method.md is of the table that the rates test holds. NOONMARK_WRITE makes it anew: look
// at it before it is committed.
func TestCalibrationDrawing(t *testing.T) {
	const path = "../../../docs/calibration.svg"
	got := Calibration().Draw(120, 110).SVG("calibration")
	if os.Getenv("NOONMARK_WRITE") != "" {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(got, want) {
		t.Errorf("docs/calibration.svg is not of the table: %v", err)
	}
}

// A log's sheet has its days, alarms and gaps; an empty report is a sheet too.
func TestLogSheet(t *testing.T) {
	b := van(t)
	place := b.Trip.Legs[0].Place
	var points []track.Point
	for i := range 24*6*12 - 12 {
		at := b.Trip.Legs[0].From.Add(time.Duration(i) * 10 * time.Minute)
		hour := math.Mod(float64(i)/6, 24)
		w := quantity.Power(math.Max(0, 140*math.Sin(math.Pi*(hour-6.6)/12.2)))
		if i/144 == 4 && hour > 11 && hour < 15 {
			continue
		}
		full := quantity.Ratio(0.6)
		if i/144 == 2 && hour > 13 {
			w, full = min(w, 20), 1
		}
		points = append(points, track.Point{Time: at, Power: &w, Charge: &full})
	}
	r, err := track.Compare(context.Background(), track.Import(points, place.Zone, 0), track.Setting{Build: b, Place: place, Posture: 2, Years: 4})
	if err != nil {
		t.Fatal(err)
	}
	s := Log(LogJob{Report: r, Build: b.Name, Place: place.Name})
	drawn(t, s)
	if len(s.Figures) != 1 || len(s.Tables[0].Rows) != 12 || !says(s, "battery full") || !says(s, "Gaps by daylight") || !strings.Contains(s.Lead, "thrown away") {
		t.Errorf("lead %q, rows %d", s.Lead, len(s.Tables[0].Rows))
	}
	drawn(t, Log(LogJob{}))
}
