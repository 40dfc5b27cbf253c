package sheet

import (
	"strings"
	"testing"

	"noonmark/internal/base/quantity"
)

// A fabric cover is cut with its hem, its hook-and-loop, its drains, and says how far it stays off the cells; one
// that lies on them says so; nothing lies outside the drawing.
func TestCoverPattern(t *testing.T) {
	b := van(t)
	for i := range b.Modules {
		b.Mounting.Mounts[i].Cover, b.Mounting.Mounts[i].CoverOn = "fabric", 8*quantity.Millimetre
		b.Types[b.Modules[i].Type].Cells.Margin = 20 * quantity.Millimetre
	}
	list := covers(b)
	if len(list) != 1 || list[0].Module != "A, B" {
		t.Fatalf("%+v", list)
	}
	d := coverPattern(b, list[0], 206, 40)
	words := strings.Join(d.Words(), "|")
	for _, want := range []string{"hook and loop on the skin", "first cells, 12 mm off the finished edge", "hem, turned in 20 mm", "on the module, 8 mm"} {
		if !strings.Contains(words, want) {
			t.Errorf("no %q in %s", want, words)
		}
	}
	if out := d.Outside(); len(out) > 0 {
		t.Errorf("beyond the edge: %q", out)
	}
	if c := d.Clashes(); len(c) > 0 {
		t.Errorf("over each other: %q", c)
	}
	list[0].OffCells = -5 * quantity.Millimetre
	if words := strings.Join(coverPattern(b, list[0], 206, 40).Words(), "|"); !strings.Contains(words, "the cover shades them") {
		t.Errorf("a cover on the cells is drawn as one off them: %s", words)
	}
	b.Mounting.Mounts[0].Cover, b.Mounting.Mounts[1].Cover = "tape", "none"
	if list := covers(b); len(list) > 0 {
		t.Errorf("tape is cut to length, none is none: %+v", list)
	}
}
