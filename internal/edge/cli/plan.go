package cli

import (
	"errors"
	"fmt"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/needs"
	"noonmark/internal/answer/parts"
	"noonmark/internal/answer/shading"
)

type planAnswer struct {
	Build    string       `json:"build"`
	Needs    needsJSON    `json:"needs"`
	Checks   []checkJSON  `json:"checks"`
	Trip     tripAnswer   `json:"trip"`
	Parts    []parts.Part `json:"parts"`
	Shade    planShade    `json:"shade"`
	Cautions []string     `json:"cautions"`
	Assumed  []assumption `json:"assumed"`
}

// planShade is what shade costs in a year, in short; noonmark shade has it whole.
type planShade struct {
	Together float64 `json:"together_year_Wh"`
	Worst    string  `json:"worst_obstacle,omitempty"`
	Year     float64 `json:"worst_year_Wh"`
	Share    float64 `json:"worst_share"`
	Mend     string  `json:"cheapest_mend,omitempty"`
	Gain     float64 `json:"mend_gain_year_Wh"`
}

func shadeInShort(a *shading.Answer) planShade {
	if a == nil {
		return planShade{}
	}
	out := planShade{Together: wh(a.Together.Year)}
	if c, ok := a.Worst(); ok {
		out.Worst, out.Year, out.Share = c.Name, wh(c.Loss.Year), round(shareOf(c.Loss.Year, a.Offered.Year+a.Together.Year), 4)
	}
	if m, ok := a.Cheapest(); ok {
		out.Mend, out.Gain = m.What+" ("+m.Effort.String()+")", wh(m.Gain)
	}
	return out
}

type needsJSON struct {
	Day     float64    `json:"day_Wh"`
	Loads   []loadJSON `json:"loads"`
	Usable  float64    `json:"battery_usable_Wh"`
	Nights  float64    `json:"nights_without_sun"`
	AirLow  float64    `json:"air_low_degC"`
	AirHigh float64    `json:"air_high_degC"`
}

type loadJSON struct {
	Name   string  `json:"name"`
	Energy float64 `json:"day_Wh"`
}

// planYears is how many weather years plan computes: so many on any machine, the answer is the same on a slow one.
const planYears = 200

func planCommand(s *Streams) *cobra.Command {
	var asJSON bool
	var seed uint64
	c := &cobra.Command{
		Use:   "plan BUILD",
		Short: "the whole job on one page: needs, checks, trip, parts, cautions, what was assumed",
		Long: `Answers for the build: what is used in a day, what the rules say, whether the battery lasts the
trip, what to buy.
Exit code 1: a check failed or the trip runs short.

  noonmark plan van.yaml`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			list, err := findings(&b.build)
			if err != nil {
				return err
			}
			a, err := runTrip(cmd.Context(), s, b, forecast.Options{Years: planYears, Seed: seed})
			if err != nil {
				return err
			}
			list = append(list, check.Trip(a))
			n := needs.Of(&b.build, a)
			var dark planShade
			if len(b.build.Obstacles) > 0 {
				cost, err := shading.Quick(cmd.Context(), &b.build, seed)
				if err != nil && !errors.Is(err, shading.ErrNoTrip) {
					return err
				}
				dark = shadeInShort(cost)
			}
			if asJSON {
				err = writeJSON(s.Out, planJSON(b, a, n, list, dark))
			} else {
				err = printPlan(s, b, a, n, list, dark)
			}
			if err != nil {
				return err
			}
			return failed(list)
		},
	}
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// planCautions are the usual ones for a plan.
var planCautions = []string{
	"A module is live in light: cover it before you touch a plug, and never part a plug under load.",
	"Fuse within reach of the battery's post; a battery short is thousands of amps.",
	"No charging of lithium iron phosphate below 0 °C in the cell.",
	"A loose module on the road kills: check edges and fasteners before every long drive.",
	"Mains wiring is not covered here. Follow the local code; where it asks for a licensed electrician, ask one.",
}

func planJSON(b *openedBuild, a *forecast.Answer, n needs.Answer, list []check.Finding, dark planShade) planAnswer {
	out := planAnswer{Build: b.build.Name, Trip: tripJSON(a, b), Parts: parts.Of(&b.build), Cautions: planCautions, Assumed: b.assumed(), Shade: dark, Checks: checksJSON(list),
		Needs: needsJSON{Day: wh(n.Day), Usable: wh(n.Usable), Nights: round(n.Nights, 2), AirLow: round(n.AirLow.Celsius(), 1), AirHigh: round(n.AirHigh.Celsius(), 1)}}
	for _, l := range n.Loads {
		out.Needs.Loads = append(out.Needs.Loads, loadJSON{l.Name, wh(l.Energy)})
	}
	return out
}

func printPlan(s *Streams, b *openedBuild, a *forecast.Answer, n needs.Answer, list []check.Finding, dark planShade) error {
	out := s.Out
	fmt.Fprintf(out, "%s\n\n%s\n\nNeeds: %.0f Wh a day at the battery, %.0f Wh usable, %.1f nights without any sun.\n",
		b.build.Name, verdict(&b.build, a), n.Day.WattHours(), n.Usable.WattHours(), n.Nights)
	fmt.Fprintln(out, "The spread below is that of the weather; noonmark trip --bands adds label, age, dirt, trees and use.")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, l := range n.Loads {
		fmt.Fprintf(w, "  %s\t%.0f Wh\t\n", l.Name, l.Energy.WattHours())
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out)
	if err := printChecks(out, list); err != nil {
		return err
	}
	fmt.Fprintln(out, "\nDays")
	printDays(s, a)
	fmt.Fprintln(out)
	printLedger(s, a)
	if dark.Worst != "" {
		fmt.Fprintf(out, "\nShade on the roof, judged on twelve days of the year: all of it costs about %.1f kWh a year; %s alone %.1f kWh, %.1f %%.\n", dark.Together/1000, dark.Worst, dark.Year/1000, 100*dark.Share)
		if dark.Mend != "" {
			fmt.Fprintf(out, "  Cheapest mend that gives 1 %% or more: %s, %+.1f kWh a year.\n", dark.Mend, dark.Gain/1000)
		}
		fmt.Fprintln(out, "  noonmark shade computes it closer, by thing, module and cell; it may name another mend.")
	}
	fmt.Fprintln(out, "\nParts")
	w = tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, p := range parts.Of(&b.build) {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", p.Count, p.Name, p.Note)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out, "\nCautions")
	for _, c := range planCautions {
		fmt.Fprintln(out, "  "+c)
	}
	fmt.Fprintf(out, "\n%s of weather, as many as two seconds gave and 40 at least; seed %d; noonmark trip draws %d, and its figures differ as chance has it. %s.\nClimate: %s\n", count(a.Years, "year"), a.Seed, tripYears, bandConvention, climateCredit)
	printAssumed(out, b.assumed())
	return nil
}
