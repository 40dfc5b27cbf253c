package cli

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const juneLog = "../../../examples/readings/heron-june-log.csv"

// The example's log, made by another model of sky and module: sound before, the burnt tab's day and size
// found, the battery's thrown away energy and the gap told, with the contract's fields; one sheet on paper.
func TestLogCompare(t *testing.T) {
	pdf := filepath.Join(t.TempDir(), "log.pdf")
	out, errs, code := do(t, "", "log", "compare", file(t, "heron-van"), juneLog, "--at", "Evora, PT", "--posture", "camped", "--heading", "160°", "--json", "-o", pdf)
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	var a logAnswer
	if err := json.Unmarshal([]byte(out), &a); err != nil {
		t.Fatal(err)
	}
	if len(a.Days) != 30 || a.Used < 8 || a.Ratio == nil || a.Thrown == nil || len(a.Gaps) != 1 || len(a.Alarms) != 1 {
		t.Fatalf("%d days, %d used, %d gaps, alarms %+v", len(a.Days), a.Used, len(a.Gaps), a.Alarms)
	}
	// The generator's clear days before the fault are its own sound array: another sky, 5 % apart at most.
	for _, d := range a.Days[:18] {
		if d.Clear && d.Free != nil && math.Abs(*d.Free-1) > 0.08 {
			t.Errorf("%s: %.3f of what a sound array gives", d.Date, *d.Free)
		}
	}
	if x := a.Alarms[0]; x.Kind != "step" || x.Date < "2027-06-25" || x.Date > "2027-06-28" || math.Abs(*x.Left-0.60) > 0.05 {
		t.Errorf("%+v", x)
	}
	// The generator withheld 1.3 kWh from a full battery.
	if *a.ThrownLow > *a.Thrown || *a.ThrownUp < *a.Thrown || *a.Thrown < 900 || *a.Thrown > 1800 {
		t.Errorf("thrown away %.0f, %.0f to %.0f Wh", *a.Thrown, *a.ThrownLow, *a.ThrownUp)
	}
	for _, key := range []string{`"days"`, `"ratio_to_expected"`, `"thrown_away_Wh"`, `"gaps"`, `"alarms"`} {
		if !strings.Contains(out, key) {
			t.Errorf("no %s", key)
		}
	}
	if text, err := os.ReadFile(pdf); err != nil || !strings.HasPrefix(string(text), "%PDF") {
		t.Errorf("no sheet: %v", err)
	}
}

// Any layout is read: German heads, decimal comma, a line a day; import says what it holds; what is no log is
// refused with its reason.
func TestLogImport(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	daily := write("tage.csv", "Datum;Ertrag kWh\n2027-06-01;0,95\n2027-06-02;1,1\n2027-06-03;k.A.\n2027-06-04;0,4\n")
	out, errs, code := do(t, "", "log", "import", daily, "--at", "Evora, PT", "--json")
	var a logAnswer
	if code != ExitDone || json.Unmarshal([]byte(out), &a) != nil || len(a.Days) != 3 || a.Days[1].Energy != 1100 || a.Days[0].Date != "2027-06-01" {
		t.Errorf("exit %d, %s: %s", code, errs, out)
	}
	steps := write("pv.csv", "time,V,A\n2027-06-01 10:00,20,2\n2027-06-01 10:10,20,3\n2027-06-01 15:00,20,1\n2027-06-01 15:10,20,1\n")
	if out, errs, code = do(t, "", "log", "import", steps, "--at", "Evora, PT"); code != ExitDone || !strings.Contains(out, "Gap: 1 Jun 10:10 to 1 Jun 15:00") || !strings.Contains(out, "2027-06-01  12") {
		t.Errorf("exit %d, %s\n%s", code, errs, out)
	}
	for text, want := range map[string]string{"": "", "a,b\n1,2\n": "power=HEADER", "time,air °C\n2027-06-01 10:00,20\n": "power=HEADER", "time,power W\n2027-06-01 10:00,x\n": "bad.csv:2:2"} {
		if _, errs, code := do(t, "", "log", "import", write("bad.csv", text)); code != ExitUse || !strings.Contains(errs, want) {
			t.Errorf("%q: exit %d, %s", text, code, errs)
		}
	}
	for _, args := range [][]string{{"log", "impart"}, {"log", "compare", file(t, "heron-van")}, {"log", "import", "nothing.csv"}, {"log", "import", dir}, {"log", "import", "record:x"}, {"log", "import", daily, "--keep", "van"},
		{"log", "compare", file(t, "heron-van"), daily, "--posture", "kneeling"}, {"log", "compare", file(t, "heron-van"), daily, "--years", "1"}, {"log", "compare", file(t, "heron-van"), daily, "-o", "x.svg"}} {
		if _, errs, code := do(t, "", args...); code != ExitUse || errs == "" {
			t.Errorf("%v: exit %d, %q", args, code, errs)
		}
	}
}

// A log is kept by a build of the store, as it came, and taken from there.
func TestLogKept(t *testing.T) {
	data := filepath.Join(t.TempDir(), "shelf.db")
	if _, errs, code := do(t, "", "store", "add", file(t, "heron-van"), "--data", data, "--name", "van"); code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	out, errs, code := do(t, "", "log", "import", juneLog, "--at", "Evora, PT", "--keep", "store:van", "--data", data, "--json")
	var a logAnswer
	if code != ExitDone || json.Unmarshal([]byte(out), &a) != nil || !strings.HasPrefix(a.Kept, "record:") {
		t.Fatalf("exit %d: %s %s", code, errs, a.Kept)
	}
	if out, errs, code := do(t, "", "log", "compare", "store:van", a.Kept, "--at", "Evora, PT", "--posture", "camped", "--heading", "160°", "--data", data); code != ExitDone || !strings.Contains(out, "Alarm: from") {
		t.Errorf("exit %d: %s\n%s", code, errs, out)
	}
}
