package bench

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
)

// turns makes readings of two modules in turns, b being better by ratio, under light that drifts a minute,
// by a meter of a gain.
func turns(n int, ratio, drift, gain, noise float64, r *rand.Rand) []Sample {
	var out []Sample
	for k := range n {
		w := 80 * math.Exp(drift*float64(k)) * gain * (1 + noise*r.NormFloat64())
		name := "A"
		if k%2 == 1 {
			name, w = "B", w*ratio
		}
		place := "left"
		if (k%2 == 1) != (k >= n/2) {
			place = "right"
		}
		out = append(out, Sample{Time: midday.Add(time.Duration(k) * time.Minute), Module: name, Position: place, Watts: ptr(quantity.Power(w)), Back: ptr(quantity.Celsius(48))})
	}
	return out
}

// The ratio of modules read in turns does not depend on the drift of the light or the gain of the meter,
// and turns about with the modules.
func TestTurns(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	m := mono()
	a, b := Contestant{"A", m}, Contestant{"B", m}
	for _, drift := range []float64{0, 0.002, -0.004} {
		for _, gain := range []float64{0.9, 1, 1.1} {
			o := Compare(a, b, turns(13, 0.95, drift, gain, 0, r), outside)
			if math.Abs(o.Ratio.Float()-0.95) > 2e-4 {
				t.Errorf("drift %v, gain %v: ratio %v, want 0.95", drift, gain, o.Ratio)
			}
			if o.Used != 6 || !o.Swapped || o.Better != "A" {
				t.Errorf("drift %v: %d pairs used, swapped %v, better %q", drift, o.Used, o.Swapped, o.Better)
			}
			back := Compare(b, a, turns(13, 0.95, drift, gain, 0, r), outside)
			if math.Abs(back.Ratio.Float()*0.95-1) > 5e-4 {
				t.Errorf("turned about: %v", back.Ratio)
			}
		}
	}
}

// The interval of the comparison holds the true ratio in about 95 of 100 cases: never in fewer than 92.
func TestTurnsCover(t *testing.T) {
	const seed, cases = 5, 400
	r := rand.New(rand.NewPCG(seed, 2))
	m := mono()
	held, decided := 0, 0
	for range cases {
		o := Compare(Contestant{"A", m}, Contestant{"B", m}, turns(11, 1, 0.001, 1, 0.005, r), outside)
		if math.Abs(o.Ratio.Float()-1) <= o.Budget.Expanded.Float() {
			held++
		}
		if o.Better != "" {
			decided++
		}
	}
	if float64(held)/cases < 0.92 {
		t.Errorf("seed %d: the interval held the truth in %d of %d", seed, held, cases)
	}
	if float64(decided)/cases > 0.08 {
		t.Errorf("seed %d: a difference between equals was found in %d of %d", seed, decided, cases)
	}
}

// A cloud leaves pairs out; two pairs decide nothing; readings one after the other make no pair.
func TestTurnsRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	m := mono()
	a, b := Contestant{"A", m}, Contestant{"B", m}
	s := turns(13, 0.95, 0, 1, 0, r)
	s[6].Watts = ptr(30 * quantity.Watt)
	o := Compare(a, b, s, outside)
	if o.Used != 4 || !strings.Contains(kinds(o.Findings), "cloud") || math.Abs(o.Ratio.Float()-0.95) > 1e-6 {
		t.Errorf("a cloud on A: used %d, ratio %v, %s", o.Used, o.Ratio, kinds(o.Findings))
	}
	if o := Compare(a, b, turns(5, 0.8, 0, 1, 0, r), outside); o.Better != "" || o.Settle == "" {
		t.Errorf("two pairs decide: %s", o.Says)
	}
	apart := []Sample{{Time: midday, Module: "A", Watts: ptr(80 * quantity.Watt)}, {Time: midday.Add(time.Minute), Module: "B", Watts: ptr(70 * quantity.Watt)}}
	if o := Compare(a, b, apart, outside); len(o.Pairs) != 0 || o.Settle == "" {
		t.Errorf("one after the other: %+v", o)
	}
	s = turns(13, 0.95, 0, 1, 0, r)
	for i := range s {
		if s[i].Module == "B" {
			s[i].Back, s[i].Instrument = ptr(quantity.Celsius(58)), "clamp"
		}
	}
	if o := Compare(a, b, s, outside); !strings.Contains(kinds(o.Findings), "not the same temperature") || !strings.Contains(kinds(o.Findings), "two meters") {
		t.Errorf("a hotter back and another meter: %s", kinds(o.Findings))
	} else if math.Abs(o.Ratio.Float()-0.95*(1-0.0037*23)/(1-0.0037*33)) > 2e-3 {
		t.Errorf("brought to one temperature: %v", o.Ratio)
	}
}

// The sun's own drift leaves no pair out, however long the turns; a change beyond it does.
func TestTurnsDrift(t *testing.T) {
	m := mono()
	late := Highest(madrid, midday).Add(5 * time.Hour)
	a, b := Contestant{"A", m}, Contestant{"B", m}
	make := func(extra float64) []Sample {
		var out []Sample
		w := 40.0
		for k := range 7 {
			at := late.Add(time.Duration(4*k) * time.Minute)
			if k > 0 {
				w *= math.Exp(4 * Drift(madrid, at.Add(-2*time.Minute), shape.Facing{}).Float())
			}
			watts, name := w, "A"
			if k%2 == 1 {
				name = "B"
			}
			if k == 4 {
				watts *= 1 + extra
			}
			out = append(out, Sample{Time: at, Module: name, Watts: ptr(quantity.Power(watts)), Back: ptr(quantity.Celsius(40))})
		}
		return out
	}
	if d := 8 * Drift(madrid, late, shape.Facing{}).Float(); d > -0.025 {
		t.Fatalf("the test tests nothing: a drift of %v between readings of A", d)
	}
	if o := Compare(a, b, make(0), outside); o.Used != 3 || math.Abs(o.Ratio.Float()-1) > 0.003 {
		t.Errorf("late sun: %d pairs used, ratio %v", o.Used, o.Ratio)
	}
	if o := Compare(a, b, make(0.04), outside); o.Used != 1 {
		t.Errorf("4 %% beyond the sun's drift: %d pairs used, want 1", o.Used)
	}
}

// However many readings, what they share stays: only the scatter of the mean shrinks.
func TestSharedStays(t *testing.T) {
	n, err := NewNormaliser(mono(), Setting{})
	if err != nil {
		t.Fatal(err)
	}
	reading := func(watts float64) Normal {
		return n.Normalise(Sample{Module: "A", Light: ptr(900 * quantity.WattPerSquareMetre), Back: ptr(quantity.Celsius(45)), Watts: ptr(quantity.Power(watts))})
	}
	one := reading(80)
	shared := one.Figure(Power).Budget.Standard.Float()
	var few, many []Normal
	for k := range 100 {
		x := reading(80 + 2*float64(k%2) - 1)
		many = append(many, x)
		if k < 4 {
			few = append(few, x)
		}
	}
	f, g := Judge("A", mono(), few).Main.Budget, Judge("A", mono(), many).Main.Budget
	if math.Abs(g.Standard.Float()/shared-1) > 0.02 || f.Standard <= g.Standard {
		t.Errorf("one reading shares %v, the mean of 100 has %v, of four %v", shared, g.Standard, f.Standard)
	}
	if math.Abs(math.Sqrt(f.Standard.Float()*f.Standard.Float()-shared*shared)-math.Sqrt(4.0/3)/2/one.Figure(Power).Read*one.Figure(Power).Ratio.Float()) > 3e-4 {
		t.Errorf("scatter of the mean of four: %v over %v", f.Standard, shared)
	}
}

// A logged day: who wins when.
func TestDay(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	m, f := mono(), foil()
	var samples []Sample
	begin := time.Date(2027, 6, 21, 4, 30, 0, 0, time.UTC)
	for k := range 15 * 12 {
		at := begin.Add(time.Duration(k) * 5 * time.Minute)
		j := &judge{s: &Sample{Time: at}, set: &outside, kind: m}
		p, _ := forecast.Fit(m)
		j.params = &p
		sc, _ := j.scene()
		fig, err := sc.evaluate(p, trial{light: 1, windFactor: 1, label: 1, voltage: 1})
		if err != nil || fig.plane < 15 {
			continue
		}
		g := fig.plane
		if h := at.Hour(); h == 14 || h == 15 {
			g *= 0.3
		}
		a := 0.09 * g * (1 + 0.01*r.NormFloat64())
		b := 0.081 * g * (1 + 0.01*r.NormFloat64())
		if g < 250 {
			b *= 1.12
		}
		if at.Hour() == 8 && at.Minute() < 30 {
			b *= 0.3
		}
		samples = append(samples, Sample{Time: at, Module: "A", Watts: ptr(quantity.Power(a)), Back: ptr(quantity.Celsius(25 + 0.03*g))}, Sample{Time: at, Module: "B", Watts: ptr(quantity.Power(b)), Back: ptr(quantity.Celsius(25 + 0.03*g))})
	}
	d, ok := CompareDay([]Contestant{{"A", m}, {"B", f}}, samples, outside)
	if !ok {
		t.Fatal("no day")
	}
	says := map[DayPart]string{}
	for _, s := range d.Shares {
		if s.Module == "B" {
			says[s.Part] = s.Says
		}
	}
	for part, want := range map[DayPart]string{Dawn: "more", Dusk: "more; better here", Midday: "no difference shown"} {
		if !strings.HasPrefix(says[part], want) {
			t.Errorf("%v: B gives %q, want %q; %v", part, says[part], want, says)
		}
	}
	if _, ok := says[Cloudy]; !ok {
		t.Errorf("the cloud of the afternoon is not seen: %v", says)
	}
	if !strings.Contains(kinds(d.Findings), "shade") {
		t.Errorf("the shade on B is not seen: %s", kinds(d.Findings))
	}
	if _, ok := CompareDay([]Contestant{{"A", m}}, samples, outside); ok {
		t.Error("a day of one module is compared")
	}
}

// Shade and heat tests.
func TestShadeAndHeat(t *testing.T) {
	m := mono()
	var samples []Sample
	for k := range 7 {
		s := Sample{Time: midday.Add(time.Duration(k) * time.Minute), Module: "A", Watts: ptr(80 * quantity.Watt)}
		if k%2 == 1 {
			s.Kind, s.Note, s.Watts = "shade", "a hand on one cell", ptr(quantity.Power(36+0.1*float64(k)))
		}
		samples = append(samples, s)
	}
	o := Shade(samples, outside)
	if len(o) != 1 || o[0].Pairs != 3 || math.Abs(o[0].Left.Float()-0.454) > 0.002 {
		t.Fatalf("shade: %+v", o)
	}
	n, err := NewNormaliser(m, Setting{})
	if err != nil {
		t.Fatal(err)
	}
	p, _ := forecast.Fit(m)
	var normals []Normal
	for k := range 8 {
		c := 28 + 4*float64(k)
		st := p.At(900*quantity.WattPerSquareMetre, quantity.Celsius(c))
		b := st.Best()
		normals = append(normals, n.Normalise(Sample{Module: "A", Light: ptr(900 * quantity.WattPerSquareMetre), Back: ptr(quantity.Celsius(c - 2.25)), Open: ptr(st.Open()), Volts: ptr(b.Voltage), Amps: ptr(b.Current)}))
	}
	hs := Heat("A", m, normals)
	if len(hs) != 2 {
		t.Fatalf("heat: %+v", hs)
	}
	for _, h := range hs {
		if math.Abs(h.Slope.PercentPerKelvin()/h.Label.PercentPerKelvin()-1) > 0.06 {
			t.Errorf("%s: slope %v, label %v", h.Quantity, h.Slope, h.Label)
		}
	}
	if got := Heat("A", m, normals[:3]); len(got) != 0 {
		t.Errorf("three readings over 8 K: %+v", got)
	}
}
