// Package testkit holds what tests share: comparison of numbers, and the record of outside checks
// that docs/checks.md is made from. Only tests import it.
package testkit

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"noonmark/internal/base/cite"
)

// Near fails t unless got is within tol of want. NaN never passes.
func Near(t testing.TB, got, want, tol float64, what string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10g, want %.10g ± %.3g (off by %.3g)", what, got, want, tol, got-want)
	}
}

// Check is one comparison with a value from outside the project.
type Check struct {
	What   string      // the quantity checked, with its unit: "declination, degrees"
	Source cite.Source // where the expected value stands
	Want   float64
	Tol    float64 // half the last printed digit, or as Why says
	Why    string  // the reason for a wider tolerance; may be empty
}

// record is a line of the check log.
type record struct {
	Package, Test, What, Title, Source, Standing, Why string
	Want, Got, Tol                                    float64
}

var mu sync.Mutex

// Published fails t unless got agrees with c, and records the check when the environment variable
// NOONMARK_CHECKS names a folder.
func Published(t testing.TB, got float64, c Check) {
	t.Helper()
	if c.Source.Title == "" && c.Source.Standing == cite.LookedUp {
		t.Fatalf("%s: a published check without a source", c.What)
	}
	if !(math.Abs(got-c.Want) <= c.Tol) {
		t.Errorf("%s: got %.10g, want %.10g ± %.3g (off by %.3g); source: %s", c.What, got, c.Want, c.Tol, got-c.Want, c.Source)
	}
	dir := os.Getenv("NOONMARK_CHECKS")
	if dir == "" {
		return
	}
	wd, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	pkg := filepath.ToSlash(wd)
	if i := strings.LastIndex(pkg, "/internal/"); i >= 0 {
		pkg = pkg[i+len("/internal/"):]
	} else {
		pkg = filepath.Base(pkg)
	}
	line, err := json.Marshal(record{pkg, t.Name(), c.What, c.Source.Title, strings.Trim(c.Source.Title+", "+c.Source.Where, ", "),
		c.Source.Standing.String(), c.Why, c.Want, got, c.Tol})
	if err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	defer mu.Unlock()
	f, err := os.OpenFile(filepath.Join(dir, strings.ReplaceAll(pkg, "/", "_")+".jsonl"), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Write(append(line, '\n')); err != nil {
		t.Fatal(err)
	}
}

// Shared returns the path of a file of the open data that lie beside the project, ../shared/data
// from its root, and skips t with the words "not run: file absent" where it is missing. Under CI,
// where the data must be there, it fails instead.
func Shared(t testing.TB, name string) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("testkit: no go.mod above the test")
		}
		dir = up
	}
	path := filepath.Join(dir, "..", "shared", "data", filepath.FromSlash(name))
	if _, err := os.Stat(path); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatalf("%s: missing, and CI must have it", path)
		}
		t.Skipf("not run: file absent: %s", name)
	}
	return path
}
