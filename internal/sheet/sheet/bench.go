package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"noonmark/internal/answer/bench"
	"noonmark/internal/sheet/draw"
)

// BenchJob is what the bench's sheet is made from.
type BenchJob struct {
	Report  bench.Report
	Zone    *time.Location // of the readings; nil: UTC
	Unread  []string       // cells that could not be read, one a line
	Paid    string         // who paid for the modules; empty: not said
	Assumed []Assumption
}

// titled returns the cautions of the given titles.
func titled(titles ...string) []string {
	var out []string
	for _, c := range cautions {
		if slices.Contains(titles, c.Title) {
			out = append(out, c.Title+". "+c.Text)
		}
	}
	return out
}

// Bench returns the sheet of readings brought to standard conditions, with each contribution to their
// uncertainty, the comparison, the verdict with its guard band and the reading that would settle it. It is
// one page fit to publish: method, raw data, samples, who paid, what it does not show.
func Bench(j BenchJob) Sheet {
	r := &j.Report
	s := Sheet{Key: "bench", Title: "Bench", Columns: 2, Assumed: j.Assumed, Cautions: titled("Live in light", "Plugs under load", "Hot skin"),
		Sources: []string{"IEC 60891 for standard conditions, IEC 60904-5 for the cells' temperature from the volts, JCGM 100:2008 for uncertainties, guard bands after trade handbook E2"}}
	s.Lead = j.lead()
	paid := j.Paid
	if paid == "" {
		paid = "not said"
	}
	s.Values = []Value{{"readings", fmt.Sprint(len(r.Readings))}, {"modules", fmt.Sprint(len(r.Modules))}, {"paid for by", paid}}
	for i := range r.Modules {
		m := &r.Modules[i]
		v := Verdict{Word: m.Verdict.String(), Heavy: m.Verdict == bench.Fail, Title: "module " + m.Module, Reason: upper(m.Why) + "."}
		if m.Main != nil {
			v.Figure = fmt.Sprintf("%s of the label's %s, limit %s", ratioBand(m.Main.Ratio.Float(), m.Main.Budget.Expanded.Float()), m.Main.Quantity, share(m.Main.Limit.Float()))
		}
		if m.Settle != "" {
			v.Reason += " Settled by: " + m.Settle + "."
		}
		s.Verdicts = append(s.Verdicts, v)
	}
	if len(r.Modules) > 0 {
		rows := j.ratios()
		if len(rows.rows) > 0 {
			s.Figures = append(s.Figures, Figure{Title: "Ratio to the label, 95 %", Share: 0.34, Least: 18 + 4.5*float64(len(rows.rows)), Draw: func(w, h float64) *draw.Scene {
				d := draw.New("Ratio to the label, 95 %", w, h)
				rows.draw(d, 0, 0, w, h)
				d.Text = fmt.Sprintf("%d ratios to the label with their bands, against the least that the label promises.", len(rows.rows))
				return d
			}})
		}
	}
	if r.Day != nil {
		s.Figures = append(s.Figures, Figure{Title: "A day side by side, watts per label watt", Share: 0.42, Least: 55, Draw: j.day})
		s.Tables = append(s.Tables, j.shares())
	}
	for i := range r.Pairs {
		s.Tables = append(s.Tables, pairTables(&r.Pairs[i], j.zone())...)
	}
	s.Tables = append(s.Tables, j.tests()...)
	s.Tables = append(s.Tables, j.readings(), j.budget())
	s.Tables = slices.DeleteFunc(s.Tables, func(t Table) bool { return len(t.Rows) == 0 })
	s.Lists = append(s.Lists, j.found()...)
	if len(j.Unread) > 0 {
		s.Lists = append(s.Lists, List{Title: "Not read", Lines: j.Unread, Why: "Cells of the file that could not be read; nothing was taken for them."})
	}
	s.Lists = append(s.Lists, List{Title: "Method", Lines: []string{
		"Single modules are brought to 1000 W/m² and 25 °C, and pass or fail only where the whole band lies on one side of the limit.",
		"Readings in turns: each held against the other's before and after it, interpolated to its minute, so that the sun's drift and the meter's gain fall out.",
		"A logged day is cut into quarters of an hour that all modules share; the band is of the mean over the quarters, by Student."}},
		List{Title: "What it does not show", Lines: []string{"Other samples of the same make: they scatter by a percent or more.", "Other light and heat than those of these readings, and years in use."}})
	return s
}

func (j BenchJob) zone() *time.Location {
	if j.Zone == nil {
		return time.UTC
	}
	return j.Zone
}

// lead is the answer in a sentence or two.
func (j BenchJob) lead() string {
	r := &j.Report
	var parts []string
	for i := range r.Pairs {
		if len(parts) < 2 {
			parts = append(parts, upper(r.Pairs[i].Says)+".")
		}
	}
	if d := r.Day; d != nil {
		for _, x := range d.Shares {
			if x.Part == bench.WholeDay && x.Module != d.First && len(parts) < 3 {
				parts = append(parts, fmt.Sprintf("Over the day %s gave %s of %s per label watt: %s.", x.Module, ratioBand(x.PerLabel.Float(), x.Expanded.Float()), d.First, x.Says))
			}
		}
	}
	count := map[bench.Verdict]int{}
	for i := range r.Modules {
		count[r.Modules[i].Verdict]++
	}
	if len(r.Modules) > 0 {
		parts = append(parts, fmt.Sprintf("Against their labels %d pass, %d fail, and of %d these readings cannot tell.", count[bench.Pass], count[bench.Fail], count[bench.CannotTell]))
	}
	if len(parts) == 0 {
		return "No reading can be judged: each says why."
	}
	return strings.Join(parts, " ")
}

// share prints a ratio to a tenth of a percent.
func share(x float64) string { return tenth(100*x) + " %" }

// ratioBand prints a ratio with its expanded uncertainty.
func ratioBand(x, u float64) string { return tenth(100*x) + " ± " + tenth(100*u) + " %" }

// ratios are the outcomes of all modules as rows of a figure.
func (j BenchJob) ratios() spans {
	c := spans{from: 0.9, to: 1.1, text: func(v float64) string { return whole(100*v) + " %" }, foot: "band: 95 %; filled: what the verdict rests on; dashed: the least that the label promises"}
	for i := range j.Report.Modules {
		m := &j.Report.Modules[i]
		for k := range m.Outcomes {
			o := &m.Outcomes[k]
			x, u := o.Ratio.Float(), o.Budget.Expanded.Float()
			if len(c.rows) == 24 {
				break
			}
			c.rows = append(c.rows, span{label: strings.TrimSpace(m.Module + " " + o.Quantity), mid: x, low: x - u, high: x + u, open: m.Main == nil || m.Main.Quantity != o.Quantity})
			c.from, c.to = min(c.from, math.Floor(20*(x-u))/20), max(c.to, math.Ceil(20*(x+u))/20)
			if o.Quantity != bench.OpenVolts && len(c.bounds) == 0 {
				c.bounds = append(c.bounds, bound{o.Limit.Float(), "limit " + share(o.Limit.Float())})
			}
		}
	}
	c.from, c.to = max(0, c.from), min(2, c.to)
	c.ticks = steps(c.from, c.to, 8)
	return c
}

// dashes are the lines of modules side by side.
var dashes = []draw.Style{{Stroke: draw.Line, Width: 0.45}, {Stroke: draw.Sun, Width: 0.45}, {Stroke: draw.Shade, Width: 0.45, Dash: []float64{2, 0.8}}, {Stroke: draw.Fine, Width: 0.4, Dash: []float64{0.8, 0.8}}}

// day draws the logged watts per label watt of the modules through the day.
func (j BenchJob) day(width, height float64) *draw.Scene {
	s := draw.New("A day side by side, watts per label watt", width, height)
	begin, end := j.Report.Day.Begin, j.Report.Day.End
	labels := map[string]float64{}
	for i := range j.Report.Readings {
		n := &j.Report.Readings[i]
		if f := n.Figure(bench.Power); f != nil {
			labels[n.Sample.Module] = f.Label
		}
	}
	lines := map[string][]draw.Point{}
	var order []string
	top := 0.1
	for i := range j.Report.Readings {
		n := &j.Report.Readings[i]
		w, ok := watts(&n.Sample)
		if !ok || n.Sample.Time.IsZero() || labels[n.Sample.Module] <= 0 {
			continue
		}
		if lines[n.Sample.Module] == nil {
			order = append(order, n.Sample.Module)
		}
		y := 100 * w / labels[n.Sample.Module]
		top = max(top, y)
		lines[n.Sample.Module] = append(lines[n.Sample.Module], draw.Point{X: n.Sample.Time.Sub(begin).Hours(), Y: y})
	}
	c := chart{s: s, x: 14, y: 9, w: width - 18, h: height - 19, top: nice(top)}
	c.grid("%")
	hours := max(0.25, end.Sub(begin).Hours())
	place := func(h float64) float64 { return c.x + c.w*min(1, max(0, h/hours)) }
	first := begin.In(j.zone()).Truncate(time.Hour)
	step := time.Duration(max(1, math.Ceil(hours*12/c.w))) * time.Hour
	for t := first.Add(time.Hour); t.Before(end); t = t.Add(step) {
		x := place(t.Sub(begin).Hours())
		s.Path(draw.Style{Stroke: draw.Faint, Width: 0.1}, draw.Point{X: x, Y: c.y}, draw.Point{X: x, Y: c.y + c.h})
		s.Write(draw.Text{At: draw.Point{X: x, Y: c.y + c.h + 3.8}, Text: t.Format("15:04"), Size: 2.4, Face: draw.Mono, Ink: draw.Fine, Anchor: draw.Middle})
	}
	at := c.x
	for k, name := range order[:min(len(order), len(dashes))] {
		line := lines[name]
		slices.SortFunc(line, func(a, b draw.Point) int { return int(math.Copysign(1, a.X-b.X)) })
		for i := range line {
			line[i] = draw.Point{X: place(line[i].X), Y: c.level(min(line[i].Y, c.top))}
		}
		s.Path(dashes[k], line...)
		s.Path(dashes[k], draw.Point{X: at, Y: 3.2}, draw.Point{X: at + 7, Y: 3.2})
		s.Write(draw.Text{At: draw.Point{X: at + 8.5, Y: 4.1}, Text: name, Size: 2.7})
		at += 13 + draw.Width(draw.Regular, 2.7, name)
	}
	s.Write(draw.Text{At: draw.Point{X: c.x + c.w, Y: height - 1.4}, Text: "logged watts over the label's, " + begin.In(j.zone()).Format("2 Jan 2006, MST"), Size: 2.5, Ink: draw.Fine, Anchor: draw.End})
	s.Text = fmt.Sprintf("Lines of logged power over the label for %d modules from %s to %s; the table of the day has the shares.", len(order), begin.In(j.zone()).Format("15:04"), end.In(j.zone()).Format("15:04"))
	return s
}

// watts returns a sample's power.
func watts(s *bench.Sample) (float64, bool) {
	switch {
	case s.Watts != nil:
		return math.Abs(s.Watts.Watts()), true
	case s.Volts != nil && s.Amps != nil:
		return math.Abs(s.Volts.Volts() * s.Amps.Amperes()), true
	}
	return 0, false
}

// shares is who won when.
func (j BenchJob) shares() Table {
	d := j.Report.Day
	t := Table{Title: "Who wins when: energy per label watt over that of " + d.First, Head: []string{"condition", "module", "Wh", "over " + d.First, "to its own day", "quarters", "says"}, Right: []int{2, 3, 4, 5}}
	for _, x := range d.Shares {
		over, own := "–", "–"
		if x.Module != d.First {
			over = ratioBand(x.PerLabel.Float(), x.Expanded.Float())
			if x.Part != bench.WholeDay && x.Relative > 0 {
				own = ratioBand(x.Relative.Float(), x.Within.Float())
			}
		}
		t.Rows = append(t.Rows, []string{x.Part.String(), x.Module, number(x.Energy.WattHours(), 3), over, own, fmt.Sprint(x.Blocks), x.Says})
	}
	return t
}

// pairTables are a comparison in turns: what it shows with its budget, and the raw pairs.
func pairTables(p *bench.PairOutcome, zone *time.Location) []Table {
	t := Table{Title: strings.TrimSuffix(p.B+" against "+p.A+", "+p.Quantity, ", "), Head: []string{"", ""}, Right: []int{1}}
	if p.Used > 0 {
		t.Rows = append(t.Rows, []string{"ratio, each per its label, ± 95 %", ratioBand(p.Ratio.Float(), p.Budget.Expanded.Float())}, []string{"labels not counted", share(p.Raw.Float())},
			[]string{"pairs used, of all", fmt.Sprintf("%d of %d", p.Used, len(p.Pairs))}, []string{"places changed", yesNo(p.Swapped)})
		for _, x := range p.Budget.Parts {
			t.Rows = append(t.Rows, []string{"of it: " + x.Name, "± " + hundredth(100*x.Standard.Float()) + " %"})
		}
		t.Rows = append(t.Rows, []string{"k for 95 %", hundredth(p.Budget.Coverage)})
	}
	t.Rows = append(t.Rows, []string{"says", p.Says})
	if p.Settle != "" {
		t.Rows = append(t.Rows, []string{"settled by", p.Settle})
	}
	raw := Table{Title: fmt.Sprintf("Raw pairs, %s and %s", p.A, p.B), Head: []string{"time", p.A + ", to its minute", p.B, "ratio per label", ""}, Right: []int{1, 2, 3}, Fine: true}
	for _, x := range p.Pairs {
		note := ""
		if x.Left {
			note = "left out: the light changed"
		}
		raw.Rows = append(raw.Rows, []string{x.Time.In(zone).Format("15:04:05"), number(x.A, 4), number(x.B, 4), share(x.Ratio.Float()), note})
	}
	return []Table{t, raw}
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// hundredth prints a number to a hundredth.
func hundredth(v float64) string { return strings.Replace(fmt.Sprintf("%.2f", v), "-", "−", 1) }

// tests are those of shade and heat.
func (j BenchJob) tests() []Table {
	shade := Table{Title: "Shade tests", Head: []string{"module", "shade", "left, ± 95 %", "pairs", "says"}, Right: []int{2, 3}}
	for _, x := range j.Report.Shade {
		shade.Rows = append(shade.Rows, []string{x.Module, x.Shade, ratioBand(x.Left.Float(), x.Budget.Expanded.Float()), fmt.Sprint(x.Pairs), x.Says})
	}
	heat := Table{Title: "Heat tests", Head: []string{"module", "quantity", "slope, %/K, ± 95 %", "label, %/K", "from", "to", "says"}, Right: []int{2, 3, 4, 5}}
	for _, x := range j.Report.Heat {
		heat.Rows = append(heat.Rows, []string{x.Module, x.Quantity, hundredth(100*x.Slope.PerKelvin()) + " ± " + hundredth(100*x.Expanded.PerKelvin()), hundredth(100 * x.Label.PerKelvin()), whole(x.Cold.Celsius()) + " °C", whole(x.Hot.Celsius()) + " °C", x.Says})
	}
	return []Table{shade, heat}
}

// mostReadings is how many readings a sheet lists; the file has the rest.
const mostReadings = 60

// readings are the raw data, normalised.
func (j BenchJob) readings() Table {
	t := Table{Title: "Readings, brought to 1000 W/m² and 25 °C", Head: []string{"time", "module", "what", "read", "W/m²", "°C", "should read now", "at standard", "of label, ± 95 %"}, Right: []int{3, 4, 5, 6, 7, 8}, Fine: true}
	most := mostReadings
	if j.Report.Day != nil { // the drawing shows them
		most /= 3
	}
	for i := range j.Report.Readings {
		n := &j.Report.Readings[i]
		at := "–"
		if !n.Sample.Time.IsZero() {
			at = n.Sample.Time.In(j.zone()).Format("2 Jan 15:04")
		}
		light, cells := "–", "–"
		if n.Condition != nil {
			light, cells = whole(n.Condition.Light.WattsPerSquareMetre()), whole(n.Condition.Cell.Celsius())
		}
		for k := range n.Figures {
			f := &n.Figures[k]
			unit := map[string]string{bench.OpenVolts: "V", bench.ShortAmps: "A"}[f.Quantity]
			if unit == "" {
				unit = "W"
			}
			t.Rows = append(t.Rows, []string{at, orDash(n.Sample.Module), f.Quantity, number(f.Read, 4) + " " + unit, light, cells, number(f.Now.Low, 3) + " to " + number(f.Now.High, 3) + " " + unit, number(f.Standard, 4) + " " + unit, ratioBand(f.Ratio.Float(), f.Budget.Expanded.Float())})
		}
		if len(n.Figures) == 0 {
			t.Rows = append(t.Rows, []string{at, orDash(n.Sample.Module), "not used", "", light, cells, "", "", ""})
		}
		if len(t.Rows) > most {
			t.Rows = append(t.Rows[:most], []string{"", "", fmt.Sprintf("and %d more readings", len(j.Report.Readings)-i-1), "", "", "", "", "", ""})
			break
		}
	}
	return t
}

// budget lists each contribution to each module's main figure.
func (j BenchJob) budget() Table {
	t := Table{Title: "What each band is made of", Head: []string{"module", "of", "contribution", "u", "share of the variance"}, Right: []int{3, 4}, Fine: true, Shares: []float64{}}
	for i := range j.Report.Modules {
		m := &j.Report.Modules[i]
		if m.Main == nil {
			continue
		}
		total := m.Main.Budget.Standard.Float() * m.Main.Budget.Standard.Float()
		for _, p := range m.Main.Budget.Parts {
			x := 0.0
			if total > 0 {
				x = p.Standard.Float() * p.Standard.Float() / total
			}
			t.Rows = append(t.Rows, []string{orDash(m.Module), m.Main.Quantity, p.Name, hundredth(p.Standard.Percent()) + " %", percent(x)})
			t.Shares = append(t.Shares, x)
		}
	}
	return t
}

// found lists what is wrong with readings, each sentence once, what stops a verdict first.
func (j BenchJob) found() []List {
	stop, rest := List{Title: "No verdict rests on these"}, List{Title: "Found in the readings"}
	seen := map[string]bool{}
	add := func(list []bench.Finding) {
		for _, f := range list {
			text := upper(f.Text) + "."
			if f.Settles != "" {
				text += " Settled by: " + f.Settles + "."
			}
			if f.Module != "" {
				text = "Module " + f.Module + ": " + text
			}
			if seen[text] {
				continue
			}
			seen[text] = true
			if f.Stops {
				stop.Lines = append(stop.Lines, text)
			} else {
				rest.Lines = append(rest.Lines, text)
			}
		}
	}
	r := &j.Report
	add(r.Findings)
	for i := range r.Modules {
		add(r.Modules[i].Findings)
	}
	for i := range r.Pairs {
		add(r.Pairs[i].Findings)
	}
	if r.Day != nil {
		add(r.Day.Findings)
	}
	for i := range r.Readings {
		add(r.Readings[i].Findings)
	}
	var out []List
	for _, l := range []List{stop, rest} {
		if n := len(l.Lines); n > 30 {
			l.Lines = append(l.Lines[:30], fmt.Sprintf("And %d more.", n-30))
		}
		if len(l.Lines) > 0 {
			out = append(out, l)
		}
	}
	return out
}
