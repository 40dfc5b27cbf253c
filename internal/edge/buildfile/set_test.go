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
		{"flow place", "modules:\n  A: {type: x, at: [0.2 m, 0.15 m]}   # mine\n", "modules:\n  A: {type: x, at: [0.35 m, 0.4 m]}   # mine\n", Change{Path: []string{"modules", "A", "at"}, Texts: []string{"0.35 m", "0.4 m"}}},
		{"block place", "modules:\n  A:\n    at:\n      - 0.2 m # x\n      - 0.15 m\n", "modules:\n  A:\n    at:\n      - 350 mm # x\n      - 0.4 m\n", Change{Path: []string{"modules", "A", "at"}, Texts: []string{"350 mm", "0.4 m"}}},
		{"place as a text", "modules:\n  A: {at: \"0.2 m, 0.15 m\", type: x}\n", "modules:\n  A: {at: \"1 m, 2 m\", type: x}\n", Change{Path: []string{"modules", "A", "at"}, Texts: []string{"1 m", "2 m"}}},
		{"missing key, flow", "modules:\n  A: {type: x}\n", "modules:\n  A: {turn: 90°, type: x}\n", Change{Path: []string{"modules", "A", "turn"}, Texts: []string{"90°"}}},
		{"missing key, block", "modules:\n  A:\n    type: x\n", "modules:\n  A:\n    turn: 90°\n    type: x\n", Change{Path: []string{"modules", "A", "turn"}, Texts: []string{"90°"}}},
		{"in a list", "trip:\n  legs:\n    - stay: {at: \"Ö, PT\", nights: 5}\n", "trip:\n  legs:\n    - stay: {at: \"Ö, PT\", nights: 7}\n", Change{Path: []string{"trip", "legs", "0", "stay", "nights"}, Texts: []string{"7"}}},
		{"after letters of two bytes", "a: {ü: ä, at: [1 m, 2 m]}\n", "a: {ü: ä, at: [3 m, 4 m]}\n", Change{Path: []string{"a", "at"}, Texts: []string{"3 m", "4 m"}}},
		{"single quotes", "name: 'it''s mine' # so\n", "name: \"say \\\"so\\\"\" # so\n", Change{Path: []string{"name"}, Texts: []string{`say "so"`}}},
		{"windows lines", "name: mine\r\npeople: 2\r\n", "name: mine\r\npeople: 3\r\n", Change{Path: []string{"people"}, Texts: []string{"3"}}},
		{"below zero", "a: 1\n", "a: -3 °C\n", Change{Path: []string{"a"}, Texts: []string{"-3 °C"}}},
		{"missing table", "a: {b: 1}\n", "loads: {fridge: {like: fridge-40}}\na: {b: 1}\n", Change{Path: []string{"loads", "fridge", "like"}, Texts: []string{"fridge-40"}}},
		{"missing table inside", "loads:\n  x: {like: y}\n", "loads:\n  fridge: {like: fridge-40}\n  x: {like: y}\n", Change{Path: []string{"loads", "fridge", "like"}, Texts: []string{"fridge-40"}}},
		{"top", "people: 2\n", "units: metric\npeople: 2\n", Change{Path: []string{"units"}, Texts: []string{"metric"}}},
	} {
		got, err := Set([]byte(c.text), c.change)
		if err != nil || string(got) != c.want {
			t.Errorf("%s: got %q, %v, want %q", c.name, got, err, c.want)
		}
	}
}

// A list of names grows and shrinks, a key is put last, and keys go with what stands under them; the rest of
// the text stays, letter by letter.
func TestSetLists(t *testing.T) {
	const text = "strings:   # two\n  lid: {modules: [A, B], cable: {length: 1 m}}   # mine\n  rear:\n    modules: [C]\n\nchargers:\n  roof: {strings: lid, like: x}\n  other:\n    strings:\n      - rear\n    like: y\n# end\npeople: 2\n"
	for _, c := range []struct {
		name, old, new string
		change         Change
	}{
		{"grows", "modules: [A, B], cable", "modules: [A, B, C 1], cable", Change{Path: []string{"strings", "lid", "modules"}, Texts: []string{"A", "B", "C 1"}, List: true}},
		{"shrinks", "modules: [A, B], cable", "modules: [B], cable", Change{Path: []string{"strings", "lid", "modules"}, Texts: []string{"B"}, List: true}},
		{"from one name", "strings: lid,", "strings: [lid, rear],", Change{Path: []string{"chargers", "roof", "strings"}, Texts: []string{"lid", "rear"}, List: true}},
		{"in lines", "      - rear\n", "      - lid\n", Change{Path: []string{"chargers", "other", "strings"}, Texts: []string{"lid"}, List: true}},
		{"last", "    modules: [C]\n", "    modules: [C]\n  new: {modules: [D]}\n", Change{Path: []string{"strings", "new", "modules"}, Texts: []string{"D"}, List: true, Last: true}},
		{"cut a line", "  lid: {modules: [A, B], cable: {length: 1 m}}   # mine\n", "", Change{Path: []string{"strings", "lid"}, Cut: true}},
		{"cut lines", "  other:\n    strings:\n      - rear\n    like: y\n", "", Change{Path: []string{"chargers", "other"}, Cut: true}},
		{"cut in braces", "modules: [A, B], cable", "cable", Change{Path: []string{"strings", "lid", "modules"}, Cut: true}},
		{"cut the last in braces", "[A, B], cable: {length: 1 m}}", "[A, B]}", Change{Path: []string{"strings", "lid", "cable"}, Cut: true}},
		{"cut what is not there", "", "", Change{Path: []string{"strings", "none"}, Cut: true}},
	} {
		got, err := Set([]byte(text), c.change)
		if want := strings.Replace(text, c.old, c.new, 1); err != nil || string(got) != want {
			t.Errorf("%s: got %q, %v, want %q", c.name, got, err, want)
		}
	}
	for _, c := range []Change{{Path: []string{"strings", "rear", "modules"}, Cut: true}, {Path: []string{"chargers", "other", "strings"}, Texts: []string{"a", "b"}, List: true}, {Path: []string{"strings"}, Texts: []string{"a"}, List: true}} {
		if got, err := Set([]byte(text), c); !errors.Is(err, ErrShape) {
			t.Errorf("%v: got %q, %v, want ErrShape", c, got, err)
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
		if got, err := Set([]byte(c.text), Change{Path: strings.Split(c.path, "."), Texts: []string{c.to}}); !errors.Is(err, ErrShape) {
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
			got, err := Set(e.Text, Change{Path: []string{"modules", m.Name, "at"}, Texts: []string{"0.111 m", "0.222 m"}})
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
					if got, err := Set(e.Text, Change{Path: f.Path, Texts: []string{f.Example}}); err != nil {
						t.Errorf("%s, %v: %v", e.Name, f.Path, err)
					} else if _, _, problems := Decode("x", got); problems.Len() > 0 && !strings.HasPrefix(f.Key, "legs") {
						t.Errorf("%s, %v = %s: %v", e.Name, f.Path, f.Example, problems.Err())
					}
					continue
				}
				written++
				got, err := Set(e.Text, Change{Path: f.Path, Texts: f.Texts})
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
		got, err := Set(text, Change{Path: strings.Split(path, "."), Texts: []string{to}})
		if err != nil {
			return
		}
		_, n, _ := find(got, strings.Split(path, "."))
		if n == nil || n.Value != to {
			t.Errorf("%q %q=%q: got %q", text, path, to, got)
		}
	})
}
