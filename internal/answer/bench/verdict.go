package bench

import (
	"fmt"
	"math"
	"sort"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Outcome is what the readings of a module prove about one quantity.
type Outcome struct {
	Quantity string
	Readings int
	Dim      int            // further readings left out, their light weak beside that of the rest
	Ratio    quantity.Ratio // of the label
	Budget   Budget
	Limit    quantity.Ratio // the least ratio that is within the label
	Verdict  Verdict
	Why      string
	Settle   string // the reading that would settle it; empty where it is settled
}

// ModuleOutcome is what the readings prove about one module.
type ModuleOutcome struct {
	Module   string
	Main     *Outcome  // power, else Isc, else Voc; nil: nothing could be normalised
	Outcomes []Outcome // all of them
	Verdict  Verdict
	Why      string
	Settle   string
	Findings []Finding // of all its readings together
}

// voltsLimit is the least share of the label's open volts, corrected, that passes: equal modules within
// 5 %. Source: handbook E3, from memory.
const voltsLimit = 95 * quantity.Percent

// tooMuch is how far over its label a module's power may lie before the figure is doubted: the widest upper
// tolerance that labels print, +5 %, common practice.
const tooMuch = 0.05

// Judge returns what the normalised readings of one module prove against its type's label and tolerance:
// the mean of each quantity, with the parts of the uncertainty that all readings share and the scatter of
// the mean; guard bands for the verdict. A module fails where one quantity does; it passes where its main
// quantity does and none fails. A single reading passes or fails on its own budget with 1 % for scatter
// that it cannot show.
func Judge(module string, kind *build.ModuleType, normals []Normal) ModuleOutcome {
	out := ModuleOutcome{Module: module}
	say := func(kind, settle, format string, args ...any) {
		out.Findings = append(out.Findings, Finding{Module: module, Kind: kind, Text: fmt.Sprintf(format, args...), Settles: settle})
	}
	stopped := 0
	for i := range normals {
		if normals[i].Stopped {
			stopped++
		}
	}
	for _, q := range []string{Power, ShortAmps, OpenVolts} {
		if o, ok := judgeOne(q, kind, normals); ok {
			out.Outcomes = append(out.Outcomes, o)
		}
	}
	switch {
	case len(out.Outcomes) == 0:
		out.Why = "no reading of it can be brought to standard conditions"
		for i := range normals {
			for _, f := range normals[i].Findings {
				if f.Settles != "" && out.Settle == "" {
					out.Why += ": " + f.Text
					out.Settle = f.Settles
				}
			}
		}
		return out
	case stopped > 0:
		say("left out", "", "%d of %d readings are left out of the verdict; each says why", stopped, len(normals))
	}
	if n := out.Outcomes[0].Dim; n > 0 {
		say("weak light left out", "", "%d readings below %.0f W/m² are left out of the verdict: there are better ones above %.0f W/m²", n, weak, strong)
	}
	out.Main = &out.Outcomes[0]
	out.Verdict, out.Why, out.Settle = out.Main.Verdict, out.Main.Why, out.Main.Settle
	for i := range out.Outcomes {
		if o := &out.Outcomes[i]; o.Verdict == Fail && out.Verdict != Fail {
			out.Main, out.Verdict, out.Why, out.Settle = o, Fail, o.Why, ""
		}
	}
	if out.Main.Quantity == OpenVolts && out.Verdict == Pass {
		out.Verdict = CannotTell
		out.Why = "the volts are the label's; volts alone say nothing about the power"
		out.Settle = "Isc or volts and amperes under load, with the light known"
	}
	if out.Main.Readings == 1 {
		say("one reading", "four more, the module turned about or moved between them", "one reading only: its scatter is not known, and 1 %% stands for it")
	}
	if out.Main.Quantity == ShortAmps && out.Verdict == Pass {
		say("amps only", "volts and amperes under load, at a controller that is not full", "Isc passes; a joint of high resistance or a weak cell does not show in it")
	}
	return out
}

// judgeOne judges one quantity.
func judgeOne(q string, kind *build.ModuleType, normals []Normal) (Outcome, bool) {
	var ratios []float64
	var figures []*Figure
	bound, guessed := true, false
	for i := range normals {
		if normals[i].Stopped {
			continue
		}
		f := normals[i].Figure(q)
		if f == nil {
			continue
		}
		if !f.bound {
			bound = false
		}
		figures = append(figures, f)
	}
	if len(figures) == 0 {
		return Outcome{}, false
	}
	figures, dim := bright(figures)
	var parts []Part
	total := map[string]float64{}
	n := 0.0
	for _, f := range figures {
		if f.bound && !bound {
			continue // a lower bound beside proper readings
		}
		n++
		ratios = append(ratios, f.Ratio.Float())
		for _, p := range f.Budget.Parts {
			total[p.Name] += p.Standard.Float()
		}
	}
	names := make([]string, 0, len(total))
	for name := range total {
		names = append(names, name)
	}
	for _, f := range figures {
		guessed = guessed || f.guessed
	}
	sort.Strings(names)
	for _, name := range names { // shared by all readings: the mean of it
		parts = append(parts, Part{Name: name, Standard: quantity.Ratio(total[name] / n)})
	}
	mean, spread := meanSpread(ratios)
	if len(ratios) > 1 {
		parts = append(parts, Part{Name: "scatter of the readings", Standard: quantity.Ratio(spread / math.Sqrt(n)), Freedom: n - 1})
	} else {
		parts = append(parts, Part{Name: "scatter, not seen", Standard: 1 * quantity.Percent})
	}
	o := Outcome{Quantity: q, Readings: len(ratios), Dim: dim, Ratio: quantity.Ratio(mean), Budget: Combine(parts, level95), Limit: 1 + kind.ToleranceLow}
	if q == OpenVolts {
		o.Limit = voltsLimit
	}
	o.Verdict = Guarded(o.Ratio, o.Budget.Expanded, o.Limit)
	u := o.Budget.Expanded.Float()
	switch {
	case bound && o.Verdict != Pass:
		o.Verdict = CannotTell
		o.Why = "the module was not at its best point: it gives at least this"
		o.Settle = "volts and amperes at the best point, battery not full"
		return o, true
	case guessed && o.Verdict == Fail:
		o.Verdict = CannotTell
		o.Why = fmt.Sprintf("%s is %.1f %% of the label under a clear sky, but nobody noted the sky: a cloud would explain it", q, 100*mean)
		o.Settle = "light in the module's plane by a meter, the sky as seen, or a twin read A-B-A in the same minute"
	case q == Power && o.Verdict == Pass && mean-u > 1+math.Max(kind.ToleranceHigh.Float(), tooMuch):
		o.Verdict = CannotTell
		o.Why = fmt.Sprintf("power is %.1f %% ± %.1f %% of the label: even the lower end is more than a module of this label gives. Voc × Isc would be %.0f %%, and is no power; else the light or the label is wrong", 100*mean, 100*u, 100*kind.Voc.Volts()*kind.Isc.Amperes()/kind.Pmax.Watts())
		o.Settle = "volts and amperes under load, each by itself, and the light by a meter"
	case o.Verdict == Fail:
		o.Why = fmt.Sprintf("%s is %.1f %% ± %.1f %% of the label: even the upper end is under the %.1f %% that the label promises", q, 100*mean, 100*u, o.Limit.Percent())
	case o.Verdict == Pass:
		o.Why = fmt.Sprintf("%s is %.1f %% ± %.1f %% of the label: even the lower end is above the %.1f %% that the label promises", q, 100*mean, 100*u, o.Limit.Percent())
	default:
		o.Why = fmt.Sprintf("%s is %.1f %% ± %.1f %% of the label, and the limit of %.1f %% lies within: these readings cannot tell", q, 100*mean, 100*u, o.Limit.Percent())
		o.Settle = settle(&o)
	}
	return o, true
}

// strong and weak are the light beside which readings of weak light are left out, W/m²: the correction from
// weak light is long. Source: handbook E4, from 700 to 800 W/m² up, from memory.
const strong, weak = 700.0, 600.0

// bright leaves out figures of weak light where there are some of strong, and counts them.
func bright(figures []*Figure) (kept []*Figure, dim int) {
	any := false
	for _, f := range figures {
		any = any || f.light >= strong
	}
	for _, f := range figures {
		if any && f.light < weak {
			dim++
			continue
		}
		kept = append(kept, f)
	}
	return kept, dim
}

// meanSpread returns the mean and the standard deviation of one, 0 for a single value.
func meanSpread(x []float64) (mean, spread float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	if len(x) < 2 {
		return mean, 0
	}
	for _, v := range x {
		spread += (v - mean) * (v - mean) / float64(len(x)-1)
	}
	return mean, math.Sqrt(spread)
}

// remedies are the readings that take a part of the uncertainty away.
var remedies = map[string]string{
	"light meter":                 "a twin or a reference module read A-B-A in the same minute: light and meter cancel",
	"light from the sky model":    "light in the module's plane by a meter, or a twin read A-B-A in the same minute",
	"light from its own amps":     "light in the module's plane by a meter",
	"tilt, 2°":                    "meter and module laid on one board; the hours about noon",
	"spectrum":                    "a reference module of the same technology in place of the light meter",
	"incidence":                   "the sun within 40° of straight on",
	"ammeter":                     "a better ammeter, or the ratio to a twin with the same one",
	"voltmeter":                   "a better voltmeter",
	"watt meter":                  "volts and amperes by two multimeters at once",
	"temperature of the cells":    "the back's temperature, taped behind a cell and shaded",
	"slope of power":              "a cooler module: the first minute after uncovering, or an earlier hour",
	"slope of Voc":                "a cooler module: the first minute after uncovering, or an earlier hour",
	"light soak":                  "30 to 60 minutes of sun first",
	"scatter of the readings":     "more readings, the sky steady within 1 % for a minute",
	"scatter, not seen":           "four more readings",
	"working point":               "volts within 3 % of the best point's",
	"tracking":                    "volts and amperes at the module's plug",
	"reference module's own amps": "a reference module with a calibration",
}

// settle names the reading that would settle an outcome: the remedy of the largest part, and whether it is
// enough.
func settle(o *Outcome) string {
	if len(o.Budget.Parts) == 0 {
		return ""
	}
	name := o.Budget.Parts[0].Name
	remedy := remedies[name]
	if remedy == "" {
		remedy = "a twin read A-B-A in the same minute"
	}
	rest := o.Budget.Without(name)
	if Guarded(o.Ratio, rest.Expanded, o.Limit) != CannotTell {
		return fmt.Sprintf("%s (%s makes most of the band; without it ± %.1f %% would do)", remedy, name, rest.Expanded.Percent())
	}
	if math.Abs(o.Ratio.Float()-o.Limit.Float()) < 0.005 {
		return remedy + "; the figure lies on the limit, so a laboratory may not tell either"
	}
	return fmt.Sprintf("%s, and that alone leaves ± %.1f %%: the ratio to a twin that is known to be sound settles it", remedy, rest.Expanded.Percent())
}
