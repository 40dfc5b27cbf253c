package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// bare writes the van with nothing on its roof, which is computed sooner.
func bare(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile(file(t, "heron-van"))
	if err != nil {
		t.Fatal(err)
	}
	head, rest, _ := strings.Cut(string(text), "\nobstacles:")
	_, rest, ok := strings.Cut(rest, "\ntypes:")
	path := filepath.Join(t.TempDir(), "bare.yaml")
	if err := os.WriteFile(path, []byte(head+"\ntypes:"+rest), 0o644); err != nil || !ok {
		t.Fatal(err, ok)
	}
	return path
}

// trip --bands has the contract's fields, shares of what was drawn, and words for people.
func TestTripBands(t *testing.T) {
	van := bare(t)
	v := fields(t, "days bands", "trip", van, "--years", "1", "--bands", "--rows", "8")["bands"].(map[string]any)
	for f := range strings.FieldsSeq("energy_P90_Wh energy_P50_Wh energy_P10_Wh energy_year_P50_Wh nights_short_P90 nights_short_P50 nights_short_P10 shares observation doubts dominant notes runs seed") {
		if _, ok := v[f]; !ok {
			t.Errorf("field %s is missing", f)
		}
	}
	shares := v["shares"].([]any)
	if len(shares) < 5 {
		t.Errorf("%d shares", len(shares))
	}
	for _, s := range shares {
		for f := range strings.FieldsSeq("input first total first_standard_error") {
			if _, ok := s.(map[string]any)[f]; !ok {
				t.Errorf("share %v has no %s", s, f)
			}
		}
	}
	if p90, p10 := v["energy_P90_Wh"].(float64), v["energy_P10_Wh"].(float64); !(p90 > 0 && p90 < p10) {
		t.Errorf("P90 %g, P10 %g", p90, p10)
	}
	out, errs, code := do(t, "", "trip", van, "--years", "1", "--bands", "--rows", "8")
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	for _, want := range []string{"How sure:", "What makes the band", "the label's watts", "doubts in the build file", "reading"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in %s", want, out)
		}
	}
	if _, errs, code := do(t, "", "trip", van, "--bands", "--rows", "4"); code != ExitUse || !strings.Contains(errs, "--rows") {
		t.Errorf("four rows: exit %d, %s", code, errs)
	}
}

// battery has its fields and words; a battery without a formula says so; wrong use is refused.
func TestBatteryCommand(t *testing.T) {
	van := bare(t)
	v := fields(t, "sizes ageing use cold advice years_of_ownership nights_a_year assumed", "battery", van, "--years", "8", "--weather-years", "2")
	sizes := v["sizes"].([]any)
	if len(sizes) != 7 || len(v["ageing"].([]any)) != 4 || v["years_of_ownership"].(float64) != 8 {
		t.Errorf("%d sizes, %d cases", len(sizes), len(v["ageing"].([]any)))
	}
	out, errs, code := do(t, "", "battery", van, "--weather-years", "1")
	if code != ExitDone || !strings.Contains(out, "Size against nights short") || !strings.Contains(out, "Capacity lost, as a band") || !strings.Contains(out, "Cold:") {
		t.Errorf("exit %d, %s, %s", code, errs, out)
	}
	lead := changed(t, van, "like: lfp-100", "energy: 1.2 kWh, chemistry: AGM, voltage: 12 V")
	if out, errs, code := do(t, "", "battery", lead, "--weather-years", "1"); code != ExitDone || !strings.Contains(out, "no published formula") || !strings.Contains(out, "cycles of 50 %") {
		t.Errorf("lead: exit %d, %s, %s", code, errs, out)
	}
	for _, args := range [][]string{{"--years", "0"}, {"--nights", "400"}, {"--weather-years", "0"}} {
		if _, errs, code := do(t, "", append([]string{"battery", van}, args...)...); code != ExitUse || errs == "" {
			t.Errorf("%v: exit %d", args, code)
		}
	}
}

// changed writes a file with the first of each pair of texts that stands in it replaced.
func changed(t *testing.T, path string, pairs ...string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	s, n := string(text), 0
	for i := 0; i+1 < len(pairs); i += 2 {
		n += strings.Count(s, pairs[i])
		s = strings.Replace(s, pairs[i], pairs[i+1], 1)
	}
	if n == 0 {
		t.Fatalf("none of %q in the file", pairs)
	}
	out := filepath.Join(t.TempDir(), "changed.yaml")
	if err := os.WriteFile(out, []byte(s), 0o644); err != nil {
		t.Fatal(err)
	}
	return out
}

// compare tells only what differs, in both forms; a build against itself differs in nothing.
func TestCompareCommand(t *testing.T) {
	van := bare(t)
	bigger := changed(t, van, "like: lfp-100", "like: lfp-200")
	v := fields(t, "now changed same figures_compared figures verdicts assumed_differently notes", "compare", van, bigger, "--years", "2")
	found := map[string]bool{}
	for _, f := range v["figures"].([]any) {
		f := f.(map[string]any)
		found[f["key"].(string)] = true
		if f["now"] == f["changed"] {
			t.Errorf("%v does not differ", f)
		}
	}
	if !found["battery_Wh"] || found["label_W"] || v["same"].(bool) {
		t.Errorf("differs: %v", found)
	}
	out, errs, code := do(t, "", "compare", van, bigger, "--years", "2")
	if code != ExitDone || !strings.Contains(out, "battery as sold") || strings.Contains(out, "label watts") {
		t.Errorf("exit %d, %s, %s", code, errs, out)
	}
	if out, _, code := do(t, "", "compare", van, van, "--years", "1"); code != ExitDone || !strings.Contains(out, "Nothing differs") {
		t.Errorf("against itself: exit %d, %s", code, out)
	}
	if _, errs, code := do(t, "", "compare", van, filepath.Join(t.TempDir(), "none.yaml")); code != ExitUse || !strings.Contains(errs, "no such file") {
		t.Errorf("no file: exit %d, %s", code, errs)
	}
}
