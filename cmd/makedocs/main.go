// Command makedocs writes docs/checks.md from the records that the published tests leave in a folder:
//
//	NOONMARK_CHECKS=DIR go test -count=1 ./... && go run ./cmd/makedocs DIR docs/checks.md
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
)

// record is a line a published test wrote.
type record struct {
	Package, Test, What, Source, Standing, Why string
	Want, Got, Tol                             float64
}

func main() {
	if len(os.Args) != 3 {
		fmt.Fprintln(os.Stderr, "makedocs: wanted the folder of records and the file to write")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2]); err != nil {
		fmt.Fprintln(os.Stderr, "makedocs:", err)
		os.Exit(1)
	}
}

func run(dir, out string) error {
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
		if a.Package != b.Package {
			return a.Package < b.Package
		}
		if a.Source != b.Source {
			return a.Source < b.Source
		}
		if a.What != b.What {
			return a.What < b.What
		}
		return a.Want < b.Want
	})
	return os.WriteFile(out, []byte(page(all)), 0o644)
}

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
		key := fmt.Sprint(r.What, r.Source, r.Want, r.Tol)
		if !seen[key] {
			seen[key] = true
			out = append(out, r)
		}
	}
	return out, s.Err()
}

// shown is how many rows of one source and test are printed; a table of hundreds says no more than its
// worst rows.
const shown = 12

func page(all []record) string {
	var b strings.Builder
	distinct := map[string]bool{}
	for _, r := range all {
		distinct[r.Package+"|"+r.Source] = true
	}
	fmt.Fprintf(&b, "# Checks against the outside\n\nMade by `cmd/makedocs` from the published tests; `./test` makes it anew. %d comparisons with %d sources by room (a source counts once in a room, however many figures of it are compared). Of a source's rows in one test the %d that differ most are shown. \"Common practice\" has no source; \"from memory\" was not seen in the source.\n", len(all), len(distinct), shown)
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j].Package == all[i].Package {
			j++
		}
		section(&b, all[i:j])
		i = j
	}
	return b.String()
}

func section(b *strings.Builder, rows []record) {
	fmt.Fprintf(b, "\n## %s\n\n| what | source | expected | got | tolerance | standing |\n|---|---|---:|---:|---:|---|\n", rows[0].Package)
	for i := 0; i < len(rows); {
		j := i
		for j < len(rows) && rows[j].Source == rows[i].Source && rows[j].Test == rows[i].Test {
			j++
		}
		part := append([]record(nil), rows[i:j]...)
		sort.SliceStable(part, func(x, y int) bool { return miss(part[x]) > miss(part[y]) })
		hidden := 0
		if len(part) > shown {
			hidden = len(part) - shown
			part = part[:shown]
		}
		for _, r := range part {
			tol := number(r.Tol)
			if r.Why != "" {
				tol += " (" + cell(r.Why) + ")"
			}
			fmt.Fprintf(b, "| %s | %s | %s | %s | %s | %s |\n", cell(r.What), cell(r.Source), number(r.Want), number(r.Got), tol, r.Standing)
		}
		if hidden > 0 {
			fmt.Fprintf(b, "| … and %d more of the same test | %s | | | | |\n", hidden, cell(part[0].Source))
		}
		i = j
	}
}

// miss is how much of its tolerance a check uses.
func miss(r record) float64 {
	d := r.Got - r.Want
	if d < 0 {
		d = -d
	}
	if r.Tol <= 0 {
		return d
	}
	return d / r.Tol
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

func cell(s string) string { return strings.NewReplacer("|", "/", "\n", " ").Replace(s) }
