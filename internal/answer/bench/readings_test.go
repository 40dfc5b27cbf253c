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

// Readings of the night, of another module or of two modules under one name decide no comparison either, and
// it says why.
func TestBadPairs(t *testing.T) {
	turns := func(change func(k int, s *Sample)) []Sample {
		var out []Sample
		for k := range 9 {
			s := Sample{Line: 2 + k, Time: midday.Add(time.Duration(k) * time.Minute), Module: "A", Open: ptr(20 * quantity.Volt), Short: ptr(5.4 * quantity.Ampere), Back: ptr(quantity.Celsius(50))}
			if k%2 == 1 {
				s.Module, s.Short = "B", ptr(4.4*quantity.Ampere)
			}
			change(k, &s)
			out = append(out, s)
		}
		return out
	}
	if r := examine(t, mono(), outside, turns(func(int, *Sample) {})...); len(r.Pairs) != 1 || r.Pairs[0].Better != "A" {
		t.Errorf("sound readings: %+v", r.Pairs)
	}
	for what, change := range map[string]func(k int, s *Sample){
		"horizon": func(k int, s *Sample) { s.Time = time.Date(2027, 6, 21, 23, 40+k, 0, 0, time.UTC) },
		"no module of this label": func(_ int, s *Sample) {
			if s.Module == "B" {
				s.Short = ptr(9 * quantity.Ampere)
			}
		},
		"different kinds": func(_ int, s *Sample) {
			if s.Module == "B" {
				s.Open = ptr(13 * quantity.Volt)
			}
		},
	} {
		r := examine(t, mono(), outside, turns(change)...)
		if len(r.Pairs) != 1 || r.Pairs[0].Better != "" || !strings.Contains(r.Pairs[0].Says, what) || r.Pairs[0].Settle == "" {
			t.Errorf("%s: %+v", what, r.Pairs)
		}
	}
}

// Watts beyond what the label gives, doubt counted, are no pass: Voc × Isc typed as power is such a figure.
func TestTooMuch(t *testing.T) {
	m := mono()
	s := Sample{Line: 2, Time: midday, Module: "A", Light: ptr(930 * quantity.WattPerSquareMetre), Back: ptr(quantity.Celsius(50)), Sky: "clear"}
	now := examine(t, m, outside, func() Sample { x := s; x.Watts = ptr(50 * quantity.Watt); return x }()).Readings[0].Figure(Power).Now.Expected
	for _, c := range []struct {
		of   float64
		want Verdict
	}{{1.10, Pass}, {m.Voc.Volts() * m.Isc.Amperes() / m.Pmax.Watts(), CannotTell}} {
		s.Watts = ptr(quantity.Power(c.of * now))
		o := examine(t, m, outside, s).Modules[0]
		if o.Verdict != c.want || c.want == CannotTell && (!strings.Contains(o.Why, "Voc × Isc") || o.Settle == "") {
			t.Errorf("%.0f %% of the watts: %v, %s", 100*c.of, o.Verdict, o.Why)
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
