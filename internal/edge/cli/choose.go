package cli

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/choose"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

type chooseAnswer struct {
	Types   []chooseRow  `json:"types"`
	Ahead   []string     `json:"ahead_by_hour"`
	Advice  []string     `json:"advice"`
	Nights  int          `json:"nights_a_year"`
	Assumed []assumption `json:"assumed"`
}

type chooseRow struct {
	Type       string         `json:"type"`
	Layout     *candidateJSON `json:"layout,omitempty"`
	Day        float64        `json:"energy_per_day_Wh"`
	Year       float64        `json:"offered_year_Wh"`
	Darkest    float64        `json:"darkest_month_day_Wh"`
	Nights     float64        `json:"nights_short_P50"`
	Hours      []float64      `json:"offered_by_hour_Wh"`
	Shade      float64        `json:"lost_to_shade"`
	Heat       float64        `json:"lost_to_heat"`
	Weak       float64        `json:"lost_to_weak_light"`
	Life       [3]float64     `json:"life_years"`
	Fade       [2]float64     `json:"fade_a_year"`
	LifeSource string         `json:"life_source,omitempty"`
	Price      *float64       `json:"price,omitempty"`
	PerKWh     *float64       `json:"cost_per_delivered_kWh,omitempty"`
	PerKWhLow  *float64       `json:"cost_per_delivered_kWh_low,omitempty"`
	PerKWhHigh *float64       `json:"cost_per_delivered_kWh_high,omitempty"`
	Litres     float64        `json:"generator_fuel_a_year_l"`
	PayBack    *float64       `json:"pay_back_years,omitempty"`
	PayBackBy  *float64       `json:"pay_back_years_alternator,omitempty"`
	PayBackFee *float64       `json:"pay_back_years_hook_up,omitempty"`
	Warranty   int            `json:"warranty_years,omitempty"`
	Verdict    string         `json:"verdict"`
}

func chooseCommand(s *Streams) *cobra.Command {
	var types, prices string
	var most, judged, nights int
	var fuel, hookUp, interest float64
	var seed uint64
	var asJSON bool
	c := &cobra.Command{
		Use:   "choose BUILD",
		Short: "module types side by side on this roof and trip",
		Long: `Places each type in the best layout found for it, and compares: watt-hours taken on the trip and offered
through a year, by hour, in the darkest month; what shade, heat and weak light cost; mass, price, life with
its band, the cost of a kilowatt-hour taken. "Do not buy" is an answer.

  noonmark choose van.yaml --among foil-90,glass-100,flexible-110 --prices "foil-90 310, glass-100 70, flexible-110 150" --fuel-price 1.8`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			if most < 1 || most > 12 || judged < 1 || judged > 100000 || nights < 0 || nights > 366 || !(fuel >= 0 && fuel < 1e6) || !(hookUp >= 0 && hookUp < 1e6) || !(interest >= 0 && interest <= 50) {
				return misuse("wanted --most from 1 to 12, --judged from 1 to 100000, --nights up to 366, --fuel-price and --hook-up-price of 0 or more, --interest from 0 to 50 (percent)")
			}
			share := quantity.Ratio(interest / 100)
			m := choose.Money{Nights: nights, Fuel: fuel, HookUp: hookUp, Interest: &share}
			if m.Prices, err = pricesOf(prices); err != nil {
				return err
			}
			changed, list, err := among(b, types)
			if err != nil {
				return err
			}
			for name := range m.Prices {
				if !slices.ContainsFunc(changed.Types, func(t build.ModuleType) bool { return t.Name == name }) {
					return misuse("--prices: no module type %q is compared; see --among", name)
				}
			}
			a, err := choose.Compare(cmd.Context(), changed, choose.Options{Types: list, Most: most, Judged: judged, Seed: seed, Progress: judging(s)}, m)
			wipe(s)
			if errors.Is(err, choose.ErrNoStay) {
				return errNoStay
			}
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, chooseJSON(b, a))
			}
			return printTypes(s, b, a)
		},
	}
	c.Flags().StringVar(&types, "among", "", amongFlag)
	c.Flags().StringVar(&prices, "prices", "", `of one module each, in the build's currency: "foil-90 310, glass-100 70"`)
	c.Flags().IntVar(&most, "most", 4, "modules at most")
	c.Flags().IntVar(&judged, "judged", 3000, "layouts and wirings judged for each type at most")
	c.Flags().IntVar(&nights, "nights", 0, "nights of use a year; 0: those of the trip")
	c.Flags().Float64Var(&fuel, "fuel-price", 0, "of a litre, for the generator and the alternator it is held against")
	c.Flags().Float64Var(&hookUp, "hook-up-price", 0, "of a night's hook-up, for the fees it is held against")
	c.Flags().Float64Var(&interest, "interest", 5, "percent a year")
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of search and weather")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// pricesOf reads "foil-90 310, glass-100 70".
func pricesOf(text string) (map[string]float64, error) {
	out := map[string]float64{}
	if strings.TrimSpace(text) == "" {
		return out, nil
	}
	for part := range strings.SplitSeq(text, ",") {
		f := strings.Fields(part)
		if len(f) < 2 {
			return nil, misuse("--prices %q: wanted a type and its price, such as glass-100 70", strings.TrimSpace(part))
		}
		p, err := strconv.ParseFloat(f[len(f)-1], 64)
		if err != nil || !(p > 0 && p < 1e6) {
			return nil, misuse("--prices %q: wanted a price above 0", strings.TrimSpace(part))
		}
		out[strings.Join(f[:len(f)-1], " ")] = p
	}
	return out, nil
}

func chooseJSON(b *openedBuild, a *choose.Comparison) chooseAnswer {
	out := chooseAnswer{Types: []chooseRow{}, Ahead: a.Ahead[:], Advice: a.Advice, Nights: a.Nights, Assumed: arrangeAssumed(b, a.Assumed)}
	for i := range a.Rows {
		r := &a.Rows[i]
		row := chooseRow{Type: r.Type, Day: wh(r.Day), Year: wh(r.Year), Darkest: wh(r.Worst), Nights: r.NightsShort, Shade: round(r.Shade.Float(), 4), Heat: round(r.Heat.Float(), 4), Weak: round(r.Weak.Float(), 4),
			Life: [3]float64{r.Life.Least, r.Life.Years, r.Life.Most}, Fade: [2]float64{r.Life.Fade.Float(), r.Life.FadeMost.Float()}, Price: r.Price, PerKWh: r.PerKWh, Litres: round(r.Litres, 2), PayBack: r.PayBack, PayBackBy: r.PayBackDrive, PayBackFee: r.PayBackHookUp, Verdict: r.Verdict}
		if r.Best.Build != nil {
			l := candidateOf(r.Best)
			row.Layout, row.LifeSource = &l, r.Life.Source.String()
			row.Warranty = r.Best.Build.Types[r.Best.Type].WarrantyYears
		}
		if r.PerKWh != nil {
			low, high := r.PerKWhBand[0], r.PerKWhBand[1]
			row.PerKWhLow, row.PerKWhHigh = &low, &high
		}
		for _, e := range r.Hours {
			row.Hours = append(row.Hours, wh(e))
		}
		out.Types = append(out.Types, row)
	}
	return out
}

func printTypes(s *Streams, b *openedBuild, a *choose.Comparison) error {
	fmt.Fprintf(s.Out, "%s: module types side by side\n\n", b.build.Name)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "type\tlayout\ton the trip\toffered in a year\tdarkest month\tnights short\tto shade\theat\tweak light\tmass\t")
	for i := range a.Rows {
		r := &a.Rows[i]
		if r.Best.Build == nil {
			fmt.Fprintf(w, "%s\t%s\t\t\t\t\t\t\t\t\t\n", r.Type, r.Verdict)
			continue
		}
		fmt.Fprintf(w, "%s\t%s\t%.0f Wh a day\t%.0f kWh\t%.0f Wh a day\t%.0f\t%.1f %%\t%.1f %%\t%.1f %%\t%.1f kg\t\n", r.Type, fmt.Sprintf("%d %s", r.Best.Count, r.Best.Wiring), r.Day.WattHours(), r.Year.WattHours()/1000, r.Worst.WattHours(), r.NightsShort,
			100*r.Shade.Float(), 100*r.Heat.Float(), 100*r.Weak.Float(), r.Best.Mass.Kilograms())
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.Out)
	w = tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(w, "type\tprice of all\tlife\tfades a year\tcost of a kWh taken\tgenerator fuel a year\t")
	for i := range a.Rows {
		r := &a.Rows[i]
		if r.Best.Build == nil {
			continue
		}
		price, cost := "not given", "not given"
		if r.Price != nil {
			price = fmt.Sprintf("%.0f %s", *r.Price, b.build.Currency)
		}
		if r.PerKWh != nil {
			cost = fmt.Sprintf("%.2f (%.2f to %.2f)", *r.PerKWh, r.PerKWhBand[0], r.PerKWhBand[1])
		}
		fmt.Fprintf(w, "%s\t%s\t%.0f to %.0f years\t%.1f to %.1f %%\t%s\t%.1f l\t\n", r.Type, price, r.Life.Least, r.Life.Most, 100*r.Life.Fade.Float(), 100*r.Life.FadeMost.Float(), cost, r.Litres)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(s.Out, "\nWho offers most, by the clock, over the year")
	for h := 0; h < 24; {
		k := h
		for k < 24 && a.Ahead[k] == a.Ahead[h] {
			k++
		}
		if a.Ahead[h] != "" {
			fmt.Fprintf(s.Out, "  %02d to %02d  %s\n", h, k, a.Ahead[h])
		}
		h = k
	}
	fmt.Fprintln(s.Out)
	for i := range a.Rows {
		if v := a.Rows[i].Verdict; v != "" && a.Rows[i].Best.Build != nil {
			fmt.Fprintf(s.Out, "%s: %s.\n", a.Rows[i].Type, v)
		}
	}
	for _, t := range a.Advice {
		fmt.Fprintln(s.Out, t)
	}
	fmt.Fprintln(s.Out, "Nobody paid for this comparison; it shows one roof, one trip and one climate, classes of module and no maker's product.")
	printAssumed(s.Out, arrangeAssumed(b, a.Assumed))
	return nil
}
