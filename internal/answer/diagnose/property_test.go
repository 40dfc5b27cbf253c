package diagnose

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
)

var noon = Options{Light: 900 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(48)}

// soundReadings are what a healthy array reads by our own circuit.
func soundReadings(t testing.TB, label, series, parallel int) (*truth, []Reading) {
	t.Helper()
	c := &truth{build: arrayOf(label, series, parallel)}
	o := noon
	o.Battery = 13.2 * quantity.Volt
	p, err := newPlant(c.build, 0, o)
	if err != nil {
		t.Fatal(err)
	}
	sound := newCore(p, p.healthy)
	var out []Reading
	for _, k := range c.begin() {
		v, ok := sound.electric(k)
		if !ok {
			continue
		}
		r := Reading{Kind: k.kind, Value: v}
		if k.line >= 0 {
			st := &c.build.Strings[k.line]
			if r.At = st.Name; k.index >= 0 {
				r.At = c.build.Modules[st.Modules[k.index]].Name
			}
		}
		out = append(out, r)
	}
	return c, append(out, Reading{Kind: BatteryVoltage, Value: 13.2})
}

// Whatever is read, probabilities are probabilities that add up to one at most and fall, nothing is NaN,
// tests are not readings already taken, and each has its caution.
func TestAnyReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := arrayOf(rapid.IntRange(0, 3).Draw(t, "label"), rapid.IntRange(1, 2).Draw(t, "series"), rapid.IntRange(1, 2).Draw(t, "parallel"))
		var rs []Reading
		taken := map[string]bool{}
		for range rapid.IntRange(1, 6).Draw(t, "count") {
			k := Kind(rapid.IntRange(0, int(kinds)-1).Draw(t, "kind"))
			r := Reading{Kind: k, Value: rapid.Float64Range(-50, 100).Draw(t, "value"), Over: !k.seen() && rapid.IntRange(0, 9).Draw(t, "over") == 0}
			switch facts[k].at {
			case ofModule:
				r.At = b.Modules[0].Name
			case ofString:
				r.At = b.Strings[0].Name
			}
			if k.seen() {
				r.Value = float64(rapid.IntRange(0, 1).Draw(t, "yes"))
			} else if k.ohmic() {
				r.Value = math.Abs(r.Value)
			}
			taken[k.String()+r.At] = true
			rs = append(rs, r)
		}
		o := Options{Light: quantity.Irradiance(rapid.Float64Range(50, 1500).Draw(t, "light")), Cells: quantity.Celsius(rapid.Float64Range(-40, 110).Draw(t, "cells")), LightUnsure: quantity.Ratio(rapid.Float64Range(0, 0.5).Draw(t, "unsure"))}
		a, err := Run(b, rs, o)
		if err != nil {
			t.Fatal(err)
		}
		sum, last := 0.0, 2.0
		for _, c := range a.Causes {
			p := c.Probability.Float()
			if !(p >= 0 && p <= 1+1e-9) || p > last+1e-12 || math.IsNaN(c.Left.Float()) || c.Left < 0 || c.Left > 1.5 {
				t.Fatalf("%v: probability %v after %v, left %v", c.Fault, p, last, c.Left)
			}
			sum, last = sum+p, p
			for _, x := range c.Predicted {
				if math.IsNaN(x.Value+x.Distance) || math.IsInf(x.Value+x.Distance, 0) {
					t.Fatalf("%v says %v, off %v", c.Fault, x.Value, x.Distance)
				}
			}
		}
		if sum > 1+1e-9 || math.IsNaN(a.Fit.Float()) {
			t.Fatalf("probabilities add up to %v, fit %v", sum, a.Fit)
		}
		for _, x := range a.Next {
			if x.Caution == "" || x.How == "" || math.IsNaN(x.Bits) || x.Bits < 0 {
				t.Fatalf("test %+v", x)
			}
			if x.Kind != JointDrop && taken[x.Kind.String()+x.At] {
				t.Fatalf("%v at %s is asked for again", x.Kind, x.At)
			}
		}
	})
}

// Readings that are exactly a sound array's say so, and none is off.
func TestSound(t *testing.T) {
	for label := range labels() {
		c, rs := soundReadings(t, label, 2, 2)
		a, err := Run(c.build, rs, noon)
		if err != nil {
			t.Fatal(err)
		}
		if a.Causes[0].Fault != Healthy || a.Fit < 0.5 {
			t.Errorf("label %d: first %v, fit %v", label, a.Causes[0].Fault, a.Fit)
		}
		es, err := Expect(c.build, rs, noon)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range es {
			if math.Abs(e.Distance) > 0.2 {
				t.Errorf("label %d: %v read %v, a sound one %v ± %v", label, rs[e.Reading].Kind, rs[e.Reading].Value, e.Value, e.Unsure)
			}
			if e.Twins > 0 && math.Abs(e.Ratio-1) > 1e-6 {
				t.Errorf("label %d: equal twins, ratio %v", label, e.Ratio)
			}
		}
	}
}

// The order of readings does not matter, nor whether they come at once or one by one.
func TestOrder(t *testing.T) {
	c, rs := soundReadings(t, 0, 2, 1)
	rs[1].Value *= 0.6
	a, err := Run(c.build, rs, noon)
	if err != nil {
		t.Fatal(err)
	}
	o := noon
	o.Battery = 13.2 * quantity.Volt
	var turned []Reading
	for k := range rs {
		turned = append(turned, rs[len(rs)-1-k])
	}
	s, err := Start(c.build, turned[:1], o)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range turned[1:] {
		if err := s.Add(r); err != nil {
			t.Fatal(err)
		}
	}
	b := s.Answer()
	for k := range a.Causes[:3] {
		if a.Causes[k].Fault != b.Causes[k].Fault || math.Abs(a.Causes[k].Probability.Float()-b.Causes[k].Probability.Float()) > 1e-6 {
			t.Errorf("cause %d: %v %v at once, %v %v one by one", k, a.Causes[k].Fault, a.Causes[k].Probability, b.Causes[k].Fault, b.Causes[k].Probability)
		}
	}
}

// The joint over which the volts fall is named.
func TestJointNamed(t *testing.T) {
	c, rs := soundReadings(t, 0, 2, 1)
	for k := range rs {
		switch rs[k].Kind {
		case WorkVoltage:
			rs[k].Value *= 0.9
		case StringShort:
			rs[k].Value *= 0.995
		}
	}
	rs = append(rs, Reading{Kind: JointDrop, At: "s", Joint: 1, Value: 3.6}, Reading{Kind: JointDrop, At: "s", Joint: 0, Value: 0.005})
	a, err := Run(c.build, rs, noon)
	if err != nil {
		t.Fatal(err)
	}
	if x := a.Causes[0]; x.Fault != JointResistance || !strings.Contains(x.Where, "between A and B") {
		t.Errorf("got %v at %q, want a joint between A and B", x.Fault, x.Where)
	}
}

// Without a light meter a uniform loss is not proven to be anything.
func TestNoLight(t *testing.T) {
	c, rs := soundReadings(t, 0, 2, 1)
	for k := range rs {
		if facts[rs[k].Kind].unit == "A" {
			rs[k].Value *= 0.85
		}
	}
	o := noon
	o.LightUnsure = 0.3
	a, err := Run(c.build, rs, o)
	if err != nil {
		t.Fatal(err)
	}
	if a.Verdict == Proven && a.Causes[0].Fault != Healthy {
		t.Errorf("%v proven without light", a.Causes[0].Fault)
	}
}

// Bad input is refused, all of it at once.
func TestRefused(t *testing.T) {
	b := arrayOf(0, 2, 1)
	_, err := Run(b, []Reading{{Kind: ModuleOpen, At: "Z", Value: 3}, {Kind: SeenDirt, At: "A", Value: 0.5}, {Kind: ModuleOpen, Value: 3}, {Kind: JointDrop, At: "s", Joint: 9}, {Kind: ModuleShort, At: "A", Value: math.NaN()}, {Kind: InputFuse, Value: -1}},
		Options{Light: 20 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(200)})
	var bad *problem.Error
	if !errors.As(err, &bad) || len(bad.Problems) != 8 {
		t.Fatalf("got %v, want eight problems", err)
	}
	if _, err := Run(b, nil, noon); !errors.As(err, &bad) {
		t.Errorf("no readings: %v", err)
	}
	b.Chargers[0].Strings = nil
	if _, err := Run(b, []Reading{{Kind: BatteryVoltage, Value: 13}}, noon); !errors.As(err, &bad) {
		t.Errorf("no modules: %v", err)
	}
}

// Every cause and reading has its words.
func TestWords(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Faults() {
		p, s := f.Prior()
		if f.String() == "" || seen[f.String()] || !(p > 0) || s.String() == "" || f.Overturn() == "" {
			t.Errorf("fault %d: %q", f, f)
		}
		seen[f.String()] = true
	}
	clear(seen)
	for _, k := range Kinds() {
		if k.String() == "" || seen[k.String()] || k.How() == "" || facts[k].caution == "" {
			t.Errorf("kind %d: %q", k, k)
		}
		seen[k.String()] = true
	}
}
