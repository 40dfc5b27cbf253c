package track

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
)

// Alarm is something a record shows.
type Alarm struct {
	Kind    string    // "step", "decline", "low", "dead days", for programs
	Date    time.Time // zero: of the whole record
	Left    quantity.Ratio
	Unsure  quantity.Ratio // expanded, of Left
	Text    string
	Settles string
	Parts   []string // faults of the circuit that leave as much
}

// leastStep is the least step that is called one, and surely its distance in standard uncertainties of what
// the scatter of the days makes: our own choice, one false step in many years of days.
const leastStep, surely = 0.06, 5.0

// alarm finds steps, declines, dead days and a low whole.
func (r *Report) alarm(days []int, s *Setting) error {
	l := &r.Log
	r.dead()
	if len(days) == 0 {
		return nil
	}
	lost, err := losses(s)
	if err != nil {
		return err
	}
	match := func(left, u float64) []string {
		var out []string
		for _, x := range lost {
			if math.Abs(x.Left.Float()-left) <= u+0.02 && x.Left < 0.97 && len(out) < 6 {
				out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s (%.0f %% left)", x.Fault, x.Where, x.Left.Percent())))
			}
		}
		return out
	}
	settles := "diagnose, with volts and amperes of each module at one hour"
	steps := l.steps(days, 0, len(days))
	sort.Ints(steps)
	for n, at := range steps {
		from, to := 0, len(days)
		if n > 0 {
			from = steps[n-1]
		}
		if n+1 < len(steps) {
			to = steps[n+1]
		}
		d, u := l.change(days, from, at, to)
		left := math.Exp(d)
		a := Alarm{Kind: "step", Date: l.Days[days[at]].Date, Left: quantity.Ratio(left), Unsure: quantity.Ratio(2 * u * left), Settles: settles}
		if left > 1 {
			a.Text = fmt.Sprintf("from %s the days give %.0f %% ± %.0f %% of those before: a repair, washing, or a shade that is gone", a.Date.Format("2 Jan 2006"), 100*left, 200*u*left)
			a.Settles = ""
		} else {
			a.Parts = match(left, 2*u*left)
			a.Text = fmt.Sprintf("from %s the days give %.0f %% ± %.0f %% of those before: a step, so something broke, came loose or shades it", a.Date.Format("2 Jan 2006"), 100*left, 200*u*left)
			if len(a.Parts) > 0 {
				a.Text += "; as much is left with " + strings.Join(a.Parts, ", or ")
			}
		}
		r.Alarms = append(r.Alarms, a)
	}
	if a, ok := l.decline(days); ok {
		r.Alarms = append(r.Alarms, a)
	}
	if r.High < 0.93 && len(steps) == 0 {
		u := (r.High - r.Low).Float() / 2
		a := Alarm{Kind: "low", Left: r.Ratio, Unsure: quantity.Ratio(u), Parts: match(r.Ratio.Float(), u), Settles: settles,
			Text: fmt.Sprintf("all of it gives %.0f %% of what a sound array gives by %s, %.0f %% at most: dirt, shade that the build does not know, a part lost before the record begins, or a label that promises too much", r.Ratio.Percent(), r.Basis, r.High.Percent())}
		if len(a.Parts) > 0 {
			a.Text += "; as much is left with " + strings.Join(a.Parts, ", or ")
		}
		r.Alarms = append(r.Alarms, a)
	}
	return nil
}

// dead finds days that gave nothing.
func (r *Report) dead() {
	n, first := 0, time.Time{}
	for i := range r.Log.Days {
		d := &r.Log.Days[i]
		if d.Covered >= 0.9 && d.Basis != Unknown && d.Low > 0 && d.Energy.Joules() < 0.02*d.Expected.Joules() && !d.Full {
			if n == 0 {
				first = d.Date
			}
			n++
		}
	}
	if n > 0 {
		r.Alarms = append(r.Alarms, Alarm{Kind: "dead days", Date: first, Text: fmt.Sprintf("%d days gave next to nothing, the first on %s: a fuse or breaker, a plug, the charger off, snow, or the logger alone", n, first.Format("2 Jan 2006")),
			Settles: "volts at the charger's input in the sun"})
	}
}

// logs are the logarithms of the ratios of some days.
func (l *Log) logs(days []int) []float64 {
	var out []float64
	for _, i := range days {
		out = append(out, math.Log(math.Max(0.01, l.Days[i].Free.Float())))
	}
	return out
}

// fewest is how many days must stand on each side of a step.
func (l *Log) fewest(days []int) int {
	if l.Days[days[0]].Basis == Usual {
		return 12
	}
	return 4
}

// change returns the step in the logarithm of the ratio between two runs of days, by their medians, and its
// standard uncertainty by their median deviations.
func (l *Log) change(days []int, from, at, to int) (d, u float64) {
	before, after := l.logs(days[from:at]), l.logs(days[at:to])
	a, sa := middle(before)
	b, sb := middle(after)
	return b - a, math.Sqrt(sa*sa/float64(len(before))+sb*sb/float64(len(after))) * 1.25 // of a median
}

// deviation is the sum of the distances of the ratios' logarithms from their median.
func (l *Log) deviation(days []int) float64 {
	x := l.logs(days)
	m, _ := middle(x)
	sum := 0.0
	for _, v := range x {
		sum += math.Abs(v - m)
	}
	return sum
}

// middle returns the median and the standard deviation by the median deviation, at least 1 %.
func middle(x []float64) (m, s float64) {
	y := append([]float64(nil), x...)
	sort.Float64s(y)
	m = numeric.Quantile(y, 0.5)
	for i := range y {
		y[i] = math.Abs(y[i] - m)
	}
	sort.Float64s(y)
	return m, math.Max(0.01, 1.4826*numeric.Quantile(y, 0.5))
}

// steps returns the places where the ratio steps, by halving: the best place of a run, then of its parts.
func (l *Log) steps(days []int, from, to int) []int {
	if len(days) == 0 {
		return nil
	}
	few := l.fewest(days)
	best, at := math.Inf(1), -1
	for i := from + few; i+few <= to; i++ {
		d, u := l.change(days, from, i, to)
		if rest := l.deviation(days[from:i]) + l.deviation(days[i:to]); math.Abs(d) > leastStep && math.Abs(d) > surely*u && rest < best {
			best, at = rest, i
		}
	}
	if at < 0 {
		return nil
	}
	return append(append(l.steps(days, from, at), at), l.steps(days, at, to)...)
}

// decline holds the last year's days against those of the year before, day by day of the year within 15 days.
func (l *Log) decline(days []int) (Alarm, bool) {
	last := l.Days[days[len(days)-1]].Date
	var now, then []float64
	for _, i := range days {
		d := &l.Days[i]
		if d.Date.Before(last.AddDate(-1, 0, 1)) {
			continue
		}
		var near []float64
		for _, k := range days {
			if gap := d.Date.AddDate(-1, 0, 0).Sub(l.Days[k].Date).Hours() / 24; math.Abs(gap) <= 15 {
				near = append(near, l.Days[k].Free.Float())
			}
		}
		if len(near) >= 3 {
			sort.Float64s(near)
			now, then = append(now, math.Log(math.Max(0.01, d.Free.Float()))), append(then, math.Log(math.Max(0.01, numeric.Quantile(near, 0.5))))
		}
	}
	if len(now) < 8 {
		return Alarm{}, false
	}
	diff := make([]float64, len(now))
	for i := range now {
		diff[i] = now[i] - then[i]
	}
	d, s := middle(diff)
	u := 1.25 * s / math.Sqrt(float64(len(diff))/2) // days share their neighbours of the year before
	if d > -0.03 || -d < 2.5*u {
		return Alarm{}, false
	}
	return Alarm{Kind: "decline", Left: quantity.Ratio(math.Exp(d)), Unsure: quantity.Ratio(2 * u),
		Text:    fmt.Sprintf("against the same days of the year before it gives %.1f %% ± %.1f %%: dirt first of all; sound modules lose 0.5 to 1 %% a year", 100*math.Exp(d), 200*u),
		Settles: "washing, then a clear noon again; the ratio of twins against the baseline"}, true
}
