package sheet

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/choose"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/sheet/draw"
)

// found is the outcome of a search with the build's own layout n times over.
func found(b *build.Build, n int) *choose.Arrangement {
	a := &choose.Arrangement{Now: choose.Candidate{Build: b, What: "as it stands", Count: len(b.Modules)}, Judged: 40, Forbidden: 12, Proof: "All were compared.", Assumed: []string{"judged on 12 days; types mixed too"},
		Refused: []choose.Refusal{{Rule: "hot-voltage", Why: "string 1 on roof: working volts", Kinds: []string{"x"}}}}
	for i := range n {
		c := a.Now
		c.What, c.Wiring, c.Front = "2 × glass-100 + 2 × flexible-110, pairs in series, the pairs in parallel", "pairs in series", i == 0
		c.Energy, c.Mass = quantity.Energy(3.6e8+3.6e6*float64(i)), 4*quantity.Kilogram
		a.Candidates = append(a.Candidates, c)
	}
	return a
}

// A search without one price prints no column of prices, its rules have words, and every note is a sentence.
func TestChoiceWords(t *testing.T) {
	b := van(t)
	s := Choice(Job{Build: b, Layouts: found(b, 3)})
	if slices.Contains(s.Tables[0].Head, "price") {
		t.Errorf("a column of prices that are not given: %q", s.Tables[0].Head)
	}
	a := found(b, 3)
	price := 70.0
	a.Candidates[1].Money = &price
	if s := Choice(Job{Build: b, Layouts: a}); !slices.Contains(s.Tables[0].Head, "price") || s.Tables[0].Rows[1][7] != "not given" || !strings.HasPrefix(s.Tables[0].Rows[2][7], "70 ") || s.Tables[0].Rows[1][8] != "yes" {
		t.Errorf("prices: %q, %q", s.Tables[0].Head, s.Tables[0].Rows)
	}
	if got := s.Tables[1].Rows[0][0]; got != "hot voltage" {
		t.Errorf("the rule prints as %q", got)
	}
	for _, n := range s.Notes {
		if !strings.HasSuffix(n, ".") || strings.HasSuffix(n, "..") || n[:1] != strings.ToUpper(n[:1]) {
			t.Errorf("%q is no sentence", n)
		}
	}
}

// The marks of layouts stand clear of each other, of every point and of the words under the square, also where
// points are close.
func TestMarkPlaces(t *testing.T) {
	points := []draw.Point{{X: 60, Y: 40}, {X: 57, Y: 32}, {X: 56, Y: 33.5}, {X: 63, Y: 34}, {X: 61.5, Y: 36}, {X: 20, Y: 60}, {X: 18, Y: 63}}
	words := draw.Point{X: 60, Y: 44}
	marks := markPlaces(points, words)
	for i := 1; i < len(points); i++ {
		for k := range points {
			if d := math.Hypot(points[k].X-marks[i].X, points[k].Y-marks[i].Y); d < 3.59 {
				t.Errorf("mark %d is %.1f mm from point %d", i, d, k)
			}
			if d := math.Hypot(marks[k].X-marks[i].X, marks[k].Y-marks[i].Y); k > 0 && k != i && d < 5.19 {
				t.Errorf("marks %d and %d are %.1f mm apart", i, k, d)
			}
		}
		if math.Abs(marks[i].X-words.X) < 9.4 && math.Abs(marks[i].Y-words.Y) < 3.7 {
			t.Errorf("mark %d stands on the words", i)
		}
		if d := math.Hypot(points[i].X-marks[i].X, points[i].Y-marks[i].Y); d > 13 {
			t.Errorf("mark %d is %.1f mm from its point", i, d)
		}
	}
}

// What is counted reads as one or as many.
func TestCounted(t *testing.T) {
	for _, c := range []struct {
		value, limit float64
		unit, want   string
	}{{1, 0, "faults", "1 fault, limit 0 faults"}, {1.02, 1, "times", "1.02 times, limit 1"}, {2, 1, "fuses", "2 fuses, limit 1 fuse"}, {63.7, 60, "V", "63.7 V, limit 60 V"},
		{1, 1, "fine", "fine, limit fine"}, {0.5, 1, "", "0.5, limit 1"}, {1, 1, "kg", "1 kg, limit 1 kg"}} {
		if got := figureOf(check.Finding{Value: c.value, Limit: c.limit, Unit: c.unit}); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// No mark of the roof's plan lies on another, also where a module stands in the corner that the surface's marks take.
func TestRoofMarksApart(t *testing.T) {
	b := van(t)
	f := b.Surfaces[0].Name
	var list []Verdict
	for i := range b.Modules { // both in the corner
		b.Modules[i].X, b.Modules[i].Y = 20*quantity.Millimetre, 20*quantity.Millimetre
		list = append(list, Verdict{Mark: len(list) + 1, subject: "module " + b.Modules[i].Name})
	}
	for range 3 {
		list = append(list, Verdict{Mark: len(list) + 1, subject: "surface " + f})
	}
	text := string(plan(b, 0, list, 206, 150).SVG("roof"))
	var at []draw.Point
	for _, m := range regexp.MustCompile(`<circle[^>]*cx="([0-9.]+)" cy="([0-9.]+)" r="2.3"`).FindAllStringSubmatch(text, -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		at = append(at, draw.Point{X: x, Y: y})
	}
	if len(at) != len(list) {
		t.Fatalf("%d marks of %d", len(at), len(list))
	}
	for i := range at {
		for k := range i {
			if d := math.Hypot(at[i].X-at[k].X, at[i].Y-at[k].Y); d < 4.9 {
				t.Errorf("marks %d and %d are %.1f mm apart", k+1, i+1, d)
			}
		}
	}
}
