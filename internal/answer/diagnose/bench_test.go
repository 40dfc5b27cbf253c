package diagnose

import (
	"math/rand/v2"
	"testing"

	"noonmark/internal/base/quantity"
)

// BenchmarkFourModules is one diagnosis of two strings of two modules from 24 readings.
func BenchmarkFourModules(b *testing.B) {
	c := &truth{build: arrayOf(0, 2, 2)}
	r := rand.New(rand.NewPCG(1, 1))
	p, err := newPlant(c.build, 0, Options{Light: 900 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(48), Battery: 13.2 * quantity.Volt})
	if err != nil {
		b.Fatal(err)
	}
	sound := newCore(p, p.healthy)
	var readings []Reading
	for _, k := range c.begin() {
		v, ok := sound.electric(k)
		if !ok {
			continue
		}
		x := Reading{Kind: k.kind, Value: v * (1 + 0.01*r.NormFloat64())}
		if k.line >= 0 {
			st := c.build.Strings[k.line]
			x.At = st.Name
			if k.index >= 0 {
				x.At = c.build.Modules[st.Modules[k.index]].Name
			}
		}
		readings = append(readings, x)
	}
	for b.Loop() {
		if _, err := Run(c.build, readings, Options{Light: 900 * quantity.WattPerSquareMetre, Cells: quantity.Celsius(48)}); err != nil {
			b.Fatal(err)
		}
	}
}
