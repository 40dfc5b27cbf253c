package cli

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"noonmark/internal/answer/diagnose"
)

const burntTab = "../../../examples/readings/heron-burnt-tab.txt"

// The example's burnt tab is found, with the contract's fields.
func TestDiagnose(t *testing.T) {
	out, errs, code := do(t, "", "diagnose", file(t, "heron-van"), burntTab, "--json")
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var a diagnoseAnswer
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	if c := a.Causes[0]; !strings.Contains(c.Cause, "busbar") || c.Where != "module B" || c.Probability < 0.9 || len(c.Predicted) != 12 {
		t.Errorf("first %+v", c)
	}
	for _, key := range []string{`"causes"`, `"next_test"`, `"probability"`, `"where"`, `"predicted"`} {
		if !strings.Contains(out, key) {
			t.Errorf("no %s", key)
		}
	}
	out, _, code = do(t, "", "diagnose", file(t, "heron-van"), burntTab)
	if code != ExitDone || !strings.Contains(out, "burnt busbar") || !strings.Contains(out, "overturn") || !strings.Contains(out, "never part a plug under load") {
		t.Errorf("exit %d:\n%s", code, out)
	}
}

// A few readings give a next test with its caution; a table does as well as lines.
func TestDiagnoseNext(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.csv")
	if err := os.WriteFile(path, []byte("kind,at,value\nlight,,900 W/m²\ncells,,50 °C\narray_v,,27 V\narray_i,,1.9 A\nvoc,A,26.5 V\njoint_v,lid,1,5 mV\nframe_ohm,A,OL\nisc,A,4.1 A ± 0.1 A\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	out, errs, code := do(t, "", "diagnose", file(t, "heron-van"), path, "--json")
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var a diagnoseAnswer
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	if a.NextTest == nil || a.NextTest.Caution == "" || len(a.NextTest.Expect) < 2 {
		t.Errorf("next test %+v of %s", a.NextTest, out)
	}
}

// Every problem of a readings file is named with its line; nothing is computed.
func TestReadingsRefused(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.txt")
	if err := os.WriteFile(path, []byte("voc A = 3\nbla = 3 V\nshadow A = maybe\nvoc\njoint_v lid = 3 mV\nlight_unsure = 90 %\nvoc A = 20 V ± 0 V\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, errs, code := do(t, "", "diagnose", file(t, "heron-van"), path)
	if code != ExitUse || !strings.Contains(errs, "7 problems") {
		t.Errorf("exit %d:\n%s", code, errs)
	}
	for _, line := range []string{":1:", ":2:", ":3:", ":4:", ":5:", ":6:", ":7:"} {
		if !strings.Contains(errs, line) {
			t.Errorf("line %s is not named:\n%s", line, errs)
		}
	}
	for _, args := range [][]string{{"diagnose", file(t, "heron-van")}, {"diagnose", file(t, "heron-van"), "nothing.txt"}, {"claim", file(t, "heron-van"), "A"}, {"claim", file(t, "heron-van"), "A", "-o", filepath.Join(t.TempDir(), "c.zip")},
		{"claim", file(t, "heron-van"), "Z", "--readings", burntTab, "-o", filepath.Join(t.TempDir(), "c.zip")}} {
		if _, errs, code := do(t, "", args...); code != ExitUse || errs == "" {
			t.Errorf("%v: exit %d, %q", args, code, errs)
		}
	}
}

// A packet holds what a claim needs, equal input gives equal bytes, and what is missing is said.
func TestClaim(t *testing.T) {
	dir := t.TempDir()
	base, err := os.ReadFile(burntTab)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "back.jpg"), []byte("a picture"), 0o644); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "claim.txt")
	terms := "\ndate = 2027-06-21 12:10\nbought = 2025-03-02\npower_warranty = 98 %, 0.7 %, 10\nmobile_use = excluded\ninstrument = hand meter, 0.5 %\nevent = 2025-04-10 bonded\nphoto = back.jpg, 2027-06-21 12:20, the box\n"
	if err := os.WriteFile(path, append(base, terms...), 0o644); err != nil {
		t.Fatal(err)
	}
	build := file(t, "heron-van")
	var made [2][]byte
	for k, name := range []string{"one.zip", "two.zip"} {
		out, errs, code := do(t, "", "claim", build, "B", "--readings", path, "-o", filepath.Join(dir, name))
		if code != ExitDone {
			t.Fatalf("exit %d: %s", code, errs)
		}
		if !strings.Contains(out, "missing: self_installation") || !strings.Contains(out, "missing: serial") || strings.Contains(out, "missing: bought") {
			t.Errorf("what is missing:\n%s", out)
		}
		if made[k], err = os.ReadFile(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(made[0], made[1]) {
		t.Error("equal input gives other bytes")
	}
	z, err := zip.NewReader(bytes.NewReader(made[0]), int64(len(made[0])))
	if err != nil {
		t.Fatal(err)
	}
	held := map[string][]byte{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if held[f.Name], err = io.ReadAll(r); err != nil {
			t.Fatal(err)
		}
	}
	if string(held["photos/01-back.jpg"]) != "a picture" || !bytes.HasPrefix(held["claim.pdf"], []byte("%PDF")) {
		t.Errorf("the packet lacks the photograph or the PDF")
	}
	rows, err := csv.NewReader(bytes.NewReader(held["readings.csv"])).ReadAll()
	if err != nil || len(rows) != 13 {
		t.Errorf("readings.csv: %d rows, %v", len(rows), err)
	}
	var data map[string]any
	if err := json.Unmarshal(held["claim.json"], &data); err != nil {
		t.Fatal(err)
	}
	w, _ := data["power_warranty"].(map[string]any)
	if w == nil || !strings.Contains(w["verdict"].(string), "under what is promised") {
		t.Errorf("power warranty: %v", w)
	}
}

// Terms that cannot be read are refused.
func TestClaimRefused(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "claim.txt")
	if err := os.WriteFile(path, []byte("voc A = 26 V\ndate = yesterday\nmobile_use = perhaps\npower_warranty = 98\nphoto = nothing.jpg, noon, x\nserial = 1\nserial = 2\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, errs, code := do(t, "", "claim", file(t, "heron-van"), "A", "--readings", path, "-o", filepath.Join(dir, "c.zip"))
	if code != ExitUse || !strings.Contains(errs, "5 problems") {
		t.Errorf("exit %d:\n%s", code, errs)
	}
	if _, err := os.Stat(filepath.Join(dir, "c.zip")); err == nil {
		t.Error("a packet was written")
	}
	for years, want := range map[string]int{"10": ExitDone, "10 years": ExitDone, "10x": ExitUse, "-1": ExitUse, "NaN": ExitUse} {
		if err := os.WriteFile(path, []byte("voc A = 26 V\npower_warranty = 98 %, 0.7 %, "+years+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, errs, code := do(t, "", "claim", file(t, "heron-van"), "A", "--readings", path, "-o", filepath.Join(dir, "d.zip"), "--force"); code != want {
			t.Errorf("%q years: exit %d, %s", years, code, errs)
		}
	}
}

// Light and cells that nobody measured come from place, minute, sky and mounting, and the answer says so;
// what is wrong with them is named with its line, and at night nothing is told.
func TestDiagnoseConditions(t *testing.T) {
	readings := "array_v = 27.4 V\narray_i = 1.88 A\nbattery_v = 13.31 V\nvoc A = 26.6 V\nisc A = 4.07 A\nvoc B = 26.5 V\nisc B = 2.02 A\n"
	path := filepath.Join(t.TempDir(), "r.txt")
	run := func(head string, flags ...string) (string, string, int) {
		if err := os.WriteFile(path, []byte(head+readings), 0o644); err != nil {
			t.Fatal(err)
		}
		return do(t, "", append([]string{"diagnose", file(t, "heron-van"), path, "--json"}, flags...)...)
	}
	said := func(out, what string) string {
		var a diagnoseAnswer
		if err := json.Unmarshal([]byte(out), &a); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		for _, x := range a.Assumed {
			if x.What == what {
				return x.Value + "; " + x.Why
			}
		}
		return ""
	}
	clear, errs, code := run("at = Evora, PT\ndate = 2027-06-21 12:10\nsky = clear\nposture = driving\n")
	if code != ExitDone || !strings.Contains(said(clear, "light"), "clear sky") || !strings.Contains(said(clear, "cells"), "thermal model") || said(clear, "air") == "" {
		t.Errorf("clear: exit %d, %s; light %q", code, errs, said(clear, "light"))
	}
	unsaid, _, _ := run("date = 2027-06-21 12:10\n", "--at", "Evora, PT")
	if !strings.Contains(said(unsaid, "light"), "not noted") || !strings.Contains(said(unsaid, "stand"), "any posture") {
		t.Errorf("sky not noted: light %q, stand %q", said(unsaid, "light"), said(unsaid, "stand"))
	}
	metered, _, _ := run("light = 870 W/m²\nat = Evora, PT\ndate = 2027-06-21 12:10\n")
	if said(metered, "light") != "" || said(metered, "cells") == "" {
		t.Errorf("a meter's light: light %q, cells %q", said(metered, "light"), said(metered, "cells"))
	}
	free, _, code := run("at = Evora, PT\ndate = 2027-06-21 12:10\nsky = bright, some veil\n")
	if code != ExitDone || !strings.Contains(said(free, "sky"), "none of") {
		t.Errorf("a sky in other words: exit %d, %q", code, said(free, "sky"))
	}
	for _, bare := range []string{"", "date = 2027-06-21\n"} {
		out, _, code := run(bare)
		if code != ExitDone || !strings.Contains(said(out, "light"), "700 W/m²") {
			t.Errorf("no minute: exit %d, light %q", code, said(out, "light"))
		}
	}
	if _, errs, code := run("at = Evora, PT\ndate = 2027-06-21 23:40\nsky = clear\n"); code != ExitUse || !strings.Contains(errs, "the sun is down") {
		t.Errorf("night: exit %d, %s", code, errs)
	}
	_, errs, code = run("at = Evora, PT\ndate = noon\nair = 95 °C\nposture = kneeling\ntilt = 20°\n")
	if code != ExitUse || !strings.Contains(errs, "4 problems") || !strings.Contains(errs, ":2:") || !strings.Contains(errs, ":5:") {
		t.Errorf("bad conditions: exit %d, %s", code, errs)
	}
}

// What a set of readings cannot carry gets no verdict, and what cannot be gets its sentence.
func TestDiagnoseBadInput(t *testing.T) {
	path := filepath.Join(t.TempDir(), "r.txt")
	run := func(text string) (diagnoseAnswer, string, int) {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		out, errs, code := do(t, "", "diagnose", file(t, "heron-van"), path, "--json")
		var a diagnoseAnswer
		if code == ExitDone {
			if err := json.Unmarshal([]byte(out), &a); err != nil {
				t.Fatal(err)
			}
		}
		return a, errs, code
	}
	for text, want := range map[string]string{
		"voc A = 20 V\nlight = 0 W/m²\n":                     "covered, off",
		"voc A = 20 V\nlight = 2000 W/m²\n":                  "more than the sun gives",
		"array_w = 100 W\n":                                  "is no power",
		"voc A = 20 V\ncells = -60 °C\nlight = 800 W/m²\n":   "between -40 and 110",
		"light = 800 W/m²\n":                                 "at least one reading",
		"voc C = 20 V\n":                                     "a module: A, B",
		"voc A = 20 V\nlight = 800 W/m²\nbattery = -5 V\n":   "60 to 140 % of its nominal volts",
		"voc A = 20 V\nlight = 800 W/m²\nlight = 300 W/m²\n": "wanted light once",
		"voc A = 20 V\nsky = clear\nsky = hazy\n":            "wanted sky once",
		"voc A = 20 V\ndate = 2027-06-21\ntime = 12:10\n":    "one of date and time",
		"voc A = 20 V\nlight = 800 W/m²\ncells = 45 °C\nat = Evora, PT\ndate = 2027-06-21 02:00\n": "the sun is down",
		"voc A = 20 V\nlight = 800 W/m²\ncells = 45 °C\ndate = yesterday\nposture = kneeling\n":    "2 problems",
	} {
		if _, errs, code := run(text); code != ExitUse || !strings.Contains(errs, want) {
			t.Errorf("%q: exit %d, %s; wanted %q", text, code, errs, want)
		}
	}
	for _, one := range []string{"input_fuse = OL", "voc A = 0 V", "array_i = 0 A", "frame_ohm A = 0 Ω", "shadow A = yes"} {
		if a, errs, _ := run(one + "\nlight = 800 W/m²\ncells = 45 °C\n"); a.Verdict != diagnose.CannotTell.String() || a.NextTest == nil {
			t.Errorf("%s alone: %q, next %v, %s", one, a.Verdict, a.NextTest, errs)
		}
	}
	// Practice: open volts 4 % over the label's working volts, short-circuit amps 2.5 % under its working amps.
	if a, _, _ := run("light = 900 W/m²\ncells = 52 °C\nvoc A = 23.4 V\nisc A = 4.11 A\n"); a.Verdict != diagnose.CannotTell.String() || strings.HasPrefix(a.Causes[0].Cause, "healthy") {
		t.Errorf("low volts: %s, %+v", a.Verdict, a.Causes[0])
	}
	// Nothing is done on a cause that is not told.
	for text, want := range map[string]string{"isc B = 2 A\nlight = 800 W/m²\ncells = 45 °C\n": "once it is proven", "voc A = 13.1 V\nisc A = 8.07 A\nlight = 870 W/m²\ncells = 51 °C\n": "To do: have it looked at"} {
		if _, errs, code := run(text); code != ExitDone {
			t.Fatalf("%q: %s", text, errs)
		}
		if out, _, _ := do(t, "", "diagnose", file(t, "heron-van"), path); !strings.Contains(out, want) {
			t.Errorf("%q: no %q in\n%s", text, want, out)
		}
	}
	a, _, _ := run("light = 900 W/m²\ncells = -12 °C\nvoc A = 29 V\nvoc B = 29 V\n")
	frost := false
	for _, x := range a.Assumed {
		frost = frost || strings.Contains(x.Why, "frost")
	}
	if !frost {
		t.Errorf("cells at -12 °C in the sun: %+v", a.Assumed[:min(3, len(a.Assumed))])
	}
}
