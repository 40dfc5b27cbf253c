package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/guptarohit/asciigraph"
	"github.com/spf13/cobra"

	"noonmark/internal/answer/forecast"
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
	Assumed     []assumption `json:"assumed"`
}

type pointJSON struct {
	V float64 `json:"voltage_V"`
	I float64 `json:"current_A"`
	P float64 `json:"power_W"`
}

func curveCommand(s *Streams) *cobra.Command {
	var light, celsius string
	var asJSON bool
	c := &cobra.Command{
		Use:   "curve BUILD NAME",
		Short: "the curve of a module or a string of the build: volts, amps, watts",
		Long: `NAME is a module, a module type or a string of the build.

  noonmark curve van.yaml left --light "800 W/m²" --cell-temperature "55 °C"`,
		Args: exactly(2, "a build file and the name of a module, a module type or a string"),
		RunE: func(_ *cobra.Command, args []string) error {
			b, err := openBuild(args[0])
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
			a, err := curveOf(b, args[1], g, t)
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
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// typesOf returns the module types in series that a name stands for.
func typesOf(b *build.Build, name string) ([]int, error) {
	for _, st := range b.Strings {
		if st.Name == name {
			var out []int
			for _, m := range st.Modules {
				out = append(out, b.Modules[m].Type)
			}
			return out, nil
		}
	}
	for _, m := range b.Modules {
		if m.Name == name {
			return []int{m.Type}, nil
		}
	}
	for i := range b.Types {
		if b.Types[i].Name == name {
			return []int{i}, nil
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

func curveOf(b *openedBuild, name string, g quantity.Irradiance, t quantity.Temperature) (curveAnswer, error) {
	a := curveAnswer{Of: name, Light: g.WattsPerSquareMetre(), Temperature: t.Celsius(), Assumed: b.assumed()}
	types, err := typesOf(&b.build, name)
	if err != nil {
		return a, err
	}
	var line circuit.String
	for _, i := range types {
		params, err := forecast.Fit(&b.build.Types[i])
		if err != nil {
			return a, misuse("%s: %v", b.build.Types[i].Name, err)
		}
		line.Modules = append(line.Modules, forecast.ModuleCircuit(&b.build.Types[i], params))
	}
	sv := circuit.NewSolver(circuit.Circuit{Strings: []circuit.String{line}})
	for i := range types {
		sv.SetModule(0, i, g, t)
	}
	best := sv.Best()
	a.Voc, a.Isc = sv.Open().Volts(), sv.Short().Amperes()
	a.Vmp, a.Imp, a.Pmax = best.Voltage.Volts(), best.Current.Amperes(), best.Power().Watts()
	a.Points, a.Peaks = pointsOf(sv.Curve(101)), pointsOf(sv.Peaks())
	return a, nil
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
	watts := make([]float64, len(a.Points))
	for i, p := range a.Points {
		watts[i] = p.P
	}
	fmt.Fprintln(s.Out, asciigraph.Plot(watts, asciigraph.Height(12), asciigraph.Width(60), asciigraph.Precision(0),
		asciigraph.Caption(fmt.Sprintf("watts over volts, 0 to %.1f V", a.Points[len(a.Points)-1].V))))
	printAssumed(s.Out, a.Assumed)
	return nil
}
