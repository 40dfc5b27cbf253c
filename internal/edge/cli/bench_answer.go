package cli

import (
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/tabular"
	"noonmark/internal/sheet/sheet"
)

// benchAnswer is the answer of bench.
type benchAnswer struct {
	Layout   layout            `json:"file"`
	Readings []readingAnswer   `json:"readings"`
	Modules  []moduleAnswer    `json:"modules"`
	Pairs    []pairAnswer      `json:"pairs"`
	Day      *loggedDayAnswer  `json:"day,omitempty"`
	Shade    []shadeTestAnswer `json:"shade,omitempty"`
	Heat     []heatAnswer      `json:"heat,omitempty"`
	Findings []findingAnswer   `json:"findings"`
	Empty    int               `json:"rows_without_a_reading"`
	Cautions []string          `json:"cautions"`
	Assumed  []assumption      `json:"assumed"`
	zone     *time.Location
	job      sheet.BenchJob
	opened   *openedBuild // nil: no build
}

type readingAnswer struct {
	Line      int             `json:"line"`
	Time      *time.Time      `json:"time"`
	Module    string          `json:"module"`
	Kind      string          `json:"kind,omitempty"`
	Plane     *float64        `json:"plane_Wm2"`
	LightFrom string          `json:"light_from,omitempty"`
	Cell      *float64        `json:"cell_degC"`
	CellFrom  string          `json:"cell_from,omitempty"`
	Figures   []figureAnswer  `json:"figures"`
	Findings  []findingAnswer `json:"findings"`
	Stopped   bool            `json:"no_verdict_may_rest_on_it"`
}

// figureAnswer holds one of the three groups of fields.
type figureAnswer struct {
	Quantity string   `json:"quantity"`
	V        *float64 `json:"read_V,omitempty"`
	VStd     *float64 `json:"standard_V,omitempty"`
	VNow     *float64 `json:"now_V,omitempty"`
	VLow     *float64 `json:"now_V_low,omitempty"`
	VHigh    *float64 `json:"now_V_high,omitempty"`
	A        *float64 `json:"read_A,omitempty"`
	AStd     *float64 `json:"standard_A,omitempty"`
	ANow     *float64 `json:"now_A,omitempty"`
	ALow     *float64 `json:"now_A_low,omitempty"`
	AHigh    *float64 `json:"now_A_high,omitempty"`
	W        *float64 `json:"read_W,omitempty"`
	WStd     *float64 `json:"standard_W,omitempty"`
	WNow     *float64 `json:"now_W,omitempty"`
	WLow     *float64 `json:"now_W_low,omitempty"`
	WHigh    *float64 `json:"now_W_high,omitempty"`
	Ratio    float64  `json:"ratio_to_label"`
	U95      float64  `json:"U95"`
	Method   string   `json:"method"`
}

type partAnswer struct {
	Name    string   `json:"name"`
	U       float64  `json:"u"`
	Freedom *float64 `json:"degrees_of_freedom"` // null: many
}

type findingAnswer struct {
	Line    int    `json:"line,omitempty"`
	Module  string `json:"module,omitempty"`
	Kind    string `json:"kind"`
	Text    string `json:"text"`
	Settles string `json:"settled_by,omitempty"`
	Stops   bool   `json:"stops_verdict"`
}

type outcomeAnswer struct {
	Quantity string       `json:"quantity"`
	Readings int          `json:"readings"`
	Ratio    float64      `json:"ratio_to_label"`
	U95      float64      `json:"U95"`
	Coverage float64      `json:"k"`
	Limit    float64      `json:"limit"`
	Verdict  string       `json:"verdict"`
	Why      string       `json:"reason"`
	Settle   string       `json:"settled_by,omitempty"`
	Budget   []partAnswer `json:"budget"`
}

type moduleAnswer struct {
	Module   string          `json:"module"`
	Type     string          `json:"type"`
	Quantity string          `json:"quantity,omitempty"`
	Ratio    *float64        `json:"ratio_to_label"`
	U95      *float64        `json:"U95"`
	Verdict  string          `json:"verdict"`
	Why      string          `json:"reason"`
	Settle   string          `json:"settled_by,omitempty"`
	Outcomes []outcomeAnswer `json:"outcomes"`
	Findings []findingAnswer `json:"findings"`
}

type pairAnswer struct {
	A        string          `json:"a"`
	B        string          `json:"b"`
	Quantity string          `json:"quantity"`
	Ratio    *float64        `json:"ratio"`
	Raw      *float64        `json:"ratio_labels_not_counted"`
	U95      *float64        `json:"U95"`
	Coverage *float64        `json:"k"`
	Pairs    int             `json:"pairs"`
	Used     int             `json:"pairs_used"`
	Swapped  bool            `json:"places_changed"`
	Better   string          `json:"better,omitempty"`
	Says     string          `json:"says"`
	Settle   string          `json:"settled_by,omitempty"`
	Budget   []partAnswer    `json:"budget"`
	Raws     []rawPair       `json:"raw"`
	Findings []findingAnswer `json:"findings"`
}

type rawPair struct {
	Time  time.Time `json:"time"`
	A     float64   `json:"a_read"`
	B     float64   `json:"b_read"`
	Ratio float64   `json:"ratio"`
	Left  bool      `json:"left_out"`
}

type loggedDayAnswer struct {
	First    string          `json:"held_against"`
	Begin    time.Time       `json:"begin"`
	End      time.Time       `json:"end"`
	Shares   []shareAnswer   `json:"shares"`
	Findings []findingAnswer `json:"findings"`
}

type shareAnswer struct {
	Part    string  `json:"part"`
	Module  string  `json:"module"`
	Energy  float64 `json:"energy_Wh"`
	Ratio   float64 `json:"per_label_ratio"`
	U95     float64 `json:"U95"`
	Rel     float64 `json:"ratio_to_its_day"`
	RelU95  float64 `json:"ratio_to_its_day_U95"`
	Blocks  int     `json:"quarters"`
	Verdict string  `json:"says"`
}

type shadeTestAnswer struct {
	Module string  `json:"module"`
	Shade  string  `json:"shade"`
	Left   float64 `json:"left"`
	U95    float64 `json:"U95"`
	Pairs  int     `json:"pairs"`
	Says   string  `json:"says"`
}

type heatAnswer struct {
	Module   string  `json:"module"`
	Quantity string  `json:"quantity"`
	Slope    float64 `json:"slope_per_K"`
	U95      float64 `json:"U95_per_K"`
	Label    float64 `json:"label_per_K"`
	Cold     float64 `json:"coldest_degC"`
	Hot      float64 `json:"hottest_degC"`
	Says     string  `json:"says"`
}

func num(x float64) *float64 { return &x }

func findingsOf(list []bench.Finding) []findingAnswer {
	out := []findingAnswer{}
	for _, f := range list {
		out = append(out, findingAnswer{f.Line, f.Module, f.Kind, f.Text, f.Settles, f.Stops})
	}
	return out
}

func budgetOf(b bench.Budget) []partAnswer {
	out := []partAnswer{}
	for _, p := range b.Parts {
		a := partAnswer{Name: p.Name, U: p.Standard.Float()}
		if p.Freedom > 0 {
			a.Freedom = num(p.Freedom)
		}
		out = append(out, a)
	}
	return out
}

func figureOf(f *bench.Figure) figureAnswer {
	a := figureAnswer{Quantity: f.Quantity, Ratio: f.Ratio.Float(), U95: f.Budget.Expanded.Float(), Method: f.Method}
	read, std, now, low, high := num(f.Read), num(f.Standard), num(f.Now.Expected), num(f.Now.Low), num(f.Now.High)
	switch f.Quantity {
	case bench.OpenVolts:
		a.V, a.VStd, a.VNow, a.VLow, a.VHigh = read, std, now, low, high
	case bench.ShortAmps:
		a.A, a.AStd, a.ANow, a.ALow, a.AHigh = read, std, now, low, high
	default:
		a.W, a.WStd, a.WNow, a.WLow, a.WHigh = read, std, now, low, high
	}
	return a
}

// newBenchAnswer turns a report into the answer.
func newBenchAnswer(t *tabular.Table, file string, r bench.Report, set bench.Setting, sub *subject) *benchAnswer {
	a := &benchAnswer{Layout: layoutOf(t, file), Readings: []readingAnswer{}, Modules: []moduleAnswer{}, Pairs: []pairAnswer{}, Findings: findingsOf(r.Findings), Assumed: append([]assumption{}, sub.assumed...), zone: time.UTC,
		Cautions: []string{"A module is live in light: cover it before you touch a plug, and never part a plug under load.", "Short-circuit amps: meter on its 10 A jack, fused, a few seconds; never at a battery."}}
	if set.Place != nil {
		a.zone = set.Place.Zone
	}
	for i := range r.Readings {
		n := &r.Readings[i]
		x := readingAnswer{Line: n.Sample.Line, Module: n.Sample.Module, Kind: n.Sample.Kind, LightFrom: n.LightFrom, CellFrom: n.CellFrom, Figures: []figureAnswer{}, Findings: findingsOf(n.Findings), Stopped: n.Stopped}
		if !n.Sample.Time.IsZero() {
			at := n.Sample.Time.In(a.zone)
			x.Time = &at
		}
		if n.Condition != nil {
			x.Plane, x.Cell = num(n.Condition.Light.WattsPerSquareMetre()), num(n.Condition.Cell.Celsius())
		}
		for k := range n.Figures {
			x.Figures = append(x.Figures, figureOf(&n.Figures[k]))
		}
		a.Readings = append(a.Readings, x)
	}
	for i := range r.Modules {
		a.Modules = append(a.Modules, moduleOf(&r.Modules[i], sub))
	}
	for i := range r.Pairs {
		a.Pairs = append(a.Pairs, pairOf(&r.Pairs[i], a.zone))
	}
	if d := r.Day; d != nil {
		a.Day = &loggedDayAnswer{First: d.First, Begin: d.Begin.In(a.zone), End: d.End.In(a.zone), Findings: findingsOf(d.Findings)}
		for _, s := range d.Shares {
			a.Day.Shares = append(a.Day.Shares, shareAnswer{s.Part.String(), s.Module, s.Energy.WattHours(), s.PerLabel.Float(), s.Expanded.Float(), s.Relative.Float(), s.Within.Float(), s.Blocks, s.Says})
		}
	}
	for _, s := range r.Shade {
		a.Shade = append(a.Shade, shadeTestAnswer{s.Module, s.Shade, s.Left.Float(), s.Budget.Expanded.Float(), s.Pairs, s.Says})
	}
	for _, h := range r.Heat {
		a.Heat = append(a.Heat, heatAnswer{h.Module, h.Quantity, h.Slope.PerKelvin(), h.Expanded.PerKelvin(), h.Label.PerKelvin(), h.Cold.Celsius(), h.Hot.Celsius(), h.Says})
	}
	return a
}

func moduleOf(m *bench.ModuleOutcome, sub *subject) moduleAnswer {
	a := moduleAnswer{Module: m.Module, Verdict: m.Verdict.String(), Why: m.Why, Settle: m.Settle, Findings: findingsOf(m.Findings), Outcomes: []outcomeAnswer{}}
	kind := sub.kinds[m.Module]
	if kind == nil {
		kind = sub.one
	}
	a.Type = typeName(kind)
	if m.Main != nil {
		a.Quantity, a.Ratio, a.U95 = m.Main.Quantity, num(m.Main.Ratio.Float()), num(m.Main.Budget.Expanded.Float())
	}
	for _, o := range m.Outcomes {
		a.Outcomes = append(a.Outcomes, outcomeAnswer{o.Quantity, o.Readings, o.Ratio.Float(), o.Budget.Expanded.Float(), o.Budget.Coverage, o.Limit.Float(), o.Verdict.String(), o.Why, o.Settle, budgetOf(o.Budget)})
	}
	return a
}

func typeName(k *build.ModuleType) string {
	if k == nil {
		return ""
	}
	return k.Name
}

func pairOf(p *bench.PairOutcome, zone *time.Location) pairAnswer {
	a := pairAnswer{A: p.A, B: p.B, Quantity: p.Quantity, Pairs: len(p.Pairs), Used: p.Used, Swapped: p.Swapped, Better: p.Better, Says: p.Says, Settle: p.Settle, Budget: budgetOf(p.Budget), Raws: []rawPair{}, Findings: findingsOf(p.Findings)}
	if p.Used > 0 {
		a.Ratio, a.Raw, a.U95, a.Coverage = num(p.Ratio.Float()), num(p.Raw.Float()), num(p.Budget.Expanded.Float()), num(p.Budget.Coverage)
	}
	for _, x := range p.Pairs {
		a.Raws = append(a.Raws, rawPair{x.Time.In(zone), x.A, x.B, x.Ratio.Float(), x.Left})
	}
	return a
}
