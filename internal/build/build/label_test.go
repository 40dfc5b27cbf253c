package build

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/quantity"
)

// Labels as they are printed and typed, and what they say: watts, Voc, Isc, Vmp, Imp.
func TestLabels(t *testing.T) {
	for _, c := range []struct {
		text                string
		kind                Technology
		p, voc, isc, vm, im float64 // 0: estimated, not compared
	}{
		{"CIGS foil 90 W Voc 28.3 Isc 4.6 Vmp 21.9 Imp 4.11 1.1 m x 0.6 m", CIGSFoil, 90, 28.3, 4.6, 21.9, 4.11},
		{"110 W 21.6 V 5.1 A flexible", FlexibleMono, 110, 0, 0, 21.6, 5.1},
		{"100 W 12 V mono", MonoPERC, 100, 0, 0, 18.5, 0},
		{"Pmax 100Wp Voc=22,6V Isc=5,6A 1020x530 mm", MonoPERC, 100, 22.6, 5.6, 0, 0},
		{"100 W 22.6 V 5.6 A", MonoPERC, 100, 22.6, 5.6, 0, 0},
		{"28.3 V (Voc) 4.6 A (Isc) 90 W foil CIGS", CIGSFoil, 90, 28.3, 4.6, 0, 0},
		{"flexible 100W 18V/22V 5.6A", FlexibleMono, 100, 22, 0, 18, 5.6},
		{"Peak power (Pmax): 100 W, open circuit voltage (Voc): 22.6 V, short circuit current (Isc) 5.6 A", MonoPERC, 100, 22.6, 5.6, 0, 0},
		{"100 W Voc (V) 22.6 Vmp [V]: 18.9 Isc (A) 5.6 Imp(A)=5.29", MonoPERC, 100, 22.6, 5.6, 18.9, 5.29},
		{"Pm 100W Vpm 18.9V Ipm 5.29A", MonoPERC, 100, 0, 0, 18.9, 5.29},
		{"Pmax: 200 W ±3% Vmp: 20.5V Imp: 9.76A Voc: 24.6V Isc: 10.3A Max system voltage 600 V Max series fuse 15 A 11 kg " +
			"STC: 1000 W/m², AM1.5, 25 °C 1490x670x35 mm -0.35 %/K", MonoPERC, 200, 24.6, 10.3, 20.5, 9.76},
	} {
		m, _, err := ParseLabel(c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if m.Technology != c.kind {
			t.Errorf("%q: got %v, want %v", c.text, m.Technology, c.kind)
		}
		for _, x := range []struct {
			name      string
			got, want float64
		}{{"pmax", m.Pmax.Watts(), c.p}, {"voc", m.Voc.Volts(), c.voc}, {"isc", m.Isc.Amperes(), c.isc}, {"vmp", m.Vmp.Volts(), c.vm}, {"imp", m.Imp.Amperes(), c.im}} {
			if x.want != 0 && math.Abs(x.got-x.want) > 1e-9 {
				t.Errorf("%q: %s got %v, want %v", c.text, x.name, x.got, x.want)
			}
		}
	}
}

func TestLabelExtras(t *testing.T) {
	m, assumed, err := ParseLabel("200 W glass 1490x670x35 mm 11 kg fuse 15 A ± 5 % Pmax -0.34 %/K")
	if err != nil {
		t.Fatal(err)
	}
	if m.Length != 1490*quantity.Millimetre || m.Width != 670*quantity.Millimetre || m.Mass != 11*quantity.Kilogram {
		t.Errorf("size and mass: got %v x %v, %v", m.Length, m.Width, m.Mass)
	}
	if m.MaxFuse == nil || *m.MaxFuse != 15*quantity.Ampere || math.Abs(m.ToleranceHigh.Percent()-5) > 1e-9 || math.Abs(m.PmaxCoefficient.PercentPerKelvin()+0.34) > 1e-9 {
		t.Errorf("fuse, tolerance, coefficient: got %v, %v, %v", m.MaxFuse, m.ToleranceHigh, m.PmaxCoefficient)
	}
	for _, a := range assumed {
		if a.Path == "label.size" || a.Path == "label.mass" || a.Value == "" || a.Why == "" || a.Source == "" {
			t.Errorf("assumed %+v", a)
		}
	}
}

func TestLabelFaults(t *testing.T) {
	for text, want := range map[string]string{
		"hello":                      "watts at least",
		"":                           "watts at least",
		"0 W mono":                   "above zero",
		"Voc 22 V Voc 23 V 100 W":    "stands twice",
		"Imp 5 V 100 W":              "A wanted",
		"100 W Voc NaN V":            "Voc: a number wanted",
		"100 W Isc OL Vmp 18 V":      "Isc: a number wanted",
		"90 W Voc 28.3 V Vmp 40 V":   "above the working voltage",
		"100 W 1 V 2 V 3 V":          "more than two",
		"100 W 0.5 m x 0.3 m mono":   "W/m²",
		"100 W 0.35 %/K":             "below zero",
		strings.Repeat("100 W ", 90): "at most",
	} {
		if _, _, err := ParseLabel(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: got %v, want %q", text, err, want)
		}
	}
}

// sound fails unless every figure of a type is finite and the points stand in order.
func sound(t interface{ Fatalf(string, ...any) }, m *ModuleType, text string) {
	for _, x := range []float64{m.Pmax.Watts(), m.Voc.Volts(), m.Isc.Amperes(), m.Vmp.Volts(), m.Imp.Amperes(), m.Length.Metres(), m.Width.Metres(), m.Mass.Kilograms(), m.LowLight.Float()} {
		if !(x > 0) || math.IsInf(x, 0) {
			t.Fatalf("%q: a figure that is not above zero and finite: %+v", text, m)
		}
	}
	if m.Voc <= m.Vmp || m.Isc <= m.Imp || m.Length < m.Width || m.Cells.Count() < 1 || m.Cells.Groups < 0 || m.PmaxCoefficient >= 0 {
		t.Fatalf("%q: points out of order: %+v", text, m)
	}
	if r := m.Vmp.Volts() * m.Imp.Amperes() / m.Pmax.Watts(); math.Abs(r-1) > 0.0301 {
		t.Fatalf("%q: vmp × imp is %v of pmax", text, r)
	}
}

// Watts and a technology alone make a whole module, of any size.
func TestEstimates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(Technologies()).Draw(t, "technology")
		watts := quantity.Power(rapid.Float64Range(5, 500).Draw(t, "watts"))
		d := TypeDoc{Name: "x", Technology: &kind, Pmax: &watts}
		r := &resolver{doc: &Document{}, build: &Build{}}
		m := r.moduleType(&d, "types.x")
		if err := r.problems.Err(); err != nil {
			t.Fatalf("%s %v: %v", kind, watts, err)
		}
		sound(t, &m, kind)
		if d.Voc != nil || d.Size != nil {
			t.Fatalf("the document was written into")
		}
	})
}

func FuzzParseLabel(f *testing.F) {
	f.Add("CIGS foil 90 W Voc 28.3 Isc 4.6 Vmp 21.9 Imp 4.11 1.1 m x 0.6 m")
	f.Add("Pmax: 200 W ±3% Vmp: 20.5V 1490x670x35 mm -0.35 %/K (Voc) +5W 1,5 kg")
	f.Add("1000 W/m² 12 V 0 A ×")
	f.Fuzz(func(t *testing.T, text string) {
		m, assumed, err := ParseLabel(text)
		if err != nil {
			if err.Error() == "" {
				t.Fatal("an error without words")
			}
			return
		}
		sound(t, &m, text)
		for _, a := range assumed {
			if a.Path == "" || a.Value == "" || a.Why == "" {
				t.Fatalf("%q: assumed %+v", text, a)
			}
		}
	})
}
