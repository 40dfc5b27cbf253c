package quantity

import (
	"math"
	"testing"
)

// FuzzParse: no text makes a parser panic, and none gives NaN or infinity.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"1.9 m", `5' 6"`, "41 1/2 in", "AWG 10", "2/0 AWG", "100 Ah at 12.8 V", "-0.36 %/K", "25 °C", "1,5 m", "80 %", "∞ W", "1e400 V", "'", "ft", "''", "3' -4\"", "- m"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		check := func(v float64, err error) {
			if err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Fatalf("%q gives %v", s, v)
			}
		}
		l, err := ParseLength(s)
		check(l.Metres(), err)
		a, err := ParseArea(s)
		check(a.SquareMetres(), err)
		e, err := ParseEnergy(s)
		check(e.Joules(), err)
		k, err := ParseTemperature(s)
		check(k.Kelvin(), err)
		c, err := ParseCoefficient(s)
		check(c.Relative(1).PerKelvin(), err)
		r, err := ParseRatio(s)
		check(r.Float(), err)
		d, err := ParseDuration(s)
		check(d.Seconds(), err)
		p, err := ParsePower(s)
		check(p.Watts(), err)
	})
}
