package build

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// Cells fill the module less its margin, lie inside its footprint, follow one another without a jump, and
// fall into their groups, whatever the turn.
func TestCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, columns := rapid.IntRange(1, 8).Draw(t, "rows"), rapid.IntRange(1, 12).Draw(t, "columns")
		kind := ModuleType{Length: 1.2 * quantity.Metre, Width: 0.5 * quantity.Metre,
			Cells: CellGrid{Rows: rows, Columns: columns, Margin: 20 * quantity.Millimetre, Groups: rapid.IntRange(0, rows*columns).Draw(t, "groups"), AlongLength: rapid.Bool().Draw(t, "order")}}
		m := Module{X: 0.3 * quantity.Metre, Y: 0.1 * quantity.Metre, Turn: quantity.Angle(rapid.IntRange(0, 3).Draw(t, "turn")*90) * quantity.Degree}
		b := &Build{Types: []ModuleType{kind}}
		cells := b.Cells(&m)
		if len(cells) != rows*columns {
			t.Fatalf("%d cells, want %d", len(cells), rows*columns)
		}
		box := b.box(&m)
		area, sizes := 0.0, map[int]int{}
		var last shape.Box
		for k, c := range cells {
			in := c.Outline.Bounds()
			if in.Low.X < box.Low.X+0.0199 || in.Low.Y < box.Low.Y+0.0199 || in.High.X > box.High.X-0.0199 || in.High.Y > box.High.Y-0.0199 {
				t.Fatalf("cell %d at %+v reaches into the margin of %+v", k, in, box)
			}
			area += c.Outline.Area()
			sizes[c.Group]++
			if k > 0 && (in.Low.X > last.High.X+1e-9 || in.Low.Y > last.High.Y+1e-9 || last.Low.X > in.High.X+1e-9 || last.Low.Y > in.High.Y+1e-9) {
				t.Fatalf("cell %d does not touch the one before", k)
			}
			last = in
		}
		if want := 1.16 * 0.46; math.Abs(area-want) > 1e-9 {
			t.Fatalf("cells have %v m², want %v m²", area, want)
		}
		for g, n := range kind.Cells.GroupSizes() {
			if sizes[g] != n {
				t.Fatalf("group %d has %d cells, want %d", g, sizes[g], n)
			}
		}
	})
}
