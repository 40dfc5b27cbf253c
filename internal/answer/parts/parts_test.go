package parts

import (
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Modules are counted by type, a run is cut as a pair with one tenth over, a fuse stands by its run, and a
// run without length is not listed.
func TestOf(t *testing.T) {
	fuse := 20 * quantity.Ampere
	b := &build.Build{
		Types:   []build.ModuleType{{Name: "foil", Pmax: 90 * quantity.Watt}, {Name: "unused"}},
		Modules: []build.Module{{Type: 0}, {Type: 0}},
		Strings: []build.String{{Name: "lid"}},
		Chargers: []build.Charger{{Name: "roof", InputCable: build.Run{Name: "array", Length: 5 * quantity.Metre, Area: 4 * quantity.SquareMillimetre},
			BatteryCable: build.Run{Name: "battery", Length: 1 * quantity.Metre, Area: 6 * quantity.SquareMillimetre, Fuse: &fuse}}},
	}
	var lines []string
	for _, p := range Of(b) {
		lines = append(lines, p.Count+" "+p.Name)
	}
	got := strings.Join(lines, "\n")
	for _, want := range []string{"2 foil", "11.0 m cable 4 mm²", "2.2 m cable 6 mm²", "1 fuse 20 A"} {
		if !strings.Contains(got, want) {
			t.Errorf("no line %q in\n%s", want, got)
		}
	}
	if strings.Contains(got, "unused") || strings.Count(got, "cable") != 2 {
		t.Errorf("a part nobody needs in\n%s", got)
	}
}
