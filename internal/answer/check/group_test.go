package check

import (
	"slices"
	"testing"

	"noonmark/internal/base/cite"
)

// What holds is one row for a rule and source whatever its figures; what fails only where it says the same; no
// subject is lost or said twice.
func TestGroups(t *testing.T) {
	one, two := cite.Source{Title: "one"}, cite.Source{Title: "two"}
	list := []Finding{
		{ID: "gap", Subject: "module A", Value: 12, Limit: 6, Unit: "mm", Reason: "wide", Source: one}, {ID: "gap", Subject: "module B", Value: 9, Limit: 7, Unit: "mm", Reason: "wider", Source: one},
		{ID: "gap", Subject: "module A", Value: 20, Limit: 6, Unit: "mm", Source: one}, {ID: "gap", Subject: "lid", Value: 9, Limit: 7, Unit: "mm", Source: two},
		{ID: "gap", Subject: "module C", Verdict: Fail, Value: 1, Limit: 6, Unit: "mm", Reason: "narrow", Source: one}, {ID: "gap", Subject: "module D", Verdict: Fail, Value: 1, Limit: 6, Unit: "mm", Reason: "narrow", Source: one},
		{ID: "gap", Subject: "module E", Verdict: Fail, Value: 2, Limit: 6, Unit: "mm", Reason: "narrow", Source: one}, {ID: "gap", Subject: "roof, all", Verdict: Fail, Value: 2, Limit: 6, Unit: "mm", Reason: "narrow", Source: one},
	}
	got := Groups(list)
	var names []string
	for _, g := range got {
		names = append(names, g.Together())
	}
	if want := []string{"module A, B", "lid", "module C, D", "module E; roof, all"}; !slices.Equal(names, want) {
		t.Errorf("got %q, want %q", names, want)
	}
	if g := got[0]; g.Value != (Range{9, 20}) || g.Limit != (Range{6, 7}) || g.Reason != "wide" || g.Verdict != Pass {
		t.Errorf("%+v", g)
	}
}
