package cli

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/bands"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// tripAnswer is what trip prints as JSON.
type tripAnswer struct {
	Days          []dayAnswer  `json:"days"`
	Ledger        []ledgerLine `json:"ledger"`
	Residual      float64      `json:"ledger_residual_Wh"`
	NightsShort50 float64      `json:"nights_short_P50"`
	NightsShort90 float64      `json:"nights_short_P90"`
	NightsShort10 float64      `json:"nights_short_P10"`
	Totals        totals       `json:"totals"`
	Years         int          `json:"years"`
	Seed          uint64       `json:"seed"`
	ClimateError  float64      `json:"climate_month_error"`
	Convention    string       `json:"band_convention"`
	Bands         *bandsAnswer `json:"bands,omitempty"`
	Assumed       []assumption `json:"assumed"`
}

type dayAnswer struct {
	Date       string  `json:"date"`
	Place      string  `json:"place"`
	Drive      bool    `json:"drive"`
	Harvest    float64 `json:"harvest_Wh"`
	Demand     float64 `json:"demand_Wh"`
	Unmet      float64 `json:"unmet_Wh"`
	Unused     float64 `json:"unused_Wh"`
	Alternator float64 `json:"alternator_Wh"`
	Lowest     float64 `json:"lowest_charge"`
	LowestP90  float64 `json:"lowest_charge_P90"`
	P90        float64 `json:"harvest_P90_Wh"`
	P50        float64 `json:"harvest_P50_Wh"`
	P10        float64 `json:"harvest_P10_Wh"`
	ShortShare float64 `json:"short_share"`
	ShortBy    float64 `json:"short_by_Wh"`
	Plane      float64 `json:"plane_Whm2"`
	Module     float64 `json:"warmest_module_degC"`
	AirLow     float64 `json:"air_low_degC"`
	AirHigh    float64 `json:"air_high_degC"`
}

type ledgerLine struct {
	Item   string  `json:"item"`
	Kind   string  `json:"kind"`
	Energy float64 `json:"energy_Wh"`
}

type totals struct {
	Harvest    float64 `json:"harvest_Wh"`
	HarvestP90 float64 `json:"harvest_P90_Wh"`
	HarvestP50 float64 `json:"harvest_P50_Wh"`
	HarvestP10 float64 `json:"harvest_P10_Wh"`
	Demand     float64 `json:"demand_Wh"`
	Unmet      float64 `json:"unmet_Wh"`
	Unused     float64 `json:"unused_Wh"`
	LowestP90  float64 `json:"lowest_charge_P90"`
	LowestP50  float64 `json:"lowest_charge_P50"`
	Nights     int     `json:"nights"`
}

// bandConvention is written on every sheet that shows a band.
const bandConvention = "P90 is reached or exceeded in 90 % of years, P10 in 10 %; nights short: not more than this in 90 %, 50 %, 10 % of years"

// tripYears is how many weather years trip computes unless asked.
const tripYears = 100

func tripCommand(s *Streams) *cobra.Command {
	var years int
	var seed uint64
	var asJSON, sure bool
	var rows int
	c := &cobra.Command{
		Use:   "trip BUILD",
		Short: "the days of the trip: harvest, use, lowest charge, and where the sunlight went",
		Long: `Takes the build through its trip in many weather years, five minutes at a time.
Each year has its own weather, drawn from the built-in climate or read from a weather file, and the
same number and seed give the same answer on any machine of one kind.

With --bands label, age, heat, dirt, surroundings, use and battery are drawn too, as distributions that
doubts in the file overrides: the band of energy and nights short, what makes it, and the one reading
that would narrow it most.

  noonmark trip van.yaml
  noonmark trip van.yaml --bands
  noonmark trip van.yaml --years 200 --json > days.json`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			if years < 1 || years > 10000 {
				return misuse("--years %d: wanted between 1 and 10000", years)
			}
			if rows < 8 || rows > 4096 {
				return misuse("--rows %d: wanted between 8 and 4096", rows)
			}
			a, err := runTrip(cmd.Context(), s, b, forecast.Options{Years: years, Seed: seed})
			if err != nil {
				return err
			}
			var known *bands.Answer
			if sure {
				if known, err = runBands(cmd.Context(), s, b, rows, min(rows, yearDraws), seed); err != nil {
					return err
				}
			}
			if asJSON {
				out := tripJSON(a, b)
				if known != nil {
					out.Bands = bandsJSON(known)
				}
				return writeJSON(s.Out, out)
			}
			printTrip(s, b, a)
			if known != nil {
				return printBands(s.Out, known)
			}
			return nil
		},
	}
	c.Flags().IntVar(&years, "years", tripYears, "weather years")
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	c.Flags().BoolVar(&sure, "bands", false, "how sure: draw what is not known well, tell what makes the band")
	c.Flags().IntVar(&rows, "rows", bands.UsualRows, "of each set of draws for --bands; the trip is run about ten times as often")
	return c
}

// runTrip runs the forecast with the build's weather files, and progress on a terminal.
func runTrip(ctx context.Context, s *Streams, b *openedBuild, o forecast.Options) (*forecast.Answer, error) {
	o.Files = b.weather
	if s.Terminal {
		last := time.Time{}
		o.Progress = throttled(func(done, total int) {
			if t := s.Clock(); t.Sub(last) > 200*time.Millisecond || done == total {
				last = t
				fmt.Fprintf(s.Err, "\r%d of %d years", done, total)
				if done == total {
					fmt.Fprint(s.Err, "\r\x1b[K")
				}
			}
		})
	}
	a, err := forecast.Run(ctx, &b.build, o)
	if s.Terminal {
		fmt.Fprint(s.Err, "\r\x1b[K")
	}
	return a, err
}

func round(x float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(x*p) / p
}

func wh(e quantity.Energy) float64 { return round(e.WattHours(), 6) }

func tripJSON(a *forecast.Answer, b *openedBuild) tripAnswer {
	out := tripAnswer{
		Residual: a.Residual.WattHours(), NightsShort50: a.NightsShort.P50, NightsShort90: a.NightsShort.P90, NightsShort10: a.NightsShort.P10,
		Years: a.Years, Seed: a.Seed, ClimateError: round(a.ClimateError.Float(), 4), Convention: bandConvention, Assumed: b.assumed(),
		Totals: totals{Harvest: wh(a.Harvest), HarvestP90: round(a.HarvestBand.P90, 3), HarvestP50: round(a.HarvestBand.P50, 3),
			HarvestP10: round(a.HarvestBand.P10, 3), Demand: wh(a.Demand), Unmet: wh(a.Unmet), Unused: wh(a.Unused),
			LowestP90: round(a.LowestBand.P90, 4), LowestP50: round(a.LowestBand.P50, 4), Nights: a.Nights},
	}
	for _, d := range a.Days {
		out.Days = append(out.Days, dayAnswer{
			Date: d.Date.Format("2006-01-02"), Place: d.Place, Drive: d.Moves, Harvest: wh(d.Harvest), Demand: wh(d.Demand), Unmet: wh(d.Unmet),
			Unused: wh(d.Unused), Alternator: wh(d.Alternator), Lowest: round(d.Lowest.Float(), 4), LowestP90: round(d.LowestP90.Float(), 4),
			P90: round(d.HarvestBand.P90, 3), P50: round(d.HarvestBand.P50, 3), P10: round(d.HarvestBand.P10, 3),
			ShortShare: round(d.ShortShare.Float(), 4), ShortBy: round(d.ShortBy.WattHours(), 1), Plane: round(d.PlaneIrradiation.KilowattHoursPerSquareMetre()*1000, 1),
			Module: round(d.WarmestModule.Celsius(), 1), AirLow: round(d.AirLow.Celsius(), 1), AirHigh: round(d.AirHigh.Celsius(), 1),
		})
	}
	for _, e := range a.Ledger {
		kind := "out"
		if e.Item.Inward() {
			kind = "in"
		}
		out.Ledger = append(out.Ledger, ledgerLine{Item: e.Item.String(), Kind: kind, Energy: e.Energy.WattHours()})
	}
	return out
}

// printTrip prints the days in a table a person reads in ten seconds, then where the sunlight went.
func printTrip(s *Streams, b *openedBuild, a *forecast.Answer) {
	w := s.Out
	fmt.Fprintf(w, "%s: %s, %s to %s\n\n", b.build.Name, count(len(a.Days), "day"),
		a.Days[0].Date.Format("2 Jan 2006"), a.Days[len(a.Days)-1].Date.Format("2 Jan 2006"))
	printDays(s, a)
	fmt.Fprintln(w)
	fmt.Fprintln(w, verdict(&b.build, a))
	fmt.Fprintln(w)
	printLedger(s, a)
	fmt.Fprintf(w, "\n%s of weather, seed %d. %s.\n", count(a.Years, "year"), a.Seed, bandConvention)
	fmt.Fprintf(w, "The built-in climate's own error, about %.0f %% of a month, is in the bands.\n", a.ClimateError.Percent())
	fmt.Fprintf(w, "Climate: %s\n", climateCredit)
	printAssumed(w, b.assumed())
}

// climateCredit is the attribution the data ask for on every sheet.
const climateCredit = "NASA Langley Research Center POWER Project; CRU (New et al. 1999); NOAA ETOPO"

func printDays(s *Streams, a *forecast.Answer) {
	w := s.Out
	fmt.Fprintf(w, "%-10s  %-22s %7s %15s %6s %7s  %s\n", "", "", "harvest", "P90 to P10", "use", "unused", "lowest charge")
	fmt.Fprintf(w, "%-10s  %-22s %7s %15s %6s %7s\n", "", "", "Wh", "Wh", "Wh", "Wh")
	for _, d := range a.Days {
		note := ""
		switch {
		case d.ShortShare >= 0.5:
			note = fmt.Sprintf("  SHORT by %.0f Wh, in %.0f %% of years", d.ShortBy.WattHours(), d.ShortShare.Percent())
		case d.ShortShare >= 0.02:
			note = fmt.Sprintf("  short in %.0f %% of years", d.ShortShare.Percent())
		}
		fmt.Fprintf(w, "%-10s  %-22s %7.0f %15s %6.0f %7.0f  %s %3.0f %%%s\n", d.Date.Format("Mon 02 Jan"), clip(placeText(d), 22),
			d.Harvest.WattHours(), fmt.Sprintf("%.0f to %.0f", d.HarvestBand.P90, d.HarvestBand.P10),
			d.Demand.WattHours(), d.Unused.WattHours(), bar(d.Lowest.Float(), 8), d.Lowest.Percent(), note)
	}
}

func placeText(d forecast.Day) string {
	if d.Moves {
		return "→ " + d.Place
	}
	return d.Place
}

func clip(text string, n int) string {
	r := []rune(text)
	if len(r) <= n {
		return text
	}
	return string(r[:n-1]) + "…"
}

// verdict is one sentence.
func verdict(b *build.Build, a *forecast.Answer) string {
	var line string
	switch {
	case a.NightsShort.P50 >= 1:
		line = fmt.Sprintf("Runs short: %.0f of %d nights in the middle year, up to %.0f in nine years of ten.", a.NightsShort.P50, a.Nights, a.NightsShort.P90)
	case a.NightsShort.P90 >= 1:
		line = fmt.Sprintf("Lasts the trip in the middle year; in one year of ten %.0f or more of %d nights run short.", a.NightsShort.P90, a.Nights)
	default:
		line = fmt.Sprintf("Lasts all %d nights in nine years of ten.", a.Nights)
	}
	line += fmt.Sprintf("\nLowest charge: %.0f %% in the middle year, %.0f %% or more in nine of ten; the user's floor is %.0f %%.",
		a.LowestBand.P50*100, a.LowestBand.P90*100, b.Battery.LowestCharge.Percent())
	if a.WorstRun.Shortfall > 0 && a.WorstRun.Last.After(a.WorstRun.First) {
		line += fmt.Sprintf("\nHardest run: %s to %s takes %.0f Wh more than it brings.",
			a.WorstRun.First.Format("2 Jan"), a.WorstRun.Last.Format("2 Jan"), a.WorstRun.Shortfall.WattHours())
	}
	return line
}

// printLedger prints the ledger: what came in, and where it went.
func printLedger(s *Streams, a *forecast.Answer) {
	w := s.Out
	var in float64
	for _, e := range a.Ledger {
		if e.Item.Inward() {
			in += e.Energy.WattHours()
		}
	}
	print := func(title string, inward bool) {
		fmt.Fprintln(w, title)
		for _, e := range a.Ledger {
			if e.Item.Inward() != inward || math.Abs(e.Energy.WattHours()) < 0.5 {
				continue
			}
			share := e.Energy.WattHours() / in
			fmt.Fprintf(w, "  %-42s %9.0f Wh %5.1f %%  %s\n", e.Item, e.Energy.WattHours(), share*100, strings.TrimRight(bar(share, 20), "·"))
		}
	}
	print("What came in", true)
	print("Where it went", false)
	fmt.Fprintf(w, "  %-42s %9.6f Wh\n", "residual, ins less outs", round(a.Residual.WattHours(), 6)+0) // no minus before nothing
}
