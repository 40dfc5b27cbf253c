package sheet

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/check"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Every finding stands on exactly one sheet, what fails first, and none is lost.
func TestFindingsHaveASheet(t *testing.T) {
	j := job(t, van(t))
	j.Findings = append(j.Findings,
		check.Finding{ID: "unzip", Subject: "module A", Verdict: check.Fail, Value: 31, Limit: 20, Unit: "mm"},
		check.Finding{ID: "never heard of", Subject: "lid", Verdict: check.Unknown},
		check.Finding{ID: "vehicle-height", Subject: "lid", Value: 2.1, Limit: 2.5, Unit: "m"})
	seen := 0
	for _, s := range All(j) {
		seen += len(s.Verdicts)
		for i, v := range s.Verdicts {
			if i > 0 && v.Heavy && !s.Verdicts[i-1].Heavy {
				t.Errorf("%s: %s fails and stands after one that does not", s.Key, v.Title)
			}
			want := i + 1
			if v.Word == verdictWords[check.Pass] {
				want = 0
			}
			if v.Mark != want {
				t.Errorf("%s: mark %d at place %d", s.Key, v.Mark, i+1)
			}
			if strings.Contains(strings.ToLower(v.Word), "safe") {
				t.Errorf("%s says safe", v.Title)
			}
		}
	}
	if seen != len(j.Findings) {
		t.Errorf("%d findings on sheets, of %d", seen, len(j.Findings))
	}
	for id, want := range map[string]string{"cold-voltage": "wiring", "cable-drop": "wiring", "nights-short": "trip", "unzip": "mounting", "vehicle-height": "roof",
		"strut-cold": "roof", "expansion-gap": "roof", "uplift": "mounting", "charge-current": "wiring"} {
		if got := SheetOf(id); got != want {
			t.Errorf("%s stands on %s, want %s", id, got, want)
		}
	}
}

// The table of what holds has a row for each rule and source, with every subject, and the ends of its figures.
func TestRulesThatHold(t *testing.T) {
	source := cite.Source{Title: "EN 1, annex B, note 3", Where: "6.3.1", Standing: cite.FromMemory}
	j := Job{Findings: []check.Finding{
		{ID: "edge-gap", Subject: "module A", Value: 12.04, Limit: 6.5, Unit: "mm", Source: source}, {ID: "edge-gap", Subject: "module B", Value: 35, Limit: 6.5, Unit: "mm", Source: source},
		{ID: "edge-gap", Subject: "module C", Verdict: check.Fail, Value: 1, Limit: 6.5, Unit: "mm", Source: source}, {ID: "height", Subject: "ferry", Value: 2.1, Limit: 2.5, Unit: "m", Source: cite.Source{Title: "tape measure"}}}}
	rows := Rules(j).Tables[0].Rows
	want := [][]string{{"edge gap", "module A, B", "12 to 35 mm", "6.5 mm", "EN 1, 6.3.1 (memory)"}, {"height", "ferry", "2.1 m", "2.5 m", "tape measure"}}
	if len(rows) != 2 || !slices.Equal(rows[0], want[0]) || !slices.Equal(rows[1], want[1]) {
		t.Errorf("got %q", rows)
	}
	if s := Rules(Job{}); len(s.Tables) != 0 || s.Lead == "" {
		t.Errorf("nothing holds: %+v", s)
	}
}

// The sheets come in the order of Keys, every figure draws at two sizes with its title, and says in words
// what it shows.
func TestFigures(t *testing.T) {
	j := job(t, van(t))
	sheets := All(j)
	for i, s := range sheets {
		if s.Key != Keys()[i] || s.Title == "" || s.Lead == "" {
			t.Errorf("sheet %d: %q %q %q", i, s.Key, s.Title, s.Lead)
		}
		for _, f := range s.Figures {
			for _, size := range [][2]float64{{206, 110}, {180, 40}} {
				d := f.Draw(size[0], size[1])
				if d.Width != size[0] || d.High != size[1] || d.Title != f.Title || d.Text == "" {
					t.Errorf("%s: %q, %q, %g by %g", f.Title, d.Title, d.Text, d.Width, d.High)
				}
				if m := d.Missing(); len(m) > 0 {
					t.Errorf("%s: the type has no %q", f.Title, m)
				}
			}
			if out := f.Draw(206, 110).Outside(); len(out) > 0 {
				t.Errorf("%s: beyond the edge: %q", f.Title, out)
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
	}
}

// The roof plan is to scale and carries the build's own figures.
func TestRoofPlan(t *testing.T) {
	b := van(t)
	s := Roof(job(t, b)).Figures[0].Draw(206, 110)
	if s.Scale != "1 : 15" {
		t.Errorf("scale %s", s.Scale)
	}
	words := strings.Join(s.Words(), "|")
	// Length, width, module length, module width, front gap, the gap between the modules (508 − 150 − 350), fan.
	for _, w := range []string{"2100", "1350", "1700", "350", "200", "8", "fan, 140 high", "front, hinge", "A", "B", "3 bypass groups"} {
		if !strings.Contains("|"+words+"|", "|"+w+"|") && !strings.Contains(words, w+"|") && !strings.Contains(words, w) {
			t.Errorf("%q is not on the plan: %s", w, words)
		}
	}
	if !slices.Contains(s.Words(), "8") {
		t.Error("the gap of 8 mm is not dimensioned")
	}
	for _, l := range []string{"outline", "modules", "obstacles", "cables", "dimensions"} {
		if !slices.Contains(s.Layers(), l) {
			t.Errorf("no layer %s", l)
		}
	}
	b.Units = build.Imperial
	if !slices.Contains(Roof(job(t, b)).Figures[0].Draw(206, 110).Words(), "82.7") {
		t.Error("2100 mm is not 82.7 in on the plan")
	}
}

// Polarity is on the wiring drawing in letters as well as in colour, with sizes and lengths.
func TestWiringDrawing(t *testing.T) {
	b := van(t)
	fuse := 20 * quantity.Ampere
	b.Chargers[0].BatteryCable.Fuse = &fuse
	words := Wiring(job(t, b)).Figures[0].Draw(206, 90).Words()
	for _, w := range []string{"+", "−", "2 × 4 mm²", "4 m one way", "2 × 6 mm²", "20 A", "disconnect", "house"} {
		if !slices.Contains(words, w) {
			t.Errorf("%q is not on the drawing: %q", w, words)
		}
	}
}

// At solar noon on a level roof with its front to the south the sun stands over the front, so a shadow falls
// to the rear, by height over the tangent of the sun's height; in the morning it falls to the west.
func TestShadow(t *testing.T) {
	b := van(t)
	d := sunnyDay{b: b, leg: &b.Trip.Legs[0], day: b.Trip.Legs[0].From.Add(12 * time.Hour), heading: 180 * quantity.Degree}
	d.leg.Posture = 2
	list := d.sampled()
	noon := list[0].Add(list[5].Sub(list[0]) / 2)
	x, y, z := d.toward(noon)
	if x > -0.5 || math.Abs(y) > 0.03 || z < 0.7 {
		t.Fatalf("toward the sun %g %g %g, want the front and up", x, y, z)
	}
	rear := 0.0
	for _, p := range d.shadow(&b.Obstacles[0], noon) {
		rear = max(rear, p.x)
	}
	// Equinox at 38.7°: the sun stands near 90 − 38.7 + 0.3 = 51.6° and 140 mm cast 140 / tan 51.6° = 111 mm.
	if got := rear - 1.98; math.Abs(got-0.111) > 0.003 {
		t.Errorf("the shadow reaches %g m past the fan, want 0.111", got)
	}
	// Front to the south: the right hand is west, and a morning's shadow falls to it.
	right := 0.0
	for _, p := range d.shadow(&b.Obstacles[0], list[0]) {
		right = max(right, p.y)
	}
	if right < 1.28+0.2 {
		t.Errorf("the morning's shadow ends at %g, want well to the right of 1.28", right)
	}
	// A lid tilted toward the noon sun shortens the shadow.
	d.leg.Posture = 1
	tilted := 0.0
	for _, p := range d.shadow(&b.Obstacles[0], noon) {
		tilted = max(tilted, p.x)
	}
	// The sun is then 12° higher over the lid: 140 / tan 63.6° = 69 mm.
	if got := tilted - 1.98; math.Abs(got-0.069) > 0.003 {
		t.Errorf("on the tilted lid %g m, want 0.069", got)
	}
	// Nothing is shaded where nothing stands.
	b.Obstacles = nil
	if s := d.shaded(0, noon); s != 0 {
		t.Errorf("%g in shadow on a bare roof", s)
	}
}

// A fan right over a module's half shades half of it under a sun overhead.
func TestShadedShare(t *testing.T) {
	if got := clip([]spot{{0, 0}, {4, 0}, {4, 4}, {0, 4}}, spot{1, 1}, spot{2, 3}); len(got) != 4 {
		t.Fatal(got)
	}
	h := hull([]spot{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0.5, 0.5}, {0.2, 0.9}})
	if len(h) != 4 || !inSpots(h, spot{0.5, 0.5}) || inSpots(h, spot{1.5, 0.5}) {
		t.Error(h)
	}
}

// The ledger's table adds up as it is printed.
func TestLedgerCloses(t *testing.T) {
	tab := ledger(job(t, van(t)))
	last := tab.Rows[len(tab.Rows)-1]
	if last[1] != last[2] || last[1] == "0" {
		t.Errorf("in %s, out %s", last[1], last[2])
	}
}

// Every hazard of the handbook's section F has its caution, on a sheet that exists; no text promises safety.
func TestCautionsReachable(t *testing.T) {
	for _, hazard := range []string{"opaque", "part a plug", "arc", "Two makers", "amps flow", "178 mm", "200 mm", "class made for it", "1.25 to 1.56", "damp, swollen",
		"smoke alarm", "monoxide", "gas lockers", "one out for four up", "tent's roof", "sharp edges", "springs|springs back|snaps back", "way out", "people behind them died",
		"Height", "thunder", "Vapour", "traps water", "60 V of direct", "owner may work", "external projections", "EN 1648", "IEC 60364-7-721", "ISO 13297", "ABYC E-11", "NEC 551", "NFPA 1192",
		"AS/NZS 3001.2", "mains"} {
		found := false
		for _, c := range Cautions() {
			for _, alternative := range strings.Split(hazard, "|") {
				found = found || strings.Contains(c.Title+". "+c.Text, alternative)
			}
		}
		if !found {
			t.Errorf("no caution has %q", hazard)
		}
	}
	j := job(t, van(t))
	sheets := All(j)
	for _, c := range Cautions() {
		if strings.Contains(strings.ToLower(c.Text+" "), "safe ") {
			t.Errorf("%s promises", c.Title)
		}
		if len(c.Keys) == 0 {
			t.Errorf("%s stands on no sheet", c.Title)
		}
		for _, k := range c.Keys {
			at := slices.Index(Keys(), k)
			if at < 0 {
				t.Fatalf("%s stands on %s, which is no sheet", c.Title, k)
			}
			text := strings.Join(sheets[at].Cautions, " ")
			for _, l := range sheets[at].Lists {
				text += strings.Join(l.Lines, " ")
			}
			if !strings.Contains(text, c.Text) {
				t.Errorf("%s is not on sheet %s", c.Title, k)
			}
		}
	}
}

// A build with hardly anything in it still makes sheets.
func TestBareBuild(t *testing.T) {
	b := van(t)
	b.Obstacles, b.Surfaces[0].Outline = nil, nil
	b.Chargers[0].BatteryCable, b.Chargers[0].InputCable = build.Run{}, build.Run{}
	b.Trip.Legs[0].HeadingFree = true
	for _, s := range All(job(t, b)) {
		for _, f := range s.Figures {
			if d := f.Draw(120, 60); d.Text == "" {
				t.Errorf("%s says nothing", f.Title)
			}
		}
	}
}

// Many strings on one charger keep inside their drawing.
func TestManyStrings(t *testing.T) {
	b := van(t)
	for i := range 3 {
		b.Modules = append(b.Modules, build.Module{Name: string(rune('C' + i)), X: 0.2 * quantity.Metre, Y: 0.9 * quantity.Metre})
		b.Strings = append(b.Strings, build.String{Name: string(rune('p' + i)), Modules: []int{2 + i}})
		b.Chargers[0].Strings = append(b.Chargers[0].Strings, 1+i)
	}
	d := wires(b, nil, 206, 120)
	if out := d.Outside(); len(out) > 0 {
		t.Errorf("beyond the edge: %q", out)
	}
	if c := d.Clashes(); len(c) > 0 {
		t.Errorf("over each other: %q", c)
	}
}

func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.4835: "0.484", 63.67: "63.7", -7: "−7", 1234.6: "1235", math.NaN(): "–", math.Inf(1): "–", -0.00001: "0"} {
		if got := number(v, 3); got != want && !math.IsNaN(v) {
			t.Errorf("number(%g): got %q, want %q", v, got, want)
		}
	}
}
