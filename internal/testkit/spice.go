package testkit

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Ngspice returns the circuit simulator's program. Without it the test is skipped, or fails where ./test runs
// it, which installs it.
func Ngspice(t testing.TB) string {
	t.Helper()
	program, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("CI") != "" || os.Getenv("NOONMARK_CHECKS") != "" {
			t.Fatal("ngspice is not installed; ./test installs it")
		}
		t.Skip("not run: ngspice is not installed")
	}
	return program
}

// Sweep runs a netlist that writes two columns to the file it is given, volts and amperes as a rule, and
// returns them.
func Sweep(t testing.TB, program string, netlist func(out string) string) (x, y []float64) {
	t.Helper()
	dir := t.TempDir()
	file, out := filepath.Join(dir, "case.cir"), filepath.Join(dir, "out.txt")
	if err := os.WriteFile(file, []byte(netlist(out)), 0o600); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command(program, "-b", file).CombinedOutput()
	data, missing := os.ReadFile(out)
	if missing != nil {
		t.Fatalf("ngspice: %v, %v\n%s", err, missing, said)
	}
	for line := range strings.Lines(string(data)) {
		f := strings.Fields(line)
		if len(f) < 2 {
			continue
		}
		a, e1 := strconv.ParseFloat(f[0], 64)
		b, e2 := strconv.ParseFloat(f[1], 64)
		if e1 == nil && e2 == nil {
			x, y = append(x, a), append(y, b)
		}
	}
	return x, y
}
