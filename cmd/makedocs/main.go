// Command makedocs writes docs/checks.md from the records that the published tests leave in a folder:
//
//	NOONMARK_CHECKS=DIR go test -count=1 ./... && go run ./cmd/makedocs DIR docs/checks.md
//
// With -check before the folder it writes nothing and fails when the file lists other checks than the
// records; what was got may differ in its last digits between machines.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
)

// record is a line a published test wrote.
type record struct {
	Package, Test, What, Title, Source, Standing, Why string
	Want, Got, Tol                                    float64
}

func main() {
	args := os.Args[1:]
	check := len(args) > 0 && args[0] == "-check"
	if check {
		args = args[1:]
	}
	if len(args) != 2 {
		fmt.Fprintln(os.Stderr, "makedocs: wanted the folder of records and the file to write")
		os.Exit(2)
	}
	if err := run(args[0], args[1], check); err != nil {
		fmt.Fprintln(os.Stderr, "makedocs:", err)
		os.Exit(1)
	}
}

func run(dir, out string, check bool) error {
	files, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	if err != nil {
		return err
	}
	var all []record
	for _, f := range files {
		r, err := read(f)
		if err != nil {
			return err
		}
		all = append(all, r...)
	}
	if len(all) == 0 {
		return fmt.Errorf("no records in %s", dir)
	}
	sort.SliceStable(all, func(i, j int) bool {
		a, b := all[i], all[j]
		for _, c := range []int{strings.Compare(a.Package, b.Package), strings.Compare(a.Source, b.Source), strings.Compare(a.What, b.What)} {
			if c != 0 {
				return c < 0
			}
		}
		return a.Want < b.Want
	})
	text := page(all)
	if !check {
		return os.WriteFile(out, []byte(text), 0o644)
	}
	old, err := os.ReadFile(out)
	if err != nil {
		return err
	}
	was, is := listed(string(old)), listed(text)
	for line := range is {
		if !was[line] {
			return fmt.Errorf("%s lacks %s", out, line)
		}
	}
	for line := range was {
		if !is[line] {
			return fmt.Errorf("%s has what no test checks: %s", out, line)
		}
	}
	return nil
}

// listed is the rows of a page without what was got.
func listed(text string) map[string]bool {
	rows := map[string]bool{}
	room := ""
	for line := range strings.Lines(text) {
		if name, ok := strings.CutPrefix(line, "## "); ok {
			room = strings.TrimSpace(name)
		}
		f := strings.Split(strings.TrimSpace(line), " | ")
		if len(f) == columns {
			rows[room+": "+strings.Join(append(f[:3:3], f[5:]...), ", ")] = true
		}
	}
	return rows
}

// columns of the table.
const columns = 7

// read returns the checks of a file, each once.
func read(path string) ([]record, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var out []record
	seen := map[string]bool{}
	s := bufio.NewScanner(f)
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var r record
		if err := json.Unmarshal(s.Bytes(), &r); err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		key := fmt.Sprintf("%q %q %g %g", r.What, r.Source, r.Want, r.Tol)
		if !seen[key] {
			seen[key] = true
			out = append(out, r)
		}
	}
	return out, s.Err()
}

// outside reports whether a record counts: it has a source and is no estimate of ours.
func outside(r record) bool {
	return r.Source != "" && (r.Standing == "looked up" || r.Standing == "from memory")
}

// quantityOf is what a check is about without its figures, so that a table of one quantity counts once.
func quantityOf(what string) string {
	name, _, _ := strings.Cut(what, ",")
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' || strings.ContainsRune(".-+−/", r) {
			return -1
		}
		return r
	}, name)
}

func page(all []record) string {
	var b strings.Builder
	pairs, places := map[string]bool{}, map[string]bool{}
	memory := 0
	for _, r := range all {
		if !outside(r) {
			continue
		}
		pairs[r.Package+"|"+quantityOf(r.What)+"|"+r.Title] = true
		places[r.Package+"|"+r.Source] = true
		if r.Standing == "from memory" {
			memory++
		}
	}
	fmt.Fprintf(&b, `# Checks against the outside

Made by `+"`cmd/makedocs`"+` from the published tests; `+"`./test`"+` makes it anew. %d comparisons, %d of them with a value from memory, not seen in its source. They are %d distinct pairs of quantity and source (a table of one quantity counts once), from %d distinct places in sources (a worked example with all its intermediate values counts once). What is common practice or an estimate of our own is listed and not counted.
`, len(all), memory, len(pairs), len(places))
	room := ""
	for _, r := range all {
		if r.Package != room {
			room = r.Package
			fmt.Fprintf(&b, "\n## %s\n\n| what | source | expected | got | difference | tolerance | standing |\n|---|---|---:|---:|---:|---:|---|\n", room)
		}
		tol := number(r.Tol, 3)
		if r.Why != "" {
			tol += " (" + cell(r.Why) + ")"
		}
		digits := 6
		if r.Tol > 0 && r.Want != 0 {
			digits = min(max(digits, int(math.Ceil(math.Log10(math.Abs(r.Want)/r.Tol)))+1), 12)
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s | %s | %s |\n", cell(r.What), cell(r.Source), number(r.Want, 12), number(r.Got, digits), number(r.Got-r.Want, 2), tol, r.Standing)
	}
	return b.String()
}

// number prints v with at most digits significant digits, plainly where that is readable.
func number(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'g', digits, 64)
	f, err := strconv.ParseFloat(s, 64)
	if a := math.Abs(f); err == nil && (f == 0 || a >= 1e-4 && a < 1e9) {
		return strconv.FormatFloat(f, 'f', -1, 64)
	}
	return s
}

// cell makes a text fit for a table's cell.
func cell(s string) string { return strings.NewReplacer("|", "/", "\n", " ").Replace(s) }
