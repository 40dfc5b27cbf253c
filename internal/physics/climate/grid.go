package climate

import (
	_ "embed"
	"math"
	"sync"
)

//go:embed world.bin
var packedWorld []byte

// The order of the grids in world.bin.
const (
	gridClearness = iota
	gridLow
	gridHigh
	gridWind
	gridElevation
	gridCount
)

// layout is where the cells of a grid lie, degrees: the centre of the first row and column, and
// the step.
type layout struct{ south, west, step float64 }

var layouts = [gridCount]layout{
	gridClearness: {-89, -179, 2},
	gridLow:       {-89, -179, 2},
	gridHigh:      {-89, -179, 2},
	gridWind:      {-58, -180, 4},
	gridElevation: {-89.5, -179.5, 1},
}

// world returns the unpacked grids, unpacked at the first call.
var world = sync.OnceValue(func() []Grid {
	grids, err := Unpack(packedWorld)
	if err != nil || len(grids) != gridCount {
		panic("climate: the built-in table cannot be read: " + errString(err))
	}
	return grids
})

func errString(err error) string {
	if err == nil {
		return "wrong number of grids"
	}
	return err.Error()
}

// spot is a place between four cells of a grid: their indices within a layer and their weights,
// which sum to 1.
type spot struct {
	at     [4]int
	weight [4]float64
}

// spotOf returns the spot of a latitude and longitude, degrees, in grid k. Latitude is held at the
// outermost centres, longitude wraps.
func spotOf(k int, g Grid, latitude, longitude float64) spot {
	l := layouts[k]
	y := min(max((latitude-l.south)/l.step, 0), float64(g.Rows-1))
	x := math.Mod((longitude-l.west)/l.step, float64(g.Columns))
	if x < 0 {
		x += float64(g.Columns)
	}
	r, c := min(int(y), g.Rows-2), int(x)
	fy, fx := y-float64(r), x-float64(c)
	c %= g.Columns
	e := (c + 1) % g.Columns
	return spot{
		at:     [4]int{r*g.Columns + c, r*g.Columns + e, (r+1)*g.Columns + c, (r+1)*g.Columns + e},
		weight: [4]float64{(1 - fy) * (1 - fx), (1 - fy) * fx, fy * (1 - fx), fy * fx},
	}
}

// value returns the interpolated code of the layer of g at s.
func (s spot) value(g Grid, layer int) float64 {
	v := g.Values[layer*g.Rows*g.Columns:]
	sum := 0.0
	for i, at := range s.at {
		sum += s.weight[i] * float64(v[at])
	}
	return sum
}
