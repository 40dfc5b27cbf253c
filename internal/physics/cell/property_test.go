package cell

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/numeric"
	"noonmark/internal/base/quantity"
)

// labels are invented labels of each technology.
func labels() []Label {
	mk := func(p, voc, vmp, isc, gp, gv float64, n int, ll float64, tech Technology) Label {
		return Label{Pmax: quantity.Power(p), Voc: quantity.Voltage(voc), Vmp: quantity.Voltage(vmp), Isc: quantity.Current(isc), Imp: quantity.Current(p / vmp),
			PmaxCoefficient: quantity.PerKelvin(gp), VocCoefficient: quantity.PerKelvin(gv), IscCoefficient: 0.0004, Cells: n, LowLight: quantity.Ratio(ll), Technology: tech}
	}
	return []Label{
		mk(175, 24.3, 20.2, 9.15, -0.0035, -0.0028, 36, 0.97, MonoPERC), mk(180, 25.2, 21.1, 9.0, -0.0030, -0.0025, 36, 0.97, MonoTOPCon),
		mk(120, 26, 21.8, 5.8, -0.0028, -0.0024, 36, 0.97, Heterojunction), mk(100, 22.5, 18.9, 5.65, -0.0029, -0.0025, 32, 0.97, RearContact),
		mk(130, 22.0, 17.8, 7.8, -0.0041, -0.0031, 36, 0.95, Poly), mk(115, 22.7, 18.9, 6.45, -0.0038, -0.0030, 36, 0.93, FlexibleMono),
		mk(120, 98, 75, 1.78, -0.0036, -0.0030, 150, 0.93, CIGS), mk(95, 29.1, 22.5, 4.72, -0.0036, -0.0029, 42, 0.93, CIGSFoil),
		mk(80, 60, 47, 1.87, -0.0028, -0.0026, 70, 0.96, CdTe), mk(60, 24, 17.5, 4.1, -0.0020, -0.0030, 27, 0.95, AmorphousSilicon),
	}
}

// Every technology's label is met to 0.1 %, its slopes to 2 %, its low light to 2 %.
func TestFitEveryTechnology(t *testing.T) {
	for _, l := range labels() {
		p, r, err := Fit(l)
		if err != nil {
			t.Errorf("technology %d: %v", l.Technology, err)
			continue
		}
		s := p.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
		b := s.Best()
		for _, c := range [][2]float64{{s.Open().Volts(), l.Voc.Volts()}, {s.Short().Amperes(), l.Isc.Amperes()}, {b.Voltage.Volts(), l.Vmp.Volts()}, {b.Power().Watts(), l.Pmax.Watts()}} {
			if math.Abs(c[0]/c[1]-1) > 1e-3 {
				t.Errorf("technology %d: got %.5g, label %.5g", l.Technology, c[0], c[1])
			}
		}
		if math.Abs(r.VocCoefficient.PerKelvin()/l.VocCoefficient.PerKelvin()-1) > 0.02 || math.Abs(r.PmaxCoefficient.PerKelvin()/l.PmaxCoefficient.PerKelvin()-1) > 0.02 {
			t.Errorf("technology %d: slopes %v %v, label %v %v", l.Technology, r.VocCoefficient, r.PmaxCoefficient, l.VocCoefficient, l.PmaxCoefficient)
		}
		if math.Abs(r.LowLight.Float()-l.LowLight.Float()) > 0.02 {
			t.Errorf("technology %d: low light %v, label %v", l.Technology, r.LowLight, l.LowLight)
		}
	}
}

// Impossible labels are refused with the reason, never fitted.
func TestFitRefuses(t *testing.T) {
	good := labels()[0]
	for _, f := range []func(l *Label){
		func(l *Label) { l.Imp = l.Isc * 2 }, func(l *Label) { l.Vmp = l.Voc }, func(l *Label) { l.Isc = 0 },
		func(l *Label) { l.Vmp, l.Imp = 0.98*l.Voc, 0.99*l.Isc }, func(l *Label) { l.Vmp, l.Imp = 0.3*l.Voc, 0.4*l.Isc },
	} {
		l := good
		f(&l)
		if _, _, err := Fit(l); !errors.Is(err, ErrLabel) {
			t.Errorf("%+v: got %v, want ErrLabel", l, err)
		}
	}
}

// Current falls with voltage, volts and amperes are each other's inverse, and the best point is best, for
// any light and temperature; nothing is NaN.
func TestCurve(t *testing.T) {
	var fitted []Params
	for _, l := range labels() {
		p, _, err := Fit(l)
		if err != nil {
			t.Fatal(err)
		}
		fitted = append(fitted, p)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := fitted[rapid.IntRange(0, len(fitted)-1).Draw(t, "technology")]
		g := rapid.Float64Range(-20, 1400).Draw(t, "light")
		s := p.At(quantity.Irradiance(g), quantity.Celsius(rapid.Float64Range(-40, 95).Draw(t, "cell")))
		open, best := s.Open().Volts(), s.Best()
		if math.IsNaN(open) || math.IsNaN(best.Power().Watts()) || open < 0 || best.Power() < 0 {
			t.Fatalf("open %v, best %+v", open, best)
		}
		last := math.Inf(1)
		for k := range 21 {
			v := quantity.Voltage(open * float64(k) / 20)
			i := s.CurrentAt(v)
			if i.Amperes() > last+1e-9 {
				t.Fatalf("current rises at %v: %v after %v", v, i, last)
			}
			last = i.Amperes()
			if g > 1 {
				if back := s.VoltageAt(i).Volts(); math.Abs(back-v.Volts()) > 1e-6*(1+open) {
					t.Fatalf("volts %v, back %v", v, back)
				}
			}
			if p := v.Volts() * i.Amperes(); p > best.Power().Watts()*(1+1e-9)+1e-12 {
				t.Fatalf("%v W at %v over the best, %v", p, v, best.Power())
			}
		}
	})
}

// BenchmarkBest is the best point of a chain at a light and temperature.
func BenchmarkBest(b *testing.B) {
	p, _, err := Fit(labels()[7])
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		s := p.At(640*quantity.WattPerSquareMetre, quantity.Celsius(51))
		s.Best()
	}
}

// BenchmarkFit is a label fitted.
func BenchmarkFit(b *testing.B) {
	for b.Loop() {
		if _, _, err := Fit(labels()[7]); err != nil {
			b.Fatal(err)
		}
	}
}

// Curves that are none are refused, never fitted.
func TestFitCurveRefuses(t *testing.T) {
	warm := quantity.Celsius(25)
	straight := Measured{Cells: 1, Temperature: warm}
	nan := Measured{Cells: 1, Temperature: warm}
	for k := range 8 {
		straight.Points = append(straight.Points, Point{Voltage: quantity.Voltage(-0.1 * float64(k)), Current: 0})
		nan.Points = append(nan.Points, Point{Voltage: quantity.Voltage(math.NaN()), Current: 1})
	}
	for what, m := range map[string]Measured{"no points": {Cells: 1, Temperature: warm}, "no current": straight, "not a number": nan} {
		if _, _, err := FitCurve(m); !errors.Is(err, ErrCurve) {
			t.Errorf("%s: got %v, want ErrCurve", what, err)
		}
	}
}

// The label's power holds where it differs from Vmp × Imp by rounding, and a contradiction is refused.
func TestFitKeepsPower(t *testing.T) {
	l := labels()[0]
	l.Pmax = quantity.Power(l.Pmax.Watts() * 1.02)
	p, _, err := Fit(l)
	if err != nil {
		t.Fatal(err)
	}
	s := p.At(1000*quantity.WattPerSquareMetre, quantity.Celsius(25))
	if got := s.Best().Power().Watts(); math.Abs(got/l.Pmax.Watts()-1) > 1e-3 {
		t.Errorf("got %.5g W, label %.5g W", got, l.Pmax.Watts())
	}
	l.Pmax = quantity.Power(l.Pmax.Watts() * 1.1)
	if _, _, err := Fit(l); !errors.Is(err, ErrLabel) {
		t.Errorf("power 12 %% over Vmp × Imp: got %v, want ErrLabel", err)
	}
}

// Any finite voltage, current, light and temperature gives finite numbers, and Across is VoltageAt with
// the slope that a small difference shows; reverse volts and amperes are inverse, avalanche included.
func TestNothingBreaks(t *testing.T) {
	for _, l := range labels() {
		p, _, err := Fit(l)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range []float64{math.NaN(), math.Inf(-1), -3, 0, 1e-12, 1e-3, 1, 1000, math.Inf(1)} {
			for _, warm := range []float64{-273.15, -60, 25, 120, 1e6} {
				s := p.At(quantity.Irradiance(g), quantity.Celsius(warm))
				b := s.Best()
				all := []float64{s.Open().Volts(), s.Short().Amperes(), b.Voltage.Volts(), b.Current.Amperes()}
				for _, x := range []float64{-1e12, -1e3, -20, -1, 0, 1, 20, 1e3, 1e12} {
					all = append(all, s.CurrentAt(quantity.Voltage(x)).Amperes(), s.VoltageAt(quantity.Current(x)).Volts())
				}
				for k, x := range all {
					if math.IsNaN(x) || math.IsInf(x, 0) {
						t.Fatalf("technology %d, %v W/m², %v °C: value %d is %v", l.Technology, g, warm, k, x)
					}
				}
			}
		}
		s := p.At(800*quantity.WattPerSquareMetre, quantity.Celsius(50))
		for _, share := range []float64{-0.2, 0, 0.5, 0.98, 1.05, 1.3, 2} {
			i := share * l.Isc.Amperes()
			v, r := s.Across(quantity.Current(i))
			if back := s.CurrentAt(v).Amperes(); math.Abs(back-i) > 1e-7*l.Isc.Amperes() {
				t.Errorf("technology %d: %v A is %v V, back %v A", l.Technology, i, v.Volts(), back)
			}
			const h = 1e-6
			near := (s.VoltageAt(quantity.Current(i-h)).Volts() - s.VoltageAt(quantity.Current(i+h)).Volts()) / (2 * h)
			if math.Abs(near/r.Ohms()-1) > 1e-3 {
				t.Errorf("technology %d at %v A: slope %v Ω, by difference %v Ω", l.Technology, i, r.Ohms(), near)
			}
		}
	}
}

// The current at a voltage is that of the closed form by Lambert's W of Jain & Kapoor 2004 (Sol. Energy
// Mater. Sol. Cells 81:269), which solves the same equation another way.
func TestLambert(t *testing.T) {
	for _, l := range labels() {
		p, _, err := Fit(l)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range []float64{20, 300, 1000} {
			s := p.At(quantity.Irradiance(g), quantity.Celsius(45))
			for k := range 23 {
				v := s.open() * float64(k) / 20
				d := 1 + s.rs*s.g
				c := v + s.rs*(s.il+s.i0)
				u := c/d - s.a*numeric.WExp(c/(s.a*d)+math.Log(s.rs*s.i0/(s.a*d)))
				want := (u - v) / s.rs
				if got := s.CurrentAt(quantity.Voltage(v)).Amperes(); math.Abs(got-want) > 1e-9*(1+l.Isc.Amperes()) {
					t.Errorf("technology %d, %v W/m², %v V: got %v A, by W %v A", l.Technology, g, v, got, want)
				}
			}
		}
	}
}

// A chain behind a large resistance gives at a short what the resistance lets through, not nothing.
func TestLargeSeries(t *testing.T) {
	p, _, err := Fit(labels()[0])
	if err != nil {
		t.Fatal(err)
	}
	for _, ohms := range []float64{1, 10, 90, 1e3, 1e5} {
		s := p.At(900*quantity.WattPerSquareMetre, quantity.Celsius(48))
		s = s.WithSeries(quantity.Resistance(ohms))
		i := s.CurrentAt(0).Amperes()
		if v := s.VoltageAt(quantity.Current(i)).Volts(); !(i > 0) || math.Abs(v) > 1e-6 {
			t.Errorf("%v Ω: %v A at a short, where the volts are %v", ohms, i, v)
		}
	}
}
