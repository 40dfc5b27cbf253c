package store

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"noonmark/examples"
)

// example returns an example's text.
func example(name string) string {
	for _, e := range examples.All() {
		if e.Name == name {
			return string(e.Text)
		}
	}
	panic("no example " + name)
}

// apply makes the second text's lines from the first's and the changes.
func apply(a []string, changes []Line) []string {
	taken, added := map[int]string{}, map[int]string{}
	for _, c := range changes {
		if c.Added {
			added[c.Number] = c.Text
		} else {
			taken[c.Number] = c.Text
		}
	}
	var out []string
	next := func() {
		for {
			text, ok := added[len(out)+1]
			if !ok {
				return
			}
			out = append(out, text)
		}
	}
	for i, line := range a {
		next()
		if text, ok := taken[i+1]; ok {
			if text != line {
				return nil
			}
			continue
		}
		out = append(out, line)
	}
	next()
	return out
}

// longest is the length of the longest common subsequence, the slow plain way.
func longest(a, b []string) int {
	row := make([]int, len(b)+1)
	for _, x := range a {
		left := 0
		for j, y := range b {
			above := row[j+1]
			if x == y {
				row[j+1] = left + 1
			} else {
				row[j+1] = max(above, row[j])
			}
			left = above
		}
	}
	return row[len(b)]
}

// The changed lines make the second text from the first, and there are no fewer that would.
func TestChangedLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		some := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", ""}), 0, 25)
		a, b := some.Draw(t, "a"), some.Draw(t, "b")
		got := changedLines(a, b)
		if !slices.Equal(apply(a, got), b) {
			t.Fatalf("%q to %q: %v", a, b, got)
		}
		if want := len(a) + len(b) - 2*longest(a, b); len(got) != want {
			t.Fatalf("%q to %q: %d changed lines, want %d", a, b, len(got), want)
		}
	})
}

// Texts with nothing in common are told apart in bounded work, and correctly.
func TestChangedLinesLarge(t *testing.T) {
	var a, b []string
	for i := range 60000 {
		a, b = append(a, fmt.Sprint("a", i)), append(b, fmt.Sprint("b", i))
	}
	a[0], b[0] = "same", "same"
	if got := changedLines(a, b); len(got) != 2*59999 || !slices.Equal(apply(a, got), b) {
		t.Errorf("%d changed lines", len(got))
	}
}

// Two revisions differ in the lines and the values that were changed, and in no others.
func TestCompare(t *testing.T) {
	s := fresh(t)
	first := example("heron-van")
	line := ""
	for l := range strings.Lines(first) {
		if strings.HasPrefix(l, "people:") {
			line = l
		}
	}
	if line == "" {
		t.Fatal("the example has no people")
	}
	must(s.Add(ctx, "van", draft(first)))(t)
	must(s.Save(ctx, "van", 1, draft(strings.Replace(first, line, "people: 5\ncurrency: SEK\n", 1))))(t)
	must(s.Tag(ctx, "van", "as built", "1", ""))(t)
	from, to, c, err := s.Compare(ctx, "van", "as built", "")
	ok(t, err)
	if from.Number != 1 || to.Number != 2 || len(c.Lines) < 3 {
		t.Fatalf("from %d to %d: %+v", from.Number, to.Number, c.Lines)
	}
	if c.Lines[0].Added || c.Lines[0].Text != strings.TrimSpace(line) || !c.Lines[1].Added || c.Lines[1].Text != "people: 5" {
		t.Errorf("lines %+v", c.Lines)
	}
	values := map[string]string{}
	for _, v := range c.Values {
		text := func(s *string) string {
			if s == nil {
				return "none"
			}
			return *s
		}
		values[v.Path] = text(v.Was) + " to " + text(v.Is)
		if v.Is != nil && v.IsLine == 0 || v.Was != nil && v.WasLine == 0 {
			t.Errorf("%s has no line", v.Path)
		}
	}
	if len(values) != 2 || values["people"] != "2 to 5" || !strings.HasSuffix(values["currency"], " to SEK") {
		t.Errorf("values %v", values)
	}
	if c := Diff([]byte("a: ["), []byte("a: 1\n")); len(c.Lines) != 2 || len(c.Values) != 0 {
		t.Errorf("a text that is no YAML: %+v", c)
	}
	if c := Diff([]byte(first), []byte(first)); len(c.Lines) != 0 || len(c.Values) != 0 {
		t.Errorf("the same text: %+v", c)
	}
	// A value that is gone.
	if c := Diff([]byte(first), []byte(strings.Replace(first, line, "", 1))); len(c.Values) != 1 || c.Values[0].Is != nil || *c.Values[0].Was != "2" {
		t.Errorf("taken away: %+v", c.Values)
	}
	_, _, _, err = s.Compare(ctx, "van", "1", "9")
	is(t, err, ErrNotFound, "no such revision")
}
