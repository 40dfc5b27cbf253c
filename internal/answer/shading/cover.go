package shading

import (
	"fmt"
	"strconv"
	"strings"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
)

// Cover is a shadow put on a module: on one cell, on a bypass group, along an edge, or a disc.
type Cover struct {
	cell, group int // from 1; 0: not this
	part        float64
	edge        build.Edge
	hinge, area bool
	width       float64
	disc        bool
	x, y        float64
}

// coverForms are the ways to write a cover.
const coverForms = `"cell 7 = 60 %", "group 2 = 100 %", "strip 3 cm along the front edge" (or rear, left, right, hinge), or "disc 20 cm at 0.5 m, 0.2 m" from the module's front left corner`

// ParseCover reads a cover as typed. Plan directions are the vehicle's: front is where its front is.
func ParseCover(text string) (Cover, error) {
	wrong := func(want string, args ...any) (Cover, error) {
		return Cover{}, fmt.Errorf("shade %q: %s", text, fmt.Sprintf(want, args...))
	}
	words := strings.Fields(strings.ToLower(strings.TrimSpace(text)))
	for len(words) > 0 && (words[0] == "a" || words[0] == "the") {
		words = words[1:]
	}
	if len(words) == 0 {
		return wrong("wanted %s", coverForms)
	}
	rest := strings.Join(words[1:], " ")
	switch {
	case words[0] == "cell" || words[0] == "group":
		n, share, ok := strings.Cut(rest, "=")
		k, err := strconv.Atoi(strings.TrimSpace(n))
		if !ok || err != nil || k < 1 {
			return wrong("wanted a number counted from 1 and a share, such as %s 2 = 60 %%", words[0])
		}
		r, err := quantity.ParseRatio(strings.TrimSpace(share))
		if err != nil || r < 0 || r > 1 {
			return wrong("wanted a share between 0 %% and 100 %%")
		}
		if words[0] == "cell" {
			return Cover{cell: k, part: r.Float()}, nil
		}
		return Cover{group: k, part: r.Float()}, nil
	case words[0] == "strip":
		size, where, ok := strings.Cut(rest, "along")
		w, err := quantity.ParseLength(strings.TrimSpace(size))
		if !ok || err != nil || w <= 0 {
			return wrong("wanted a width and an edge, such as strip 3 cm along the front edge")
		}
		c := Cover{area: true, width: w.Metres()}
		where = strings.TrimSpace(strings.TrimSuffix(strings.TrimPrefix(strings.TrimSpace(where), "the "), "edge"))
		edges := map[string]build.Edge{"front": build.Front, "rear": build.Rear, "left": build.Left, "right": build.Right}
		if where == "hinge" {
			c.hinge = true
		} else if c.edge, ok = edges[where]; !ok {
			return wrong("wanted the front, rear, left, right or hinge edge, not %q", where)
		}
		return c, nil
	case words[0] == "disc" || strings.HasSuffix(text, "disc") || strings.Contains(rest, "disc"):
		size, at, ok := strings.Cut(strings.Replace(strings.Join(words, " "), "disc", "", 1), " at ")
		d, err := quantity.ParseLength(strings.TrimSpace(size))
		x, y, both := strings.Cut(at, ",")
		u, e1 := quantity.ParseLength(strings.TrimSpace(x))
		v, e2 := quantity.ParseLength(strings.TrimSpace(y))
		if !ok || !both || err != nil || e1 != nil || e2 != nil || d <= 0 {
			return wrong("wanted a width across and a middle, such as disc 20 cm at 0.5 m, 0.2 m")
		}
		return Cover{area: true, disc: true, width: d.Metres(), x: u.Metres(), y: v.Metres()}, nil
	}
	return wrong("wanted %s", coverForms)
}

// discSides is how many sides a disc is given: its area is exact, its edge within 0.1 %.
const discSides = 96

// Lit returns the part of each cell of a module that the covers leave free, in series order. It names every
// cover that falls beside the module, or asks for a cell, group or hinge that is not there.
func Lit(b *build.Build, m *build.Module, covers []Cover) ([]float64, error) {
	cells := b.Cells(m)
	out := make([]float64, len(cells))
	for i := range out {
		out[i] = 1
	}
	low, high := b.Footprint(m)
	box := shape.Box{Low: shape.Point{X: low.X.Metres(), Y: low.Y.Metres()}, High: shape.Point{X: high.X.Metres(), Y: high.Y.Metres()}}
	var problems problem.List
	var over []shape.Polygon
	groups := b.Types[m.Type].Cells.Groups
	for i, c := range covers {
		at := fmt.Sprintf("shade %d", i+1)
		switch {
		case c.cell > len(cells):
			problems.Add(problem.Problem{Path: at, Found: fmt.Sprintf("cell %d", c.cell), Want: fmt.Sprintf("a cell from 1 to %d", len(cells))})
		case c.group > groups:
			problems.Add(problem.Problem{Path: at, Found: fmt.Sprintf("group %d", c.group), Want: fmt.Sprintf("a bypass group from 1 to %d", groups)})
		case c.cell > 0:
			out[c.cell-1] = min(out[c.cell-1], 1-c.part)
		case c.group > 0:
			for k := range cells {
				if cells[k].Group == c.group-1 {
					out[k] = min(out[k], 1-c.part)
				}
			}
		case c.disc:
			d := shape.Disc(shape.Point{X: box.Low.X + c.x, Y: box.Low.Y + c.y}, c.width/2, discSides)
			if !d.Bounds().Meets(box) {
				problems.Add(problem.Problem{Path: at, Found: "a disc beside the module", Want: fmt.Sprintf("a middle on it: it is %.2f m front to rear, %.2f m left to right", box.High.X-box.Low.X, box.High.Y-box.Low.Y)})
			}
			over = append(over, d)
		default:
			edge := c.edge
			if c.hinge {
				if len(b.Surfaces) == 0 || !b.Surfaces[m.Surface].HasHinge {
					problems.Add(problem.Problem{Path: at, Found: "the hinge edge", Want: "a surface with a hinge; or front, rear, left, right"})
					continue
				}
				edge = b.Surfaces[m.Surface].Hinge
			}
			over = append(over, strip(box, edge, c.width))
		}
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	var cutter shape.Cutter
	for k := range cells {
		p := cells[k].Outline
		out[k] *= cutter.Left(p, over) / p.Area()
	}
	return out, nil
}

// strip is the part of a box along one of its edges.
func strip(box shape.Box, edge build.Edge, width float64) shape.Polygon {
	switch edge {
	case build.Front:
		box.High.X = box.Low.X + width
	case build.Rear:
		box.Low.X = box.High.X - width
	case build.Left:
		box.High.Y = box.Low.Y + width
	case build.Right:
		box.Low.Y = box.High.Y - width
	}
	return box.Rectangle()
}
