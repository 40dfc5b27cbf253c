package web

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"noonmark/examples"
	"noonmark/internal/answer/check"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// found waits for a search to end.
func (s *site) found(name, kind string) searchJSON {
	s.Helper()
	for end := time.Now().Add(3 * time.Minute); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		var out struct{ Searches []searchJSON }
		if err := json.Unmarshal(s.do("GET", "/api/builds/"+name+"/search", nil).Body.Bytes(), &out); err != nil {
			s.Fatal(err)
		}
		for _, x := range out.Searches {
			if x.Kind == kind && x.State != "runs" {
				return x
			}
		}
	}
	s.Fatal("the search does not end")
	return searchJSON{}
}

// asLaid reports how a text's modules and strings differ from a layout; "" when they do not.
func asLaid(text []byte, want *build.Build) string {
	doc, _, problems := buildfile.Decode("x", text)
	if problems.Len() > 0 {
		return problems.Err().Error()
	}
	if len(doc.Modules) != len(want.Modules) || len(doc.Strings) != len(want.Strings) || len(doc.Chargers) != len(want.Chargers) {
		return fmt.Sprintf("%d modules, %d strings, %d chargers; want %d, %d, %d", len(doc.Modules), len(doc.Strings), len(doc.Chargers), len(want.Modules), len(want.Strings), len(want.Chargers))
	}
	for c := range want.Chargers { // charger by charger, string by string, module by module
		if doc.Chargers[c].Name != want.Chargers[c].Name || len(doc.Chargers[c].Strings) != len(want.Chargers[c].Strings) {
			return fmt.Sprintf("charger %s: %v, want %s with %d", doc.Chargers[c].Name, doc.Chargers[c].Strings, want.Chargers[c].Name, len(want.Chargers[c].Strings))
		}
		for k, si := range want.Chargers[c].Strings {
			name, w := doc.Chargers[c].Strings[k], want.Strings[si]
			at := slices.IndexFunc(doc.Strings, func(s build.StringDoc) bool { return s.Name == name })
			if at < 0 || len(doc.Strings[at].Modules) != len(w.Modules) {
				return fmt.Sprintf("string %s: %v", name, doc.Strings)
			}
			for i, m := range w.Modules {
				x := &want.Modules[m]
				n := slices.IndexFunc(doc.Modules, func(d build.ModuleDoc) bool { return d.Name == doc.Strings[at].Modules[i] })
				if n < 0 {
					return "no module " + doc.Strings[at].Modules[i]
				}
				d, turn, how := &doc.Modules[n], 0.0, build.Bonded.String()
				if d.Attached != nil {
					how = *d.Attached
				}
				if x.Attachment == build.StandOff && (d.Gap == nil || math.Abs((*d.Gap-x.Gap).Metres()) > 1e-6) {
					return "a gap lost"
				}
				if d.Turn != nil {
					turn = d.Turn.Degrees()
				}
				got := fmt.Sprintf("%s %s on %s at %.3f %.3f turned %.0f", *d.Type, how, *d.On, d.At.X.Metres(), d.At.Y.Metres(), turn)
				if want := fmt.Sprintf("%s %s on %s at %.3f %.3f turned %.0f", want.Types[x.Type].Name, x.Attachment, want.Surfaces[x.Surface].Name, x.X.Metres(), x.Y.Metres(), x.Turn.Degrees()); got != want {
					return "got " + got + ", want " + want
				}
			}
		}
	}
	return ""
}

// twoChargers is a text with a second charger and a string on it.
func twoChargers(t *testing.T) []byte {
	t.Helper()
	text, err := buildfile.Set(examples.All()[0].Text, buildfile.Change{Path: []string{"obstacles", "fan"}, Cut: true}, buildfile.Change{Path: []string{"obstacles", "hatch"}, Cut: true},
		buildfile.Change{Path: []string{"modules", "C", "type"}, Texts: []string{"foil-95"}, Last: true}, buildfile.Change{Path: []string{"modules", "C", "on"}, Texts: []string{"lid"}, Last: true},
		buildfile.Change{Path: []string{"modules", "C", "at"}, Texts: []string{"0.2 m", "0.9 m"}, Last: true},
		buildfile.Change{Path: []string{"strings", "rear", "modules"}, Texts: []string{"C"}, List: true, Last: true}, buildfile.Change{Path: []string{"strings", "rear", "cable", "length"}, Texts: []string{"4 m"}, Last: true},
		buildfile.Change{Path: []string{"strings", "rear", "cable", "size"}, Texts: []string{"4 mm²"}, Last: true},
		buildfile.Change{Path: []string{"chargers", "second", "like"}, Texts: []string{"controller-16a"}, Last: true}, buildfile.Change{Path: []string{"chargers", "second", "strings"}, Texts: []string{"rear"}, List: true, Last: true})
	if err != nil {
		t.Fatal(err)
	}
	if b, err := buildfile.Build("two chargers", text); err != nil || len(b.Chargers) != 2 {
		t.Fatalf("%v\n%s", err, text)
	}
	return text
}

// A layout becomes a text that says the same: each module in its place, of its type, in its string, whatever
// the number, on one charger and on two. Nothing else of the text is lost.
func TestLayoutChanges(t *testing.T) {
	first, err := buildfile.Starter(buildfile.Answers{}) // it leaves its one string unwritten
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range append(examples.All(), examples.Example{Name: "two chargers", Text: twoChargers(t)}, examples.Example{Name: "eight answers", Text: first}) {
		b, err := buildfile.Build(e.Name, e.Text)
		if err != nil || len(b.Modules) == 0 {
			continue
		}
		glass, _ := build.ClassType("glass-100")
		b.Types = append(b.Types, glass)
		for n := 1; n <= 6; n++ {
			for _, series := range []int{1, 2, n} {
				c := b
				c.Modules, c.Strings, c.Chargers = nil, nil, slices.Clone(b.Chargers)
				for k := range c.Chargers {
					c.Chargers[k].Strings = nil
				}
				for i := range n {
					c.Modules = append(c.Modules, build.Module{Type: (n % 2) * (len(b.Types) - 1), Surface: i % len(b.Surfaces), X: quantity.Length(i) * quantity.Metre, Y: 0.35 * quantity.Metre, Turn: quantity.Angle(i%2) * 90 * quantity.Degree, Attachment: build.Attachment(n % 2 * 2), Gap: quantity.Length(n%2) * 25 * quantity.Millimetre})
					if i%series == 0 {
						on := &c.Chargers[len(c.Strings)%len(c.Chargers)]
						on.Strings = append(on.Strings, len(c.Strings))
						c.Strings = append(c.Strings, build.String{})
					}
					s := &c.Strings[len(c.Strings)-1]
					s.Modules = append(s.Modules, i)
				}
				c.Chargers = slices.DeleteFunc(c.Chargers, func(x build.Charger) bool { return len(x.Strings) == 0 })
				changes, err := layoutChanges(e.Text, &c)
				if err != nil {
					t.Errorf("%s, %d: %v", e.Name, n, err)
					continue
				}
				text, err := buildfile.Set(e.Text, changes...)
				if err != nil {
					t.Errorf("%s, %d in %d: %v", e.Name, n, series, err)
					continue
				}
				if fault := asLaid(text, &c); fault != "" {
					t.Errorf("%s, %d in %d: %s\n%s", e.Name, n, series, fault, text[strings.Index(string(text), "\nmodules"):][:600])
				}
				if was, is := strings.Count(string(e.Text), "#"), strings.Count(string(text), "#"); is < was-2*len(b.Modules) {
					t.Errorf("%s, %d: %d remarks of %d are left", e.Name, n, is, was)
				}
			}
		}
	}
}

// A search starts, tells how far it is, ends; its layouts stand on the sheet and one becomes a revision.
func TestChoice(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	s.sees(s.post("/b/heron-van/search", "kind", "layouts", "most", "2"), "/b/heron-van/choice")
	if x := s.found("heron-van", "layouts"); x.State != "done" || x.Done == 0 || x.Done > x.Total || !strings.Contains(x.Best, "foil-95") {
		t.Errorf("the search ended as %+v", x)
	}
	page := s.get("/b/heron-van/choice", 200)
	if text := words(page); !strings.Contains(text, "On the front") || !strings.Contains(text, "as it stands") || count(page, "svg", func(n *html.Node) bool { return attr(n, "class") == "" }) < 2 {
		t.Errorf("the sheet: %s", clipped(text))
	}
	if w := s.do("GET", "/b/heron-van/book.pdf?sheet=choice", nil); w.Code != 200 || !strings.HasPrefix(w.Body.String(), "%PDF") {
		t.Errorf("the choice on paper: %d", w.Code)
	}
	c, err := s.server.candidate("heron-van", "layouts", "0")
	if err != nil {
		t.Fatal(err)
	}
	s.sees(s.post("/b/heron-van/take", "base", "1", "kind", "layouts", "place", "0"), "/b/heron-van/roof")
	if fault := asLaid([]byte(s.text("heron-van")), c.Build); fault != "" {
		t.Error(fault)
	}
	if text := words(s.get("/b/heron-van/choice", 200)); !strings.Contains(text, "were computed for revision 1") {
		t.Errorf("an old search is shown as new: %s", clipped(text))
	}
	if w := s.post("/b/heron-van/take", "base", "1", "kind", "layouts", "place", "1"); w.Code != 409 {
		t.Errorf("taken from a stale window: %d", w.Code)
	}
	for _, bad := range [][]string{{"base", "2", "kind", "layouts", "place", "99"}, {"base", "2", "kind", "types", "place", "0"}, {"base", "2", "kind", "layouts", "place", "-1"}} {
		if w := s.post("/b/heron-van/take", bad...); w.Code != 404 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
	for _, bad := range [][]string{{"most", "0"}, {"most", "13"}, {"among", "no-such"}, {"prices", "glass-100"}, {"nights", "-1"}, {"fuel", "x"}, {"fuel", "NaN"}} {
		if w := s.post("/b/heron-van/search", bad...); w.Code != 400 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
}

// A search that is stopped ends, and says how far it came.
func TestChoiceStops(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	s.post("/b/heron-van/search", "kind", "types", "most", "6", "among", "foil-95, glass-100, glass-200")
	s.sees(s.post("/b/heron-van/search/stop"), "/b/heron-van/choice")
	if x := s.found("heron-van", "types"); x.State != "stopped" {
		t.Errorf("the search ended as %+v", x)
	}
	if text := words(s.get("/b/heron-van/choice", 200)); !strings.Contains(text, "was stopped") {
		t.Errorf("the sheet: %s", clipped(text))
	}
}

// Each kind of mend makes its revision, and what is no mend is refused.
func TestMends(t *testing.T) {
	for _, c := range []struct {
		pairs []string
		has   string
		lacks string
	}{
		{[]string{"kind", "place", "of", "A", "x", "0.25", "y", "0.1", "turn", "0"}, "A: {type: foil-95, on: lid, at: [0.25 m, 0.1 m]", "turn"},
		{[]string{"kind", "tracking", "of", "roof"}, "tracking: global", ""},
		{[]string{"kind", "without", "of", "fan"}, "hatch:", "fan:"},
		{[]string{"kind", "parallel", "of", "lid"}, "lid: {modules: [A]}\n  lid B: {modules: [B]}", ""},
	} {
		s := openSite(t, nil).with("heron-van")
		s.sees(s.post("/b/heron-van/mend", append([]string{"base", "1", "back", "shade"}, c.pairs...)...), "/b/heron-van/shade")
		got := s.text("heron-van")
		if !strings.Contains(got, c.has) || c.lacks != "" && strings.Contains(got, c.lacks) {
			t.Errorf("%v: %s", c.pairs, got[strings.Index(got, "\nobstacles"):][:1600])
		}
	}
	s := openSite(t, nil).with("heron-van")
	for _, bad := range [][]string{{"kind", "x"}, {"kind", "place", "of", "A", "x", "a"}, {"kind", "place", "of", "Z", "x", "0", "y", "0", "turn", "0"}, {"kind", "parallel", "of", "none"}} {
		if w := s.post("/b/heron-van/mend", append([]string{"base", "1"}, bad...)...); w.Code != 400 {
			t.Errorf("%v: %d", bad, w.Code)
		}
	}
}

// What if: values that are typed and not saved show what they would change, and are not saved.
func TestWhatIf(t *testing.T) {
	s := openSite(t, nil).with("heron-van")
	w := s.post("/b/heron-van/whatif", "base", "1", "back", "trip", "path", joinPath("battery", "like"), "was", "lfp-100", "value", "lfp-200")
	page := s.page(w, 200)
	text := words(page)
	if !strings.Contains(text, "Tried, not saved") || !strings.Contains(text, "lowest charge") || strings.Contains(s.text("heron-van"), "lfp-200") {
		t.Errorf("the trip: %s", clipped(text))
	}
	if n := count(page, "input", func(n *html.Node) bool { return attr(n, "name") == "value" && attr(n, "value") == "lfp-200" }); n < 2 {
		t.Errorf("what was typed stands %d times: in its field and in the form that saves it", n)
	}
	if w := s.post("/b/heron-van/whatif", "base", "1", "back", "trip", "path", "battery/like", "was", "lfp-100", "value", "no-such"); w.Code != 422 {
		t.Errorf("a value that is none: %d", w.Code)
	}
	s.post("/b/heron-van/set", "base", "1", "back", "trip", "path", "battery/like", "was", "lfp-100", "value", "lfp-200")
	if text := words(s.get("/b/heron-van/needs?was=1", 200)); !strings.Contains(text, "Against revision 1") || !strings.Contains(text, "battery as sold") {
		t.Errorf("against the revision before: %s", clipped(text))
	}
	if text := words(s.get("/b/heron-van/roof?was=1", 200)); !strings.Contains(text, "Nothing on this sheet differs") {
		t.Errorf("the roof: %s", clipped(text))
	}
	text = words(s.get("/b/heron-van/compare?from=1&to=2", 200))
	if !strings.Contains(text, "What it changes") || !strings.Contains(text, "Lowest charge") && !strings.Contains(text, "owest") {
		t.Errorf("two revisions: %s", clipped(text))
	}
}

// A change that is offered to mend a rule does: once it is made, the rule it names holds and no other fails.
func TestRuleMends(t *testing.T) {
	made := 0
	list := examples.All()
	thin := list[0]
	thin.Name, thin.Text = "thin", []byte(strings.NewReplacer("input_cable: {length: 4.5 m, size: 4 mm²", "input_cable: {length: 9 m, size: 1.5 mm²", "fuse: 20 A", "fuse: 60 A").Replace(string(list[0].Text)))
	for _, e := range append(list, thin) {
		for _, key := range ruledSheets {
			fresh := func() *site {
				s := openSite(t, nil)
				if _, err := s.store.Add(context.Background(), e.Name, store.Draft{Text: e.Text}); err != nil {
					t.Fatal(err)
				}
				return s
			}
			s := fresh()
			o, err := s.server.open(context.Background(), e.Name, "")
			if err != nil || o.build == nil {
				t.Fatal(err)
			}
			list, err := s.server.ruleMends(context.Background(), o, key)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range list {
				s := fresh()
				t.Logf("%s, %s: %s, %s", e.Name, m.What, m.Gain, m.Effort)
				pairs := []string{"base", "1", "back", key, "kind", m.Kind, "of", m.Of, "x", m.X, "y", m.Y, "turn", m.Turn, "what", m.What}
				for _, x := range m.Sets {
					pairs = append(pairs, "path", x.Path, "value", x.Value)
				}
				s.sees(s.post("/b/"+e.Name+"/mend", pairs...), "/b/"+e.Name+"/"+key)
				then, err := s.server.open(context.Background(), e.Name, "")
				if err != nil || then.Number != 2 {
					t.Fatal(err)
				}
				was, _ := o.found()
				is, err := then.found()
				if err != nil {
					t.Fatal(err)
				}
				n := [2]int{}
				for i, findings := range [][]check.Finding{was, is} {
					for _, f := range findings {
						if f.Verdict == check.Fail || f.Verdict == check.Warn {
							n[i]++
						}
					}
				}
				if n[1] >= n[0] {
					t.Errorf("%s, %s: %d rules fail or are close, %d before", e.Name, m.What, n[1], n[0])
				}
				made++
			}
		}
	}
	if made < 3 {
		t.Errorf("%d mends were found in all examples", made)
	}
	t.Logf("%d mends", made)
}
