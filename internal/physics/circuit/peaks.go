package circuit

import (
	"math"
	"slices"

	"noonmark/internal/base/quantity"
	"noonmark/internal/physics/cell"
)

// shares are where the slope of power is looked at between two kinks. A knee lies close under the kink
// that makes it.
var shares = [...]float64{0, 0.4, 0.7, 0.85, 0.93, 0.97}

// past is where, of a stretch that begins with falling power, a rise is looked for: cells that have just gone
// under their current take on their leak's volts within a little of the kink.
const past = 0.03

// near is how close under a kink its own slope is looked at, relative.
const near = 1e-9

// work is the memory of a search for peaks.
type work struct {
	kinks, grid []float64
	bounds      []float64
	found       []cell.Point
}

func newWork(kinks, lines int) work {
	return work{kinks: make([]float64, 0, kinks), bounds: make([]float64, 0, kinks), grid: make([]float64, 0, (len(shares)+1)*(kinks+2*lines)), found: make([]cell.Point, 0, 2*kinks)}
}

// addKinks appends the currents at which some cells give no more and those at which a bypass diode takes
// over.
func (l *line) addKinks(k []float64) []float64 {
	for i := range l.elements {
		e := &l.elements[i]
		if e.reversed || i > 0 && e.alike(&l.elements[i-1]) {
			continue
		}
		for c := range e.classes {
			k = append(k, e.classes[c].short)
			if take := e.classes[c].take; !math.IsInf(take, 1) {
				k = append(k, take)
			}
		}
		for g := range e.groups {
			if take := e.groups[g].take; !math.IsInf(take, 1) {
				k = append(k, take)
			}
		}
	}
	return k
}

// thin sorts k and drops what is not above the one before by a share of the top.
func thin(k []float64, share float64) []float64 {
	slices.Sort(k)
	top, n := k[len(k)-1], 1
	for _, x := range k[1:] {
		if x-k[n-1] > share*top {
			k[n] = x
			n++
		}
	}
	return k[:n]
}

// peaks returns the local maxima of a string's power behind a further series resistance, by rising
// voltage, in w's memory: the roots of dP/dI = V + I dV/dI at which it falls, one looked for between any
// two places of the search. Within 1e-9 of the power.
func (l *line) peaks(series float64, w *work) []cell.Point {
	out := w.found[:0]
	l.refresh()
	if !(l.open > 0) || !(l.top > 0) {
		return out
	}
	k := thin(l.addKinks(append(w.kinks[:0], 0)), 1e-6)
	w.kinks = k
	for n := 1; n < len(k); n++ {
		a, b := k[n-1], k[n]
		v, r := l.at(a)
		if v-a*series <= 0 {
			break
		}
		from, slope := a, v-2*a*series-a*r
		if slope <= 0 {
			x := a + past*(b-a)
			v, r := l.at(x)
			from, slope = x, v-2*x*series-x*r
		}
		places := len(shares)
		if b-a < 0.02*b {
			places = 2
		}
		for p := 1; p <= places; p++ {
			x := b * (1 - near)
			if p < places {
				x = a + (b-a)*shares[p]
			}
			v, r := l.at(x)
			d := v - 2*x*series - x*r
			if slope > 0 && d <= 0 {
				if q, ok := l.root(series, from, x, slope, d); ok {
					out = append(out, q)
				}
			}
			from, slope = x, d
		}
	}
	slices.Reverse(out)
	w.found = out[:0]
	return out
}

// best returns the point of highest power behind a further series resistance, at the voltages from lowest
// up, or zero; within 1e-6 of the power. The curve is walked between its kinks as by peaks, the stretch that
// may hold most first, and one that cannot hold more than is found is left out: volts fall with amperes, so
// a stretch from a to b holds less than b times the volts at a, and those are under the open volts of the
// groups whose diode does not conduct there.
func (l *line) best(series, lowest float64, w *work) cell.Point {
	l.refresh()
	if !(l.open > 0) || !(l.top > 0) || l.open < lowest {
		return cell.Point{}
	}
	k := thin(l.addKinks(append(w.kinks[:0], 0)), 1e-6)
	w.kinks = k
	w.bounds = append(w.bounds[:0], 0)
	for n := 1; n < len(k); n++ {
		w.bounds = append(w.bounds, k[n]*math.Min(l.open, l.ceiling(k[n-1])))
	}
	s := stretch{line: l, series: series, lowest: lowest}
	if l.share > 0 { // where the last best stood, much of the rest need not be looked at
		i := l.share * l.top
		v, _ := s.look(i)
		under(w.bounds, k, i, v)
	}
	for {
		at, most := 0, s.most*(1+1e-6)
		for n, b := range w.bounds {
			if b > most {
				at, most = n, b
			}
		}
		if at == 0 {
			l.share = s.best.Current.Amperes() / l.top
			return s.best
		}
		w.bounds[at] = 0
		under(w.bounds, k, k[at-1], s.search(k[at-1], k[at]))
	}
}

// ceiling returns an upper bound of the string's volts above current i.
func (l *line) ceiling(i float64) float64 {
	sum := 0.0
	for m := range l.elements {
		e := &l.elements[m]
		if e.reversed {
			continue
		}
		for g := range e.groups {
			if gr := &e.groups[g]; i < gr.take*(1-1e-6) {
				sum += gr.open * gr.times
			}
		}
	}
	return sum
}

// stretch searches stretches between two kinks for a string's highest power.
type stretch struct {
	line           *line
	series, lowest float64
	best           cell.Point
	most           float64
}

// look returns the volts at current i and the slope of power there, and keeps the point when it is the best.
func (s *stretch) look(i float64) (v, slope float64) {
	v, r := s.line.at(i)
	v -= i * s.series
	if p := v * i; p > s.most && v >= s.lowest {
		s.best, s.most = cell.Point{Voltage: quantity.Voltage(v), Current: quantity.Current(i)}, p
	}
	return v, v - i*(s.series+r)
}

// search looks for the peaks of a stretch and returns the volts at its beginning.
func (s *stretch) search(a, b float64) float64 {
	from := a * (1 + near)
	first, slope := s.look(from)
	if b*first <= s.most*(1+1e-6) || first < s.lowest {
		return first
	}
	// Power bends one way only, unless cells are driven backwards or diodes turn on softly.
	places := 1
	if s.line.backwards(b) {
		places = len(shares)
		if b-a < 0.02*b {
			places = 2
		}
		if slope <= 0 {
			from = a + past*(b-a)
			_, slope = s.look(from)
		}
	}
	for p := 1; p <= places; p++ {
		x := b * (1 - near)
		if p < places {
			x = a + (b-a)*shares[p]
		}
		u, d := s.look(x)
		if slope > 0 && d <= 0 {
			s.climb(from, x, slope, d)
		}
		if b*u <= s.most*(1+1e-6) {
			break
		}
		from, slope = x, d
	}
	return first
}

// climb goes to the peak between two currents, from slopes of both signs.
func (s *stretch) climb(a, b, da, db float64) {
	w := bracket{a, b, da, db, 0}
	for range 40 {
		i := w.next()
		v, d := s.look(i)
		if math.Abs(d) <= 1e-3*v || w.b-w.a <= 1e-7*w.b {
			return
		}
		w.take(i, d)
	}
}

// backwards reports whether below current i any cells give less without being bypassed, or bypass diodes
// have a curve.
func (l *line) backwards(i float64) bool {
	for m := range l.elements {
		e := &l.elements[m]
		if e.reversed {
			continue
		}
		for g := range e.groups {
			if gr := &e.groups[g]; gr.weakest < i && (i <= gr.take*(1+1e-6) || e.diode.is > 0) {
				return true
			}
		}
	}
	return false
}

// root returns the point between two currents at which the slope of power, falling, is zero; ok is false
// where the power is not above zero.
func (l *line) root(series, a, b, da, db float64) (p cell.Point, ok bool) {
	w := bracket{a, b, da, db, 0}
	i, v := a, 0.0
	for range 60 {
		i = w.next()
		u, r := l.at(i)
		v = u - i*series
		d := v - i*(series+r)
		if math.Abs(d) <= 1e-7*v || w.b-w.a <= 1e-9*w.b {
			break
		}
		w.take(i, d)
	}
	return cell.Point{Voltage: quantity.Voltage(v), Current: quantity.Current(i)}, v > 0 && i > 0
}

// bracket holds a root of a falling function between a and b: false position, the slope of an end that stays
// halved, which keeps both ends moving. Its caller looks at the places, so that no function is passed and
// nothing allocated.
type bracket struct {
	a, b, da, db float64
	side         int
}

// next returns the place to look at.
func (w *bracket) next() float64 {
	if x := (w.a*w.db - w.b*w.da) / (w.db - w.da); x > w.a && x < w.b {
		return x
	}
	return (w.a + w.b) / 2
}

// take moves an end to x, where the function is d.
func (w *bracket) take(x, d float64) {
	if d > 0 {
		w.a, w.da = x, d
		if w.side > 0 {
			w.db /= 2
		}
		w.side = 1
		return
	}
	w.b, w.db = x, d
	if w.side < 0 {
		w.da /= 2
	}
	w.side = -1
}

// highest returns the point of highest power, zero without one.
func highest(points []cell.Point) cell.Point {
	var best cell.Point
	for _, p := range points {
		if p.Power() > best.Power() {
			best = p
		}
	}
	return best
}
