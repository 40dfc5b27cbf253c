package cli

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"noonmark/internal/answer/bands"
	"noonmark/internal/answer/forecast"
)

// bandsAnswer is how sure a trip is, as JSON.
type bandsAnswer struct {
	P90         float64           `json:"energy_P90_Wh"`
	P50         float64           `json:"energy_P50_Wh"`
	P10         float64           `json:"energy_P10_Wh"`
	DayP90      float64           `json:"energy_day_P90_Wh"`
	DayP50      float64           `json:"energy_day_P50_Wh"`
	DayP10      float64           `json:"energy_day_P10_Wh"`
	YearP90     *float64          `json:"energy_year_P90_Wh,omitempty"`
	YearP50     *float64          `json:"energy_year_P50_Wh,omitempty"`
	YearP10     *float64          `json:"energy_year_P10_Wh,omitempty"`
	YearDraws   int               `json:"year_draws"`
	OfferedP90  float64           `json:"offered_P90_Wh"`
	OfferedP50  float64           `json:"offered_P50_Wh"`
	OfferedP10  float64           `json:"offered_P10_Wh"`
	Nights90    float64           `json:"nights_short_P90"`
	Nights50    float64           `json:"nights_short_P50"`
	Nights10    float64           `json:"nights_short_P10"`
	Short       float64           `json:"share_of_draws_short"`
	Shares      []shareJSON       `json:"shares"`
	OfferedBy   []shareJSON       `json:"offered_shares"`
	NightShares []shareJSON       `json:"nights_short_shares"`
	Dominant    []string          `json:"dominant"`
	Observation *observationJSON  `json:"observation"`
	Others      []observationJSON `json:"other_observations"`
	Doubts      []doubtJSON       `json:"doubts"`
	Draws       int               `json:"draws"`
	Runs        int               `json:"runs"`
	Seed        uint64            `json:"seed"`
	Notes       []string          `json:"notes"`
}

type shareJSON struct {
	Input      string  `json:"input"`
	Name       string  `json:"name"`
	First      float64 `json:"first"`
	FirstError float64 `json:"first_standard_error"`
	Total      float64 `json:"total"`
	TotalError float64 `json:"total_standard_error"`
}

type observationJSON struct {
	What    string   `json:"what"`
	Inputs  []string `json:"inputs"`
	Left    string   `json:"doubt_left"`
	Of      string   `json:"of"`
	Before  float64  `json:"share_before"`
	After   float64  `json:"share_after"`
	Shrinks float64  `json:"band_narrows_by"`
	P90     float64  `json:"P90_after"`
	P10     float64  `json:"P10_after"`
	Source  string   `json:"source"`
}

type doubtJSON struct {
	Key    string `json:"key"`
	Name   string `json:"name"`
	Text   string `json:"distribution"`
	Why    string `json:"why"`
	Source string `json:"source"`
	Given  bool   `json:"given"`
}

// yearDraws is how many whole years trip --bands draws.
const yearDraws = 60

// runBands draws what is not known of a build; progress on a terminal.
func runBands(ctx context.Context, s *Streams, b *openedBuild, rows, years int, seed uint64) (*bands.Answer, error) {
	o := bands.Options{Rows: rows, YearDraws: years, Seed: seed, Files: b.weather}
	if s.Terminal {
		o.Progress = throttled(func(done, total int) {
			if done%16 == 0 || done == total {
				fmt.Fprintf(s.Err, "\r%d of %d draws\x1b[K", done, total)
			}
		})
		defer fmt.Fprint(s.Err, "\r\x1b[K")
	}
	return bands.Run(ctx, &b.build, o)
}

func sharesJSON(list []bands.Input) []shareJSON {
	out := []shareJSON{}
	for _, x := range list {
		out = append(out, shareJSON{x.Key, x.Name, round(x.First, 4), round(x.FirstError, 4), round(x.Total, 4), round(x.TotalError, 4)})
	}
	return out
}

func observedJSON(o *bands.Observation) observationJSON {
	return observationJSON{What: o.What, Inputs: o.Inputs, Left: o.Left, Of: o.Of, Before: round(o.Before, 4), After: round(o.After, 4), Shrinks: round(o.Shrinks, 4),
		P90: round(o.Band.P90, 1), P10: round(o.Band.P10, 1), Source: o.Source.String()}
}

func bandsJSON(a *bands.Answer) *bandsAnswer {
	out := &bandsAnswer{P90: round(a.Harvest.P90, 3), P50: round(a.Harvest.P50, 3), P10: round(a.Harvest.P10, 3), DayP90: round(a.PerDay.P90, 3), DayP50: round(a.PerDay.P50, 3),
		DayP10: round(a.PerDay.P10, 3), YearDraws: a.YearDraws, Nights90: a.Nights.P90, Nights50: a.Nights.P50, Nights10: a.Nights.P10, Short: round(a.Short.Float(), 4),
		Shares: sharesJSON(a.Energy), NightShares: sharesJSON(a.NightsBy), OfferedBy: sharesJSON(a.OfferedBy), OfferedP90: round(a.Offered.P90, 3), OfferedP50: round(a.Offered.P50, 3), OfferedP10: round(a.Offered.P10, 3), Others: []observationJSON{}, Doubts: []doubtJSON{}, Draws: a.Draws, Runs: a.Runs, Seed: a.Seed,
		Notes: append([]string{}, a.Notes...), Dominant: []string{}}
	for _, x := range bands.Dominant(a.Energy) {
		out.Dominant = append(out.Dominant, x.Key)
	}
	if a.Year != nil {
		y := [3]float64{round(a.Year.P90, 0), round(a.Year.P50, 0), round(a.Year.P10, 0)}
		out.YearP90, out.YearP50, out.YearP10 = &y[0], &y[1], &y[2]
	}
	if a.Best != nil {
		o := observedJSON(a.Best)
		out.Observation = &o
	}
	for i := range a.Others {
		out.Others = append(out.Others, observedJSON(&a.Others[i]))
	}
	for _, d := range a.Doubts {
		out.Doubts = append(out.Doubts, doubtJSON{d.Key, d.Name, d.Text, d.Why, d.Source.String(), d.Given})
	}
	return out
}

// names joins the names of inputs.
func names(list []bands.Input) string {
	var out []string
	for _, x := range list {
		out = append(out, x.Name)
	}
	return strings.Join(out, " or ")
}

// surely is how sure a trip is, in a line.
func surely(a *bands.Answer) string {
	line := fmt.Sprintf("How sure: %.0f to %.0f Wh a day (P90 to P10, middle %.0f)", a.PerDay.P90, a.PerDay.P10, a.PerDay.P50)
	if by := bands.Dominant(a.Energy); len(by) > 0 {
		line += fmt.Sprintf("; most of the doubt is %s", names(by))
	}
	if a.Nights.P90 > 0 {
		line += fmt.Sprintf("; %.0f nights short in the middle, %.0f in one draw of ten", a.Nights.P50, a.Nights.P90)
	}
	return line + "."
}

// printBands prints how sure a trip is.
func printBands(out io.Writer, a *bands.Answer) error {
	fmt.Fprintln(out, "\n"+surely(a))
	band := func(name string, b forecast.Band, unit string) {
		fmt.Fprintf(out, "  %-28s P90 %9.0f   P50 %9.0f   P10 %9.0f %s\n", name, b.P90, b.P50, b.P10, unit)
	}
	band("harvest of the trip", a.Harvest, "Wh")
	band("offered, taken or not", a.Offered, "Wh")
	if a.Year != nil {
		band("harvest of a year", *a.Year, "Wh, parked all year at the longest stay")
	}
	band("nights short", a.Nights, fmt.Sprintf("nights; some in %.0f %% of the draws", a.Short.Percent()))
	if err := printShares(out, a); err != nil {
		return err
	}
	if a.Best != nil {
		fmt.Fprintf(out, "\nThe one reading that would tell most: %s. [%s]\n", a.Best.Text(), a.Best.Source)
	} else {
		fmt.Fprintln(out, "\nNo single reading would narrow the band by much.")
	}
	for _, n := range a.Notes {
		fmt.Fprintln(out, "  "+n+".")
	}
	fmt.Fprintln(out, "\nWhat is not known, as taken (doubts in the build file overrides it):")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, d := range a.Doubts {
		given := ""
		if d.Given {
			given = "given; "
		}
		fmt.Fprintf(w, "  %s\t%s\t%s%s [%s]\n", d.Name, d.Text, given, d.Why, d.Source)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "%d runs of the trip, %d of them the band's, seed %d; a share is told with its standard error.\n", a.Runs, a.Draws, a.Seed)
	return err
}

// printShares prints what makes the bands, in a table.
func printShares(out io.Writer, a *bands.Answer) error {
	fmt.Fprintln(out, "\nWhat makes the band: share of the variance, alone and with others")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprint(w, "  \tharvest\t\toffered\t\t")
	if a.NightsBy != nil {
		fmt.Fprint(w, "nights short\t\t")
	}
	fmt.Fprintln(w)
	cell := func(list []bands.Input, key string) {
		for _, x := range list {
			if x.Key == key {
				fmt.Fprintf(w, "%.0f %% ± %.0f\t%.0f %% ± %.0f\t", 100*x.First, 100*x.FirstError, 100*x.Total, 100*x.TotalError)
			}
		}
	}
	for _, x := range a.Energy {
		fmt.Fprintf(w, "  %s\t", x.Name)
		cell(a.Energy, x.Key)
		cell(a.OfferedBy, x.Key)
		cell(a.NightsBy, x.Key)
		fmt.Fprintln(w)
	}
	return w.Flush()
}
