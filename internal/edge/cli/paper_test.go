package cli

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"noonmark/examples"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/parts"
	"noonmark/internal/sheet/book"
	"noonmark/internal/sheet/sheet"
)

// pdfText returns the text of each page, by a program that is not ours.
func pdfText(t *testing.T, path string) []string {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is missing")
	}
	out, err := exec.Command("pdftotext", "-raw", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(string(out), "\f"), "\f")
	for i := range pages {
		pages[i] = strings.Join(strings.Fields(pages[i]), " ")
	}
	return pages
}

// jobs are the examples' jobs once computed, by the file's bytes.
var jobs = map[string]sheet.Job{}

// opened returns an example's job and stamp.
func opened(t *testing.T, path string) (sheet.Job, book.Stamp) {
	t.Helper()
	s := &Streams{Out: io.Discard, Err: io.Discard, Clock: func() time.Time { return time.Date(2027, 6, 21, 11, 0, 0, 0, time.UTC) }}
	b, err := openBuild(context.Background(), s, path)
	if err != nil {
		t.Fatal(err)
	}
	st, err := stampOf(s, b, path, book.A4)
	if err != nil {
		t.Fatal(err)
	}
	j, ok := jobs[st.Revision]
	if !ok {
		if j, err = jobOf(context.Background(), s, b, jobOptions{trip: forecast.Options{Years: 2, Seed: 1}, shade: true}); err != nil {
			t.Fatal(err)
		}
		jobs[st.Revision] = j
	}
	return j, st
}

// The book of each example has 8 to 15 pages, that of the bad one to 16, each with its number, and every figure's and table's title, every
// verdict, caution, assumption and source of its sheets, as another program reads them.
func TestBook(t *testing.T) {
	for _, e := range append(examples.All(), examples.Bad()...) {
		van, most := file(t, e.Name), 15
		if e.Name == "bad-bittern" {
			most = 16
		}
		pdf := filepath.Join(t.TempDir(), "book.pdf")
		out, errs, code := do(t, "", "book", van, "-o", pdf, "--years", "2", "--no-mends")
		if code != ExitDone {
			t.Fatalf("%s: exit %d: %s", e.Name, code, errs)
		}
		j, _ := opened(t, van)
		pages := pdfText(t, pdf)
		if n := len(pages); n < 8 || n > most || !strings.Contains(out, fmt.Sprintf("%d pages", n)) {
			t.Errorf("%s: %d pages; %s", e.Name, n, out)
		}
		for i, p := range pages {
			if !strings.Contains(p, fmt.Sprintf("%d of %d", i+1, len(pages))) {
				t.Errorf("%s: page %d has no number", e.Name, i+1)
			}
			if strings.Contains(strings.ToLower(p), " safe ") {
				t.Errorf("%s: page %d says a word that no verdict may", e.Name, i+1)
			}
		}
		for i, p := range pages { // a paragraph may run over to the next page, past foot and title
			if at := strings.LastIndex(p, "build "+j.Build.Name); at >= 0 {
				p = p[:at]
			}
			for _, s := range append(sheet.All(j), book.Papers()) {
				if _, rest, ok := strings.Cut(p, s.Title+", continued "); ok {
					p = strings.TrimSpace(rest)
				}
			}
			pages[i] = p
		}
		text := strings.Join(pages, " ")
		squeezed := strings.ReplaceAll(text, " ", "")
		want := func(what, s string) {
			if !strings.Contains(squeezed, strings.ReplaceAll(s, " ", "")) {
				t.Errorf("%s: the book has no %s %q", e.Name, what, s)
			}
		}
		for _, s := range book.Sheets(j) {
			want("sheet", s.Title)
			for _, f := range s.Figures {
				want("figure", f.Title)
			}
			for _, l := range s.Lists {
				want("list", l.Title)
			}
			for _, tab := range s.Tables {
				if len(tab.Rows) > 0 {
					want("table", tab.Title)
				}
			}
			for _, v := range s.Verdicts {
				rule, subject, _ := strings.Cut(v.Title, ", ") // several subjects may share a row, and its first word
				want("rule", rule)
				if v.Mark > 0 {
					_, name, more := strings.Cut(subject, " ")
					if !more {
						name = subject
					}
					want("subject", name)
				}
				source, _, _ := strings.Cut(v.Source, " (") // the standing is said once for all sources of a kind
				want("source", source)
			}
		}
		for _, a := range j.Assumed {
			want("assumption", a.What+": "+a.Value)
		}
	}
}

// On every page of every example, on both papers: nothing over the edge, no words over words, no letter lost.
func TestPagesClean(t *testing.T) {
	for _, e := range examples.All() {
		path := file(t, e.Name)
		j, st := opened(t, path)
		for _, paper := range []book.Paper{book.A4, book.Letter} {
			st.Paper = paper
			pages := book.Pages(st, book.Sheets(j))
			tiles, err := book.TemplatePages(st, j.Build, book.Cut{Surface: j.Build.Modules[0].Surface})
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range append(pages, tiles...) {
				if out := p.Outside(); len(out) > 0 {
					t.Errorf("%s, %s: beyond the edge: %q", e.Name, p.Title, out)
				}
				if c := p.Clashes(); len(c) > 0 {
					t.Errorf("%s, %s: over each other: %q", e.Name, p.Title, c)
				}
				if m := p.Missing(); len(m) > 0 {
					t.Errorf("%s, %s: the type has no %q", e.Name, p.Title, string(m))
				}
			}
		}
	}
}

// draw writes well-formed SVG for each sheet with a drawing and a PDF for every sheet.
func TestDraw(t *testing.T) {
	van := file(t, "heron-van")
	dir := t.TempDir()
	for _, key := range sheet.Keys() {
		pdf := filepath.Join(dir, key+".pdf")
		if _, errs, code := do(t, "", "draw", van, key, "-o", pdf, "--years", "1", "--no-mends"); code != ExitDone {
			t.Errorf("%s: exit %d: %s", key, code, errs)
		}
		svg := filepath.Join(dir, key+".svg")
		_, errs, code := do(t, "", "draw", van, key, "-o", svg, "--years", "1", "--no-mends")
		if key == "parts" || key == "rules" || key == "basis" {
			if code != ExitUse || !strings.Contains(errs, "0 drawings") {
				t.Errorf("%s has no drawing: exit %d: %s", key, code, errs)
			}
			continue
		}
		text, err := os.ReadFile(svg)
		if err != nil {
			t.Fatal(code, errs, err)
		}
		d := xml.NewDecoder(bytes.NewReader(text))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", key, err)
			}
		}
	}
	if _, errs, code := do(t, "", "draw", van, "rooof", "-o", filepath.Join(dir, "x.svg")); code != ExitUse || !strings.Contains(errs, "roof") {
		t.Errorf("exit %d: %s", code, errs)
	}
}

// The CSV has the lines of the answer; what is in the workbook is tested in its own room.
func TestParts(t *testing.T) {
	van := file(t, "heron-van")
	j, _ := opened(t, van)
	list, cuts := parts.Of(j.Build), parts.Cuts(j.Build)
	dir := t.TempDir()
	for _, name := range []string{"p.xlsx", "p.csv"} {
		if _, errs, code := do(t, "", "parts", van, "-o", filepath.Join(dir, name)); code != ExitDone {
			t.Fatalf("exit %d: %s", code, errs)
		}
	}
	if book, err := os.ReadFile(filepath.Join(dir, "p.xlsx")); err != nil || !bytes.HasPrefix(book, []byte("PK")) {
		t.Error("no workbook", err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "p.csv"))
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil || len(rows) != 1+len(list)+1+len(cuts) {
		t.Fatalf("%d rows of CSV for %d parts and %d cuts, %v", len(rows), len(list), len(cuts), err)
	}
	for i, p := range list {
		if rows[i+1][3] != p.Name {
			t.Errorf("row %d: %q, want %q", i+1, rows[i+1][3], p.Name)
		}
	}
}

// The template of a module is a map and tiles, with the page's size and the bar on each.
func TestTemplate(t *testing.T) {
	van := file(t, "heron-van")
	pdf := filepath.Join(t.TempDir(), "t.pdf")
	out, errs, code := do(t, "", "template", van, "-o", pdf, "--module", "A", "--paper", "letter")
	if code != ExitDone {
		t.Fatalf("exit %d: %s", code, errs)
	}
	pages := pdfText(t, pdf)
	if !strings.Contains(out, fmt.Sprintf("%d tiles", len(pages)-1)) {
		t.Errorf("%d pages: %s", len(pages), out)
	}
	for i, p := range pages {
		if !strings.Contains(p, "100 mm") {
			t.Errorf("page %d has no bar", i+1)
		}
	}
	for _, args := range [][]string{{"--module", "Z"}, {"--surface", "floor"}, {"--paper", "A5"}} {
		if _, errs, code := do(t, "", append([]string{"template", van, "-o", filepath.Join(t.TempDir(), "x.pdf")}, args...)...); code != ExitUse || errs == "" {
			t.Errorf("%v: exit %d: %s", args, code, errs)
		}
	}
}

// A file that exists stays unless --force is said; a wrong name or place is refused before anything is computed;
// nothing half-written and no other file stays.
func TestFilesKept(t *testing.T) {
	van := file(t, "heron-van")
	dir := t.TempDir()
	kept := filepath.Join(dir, "kept.xlsx")
	if err := os.WriteFile(kept, []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, errs, code := do(t, "", "parts", van, "-o", kept); code != ExitUse || !strings.Contains(errs, "--force") {
		t.Errorf("exit %d: %s", code, errs)
	}
	if text, _ := os.ReadFile(kept); string(text) != "mine" {
		t.Error("the file was written over")
	}
	if _, errs, code := do(t, "", "parts", van, "-o", kept, "--force"); code != ExitDone {
		t.Errorf("exit %d: %s", code, errs)
	}
	if text, _ := os.ReadFile(kept); !bytes.HasPrefix(text, []byte("PK")) {
		t.Error("--force did not write")
	}
	for _, args := range [][]string{
		{"parts", van}, {"parts", van, "-o", filepath.Join(dir, "x.ods")}, {"parts", van, "-o", dir}, {"book", van, "-o", filepath.Join(dir, "none", "x.pdf")},
		{"book", van, "-o", filepath.Join(dir, "x.pdf"), "--years", "0"}, {"draw", van, "roof", "-o", filepath.Join(dir, "x.png")}, {"book", filepath.Join(dir, "none.yaml"), "-o", filepath.Join(dir, "x.pdf")},
		{"draw", van, "roof", "-o", filepath.Join(dir, "x.svg"), "--figure", "9"},
	} {
		if out, errs, code := do(t, "", args...); code != ExitUse || errs == "" || out != "" {
			t.Errorf("%v: exit %d, %q, %q", args, code, out, errs)
		}
	}
	// A write that fails leaves what was there, and nothing beside it.
	o := output{path: kept, force: true}
	if err := o.write(func(io.Writer) error { return errors.New("broken") }); err == nil {
		t.Error("no error")
	}
	// A file that comes into being while the command computes is not written over.
	late := output{path: filepath.Join(dir, "late.csv")}
	if err := late.write(func(w io.Writer) error {
		return os.WriteFile(late.path, []byte("theirs"), 0o600)
	}); err == nil {
		t.Error("a file that came meanwhile was written over")
	}
	if text, _ := os.ReadFile(late.path); string(text) != "theirs" {
		t.Errorf("%q", text)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != "kept.xlsx" && e.Name() != "late.csv" {
			t.Errorf("%s was left behind", e.Name())
		}
	}
}
