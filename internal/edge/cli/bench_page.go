package cli

import (
	"fmt"
	"os"
	"strings"
)

// writePage writes the comparison as one page of Markdown fit to publish: method, verdicts, the pairs as a
// figure and a table, the raw readings, the number of samples, who paid, and what it does not show.
func (a *benchAnswer) writePage(path, paid string) error {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("# Modules compared\n")
	line("## What was found\n")
	for _, p := range a.Pairs {
		line("- %s", capital(p.Says))
	}
	for _, m := range a.Modules {
		line("- %s: %s. %s", orDash(m.Module), m.Verdict, capital(m.Why))
	}
	if a.Day != nil {
		for _, x := range a.Day.Shares {
			if x.Module != a.Day.First {
				line("- %s, %s: %.1f %% ± %.1f %% of %s per label watt, %s", capital(x.Part), x.Module, 100*x.Ratio, 100*x.U95, a.Day.First, x.Verdict)
			}
		}
	}
	for _, p := range a.Pairs {
		if len(p.Raws) == 0 {
			continue
		}
		line("\n## %s against %s, %s\n\n```", p.B, p.A, p.Quantity)
		for _, r := range p.Raws {
			note := ""
			if r.Left {
				note = "  left out: the light changed"
			}
			line("%s  %7.2f %%  %s%s", r.Time.Format("15:04:05"), 100*r.Ratio, mark(r.Ratio), note)
		}
		line("%s90 %%%s100 %%%s110 %%\n```\n", strings.Repeat(" ", 19), strings.Repeat(" ", 15), strings.Repeat(" ", 15))
		line("| time | %s, between its readings | %s | ratio per label |\n|---|---:|---:|---:|", p.A, p.B)
		for _, r := range p.Raws {
			line("| %s | %.4g | %.4g | %.4f |", r.Time.Format("15:04:05"), r.A, r.B, r.Ratio)
		}
	}
	line("\n## Method\n")
	line("Readings in turns, each of one module held against the other's before and after it, interpolated to its minute, so that the sun's drift and the meter's gain fall out; pairs left out where the light changed by 2 %% beyond the drift; intervals of 95 %% by JCGM 100:2008. Single modules are brought to 1000 W/m² and 25 °C after IEC 60891, and judged with guard bands.\n")
	for _, p := range a.Pairs {
		for _, x := range p.Budget {
			line("- %s against %s, %s: %.2f %%", p.B, p.A, x.Name, 100*x.U)
		}
	}
	line("\n## Readings\n\n| line | time | module | what | read | at 1000 W/m², 25 °C | of label |\n|---:|---|---|---|---:|---:|---:|")
	for _, r := range a.Readings {
		at := "-"
		if r.Time != nil {
			at = r.Time.Format("2006-01-02 15:04:05 MST")
		}
		if len(r.Figures) == 0 {
			line("| %d | %s | %s | not used | | | |", r.Line, at, orDash(r.Module))
		}
		for _, f := range r.Figures {
			v, std, _, _, _, unit := f.value()
			line("| %d | %s | %s | %s | %.4g %s | %.4g %s | %.1f %% ± %.1f %% |", r.Line, at, orDash(r.Module), f.Quantity, v, unit, std, unit, 100*f.Ratio, 100*f.U95)
		}
	}
	for _, u := range a.Layout.Unread {
		line("\nNot read: line %d, column %d, %q: %s.", u.Line, u.Column, u.Found, u.Want)
	}
	line("\n## What it rests on\n")
	line("- Samples: %d, one of each name", len(a.Modules))
	if paid == "" {
		paid = "not said"
	}
	line("- Who paid for the modules: %s", paid)
	for _, x := range a.Assumed {
		line("- Assumed: %s: %s", x.What, x.Value)
	}
	line("\n## What it does not show\n")
	line("- Other samples of the same make: they scatter by a percent or more.\n- Other light and heat than those of these readings, and years in use.")
	said := map[string]bool{}
	note := func(list []findingAnswer) {
		for _, f := range list {
			if f.Kind != "does not show" && !said[f.Kind+f.Module] {
				said[f.Kind+f.Module] = true
				line("- %s", capital(f.Text))
			}
		}
	}
	for _, p := range a.Pairs {
		note(p.Findings)
	}
	for _, r := range a.Readings {
		note(r.Findings)
	}
	note(a.Findings)
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		return misuse("%v", err)
	}
	return nil
}

// mark draws a ratio of 0.9 to 1.1 as a place on a line of 41 columns.
func mark(r float64) string {
	cells := []byte(strings.Repeat(".", 41))
	cells[20] = '|'
	at := int((r-0.9)/0.2*40 + 0.5)
	switch {
	case at < 0:
		cells[0] = '<'
	case at > 40:
		cells[40] = '>'
	default:
		cells[at] = 'o'
	}
	return string(cells)
}
