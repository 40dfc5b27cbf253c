package track

import (
	"fmt"
	"math"
	"sort"
	"time"

	"noonmark/internal/base/quantity"
)

// Point is a line of a record; what was not logged is nil.
type Point struct {
	Line    int
	Time    time.Time
	Power   *quantity.Power      // of the modules, at the charger's input
	Yield   *quantity.Energy     // counter of a day or of a lifetime, or a day's energy
	Battery *quantity.Voltage    // volts
	Charge  *quantity.Ratio      // state of charge
	Light   *quantity.Irradiance // on the level
	Air     *quantity.Temperature
	full    bool // the battery
}

// Day is a civil day of a record.
type Day struct {
	Date      time.Time       // local midnight
	Energy    quantity.Energy // measured
	Covered   quantity.Ratio  // of the daylight, by the clear sky's energy in it; 1 for a daily yield
	Expected  quantity.Energy // 0: not known
	Low, High quantity.Energy // 95 % of sound arrays
	Ratio     quantity.Ratio  // Energy over Expected; 0: not known
	Free      quantity.Ratio  // the same over the hours that were logged and had room in the battery; 0: too few
	Clear     bool            // the sky was clear, by the shape of the day or its yield
	Full      bool            // the battery was full for part of it
	Thrown    quantity.Energy // offered and not taken while the battery was full
	ULow      quantity.Energy // bounds of Thrown
	UHigh     quantity.Energy
	Unknown   quantity.Energy // what a sound array gave in the gaps, at most
	Basis     Basis
	usual     [3]quantity.Energy // expectation by the usual weather, with its band
	clear     float64            // J under a clear sky; 0: not known
	points    []int
}

// Basis is what a day's expectation rests on.
type Basis int

const (
	Unknown Basis = iota
	Logged        // light logged beside the power
	ClearSky
	Usual // the month's usual weather
)

// String returns the basis in words.
func (b Basis) String() string {
	return [...]string{"nothing", "light logged with it", "a clear sky of the day", "the usual weather of the month"}[b]
}

// Gap is a time by daylight in which nothing was logged.
type Gap struct {
	From, To time.Time
	Unknown  quantity.Energy // at most
}

// Log is a record cut into days.
type Log struct {
	Points []Point // by time
	Days   []Day
	Gaps   []Gap
	Daily  bool          // one line a day
	Step   time.Duration // between lines, the usual
	Notes  []string
	Zone   *time.Location
	power  bool
	yield  bool
	light  bool
}

// silence is how many sample periods may pass before power is not bridged, and shortest the least such
// time. Source: common practice; a counter that sends nothing while power is 0 shows days of triangles.
const silence = 3

const shortest = 15 * time.Minute

// Import cuts points into days of a zone. Power is integrated by trapezoids between lines at most three
// usual steps or 15 minutes apart; a counter's rises are summed, and its value after each fall. Values no
// array of most watts gives are dropped, and counted in Notes; most 0: none are. Points without a time are
// dropped and counted.
func Import(points []Point, zone *time.Location, most quantity.Power) Log {
	l := Log{Zone: zone}
	timeless, wild := 0, 0
	for _, p := range points {
		if p.Time.IsZero() {
			timeless++
			continue
		}
		if p.Power != nil && most > 0 && (*p.Power > 1.5*most || *p.Power < -0.05*most) {
			wild++
			p.Power = nil
		}
		l.power = l.power || p.Power != nil
		l.yield = l.yield || p.Yield != nil
		l.light = l.light || p.Light != nil
		l.Points = append(l.Points, p)
	}
	note := func(format string, args ...any) { l.Notes = append(l.Notes, fmt.Sprintf(format, args...)) }
	if timeless > 0 {
		note("%d lines without a time are not used", timeless)
	}
	if wild > 0 {
		note("%d values of power that this array cannot give are not used: a unit, a sign or an overflow of the logger", wild)
	}
	sort.SliceStable(l.Points, func(i, j int) bool { return l.Points[i].Time.Before(l.Points[j].Time) })
	l.Step = usualStep(l.Points)
	l.Daily = l.Step >= 20*time.Hour
	l.cut()
	if !l.Daily {
		l.silences()
	}
	switch {
	case l.Daily:
		l.daily(note)
	case l.yield:
		l.counted(note)
	case l.power:
		l.integrated()
	}
	return l
}

// usualStep is the median time between points.
func usualStep(p []Point) time.Duration {
	var d []time.Duration
	for i := 1; i < len(p); i++ {
		if s := p[i].Time.Sub(p[i-1].Time); s > 0 {
			d = append(d, s)
		}
	}
	if len(d) == 0 {
		return 0
	}
	sort.Slice(d, func(i, j int) bool { return d[i] < d[j] })
	return d[len(d)/2]
}

// midnight is the start of the civil day of t.
func (l *Log) midnight(t time.Time) time.Time {
	y, m, d := t.In(l.Zone).Date()
	return time.Date(y, m, d, 0, 0, 0, 0, l.Zone)
}

// cut makes the days that have points.
func (l *Log) cut() {
	for i := range l.Points {
		d := l.midnight(l.Points[i].Time)
		if n := len(l.Days); n == 0 || !l.Days[n-1].Date.Equal(d) {
			l.Days = append(l.Days, Day{Date: d})
		}
		day := &l.Days[len(l.Days)-1]
		day.points = append(day.points, i)
	}
}

// daily takes one line a day: energies of days, or a counter of the lifetime, which only rises.
func (l *Log) daily(note func(string, ...any)) {
	rises, values := 0, []float64{}
	for i := range l.Points {
		if y := l.Points[i].Yield; y != nil {
			values = append(values, y.WattHours())
			if n := len(values); n > 1 && values[n-1] >= values[n-2] {
				rises++
			}
		}
	}
	counter := len(values) >= 5 && rises == len(values)-1 && values[len(values)-1] > 3*values[0]/2 && values[0] > 2*(values[len(values)-1]-values[0])/float64(len(values)-1)
	if counter {
		note("the yield only rises: it is taken as a counter of the lifetime, a day's energy being its rise")
	}
	last := math.NaN()
	for k := range l.Days {
		d := &l.Days[k]
		for _, i := range d.points {
			y := l.Points[i].Yield
			switch {
			case y == nil:
				continue
			case counter:
				if !math.IsNaN(last) {
					d.Energy, d.Covered = quantity.Energy(y.Joules()-last), 1
				}
				last = y.Joules()
			default:
				d.Energy, d.Covered = *y, 1
			}
		}
	}
}

// counted sums the rises of a counter, and what it shows after each fall.
func (l *Log) counted(note func(string, ...any)) {
	last := math.NaN()
	var clocks []string
	seen := map[string]bool{}
	for k := range l.Days {
		d := &l.Days[k]
		for _, i := range d.points {
			y := l.Points[i].Yield
			if y == nil {
				continue
			}
			v := y.Joules()
			switch {
			case math.IsNaN(last):
			case v >= last:
				d.Energy += quantity.Energy(v - last)
			default: // reset
				d.Energy += *y
				at := l.Points[i].Time.In(l.Zone)
				if h := float64(at.Hour()) + float64(at.Minute())/60; h > 1.5 && h < 22.5 && !seen[at.Format("15")] && len(clocks) < 3 {
					seen[at.Format("15")] = true
					clocks = append(clocks, at.Format("15:04"))
				}
			}
			last = v
		}
	}
	if len(clocks) > 0 {
		note("the counter was reset by day (%v): the logger's clock or its zone is wrong, or it restarts; energy is what it rose, and what ran between its last value and the reset is lost", clocks)
	}
}

// longest is the time beyond which power is not bridged.
func (l *Log) longest() time.Duration { return max(shortest, silence*l.Step) }

// silences lists the times by day, 6 h to 20 h, in which nothing was logged for longer than power is bridged.
func (l *Log) silences() {
	for i := 1; i < len(l.Points); i++ {
		a, b := l.Points[i-1].Time, l.Points[i].Time
		if b.Sub(a) <= l.longest() {
			continue
		}
		for t := a; t.Before(b); t = t.Add(grid) {
			if h := t.In(l.Zone).Hour(); h >= 6 && h < 20 {
				l.Gaps = append(l.Gaps, Gap{From: a, To: b})
				break
			}
		}
	}
}

// integrated sums power by trapezoids.
func (l *Log) integrated() {
	for k := range l.Days {
		d := &l.Days[k]
		var before *Point
		for _, i := range d.points {
			p := &l.Points[i]
			if p.Power == nil {
				continue
			}
			if before != nil {
				if dt := p.Time.Sub(before.Time); dt <= l.longest() {
					d.Energy += quantity.Energy((math.Max(0, before.Power.Watts()) + math.Max(0, p.Power.Watts())) / 2 * dt.Seconds())
				}
			}
			before = p
		}
	}
}
