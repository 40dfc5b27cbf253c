package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"noonmark/internal/answer/forecast"
	"noonmark/internal/base/quantity"
	"noonmark/internal/base/shape"
	"noonmark/internal/build/build"
)

// foil is an invented module of CIGS foil.
func foil() *build.ModuleType {
	return &build.ModuleType{Name: "foil", Technology: build.CIGSFoil, Pmax: 90 * quantity.Watt, Voc: 28.3 * quantity.Volt, Isc: 4.6 * quantity.Ampere,
		Vmp: 21.9 * quantity.Volt, Imp: 4.11 * quantity.Ampere, PmaxCoefficient: -0.36 * quantity.PercentPerKelvin, VocCoefficient: -0.29 * quantity.PercentPerKelvin,
		IscCoefficient: 0.01 * quantity.PercentPerKelvin, ToleranceLow: -0.03, ToleranceHigh: 0.03, LowLight: 93 * quantity.Percent,
		Length: 1.7 * quantity.Metre, Width: 0.35 * quantity.Metre, Cells: build.CellGrid{Rows: 2, Columns: 21, DiodePerCell: true}, Front: build.Fluoropolymer}
}

var (
	madrid  = build.Place{Name: "here", Latitude: 40 * quantity.Degree, Longitude: -4 * quantity.Degree, Elevation: 600 * quantity.Metre, Zone: time.UTC}
	midday  = time.Date(2027, 6, 21, 12, 20, 0, 0, time.UTC)
	outside = Setting{Place: &madrid, Attachment: build.LooseFlat, Wind: 2 * quantity.MetrePerSecond, Albedo: 0.2}
)

// kinds lists the kinds of findings.
func kinds(fs []Finding) string {
	var out []string
	for _, f := range fs {
		out = append(out, f.Kind)
	}
	return strings.Join(out, ", ")
}

func examine(t *testing.T, kind *build.ModuleType, set Setting, samples ...Sample) Report {
	t.Helper()
	r, err := Examine(Question{Samples: samples, Default: kind, Setting: set})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// all returns every finding of a report.
func all(r Report) []Finding {
	out := append([]Finding(nil), r.Findings...)
	for _, n := range r.Readings {
		out = append(out, n.Findings...)
	}
	for _, m := range r.Modules {
		out = append(out, m.Findings...)
	}
	return out
}

// A foil module whose open volts in real sun are 4 % above its label's working volts, and whose
// short-circuit amps are 2.5 % under its working amps, is a finding with what else is needed, and no pass.
func TestLowVolts(t *testing.T) {
	m := foil()
	s := Sample{Module: "A", Open: ptr(quantity.Voltage(21.9 * 1.04)), Short: ptr(quantity.Current(4.11 * 0.975))}
	for name, set := range map[string]Setting{"bare": {}, "with place": outside} {
		if name != "bare" {
			s.Time = midday
		}
		r := examine(t, m, set, s)
		found := false
		for _, f := range all(r) {
			if f.Kind == "low volts" {
				found = true
				for _, want := range []string{"4 % above", "2.5 % under", "°C", "not enough"} {
					if !strings.Contains(f.Text, want) {
						t.Errorf("%s: no %q in: %s", name, want, f.Text)
					}
				}
				for _, want := range []string{"back's temperature", "light in its plane", "under load", "twin"} {
					if !strings.Contains(f.Settles, want) {
						t.Errorf("%s: no %q in: %s", name, want, f.Settles)
					}
				}
			}
		}
		if !found {
			t.Errorf("%s: no finding of low volts among %s", name, kinds(all(r)))
		}
		if v := r.Modules[0].Verdict; v == Pass {
			t.Errorf("%s: it passes", name)
		}
	}
	// With a cool back it is lost; with a hot one it may be heat.
	s.Light, s.Back = ptr(quantity.Irradiance(900)), ptr(quantity.Celsius(40))
	if r := examine(t, m, outside, s); r.Modules[0].Verdict != Fail {
		t.Errorf("at 40 °C and 900 W/m²: %v, want fail: %s", r.Modules[0].Verdict, r.Modules[0].Why)
	}
}

// Each kind of bad input gets its own sentence, and no verdict.
func TestBadInput(t *testing.T) {
	good := func() Sample {
		return Sample{Line: 2, Time: midday, Module: "A", Volts: ptr(16.2 * quantity.Volt), Amps: ptr(4.9 * quantity.Ampere), Light: ptr(930 * quantity.WattPerSquareMetre), Back: ptr(quantity.Celsius(50)), Sky: "clear"}
	}
	for _, c := range []struct {
		kind    string
		stopped bool
		change  func(*Sample)
	}{
		{"night", true, func(s *Sample) { s.Time = time.Date(2027, 6, 21, 23, 40, 0, 0, time.UTC) }},
		{"no light", true, func(s *Sample) { s.Light = ptr(quantity.Irradiance(0)) }},
		{"no light", true, func(s *Sample) { s.Light = ptr(quantity.Irradiance(-3)) }},
		{"too much light", true, func(s *Sample) { s.Light = ptr(2000 * quantity.WattPerSquareMetre) }},
		{"too dim", true, func(s *Sample) { s.Light = ptr(120 * quantity.WattPerSquareMetre) }},
		{"temperature", true, func(s *Sample) { s.Back = ptr(quantity.Celsius(-12)) }},
		{"temperature", true, func(s *Sample) { s.Back, s.Air = ptr(quantity.Celsius(20)), ptr(quantity.Celsius(31)) }},
		{"temperature", true, func(s *Sample) { s.Back = ptr(quantity.Celsius(-60)) }},
		{"isc times voc", true, func(s *Sample) {
			s.Volts, s.Amps, s.Light = nil, nil, nil
			s.Open, s.Short, s.Watts = ptr(20.1*quantity.Volt), ptr(5.4*quantity.Ampere), ptr(108.5*quantity.Watt)
			s.Time = time.Time{}
			s.Back = nil
		}},
		{"no time", true, func(s *Sample) { s.Time, s.Light = time.Time{}, nil }},
		{"wrong module", true, func(s *Sample) { s.Open = ptr(44.2 * quantity.Volt) }},
		{"watts differ", true, func(s *Sample) { s.Watts = ptr(120 * quantity.Watt) }},
		{"reversed", false, func(s *Sample) { s.Volts = ptr(-16.2 * quantity.Volt) }},
		{"overload", false, func(s *Sample) { s.Over = []string{"Isc"} }},
		{"not the best point", false, func(s *Sample) { s.Volts = ptr(12.6 * quantity.Volt) }},
		{"one reading", false, func(*Sample) {}},
	} {
		s := good()
		c.change(&s)
		r := examine(t, mono(), outside, s)
		found := all(r)
		at := -1
		for i, f := range found {
			if f.Kind == c.kind {
				at = i
			}
		}
		if at < 0 {
			t.Errorf("%s: found only %s", c.kind, kinds(found))
			continue
		}
		if f := found[at]; len(f.Text) < 30 || strings.Contains(strings.ToLower(f.Text), " safe") {
			t.Errorf("%s: %q", c.kind, f.Text)
		}
		if c.stopped && r.Modules[0].Verdict != CannotTell {
			t.Errorf("%s: verdict %v: %s", c.kind, r.Modules[0].Verdict, r.Modules[0].Why)
		}
	}
	// Isc × Voc with everything else known: the power is not judged by it.
	s := good()
	s.Volts, s.Amps = nil, nil
	s.Open, s.Short, s.Watts = ptr(20.0*quantity.Volt), ptr(5.4*quantity.Ampere), ptr(108*quantity.Watt)
	r := examine(t, mono(), outside, s)
	if r.Readings[0].Figure(Power) != nil {
		t.Error("Isc × Voc became a power")
	}
	// Watts far too low under a sky nobody noted: a cloud would do it.
	s = good()
	s.Light, s.Amps, s.Sky = nil, ptr(2.2*quantity.Ampere), ""
	r = examine(t, mono(), outside, s)
	if m := r.Modules[0]; m.Verdict != CannotTell || !strings.Contains(m.Why, "cloud") {
		t.Errorf("45 %% of the watts under an unknown sky: %v, %s", m.Verdict, m.Why)
	}
	s.Cloud, s.Air = ptr(0*quantity.Percent), ptr(quantity.Celsius(28))
	if m := examine(t, mono(), outside, s).Modules[0]; m.Verdict != Fail {
		t.Errorf("45 %% of the watts under a clear sky: %v, %s", m.Verdict, m.Why)
	}
	// Mixed modules under one label.
	a, b := good(), good()
	a.Open, b.Open, b.Module = ptr(20.0*quantity.Volt), ptr(13.0*quantity.Volt), "B"
	r = examine(t, mono(), outside, a, b)
	if !strings.Contains(kinds(r.Findings), "mixed modules") {
		t.Errorf("mixed modules: found only %s", kinds(all(r)))
	}
	for _, m := range r.Modules {
		if m.Verdict != CannotTell {
			t.Errorf("mixed modules: %s is judged %v", m.Module, m.Verdict)
		}
	}
}

// What a sound module of the label should read now, read so, comes to the label, whatever the light and
// heat; and the ratio grows with the watts.
func TestRoundTrip(t *testing.T) {
	const seed = 4
	r := rand.New(rand.NewPCG(seed, 9))
	for _, m := range []*build.ModuleType{mono(), foil()} {
		p, err := forecast.Fit(m)
		if err != nil {
			t.Fatal(err)
		}
		n, err := NewNormaliser(m, Setting{})
		if err != nil {
			t.Fatal(err)
		}
		for range 60 {
			g, c := 300+800*r.Float64(), 70*r.Float64()
			st := p.At(quantity.Irradiance(g), quantity.Celsius(c))
			best := st.Best()
			s := Sample{Light: ptr(quantity.Irradiance(g)), Back: ptr(quantity.Celsius(c - backToCell*g/1000)), Air: ptr(quantity.Celsius(c - 20)), Open: ptr(st.Open()), Short: ptr(st.Short()), Volts: ptr(best.Voltage), Amps: ptr(best.Current)}
			x := n.Normalise(s)
			for q, tol := range map[string]float64{ShortAmps: 0.003, OpenVolts: 0.006, Power: 0.02} {
				f := x.Figure(q)
				if f == nil {
					t.Fatalf("seed %d, %s at %.0f W/m², %.0f °C: no %s: %s", seed, m.Name, g, c, q, kinds(x.Findings))
				}
				if off := math.Abs(f.Ratio.Float() - 1); off > tol {
					t.Errorf("seed %d, %s at %.0f W/m², %.0f °C: %s comes to %.4f of the label", seed, m.Name, g, c, q, f.Ratio.Float())
				}
				if f.Budget.Expanded <= 0 || f.Budget.Expanded > 0.5 {
					t.Errorf("%s: ± %v", q, f.Budget.Expanded)
				}
			}
			s.Volts, s.Amps, s.Watts = nil, nil, ptr(quantity.Power(best.Power().Watts()*0.9))
			y := n.Normalise(s)
			if f := y.Figure(Power); f == nil || math.Abs(f.Ratio.Float()-0.9) > 0.01 {
				t.Errorf("nine tenths of the watts: %+v", f)
			}
		}
	}
}

// Without a sensor the open volts give the temperature, and are not judged by it; with one they are not
// asked.
func TestCellFromVolts(t *testing.T) {
	m := mono()
	p, err := forecast.Fit(m)
	if err != nil {
		t.Fatal(err)
	}
	n, err := NewNormaliser(m, Setting{})
	if err != nil {
		t.Fatal(err)
	}
	st := p.At(880*quantity.WattPerSquareMetre, quantity.Celsius(53))
	best := st.Best()
	s := Sample{Light: ptr(880 * quantity.WattPerSquareMetre), Open: ptr(st.Open()), Volts: ptr(best.Voltage), Amps: ptr(best.Current)}
	x := n.Normalise(s)
	if x.CellFrom != "Voc" || math.Abs(x.Condition.Cell.Celsius()-53) > 1 {
		t.Errorf("cells from %s at %v, want 53 °C from Voc", x.CellFrom, x.Condition)
	}
	if f := x.Figure(OpenVolts); f != nil {
		t.Errorf("the volts are judged by the temperature they gave: %+v", f)
	}
	if f := x.Figure(Power); f == nil || math.Abs(f.Ratio.Float()-1) > 0.01 {
		t.Errorf("power: %+v", f)
	}
	s.Back = ptr(quantity.Celsius(50.8))
	if x := n.Normalise(s); x.CellFrom != "back" || x.Figure(OpenVolts) == nil {
		t.Errorf("with a sensor: cells from %s", x.CellFrom)
	}
}

// Guard bands: no verdict changes from fail to pass without passing through cannot tell, and a wider band
// never makes one.
func TestGuard(t *testing.T) {
	for u := 0.0; u < 0.2; u += 0.01 {
		last := Fail
		for ratio := 0.7; ratio < 1.2; ratio += 0.001 {
			v := Guarded(quantity.Ratio(ratio), quantity.Ratio(u), 0.97)
			if last == Fail && v == Pass && u > 0.001 {
				t.Fatalf("± %v: from fail to pass at %v", u, ratio)
			}
			if wide := Guarded(quantity.Ratio(ratio), quantity.Ratio(u+0.01), 0.97); v == CannotTell && wide != CannotTell {
				t.Fatalf("± %v at %v: a wider band tells more", u, ratio)
			}
			last = v
		}
	}
}

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

// The plan takes the hour of least drift, refuses what the sun does not allow, and tells of night.
func TestPlanned(t *testing.T) {
	tools := Tools{Modules: 2, LightMeter: true, Thermometer: true, Load: true}
	p, err := Plan(mono(), outside, midday.Add(-time.Hour), tools)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Tests) < 4 || !strings.Contains(p.Tests[0].Name+p.Tests[1].Name, "in turns") {
		t.Errorf("at noon: %+v", p.Tests)
	}
	noon := Highest(madrid, midday)
	for _, x := range p.Tests {
		if strings.Contains(x.Name, "in turns") {
			if d := x.Begin.Sub(noon); d < -40*time.Minute || d > 40*time.Minute {
				t.Errorf("in turns at %v, the sun is highest at %v", x.Begin, noon)
			}
			if x.Expanded > 0.02 {
				t.Errorf("in turns: ± %v expected", x.Expanded)
			}
		}
		if strings.Contains(x.Name, "against the label") && x.Expanded < 0.05 {
			t.Errorf("against the label: ± %v expected", x.Expanded)
		}
	}
	p, err = Plan(mono(), outside, time.Date(2027, 6, 21, 18, 0, 0, 0, time.UTC), Tools{Modules: 2, Load: true})
	if err != nil || len(p.Refused) < 2 {
		t.Errorf("in the evening: %v, refused %v", err, p.Refused)
	}
	if _, err := Plan(mono(), outside, time.Date(2027, 6, 21, 21, 30, 0, 0, time.UTC), tools); err == nil {
		t.Error("a plan at night")
	}
}

// Every incoming step has something to do, and each technology its own words on first light.
func TestIncoming(t *testing.T) {
	for _, m := range []*build.ModuleType{mono(), foil()} {
		steps, err := Incoming(m)
		if err != nil || len(steps) < 5 {
			t.Fatal(steps, err)
		}
		text := fmt.Sprint(steps)
		if strings.Contains(text, "CIGS") != (m.Technology == build.CIGSFoil) {
			t.Errorf("%s: %s", m.Name, text)
		}
		back := 0
		for _, s := range steps {
			if s.Back != "" {
				back++
			}
		}
		if back < 4 {
			t.Errorf("%s: %d steps say when to send it back", m.Name, back)
		}
	}
}

// Nothing a person can type makes it panic or gives what is not finite.
func FuzzNormalise(f *testing.F) {
	f.Add(20.0, 5.0, 16.0, 4.8, 900.0, 45.0, 25.0, 80.0, int64(0))
	f.Add(-1.0, 0.0, 1e300, -4.0, 0.0, -300.0, 999.0, 0.0, int64(40000))
	n, err := NewNormaliser(mono(), outside)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, open, short, volts, amps, g, back, air, watts float64, seconds int64) {
		for _, x := range []float64{open, short, volts, amps, g, back, air, watts} {
			if math.IsNaN(x) || math.Abs(x) > 1e12 {
				t.Skip()
			}
		}
		s := Sample{Time: midday.Add(time.Duration(seconds%1e6) * time.Second), Open: ptr(quantity.Voltage(open)), Short: ptr(quantity.Current(short)), Volts: ptr(quantity.Voltage(volts)), Amps: ptr(quantity.Current(amps)),
			Light: ptr(quantity.Irradiance(g)), Back: ptr(quantity.Celsius(back)), Air: ptr(quantity.Celsius(air)), Watts: ptr(quantity.Power(watts)), Facing: &shape.Facing{}}
		for _, x := range []func(){func() {}, func() { s.Light = nil }, func() { s.Back = nil }, func() { s.Time = time.Time{} }, func() { s.Air = nil }} {
			x()
			out := n.Normalise(s)
			for _, f := range out.Figures {
				for _, v := range []float64{f.Standard, f.Ratio.Float(), f.Budget.Expanded.Float(), f.Now.Expected, f.Now.Low, f.Now.High} {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Fatalf("%+v: %v", f, v)
					}
				}
			}
			Judge("A", mono(), []Normal{out})
		}
	})
}

// BenchmarkNormalise brings 1,000 readings to standard conditions.
func BenchmarkNormalise(b *testing.B) {
	var samples []Sample
	for k := range 1000 {
		samples = append(samples, Sample{Time: midday.Add(time.Duration(k) * 2 * time.Second), Module: "A", Open: ptr(20 * quantity.Volt), Short: ptr(5 * quantity.Ampere), Volts: ptr(16.2 * quantity.Volt), Amps: ptr(4.7 * quantity.Ampere), Light: ptr(910 * quantity.WattPerSquareMetre), Back: ptr(quantity.Celsius(48))})
	}
	for b.Loop() {
		if _, err := Examine(Question{Samples: samples, Default: mono(), Setting: outside}); err != nil {
			b.Fatal(err)
		}
	}
}
