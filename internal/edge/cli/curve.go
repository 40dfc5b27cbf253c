package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/guptarohit/asciigraph"
	"github.com/spf13/cobra"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/shading"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/cell"
	"noonmark/internal/physics/circuit"
)

type curveAnswer struct {
	Of          string       `json:"of"`
	Light       float64      `json:"light_Wm2"`
	Temperature float64      `json:"cell_degC"`
	Voc         float64      `json:"voc_V"`
	Isc         float64      `json:"isc_A"`
	Vmp         float64      `json:"vmp_V"`
	Imp         float64      `json:"imp_A"`
	Pmax        float64      `json:"pmax_W"`
	Points      []pointJSON  `json:"points"`
	Peaks       []pointJSON  `json:"peaks"`
	Shade       []string     `json:"shade,omitempty"`
	Whole       float64      `json:"unshaded_pmax_W,omitempty"`
	Operating   *pointJSON   `json:"operating,omitempty"`
	Hot         []hotJSON    `json:"hot_cells,omitempty"`
	Assumed     []assumption `json:"assumed"`
}

type pointJSON struct {
	V float64 `json:"voltage_V"`
	I float64 `json:"current_A"`
	P float64 `json:"power_W"`
}

// hotJSON is a cell that turns the power of others into heat.
type hotJSON struct {
	Module string  `json:"module"`
	Cell   int     `json:"cell"`
	Heat   float64 `json:"heat_W"`
	Area   float64 `json:"heat_Wcm2"`
}

// onCurve is what a curve is taken at.
type onCurve struct {
	light   quantity.Irradiance
	cells   quantity.Temperature
	shade   []string
	keeps   quantity.Ratio
	lowest  quantity.Voltage
	nearest bool
}

func curveCommand(s *Streams) *cobra.Command {
	var light, celsius, keeps, lowest string
	var shade []string
	var asJSON, nearest bool
	c := &cobra.Command{
		Use:   "curve BUILD NAME",
		Short: "the curve of a module or a string of the build: volts, amps, watts",
		Long: `NAME is a module, a module type or a string of the build.

  noonmark curve van.yaml left --light "800 W/m²" --cell-temperature "55 °C"
  noonmark curve van.yaml left --shade "cell 7 = 60 %"
  noonmark curve van.yaml left --shade "strip 3 cm along the hinge edge" --lowest-voltage "14 V"
  noonmark curve van.yaml lid --shade "left: disc 20 cm at 0.5 m, 0.2 m" --shade-keeps "10 %"`,
		Args: exactly(2, "a build file and the name of a module, a module type or a string"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			g, t := 1000*quantity.WattPerSquareMetre, quantity.Celsius(25)
			if light != "" {
				if g, err = quantity.ParseIrradiance(light); err != nil {
					return misuse("--light: %v", err)
				}
			}
			if celsius != "" {
				if t, err = quantity.ParseTemperature(celsius); err != nil {
					return misuse("--cell-temperature: %v", err)
				}
			}
			if g <= 0 || g > 2000*quantity.WattPerSquareMetre || t.Celsius() < -60 || t.Celsius() > 150 {
				return misuse("wanted light above 0 and up to 2000 W/m², cells between -60 °C and 150 °C")
			}
			at := onCurve{light: g, cells: t, shade: shade, nearest: nearest}
			if keeps != "" {
				if at.keeps, err = quantity.ParseRatio(keeps); err != nil || at.keeps < 0 || at.keeps > 1 {
					return misuse("--shade-keeps %q: wanted a share of the light, 0 %% to 100 %%", keeps)
				}
			}
			if lowest != "" {
				if at.lowest, err = quantity.ParseVoltage(lowest); err != nil || at.lowest < 0 {
					return misuse("--lowest-voltage %q: wanted volts, such as 14 V", lowest)
				}
			}
			a, err := curveOf(b, args[1], at)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, a)
			}
			return a.print(s)
		},
	}
	c.Flags().StringVar(&light, "light", "", `on the cells, "800 W/m²"; empty: 1000 W/m²`)
	c.Flags().StringVar(&celsius, "cell-temperature", "", `"55 °C"; empty: 25 °C`)
	c.Flags().StringArrayVar(&shade, "shade", nil, `a shadow, may be repeated: "cell 7 = 60 %", "group 2 = 100 %", "strip 3 cm along the front edge", "disc 20 cm at 0.5 m, 0.2 m"; on a string with the module before it: "left: cell 7 = 60 %"`)
	c.Flags().StringVar(&keeps, "shade-keeps", "", `light left in the shadow, "10 %"; empty: none, as under a thing that lies on the cells`)
	c.Flags().StringVar(&lowest, "lowest-voltage", "", `lowest volts the controller works at, "14 V"`)
	c.Flags().BoolVar(&nearest, "nearest-peak", false, "the controller stays on the peak nearest to open volts")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// modulesOf returns the modules in series that a name stands for; a type stands for one of it, not placed.
func modulesOf(b *build.Build, name string) ([]build.Module, error) {
	for _, st := range b.Strings {
		if st.Name == name {
			var out []build.Module
			for _, m := range st.Modules {
				out = append(out, b.Modules[m])
			}
			return out, nil
		}
	}
	for _, m := range b.Modules {
		if m.Name == name {
			return []build.Module{m}, nil
		}
	}
	for i := range b.Types {
		if b.Types[i].Name == name {
			return []build.Module{{Name: name, Type: i}}, nil
		}
	}
	var have []string
	for _, st := range b.Strings {
		have = append(have, st.Name)
	}
	for _, m := range b.Modules {
		have = append(have, m.Name)
	}
	return nil, misuse("%q is no module, module type or string of this build; it has %s", name, strings.Join(have, ", "))
}

// coversOf returns the covers of each module, from texts that may begin with a module's name.
func coversOf(modules []build.Module, texts []string) ([][]shading.Cover, error) {
	out := make([][]shading.Cover, len(modules))
	for _, text := range texts {
		at, rest := 0, text
		if name, after, ok := strings.Cut(text, ":"); ok {
			at = slices.IndexFunc(modules, func(m build.Module) bool { return m.Name == strings.TrimSpace(name) })
			if at < 0 {
				return nil, misuse("--shade %q: no module %q here", text, strings.TrimSpace(name))
			}
			rest = after
		} else if len(modules) > 1 {
			return nil, misuse("--shade %q: say on which module, such as %q", text, modules[0].Name+": "+text)
		}
		c, err := shading.ParseCover(rest)
		if err != nil {
			return nil, misuse("%v", err)
		}
		out[at] = append(out[at], c)
	}
	return out, nil
}

func curveOf(b *openedBuild, name string, at onCurve) (curveAnswer, error) {
	a := curveAnswer{Of: name, Light: at.light.WattsPerSquareMetre(), Temperature: at.cells.Celsius(), Assumed: b.assumed(), Shade: at.shade}
	modules, err := modulesOf(&b.build, name)
	if err != nil {
		return a, err
	}
	covers, err := coversOf(modules, at.shade)
	if err != nil {
		return a, err
	}
	var line circuit.String
	for i := range modules {
		t := &b.build.Types[modules[i].Type]
		params, err := forecast.Fit(t)
		if err != nil {
			return a, misuse("%s: %v", t.Name, err)
		}
		line.Modules = append(line.Modules, forecast.ModuleCircuit(t, params))
	}
	sv := circuit.NewSolver(circuit.Circuit{Strings: []circuit.String{line}})
	for i := range modules {
		sv.SetModule(0, i, at.light, at.cells)
	}
	a.Whole = sv.Best().Power().Watts()
	for i := range modules {
		if len(covers[i]) == 0 {
			continue
		}
		lit, err := shading.Lit(&b.build, &modules[i], covers[i])
		if err != nil {
			return a, err
		}
		light := make([]quantity.Irradiance, len(lit))
		for k, x := range lit {
			light[k] = quantity.Irradiance(at.light.WattsPerSquareMetre() * (x + (1-x)*at.keeps.Float()))
		}
		sv.SetCells(0, i, light, at.cells)
	}
	best := sv.Best()
	a.Voc, a.Isc = sv.Open().Volts(), sv.Short().Amperes()
	a.Vmp, a.Imp, a.Pmax = best.Voltage.Volts(), best.Current.Amperes(), best.Power().Watts()
	a.Points, a.Peaks = pointsOf(sv.Curve(101)), pointsOf(sv.Peaks())
	if len(at.shade) > 0 || at.lowest > 0 || at.nearest {
		w := circuit.Window{Lowest: at.lowest}
		if at.nearest {
			w.Habit = circuit.Nearest
		}
		op := pointsOf([]cell.Point{sv.Operate(w)})[0]
		a.Operating = &op
		a.Hot = hotCells(&b.build, modules, sv)
		a.Assumed = append([]assumption{{What: "bypass diodes", Value: circuit.DefaultDrop.String(), Why: "0.3 to 0.6 V warm", Source: "from memory"},
			{What: "reverse breakdown", Value: "by technology", Why: "labels do not say it, and the heat of a shaded cell is a rough figure", Source: "J. W. Bishop 1988, parameters from memory"}}, a.Assumed...)
	}
	return a, nil
}

// hotLeast is the least heat of a cell that is shown, W.
const hotLeast = 0.05

// hotCells returns the cells that are driven backwards where the solver was last asked to work, hottest
// first.
func hotCells(b *build.Build, modules []build.Module, sv *circuit.Solver) []hotJSON {
	var out []hotJSON
	for i := range modules {
		cells := b.Cells(&modules[i])
		for k, p := range sv.CellPower(0, i, nil) {
			if w := -p.Watts(); w > hotLeast {
				out = append(out, hotJSON{Module: modules[i].Name, Cell: k + 1, Heat: round(w, 3), Area: round(w/(cells[k].Outline.Area()*1e4), 4)})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y hotJSON) int { return cmp.Compare(y.Heat, x.Heat) })
	return out
}

func pointsOf(points []cell.Point) []pointJSON {
	out := make([]pointJSON, len(points))
	for i, p := range points {
		out[i] = pointJSON{V: round(p.Voltage.Volts(), 6), I: round(p.Current.Amperes(), 6), P: round(p.Power().Watts(), 6)}
	}
	return out
}

func (a curveAnswer) print(s *Streams) error {
	fmt.Fprintf(s.Out, "%s at %.0f W/m², cells %.0f °C\n", a.Of, a.Light, a.Temperature)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "open\t%.2f V\nshort\t%.3f A\nbest\t%.1f W\tat %.2f V, %.3f A\n", a.Voc, a.Isc, a.Pmax, a.Vmp, a.Imp)
	if err := w.Flush(); err != nil {
		return err
	}
	if len(a.Shade) > 0 {
		fmt.Fprintf(s.Out, "shade: %s; %.0f %% of the %.1f W without\n", strings.Join(a.Shade, "; "), 100*a.Pmax/math.Max(a.Whole, 1e-9), a.Whole)
	}
	if len(a.Peaks) > 1 {
		for _, p := range a.Peaks {
			fmt.Fprintf(s.Out, "  a peak of %.1f W at %.2f V\n", p.P, p.V)
		}
	}
	if o := a.Operating; o != nil {
		fmt.Fprintf(s.Out, "the controller works it at %.2f V: %.1f W, %.0f %% of unshaded\n", o.V, o.P, 100*o.P/math.Max(a.Whole, 1e-9))
	}
	for i, h := range a.Hot {
		if i == 5 {
			fmt.Fprintf(s.Out, "  and %d more\n", len(a.Hot)-5)
			break
		}
		fmt.Fprintf(s.Out, "%s, cell %d, is driven backwards: %.1f W of heat, %.3f W/cm² beside the sun's\n", h.Module, h.Cell, h.Heat, h.Area)
	}
	watts := make([]float64, len(a.Points))
	for i, p := range a.Points {
		watts[i] = p.P
	}
	fmt.Fprintln(s.Out, asciigraph.Plot(watts, asciigraph.Height(12), asciigraph.Width(60), asciigraph.Precision(0),
		asciigraph.Caption(fmt.Sprintf("watts over volts, 0 to %.1f V", a.Points[len(a.Points)-1].V))))
	printAssumed(s.Out, a.Assumed)
	return nil
}
