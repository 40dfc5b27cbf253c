package bench

import (
	"fmt"
	"math"
	"sort"
	"time"

	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
	"noonmark/internal/physics/sun"
)

// Contestant is a module in a comparison, with its label.
type Contestant struct {
	Module string
	Kind   *build.ModuleType
}

// Pair is one comparison of two modules within minutes.
type Pair struct {
	Time  time.Time
	A, B  float64        // A as interpolated to B's time; V, A or W
	Ratio quantity.Ratio // B over A, each per its label, temperature corrected where both are known
	Left  bool           // left out: the light changed
	place string
}

// PairOutcome is the comparison of two modules.
type PairOutcome struct {
	A, B     string
	Quantity string
	Pairs    []Pair
	Used     int
	Ratio    quantity.Ratio // mean of B over A, each per its label
	Raw      quantity.Ratio // the same in watts or amperes, labels not counted
	Budget   Budget
	Better   string // the module that gives more, beyond doubt; empty: not shown
	Says     string
	Settle   string
	Swapped  bool
	Findings []Finding
}

// farthest is the longest time between a reading of A and the reading of B it stands beside.
const farthest = 10 * time.Minute

// unsteady is the change of A, the sun's own drift taken off, beyond which a pair is left out. Source:
// handbook E5, 2 % between readings, common practice.
const unsteady = 0.02

// Drift returns by how much the sun's beam on a plane changes in a minute at an instant, relative to what
// it is, from the geometry alone; 0 where the sun does not shine on it. On a level plane at an equinox it
// is 0.25° times the tangent of the hour angle.
func Drift(p build.Place, at time.Time, facing shape.Facing) quantity.Ratio {
	cos := func(t time.Time) float64 {
		return sun.At(t, sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}).CosIncidence(facing).Float()
	}
	before, after := cos(at.Add(-30*time.Second)), cos(at.Add(30*time.Second))
	if before <= 0.02 || after <= 0.02 {
		return 0
	}
	return quantity.Ratio(2 * (after - before) / (after + before))
}

// value returns a sample's reading of a quantity, its sign dropped.
func (s *Sample) value(q string) (float64, bool) {
	switch {
	case q == Power && s.Watts != nil && !isProduct(s):
		return math.Abs(s.Watts.Watts()), *s.Watts != 0
	case q == Power && s.Volts != nil && s.Amps != nil:
		return math.Abs(s.Volts.Volts() * s.Amps.Amperes()), *s.Amps != 0 && *s.Volts != 0
	case q == ShortAmps && s.Short != nil:
		return math.Abs(s.Short.Amperes()), *s.Short != 0
	case q == OpenVolts && s.Open != nil:
		return math.Abs(s.Open.Volts()), *s.Open != 0
	}
	return 0, false
}

// isProduct reports whether a sample's watts are Voc times Isc.
func isProduct(s *Sample) bool {
	if s.Open == nil || s.Short == nil {
		return false
	}
	p := math.Abs(s.Open.Volts() * s.Short.Amperes())
	return math.Abs(math.Abs(s.Watts.Watts())-p) < 0.02*p
}

// label returns what a type's label says of a quantity, and its slope with temperature.
func label(k *build.ModuleType, q string) (float64, float64) {
	switch q {
	case ShortAmps:
		return k.Isc.Amperes(), k.IscCoefficient.PerKelvin()
	case OpenVolts:
		return k.Voc.Volts(), k.VocCoefficient.PerKelvin()
	}
	return k.Pmax.Watts(), k.PmaxCoefficient.PerKelvin()
}

// comparison is a comparison under way.
type comparison struct {
	a, b Contestant
	set  Setting
	out  PairOutcome
	warm float64 // mean difference of the backs, K
	both int     // pairs with both backs known
}

// Compare returns how module b stands to module a by readings taken in turns: each reading of b against a's
// before and after it, interpolated to its time, which cancels the drift of the sun and the gain of the
// one meter. Power is compared where it makes a pair, else Isc, else Voc.
//
// A pair is left out where a's two readings differ by 2 % more than the sun's own drift: a cloud. Where
// both backs are known the ratio is brought to one temperature. The interval of the mean is by Student; one
// pair shows no scatter and three are the least that may decide. Places that were not changed leave 1° of
// doubt in the angle. Samples of one module and quantity at least once before and after the other's are
// needed, within ten minutes: else there is no pair.
func Compare(a, b Contestant, samples []Sample, set Setting) PairOutcome {
	if set.Meters == (Meters{}) {
		set.Meters, _ = MetersOf("")
	}
	c := &comparison{a: a, b: b, set: set, out: PairOutcome{A: a.Module, B: b.Module}}
	for _, q := range []string{Power, ShortAmps, OpenVolts} {
		sa, sb := readings(samples, a.Module, q), readings(samples, b.Module, q)
		if len(sa) == 0 || len(sb) == 0 {
			continue
		}
		c.out.Quantity = q
		c.out.Pairs = nil
		c.pairs(sa, sb, q)
		if len(c.out.Pairs) > 0 {
			c.sum(q, sa, sb)
			return c.out
		}
	}
	c.out.Says = "no reading of one stands between two of the other within ten minutes: the sun's drift cannot be taken out"
	c.out.Settle = "A, B, A, B, A … a minute apart, with the same meter and leads"
	return c.out
}

// readings returns a module's samples of a quantity by time; those of a test of its own are left out.
func readings(samples []Sample, module, q string) []Sample {
	var out []Sample
	for _, s := range samples {
		if _, ok := s.value(q); ok && s.Module == module && s.Kind == "" && !s.Time.IsZero() {
			out = append(out, s)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Time.Before(out[j].Time) })
	return out
}

// pairs makes the pairs: b between two of a; where there is none, a between two of b.
func (c *comparison) pairs(sa, sb []Sample, q string) {
	for i := range sb {
		if p, ok := c.between(sa, &sb[i], q, false); ok {
			c.out.Pairs = append(c.out.Pairs, p)
		}
	}
	if len(c.out.Pairs) == 0 {
		for i := range sa {
			if p, ok := c.between(sb, &sa[i], q, true); ok {
				c.out.Pairs = append(c.out.Pairs, p)
			}
		}
	}
}

// between compares one sample of a module with those of the other about it. turned: it is a's.
func (c *comparison) between(others []Sample, s *Sample, q string, turned bool) (Pair, bool) {
	after := sort.Search(len(others), func(i int) bool { return !others[i].Time.Before(s.Time) })
	if after == len(others) {
		return Pair{}, false
	}
	before := after - 1
	if others[after].Time.Equal(s.Time) {
		before = after // at the same moment, on two meters
	}
	if before < 0 {
		return Pair{}, false
	}
	x, y := &others[before], &others[after]
	if s.Time.Sub(x.Time) > farthest || y.Time.Sub(s.Time) > farthest {
		return Pair{}, false
	}
	vx, _ := x.value(q)
	vy, _ := y.value(q)
	v, _ := s.value(q)
	w, span := 0.0, y.Time.Sub(x.Time).Minutes()
	if span > 0 {
		w = s.Time.Sub(x.Time).Minutes() / span
	}
	mid := vx + w*(vy-vx)
	expected := 0.0
	if c.set.Place != nil && q != OpenVolts {
		expected = Drift(*c.set.Place, s.Time, c.set.Facing).Float() * span
	}
	p := Pair{Time: s.Time, A: mid, B: v, Left: math.Abs(math.Log(vy/vx)-expected) > unsteady, place: s.Position}
	if turned {
		p.A, p.B, p.place = v, mid, x.Position
	}
	la, ka := label(c.a.Kind, q)
	lb, kb := label(c.b.Kind, q)
	ratio := p.B / lb / (p.A / la)
	if s.Back != nil && x.Back != nil && y.Back != nil {
		own := s.Back.Celsius()
		other := x.Back.Celsius() + w*(y.Back.Celsius()-x.Back.Celsius())
		ta, tb := other, own
		if turned {
			ta, tb = own, other
		}
		ratio *= (1 + ka*(ta-25)) / (1 + kb*(tb-25))
		c.warm += tb - ta
		c.both++
	}
	p.Ratio = quantity.Ratio(ratio)
	return p, true
}

func (c *comparison) say(kind, settle, format string, args ...any) {
	c.out.Findings = append(c.out.Findings, Finding{Module: c.b.Module, Kind: kind, Text: fmt.Sprintf(format, args...), Settles: settle})
}

// sum brings the pairs together.
func (c *comparison) sum(q string, sa, sb []Sample) {
	o := &c.out
	byPlace := map[string][]float64{}
	var used []float64
	var mid time.Time
	size := 0.0
	for _, p := range o.Pairs {
		if p.Left {
			continue
		}
		used = append(used, p.Ratio.Float())
		byPlace[p.place] = append(byPlace[p.place], p.Ratio.Float())
		mid = p.Time
		size = p.B
	}
	o.Used = len(used)
	if left := len(o.Pairs) - o.Used; left > 0 {
		c.say("cloud", "a steady sky", "%d of %d pairs are left out: between the readings of %s the light changed by more than 2 %%", left, len(o.Pairs), c.a.Module)
	}
	if o.Used == 0 {
		o.Says = "the light changed in every pair: nothing is shown"
		o.Settle = "a steady sky, readings a minute apart"
		return
	}
	mean, spread := meanSpread(used)
	delete(byPlace, "")
	o.Swapped = len(byPlace) >= 2
	if o.Swapped { // the places weigh alike
		mean = 0
		spread = 0
		n := 0.0
		for _, r := range byPlace {
			m, s := meanSpread(r)
			mean += m / float64(len(byPlace))
			spread += s * s * float64(len(r)-1)
			n += float64(len(r) - 1)
		}
		if n > 0 {
			spread = math.Sqrt(spread / n)
		} else {
			_, spread = meanSpread(used)
		}
	}
	o.Ratio = quantity.Ratio(mean)
	la, ka := label(c.a.Kind, q)
	lb, _ := label(c.b.Kind, q)
	o.Raw = quantity.Ratio(mean * lb / la)
	o.Budget = Combine(c.parts(q, spread, size, mid, ka, sa, sb), level95)
	c.decide()
}

// parts lists the contributions.
func (c *comparison) parts(q string, spread, size float64, mid time.Time, slope float64, sa, sb []Sample) []Part {
	o := &c.out
	n := float64(o.Used)
	var parts []Part
	if o.Used > 1 {
		parts = append(parts, Part{Name: "scatter of the pairs", Standard: quantity.Ratio(spread / math.Sqrt(n)), Freedom: n - 1})
	} else {
		parts = append(parts, Part{Name: "scatter, not seen", Standard: 1 * quantity.Percent})
	}
	m := c.set.Meters
	fixed := map[string]float64{Power: m.WattsFixed.Watts(), ShortAmps: m.AmpsFixed.Amperes() / 3, OpenVolts: m.VoltsFixed.Volts() / 3}[q]
	parts = append(parts, Part{Name: "last digit of the meter", Standard: Bound(quantity.Ratio(math.Sqrt2 * fixed / size / math.Sqrt(n)))})
	if sa[0].Instrument != sb[0].Instrument {
		gain := map[string]quantity.Ratio{Power: m.Watts, ShortAmps: m.Amps, OpenVolts: m.Volts}[q]
		parts = append(parts, Part{Name: "two meters", Standard: Bound(quantity.Ratio(math.Sqrt2 * gain.Float()))})
		c.say("two meters", "one meter for both, or the meters changed over half way", "%s and %s were read with different instruments: their gains do not cancel", c.a.Module, c.b.Module)
	}
	if c.both == len(o.Pairs) {
		dt := c.warm / float64(c.both)
		parts = append(parts, Part{Name: "temperature of the backs", Standard: quantity.Ratio(math.Abs(slope) * math.Hypot(0.7, 0.15*dt))})
		if math.Abs(dt) > 5 {
			c.say("not the same temperature", "both in the same sun and wind for ten minutes", "the back of %s is %+.0f K against %s: the ratio is brought to one temperature by the label's slope, %.1f %%", c.b.Module, dt, c.a.Module, 100*math.Abs(slope*dt))
		}
	} else {
		parts = append(parts, Part{Name: "temperatures not read", Standard: Bound(quantity.Ratio(math.Abs(slope) * 4))})
		c.say("temperature not read", "a sensor on each back", "the backs were not read in every pair: 4 K of difference stand in the budget, %.1f %%", 100*math.Abs(slope*4))
	}
	if q != OpenVolts && !o.Swapped {
		incidence := math.Pi / 4
		if c.set.Place != nil {
			p := *c.set.Place
			cos := sun.At(mid, sun.Site{Latitude: p.Latitude, Longitude: p.Longitude, Elevation: p.Elevation}).CosIncidence(c.set.Facing).Float()
			incidence = math.Acos(math.Max(0.17, math.Min(1, cos)))
		}
		parts = append(parts, Part{Name: "places not changed, 1° of tilt", Standard: Bound(quantity.Ratio(math.Pi / 180 * math.Tan(incidence)))})
		c.say("places not changed", "half of the pairs with the modules in each other's place", "the modules kept their places: a degree of tilt between them is %.1f %% at this sun", 100*math.Pi/180*math.Tan(incidence))
	}
	if c.a.Kind != c.b.Kind && thinFilm(c.a.Kind.Technology) != thinFilm(c.b.Kind.Technology) {
		parts = append(parts, Part{Name: "spectrum, two technologies", Standard: 1 * quantity.Percent})
	}
	return parts
}

// pairsOf returns "1 pair", "3 pairs".
func pairsOf(n int) string {
	if n == 1 {
		return "1 pair"
	}
	return fmt.Sprintf("%d pairs", n)
}

// decide says what the comparison shows.
func (c *comparison) decide() {
	o := &c.out
	r, u := o.Ratio.Float(), o.Budget.Expanded.Float()
	per := ""
	if c.a.Kind != c.b.Kind {
		per = ", each per its own label"
	}
	head := fmt.Sprintf("%s gives %.1f %% ± %.1f %% of %s's %s%s, by %s", o.B, 100*r, 100*u, o.A, o.Quantity, per, pairsOf(o.Used))
	switch {
	case o.Used < 3:
		o.Says = head + ": fewer than three pairs decide nothing"
		o.Settle = "five pairs or more, places changed half way"
		return
	case r-u > 1:
		o.Better = o.B
	case r+u < 1:
		o.Better = o.A
	}
	if o.Better != "" {
		o.Says = head + ": " + o.Better + " gives more, here and now"
	} else {
		o.Says = head + ": no difference is shown"
		if len(o.Budget.Parts) > 0 {
			o.Settle = map[string]string{"scatter of the pairs": "more pairs under a steadier sky", "two meters": "one meter for both", "temperatures not read": "a sensor on each back",
				"places not changed, 1° of tilt": "half of the pairs with the modules in each other's place"}[o.Budget.Parts[0].Name]
		}
	}
	if o.Used < 5 {
		c.say("few pairs", "five pairs or more", "%d pairs: the interval is wide because so few show little of the scatter", o.Used)
	}
	c.say("does not show", "", "one sample of each make, in this light and heat: it says nothing of other samples, of dim light, or of years to come")
}
