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

// Deck is a netlist of several in one start of the simulator: its circuit without a control section or an
// end, the analysis ("op", "dc VLOAD 0 20 0.2"), and what is written of it.
type Deck struct {
	Circuit, Analysis string
	Vectors           []string
}

// Decks runs netlists one after the other in one start of the simulator and returns the table that each
// wrote, the scale in its first column; nil for one that gave none.
func Decks(t testing.TB, program string, decks []Deck) [][][]float64 {
	t.Helper()
	dir := t.TempDir()
	var script strings.Builder
	script.WriteString("* several circuits\n.control\nset noaskquit\nset numdgt=9\nset wr_singlescale\n")
	name := func(k int, ending string) string { return filepath.Join(dir, strconv.Itoa(k)+ending) }
	for k, d := range decks {
		if err := os.WriteFile(name(k, ".cir"), []byte(d.Circuit+".end\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		script.WriteString("source " + name(k, ".cir") + "\n" + d.Analysis + "\nwrdata " + name(k, ".txt") + " " + strings.Join(d.Vectors, " ") + "\ndestroy all\nremcirc\n")
	}
	script.WriteString("quit\n.endc\n.end\n")
	file := filepath.Join(dir, "all.cir")
	if err := os.WriteFile(file, []byte(script.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	said, err := exec.Command(program, "-b", file).CombinedOutput()
	out := make([][][]float64, len(decks))
	read := 0
	for k, d := range decks {
		data, missing := os.ReadFile(name(k, ".txt"))
		if missing != nil {
			continue
		}
		read++
		for line := range strings.Lines(string(data)) {
			f := strings.Fields(line)
			if len(f) != len(d.Vectors)+1 {
				t.Fatalf("ngspice wrote %d columns, want %d: %.200s", len(f), len(d.Vectors)+1, line)
			}
			row := make([]float64, len(f))
			for i, x := range f {
				if row[i], err = strconv.ParseFloat(x, 64); err != nil {
					t.Fatal(err)
				}
			}
			out[k] = append(out[k], row)
		}
	}
	if read == 0 && len(decks) > 0 {
		t.Logf("ngspice wrote nothing: %v\n%.2000s", err, said)
	}
	return out
}
