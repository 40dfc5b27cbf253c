package cli

import (
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/base/problem"
	"noonmark/internal/sheet/sheet"
)

type diagnoseAnswer struct {
	Verdict  string       `json:"verdict"`
	Causes   []causeJSON  `json:"causes"`
	Fit      float64      `json:"fit_probability"`
	Alike    []string     `json:"not_told_apart_from_the_first"`
	NextTest *testJSON    `json:"next_test"`
	Tests    []testJSON   `json:"tests"`
	Overturn string       `json:"would_overturn"`
	Light    float64      `json:"light_Wm2"`
	Cells    float64      `json:"cells_degC"`
	Cautions []string     `json:"cautions"`
	Assumed  []assumption `json:"assumed"`
}

type causeJSON struct {
	Cause       string          `json:"cause"`
	Where       string          `json:"where"`
	Probability float64         `json:"probability"`
	Size        string          `json:"size,omitempty"`
	Left        float64         `json:"module_power_left_fraction"`
	Mend        string          `json:"mend,omitempty"`
	Prior       string          `json:"prior"`
	Predicted   []predictedJSON `json:"predicted"`
}

type predictedJSON struct {
	Reading  string   `json:"reading"`
	At       string   `json:"at,omitempty"`
	Read     string   `json:"read"`
	Value    *float64 `json:"value,omitempty"`
	Over     bool     `json:"over_range,omitempty"`
	Unit     string   `json:"unit,omitempty"`
	Distance float64  `json:"distance_u"`
}

type testJSON struct {
	Reading string        `json:"reading"`
	At      string        `json:"at,omitempty"`
	Where   string        `json:"where"`
	How     string        `json:"how"`
	Caution string        `json:"caution"`
	Sweep   bool          `json:"at_every_like_place"`
	Bits    float64       `json:"information_bits"`
	Expect  []outcomeJSON `json:"expect"`
}

type outcomeJSON struct {
	Cause string `json:"cause"`
	Reads string `json:"reads"`
}

func diagnoseCommand(s *Streams) *cobra.Command {
	var asJSON bool
	var stood standFlags
	var pdf onPaper
	c := &cobra.Command{
		Use:   "diagnose BUILD READINGS",
		Short: "what is wrong: causes ranked from readings, and the next test",
		Long: `Builds each fault it knows into the array's own circuit, predicts what a meter would read, and weighs
it against what was read. It names the test that tells most for least unplugging and danger, stops when
a cause is proven, and says when none of its causes fits.

  noonmark diagnose van.yaml readings.txt
  noonmark diagnose van.yaml readings.txt --at "Evora, PT" --time "2027-06-21 12:10" --sky clear

` + readingsHelp(),
		Args: exactly(2, "a build file and a file of readings"),
		RunE: func(cmd *cobra.Command, args []string) error {
			wanted, err := pdf.asked()
			if err != nil {
				return err
			}
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			f, err := readReadings(args[1], claimKeys)
			if err != nil {
				return err
			}
			if err := f.conditions(s, b, stood); err != nil {
				return err
			}
			a, err := diagnose.Run(&b.build, f.readings, f.options)
			if err != nil {
				return asUse(err)
			}
			out := diagnosed(a, f)
			out.Assumed = append(f.assumed, b.assumedOf(electric...)...)
			if wanted {
				job := sheet.FaultJob{Answer: a, Readings: f.readings, Texts: f.texts, Assumed: sheetAssumed(f.assumed)}
				if err := pdf.sheets(s, b, args[0], args[1], sheet.Fault(job)); err != nil {
					return err
				}
			}
			if asJSON {
				return writeJSON(s.Out, out)
			}
			return out.print(s)
		},
	}
	stood.add(c)
	pdf.add(c)
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// asUse makes a label that no cell fits wrong use; problems stay what they are.
func asUse(err error) error {
	var bad *problem.Error
	if errors.As(err, &bad) {
		return err
	}
	return misuse("%v", err)
}

// electric are the sections of a build that a meter's readings depend on.
var electric = []string{"types", "modules", "strings", "chargers", "battery", "soiling"}

// diagnosed returns an answer as it is printed.
func diagnosed(a *diagnose.Answer, f *readingFile) diagnoseAnswer {
	out := diagnoseAnswer{Verdict: a.Verdict.String(), Causes: []causeJSON{}, Alike: []string{}, Fit: round(a.Fit.Float(), 4), Tests: []testJSON{}, Overturn: a.Overturn, Light: a.Light.WattsPerSquareMetre(), Cells: a.Cells.Celsius(),
		Cautions: []string{
			"Modules are live in light: cover them before touching plugs, and never part a plug under load.",
			"Mains wiring is for a licensed electrician.",
		}, Assumed: []assumption{}}
	for _, c := range a.Causes {
		_, source := c.Fault.Prior()
		j := causeJSON{Cause: c.Fault.String(), Where: c.Where, Probability: round(c.Probability.Float(), 4), Size: c.Size, Left: round(c.Left.Float(), 3), Mend: c.Fault.Mend(), Prior: source.String(), Predicted: []predictedJSON{}}
		for _, p := range c.Predicted {
			r := f.readings[p.Reading]
			x := predictedJSON{Reading: r.Kind.String(), At: r.Place(), Read: f.texts[p.Reading], Over: p.Over, Unit: r.Kind.Unit(), Distance: round(p.Distance, 2)}
			if !p.Over {
				v := round(p.Value, 4)
				x.Value = &v
			}
			j.Predicted = append(j.Predicted, x)
		}
		out.Causes = append(out.Causes, j)
	}
	out.Alike = append(out.Alike, sheet.Alike(a)...)
	for _, t := range a.Next {
		r := diagnose.Reading{Kind: t.Kind, At: t.At, Joint: t.Joint}
		x := testJSON{Reading: t.Kind.String(), At: r.Place(), Where: t.Where, How: t.How, Caution: t.Caution, Sweep: t.Sweep, Bits: round(t.Bits, 3), Expect: []outcomeJSON{}}
		for _, e := range t.Expect {
			x.Expect = append(x.Expect, outcomeJSON{e.Cause, sheet.OutcomeText(t.Kind, e)})
		}
		out.Tests = append(out.Tests, x)
	}
	if len(out.Tests) > 0 {
		out.NextTest = &out.Tests[0]
	}
	return out
}

func (a diagnoseAnswer) print(s *Streams) error {
	fmt.Fprintf(s.Out, "%s\n\n", a.Verdict)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	for _, c := range a.Causes {
		where := c.Where
		if c.Size != "" {
			where += " (" + c.Size + ")"
		}
		fmt.Fprintf(w, "%s\t%3.0f %%\t%s\t%s\n", bar(c.Probability, 12), 100*c.Probability, c.Cause, where)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	switch mend := a.Causes[0].Mend; {
	case a.Verdict == diagnose.NoneFits.String():
		fmt.Fprintf(s.Out, "\nTo do: %s\n", diagnose.NoneOfThese.Mend())
	case mend != "" && a.Verdict == diagnose.CannotTell.String():
		fmt.Fprintf(s.Out, "\nTo do, once it is proven and not before: %s\n", mend)
	case mend != "":
		fmt.Fprintf(s.Out, "\nTo do: %s\n", mend)
	}
	odd := false
	for _, p := range a.Causes[0].Predicted {
		if p.Distance > 2.5 || p.Distance < -2.5 {
			if !odd {
				fmt.Fprintln(s.Out, "\nNot explained by it:")
			}
			odd = true
			says := "over the range"
			if p.Value != nil {
				says = fmt.Sprintf("%.4g %s", *p.Value, p.Unit)
			}
			fmt.Fprintf(s.Out, "  %s: read %s, it says %s\n", strings.TrimSpace(p.Reading+" "+p.At), p.Read, says)
		}
	}
	if len(a.Alike) > 0 {
		fmt.Fprintf(s.Out, "\nThese readings cannot tell from the first: %s.\n", strings.Join(a.Alike, "; "))
	}
	if t := a.NextTest; t != nil {
		fmt.Fprintf(s.Out, "\nNext: %s, %s\n  %s\n  Caution: %s\n", t.Reading, t.Where, t.How, t.Caution)
		if t.Sweep {
			fmt.Fprintln(s.Out, "  Nothing is unplugged: take it at every like place while you are there.")
		}
		for _, e := range t.Expect {
			fmt.Fprintf(s.Out, "  if %s: %s\n", e.Cause, e.Reads)
		}
	}
	fmt.Fprintf(s.Out, "\nWhat would overturn the first: %s.\n", a.Overturn)
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}
