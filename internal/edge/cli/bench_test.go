package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"noonmark/examples"
)

// readingsFile writes a table of readings to a file.
func readingsFile(t *testing.T, text []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "readings.csv")
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// example writes an example's readings to a file.
func example(t *testing.T, name string) string {
	t.Helper()
	for _, e := range examples.Readings() {
		if e.Name == name {
			return readingsFile(t, e.Text)
		}
	}
	t.Fatalf("no readings %s", name)
	return ""
}

// rows returns a field that is a list of objects.
func rows(t *testing.T, v map[string]any, field string) []map[string]any {
	t.Helper()
	list, ok := v[field].([]any)
	if !ok {
		t.Fatalf("%s is no list: %v", field, v[field])
	}
	var out []map[string]any
	for _, x := range list {
		out = append(out, x.(map[string]any))
	}
	return out
}

// The contract's fields of bench, and what the examples were made to show: in turns B is 4 % under A, and
// the light of a modelled sky cannot judge either by its label.
func TestBench(t *testing.T) {
	van := file(t, "heron-van")
	v := fields(t, "readings modules pairs findings file cautions assumed", "bench", example(t, "two-in-turns"), van, "--at", "Evora, PT")
	if n := len(rows(t, v, "readings")); n != 14 {
		t.Errorf("%d readings, want 14", n)
	}
	for _, m := range rows(t, v, "modules") {
		for f := range strings.FieldsSeq("ratio_to_label U95 verdict") {
			if _, ok := m[f]; !ok {
				t.Errorf("a module has no %s", f)
			}
		}
		if m["verdict"] != "cannot tell" || m["settled_by"] == "" {
			t.Errorf("%v: %v, want cannot tell with what settles it", m["module"], m["verdict"])
		}
	}
	p := rows(t, v, "pairs")
	if len(p) != 1 || p[0]["better"] != "A" || p[0]["places_changed"] != true {
		t.Fatalf("pairs: %v", p)
	}
	if r := p[0]["ratio"].(float64); r < 0.955 || r > 0.97 {
		t.Errorf("ratio %v, the readings were made with 0.962", r)
	}
	out, errs, code := do(t, "", "bench", example(t, "two-in-turns"), van, "--at", "Evora, PT")
	if code != ExitDone || !strings.Contains(out, "A gives more") || strings.Contains(strings.ToLower(out), " safe") {
		t.Errorf("exit %d: %s %s", code, errs, out)
	}
}

// The page to publish has its parts, and who paid.
func TestPage(t *testing.T) {
	page := filepath.Join(t.TempDir(), "page.md")
	if _, errs, code := do(t, "", "bench", example(t, "two-in-turns"), file(t, "heron-van"), "--at", "Evora, PT", "--page", page, "--paid-by", "the writer"); code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	b, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	for _, want := range []string{"A gives more", "## Method", "## Readings", "Samples: 2", "Who paid for the modules: the writer", "## What it does not show", "JCGM 100"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page has no %q", want)
		}
	}
	if n := strings.Count(text, "o") - strings.Count(strings.ReplaceAll(text, ".o", "."), "o"); n < 6 {
		t.Errorf("the figure has %d marks, want 6", n)
	}
	if mark(1) != strings.Repeat(".", 20)+"o"+strings.Repeat(".", 20) || mark(0.5)[0] != '<' || mark(2)[40] != '>' {
		t.Error("marks stand in the wrong place")
	}
}

// A notebook with every slip in it: each is listed, nothing is dropped, no verdict.
func TestNotebook(t *testing.T) {
	v := fields(t, "readings modules pairs", "bench", example(t, "lid-notes"), file(t, "heron-van"), "--at", "Evora, PT")
	if f := v["file"].(map[string]any); f["encoding"] != "Windows-1252" || f["decimals"] != "decimal comma" || len(f["unread"].([]any)) != 2 {
		t.Errorf("taken as %v", f)
	}
	found := map[string]bool{}
	all := rows(t, v, "readings")
	if len(all) != 9 {
		t.Errorf("%d readings, want 9", len(all))
	}
	for _, r := range all {
		for _, f := range r["findings"].([]any) {
			found[f.(map[string]any)["kind"].(string)] = true
		}
	}
	for _, want := range []string{"isc times voc", "overload", "reversed", "too much light", "no light", "night", "temperature", "light soak"} {
		if !found[want] {
			t.Errorf("no finding %q among %v", want, found)
		}
	}
	for _, m := range rows(t, v, "modules") {
		if m["verdict"] != "cannot tell" {
			t.Errorf("%v is judged %v", m["module"], m["verdict"])
		}
	}
}

// A logged day of two modules; the first sentence on each condition comes out.
func TestLoggedDay(t *testing.T) {
	v := fields(t, "readings modules pairs day", "bench", example(t, "side-by-side"), file(t, "heron-van"), "--at", "Evora, PT")
	says := map[string]string{}
	for _, s := range rows(t, v["day"].(map[string]any), "shares") {
		if s["module"] == "B" {
			says[s["part"].(string)] = s["says"].(string)
		}
	}
	for part, want := range map[string]string{"dawn": "better here", "dusk": "better here", "noon": "no difference", "cloud": "", "heat": "", "the whole day": "no difference"} {
		if s, ok := says[part]; !ok || !strings.Contains(s, want) {
			t.Errorf("%s: %q, want %q", part, s, want)
		}
	}
	out, _, code := do(t, "", "bench", example(t, "side-by-side"), file(t, "heron-van"), "--at", "Evora, PT")
	if code != ExitDone || !strings.Contains(out, "shade on it") {
		t.Errorf("exit %d: the shade on B is not told: %s", code, out)
	}
}

// Readings by a label alone, typed on the input, times without a date.
func TestTyped(t *testing.T) {
	out, errs, code := do(t, "time,voc,isc\n12:40,22.8 V,4.01 A\n", "bench", "-", "--module", "foil CIGS 90 W Voc 28.3 V Isc 4.6 A Vmp 21.9 V Imp 4.11 A", "--at", "Evora, PT", "--date", "2027-06-21")
	for _, want := range []string{"4 % above the label's working voltage", "2.4 % under its working current", "CANNOT TELL", "the back's temperature"} {
		if !strings.Contains(out, want) {
			t.Errorf("exit %d, %s: no %q in\n%s", code, errs, want, out)
		}
	}
}

// Wrong use of bench and record.
func TestBenchMisuse(t *testing.T) {
	r, van := example(t, "two-in-turns"), file(t, "heron-van")
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"bench"}, "readings"}, {[]string{"bench", r}, "--module"}, {[]string{"bench", "nofile.csv", van}, "no such file"}, {[]string{"bench", r, van, "--order", "year"}, "--order"},
		{[]string{"bench", r, van, "--date", "21.6."}, "--date"}, {[]string{"bench", r, van, "--column", "voc"}, "--column"}, {[]string{"bench", r, van, "--column", "voc=Nothing"}, "voc"},
		{[]string{"bench", r, van, "--meter", "stick"}, "--meter"}, {[]string{"bench", r, van, "--reference", "4"}, "--reference"}, {[]string{"bench", readingsFile(t, []byte("hello\nworld\n")), van}, "headers"},
		{[]string{"bench", readingsFile(t, []byte("voc\nb\n")), van}, "could be read"},
		{[]string{"bench", "--plan", "--module", "90 W"}, "--at"}, {[]string{"bench", "--plan", van, "--at", "Evora, PT", "--time", "2027-06-21 23:30"}, "sun stays down"},
		{[]string{"record", van, "--at", "Evora, PT", "--time", "2027-06-21 23:30"}, "sun is down"}, {[]string{"record"}, "one build file"},
	} {
		out, errs, code := do(t, "", c.args...)
		if code != ExitUse || out != "" || !strings.Contains(errs, c.want) {
			t.Errorf("%v: exit %d, want 2 with %q; printed %q, said %q", c.args, code, c.want, out, errs)
		}
	}
}

// The plan names tests with times; the record has its lines in order and its reminders.
func TestPlanAndRecord(t *testing.T) {
	van := file(t, "heron-van")
	v := fields(t, "tests refused outlook", "bench", "--plan", van, "--at", "Evora, PT", "--load", "--thermometer")
	if len(rows(t, v, "tests")) < 3 {
		t.Errorf("tests at noon: %v", v["tests"])
	}
	ics := filepath.Join(t.TempDir(), "r.ics")
	v = fields(t, "entries baseline reminders incoming", "record", van, "--at", "Evora, PT", "--incoming", "--ics", ics)
	var order []string
	for _, e := range rows(t, v, "entries") {
		if name := e["test"].(string); len(order) == 0 || order[len(order)-1] != name {
			order = append(order, name)
		}
	}
	want := "look, continuity of bonding, polarity, open volts, short-circuit amps, open volts of the string, short-circuit amps of the string, insulation, function"
	if got := strings.Join(order, ", "); got != want {
		t.Errorf("order %s, want %s", got, want)
	}
	text, err := os.ReadFile(ics)
	if err != nil || strings.Count(string(text), "BEGIN:VEVENT") != len(rows(t, v, "reminders")) {
		t.Errorf("%v: %s", err, text)
	}
	out, _, code := do(t, "", "record", van, "--at", "Evora, PT")
	if code != ExitDone || !strings.Contains(out, "signed") {
		t.Errorf("exit %d: %s", code, out)
	}
	out, _, code = do(t, "", "bench", "--plan", van, "--at", "Evora, PT", "--load")
	if code != ExitDone || !strings.Contains(out, "A against B") {
		t.Errorf("exit %d: %s", code, out)
	}
}
