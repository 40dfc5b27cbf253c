package web

import (
	"strings"
	"testing"

	"noonmark/examples"
	"noonmark/internal/answer/check"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// What a rule waits for is asked where the rule stands, and once it is typed the rule is no longer unknown.
func TestMissing(t *testing.T) {
	s := openSite(t, nil)
	var cuts []buildfile.Change
	for _, key := range []string{"ribs", "walked", "mass", "load_standing"} {
		cuts = append(cuts, buildfile.Change{Path: []string{"surfaces", "lid", key}, Cut: true})
	}
	cuts = append(cuts, buildfile.Change{Path: []string{"chargers", "roof", "input_cable", "insulation"}, Cut: true}, buildfile.Change{Path: []string{"chargers", "roof", "battery_cable", "fuse_volts"}, Cut: true})
	less, err := buildfile.Set(examples.All()[0].Text, cuts...)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.Add(t.Context(), "heron-van", store.Draft{Text: less}); err != nil {
		t.Fatal(err)
	}
	o, err := s.server.open(t.Context(), "heron-van", "")
	if err != nil {
		t.Fatal(err)
	}
	found, err := o.found()
	if err != nil {
		t.Fatal(err)
	}
	unknown := func(list []check.Finding, id string) bool {
		for _, f := range list {
			if f.ID == id && f.Verdict == check.Unknown {
				return true
			}
		}
		return false
	}
	asked := 0
	for _, key := range ruledSheets {
		for _, m := range missingOf(o.build, o.Text, found, key) {
			asked++
			if m.Example == "" || m.At == "" {
				t.Errorf("%+v", m)
			}
		}
	}
	if asked < 4 {
		t.Errorf("%d values are asked for", asked)
	}
	text := words(s.get("/b/heron-van/roof", 200))
	if !strings.Contains(text, "What the rules wait for") || !strings.Contains(text, "For span, module A") {
		t.Errorf("the roof: %s", clipped(text))
	}
	if !unknown(found, "span") || !unknown(found, "walking-strip") {
		t.Fatal("the example knows it already")
	}
	s.sees(s.post("/b/heron-van/set", "base", "1", "back", "roof", "path", "surfaces/lid/ribs", "was", "", "value", "0 mm", "path", "surfaces/lid/walked", "was", "", "value", "false"), "/b/heron-van/roof")
	then, err := s.server.open(t.Context(), "heron-van", "")
	if err != nil {
		t.Fatal(err)
	}
	if found, err = then.found(); err != nil || unknown(found, "span") || unknown(found, "walking-strip") {
		t.Errorf("still unknown, %v", err)
	}
}
