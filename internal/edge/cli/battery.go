package cli

import (
	"fmt"
	"io"
	"text/tabwriter"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/battery"
	"noonmark/internal/build/build"
)

type batteryAnswer struct {
	Build    string         `json:"build"`
	Sizes    []sizeJSON     `json:"sizes"`
	Ageing   []ageingJSON   `json:"ageing"`
	NoAgeing string         `json:"no_ageing,omitempty"`
	Lives    []livesJSON    `json:"cycle_lives"`
	Use      batteryUseJSON `json:"use"`
	Cold     coldJSON       `json:"cold"`
	Advice   []string       `json:"advice"`
	Years    int            `json:"years"`
	Seed     uint64         `json:"seed"`
	Own      int            `json:"years_of_ownership"`
	Nights   int            `json:"nights_a_year"`
	Assumed  []assumption   `json:"assumed"`
}

type sizeJSON struct {
	Factor  float64  `json:"factor"`
	Aged    bool     `json:"as_aged"`
	Energy  float64  `json:"energy_Wh"`
	Night50 float64  `json:"nights_short_P50"`
	Night90 float64  `json:"nights_short_P90"`
	Unmet   float64  `json:"unmet_Wh"`
	Harvest float64  `json:"harvest_Wh"`
	Lowest  float64  `json:"lowest_charge_P90"`
	Mass    float64  `json:"mass_kg"`
	Given   bool     `json:"mass_given"`
	Price   *float64 `json:"price,omitempty"`
}

type ageingJSON struct {
	Case     string        `json:"case"`
	After    []ageLossJSON `json:"after"`
	Standing float64       `json:"lost_standing"`
	Cycling  float64       `json:"lost_cycling"`
	Years80  [3]float64    `json:"years_to_80_percent"`
}

type ageLossJSON struct {
	Years  int     `json:"years"`
	Low    float64 `json:"loss_low"`
	Middle float64 `json:"loss"`
	High   float64 `json:"loss_high"`
}

type livesJSON struct {
	Depth float64 `json:"depth"`
	Least float64 `json:"cycles_least"`
	Most  float64 `json:"cycles_most"`
}

type batteryUseJSON struct {
	Full    float64 `json:"full_cycles_a_year"`
	Depth   float64 `json:"mean_depth"`
	Charge  float64 `json:"mean_charge"`
	High    float64 `json:"time_above_90_percent"`
	Mean    float64 `json:"mean_cell_degC"`
	Coldest float64 `json:"coldest_cell_degC"`
	Warmest float64 `json:"warmest_cell_degC"`
}

type coldJSON struct {
	Hours  float64 `json:"hours"`
	Frost  float64 `json:"hours_below_0_degC"`
	Days   float64 `json:"days"`
	Energy float64 `json:"not_taken_Wh"`
}

func batteryCommand(s *Streams) *cobra.Command {
	var o battery.Options
	var asJSON bool
	c := &cobra.Command{
		Use:   "battery BUILD",
		Short: "how large, how long it lasts, and what cold mornings cost",
		Long: `Runs the trip with half to three times the battery through the same weather years; ages the battery by heat,
stored charge and cycles over the years of ownership, as a band; counts the hours in which cold cells
take no charge.

  noonmark battery van.yaml
  noonmark battery van.yaml --years 8 --nights 60 --json`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.Own < 1 || o.Own > 40 || o.Nights < 0 || o.Nights > 365 || o.Years < 1 || o.Years > 2000 {
				return misuse("wanted --years from 1 to 40, --nights from 0 to 365, --weather-years from 1 to 2000")
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			o.Files = b.weather
			a, err := battery.Run(cmd.Context(), &b.build, o)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, batteryJSON(b, a))
			}
			if err := printBattery(s.Out, &b.build, a); err != nil {
				return err
			}
			printAssumed(s.Out, b.assumed())
			return nil
		},
	}
	c.Flags().IntVar(&o.Own, "years", 10, "of ownership")
	c.Flags().IntVar(&o.Nights, "nights", 0, "of use a year; 0: those of the trip")
	c.Flags().IntVar(&o.Years, "weather-years", 40, "of each size")
	c.Flags().Uint64Var(&o.Seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

func batteryJSON(b *openedBuild, a *battery.Answer) batteryAnswer {
	c := &a.Cells
	out := batteryAnswer{Build: b.build.Name, Sizes: []sizeJSON{}, Ageing: []ageingJSON{}, NoAgeing: a.NoAgeing, Lives: []livesJSON{}, Advice: append([]string{}, a.Advice...), Years: a.Years, Seed: a.Seed, Own: a.Own, Nights: a.Nights, Assumed: b.assumed(),
		Use:  batteryUseJSON{round(a.FullAYear, 2), round(c.Depth.Float(), 4), round(c.Charge.Float(), 4), round(c.High.Float(), 4), round(c.Mean.Celsius(), 2), round(c.Coldest.Celsius(), 2), round(c.Warmest.Celsius(), 2)},
		Cold: coldJSON{round(c.ColdHours, 2), round(c.FrostHours, 2), round(c.ColdDays, 2), round(c.Kept.WattHours(), 2)}}
	for _, x := range a.Sizes {
		out.Sizes = append(out.Sizes, sizeJSON{round(x.Factor, 4), x.Aged, round(x.Energy.WattHours(), 1), x.Nights.P50, x.Nights.P90, round(x.Unmet.WattHours(), 2), round(x.Harvest.WattHours(), 2), round(x.Lowest.Float(), 4), round(x.Mass.Kilograms(), 1), a.MassGiven, x.Price})
	}
	for _, k := range a.Cases {
		row := ageingJSON{Case: k.Name, Standing: round(k.Standing.Float(), 4), Cycling: round(k.Cycling.Float(), 4)}
		for i, y := range k.ToFifth {
			row.Years80[i] = round(y, 1)
		}
		for _, l := range k.After {
			row.After = append(row.After, ageLossJSON{l.Years, round(l.Low.Float(), 4), round(l.Middle.Float(), 4), round(l.High.Float(), 4)})
		}
		out.Ageing = append(out.Ageing, row)
	}
	for _, l := range a.Lives {
		out.Lives = append(out.Lives, livesJSON{l.Depth.Float(), l.Least, l.Most})
	}
	return out
}

func printBattery(out io.Writer, b *build.Build, a *battery.Answer) error {
	fmt.Fprintf(out, "%s: %s, %.0f Wh\n\nSize against nights short, the trip in the same %d weather years\n", b.Name, b.Battery.Name, b.Battery.Energy.WattHours(), a.Years)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	mass := "mass, estimated"
	if a.MassGiven {
		mass = "mass"
	}
	fmt.Fprintf(w, "times\tenergy\tshort, middle year\tone year in ten\tnot served\tlowest charge, P90\t%s\tprice\t\n", mass)
	for _, x := range a.Sizes {
		name, price := fmt.Sprintf("%.3g", x.Factor), "–"
		if x.Aged {
			name = fmt.Sprintf("aged %d years", a.Own)
		}
		if x.Price != nil {
			price = fmt.Sprintf("%.0f %s", *x.Price, b.Currency)
		}
		fmt.Fprintf(w, "%s\t%.0f Wh\t%.0f\t%.0f\t%.0f Wh\t%.0f %%\t%.0f kg\t%s\t\n", name, x.Energy.WattHours(), x.Nights.P50, x.Nights.P90, x.Unmet.WattHours(), x.Lowest.Percent(), x.Mass.Kilograms(), price)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	c := &a.Cells
	fmt.Fprintf(out, "\nOn the trip its cells are at %.0f °C in the mean (%.0f to %.0f), at %.0f %% charge in the mean and over 90 %% for %.0f %% of the time; %.0f full cycles in a year of %d nights, %.0f %% deep.\n",
		c.Mean.Celsius(), c.Coldest.Celsius(), c.Warmest.Celsius(), c.Charge.Percent(), c.High.Percent(), a.FullAYear, a.Nights, c.Depth.Percent())
	if err := printAgeing(out, a); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nCold: in %.1f hours on %.1f days cold cells held back light that was there, %.1f of them below 0 °C; %.0f Wh of the trip.\n", c.ColdHours, c.ColdDays, c.FrostHours, c.Kept.WattHours())
	fmt.Fprintln(out)
	for _, line := range a.Advice {
		fmt.Fprintln(out, "  "+upperFirst(line)+".")
	}
	_, err := fmt.Fprintf(out, "\nMass of the battery: %s. Charge and discharge currents stay as built for every size. Seed %d.\n", map[bool]string{true: "as given", false: "estimated from its energy (handbook C1, from memory); mass and price are keys of battery"}[a.MassGiven], a.Seed)
	return err
}

func printAgeing(out io.Writer, a *battery.Answer) error {
	if a.NoAgeing != "" {
		fmt.Fprintf(out, "\nAgeing: %s.\n", a.NoAgeing)
		for _, l := range a.Lives {
			years := ""
			if a.FullAYear > 0 {
				years = fmt.Sprintf(": %.0f to %.0f years of this use", l.Least*l.Depth.Float()/a.FullAYear, l.Most*l.Depth.Float()/a.FullAYear)
			}
			fmt.Fprintf(out, "  %.0f to %.0f cycles of %.0f %% to four fifths of the capacity%s (handbook C1, from memory)\n", l.Least, l.Most, l.Depth.Percent(), years)
		}
		return nil
	}
	fmt.Fprintln(out, "\nCapacity lost, as a band: another make of cell may age half or twice as fast")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprint(w, "\t")
	for _, l := range a.Cases[0].After {
		fmt.Fprintf(w, "%s\t", count(l.Years, "year"))
	}
	fmt.Fprintln(w, "to four fifths\t")
	for _, k := range a.Cases {
		fmt.Fprintf(w, "  %s\t", k.Name)
		for _, l := range k.After {
			fmt.Fprintf(w, "%.0f %% (%.0f–%.0f)\t", 100*l.Middle.Float(), 100*l.Low.Float(), 100*l.High.Float())
		}
		fmt.Fprintf(w, "%s years (%s–%s)\t\n", yearsText(k.ToFifth[1]), yearsText(k.ToFifth[0]), yearsText(k.ToFifth[2]))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintln(out, "  Naumann et al. 2018 and 2020 for lithium iron phosphate")
	return err
}

// yearsText prints years until a loss, which are told to so many only.
func yearsText(y float64) string {
	if y >= battery.Longest {
		return fmt.Sprintf("over %d", battery.Longest)
	}
	return fmt.Sprintf("%.0f", y)
}

// upperFirst begins a sentence.
func upperFirst(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	if n == 0 {
		return text
	}
	return string(unicode.ToUpper(r)) + text[n:]
}
