package cli

import (
	"fmt"
	"strings"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/sheet/sheet"
)

// sheets returns the packet's pages: the claim, the readings, terms and timeline.
func (k *packet) sheets() []sheet.Sheet {
	return []sheet.Sheet{k.claimSheet(), k.readingSheet(), k.termSheet()}
}

func (k *packet) claimSheet() sheet.Sheet {
	m, t := &k.build.build.Modules[k.module], k.kind()
	first := k.answer.Causes[0]
	serial := m.Serial
	if v := k.first("serial"); v != "" {
		serial = v
	}
	sh := sheet.Sheet{Key: "claim", Title: "Claim: module " + m.Name,
		Lead: fmt.Sprintf("%s: %s, %.0f %% by the readings.", k.answer.Verdict, where(first), first.Probability.Percent()),
		Values: []sheet.Value{{Name: "module", Text: m.Name}, {Name: "type", Text: t.Name}, {Name: "serial", Text: orUnknown(serial)}, {Name: "label", Text: t.Pmax.String()}, {Name: "label Voc", Text: t.Voc.String()}, {Name: "label Isc", Text: t.Isc.String()}, {Name: "label Vmp", Text: t.Vmp.String()}, {Name: "label Imp", Text: t.Imp.String()},
			{Name: "bought", Text: orUnknown(k.first("bought"))}, {Name: "readings of", Text: orUnknown(k.first("date"))}},
		Notes:    []string{"Probability is by likelihood over the causes listed, with the priors and uncertainties stated; it is no certificate of a laboratory.", "Consumer law may outrank the paper of a warranty."},
		Cautions: []string{"The module is live in light: cover it before a plug is touched, and never part a plug under load"},
		Sources:  []string{"uncertainty: JCGM 100:2008; guard band and what a claim needs: trade handbook E2, E9"}}
	rows := [][]string{}
	for n, c := range k.answer.Causes[:min(5, len(k.answer.Causes))] {
		if n > 0 && c.Probability < 0.005 {
			break
		}
		left := ""
		if c.Left < 1 {
			left = fmt.Sprintf("%.0f %% ± %.0f %%", c.Left.Percent(), 2*c.LeftUnsure.Percent())
		}
		rows = append(rows, []string{c.Fault.String(), orNone(c.Where), fmt.Sprintf("%.0f %%", c.Probability.Percent()), left})
	}
	sh.Tables = append(sh.Tables, sheet.Table{Title: "Causes by the readings", Head: []string{"cause", "where", "probability", "power left, ± 95 %"}, Right: []int{2, 3}, Rows: rows})
	if p := k.promised; p != nil {
		sh.Tables = append(sh.Tables, sheet.Table{Title: "Against the power warranty", Head: []string{"", ""}, Rows: [][]string{
			{"age", fmt.Sprintf("%.1f years", p.Age)}, {"promised, less tolerance and laboratory as typed", promisedText(p)}, {"left by the readings, ± 95 %", fmt.Sprintf("%.0f %% ± %.0f %%", 100*p.Left, 200*p.Unsure)}, {"so", p.Verdict}}})
	}
	if len(k.missing) > 0 {
		sh.Lists = append(sh.Lists, sheet.List{Title: "Missing from this packet", Tick: true, Lines: k.missing})
	}
	sh.Lists = append(sh.Lists, sheet.List{Title: "Would overturn it", Lines: []string{k.answer.Overturn}})
	return sh
}

func where(c diagnose.Cause) string {
	if c.Where == "" {
		return c.Fault.String()
	}
	return c.Fault.String() + ", " + c.Where
}

func promisedText(p *promise) string {
	if p.Over {
		return "nothing at this age"
	}
	return fmt.Sprintf("%.0f %% of the label", 100*p.Share)
}

func orUnknown(s string) string {
	if s == "" {
		return "not given"
	}
	return s
}

func orNone(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

func (k *packet) readingSheet() sheet.Sheet {
	sh := sheet.Sheet{Key: "readings", Title: "Readings against what a sound module reads",
		Lead:   fmt.Sprintf("Light %v, cells %v. Twins are modules of the same type read in the same minutes.", k.answer.Light, k.answer.Cells),
		Tables: []sheet.Table{{Title: "Readings", Head: []string{"reading", "at", "read", "a sound one", "± 95 %", "off, in ±", "over twins"}, Right: []int{2, 3, 4, 5, 6}, Rows: k.rows()}},
		Notes:  []string{"± 95 % is twice the standard uncertainty of meter, model, light and temperature together.", "The ratio to a twin by one meter within minutes is good to about 1 %: its gain and the sun cancel.", "Open volts times short-circuit current is no power, and is not used as one."}}
	sh.Lists = append(sh.Lists, sheet.List{Title: "Instruments", Lines: orList(k.notes["instrument"])}, sheet.List{Title: "Sky and conditions", Lines: orList(k.notes["sky"])})
	for _, a := range k.file.assumed {
		sh.Assumed = append(sh.Assumed, sheet.Assumption{What: a.What, Value: a.Value, Why: a.Why, Source: a.Source})
	}
	return sh
}

func orList(list []string) []string {
	if len(list) == 0 {
		return []string{"not given"}
	}
	return list
}

// rows are the readings of the table on paper: the module's own first.
func (k *packet) rows() [][]string {
	var own, other [][]string
	name := k.build.build.Modules[k.module].Name
	for _, row := range k.table()[1:] {
		r := []string{row[0], row[1], row[2], row[3], row[4], row[5], row[6]}
		if row[1] == name {
			own = append(own, r)
		} else {
			other = append(other, r)
		}
	}
	return append(own, other...)
}

// table is the readings with what a sound module reads, as the CSV has them.
func (k *packet) table() [][]string {
	out := [][]string{{"reading", "at", "read", "expected", "expanded_uncertainty", "off_over_expanded_uncertainty", "ratio_to_twins", "ratio_expanded_uncertainty", "twins"}}
	for _, e := range k.expected {
		r := k.file.readings[e.Reading]
		row := []string{r.Kind.String(), readAt(r), k.file.texts[e.Reading], "", "", "", "", "", ""}
		switch {
		case r.Kind.Unit() == "":
		case e.Over:
			row[3] = "over the range"
		default:
			row[3] = fmt.Sprintf("%s %s", shortFigure(e.Value), r.Kind.Unit())
			row[4] = fmt.Sprintf("%s %s", shortFigure(2*e.Unsure), r.Kind.Unit())
		}
		if r.Kind.Unit() != "" && !r.Over {
			row[5] = fmt.Sprintf("%.2f", e.Distance/2)
		}
		if e.Twins > 0 && r.At == k.build.build.Modules[k.module].Name {
			row[6], row[7], row[8] = fmt.Sprintf("%.3f", e.Ratio), fmt.Sprintf("%.3f", e.URatio), fmt.Sprint(e.Twins)
		}
		out = append(out, row)
	}
	return out
}

func (k *packet) termSheet() sheet.Sheet {
	sh := sheet.Sheet{Key: "terms", Title: "Purchase, terms and timeline", Lead: "As typed by the claimant."}
	var rows [][]string
	for _, key := range single {
		rows = append(rows, []string{strings.ReplaceAll(key, "_", " "), orUnknown(k.first(key))})
	}
	sh.Tables = append(sh.Tables, sheet.Table{Title: "Terms", Head: []string{"", "as typed"}, Rows: rows})
	sh.Lists = append(sh.Lists, sheet.List{Title: "What was done to the module", Lines: orList(k.notes["done"])}, sheet.List{Title: "Timeline", Lines: orList(k.notes["event"])})
	var shots []string
	for _, p := range k.photos {
		shots = append(shots, fmt.Sprintf("%s, %s: %s", p.Name, p.Time, p.Shows))
	}
	sh.Lists = append(sh.Lists, sheet.List{Title: "Photographs in this packet", Lines: orList(shots)})
	for _, key := range []string{"mobile_use", "self_installation"} {
		if strings.EqualFold(k.first(key), "excluded") {
			sh.Notes = append(sh.Notes, fmt.Sprintf("The terms exclude %s: the warranty may be void for this use; the seller's duty under consumer law may still stand.", strings.ReplaceAll(key, "_", " ")))
		}
	}
	return sh
}

// data is the packet's JSON.
func (k *packet) data() any {
	m, t := &k.build.build.Modules[k.module], k.kind()
	type reading struct {
		Reading   string  `json:"reading"`
		At        string  `json:"at"`
		Read      string  `json:"read"`
		Unit      string  `json:"unit"`
		Value     float64 `json:"value"`
		OverRange bool    `json:"over_range"`
		Expected  float64 `json:"expected"`
		Unsure    float64 `json:"expanded_uncertainty"`
		Ratio     float64 `json:"ratio_to_twins,omitempty"`
		URatio    float64 `json:"ratio_expanded_uncertainty,omitempty"`
		Twins     int     `json:"twins"`
	}
	var readings []reading
	for _, e := range k.expected {
		r := k.file.readings[e.Reading]
		readings = append(readings, reading{r.Kind.String(), readAt(r), k.file.texts[e.Reading], r.Kind.Unit(), r.Value, r.Over, round(e.Value, 6), round(2*e.Unsure, 6), round(e.Ratio, 5), round(e.URatio, 5), e.Twins})
	}
	photos := []map[string]string{}
	for _, p := range k.photos {
		photos = append(photos, map[string]string{"file": p.Name, "time": p.Time, "shows": p.Shows})
	}
	d := diagnosed(k.answer, k.file)
	out := map[string]any{
		"module": m.Name, "type": t.Name, "serial": m.Serial, "program": "noonmark " + version,
		"label":     map[string]float64{"pmax_W": t.Pmax.Watts(), "voc_V": t.Voc.Volts(), "isc_A": t.Isc.Amperes(), "vmp_V": t.Vmp.Volts(), "imp_A": t.Imp.Amperes()},
		"light_Wm2": d.Light, "cells_degC": d.Cells, "readings": readings, "verdict": d.Verdict, "causes": d.Causes, "would_overturn": d.Overturn,
		"as_typed": k.notes, "photographs": photos, "missing": k.missing, "assumed": append(k.file.assumed, k.build.assumed()...),
	}
	if p := k.promised; p != nil {
		out["power_warranty"] = map[string]any{"age_years": round(p.Age, 2), "promised_fraction": round(p.Share, 4), "over": p.Over, "left_fraction": round(p.Left, 4), "left_expanded_uncertainty": round(2*p.Unsure, 4), "verdict": p.Verdict}
	}
	return out
}
