package cli

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"
)

// The rules of the bad build fail with exit code 1, in words and as the contract's fields; those of the good one
// hold with exit code 0; each group of what holds is one row.
func TestCheck(t *testing.T) {
	bad := file(t, "bad-bittern")
	out, errs, code := do(t, "", "check", bad)
	if code != ExitShort || errs != "" {
		t.Errorf("exit %d: %s", code, errs)
	}
	for _, want := range []string{"FAILS  skin, module A, B, C", "FAILS  cold-voltage, string all on box", "FAILS  unzip", "check the edition in force where you are", "Assumed:"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
	if n := strings.Count(out, "within the rule  edge-gap"); n != 1 {
		t.Errorf("%d rows of the edge gaps, want one for all modules", n)
	}
	out, _, code = do(t, "", "check", bad, "--json")
	var a struct {
		Checks []map[string]any `json:"checks"`
	}
	if err := json.Unmarshal([]byte(out), &a); err != nil || code != ExitShort {
		t.Fatal(code, err)
	}
	var failed []string
	for _, c := range a.Checks {
		for f := range strings.FieldsSeq("id subject verdict value limit unit reason source") {
			if _, ok := c[f]; !ok {
				t.Errorf("%v has no %s", c["id"], f)
			}
		}
		if id := c["id"].(string); c["verdict"] == "fail" && !slices.Contains(failed, id) {
			failed = append(failed, id)
		}
	}
	if want := []string{"cold-voltage", "cable-drop", "ampacity", "fuse-size", "skin", "unzip", "movement"}; !slices.Equal(failed, want) {
		t.Errorf("fails %q, want %q", failed, want)
	}
	if out, errs, code := do(t, "", "check", file(t, "avocet-pickup")); code != ExitDone || !strings.Contains(out, "0 fail,") {
		t.Errorf("exit %d: %s", code, errs)
	}
}

// The day's answer has its hours, tasks in order and the hold points; the date and place asked for are taken; what
// cannot be planned is refused with its reason.
func TestDayplan(t *testing.T) {
	van := file(t, "avocet-pickup")
	v := fields(t, "date place hours window materials tasks holds trial drive removals cautions notes assumed", "dayplan", van, "--date", "2027-06-12", "--at", "Uppsala, SE", "--crew", "3")
	if v["date"] != "2027-06-12" || v["place"] != "Uppsala, SE" || v["crew"].(float64) != 3 {
		t.Errorf("%v at %v, %v people", v["date"], v["place"], v["crew"])
	}
	if n := len(v["hours"].([]any)); n != 24 {
		t.Errorf("%d hours", n)
	}
	last := time.Time{}
	placed := 0
	for _, e := range v["tasks"].([]any) {
		task := e.(map[string]any)
		if task["days_before"].(float64) > 0 {
			continue
		}
		from, err := time.Parse(time.RFC3339, task["from"].(string))
		if err != nil || from.Before(last) {
			t.Errorf("%v begins at %v, after one at %v; %v", task["name"], from, last, err)
		}
		last = from
		if strings.HasPrefix(task["name"].(string), "place and roll") {
			placed++
		}
	}
	if placed != 4 {
		t.Errorf("%d modules placed, of 4", placed)
	}
	out, errs, code := do(t, "", "dayplan", van)
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	for _, want := range []string{"Gate, by daylight", "Hold points", "Driving", "Before anything is glued", "Taking one off again", "date of the day"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(strings.ToLower(out), " safe ") {
		t.Error("says safe")
	}
	for _, args := range [][]string{{file(t, "karoo-caravan")}, {van, "--date", "12.6.2027"}, {van, "--at", "Nowhere, XX"}, {van, "--crew", "-1"}} {
		if out, errs, code := do(t, "", append([]string{"dayplan"}, args...)...); code != ExitUse || out != "" || errs == "" {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, errs)
		}
	}
}
