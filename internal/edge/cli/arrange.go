package cli

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"noonmark/internal/answer/choose"
	"noonmark/internal/build/build"
	"noonmark/internal/build/catalog"
)

type arrangeAnswer struct {
	Now        candidateJSON   `json:"now"`
	Candidates []candidateJSON `json:"candidates"`
	Why        string          `json:"why"`
	Judged     int             `json:"judged"`
	Allowed    int             `json:"judged_at_most"`
	Forbidden  int             `json:"left_out_for_rules"`
	Refused    []refusalJSON   `json:"rules_left_out_for"`
	Bound      float64         `json:"upper_bound_Wh"`
	BoundOf    string          `json:"upper_bound_of"`
	Gap        float64         `json:"gap_to_bound"`
	Proof      string          `json:"proof,omitempty"`
	Assumed    []assumption    `json:"assumed"`
}

type candidateJSON struct {
	What    string       `json:"what"`
	Energy  float64      `json:"energy_per_year_Wh"`
	Day     float64      `json:"energy_per_day_Wh"`
	Power   float64      `json:"label_W"`
	Mass    float64      `json:"mass_kg"`
	Money   *float64     `json:"price,omitempty"`
	Nights  float64      `json:"nights_short_P50"`
	Front   bool         `json:"on_front"`
	Modules []placedJSON `json:"modules"`
	Wiring  string       `json:"wiring,omitempty"`
	Mend    []string     `json:"rules_to_mend,omitempty"`
	Still   []string     `json:"rules_still_broken,omitempty"`
}

type refusalJSON struct {
	Rule  string   `json:"rule"`
	Why   string   `json:"why"`
	Kinds []string `json:"kinds"`
}

type placedJSON struct {
	Type    string  `json:"type"`
	Surface string  `json:"on"`
	X       float64 `json:"x_m"`
	Y       float64 `json:"y_m"`
	Turn    float64 `json:"turn_deg"`
}

func candidateOf(c choose.Candidate) candidateJSON {
	out := candidateJSON{What: c.What, Energy: wh(c.Energy), Day: round(c.Energy.WattHours()/365, 1), Power: round(c.Power.Watts(), 1), Mass: round(c.Mass.Kilograms(), 2), Money: c.Money, Nights: c.Nights, Front: c.Front, Wiring: c.Wiring, Mend: c.Mend, Still: c.Still, Modules: []placedJSON{}}
	for i := range c.Build.Modules {
		m := &c.Build.Modules[i]
		out.Modules = append(out.Modules, placedJSON{Type: c.Build.Types[m.Type].Name, Surface: c.Build.Surfaces[m.Surface].Name, X: round(m.X.Metres(), 3), Y: round(m.Y.Metres(), 3), Turn: round(m.Turn.Degrees(), 0)})
	}
	return out
}

// amongFlag is the help of --among.
const amongFlag = `module types, by name in the file or by class of the catalogue: "foil-95,glass-200"; empty: those on the roof`

// among returns the build with the types asked for and their numbers.
func among(b *openedBuild, list string) (*build.Build, []int, error) {
	changed := b.build
	changed.Types = append([]build.ModuleType(nil), b.build.Types...)
	if strings.TrimSpace(list) == "" {
		return &changed, nil, nil
	}
	var out []int
	for name := range strings.SplitSeq(list, ",") {
		name = strings.TrimSpace(name)
		at := -1
		for i := range changed.Types {
			if changed.Types[i].Name == name {
				at = i
			}
		}
		if at < 0 {
			t, ok := build.ClassType(name)
			if !ok {
				var have []string
				for _, t := range b.build.Types {
					have = append(have, t.Name)
				}
				for _, c := range catalog.Modules() {
					have = append(have, c.Name)
				}
				return nil, nil, misuse("--among: no module type or class %q; there are %s", name, strings.Join(have, ", "))
			}
			at = len(changed.Types)
			changed.Types = append(changed.Types, t)
		}
		if !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	return &changed, out, nil
}

func arrangeCommand(s *Streams) *cobra.Command {
	var types string
	var most, judged int
	var seed uint64
	var alike, asJSON bool
	c := &cobra.Command{
		Use:   "arrange BUILD",
		Short: "better layouts and wirings of modules on this roof",
		Long: `Searches places, turns, numbers, mixes of types and wirings of modules on the build's surfaces and chargers,
shadows on cells included, and shows the best of each kind that keeps every rule of check which hangs on
layout, computed through a year like the trip's longest stay, and through the trip. Those marked with a star are on
the front: none other gives more, or keeps more nights, for no more money and mass.

  noonmark arrange van.yaml
  noonmark arrange van.yaml --among foil-90,glass-100,flexible-110 --most 4`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			b, err := openBuild(cmd.Context(), s, args[0])
			if err != nil {
				return err
			}
			if most < 1 || most > 12 || judged < 1 || judged > 100000 {
				return misuse("wanted --most from 1 to 12 and --judged from 1 to 100000")
			}
			changed, list, err := among(b, types)
			if err != nil {
				return err
			}
			o := choose.Options{Types: list, Most: most, Alike: alike, Judged: judged, Seed: seed}
			o.Progress = judging(s)
			a, err := choose.Arrange(cmd.Context(), changed, o)
			wipe(s)
			if errors.Is(err, choose.ErrNoStay) {
				return errNoStay
			}
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(s.Out, arrangeJSON(b, a))
			}
			return printArrangement(s, b, a)
		},
	}
	c.Flags().StringVar(&types, "among", "", amongFlag)
	c.Flags().IntVar(&most, "most", 4, "modules at most")
	c.Flags().BoolVar(&alike, "alike", false, "one type a layout, none mixed")
	c.Flags().IntVar(&judged, "judged", 10000, "layouts and wirings judged at most")
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of search and weather")
	c.Flags().BoolVar(&asJSON, "json", false, "print one JSON document")
	return c
}

// judging shows on a terminal how far a search is; nil elsewhere.
func judging(s *Streams) func(done, total int, best string) {
	if !s.Terminal {
		return nil
	}
	return func(done, total int, best string) {
		fmt.Fprintf(s.Err, "\r%d of %d judged, best: %s\x1b[K", done, total, best)
	}
}

// wipe takes progress off a terminal.
func wipe(s *Streams) {
	if s.Terminal {
		fmt.Fprint(s.Err, "\r\x1b[K")
	}
}

func arrangeAssumed(b *openedBuild, list []string) []assumption {
	var out []assumption
	for _, t := range list {
		out = append(out, assumption{What: "search", Value: t})
	}
	return append(out, b.assumed()...)
}

func arrangeJSON(b *openedBuild, a *choose.Arrangement) arrangeAnswer {
	out := arrangeAnswer{Now: candidateOf(a.Now), Candidates: []candidateJSON{}, Why: a.Why, Judged: a.Judged, Allowed: a.Allowed, Forbidden: a.Forbidden, Refused: []refusalJSON{}, Proof: a.Proof, Bound: wh(a.Bound), BoundOf: a.BoundOf, Gap: round(a.Gap(), 4), Assumed: arrangeAssumed(b, a.Assumed)}
	for _, c := range a.Candidates {
		out.Candidates = append(out.Candidates, candidateOf(c))
	}
	for _, r := range a.Refused {
		out.Refused = append(out.Refused, refusalJSON(r))
	}
	return out
}

func printArrangement(s *Streams, b *openedBuild, a *choose.Arrangement) error {
	fmt.Fprintf(s.Out, "%s: layouts, a year at the battery\n\n%s\n\n", b.build.Name, a.Why)
	w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\tlayout\tyear\tnights short\tlabel\tmass\tmodules' price\tfront left corners")
	for i, c := range append([]choose.Candidate{a.Now}, a.Candidates...) {
		mark, price, places := "", "not given", []string{}
		if c.Front && i > 0 {
			mark = "*"
		}
		if c.Money != nil {
			price = fmt.Sprintf("%.0f %s", *c.Money, b.build.Currency)
		}
		for _, m := range candidateOf(c).Modules {
			at := fmt.Sprintf("[%.2f, %.2f]", m.X, m.Y)
			if m.Turn != 0 {
				at += " turned"
			}
			if mixed(c.Build) {
				at = m.Type + " " + at
			}
			places = append(places, at)
		}
		fmt.Fprintf(w, "%s\t%s\t%.0f kWh\t%.0f\t%.0f W\t%.1f kg\t%s\t%s\n", mark, c.What, c.Energy.WattHours()/1000, c.Nights, c.Power.Watts(), c.Mass.Kilograms(), price, strings.Join(places, " "))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if len(a.Candidates) > 0 && len(a.Candidates[0].Still) > 0 {
		fmt.Fprintf(s.Out, "\nOutside a rule as the build as it stands is: %s. Mend that first.\n", strings.Join(a.Candidates[0].Still, ", "))
	}
	for i := range a.Candidates {
		if c := &a.Candidates[i]; len(c.Mend) > 0 {
			fmt.Fprintf(s.Out, "\n%s wants other parts to keep %s.", c.What, strings.Join(c.Mend, ", "))
		}
	}
	fmt.Fprintf(s.Out, "\n%d layouts and wirings judged, %d left out for rules.\n", a.Judged, a.Forbidden)
	for _, r := range a.Refused {
		fmt.Fprintf(s.Out, "  %s: %s\n    %s\n", r.Rule, r.Why, refusedKinds(r.Kinds))
	}
	if len(a.Candidates) == 0 {
		printAssumed(s.Out, arrangeAssumed(b, a.Assumed))
		return nil
	}
	if a.Proof != "" {
		fmt.Fprintln(s.Out, a.Proof)
	} else {
		fmt.Fprintf(s.Out, "The best stands %.1f %% under a bound that no layout passes: %s.\n", 100*a.Gap(), a.BoundOf)
	}
	if ended := a.Ended(); ended != "" {
		fmt.Fprintln(s.Out, ended)
	}
	fmt.Fprintln(s.Out, "Before you glue: noonmark plan and noonmark shade on the layout you choose. Cable entry is not searched.")
	printAssumed(s.Out, arrangeAssumed(b, a.Assumed))
	return nil
}

// refusedKinds names a few of many kinds.
func refusedKinds(list []string) string {
	const most = 3
	if len(list) <= most {
		return strings.Join(list, "; ")
	}
	return fmt.Sprintf("%s; and %d more kinds", strings.Join(list[:most], "; "), len(list)-most)
}

// mixed reports whether a build has modules of more than one type.
func mixed(b *build.Build) bool {
	for i := range b.Modules {
		if b.Modules[i].Type != b.Modules[0].Type {
			return true
		}
	}
	return false
}
