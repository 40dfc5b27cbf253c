package sheet

import (
	"reflect"
	"testing"
)

// What differs between two sheets is told once, in two columns, and nothing else: values, verdicts, cells of
// rows, rows of one side alone.
func TestChanges(t *testing.T) {
	now := Sheet{Values: []Value{{"watts", "180 W"}, {"mass", "3 kg"}, {"old", "1"}},
		Verdicts: []Verdict{{Title: "gap, A", Word: "close"}, {Title: "gap, A", Word: "unknown"}, {Title: "span, A", Word: "fails"}},
		Tables:   []Table{{Title: "Days", Head: []string{"date", "Wh in", "used"}, Right: []int{1, 2}, Rows: [][]string{{"1 May", "400", "300"}, {"2 May", "410", "300"}}}, {Title: "Parts", Head: []string{"", ""}, Right: []int{0}, Rows: [][]string{{"2", "foil"}, {"1", "fuse"}}}}}
	changed := Sheet{Values: []Value{{"watts", "270 W"}, {"mass", "3 kg"}, {"new", "2"}},
		Verdicts: []Verdict{{Title: "gap, A", Word: "close"}, {Title: "gap, A", Word: "within the stated rule"}, {Title: "span, A", Word: "fails"}},
		Tables:   []Table{{Title: "Days", Head: []string{"date", "Wh in", "used"}, Right: []int{1, 2}, Rows: [][]string{{"1 May", "500", "300"}, {"2 May", "410", "300"}}}, {Title: "Parts", Head: []string{"", ""}, Right: []int{0}, Rows: [][]string{{"3", "foil"}, {"1", "switch"}}}}}
	want := [][]string{{"watts", "180 W", "270 W"}, {"new", "–", "2"}, {"old", "1", "–"}, {"gap, A", "unknown", "within the stated rule"},
		{"1 May", "Wh in 400", "Wh in 500"}, {"foil", "2", "3"}, {"switch", "–", "1"}, {"fuse", "1", "–"}}
	got, ok := Changes(now, changed)
	if !ok || !reflect.DeepEqual(got.Rows, want) {
		t.Errorf("got %q\nwant %q", got.Rows, want)
	}
	if _, ok := Changes(now, now); ok {
		t.Error("a sheet differs from itself")
	}
}
