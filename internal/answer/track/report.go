package track

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"

	"noonmark/internal/answer/diagnose"
	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
)

// ErrEmpty says that a log has no day with an energy.
var ErrEmpty = errors.New("no day of the record has an energy")

// ErrLong says that a log goes on for longer than longestLog.
var ErrLong = errors.New("the record is longer than 1100 days")

const longestLog = 1100

// Report is a log against expectation.
type Report struct {
	Log       Log
	Ratio     quantity.Ratio // energy over expected, over the days that can be judged; 0: none can
	Low, High quantity.Ratio // 95 %
	Basis     Basis          // of those days
	Used      int            // days
	Thrown    quantity.Energy
	ThrownLow quantity.Energy
	ThrownUp  quantity.Energy
	FullKnown bool // state of charge or battery volts were logged
	Alarms    []Alarm
	Notes     []string
}

// Compare holds a log against what the build should have given. The ratio is over the hours that were
// logged and had room in the battery, of days with enough of them: by logged light where there is some, else by at least three
// clear days, else by the months' usual weather. Its band has the expectation's error, which all days share,
// and the scatter of the days. ErrEmpty and ErrLong are returned, ctx's error when stopped, and a label's.
func Compare(ctx context.Context, l Log, s Setting) (Report, error) {
	r := Report{}
	any := false
	for i := range l.Days {
		any = any || l.Days[i].Energy > 0
	}
	if !any {
		return r, ErrEmpty
	}
	if span := l.Days[len(l.Days)-1].Date.Sub(l.Days[0].Date).Hours() / 24; span > longestLog {
		return r, fmt.Errorf("%w: it has %.0f", ErrLong, span)
	}
	spread, err := l.expect(ctx, &s)
	if err != nil {
		return r, err
	}
	if !l.Daily && l.power {
		l.look(&s)
		for i := range l.Points {
			r.FullKnown = r.FullKnown || l.Points[i].Charge != nil || l.Points[i].Battery != nil
		}
	} else {
		l.bestDays()
	}
	for i := range l.Days {
		d := &l.Days[i]
		if d.Expected > 0 {
			d.Ratio = quantity.Ratio(d.Energy.Joules() / d.Expected.Joules())
			if l.Daily || !l.power || d.Basis == Usual {
				d.Free = d.Ratio
				if d.Covered < 0.9 || d.Full {
					d.Free = 0
				}
			}
		}
		r.Thrown += d.Thrown
		r.ThrownLow += d.ULow
		r.ThrownUp += d.UHigh
	}
	r.Log = l
	r.Notes = append(r.Notes, l.Notes...)
	if !r.FullKnown {
		r.Notes = append(r.Notes, "neither state of charge nor battery volts stand beside the power by the hour: whether a full battery threw energy away cannot be told, and low days may be days of a full battery")
	}
	days := r.judged(spread)
	if err := r.alarm(days, &s); err != nil {
		return r, err
	}
	return r, nil
}

// bestDays takes the best days of each month or so as clear ones, where the usual weather has clear days.
func (l *Log) bestDays() {
	for i := range l.Days {
		d := &l.Days[i]
		if d.Basis == Logged || d.clear <= 0 || d.Covered < 0.9 || d.High.Joules() < 0.8*d.clear {
			continue
		}
		var near []float64
		for k := range l.Days {
			o := &l.Days[k]
			if gap := math.Abs(o.Date.Sub(d.Date).Hours()) / 24; gap <= 15.5 && o.clear > 0 && o.Covered >= 0.9 {
				near = append(near, o.Energy.Joules()/o.clear)
			}
		}
		if len(near) < 10 {
			continue
		}
		sort.Float64s(near)
		if best := numeric.Quantile(near, 0.9); best > 0 && d.Energy.Joules()/d.clear > 0.93*best {
			d.Clear = true
		}
	}
	for i := range l.Days {
		if d := &l.Days[i]; d.Clear {
			d.set(d.clear, clearUnsure+0.02, ClearSky)
		}
	}
}

// usable are the days of a basis of which enough was logged with room in the battery.
func (l *Log) usable(b Basis) []int {
	var out []int
	for i := range l.Days {
		d := &l.Days[i]
		if d.Basis == b && d.Expected > 0 && d.Free > 0 {
			out = append(out, i)
		}
	}
	return out
}

// judged finds the ratio over the days of the best basis, and returns them.
func (r *Report) judged(usualSpread float64) []int {
	l := &r.Log
	var days []int
	shared := loggedUnsure
	for _, b := range []Basis{Logged, ClearSky, Usual} {
		if days = l.usable(b); len(days) >= 3 || b == Usual {
			r.Basis = b
			break
		}
	}
	switch r.Basis {
	case ClearSky:
		shared = clearUnsure
	case Usual: // the climate's, and weeks of weather that days share
		shared = 0.08
	}
	if r.Used = len(days); r.Used == 0 {
		r.Basis = Unknown
		r.Notes = append(r.Notes, "no day can be judged: each has gaps by daylight, or the battery was full")
		return nil
	}
	e, x := 0.0, 0.0
	for _, i := range days {
		e, x = e+l.Days[i].Free.Float()*l.Days[i].Expected.Joules(), x+l.Days[i].Expected.Joules()
	}
	ratio := e / x
	n := float64(r.Used)
	scatter := 0.0
	for _, i := range days {
		w := l.Days[i].Expected.Joules() / x * n
		scatter += sq(w * (l.Days[i].Free.Float() - ratio))
	}
	u := 0.1 * ratio
	if r.Used > 2 {
		u = math.Sqrt(scatter / (n - 1) / n)
	}
	if r.Basis == Usual {
		u = math.Max(u, usualSpread*ratio/math.Sqrt(math.Max(1, n/2)))
		r.Notes = append(r.Notes, "no light was logged and no clear days were found: the usual weather stands for it, and a dull or bright season shows as a low or high ratio")
	}
	k := 2 * math.Hypot(u, shared*ratio)
	r.Ratio, r.Low, r.High = quantity.Ratio(ratio), quantity.Ratio(math.Max(0, ratio-k)), quantity.Ratio(ratio+k)
	return days
}

func sq(x float64) float64 { return x * x }

// losses are what the array gives with a part lost, of the whole.
func losses(s *Setting) ([]diagnose.Loss, error) {
	return diagnose.Losses(s.Build, diagnose.Options{Light: 700 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(45)})
}
