package shading

import (
	"fmt"
	"strings"
	"testing"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/cite"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/circuit"
	"noonmark/internal/testkit"
)

// kind is a module type of invented label.
func kind(tech build.Technology, rows, columns, groups int, perCell bool, length, width, voc, vmp, isc, imp float64) build.ModuleType {
	return build.ModuleType{Name: "test", Technology: tech, Pmax: quantity.Power(vmp * imp), Voc: quantity.Voltage(voc), Isc: quantity.Current(isc),
		Vmp: quantity.Voltage(vmp), Imp: quantity.Current(imp), PmaxCoefficient: -0.37 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin,
		IscCoefficient: 0.04 * quantity.PercentPerKelvin, LowLight: 94 * quantity.Percent, Length: quantity.Length(length), Width: quantity.Length(width),
		Cells: build.CellGrid{Rows: rows, Columns: columns, Margin: 15 * quantity.Millimetre, Groups: groups, DiodePerCell: perCell, AlongLength: true}}
}

// power returns the watts of a module under covers, and without, above a lowest voltage.
func power(t *testing.T, k build.ModuleType, cells quantity.Temperature, lowest quantity.Voltage, keeps float64, covers ...string) (shaded, whole float64) {
	t.Helper()
	b := &build.Build{Types: []build.ModuleType{k}, Surfaces: []build.Surface{{Name: "roof"}}, Modules: []build.Module{{Name: "m"}}}
	p, err := forecast.Fit(&k)
	if err != nil {
		t.Fatal(err)
	}
	var list []Cover
	for _, text := range covers {
		c, err := ParseCover(text)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, c)
	}
	lit, err := Lit(b, &b.Modules[0], list)
	if err != nil {
		t.Fatal(err)
	}
	s := circuit.NewSolver(circuit.Circuit{Strings: []circuit.String{{Modules: []circuit.Module{forecast.ModuleCircuit(&k, p)}}}})
	s.SetModule(0, 0, 1000*quantity.WattPerSquareMetre, cells)
	whole = s.Best().Power().Watts()
	light := make([]quantity.Irradiance, len(lit))
	for i, x := range lit {
		light[i] = quantity.Irradiance(1000 * (x + keeps*(1-x)))
	}
	s.SetCells(0, 0, light, cells)
	return s.Operate(circuit.Window{Lowest: lowest}).Power().Watts(), whole
}

// One cell of 36 shaded in part, two and three diodes, with and without a controller that cannot go under
// 14 V: the shares of the unshaded power. The published figures are for cells at 25 °C of parameters not
// kept; where a leak or the temperature decides they hold as orders of magnitude, which the wide tolerances
// say. The log has cold, warm and hot cells.
//
// Source: table of one shaded cell, one-diode cells with shunt and breakdown, 10 % diffuse; recomputed for
// the project's vehicle notes, section 6.
func TestOneCell(t *testing.T) {
	src := cite.Source{Title: "one shaded cell of 36, one-diode cells with shunt and breakdown", Where: "vehicle notes, section 6, recomputed", Standing: cite.FromMemory}
	two := kind(build.MonoPERC, 4, 9, 2, false, 1.2, 0.54, 24.3, 20.3, 5.2, 4.9)
	three := two
	three.Cells.Groups = 3
	want := map[int][4]float64{10: {.98, .98, .98, .98}, 25: {.88, .88, .88, .88}, 50: {.65, .65, .65, .65}, 75: {.47, .39, .64, .49}, 100: {.47, .15, .64, .49}}
	names := [4]string{"two diodes", "two diodes, from 14 V", "three diodes", "three diodes, from 14 V"}
	for _, warm := range []float64{-5, 25, 45, 70} {
		var table strings.Builder
		for _, part := range []int{10, 25, 50, 75, 100} {
			fmt.Fprintf(&table, "\n%4d %%", part)
			for k, c := range []struct {
				kind   build.ModuleType
				lowest quantity.Voltage
			}{{two, 0}, {two, 14 * quantity.Volt}, {three, 0}, {three, 14 * quantity.Volt}} {
				p, whole := power(t, c.kind, quantity.Celsius(warm), c.lowest, 0.1, fmt.Sprintf("cell 5 = %d %%", part))
				fmt.Fprintf(&table, "  %.2f", p/whole)
				if warm == 25 {
					tol := 0.04
					if part >= 75 && k != 0 {
						tol = 0.2
					}
					testkit.Published(t, p/whole, testkit.Check{What: fmt.Sprintf("share left, one cell of 36 shaded by %d %%, %s", part, names[k]), Source: src, Want: want[part][k], Tol: tol,
						Why: "its parameters were not kept: orders of magnitude"})
				}
			}
		}
		t.Logf("cells at %.0f °C: %s%s", warm, strings.Join(names[:], ", "), table.String())
	}
}

// A thing about as large as a cap, lying on a module: the loss on a foil, a glass and a flexible module.
// The figures of practice come from single trials of unknown layouts, so that nothing is published of them
// as a check: they must lie within what places and sizes give, 3 % of the power to spare, the foil's under
// the others' middles as practice has it.
//
// Source: common practice, no source: about 10 %, 25 % and 46 %.
func TestCap(t *testing.T) {
	var middles []float64
	foil := kind(build.CIGSFoil, 2, 21, 0, true, 1.7, 0.35, 29.1, 22.5, 4.72, 4.22)
	glass := kind(build.MonoPERC, 4, 9, 4, false, 1.05, 0.54, 24.3, 20.3, 5.2, 4.9)
	flexible := kind(build.FlexibleMono, 4, 9, 2, false, 1.1, 0.54, 24.4, 20.2, 4.85, 4.46)
	for _, c := range []struct {
		what string
		kind build.ModuleType
		want float64
	}{{"foil thin-film, a diode over each cell", foil, 0.10}, {"glass, four groups", glass, 0.25}, {"flexible crystalline, two groups", flexible, 0.46}} {
		low, high, sum, n := 1.0, 0.0, 0.0, 0.0
		for _, size := range []float64{0.15, 0.20, 0.25} {
			l, w := c.kind.Length.Metres(), c.kind.Width.Metres()
			for _, u := range []float64{0.03, 0.2, 0.35, 0.5} {
				for _, v := range []float64{0.05, 0.25, 0.5} {
					cover := fmt.Sprintf("disc %.2f m at %.3f m, %.3f m", size, u*l, v*w)
					p, whole := power(t, c.kind, quantity.Celsius(50), 0, 0, cover)
					loss := 1 - p/whole
					low, high = min(low, loss), max(high, loss)
					sum, n = sum+loss, n+1
				}
			}
		}
		t.Logf("%s: from %.0f %% to %.0f %% by size and place, mean %.0f %%; practice has %.0f %%", c.what, 100*low, 100*high, 100*sum/n, 100*c.want)
		if c.want < low-0.03 || c.want > high+0.03 {
			t.Errorf("%s: from %.2f to %.2f by size and place, practice has %.2f", c.what, low, high, c.want)
		}
		middles = append(middles, sum/n)
	}
	if !(middles[0] < middles[1] && middles[1] < middles[2]) {
		t.Errorf("means %v, want foil under glass under flexible", middles)
	}
}
