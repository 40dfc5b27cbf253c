package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const records = `{"Package":"physics/sun","Test":"T","What":"declination, degrees","Title":"Meeus","Source":"Meeus, p. 165","Standing":"looked up","Want":-7.785,"Got":-7.78507,"Tol":0.00014}
{"Package":"physics/sun","Test":"T","What":"declination, degrees","Title":"Meeus","Source":"Meeus, p. 165","Standing":"looked up","Want":-7.785,"Got":-7.78507,"Tol":0.00014}
{"Package":"physics/sun","Test":"T","What":"a | b at 3 K","Title":"","Source":"","Standing":"common practice, no source","Why":"rough","Want":0.73,"Got":0.74,"Tol":0.06}
`

// The page lists every check once, counts those with a source, and -check sees another list but not
// another last digit.
func TestPage(t *testing.T) {
	dir := t.TempDir()
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, "a.jsonl"), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	out := filepath.Join(dir, "checks.md")
	write(records)
	if err := run(dir, out, false); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"2 comparisons, 0 of them", "1 distinct pairs", "| declination, degrees | Meeus, p. 165 | -7.785 | -7.78507 | -7e-05 | 0.00014 | looked up |\n", "| a / b at 3 K |  | 0.73 | 0.74 | 0.01 | 0.06 (rough) |"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the page lacks %q:\n%s", want, text)
		}
	}
	if err := run(dir, out, true); err != nil {
		t.Error(err)
	}
	write(strings.ReplaceAll(records, "-7.78507", "-7.78508"))
	if err := run(dir, out, true); err != nil {
		t.Error(err)
	}
	write(strings.ReplaceAll(records, "-7.785,", "-7.786,"))
	if err := run(dir, out, true); err == nil {
		t.Error("another expected value passed")
	}
	write("")
	if err := run(dir, out, true); err == nil {
		t.Error("no records passed")
	}
}
