package forecast

import (
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sky"
)

// Module is what a module got and gave, the mean of the years.
type Module struct {
	Energy quantity.Energy  // at its own terminals, where the charger worked it
	Shaded quantity.Energy  // light kept off its cells by the roof's things, what the front and dirt leave of it
	Hours  float64          // of sunshine in which a hundredth of a cell at least was in shadow
	Cells  []quantity.Ratio // light of each cell, in series order, over that of an unshaded one
}

// gain gathers what modules get and give in a year.
type gain struct {
	energy, shaded, hours []float64 // by module; J, J, s
	cells, whole          [][]float64
}

func newGain(b *build.Build) *gain {
	n := len(b.Modules)
	g := &gain{energy: make([]float64, n), shaded: make([]float64, n), hours: make([]float64, n), cells: make([][]float64, n), whole: make([][]float64, n)}
	for m := range b.Modules {
		g.cells[m] = make([]float64, b.Types[b.Modules[m].Type].Cells.Count())
		g.whole[m] = []float64{0}
	}
	return g
}

// sunshine is the beam from which the sun is said to shine. Source: WMO Guide to Instruments (WMO-No. 8),
// chapter 8: 120 W/m².
const sunshine = 120 * quantity.WattPerSquareMetre

// note books a step's light. It is called after the shadows are cast.
func (g *gain) note(r *runner, beam quantity.Irradiance) {
	for i := range r.plant.banks {
		b := &r.plant.banks[i]
		full := r.light[i]
		whole := full.direct + full.sky + full.ground
		if !r.shadows.roof.shades {
			whole = r.useful[i]
		}
		for _, m := range b.modules {
			g.whole[m][0] += whole
			mean, least := 0.0, 1.0
			for k := range b.cells {
				x := whole
				if r.shadows.roof.shades {
					c := r.shadows.roof.first[m] + k
					lit := 1.0
					if !r.shadows.even {
						lit = r.shadows.beam[c]
					}
					least = min(least, lit)
					x = full.ground + full.sky*r.shadows.roof.sky[c] + full.direct*lit
				}
				g.cells[m][k] += x
				mean += x
			}
			g.shaded[m] += (whole - mean/float64(b.cells)) * b.area * seconds
			if least < 0.99 && beam >= sunshine {
				g.hours[m] += seconds
			}
		}
	}
}

// modules returns the means of the years' gains.
func modulesOf(b *build.Build, years []yearResult) []Module {
	out := make([]Module, len(b.Modules))
	share := 1 / float64(len(years))
	for m := range out {
		var whole float64
		cells := make([]float64, b.Types[b.Modules[m].Type].Cells.Count())
		for y := range years {
			g := years[y].gain
			out[m].Energy += quantity.Energy(g.energy[m] * share)
			out[m].Shaded += quantity.Energy(g.shaded[m] * share)
			out[m].Hours += g.hours[m] * share / 3600
			whole += g.whole[m][0]
			for k := range cells {
				cells[k] += g.cells[m][k]
			}
		}
		for _, c := range cells {
			x := 1.0
			if whole > 0 {
				x = c / whole
			}
			out[m].Cells = append(out[m].Cells, quantity.Ratio(x))
		}
	}
	return out
}

// clearAt returns the weather of a cloudless moment at a place, in usual haze and a light breeze.
func clearAt(m *moment, p build.Place, air quantity.Temperature) now {
	w := now{air: air, wind: 2 * quantity.MetrePerSecond}
	if m.sin > 0 {
		w.light = sky.ClearSky(m.sun.Zenith, quantity.Irradiance(m.beyond), sky.DefaultAtmosphere(p.Elevation, sky.Ordinary))
		w.clear = w.light.Global.WattsPerSquareMetre() / (m.beyond * m.sin)
	}
	return w
}
