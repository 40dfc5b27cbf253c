package cli

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/build/build"
)

// mostListed is the readings printed; the rest are in --json.
const mostListed = 40

func (a *benchAnswer) print(s *Streams) error {
	a.Layout.print(s.Out)
	a.printReadings(s.Out)
	a.printModules(s.Out)
	for _, p := range a.Pairs {
		fmt.Fprintf(s.Out, "\n%s\n", capital(p.Says))
		if p.Settle != "" {
			fmt.Fprintln(s.Out, "  Settled by: "+p.Settle)
		}
		printBudget(s.Out, p.Budget)
		printFindings(s.Out, p.Findings)
	}
	a.printDay(s.Out)
	for _, x := range a.Shade {
		fmt.Fprintln(s.Out, "\nShade: "+x.Says)
	}
	for _, x := range a.Heat {
		fmt.Fprintln(s.Out, "\nHeat: "+x.Says)
	}
	if len(a.Findings) > 0 {
		fmt.Fprintln(s.Out, "\nOf all readings:")
		printFindings(s.Out, a.Findings)
	}
	fmt.Fprintln(s.Out)
	for _, c := range a.Cautions {
		fmt.Fprintln(s.Out, c)
	}
	printAssumed(s.Out, a.Assumed)
	return nil
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func printFindings(w io.Writer, list []findingAnswer) {
	for _, f := range list {
		where := ""
		if f.Line > 0 {
			where = fmt.Sprintf("line %d: ", f.Line)
		}
		fmt.Fprintf(w, "  %s%s\n", where, f.Text)
		if f.Settles != "" {
			fmt.Fprintf(w, "    settled by: %s\n", f.Settles)
		}
	}
}

func printBudget(w io.Writer, parts []partAnswer) {
	if len(parts) == 0 {
		return
	}
	var text []string
	for _, p := range parts {
		if p.U >= 0.0005 {
			text = append(text, fmt.Sprintf("%s %.1f %%", p.Name, 100*p.U))
		}
	}
	if len(text) > 0 {
		fmt.Fprintln(w, "  Uncertainty, one standard deviation each: "+strings.Join(text, ", "))
	}
}

func (a *benchAnswer) printReadings(w io.Writer) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "line\ttime\tmodule\tlight\tcells\twhat\tread\tat 1000 W/m², 25 °C\tshould read now\tof label")
	for i, r := range a.Readings {
		if i == mostListed {
			break
		}
		at, light, cells := "-", "-", "-"
		if r.Time != nil {
			at = r.Time.Format("2 Jan 15:04")
		}
		if r.Plane != nil {
			light, cells = fmt.Sprintf("%.0f W/m²", *r.Plane), fmt.Sprintf("%.0f °C", *r.Cell)
		}
		if len(r.Figures) == 0 {
			fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t-\t\t\t\t\n", r.Line, at, orDash(r.Module), light, cells)
		}
		for _, f := range r.Figures {
			v, std, now, low, high, unit := f.value()
			fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t%s\t%.4g %s\t%.4g %s\t%.4g (%.4g to %.4g)\t%.1f %% ± %.1f %%\n", r.Line, at, orDash(r.Module), light, cells, f.Quantity, v, unit, std, unit, now, low, high, 100*f.Ratio, 100*f.U95)
		}
	}
	t.Flush()
	if n := len(a.Readings) - mostListed; n > 0 {
		fmt.Fprintf(w, "%d more readings are in --json\n", n)
	}
	seen := map[string]int{}
	for _, r := range a.Readings {
		for _, f := range r.Findings {
			key := f.Module + ": " + f.Kind
			if seen[key]++; seen[key] == 1 {
				printFindings(w, []findingAnswer{f})
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(seen)) {
		if n := seen[key]; n > 1 {
			fmt.Fprintf(w, "  %s: the same of %s, in --json\n", key, count(n-1, "more reading"))
		}
	}
}

// value returns the figure's numbers and unit.
func (f *figureAnswer) value() (read, std, now, low, high float64, unit string) {
	switch {
	case f.V != nil:
		return *f.V, *f.VStd, *f.VNow, *f.VLow, *f.VHigh, "V"
	case f.A != nil:
		return *f.A, *f.AStd, *f.ANow, *f.ALow, *f.AHigh, "A"
	case f.W != nil:
		return *f.W, *f.WStd, *f.WNow, *f.WLow, *f.WHigh, "W"
	}
	return 0, 0, 0, 0, 0, ""
}

func (a *benchAnswer) printModules(w io.Writer) {
	for _, m := range a.Modules {
		fmt.Fprintf(w, "\n%s: %s. %s\n", orDash(m.Module), strings.ToUpper(m.Verdict), capital(m.Why))
		if m.Settle != "" {
			fmt.Fprintln(w, "  Settled by: "+m.Settle)
		}
		for _, o := range m.Outcomes {
			if o.Quantity == m.Quantity {
				printBudget(w, o.Budget)
				continue
			}
			fmt.Fprintf(w, "  %s: %.1f %% ± %.1f %% of the label, %s\n", o.Quantity, 100*o.Ratio, 100*o.U95, o.Verdict)
		}
		printFindings(w, m.Findings)
	}
}

func (a *benchAnswer) printDay(w io.Writer) {
	if a.Day == nil {
		return
	}
	fmt.Fprintf(w, "\nSide by side, %s to %s, energy per label watt against %s:\n", a.Day.Begin.Format("2 Jan 15:04"), a.Day.End.Format("15:04"), a.Day.First)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, x := range a.Day.Shares {
		if x.Module == a.Day.First {
			continue
		}
		fmt.Fprintf(t, "  %s\t%s\t%.0f Wh\t%.1f %% ± %.1f %%\t%s\n", x.Part, x.Module, x.Energy, 100*x.Ratio, 100*x.U95, x.Verdict)
	}
	t.Flush()
	printFindings(w, a.Day.Findings)
}

// planAnswerBench is the answer of bench --plan.
type planAnswerBench struct {
	Place   string          `json:"place"`
	Time    time.Time       `json:"time"`
	Tests   []testAnswer    `json:"tests"`
	Refused []string        `json:"refused"`
	Outlook []outlookAnswer `json:"outlook"`
	Assumed []assumption    `json:"assumed"`
}

type testAnswer struct {
	Name  string    `json:"name"`
	Begin time.Time `json:"begin"`
	End   time.Time `json:"end"`
	U95   float64   `json:"U95_expected"`
	Can   string    `json:"can_show"`
	Why   string    `json:"reason"`
	Steps []string  `json:"steps"`
}

type outlookAnswer struct {
	Time      time.Time `json:"time"`
	Elevation float64   `json:"elevation_deg"`
	Incidence float64   `json:"incidence_deg"`
	Plane     float64   `json:"plane_Wm2"`
	Drift     float64   `json:"drift_per_minute"`
}

// showPlan prints which tests to run.
func (s *Streams) showPlan(kind *build.ModuleType, set bench.Setting, sp spot, tools bench.Tools, assumed []assumption, asJSON bool) error {
	zone := sp.place.Zone
	p, err := bench.Plan(kind, set, sp.when, tools)
	if errors.Is(err, bench.ErrNight) {
		return misuse("%s, %s: the sun stays down for two hours; it is highest at %s", sp.place.Name, sp.when.In(zone).Format("15:04 MST"), bench.Highest(sp.place, sp.when.Add(12*time.Hour)).In(zone).Format("2 Jan 15:04"))
	}
	if err != nil {
		return misuse("%v", err)
	}
	a := planAnswerBench{Place: sp.place.Name, Time: sp.when.In(zone), Tests: []testAnswer{}, Refused: append([]string{}, p.Refused...), Assumed: append([]assumption{}, assumed...)}
	for _, t := range p.Tests {
		a.Tests = append(a.Tests, testAnswer{t.Name, t.Begin.In(zone), t.End.In(zone), t.Expanded.Float(), t.Can, t.Why, t.Steps})
	}
	for _, o := range p.Outlook {
		a.Outlook = append(a.Outlook, outlookAnswer{o.Time.In(zone), o.Elevation.Degrees(), o.Incidence.Degrees(), o.Plane.WattsPerSquareMetre(), o.Drift.Float()})
	}
	if asJSON {
		return writeJSON(s.Out, a)
	}
	fmt.Fprintf(s.Out, "%s, from %s\n", a.Place, a.Time.Format("2 Jan 2006 15:04 MST"))
	for _, t := range a.Tests {
		fmt.Fprintf(s.Out, "\n%s to %s  %s, ± %.1f %% expected\n  can: %s\n  %s\n", t.Begin.Format("15:04"), t.End.Format("15:04"), t.Name, 100*t.U95, t.Can, t.Why)
		for _, x := range t.Steps {
			fmt.Fprintln(s.Out, "  - "+x)
		}
	}
	if len(a.Refused) > 0 {
		fmt.Fprintln(s.Out, "\nNot worth it now:")
		for _, r := range a.Refused {
			fmt.Fprintln(s.Out, "  "+r)
		}
	}
	fmt.Fprintln(s.Out, "\nCover a module before you touch a plug; never part a plug under load; hot backs burn.")
	printAssumed(s.Out, a.Assumed)
	return nil
}
