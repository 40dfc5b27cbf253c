package cli

import (
	"fmt"
	"io"
	"strconv"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/check"
	"noonmark/internal/answer/forecast"
	"noonmark/internal/answer/whatif"
)

type compareAnswer struct {
	Now      string              `json:"now"`
	Changed  string              `json:"changed"`
	Same     bool                `json:"same"`
	Compared int                 `json:"figures_compared"`
	Figures  []compareFigure     `json:"figures"`
	Verdicts []compareVerdict    `json:"verdicts"`
	Assumed  []compareAssumption `json:"assumed_differently"`
	Notes    []string            `json:"notes"`
	Years    int                 `json:"years"`
	Seed     uint64              `json:"seed"`
}

type compareFigure struct {
	Key     string   `json:"key"`
	About   string   `json:"about"`
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`
	Now     *float64 `json:"now"`
	Changed *float64 `json:"changed"`
}

type compareVerdict struct {
	ID      string `json:"id"`
	Subject string `json:"subject"`
	Before  string `json:"before"`
	After   string `json:"after"`
	Reason  string `json:"reason"`
}

type compareAssumption struct {
	Path   string `json:"path"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// compareYears is how many weather years each side runs through unless asked.
const compareYears = 40

func compareCommand(s *Streams) *cobra.Command {
	var years int
	var seed uint64
	var asJSON bool
	c := &cobra.Command{
		Use:   "compare BUILD OTHER",
		Short: "two builds side by side, now and changed: only what differs",
		Long: `Takes both builds through the same weather years and prints what differs: watts, mass, cold and hot
volts, energy a day, nights short, cost, rules whose word changes, values assumed differently.

  noonmark compare van.yaml more-battery.yaml
  noonmark compare store:van@3 store:van --json`,
		Args: exactly(2, "two build files"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if years < 1 || years > 10000 {
				return misuse("--years %d: wanted between 1 and 10000", years)
			}
			var sides [2]whatif.Side
			for i := range sides {
				b, err := openBuild(cmd.Context(), s, args[i])
				if err != nil {
					return err
				}
				if sides[i], err = whatif.Compute(cmd.Context(), &b.build, forecast.Options{Years: years, Seed: seed, Files: b.weather}); err != nil {
					return err
				}
			}
			a := whatif.Compare(sides[0], sides[1])
			if asJSON {
				return writeJSON(s.Out, compareJSON(args, a, years, seed))
			}
			return printCompare(s.Out, args, a, years, seed)
		},
	}
	c.Flags().IntVar(&years, "years", compareYears, "weather years, the same for both")
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the weather years")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// verdictOf returns a finding's word, "none" where the rule was not judged.
func verdictOf(f *check.Finding) string {
	if f == nil {
		return "none"
	}
	return f.Verdict.String()
}

// reasonOf returns the reason of the changed side, or else the other.
func reasonOf(v whatif.Verdict) string {
	if v.Changed != nil {
		return v.Changed.Reason
	}
	return v.Now.Reason
}

func compareJSON(names []string, a whatif.Answer, years int, seed uint64) compareAnswer {
	out := compareAnswer{Now: names[0], Changed: names[1], Same: a.Same(), Compared: a.Compared, Figures: []compareFigure{}, Verdicts: []compareVerdict{},
		Assumed: []compareAssumption{}, Notes: append([]string{}, a.Notes...), Years: years, Seed: seed}
	for _, f := range a.Figures {
		out.Figures = append(out.Figures, compareFigure{Key: f.Key, About: f.About, Name: f.Name, Unit: f.Unit, Now: rounded(f.Now, f.Digits), Changed: rounded(f.Changed, f.Digits)})
	}
	for _, v := range a.Verdicts {
		out.Verdicts = append(out.Verdicts, compareVerdict{v.ID, v.Subject, verdictOf(v.Now), verdictOf(v.Changed), reasonOf(v)})
	}
	for _, v := range a.Assumed {
		out.Assumed = append(out.Assumed, compareAssumption{v.Path, assumedText(v, false), assumedText(v, true)})
	}
	return out
}

func rounded(v *float64, digits int) *float64 {
	if v == nil {
		return nil
	}
	x := round(*v, digits)
	return &x
}

// assumedText returns what a side assumes, empty where it does not.
func assumedText(v whatif.Assumption, changed bool) string {
	a := v.Now
	if changed {
		a = v.Changed
	}
	if a == nil {
		return ""
	}
	return a.Value
}

func printCompare(out io.Writer, names []string, a whatif.Answer, years int, seed uint64) error {
	fmt.Fprintf(out, "now:     %s\nchanged: %s\n", names[0], names[1])
	if a.Same() {
		fmt.Fprintf(out, "\nNothing differs: %d figures, all rules, all that is assumed.\n", a.Compared)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	if len(a.Figures) > 0 {
		fmt.Fprintf(w, "\n\tnow\tchanged\t\n")
	}
	for _, f := range a.Figures {
		by := ""
		if f.Now != nil && f.Changed != nil {
			by = fmt.Sprintf("%+.*f", f.Digits, *f.Changed-*f.Now)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", f.Name, figureText(f, f.Now), figureText(f, f.Changed), by)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if len(a.Verdicts) > 0 {
		fmt.Fprintln(out, "\nRules whose word changes")
	}
	for _, v := range a.Verdicts {
		fmt.Fprintf(out, "  %s, %s: %s → %s\n", v.ID, v.Subject, verdictOf(v.Now), verdictOf(v.Changed))
		if v.Changed != nil {
			fmt.Fprintf(out, "      %s\n", v.Changed.Reason)
		}
	}
	if len(a.Assumed) > 0 {
		fmt.Fprintln(out, "\nAssumed differently")
		w = tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
		for _, v := range a.Assumed {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", v.Path, orNotAssumed(assumedText(v, false)), orNotAssumed(assumedText(v, true)))
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	for _, n := range a.Notes {
		fmt.Fprintf(out, "\nNote: %s.\n", n)
	}
	_, err := fmt.Fprintf(out, "\n%d figures compared; what does not differ is left out. Both sides ran through the same %s, seed %d.\n", a.Compared, count(years, "weather year"), seed)
	return err
}

func figureText(f whatif.Figure, v *float64) string {
	if v == nil {
		return "–"
	}
	text := strconv.FormatFloat(round(*v, f.Digits), 'f', f.Digits, 64)
	if f.Unit != "" {
		text += " " + f.Unit
	}
	return text
}

func orNotAssumed(text string) string {
	if text == "" {
		return "not assumed"
	}
	return text
}
