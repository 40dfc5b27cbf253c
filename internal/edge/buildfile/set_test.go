package buildfile

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"noonmark/examples"
	"noonmark/internal/build/build"
)

// A value is changed in place in every layout a person writes, and nothing else is.
func TestSet(t *testing.T) {
	for _, c := range []struct {
		name, text, want string
		change           Change
	}{
		{"flow place", "modules:\n  A: {type: x, at: [0.2 m, 0.15 m]}   # mine\n", "modules:\n  A: {type: x, at: [0.35 m, 0.4 m]}   # mine\n", Change{[]string{"modules", "A", "at"}, []string{"0.35 m", "0.4 m"}}},
		{"block place", "modules:\n  A:\n    at:\n      - 0.2 m # x\n      - 0.15 m\n", "modules:\n  A:\n    at:\n      - 350 mm # x\n      - 0.4 m\n", Change{[]string{"modules", "A", "at"}, []string{"350 mm", "0.4 m"}}},
		{"place as a text", "modules:\n  A: {at: \"0.2 m, 0.15 m\", type: x}\n", "modules:\n  A: {at: \"1 m, 2 m\", type: x}\n", Change{[]string{"modules", "A", "at"}, []string{"1 m", "2 m"}}},
		{"missing key, flow", "modules:\n  A: {type: x}\n", "modules:\n  A: {turn: 90°, type: x}\n", Change{[]string{"modules", "A", "turn"}, []string{"90°"}}},
		{"missing key, block", "modules:\n  A:\n    type: x\n", "modules:\n  A:\n    turn: 90°\n    type: x\n", Change{[]string{"modules", "A", "turn"}, []string{"90°"}}},
		{"in a list", "trip:\n  legs:\n    - stay: {at: \"Ö, PT\", nights: 5}\n", "trip:\n  legs:\n    - stay: {at: \"Ö, PT\", nights: 7}\n", Change{[]string{"trip", "legs", "0", "stay", "nights"}, []string{"7"}}},
		{"after letters of two bytes", "a: {ü: ä, at: [1 m, 2 m]}\n", "a: {ü: ä, at: [3 m, 4 m]}\n", Change{[]string{"a", "at"}, []string{"3 m", "4 m"}}},
		{"single quotes", "name: 'it''s mine' # so\n", "name: \"say \\\"so\\\"\" # so\n", Change{[]string{"name"}, []string{`say "so"`}}},
		{"windows lines", "name: mine\r\npeople: 2\r\n", "name: mine\r\npeople: 3\r\n", Change{[]string{"people"}, []string{"3"}}},
		{"below zero", "a: 1\n", "a: -3 °C\n", Change{[]string{"a"}, []string{"-3 °C"}}},
		{"missing table", "a: {b: 1}\n", "loads: {fridge: {like: fridge-40}}\na: {b: 1}\n", Change{[]string{"loads", "fridge", "like"}, []string{"fridge-40"}}},
		{"missing table inside", "loads:\n  x: {like: y}\n", "loads:\n  fridge: {like: fridge-40}\n  x: {like: y}\n", Change{[]string{"loads", "fridge", "like"}, []string{"fridge-40"}}},
		{"top", "people: 2\n", "units: metric\npeople: 2\n", Change{[]string{"units"}, []string{"metric"}}},
	} {
		got, err := Set([]byte(c.text), c.change)
		if err != nil || string(got) != c.want {
			t.Errorf("%s: got %q, %v, want %q", c.name, got, err, c.want)
		}
	}
}

// What cannot be changed in place is refused, never half done.
func TestSetRefuses(t *testing.T) {
	for _, c := range []struct {
		text string
		path string
		to   string
	}{
		{"a: [1, 2\n", "a", "3"}, {"", "a", "3"}, {"a: {b: 1}\n", "a", "3"}, {"a: |\n  long\n  text\n", "a", "3"},
		{"a: 1\n", "a", "3\nb: 4"}, {"a: 1\n", "a", ""}, {"a: one\n  two\n", "a", "3"}, {"a: [1]\n", "a.7", "3"}, {"a: 1\n", "a", "\x00"}, {"a: *b\n", "a", "1"},
	} {
		if got, err := Set([]byte(c.text), Change{strings.Split(c.path, "."), []string{c.to}}); !errors.Is(err, ErrShape) {
			t.Errorf("%q %s=%q: got %q, %v, want ErrShape", c.text, c.path, c.to, got, err)
		}
	}
}

// Every module and obstacle of the examples can be moved; the rest of the text stays.
func TestSetExamples(t *testing.T) {
	moved := 0
	for _, e := range examples.All() {
		doc, _, problems := Decode(e.Name, e.Text)
		if problems.Len() > 0 {
			t.Fatal(problems.Err())
		}
		for _, m := range doc.Modules {
			got, err := Set(e.Text, Change{[]string{"modules", m.Name, "at"}, []string{"0.111 m", "0.222 m"}})
			if err != nil {
				t.Errorf("%s, %s: %v", e.Name, m.Name, err)
				continue
			}
			moved++
			if n := bytes.Count(e.Text, []byte("\n")); bytes.Count(got, []byte("\n")) < n {
				t.Errorf("%s: lines were lost", e.Name)
			}
			again, _, problems := Decode(e.Name, got)
			at := slices.IndexFunc(again.Modules, func(x build.ModuleDoc) bool { return x.Name == m.Name })
			if problems.Len() > 0 || at < 0 || again.Modules[at].At == nil || again.Modules[at].At.X.Millimetres() < 110 || again.Modules[at].At.X.Millimetres() > 112 {
				t.Errorf("%s, %s: not where it was put", e.Name, m.Name)
			}
		}
	}
	if moved == 0 {
		t.Error("nothing moved")
	}
}

// The fields of a text are its values as typed, with those it leaves out, and each can be written.
func TestFields(t *testing.T) {
	for _, e := range examples.All() {
		written, absent := 0, 0
		for _, g := range Fields(e.Text, "name", "people", "surfaces", "obstacles", "modules", "types", "strings", "chargers", "battery", "loads", "mounting", "trip") {
			for _, f := range g.Fields {
				if len(f.Texts) == 0 {
					absent++
					if f.Example == "" || strings.HasPrefix(f.Example, "[") {
						continue
					}
					if got, err := Set(e.Text, Change{f.Path, []string{f.Example}}); err != nil {
						t.Errorf("%s, %v: %v", e.Name, f.Path, err)
					} else if _, _, problems := Decode("x", got); problems.Len() > 0 && !strings.HasPrefix(f.Key, "legs") {
						t.Errorf("%s, %v = %s: %v", e.Name, f.Path, f.Example, problems.Err())
					}
					continue
				}
				written++
				got, err := Set(e.Text, Change{f.Path, f.Texts})
				if err != nil {
					t.Errorf("%s, %v: %v", e.Name, f.Path, err)
				} else if _, _, problems := Decode("x", got); problems.Len() > 0 {
					t.Errorf("%s, %v: %v", e.Name, f.Path, problems.Err())
				}
			}
		}
		if written < 40 || absent < 40 {
			t.Errorf("%s: %d written and %d absent values", e.Name, written, absent)
		}
	}
	if got := Fields([]byte("a: ["), "modules"); got != nil {
		t.Errorf("no YAML: %v", got)
	}
}

// Set never panics, and what it returns reads as the value.
func FuzzSet(f *testing.F) {
	for _, e := range examples.All() {
		f.Add(e.Text, "modules.A.at", "1 m")
	}
	f.Add([]byte("a: {b: 'x'}"), "a.b", `"`)
	f.Add([]byte("a: \"x"), "a", `y`)
	f.Fuzz(func(t *testing.T, text []byte, path, to string) {
		got, err := Set(text, Change{strings.Split(path, "."), []string{to}})
		if err != nil {
			return
		}
		_, n, _ := find(got, strings.Split(path, "."))
		if n == nil || n.Value != to {
			t.Errorf("%q %q=%q: got %q", text, path, to, got)
		}
	})
}
