package build

import (
	"math"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// CellPlace is a cell in the plan of its surface.
type CellPlace struct {
	Outline shape.Polygon // metres, in the vehicle frame
	Group   int           // bypass group, from 0; -1: none
}

// Cells returns a module's cells in series order, in the plan of its surface. The cell field is the module
// less its margin, evenly divided; series order runs to and fro, row by row or column by column, from the
// module's front left corner at turn 0. A turn turns the module from front to rear towards left to right.
func (b *Build) Cells(m *Module) []CellPlace {
	t := &b.Types[m.Type]
	length, width, margin := t.Length.Metres(), t.Width.Metres(), t.Cells.Margin.Metres()
	rows, columns := t.Cells.Rows, t.Cells.Columns
	du, dv := (length-2*margin)/float64(columns), (width-2*margin)/float64(rows)
	groups := t.Cells.GroupSizes()
	out := make([]CellPlace, 0, rows*columns)
	group, left := -1, 0
	for k := range rows * columns {
		row, column := k/columns, k%columns
		if !t.Cells.AlongLength {
			column, row = k/rows, k%rows
			if column%2 == 1 {
				row = rows - 1 - row
			}
		} else if row%2 == 1 {
			column = columns - 1 - column
		}
		if len(groups) > 0 && left == 0 {
			group++
			left = groups[group]
		}
		left--
		u, v := margin+float64(column)*du, margin+float64(row)*dv
		low, high := b.turned(m, u, v), b.turned(m, u+du, v+dv)
		box := shape.Box{Low: shape.Point{X: min(low.X, high.X), Y: min(low.Y, high.Y)}, High: shape.Point{X: max(low.X, high.X), Y: max(low.Y, high.Y)}}
		out = append(out, CellPlace{Outline: box.Rectangle(), Group: group})
	}
	return out
}

// GroupSizes returns the number of cells behind each bypass diode, in series order; nil when there is none.
func (g CellGrid) GroupSizes() []int {
	var out []int
	n := g.Count()
	for k := range g.Groups {
		size := n / g.Groups
		if k < n%g.Groups {
			size++
		}
		out = append(out, size)
	}
	return out
}

// turned returns where a point of a module lies in plan: u along its length, v across it.
func (b *Build) turned(m *Module, u, v float64) shape.Point {
	t := &b.Types[m.Type]
	l, w, x, y := t.Length.Metres(), t.Width.Metres(), m.X.Metres(), m.Y.Metres()
	switch quarter := int(math.Round(m.Turn.Degrees()/90)) & 3; quarter {
	case 1:
		return shape.Point{X: x + w - v, Y: y + u}
	case 2:
		return shape.Point{X: x + l - u, Y: y + w - v}
	case 3:
		return shape.Point{X: x + v, Y: y + l - u}
	}
	return shape.Point{X: x + u, Y: y + v}
}

// Plan returns corners in plan as a polygon of metres.
func Plan(points []Point) shape.Polygon {
	out := make(shape.Polygon, len(points))
	for i, p := range points {
		out[i] = shape.Point{X: p.X.Metres(), Y: p.Y.Metres()}
	}
	return out
}

// box returns a module's footprint in metres.
func (b *Build) box(m *Module) shape.Box {
	low, high := b.Footprint(m)
	return shape.Box{Low: shape.Point{X: low.X.Metres(), Y: low.Y.Metres()}, High: shape.Point{X: high.X.Metres(), Y: high.Y.Metres()}}
}

// Free reports whether a module lies on its surface and clear of other modules and of what stands there, all
// by a distance.
func (b *Build) Free(index int, edge quantity.Length) bool {
	m := &b.Modules[index]
	box, e := b.box(m), edge.Metres()
	box.Low.X, box.Low.Y, box.High.X, box.High.Y = box.Low.X-e, box.Low.Y-e, box.High.X+e, box.High.Y+e
	var c shape.Cutter
	if c.Left(box.Rectangle(), Plan(b.Surfaces[m.Surface].Outline).Pieces()) > 1e-6 {
		return false
	}
	for k := range b.Modules {
		if k != index && b.Modules[k].Surface == m.Surface && box.Meets(b.box(&b.Modules[k])) {
			return false
		}
	}
	whole := box.Rectangle().Area()
	for k := range b.Obstacles {
		o := &b.Obstacles[k]
		if o.Surface == m.Surface && o.Base <= 0 && whole-c.Left(box.Rectangle(), Plan(o.Outline).Pieces()) > 1e-6 {
			return false
		}
	}
	return true
}
