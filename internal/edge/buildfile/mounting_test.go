package buildfile

import (
	"os"
	"strings"
	"testing"

	"noonmark/examples"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// The mounting part printed in docs/buildfile.md reads without a problem and says what it says there.
func TestMountingOfTheManual(t *testing.T) {
	page, err := os.ReadFile("../../../docs/buildfile.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut(string(page), "```yaml\nmounting:")
	block, _, closed := strings.Cut(rest, "```")
	if !ok || !closed {
		t.Fatal("no mounting block in the manual")
	}
	for _, e := range examples.All() {
		if e.Name != "karoo-caravan" { // its modules are front and rear
			continue
		}
		b, err := Build("karoo", append(append([]byte{}, e.Text...), "\nmounting:"+block...))
		if err != nil {
			t.Fatal(err)
		}
		m := b.Mounting
		if !m.Written || m.Gust != 10*quantity.KilometrePerHour || m.Mounts[0].Cover != "tape" || m.Mounts[1].Cover != "none" || m.Mounts[1].Share != 40*quantity.Percent || m.CableEntry.Faces != build.Rear || !m.CableEntry.Tested {
			t.Errorf("read as %+v", m)
		}
		return
	}
	t.Fatal("no example with a front module")
}

// A peel without its unit, and an unknown key, are reported at their lines.
func TestMountingTextFaults(t *testing.T) {
	for _, e := range examples.All() {
		if e.Name != "karoo-caravan" {
			continue
		}
		_, err := Build("karoo", append(append([]byte{}, e.Text...), "\nmounting:\n  each_module: {peel: 20, adhesiv: none}\n"...))
		if err == nil || !strings.Contains(err.Error(), "mounting.each_module.peel") || !strings.Contains(err.Error(), "most likely adhesive") {
			t.Errorf("got %v", err)
		}
	}
}
