package buildfile

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	yaml "go.yaml.in/yaml/v4"

	"noonmark/examples"
	"noonmark/internal/base/problem"
)

// Every example reads without a problem and stands in the schema, by a validator of others.
func TestExamples(t *testing.T) {
	text, err := Schema()
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("noonmark.json", parsed); err != nil {
		t.Fatal(err)
	}
	schema, err := c.Compile("noonmark.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range examples.All() {
		if _, err := Build(e.Name, e.Text); err != nil {
			t.Errorf("%s: %v", e.Name, err)
		}
		var v any
		if err := yaml.Unmarshal(e.Text, &v); err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(dated(v)); err != nil {
			t.Errorf("%s against the schema: %v", e.Name, err)
		}
	}
	var wrong any
	if err := yaml.Unmarshal([]byte("noonmark: 1\nsurfases: {}\n"), &wrong); err != nil {
		t.Fatal(err)
	}
	if schema.Validate(wrong) == nil {
		t.Error("an unknown key passed the schema")
	}
}

// dated turns the dates the YAML module reads back into texts, as an editor sees them.
func dated(v any) any {
	switch x := v.(type) {
	case time.Time:
		return x.Format("2006-01-02")
	case map[string]any:
		for k := range x {
			x[k] = dated(x[k])
		}
	case []any:
		for k := range x {
			x[k] = dated(x[k])
		}
	}
	return v
}

// problemsOf returns the problems of the van example with a text replaced.
func problemsOf(t *testing.T, old, put string) []problem.Problem {
	t.Helper()
	text := string(examples.All()[0].Text)
	if !strings.Contains(text, old) {
		t.Fatalf("the example has no %q", old)
	}
	_, err := Build("van.yaml", []byte(strings.Replace(text, old, put, 1)))
	var bad *problem.Error
	if err == nil {
		return nil
	}
	if !errors.As(err, &bad) {
		t.Fatalf("%q: got %v, want a list of problems", put, err)
	}
	return bad.Problems
}

// Each fault is found, at its line and path.
func TestFaults(t *testing.T) {
	for _, c := range []struct{ old, put, path, want string }{
		{"    size: 2.1 m x 1.35 m ", "    sise: 2.1 m x 1.35 m ", "surfaces.lid.sise", "a key of"},
		{"height: 2.05 m", "height: 2.05", "surfaces.lid.height", "a unit"},
		{"height: 2.05 m", "height: 2,05 m", "surfaces.lid.height", "decimal point"},
		{"pmax: 95 W", "pmax: 130 W", "types.foil-95.pmax", "vmp × imp"},
		{"pmax: 95 W", "pmax: 95 W/h", "types.foil-95.pmax", "watts"},
		{"voc: 29.1 V", "voc: 21 V", "types.foil-95.voc", "above the working voltage"},
		{"isc: 4.72 A", "isc: 4.1 A", "types.foil-95.isc", "above the working current"},
		{"pmax_coefficient: -0.36 %/K", "pmax_coefficient: 0.36 %/K", "types.foil-95.pmax_coefficient", "below zero"},
		{"voc_coefficient: -0.29 %/K", "voc_coefficient: -84 mA/K", "types.foil-95.voc_coefficient", "another quantity"},
		{"size: 1.7 m x 0.35 m", "size: 0.7 m x 0.35 m", "types.foil-95.size", "W/m²"},
		{"at: [0.2 m, 0.508 m]", "at: [0.2 m, 0.30 m]", "modules.B.at", "overlap"},
		{"at: [0.2 m, 0.508 m]", "at: [0.9 m, 0.508 m]", "modules.B.at", "outside"},
		{"modules: [A, B]", "modules: [A, C]", "strings.lid.modules", "the name of a module"},
		{"nights: 5", "nights: 0", "trip.legs[0].stay.nights", "nights"},
		{"Tavira, PT", "Nowheretown, PT", "trip.legs[0].stay.at", ""},
		{"like: lfp-100,", "like: lfp-100, energy: 0 Wh,", "battery.energy", "above 0"},
		{"size: 4 mm²", "size: 4 mm", "chargers.roof.input_cable.size", "mm²"},
		{"start: 2027-03-20 15:00", "start: 2027-13-20", "trip.start", "a date"},
		{"noonmark: 1", "noonmark: 9", "noonmark", "version"},
	} {
		found := false
		got := problemsOf(t, c.old, c.put)
		for _, p := range got {
			if p.Path == c.path && strings.Contains(p.Want, c.want) {
				found = true
				if p.Line == 0 {
					t.Errorf("%s: no line: %v", c.put, p)
				}
			}
		}
		if !found {
			t.Errorf("%q: no problem at %s with %q; got %v", c.put, c.path, c.want, got)
		}
	}
}

// Several faults are reported at once.
func TestAllAtOnce(t *testing.T) {
	text := "noonmark: 1\nsurfaces:\n  lid: {sise: 2 m x 1 m, height: 2}\nbattery: {energy: 100 Ah}\ntrip: {start: soon}\nx: 1\n"
	_, _, problems := Decode("t.yaml", []byte(text))
	if problems.Len() < 5 {
		t.Errorf("got %d problems, want 5: %v", problems.Len(), problems.All())
	}
}

// Faults of the text and faults of its sense are reported together, and none twice.
func TestTextAndSense(t *testing.T) {
	text := strings.NewReplacer("height: 2.05 m", "heigth: 2.05 m", "voc: 29.1 V", "voc: 21 V", "nights: 5", "nights: 0").Replace(string(examples.All()[0].Text))
	_, err := Build("van.yaml", []byte(text))
	var bad *problem.Error
	if !errors.As(err, &bad) {
		t.Fatal(err)
	}
	for _, want := range []string{"surfaces.lid.heigth", "types.foil-95.voc", "trip.legs[0].stay.nights"} {
		n := 0
		for _, p := range bad.Problems {
			if p.Path == want {
				n++
			}
		}
		if n != 1 {
			t.Errorf("%s: reported %d times, want once: %v", want, n, bad.Problems)
		}
	}
}

// FuzzDecode: no text makes the reader or the resolver panic.
func FuzzDecode(f *testing.F) {
	for _, e := range examples.All() {
		f.Add(string(e.Text))
	}
	f.Add("a: &a [*a]\n")
	f.Add("noonmark: 1\ntypes: {a: {pmax: 90 W, rows: -1, columns: 3}}\nmodules: {m: {}}\n")
	f.Fuzz(func(t *testing.T, text string) {
		if _, err := Build("fuzz.yaml", []byte(text)); err != nil && err.Error() == "" {
			t.Fatal("an error without words")
		}
	})
}
