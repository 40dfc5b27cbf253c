package cli

import (
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/check"
	"noonmark/internal/build/build"
)

type checkAnswer struct {
	Build    string       `json:"build"`
	Checks   []checkJSON  `json:"checks"`
	Cautions []string     `json:"cautions"`
	Assumed  []assumption `json:"assumed"`
}

type checkJSON struct {
	ID      string  `json:"id"`
	Subject string  `json:"subject"`
	Verdict string  `json:"verdict"`
	Value   float64 `json:"value"`
	Limit   float64 `json:"limit"`
	Unit    string  `json:"unit"`
	Reason  string  `json:"reason"`
	Source  string  `json:"source"`
}

func checkCommand(s *Streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "check BUILD",
		Short: "the rules of wiring, roof and mounting: value, limit, reason, source",
		Long: `Holds the build against every rule: what fails, what is close, what is missing and how to find it,
and in short what holds. Within the stated rule means that rule and no more; codes differ by country
and edition. Exit code 1: a check failed.

  noonmark check van.yaml
  noonmark check van.yaml --json`,
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
			if asJSON {
				err = writeJSON(s.Out, checkAnswer{Build: b.build.Name, Checks: checksJSON(list), Cautions: planCautions, Assumed: b.assumed()})
			} else {
				fmt.Fprintf(s.Out, "%s\n\n", b.build.Name)
				if err = printChecks(s.Out, list); err == nil {
					fmt.Fprintln(s.Out, "\nCodes differ by country and edition: check the edition in force where you are.")
					printAssumed(s.Out, b.assumed())
				}
			}
			if err != nil {
				return err
			}
			return failed(list)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// findings returns those of wiring, roof and mounting.
func findings(b *build.Build) ([]check.Finding, error) {
	list, err := check.Build(b)
	if err != nil {
		return nil, misuse("%v", err)
	}
	return append(list, check.Mounting(b)...), nil
}

// failed returns errShort when one of the findings fails.
func failed(list []check.Finding) error {
	for _, f := range list {
		if f.Verdict == check.Fail {
			return errShort
		}
	}
	return nil
}

func checksJSON(list []check.Finding) []checkJSON {
	out := []checkJSON{}
	for _, f := range list {
		out = append(out, checkJSON{ID: f.ID, Subject: f.Subject, Verdict: f.Verdict.String(), Value: round(f.Value, 4),
			Limit: round(f.Limit, 4), Unit: f.Unit, Reason: f.Reason, Source: f.Source.String()})
	}
	return out
}

// verdictWords are a verdict as printed: what fails stands out without colour.
var verdictWords = map[check.Verdict]string{check.Pass: "within the rule", check.Warn: "CLOSE", check.Fail: "FAILS", check.Unknown: "unknown"}

// printChecks prints what fails, is close or unknown with its reason, and what holds in a row for each rule.
func printChecks(out io.Writer, list []check.Finding) error {
	n := map[check.Verdict]int{}
	for _, f := range list {
		n[f.Verdict]++
	}
	groups := check.Groups(list)
	fmt.Fprintf(out, "Rules: %s, %d close, %d unknown, %d within the rule, of %d findings\n", fails(n[check.Fail]), n[check.Warn], n[check.Unknown], n[check.Pass], len(list))
	for _, v := range []check.Verdict{check.Fail, check.Warn, check.Unknown} {
		for _, g := range groups {
			if g.Verdict != v {
				continue
			}
			figure := ""
			if v != check.Unknown {
				figure = fmt.Sprintf(": %s %s, limit %s", figures(g.Value), g.Unit, figures(g.Limit))
			}
			fmt.Fprintf(out, "  %s  %s, %s%s\n      %s. [%s]\n", verdictWords[v], g.ID, g.Together(), figure, g.Reason, g.Source)
		}
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, g := range groups {
		if g.Verdict == check.Pass {
			fmt.Fprintf(w, "  %s\t%s\t%s %s\tlimit %s\t%s\n", verdictWords[g.Verdict], g.ID, figures(g.Value), g.Unit, figures(g.Limit), g.Together())
		}
	}
	return w.Flush()
}

func fails(n int) string {
	if n == 1 {
		return "1 fails"
	}
	return fmt.Sprintf("%d fail", n)
}

// figures prints the ends of a range, one where they read alike; a whole number in full.
func figures(r check.Range) string {
	low, high := shortFigure(r.Low), shortFigure(r.High)
	if low == high {
		return low
	}
	return low + " to " + high
}

func shortFigure(v float64) string {
	if v >= 1000 || v <= -1000 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return fmt.Sprintf("%.3g", v)
}
