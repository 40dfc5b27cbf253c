package diagnose

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime/debug"
	"strings"
	"sync"
	"testing"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/testkit"
)

// works finds the point of the sweep at which the charger works the array.
func (c *truth) works() {
	c.at = -1
	ch := &c.build.Chargers[0]
	s := c.seen
	if c.stopped || s.arrayOpen < c.battery+c.start {
		return
	}
	if c.track > 0 {
		for k := range s.v {
			if s.v[k] >= c.track {
				c.at = k
				return
			}
		}
		return
	}
	best := 0.0
	for k := range s.v {
		if p := s.v[k] * s.i[k]; s.v[k] >= c.battery+ch.RunMargin.Volts() && p > best {
			best, c.at = p, k
		}
	}
	if c.at >= 0 && c.hold < 1 {
		most := s.i[c.at]
		for c.at+1 < len(s.i) && s.i[c.at] > c.hold*most {
			c.at++
		}
	}
}

// read returns what the meter shows of a key.
func (c *truth) read(r *rand.Rand, k key) Reading {
	s := c.seen
	out := Reading{Kind: k.kind}
	ch := &c.build.Chargers[0]
	module := -1
	if k.line >= 0 {
		st := &c.build.Strings[ch.Strings[k.line]]
		out.At = st.Name
		if facts[k.kind].at == ofModule {
			module = st.Modules[k.index]
			out.At = c.build.Modules[module].Name
		}
		out.Joint = max(0, k.index)
	}
	rows, panel := []int{k.line}, k.index
	if n := len(c.world.rows); n != len(ch.Strings) && k.line >= 0 { // wired otherwise than drawn
		series := len(c.build.Strings[0].Modules)
		if n == 1 {
			rows, panel = []int{0}, k.line
		} else {
			rows = nil
			for i := range series {
				rows = append(rows, k.line*series+i)
			}
			if panel >= 0 && k.kind != JointDrop {
				rows, panel = rows[panel:panel+1], 0
			}
		}
	}
	working := func(v func(at int) float64, open float64) float64 {
		if c.at < 0 {
			return open
		}
		return v(c.at)
	}
	sum := func(v func(row int) float64) float64 {
		t := 0.0
		for _, w := range rows {
			t += v(w)
		}
		return t
	}
	last := len(s.v) - 1
	v := 0.0
	switch k.kind {
	case ModuleOpen:
		v = s.moduleOpen[rows[0]][panel]
	case ModuleShort:
		v = s.moduleShort[rows[0]][panel]
	case CoveredShort:
		v = s.covered[rows[0]][panel]
	case StringCovered:
		all := sum(func(w int) float64 { return s.stringShort[w] })
		v = all
		for _, w := range rows {
			if i := all - s.stringShort[w] + s.stringCovered[w]; math.Abs(i) < math.Abs(v) {
				v = i
			}
		}
	case StringOpen:
		v = s.stringOpen[rows[0]]
	case StringShort:
		v = sum(func(w int) float64 { return s.stringShort[w] })
	case ArrayOpen:
		v = s.arrayOpen
	case ArrayShort:
		v = s.arrayShort
	case WorkVoltage:
		v = working(func(at int) float64 { return s.v[at] }, s.arrayOpen)
	case WorkCurrent:
		v = working(func(at int) float64 { return s.i[at] }, 0)
	case StringCurrent:
		v = working(func(at int) float64 { return sum(func(w int) float64 { return s.lines[w][at] }) }, sum(func(w int) float64 { return s.lines[w][last] }))
	case ModuleVoltage:
		v = working(func(at int) float64 { return s.over[rows[0]][panel][at] }, s.over[rows[0]][panel][last])
	case JointDrop:
		v = 0.002
		if len(c.world.rows) == len(ch.Strings) {
			v = working(func(at int) float64 { return s.joints[k.line][k.index][at] }, s.joints[k.line][k.index][last])
		}
	case BatteryVoltage:
		v = c.battery
	case BatteryCurrent:
		v = working(func(at int) float64 { return c.loss * s.v[at] * s.i[at] * (0.955 + 0.01*r.NormFloat64()) / c.battery }, 0)
	case BatteryWarmth:
		v = c.batteryWarm
	case InputFuse, BatteryFuse:
		v = 0.02 + 0.2*r.Float64()
		if k.kind == InputFuse && c.inputFuse || k.kind == BatteryFuse && c.outFuse {
			v = math.Inf(1)
		}
	case FrameResistance:
		v = c.frame[module]
	case ChassisResistance:
		v = c.chassis
		for _, f := range c.frame {
			v = math.Min(v, f)
		}
	case BoxWarmer:
		v = c.box[module]
		if c.diode == module {
			v += (6 + 4*r.Float64()) * 0.42 * working(func(at int) float64 { return s.lines[rows[0]][at] }, 0)
		}
	case SpotWarmer:
		v = c.spot[module]
	case SeenShadow:
		v = yes(c.shadow[module])
	case SeenDirt:
		v = yes(c.dirt[module])
	case MeterRight:
		v = yes(c.mistaken == (r.Float64() < 0.02))
	}
	return c.noise(r, k.kind, v, out)
}

func yes(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// noise is the meter: a gain error within its class, digits, and its own faults.
func (c *truth) noise(r *rand.Rand, k Kind, v float64, out Reading) Reading {
	flat := func() float64 { return 2*r.Float64() - 1 }
	switch facts[k].direct {
	case 'V':
		if v = v * c.voltGain; c.voltOver {
			out.Over = true
			return out
		}
	case 'A':
		if v *= c.ampGain; c.ampDead {
			v = 0
		}
	}
	switch k {
	case ModuleShort, CoveredShort, StringShort, StringCovered, ArrayShort:
		v = math.Round(100*(v*(1+0.015*flat())+0.03*flat()*yes(!c.ampDead))) / 100
	case WorkCurrent, StringCurrent, BatteryCurrent:
		v = math.Round(100*(v*(1+0.025*flat())+0.05*flat()+c.clamp)) / 100
	case BatteryWarmth, BoxWarmer, SpotWarmer:
		v = math.Round(v + 2*flat())
	case InputFuse, BatteryFuse, FrameResistance, ChassisResistance:
		if v > 4e7 {
			out.Over = true
			return out
		}
		v *= 1 + 0.05*flat()
	case SeenShadow, SeenDirt, MeterRight:
	case JointDrop:
		v = math.Round(1000*(v*(1+0.005*flat())+0.002*flat())) / 1000
	default:
		v = math.Round(100*(v*(1+0.005*flat())+0.02*flat())) / 100
	}
	out.Value = v
	return out
}

// begin is what is read first: what needs little, then each module and string.
func (c *truth) begin() []key {
	out := []key{{WorkVoltage, 0, -1, -1}, {WorkCurrent, 0, -1, -1}, {BatteryVoltage, 0, -1, -1}, {BatteryCurrent, 0, -1, -1}, {ArrayOpen, 0, -1, -1}}
	for l, s := range c.build.Chargers[0].Strings {
		out = append(out, key{StringCurrent, 0, l, -1}, key{StringOpen, 0, l, -1}, key{StringShort, 0, l, -1})
		for m := range c.build.Strings[s].Modules {
			for _, k := range []Kind{ModuleOpen, ModuleShort, SeenShadow, SeenDirt} {
				out = append(out, key{k, 0, l, m})
			}
		}
	}
	return out
}

// follow reads what is asked first, then what the answer asks for next, at most so many times.
func (c *truth) follow(r *rand.Rand, most int) (*Answer, []Reading, error) {
	var readings []Reading
	for _, k := range c.begin() {
		readings = append(readings, c.read(r, k))
	}
	s, err := Start(c.build, readings, c.given)
	if err != nil {
		return nil, readings, err
	}
	a := s.Answer()
	for range most {
		if len(a.Next) == 0 {
			break
		}
		for _, k := range c.places(a.Next[0]) {
			readings = append(readings, c.read(r, k))
			if err := s.Add(readings[len(readings)-1]); err != nil {
				return nil, readings, err
			}
		}
		a = s.Answer()
	}
	return a, readings, nil
}

// places are where a test is taken: a look or a probe is taken at all like places.
func (c *truth) places(t Test) []key {
	if !t.Sweep {
		return []key{keyOf(c, t)}
	}
	var out []key
	for l, s := range c.build.Chargers[0].Strings {
		modules := len(c.build.Strings[s].Modules)
		switch {
		case t.Kind == JointDrop:
			for j := range modules + 1 {
				out = append(out, key{t.Kind, 0, l, j})
			}
		case facts[t.Kind].at == ofString:
			out = append(out, key{t.Kind, 0, l, -1})
		default:
			for m := range modules {
				out = append(out, key{t.Kind, 0, l, m})
			}
		}
	}
	return out
}

// keyOf is a test's address.
func keyOf(c *truth, t Test) key {
	k := key{t.Kind, 0, -1, -1}
	for l, s := range c.build.Chargers[0].Strings {
		st := &c.build.Strings[s]
		if facts[t.Kind].at == ofString && st.Name == t.At {
			k.line = l
			if t.Kind == JointDrop {
				k.index = t.Joint
			}
		}
		for m, mod := range st.Modules {
			if facts[t.Kind].at == ofModule && c.build.Modules[mod].Name == t.At {
				k.line, k.index = l, m
			}
		}
	}
	return k
}

// is reports whether a cause is the true one, place included.
func (c *truth) is(a Cause, f Fault) bool {
	if a.Fault != f {
		return false
	}
	return c.where == "" || strings.HasSuffix(a.Where, " "+c.where) || strings.Contains(a.Where, "string "+c.where)
}

// tally is what came of the cases.
type tally struct {
	listed, first, third int
	healthy, accused     int
	unlisted, none       int
	double, either       int
	drawn                map[Fault]int // cases of one fault or none, as drawn
	given                []givenCause
	slowest              time.Duration
	failed               int
	by                   map[Fault][3]int
	notes                []string
}

// study runs so many cases of a seed, simulated some at a time, two at once.
func study(t testing.TB, seed uint64, cases, tests int) *tally {
	const batch = 40
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // many small circuits, short-lived
	program := testkit.Ngspice(t)
	var mu sync.Mutex
	out := &tally{by: map[Fault][3]int{}, drawn: map[Fault]int{}}
	work := make(chan int)
	var wg sync.WaitGroup
	for range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for first := range work {
				var drawn []*drawnCase
				var worlds []asked
				for n := first; n < min(cases, first+batch); n++ {
					d := drawCase(seed, n)
					drawn = append(drawn, d)
					worlds = append(worlds, d.asked)
				}
				for k, seen := range simulate(t, program, worlds, 100) {
					drawn[k].seen = seen
					out.one(t, &mu, seed, drawn[k], tests)
				}
			}
		}()
	}
	for n := 0; n < cases; n += batch {
		work <- n
	}
	close(work)
	wg.Wait()
	return out
}

// drawnCase is a case with its source of chance and its number.
type drawnCase struct {
	*truth
	asked
	r *rand.Rand
	n int
}

// drawCase draws a case: of twenty, twelve single faults, three healthy, two double, three not on the list.
func drawCase(seed uint64, n int) *drawnCase {
	r := rand.New(rand.NewPCG(seed, uint64(n)))
	c := newCase(r)
	kind := n % 20
	one := func() Fault {
		for {
			f := OpenCell + Fault(r.IntN(int(faults-OpenCell)))
			if kind >= 15 && f == WrongWiring {
				continue // two faults are put in as drawn
			}
			if c.inflict(r, f) {
				return f
			}
		}
	}
	switch {
	case kind < 12:
		c.fault = one()
	case kind < 15:
	case kind < 17:
		c.fault = one()
		c.second = one()
	default:
		c.unlisted(r)
	}
	return &drawnCase{truth: c, asked: asked{c.world, bypassDiode{1e-6 * math.Exp(r.NormFloat64()), 1 + 0.1*r.Float64(), 0.01 * r.Float64()}, 1e3}, r: r, n: n}
}

// one has one case diagnosed, and counts what came of it.
func (o *tally) one(t testing.TB, mu *sync.Mutex, seed uint64, d *drawnCase, tests int) {
	c, r, n, kind := d.truth, d.r, d.n, d.n%20
	mu.Lock()
	defer mu.Unlock()
	if c.seen == nil {
		o.failed++
		o.notes = append(o.notes, fmt.Sprintf("case %d, %v: not simulated", n, c.fault))
		return
	}
	if c.start > 30 {
		c.start = c.seen.arrayOpen - c.battery + 0.2 + 2*r.Float64()
	}
	c.works()
	begin := time.Now()
	mu.Unlock()
	a, readings, err := c.follow(r, tests)
	mu.Lock()
	if d := time.Since(begin); d > o.slowest {
		o.slowest = d
	}
	if err != nil {
		t.Errorf("seed %d, case %d: %v", seed, n, err)
		return
	}
	if kind < 15 || kind > 16 {
		o.drawn[c.fault]++
		for _, x := range a.Causes {
			o.given = append(o.given, givenCause{x.Probability.Float(), c.is(x, c.fault), c.fault})
		}
	}
	rank := 99
	for k, x := range a.Causes {
		if c.is(x, c.fault) {
			rank = k
			break
		}
	}
	switch {
	case kind < 12:
		o.listed++
		x := o.by[c.fault]
		x[0]++
		if rank == 0 {
			o.first++
			x[1]++
		}
		if rank < 3 {
			o.third++
			x[2]++
		}
		o.by[c.fault] = x
		if rank > 0 {
			o.notes = append(o.notes, fmt.Sprintf("case %d, %s %dx%d, %v at %q: rank %d, first %v at %q %.2f, fit %.3g, %v, %d readings %s", n, c.build.Types[0].Name, len(c.build.Strings), len(c.build.Strings[0].Modules), c.fault, c.where, rank, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, len(readings), odd(a, readings)))
		}
	case kind < 15:
		o.healthy++
		if a.Causes[0].Fault != Healthy || a.Verdict == NoneFits {
			o.accused++
			o.notes = append(o.notes, fmt.Sprintf("case %d, %s healthy: accused of %v at %q %.2f, fit %.3g, %v %s", n, c.build.Types[0].Name, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, odd(a, readings)))
		}
	case kind < 17:
		o.double++
		if a.Causes[0].Fault == c.fault || a.Causes[0].Fault == c.second {
			o.either++
		}
	default:
		o.unlisted++
		if a.Verdict == NoneFits {
			o.none++
		} else {
			o.notes = append(o.notes, fmt.Sprintf("case %d, not on the list: first %v at %q %.2f, fit %.3g, %v %s", n, a.Causes[0].Fault, a.Causes[0].Where, a.Causes[0].Probability.Float(), a.Fit.Float(), a.Verdict, odd(a, readings)))
		}
	}
}

// givenCause is a cause as an answer gave it, in a case of a fault.
type givenCause struct {
	said  float64
	true  bool
	fault Fault
}

// calibration counts how often causes were true by the probability they were given. The cases are drawn
// evenly over the faults; each counts as often as its fault's prior says.
func (o *tally) calibration() []Calibration {
	out := Calibrated()
	for k := range out {
		b := &out[k]
		sum, squares, said, right := 0.0, 0.0, 0.0, 0.0
		for _, g := range o.given {
			if g.said < b.From.Float() || g.said >= b.To.Float() && b.To < 1 {
				continue
			}
			w := causes[g.fault].prior / float64(o.drawn[g.fault])
			sum, squares, said = sum+w, squares+w*w, said+w*g.said
			if g.true {
				right += w
			}
		}
		if sum > 0 {
			b.Said, b.True, b.Causes = quantity.Ratio(said/sum), quantity.Ratio(right/sum), sum*sum/squares
		}
	}
	return out
}

// report prints the rates and the calibration.
func (o *tally) report(t testing.TB) {
	t.Helper()
	pc := func(a, b int) float64 { return 100 * float64(a) / math.Max(1, float64(b)) }
	t.Logf("listed single faults %d: first %.1f %%, in the first three %.1f %%", o.listed, pc(o.first, o.listed), pc(o.third, o.listed))
	t.Logf("healthy %d: accused %.1f %%", o.healthy, pc(o.accused, o.healthy))
	t.Logf("not on the list %d: none of these fits %.1f %%", o.unlisted, pc(o.none, o.unlisted))
	t.Logf("double faults %d: one of the two first %.1f %%", o.double, pc(o.either, o.double))
	for f := range faults {
		if x := o.by[f]; x[0] > 0 {
			t.Logf("  %-50s %3d: first %3d, third %3d", f, x[0], x[1], x[2])
		}
	}
	for _, b := range o.calibration() {
		t.Logf("  causes given %.0f to %.0f %%, mean %.1f %%: true %.1f %% of %.0f", b.From.Percent(), b.To.Percent(), b.Said.Percent(), b.True.Percent(), b.Causes)
	}
	t.Logf("slowest diagnosis with all its tests %v; %d not simulated", o.slowest, o.failed)
}

// odd lists the readings that the first cause does not explain, and the last ones.
func odd(a *Answer, readings []Reading) string {
	out := ""
	for _, p := range a.Causes[0].Predicted {
		if r := readings[p.Reading]; math.Abs(p.Distance) > 2.5 {
			out += fmt.Sprintf(" [%v %s %.4g said %.4g]", r.Kind, r.At, r.Value, p.Value)
		}
	}
	for _, r := range readings[max(0, len(readings)-6):] {
		out += fmt.Sprintf(" (%v %s %.4g)", r.Kind, r.At, r.Value)
	}
	return out
}
