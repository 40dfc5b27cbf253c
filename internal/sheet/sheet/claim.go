package sheet

import (
	"fmt"
	"strings"

	"noonmark/internal/answer/diagnose"
)

// Claim returns the pages of a packet for a maker: the claim, the readings, terms and timeline. Assumed is
// what the readings' conditions rest on.
func Claim(c *diagnose.Claim, assumed []Assumption) []Sheet {
	return []Sheet{claimed(c), claimReadings(c, assumed), claimTerms(c)}
}

func claimed(c *diagnose.Claim) Sheet {
	m := &c.Build.Modules[c.Module]
	t := &c.Build.Types[m.Type]
	first := c.Answer.Causes[0]
	serial := m.Serial
	if v := c.First("serial"); v != "" {
		serial = v
	}
	s := Sheet{Key: "claim", Title: "Claim: module " + m.Name,
		Lead: fmt.Sprintf("%s: %s, %.0f %% by the readings.", upper(c.Answer.Verdict.String()), causeAt(first), first.Probability.Percent()),
		Values: []Value{{"module", m.Name}, {"type", t.Name}, {"serial", orNot(serial)}, {"label", t.Pmax.String()}, {"label Voc", t.Voc.String()}, {"label Isc", t.Isc.String()},
			{"label Vmp", t.Vmp.String()}, {"label Imp", t.Imp.String()}, {"bought", orNot(c.First("bought"))}, {"readings of", orNot(c.First("date"))}},
		Notes:    []string{"Probability is by likelihood over the causes listed, with the priors and uncertainties stated; it is no certificate of a laboratory.", "Consumer law may outrank the paper of a warranty."},
		Cautions: []string{"The module is live in light: cover it before a plug is touched, and never part a plug under load"},
		Sources:  []string{"uncertainty: JCGM 100:2008; guard band and what a claim needs: trade handbook E2, E9"}}
	s.Tables = append(s.Tables, causeTable("Causes by the readings", c.Answer.Causes, 5))
	if p := c.Promised; p != nil {
		promised := "nothing at this age"
		if !p.Over {
			promised = fmt.Sprintf("%.0f %% of the label", p.Share.Percent())
		}
		s.Tables = append(s.Tables, Table{Title: "Against the power warranty", Head: []string{"", ""}, Rows: [][]string{
			{"age", fmt.Sprintf("%.1f years", p.Age)}, {"promised, less tolerance and laboratory as typed", promised},
			{"left by the readings, ± 95 %", fmt.Sprintf("%.0f %% ± %.0f %%", p.Left.Percent(), 2*p.Unsure.Percent())}, {"so", p.Verdict}}})
	}
	if len(c.Missing) > 0 {
		s.Lists = append(s.Lists, List{Title: "Missing from this packet", Tick: true, Lines: c.Missing})
	}
	s.Lists = append(s.Lists, List{Title: "Would overturn it", Lines: []string{c.Answer.Overturn}})
	return s
}

// causeTable lists causes with what is left of the module, at most so many.
func causeTable(title string, causes []diagnose.Cause, most int) Table {
	t := Table{Title: title, Head: []string{"cause", "where", "left of it, ± 95 %", "share"}, Right: []int{2, 3}, Shares: []float64{}, Fine: true}
	for n, c := range causes[:min(most, len(causes))] {
		if n > 0 && c.Probability < 0.005 {
			break
		}
		left := ""
		if c.Left < 1 {
			left = fmt.Sprintf("%.0f %% ± %.0f %%", c.Left.Percent(), 2*c.LeftUnsure.Percent())
		}
		at := orDash(c.Where)
		if c.Size != "" {
			at += " (" + c.Size + ")"
		}
		t.Rows = append(t.Rows, []string{c.Fault.String(), at, left, fmt.Sprintf("%.0f %%", c.Probability.Percent())})
		t.Shares = append(t.Shares, c.Probability.Float())
	}
	return t
}

// causeAt names a cause with its place.
func causeAt(c diagnose.Cause) string {
	if c.Where == "" {
		return c.Fault.String()
	}
	return c.Fault.String() + ", " + c.Where
}

func orNot(s string) string {
	if s == "" {
		return "not given"
	}
	return s
}

func orDash(s string) string {
	if strings.TrimSpace(s) == "" {
		return "–"
	}
	return s
}

func orList(list []string) []string {
	if len(list) == 0 {
		return []string{"not given"}
	}
	return list
}

func claimReadings(c *diagnose.Claim, assumed []Assumption) Sheet {
	var own, other [][]string
	for _, row := range ClaimTable(c)[1:] {
		if r := row[:7]; row[1] == c.Build.Modules[c.Module].Name {
			own = append(own, r)
		} else {
			other = append(other, r)
		}
	}
	s := Sheet{Key: "readings", Title: "Readings against what a sound module reads", Assumed: assumed,
		Lead:   fmt.Sprintf("Light %v, cells %v. Twins are modules of the same type read in the same minutes.", c.Answer.Light, c.Answer.Cells),
		Tables: []Table{{Title: "Readings", Head: []string{"reading", "at", "read", "a sound one", "± 95 %", "off, in ±", "over twins"}, Right: []int{2, 3, 4, 5, 6}, Rows: append(own, other...)}},
		Notes:  []string{"± 95 % is twice the standard uncertainty of meter, model, light and temperature together.", "The ratio to a twin by one meter within minutes is good to about 1 %: its gain and the sun cancel.", "Open volts times short-circuit current is no power, and is not used as one."}}
	s.Lists = append(s.Lists, List{Title: "Instruments", Lines: orList(c.Terms["instrument"])}, List{Title: "Sky and conditions", Lines: orList(c.Terms["sky"])})
	return s
}

// ClaimTable is the readings with what a sound module reads, its head first, as the packet's CSV has them.
func ClaimTable(c *diagnose.Claim) [][]string {
	out := [][]string{{"reading", "at", "read", "expected", "expanded_uncertainty", "off_over_expanded_uncertainty", "ratio_to_twins", "ratio_expanded_uncertainty", "twins"}}
	for _, e := range c.Expected {
		r := c.Readings[e.Reading]
		row := []string{r.Kind.String(), r.Place(), c.Texts[e.Reading], "", "", "", "", "", ""}
		switch {
		case r.Kind.Unit() == "":
		case e.Over:
			row[3] = "over the range"
		default:
			row[3], row[4] = plainFigure(e.Value)+" "+r.Kind.Unit(), plainFigure(2*e.Unsure)+" "+r.Kind.Unit()
		}
		if r.Kind.Unit() != "" && !r.Over {
			row[5] = fmt.Sprintf("%.2f", e.Distance/2)
		}
		if e.Twins > 0 && r.At == c.Build.Modules[c.Module].Name {
			row[6], row[7], row[8] = fmt.Sprintf("%.3f", e.Ratio), fmt.Sprintf("%.3f", e.URatio), fmt.Sprint(e.Twins)
		}
		out = append(out, row)
	}
	return out
}

// plainFigure prints three significant digits without an exponent, for machines too.
func plainFigure(v float64) string { return strings.Replace(number(v, 3), "−", "-", 1) }

func claimTerms(c *diagnose.Claim) Sheet {
	s := Sheet{Key: "terms", Title: "Purchase, terms and timeline", Lead: "As typed by the claimant."}
	var rows [][]string
	for _, t := range diagnose.Terms() {
		if !t.Many {
			rows = append(rows, []string{strings.ReplaceAll(t.Key, "_", " "), orNot(c.First(t.Key))})
		}
	}
	s.Tables = append(s.Tables, Table{Title: "Terms", Head: []string{"", "as typed"}, Rows: rows})
	var shots []string
	for _, p := range c.Photographs {
		shots = append(shots, fmt.Sprintf("%s, %s: %s", p.Name, p.Time, p.Shows))
	}
	s.Lists = append(s.Lists, List{Title: "What was done to the module", Lines: orList(c.Terms["done"])}, List{Title: "Timeline", Lines: orList(c.Terms["event"])}, List{Title: "Photographs in this packet", Lines: orList(shots)})
	for _, use := range c.Excluded() {
		s.Notes = append(s.Notes, fmt.Sprintf("The terms exclude %s: the warranty may be void for this use; the seller's duty under consumer law may still stand.", use))
	}
	return s
}
